"""Distributor figures into crank figures and back: the commonest mistake of all, in one place."""

from __future__ import annotations

import numpy as np

Array = np.ndarray | float


def to_distributor(
    speed_rpm: Array, angle_deg: Array, frame: str, drive_ratio: float, static_deg: float = 0.0
) -> tuple[Array, Array]:
    """Distributor speed and distributor degrees of advance, from a table's own frame.

    Parameters
    ----------
    speed_rpm, angle_deg : float or array
        As the table gives them.
    frame : {'distributor', 'crank', 'crank-static'}
    drive_ratio : float
        Crank turns per distributor turn.
    static_deg : float
        Crank degrees, used only by ``'crank-static'``.
    """
    if frame == "distributor":
        return speed_rpm, angle_deg
    static = static_deg if frame == "crank-static" else 0.0
    return speed_rpm / drive_ratio, (angle_deg - static) / drive_ratio


def from_distributor(
    speed_rpm: Array, angle_deg: Array, frame: str, drive_ratio: float, static_deg: float = 0.0
) -> tuple[Array, Array]:
    """The inverse of :func:`to_distributor`."""
    if frame == "distributor":
        return speed_rpm, angle_deg
    static = static_deg if frame == "crank-static" else 0.0
    return speed_rpm * drive_ratio, angle_deg * drive_ratio + static
