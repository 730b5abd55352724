"""How the unit is to be set on the engine."""

from __future__ import annotations

from bobweight.core.record import Record, Taken, choice, many, number, one, stored, taken, text
from bobweight.core.units import ALTITUDE, ANGLE, DEPRESSION, LENGTH, SPEED

THROTTLES = {"open": "Open", "shut": "Shut"}


@stored
class DrivingState(Record):
    """A named pair of engine speed and depression."""

    name: str = text("State")
    engine_rpm: float | None = number("Engine speed", SPEED, hard=(0.0, 20000.0), frame="crank")
    depression_kpa: float = number(
        "Depression", DEPRESSION, 0.0, hard=(0.0, 101.0), help="In the manifold."
    )
    throttle: str = choice(
        "Throttle", THROTTLES, "open",
        help="Shut, a pipe from the edge of the throttle feels no depression.",
    )  # fmt: skip


USUAL_STATES = (
    DrivingState(name="Start", engine_rpm=200.0, depression_kpa=0.0, throttle="shut"),
    DrivingState(name="Idle", engine_rpm=800.0, depression_kpa=55.0, throttle="shut"),
    DrivingState(name="Light cruise", engine_rpm=2500.0, depression_kpa=50.0),
    DrivingState(name="Climb", engine_rpm=3000.0, depression_kpa=15.0),
    DrivingState(name="Full throttle", engine_rpm=4500.0, depression_kpa=3.0),
)


@stored
class LampSpeed(Record):
    """One line of the card to take to the engine."""

    engine_rpm: float | None = number("Engine speed", SPEED, hard=(0.0, 20000.0), frame="crank")


@stored
class RotorFit(Record):
    """Sizes of rotor arm and cap: whether tip and segment face each other at the spark."""

    tip_mm: float | None = number(
        "Width of the rotor arm’s tip",
        LENGTH,
        hard=(0.5, 60.0),
        usual=(4.0, 20.0),
        help="Along the arc.",
    )
    post_mm: float | None = number(
        "Width of a cap segment", LENGTH, hard=(0.5, 60.0), usual=(3.0, 12.0), help="Along the arc."
    )
    radius_mm: float | None = number(
        "Segments from the axis", LENGTH, hard=(5.0, 120.0), usual=(18.0, 45.0),
        help="To the inner face of a segment.",
    )  # fmt: skip
    off_deg: float | None = number(
        "Tip past segment, vacuum off", ANGLE, hard=(-90.0, 90.0), usual=(-15.0, 15.0),
        frame="distributor",
        help="Distributor degrees at the spark, positive in the direction of rotation.",
    )  # fmt: skip


@stored
class SettingUp(Record):
    """Static timing and the states in which the total matters. Common practice as defaults."""

    static_deg: float | None = number(
        "Static timing", ANGLE, hard=(-30.0, 60.0), usual=(-10.0, 25.0), frame="crank",
        uncertain=True, trade_u=0.5,
        help="Crank degrees before top dead centre with no advance at all.",
    )  # fmt: skip
    states: tuple[DrivingState, ...] = many("Driving states", DrivingState, most=200)
    wanted_total_deg: float | None = number(
        "Total wanted", ANGLE, hard=(-30.0, 90.0), usual=(10.0, 55.0), frame="crank",
        help="Crank degrees before top dead centre, static and centrifugal together.",
    )  # fmt: skip
    wanted_rpm: float | None = number(
        "At engine speed", SPEED, hard=(0.0, 20000.0), usual=(1200.0, 7000.0), frame="crank",
        help="Empty: where the centrifugal advance is full.",
    )  # fmt: skip
    wanted_kpa: float | None = number(
        "With a depression of", DEPRESSION, hard=(0.0, 101.0), assumed=0.0,
        help="0: pipe off and plugged.",
    )  # fmt: skip
    ceiling_total_deg: float | None = number(
        "Never more than", ANGLE, hard=(0.0, 90.0), usual=(20.0, 60.0), frame="crank",
        help="Total at the crank, vacuum included, that no driving state may pass.",
    )  # fmt: skip
    idle_rpm: float | None = number(
        "Idle", SPEED, hard=(0.0, 5000.0), usual=(400.0, 1200.0), frame="crank",
        help="Engine speed at which the base timing is set; the card begins there.",
    )  # fmt: skip
    lamp_speeds: tuple[LampSpeed, ...] = many(
        "Speeds of the card", LampSpeed, help="Empty: idle, the check points, and in between."
    )
    lamp_kpa: float | None = number(
        "Pipe on at", DEPRESSION, hard=(0.0, 101.0),
        help="Depression held by a hand pump for the card. Empty: the capsule’s full travel.",
    )  # fmt: skip
    altitude_m: float | None = number(
        "Altitude", ALTITUDE, hard=(0.0, 11000.0), usual=(0.0, 4000.0), assumed=0.0,
        help="Height above the sea where it is driven.",
    )  # fmt: skip
    pulley_mm: float | None = number(
        "Pulley diameter", LENGTH, hard=(30.0, 1000.0), usual=(90.0, 250.0),
        help="Where the timing mark or tape is read.",
    )  # fmt: skip
    pulley_rotation: str | None = choice(
        "Pulley turns", {"clockwise": "Clockwise", "anticlockwise": "Anticlockwise"}, None,
        assumed="clockwise", help="As seen looking at the pulley.",
    )  # fmt: skip
    rotor: RotorFit = one("Rotor and cap", RotorFit)
    wanted_taken_kpa = Taken("wanted_kpa")

    @property
    def altitude_taken_m(self) -> float:
        """Height where it is driven, in m; the sea's where it was not entered."""
        return float(taken(self, "altitude_m"))
