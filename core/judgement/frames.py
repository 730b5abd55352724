"""Distributor figures into crank figures and back: the commonest mistake of all, in one place."""

from __future__ import annotations

import re

import numpy as np

from bobweight.core.problems import BobweightError

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


_SAID = re.compile(
    r"^(?P<value>.*?)\s*(?P<frame>crank with static|with static|crank|dist\.?|distributor)$", re.I
)
_MEANT = {"with static": "crank-static", "crank with static": "crank-static", "crank": "crank"}


def said_frame(text: str) -> tuple[str, str]:
    """What was typed without the words that say at which shaft, and the frame that they mean; an
    empty one where nothing is said: ``"28 crank"``, ``"36° with static"``, ``"12 dist."``."""
    match = _SAID.match(text.strip())
    if match is None:
        return text, ""
    said = " ".join(match["frame"].lower().split())
    return match["value"], _MEANT.get(said, "distributor")


def reframed(
    value: float, is_speed: bool, said: str, own: str, drive_ratio: float, static_deg: float | None
) -> float:
    """A speed or an advance said in one frame, as a value of another.

    Raises
    ------
    BobweightError
        ``static-needed`` where static counts in one of them and is not known.
    """
    if said == own:
        return value
    if static_deg is None and not is_speed and "crank-static" in (said, own):
        raise BobweightError("static-needed", ("setting_up", "static_deg"))
    static = static_deg or 0.0
    speed, angle = (value, 0.0) if is_speed else (0.0, value)
    at = to_distributor(speed, angle, said, drive_ratio, static)
    there = from_distributor(*at, own, drive_ratio, static)
    return float(there[0 if is_speed else 1])
