"""What the curve should be: check points as the table in hand writes them."""

from __future__ import annotations

from bobweight.core.record import Record, choice, many, number, stored, taken, text
from bobweight.core.units import ANGLE, DEPRESSION, SPEED

FRAMES = {
    "distributor": "Distributor",
    "crank": "Crank, without static",
    "crank-static": "Crank, with static",
}
READ_AS = {"either": "Either way", "rising": "Rising", "falling": "Falling"}
WAYS = ("rising", "falling")
"""The branches of a curve, by which way the speed changes."""
SPEED_HARD_RPM = (0.0, 20000.0)
ANGLE_HARD_DEG = (-90.0, 120.0)


@stored
class CheckPoint(Record):
    """At this speed, from least to most degrees, in the frame of its table."""

    speed_rpm: float | None = number("Speed", SPEED, hard=SPEED_HARD_RPM)
    least_deg: float | None = number("Least", ANGLE, hard=ANGLE_HARD_DEG)
    most_deg: float | None = number("Most", ANGLE, hard=ANGLE_HARD_DEG)


@stored
class VacuumPoint(Record):
    """At this depression, from least to most degrees, in the frame of its table."""

    depression_kpa: float | None = number("Depression", DEPRESSION, hard=(0.0, 101.0))
    least_deg: float | None = number("Least", ANGLE, hard=ANGLE_HARD_DEG)
    most_deg: float | None = number("Most", ANGLE, hard=ANGLE_HARD_DEG)


@stored
class Target(Record):
    """The check points, and what the table says besides."""

    source: str = text("Source", help="Where the figures come from.")
    frame: str | None = choice(
        "Centrifugal figures are", FRAMES, None, assumed="distributor",
        help="Distributor figures are half the crank’s, in speed and in degrees, on a unit driven "
        "at half speed.",
    )  # fmt: skip
    read_as: str = choice(
        "Read", READ_AS, "either", help="The way the speed was changing when the table was read."
    )
    points: tuple[CheckPoint, ...] = many("Check points", CheckPoint, most=2000)
    no_advance_below_rpm: float | None = number(
        "No advance below", SPEED, hard=SPEED_HARD_RPM,
        help="In the frame of the centrifugal figures.",
    )  # fmt: skip
    ceiling_deg: float | None = number(
        "Ceiling", ANGLE, hard=ANGLE_HARD_DEG,
        help="Never more than this, in the frame of the centrifugal figures.",
    )  # fmt: skip
    vacuum_frame: str | None = choice(
        "Vacuum figures are",
        {"distributor": "Distributor", "crank": "Crank, without static"},
        None,
        assumed="distributor",
    )
    vacuum_points: tuple[VacuumPoint, ...] = many("Vacuum check points", VacuumPoint, most=2000)

    @property
    def ways(self) -> tuple[str, ...]:
        """The branches that the table speaks of."""
        return WAYS if self.read_as == "either" else (self.read_as,)

    @property
    def frame_taken(self) -> str:
        """The frame of the centrifugal figures; the distributor's where nobody said it."""
        return str(taken(self, "frame"))

    @property
    def vacuum_frame_taken(self) -> str:
        """The frame of the vacuum figures; the distributor's where nobody said it."""
        return str(taken(self, "vacuum_frame"))
