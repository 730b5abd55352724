"""What was measured, and with what."""

from __future__ import annotations

from bobweight.core.docket.target import ANGLE_HARD_DEG, SPEED_HARD_RPM
from bobweight.core.record import (
    Record,
    Taken,
    choice,
    flag,
    many,
    number,
    one,
    stored,
    taken,
    text,
    whole,
)
from bobweight.core.units import ANGLE, DEPRESSION, NUMBER, SPEED, TIME_MS

DIRECTIONS = {"rising": "Rising", "falling": "Falling", "unknown": "Not known"}


@stored
class Instrument(Record):
    """How the readings were taken: timing lamp at the crank, or a spinning rig."""

    kind: str | None = choice(
        "Read with", {"lamp": "Timing lamp", "rig": "Spinning rig"}, None,
        assumed="lamp",
        help="A lamp reads crank degrees against engine speed; a rig reads distributor degrees "
        "against distributor speed.",
    )  # fmt: skip
    static_deg: float | None = number(
        "Static set at", ANGLE, hard=(-30.0, 60.0), usual=(-10.0, 25.0),
        uncertain=True, trade_u=0.5, assumed=0.0,
        help="What the engine was set to when these readings were taken, crank degrees before top "
        "dead centre. On a rig: what the ring shows with no advance.",
    )  # fmt: skip
    mark_error_deg: float | None = number(
        "Error of the mark", ANGLE, hard=(-30.0, 30.0), usual=(-5.0, 5.0),
        uncertain=True, trade_u=0.7, assumed=0.0,
        help="How much more the mark shows than is true: prove top dead centre with a stop.",
    )  # fmt: skip
    tachometer_scale: float | None = number(
        "True speed per shown speed", NUMBER, hard=(0.2, 5.0), usual=(0.9, 1.1),
        uncertain=True, trade_u=0.01, assumed=1.0,
        help="1 for a true tachometer; 0.97 for one that shows 3 % too much.",
    )  # fmt: skip
    lag_ms: float | None = number(
        "Delay of the lamp", TIME_MS, hard=(-1.0, 2.0), usual=(0.0, 0.2),
        uncertain=True, trade_u=0.02, assumed=0.0,
        help="Total electronic delay; it reads as retard in proportion to speed.",
    )  # fmt: skip
    u_speed_rpm: float | None = number(
        "Speed is read to ±", SPEED, hard=(0.1, 2000.0), usual=(1.0, 100.0), assumed=30.0,
        help="Standard uncertainty of one speed reading, as shown.",
    )  # fmt: skip
    u_angle_deg: float | None = number(
        "Angle is read to ±", ANGLE, hard=(0.01, 20.0), usual=(0.1, 2.0), assumed=1.0,
        help="Standard uncertainty of one angle reading, as shown.",
    )  # fmt: skip
    u_depression_kpa: float | None = number(
        "Depression is read to ±", DEPRESSION, hard=(0.01, 20.0), usual=(0.1, 4.0), assumed=1.0,
    )  # fmt: skip
    static_taken_deg = Taken("static_deg")
    mark_error_taken_deg = Taken("mark_error_deg")
    scale_taken = Taken("tachometer_scale")
    lag_taken_ms = Taken("lag_ms")
    u_speed_taken_rpm = Taken("u_speed_rpm")
    u_angle_taken_deg = Taken("u_angle_deg")
    u_depression_taken_kpa = Taken("u_depression_kpa")

    @property
    def kind_taken(self) -> str:
        """With which they were taken; with a lamp where nobody said it."""
        return str(taken(self, "kind"))


@stored
class Reading(Record):
    """One reading, as the instruments showed it."""

    speed_rpm: float | None = number("Speed shown", SPEED, hard=SPEED_HARD_RPM, uncertain=True)
    angle_deg: float | None = number("Angle shown", ANGLE, hard=ANGLE_HARD_DEG, uncertain=True)
    direction: str = choice("Direction", DIRECTIONS, "unknown")
    depression_kpa: float | None = number(
        "Depression", DEPRESSION, hard=(0.0, 101.0), uncertain=True,
        help="At the capsule. Empty means the pipe is off and plugged.",
    )  # fmt: skip
    left_out: bool = flag("Left out", help="Shown on the plot but not used. Say why in the note.")
    note: str = text("Note")


@stored
class Session(Record):
    """One set of readings taken without touching the unit in between."""

    title: str = text("Session", help="As found, after bending the post, and so on.")
    date: str = text("Date", help="Year-month-day.")
    state: int = whole(
        "State of the unit", 0, (0, 9999),
        help="In which the readings were taken: 0 as found, 1 after the first alteration.",
    )  # fmt: skip
    instrument: Instrument = one("Instruments", Instrument)
    readings: tuple[Reading, ...] = many("Readings", Reading)
