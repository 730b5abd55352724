"""The vacuum capsules as measured: none, one, or two on one plate."""

from __future__ import annotations

from bobweight.core.record import Record, Taken, choice, number, stored
from bobweight.core.units import ANGLE, AREA, DEPRESSION, FORCE, LENGTH, SPRING_RATE

FEEDS = {"manifold": "The manifold", "edge": "The edge of the throttle"}


@stored
class Capsule(Record):
    """The capsule, from its trade figures or from its dimensions."""

    given_as: str = choice(
        "What is known",
        {
            "none": "No capsule, or none entered",
            "triple": "Start, full and degrees",
            "dimensions": "Area, spring and travel",
        },
        "none",
    )
    acts: str = choice("Acts to", {"advance": "Advance", "retard": "Retard"}, "advance")
    fed_from: str = choice(
        "Pipe from", FEEDS, "edge",
        help="From the edge of the throttle there is no depression while it is shut.",
    )  # fmt: skip
    start_kpa: float | None = number(
        "Starts at", DEPRESSION, hard=(0.0, 95.0), usual=(3.0, 41.0), uncertain=True, trade_u=1.0,
        help="Depression at which the plate begins to move.",
    )  # fmt: skip
    full_kpa: float | None = number(
        "Full at", DEPRESSION, hard=(0.5, 100.0), usual=(20.0, 85.0), uncertain=True, trade_u=1.5,
        help="Depression beyond which the plate moves no further.",
    )  # fmt: skip
    full_deg: float | None = number(
        "Full movement", ANGLE, hard=(0.1, 40.0), usual=(1.0, 18.0), uncertain=True, trade_u=0.5,
        frame="distributor",
        help="Distributor degrees at full travel.",
    )  # fmt: skip
    area_mm2: float | None = number(
        "Effective area", AREA, hard=(20.0, 20000.0), usual=(300.0, 4000.0), uncertain=True,
        help="Of the diaphragm: between the area of the plate and that of the rim.",
    )  # fmt: skip
    spring_rate_n_per_mm: float | None = number(
        "Capsule spring rate", SPRING_RATE, hard=(0.01, 200.0), usual=(0.5, 30.0), uncertain=True,
    )  # fmt: skip
    preload_n: float | None = number(
        "Capsule preload", FORCE, hard=(0.0, 1000.0), usual=(1.0, 120.0), uncertain=True,
    )  # fmt: skip
    travel_mm: float | None = number(
        "Rod travel limit", LENGTH, hard=(0.1, 30.0), usual=(1.0, 9.0), uncertain=True, trade_u=0.1,
    )  # fmt: skip
    lever_mm: float | None = number(
        "Pull-rod pin radius", LENGTH, hard=(5.0, 100.0), usual=(18.0, 40.0), uncertain=True,
        trade_u=0.5, assumed=30.0, help="From the shaft’s axis to the pin on the breaker plate.",
    )  # fmt: skip
    offset_deg: float | None = number(
        "Offset of the rod", ANGLE, hard=(-45.0, 45.0), uncertain=True, trade_u=3.0, assumed=0.0,
        help="How far the pin stands behind square to the rod, at rest.",
    )  # fmt: skip
    friction_n: float | None = number(
        "Plate friction", FORCE, hard=(0.0, 100.0), usual=(0.0, 5.0),
        uncertain=True, trade_u=0.5, assumed=0.0,
        help="Force lost to the plate, at the pull-rod, either way.",
    )  # fmt: skip
    lever_taken_mm = Taken("lever_mm")
    offset_taken_deg = Taken("offset_deg")
    friction_taken_n = Taken("friction_n")
