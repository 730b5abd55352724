"""What the timing lamp shows at the crank, and what its errors do to the reading.

The equation is :mod:`core.mechanics.instrument`'s.
"""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
from numpy.typing import ArrayLike

from bobweight.core.bench._checks import Values, finite, plain, positive, within
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.instrument import DEG_PER_MS_RPM, Reader
from bobweight.core.problems import BobweightError

_SETTING_TOLERANCE = 0.1


@frozen
class Lamp:
    """One engine as seen through one lamp.

    Parameters
    ----------
    static_deg : float
        Static setting, crank degrees before top dead centre.
    drive_ratio : float
        Turns of the crank for one of the distributor, above 0.
    mark_error_deg : float
        What the reference mark adds to every reading, crank degrees.
    lag_ms : float
        Total electronic delay, ms.
    tachometer_scale : float
        True speed per shown speed, above 0.
    backlash_deg : float
        What the drive lets the shaft run ahead while speed falls, crank degrees.
    """

    static_deg: float
    drive_ratio: float = 2.0
    mark_error_deg: float = 0.0
    lag_ms: float = 0.0
    tachometer_scale: float = 1.0
    backlash_deg: float = 0.0

    def __post_init__(self) -> None:
        finite("static_deg", self.static_deg)
        positive("drive_ratio", self.drive_ratio)
        finite("mark_error_deg", self.mark_error_deg)
        finite("lag_ms", self.lag_ms)
        positive("tachometer_scale", self.tachometer_scale)
        finite("backlash_deg", self.backlash_deg)

    @property
    def reader(self) -> Reader:
        """The lamp and its tachometer as an instrument."""
        zero = self.static_deg + self.mark_error_deg
        return Reader(zero, self.drive_ratio, self.tachometer_scale, self.lag_ms)

    def shown_rpm(self, engine_rpm: ArrayLike) -> Values:
        """Engine speed that the tachometer shows, from the true one in rev/min."""
        engine = within("engine_rpm", engine_rpm, 0, unit="rev/min")
        return plain(self.reader.shown(engine / self.drive_ratio, 0.0)[0])


@frozen
class LagEstimate:
    """Electronic delay in ms and its standard uncertainty; None means not stated."""

    lag_ms: float
    u_lag_ms: float | None

    def late_deg(self, engine_rpm: float) -> float:
        """Crank degrees that the lamp shows too late at a true engine speed."""
        return DEG_PER_MS_RPM * engine_rpm * self.lag_ms


@frozen
class TachometerScale:
    """What a shown speed is multiplied with to get the true one.

    ``scale`` is the mean of reference over shown; ``u_scale`` its standard uncertainty, None for a
    single pair; ``setting`` is ``"double"`` or ``"half"`` where the instrument shows about twice or
    half the true speed (set for another number of cylinders), else ``"right"``.
    """

    scale: float
    u_scale: float | None
    setting: str


def shown_deg(
    lamp: Lamp, engine_rpm: ArrayLike, advance_deg: ArrayLike, direction: str = "rising"
) -> Values:
    """Crank degrees that the lamp shows at true engine speeds, from the true advance in
    distributor degrees; while speed falls, with the backlash of the drive."""
    engine = within("engine_rpm", engine_rpm, 0, unit="rev/min")
    advance = finite("advance_deg", advance_deg)
    ahead = lamp.backlash_deg if direction == "falling" else 0.0
    return plain(lamp.reader.shown(engine / lamp.drive_ratio, advance)[1] + ahead)


def parallax_deg(offset_mm: ArrayLike, diameter_mm: ArrayLike) -> Values:
    """Crank degrees of error from a mark seen off its place by mm on a pulley's rim."""
    diameter = positive("diameter_mm", diameter_mm, "mm")
    return plain(360.0 / (pi * diameter) * finite("offset_mm", offset_mm))


def lag_from_two_speeds(
    speeds_rpm: tuple[float, float],
    readings_deg: tuple[float, float],
    *,
    u_reading_deg: float | None = None,
    scale: float = 1.0,
) -> LagEstimate:
    """Delay of the lamp in ms from readings at two engine speeds between which the true advance
    does not change: both above full advance, or with the cam held.

    Parameters
    ----------
    speeds_rpm, readings_deg : pair of float
        Engine speeds shown, different, and the crank degrees shown at each, in the same order.
    u_reading_deg : float, optional
        Standard uncertainty of one reading, crank degrees, above 0.
    scale : float
        True speed per shown speed.

    Raises
    ------
    BobweightError
        ``speeds-equal``; ``lag-negative`` with the figure where the reading gained with speed by
        more than three standard uncertainties, so the advance was not what was assumed.
    """
    speeds = positive("scale", scale) * positive("speeds_rpm", speeds_rpm, "rev/min")
    readings = finite("readings_deg", readings_deg)
    apart = float(speeds[1] - speeds[0])
    if apart == 0:
        raise BobweightError("speeds-equal", ("speeds_rpm",), value=float(speeds[0]))
    lag = -float(readings[1] - readings[0]) / (DEG_PER_MS_RPM * apart)
    u = None
    if u_reading_deg is not None:
        u = (
            sqrt(2)
            * float(positive("u_reading_deg", u_reading_deg, "°"))
            / (DEG_PER_MS_RPM * abs(apart))
        )
    if u is not None and lag < -3 * u:
        raise BobweightError("lag-negative", ("readings_deg",), lag_ms=lag, u_lag_ms=u)
    return LagEstimate(lag, u)


def tachometer_scale(shown_rpm: ArrayLike, reference_rpm: ArrayLike) -> TachometerScale:
    """The scale of a tachometer from pairs of its own and a reference's reading.

    Parameters
    ----------
    shown_rpm, reference_rpm : array_like
        Speeds in rev/min, above 0, the same number of each, at least one.

    Notes
    -----
    Mean of the ratios and the standard deviation of the mean (JCGM 100:2008, 4.2.3).
    """
    shown = positive("shown_rpm", shown_rpm, "rev/min").ravel()
    reference = positive("reference_rpm", reference_rpm, "rev/min").ravel()
    ratio = reference / shown
    scale = float(ratio.mean())
    u = float(ratio.std(ddof=1)) / sqrt(ratio.size) if ratio.size > 1 else None
    return TachometerScale(scale, u, _setting_of(scale))


def _setting_of(scale: float) -> str:
    for name, factor in (("double", 0.5), ("half", 2.0)):
        if abs(np.log(scale / factor)) < _SETTING_TOLERANCE:
            return name
    return "right"
