"""What a worn bush and uneven lobes cost: scatter of the spark in degrees.

Side play e of the shaft lets the heel's radius vary by e, and so the opening by e / (dr/dβ), with
dr/dβ = R_f sin β / cos² β at the angle where the contacts part. Uneven lobes give each cylinder a
constant error of its own; play is different from spark to spark.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike

from bobweight.core.bench._checks import finite, positive, whole, within
from bobweight.core.bench.points import ContactCam, at_gap, radius_slope_mm_per_rad
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError


@frozen
class Scatter:
    """Spread of the spark.

    Parameters
    ----------
    span_deg : float
        Earliest to latest, distributor degrees.
    standard_deg : float
        The standard uncertainty that it adds to one reading, distributor degrees.
    u_span_deg : float or None
        Standard uncertainty of the span itself; None means not stated.
    drive_ratio : float
        Turns of the crank for one of the distributor.
    """

    span_deg: float
    standard_deg: float
    u_span_deg: float | None
    drive_ratio: float

    @property
    def crank_span_deg(self) -> float:
        """Earliest to latest, crank degrees."""
        return self.span_deg * self.drive_ratio

    @property
    def crank_plus_minus_deg(self) -> float:
        """Half the span, crank degrees: the ± figure of the trade."""
        return self.crank_span_deg / 2


@frozen
class LobeSpacing:
    """Firing angles against even spacing.

    ``errors_deg``: each lobe's error in distributor degrees, mean zero, positive late;
    ``worst_deg``: the largest in size; ``u_error_deg``: the standard uncertainty of one error, None
    means not stated; ``scatter``: the spread they cause.
    """

    errors_deg: tuple[float, ...]
    worst_deg: float
    u_error_deg: float | None
    scatter: Scatter


def side_play_scatter(
    cam: ContactCam,
    gap_mm: float,
    play_mm: float,
    *,
    u_play_mm: float | None = None,
    drive_ratio: float = 2.0,
) -> Scatter:
    """The spread of the spark that side play of the shaft allows, in degrees (to first order).

    Parameters
    ----------
    gap_mm : float
        Gap as set, as :func:`core.bench.points.at_gap`.
    play_mm : float
        Side play as read on the indicator, side to side, 0 or more.
    u_play_mm : float, optional
        Its standard uncertainty, above 0.
    drive_ratio : float
        Turns of the crank for one of the distributor, above 0.

    Notes
    -----
    The shaft may lie anywhere in its clearance: a uniform law, whose standard deviation is the
    span over √12 (JCGM 100:2008, 4.3.7). Read the play in line with the heel. Play square to the
    flat, the worst direction, would move the spark 1 / cos β times as far (16 % at four lobes).
    """
    play = float(within("play_mm", play_mm, 0, unit="mm"))
    ratio = float(positive("drive_ratio", drive_ratio))
    beta = np.radians(at_gap(cam, float(finite("gap_mm", gap_mm))).parting_deg)
    deg_per_mm = float(np.degrees(1 / radius_slope_mm_per_rad(cam.flat_mm, beta)))
    span = play * deg_per_mm
    u_span = None
    if u_play_mm is not None:
        u_span = float(positive("u_play_mm", u_play_mm, "mm")) * deg_per_mm
    return Scatter(span, span / np.sqrt(12).item(), u_span, ratio)


def lobe_spacing(
    firing_deg: ArrayLike,
    *,
    u_firing_deg: float | None = None,
    drive_ratio: float = 2.0,
) -> LobeSpacing:
    """Errors of the firing angles against even spacing, and the scatter they cause.

    Parameters
    ----------
    firing_deg : array_like
        The angle at which each lobe opens the contacts, distributor degrees, in the order in which
        they come round, 2 to 12 of them; the zero is free. Going past 360 is allowed.
    u_firing_deg : float, optional
        Standard uncertainty of one angle, above 0.

    Raises
    ------
    BobweightError
        ``lobes-out-of-order`` where an angle lies more than half a sector from its place.
    """
    angles = finite("firing_deg", firing_deg).ravel()
    lobes = whole("firing_deg", angles.size, 2, 12)
    ratio = float(positive("drive_ratio", drive_ratio))
    sector = 360.0 / lobes
    off = angles - angles[0] - sector * np.arange(lobes)
    off = (off + 180.0) % 360.0 - 180.0  # a reading may be taken past the ring's zero
    if np.any(np.abs(off) > sector / 2):
        worst = int(np.argmax(np.abs(off)))
        raise BobweightError(
            "lobes-out-of-order", ("firing_deg", worst), value=float(angles[worst]),
            expected=float((angles[0] + sector * worst) % 360.0),
        )  # fmt: skip
    errors = off - off.mean()
    span = float(np.ptp(errors))
    u_span = u_error = None
    if u_firing_deg is not None:
        u = float(positive("u_firing_deg", u_firing_deg, "°"))
        u_span = u * np.sqrt(2).item()  # the difference of two readings
        u_error = u * np.sqrt(1 - 1 / lobes).item()  # a reading less the mean that holds it
    return LobeSpacing(
        tuple(errors.tolist()),
        float(np.abs(errors).max()),
        u_error,
        Scatter(span, float(errors.std()), u_span, ratio),
    )


def combined(scatters: Iterable[Scatter]) -> Scatter:
    """Several independent causes together: spans add (the worst case), standard uncertainties add
    in squares (JCGM 100:2008, 5.1.2).

    There is at least one, and all are of one unit. The uncertainty of the span is not stated unless
    every part states one.
    """
    parts = tuple(scatters)
    us = [part.u_span_deg for part in parts if part.u_span_deg is not None]
    return Scatter(
        sum(part.span_deg for part in parts),
        float(np.hypot.reduce([part.standard_deg for part in parts])),
        float(np.hypot.reduce(us)) if len(us) == len(parts) else None,
        parts[0].drive_ratio,
    )
