"""What the short sums of the bench ask, described as records."""

from __future__ import annotations

from typing import Any

from bobweight.core.docket.points import Points
from bobweight.core.record import Record, number, parameters, stored
from bobweight.core.units import ANGLE, LENGTH, PERCENT, SPEED

_SPEED_RPM = (1.0, 20000.0)


def _read_u() -> Any:
    return number(
        "Each is read to ±", ANGLE, hard=(0.01, 20.0), frame="crank",
        help="Standard uncertainty of one reading.",
    )  # fmt: skip


@stored
class PistonStop(Record):
    """Error of the mark from a piston stop on both sides of dead centre."""

    before_deg: float | None = number(
        "Stopped before top dead centre", ANGLE, hard=(-180.0, 180.0), frame="crank",
        help="What the mark shows there, counted before dead centre.",
    )  # fmt: skip
    after_deg: float | None = number(
        "Stopped after top dead centre", ANGLE, hard=(-180.0, 180.0), frame="crank",
        help="What the mark shows there, counted after dead centre.",
    )  # fmt: skip
    u_deg: float | None = _read_u()
    seen_mm: float | None = number(
        "Mark seen from the side by", LENGTH, hard=(-200.0, 200.0),
        help="How far the eye stands off the line through shaft and pointer, at the rim.",
    )  # fmt: skip


def _speed(label: str) -> Any:
    return number(label, SPEED, hard=_SPEED_RPM)


@stored
class TachometerCheck(Record):
    """The same speed on two tachometers, up to three times."""

    shown_1_rpm: float | None = _speed("1. shown")
    trusted_1_rpm: float | None = _speed("1. trusted")
    shown_2_rpm: float | None = _speed("2. shown")
    trusted_2_rpm: float | None = _speed("2. trusted")
    shown_3_rpm: float | None = _speed("3. shown")
    trusted_3_rpm: float | None = _speed("3. trusted")


@stored
class LampDelay(Record):
    """Delay of the lamp from two speeds above full advance."""

    slower_rpm: float | None = number(
        "Slower speed, as shown", SPEED, hard=_SPEED_RPM, frame="crank"
    )
    slower_deg: float | None = number(
        "Lamp at the slower speed", ANGLE, hard=(-90.0, 120.0), frame="crank"
    )
    faster_rpm: float | None = number(
        "Faster speed, as shown", SPEED, hard=_SPEED_RPM, frame="crank"
    )
    faster_deg: float | None = number(
        "Lamp at the faster speed", ANGLE, hard=(-90.0, 120.0), frame="crank"
    )
    u_deg: float | None = _read_u()


@stored
class PointsSetting(Record):
    """The setting of the points, said in any of four ways."""

    gap_mm: float | None = number("Gap", LENGTH, hard=parameters(Points)["set_gap_mm"].hard)
    dwell_deg: float | None = number("Dwell", ANGLE, hard=(0.0, 360.0), frame="distributor")
    open_deg: float | None = number("Open for", ANGLE, hard=(0.0, 360.0), frame="distributor")
    dwell_percent: float | None = number("Dwell, share of the sector", PERCENT, hard=(0.0, 100.0))


@stored
class ScreenBar(Record):
    """The bar beside a drawing on the screen, measured with a rule."""

    bar_mm: float = number(
        "The bar measures", LENGTH, 50.0, hard=(10.0, 200.0), step=0.5,
        help="Lay a rule on the screen. If the bar is not 50 mm, type what it is: the plan is "
        "then drawn at the size of the part.",
    )  # fmt: skip
