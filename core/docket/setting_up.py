"""How the unit is to be set on the engine."""

from __future__ import annotations

from dataclasses import dataclass

from core.record import Record, many, number, text
from core.units import ANGLE, DEPRESSION, SPEED


@dataclass(frozen=True, kw_only=True)
class DrivingState(Record):
    """A named pair of engine speed and depression."""

    name: str = text("State")
    engine_rpm: float | None = number("Engine speed", SPEED, hard=(0.0, 20000.0))
    depression_kpa: float = number("Depression", DEPRESSION, 0.0, hard=(0.0, 101.0))


USUAL_STATES = (
    DrivingState(name="Start", engine_rpm=200.0, depression_kpa=0.0),
    DrivingState(name="Idle", engine_rpm=800.0, depression_kpa=0.0),
    DrivingState(name="Light cruise", engine_rpm=2500.0, depression_kpa=50.0),
    DrivingState(name="Climb", engine_rpm=3000.0, depression_kpa=15.0),
    DrivingState(name="Full throttle", engine_rpm=4500.0, depression_kpa=3.0),
)


@dataclass(frozen=True, kw_only=True)
class SettingUp(Record):
    """Static timing and the states in which the total matters. Common practice as defaults."""

    static_deg: float | None = number(
        "Static timing", ANGLE, hard=(-30.0, 60.0), usual=(-10.0, 25.0),
        uncertain=True, trade_u=0.5,
        help="Crank degrees before top dead centre with no advance at all.",
    )  # fmt: skip
    states: tuple[DrivingState, ...] = many("Driving states", DrivingState)
