"""The contacts, their cam and the coil, for dwell and gap."""

from __future__ import annotations

from bobweight.core.record import Record, Taken, number, stored
from bobweight.core.units import ANGLE, CURRENT, INDUCTANCE, LENGTH, NUMBER, RESISTANCE, VOLTAGE


@stored
class Points(Record):
    """Sizes of the breaker cam, the gap it is set to, and one known pair of gap and dwell."""

    flat_mm: float | None = number(
        "Flat to the axis", LENGTH, hard=(0.5, 60.0), usual=(4.0, 20.0),
        help="Half the size across two opposite flats (or from a flat to the axis).",
    )  # fmt: skip
    lobe_mm: float | None = number(
        "Lobe to the axis", LENGTH, hard=(0.5, 60.0), usual=(4.0, 25.0),
        help="Radius at the peak of a lobe. Leave it empty to have the known pair give it.",
    )  # fmt: skip
    lever_ratio: float | None = number(
        "Contact movement per heel lift", NUMBER, hard=(0.2, 5.0), usual=(0.7, 2.0),
        help="Pivot to contact over pivot to heel. Leave it empty to have the known pair give it.",
    )  # fmt: skip
    known_gap_mm: float | None = number(
        "Known gap", LENGTH, hard=(0.05, 3.0), usual=(0.25, 0.65),
        help="A gap that was set, with the dwell that the meter then showed.",
    )  # fmt: skip
    known_dwell_deg: float | None = number(
        "Dwell at that gap",
        ANGLE,
        hard=(1.0, 180.0),
        frame="distributor",
        help="Distributor degrees closed.",
    )
    set_gap_mm: float | None = number(
        "Gap to set", LENGTH, hard=(0.05, 3.0), usual=(0.25, 0.65),
        help="Usual on small fours: 0.35 to 0.40 mm.",
    )  # fmt: skip


@stored
class Coil(Record):
    """The coil's circuit, for the current that the contacts break."""

    supply_v: float | None = number(
        "Supply", VOLTAGE, hard=(1.0, 60.0), usual=(5.5, 15.0),
        help="Across coil and ballast with the engine running.",
    )  # fmt: skip
    coil_ohm: float | None = number(
        "Primary winding", RESISTANCE, hard=(0.05, 500.0), usual=(0.5, 5.0)
    )
    ballast_ohm: float | None = number(
        "Ballast", RESISTANCE, hard=(0.0, 500.0), usual=(0.0, 3.0), assumed=0.0
    )
    inductance_mh: float | None = number(
        "Inductance", INDUCTANCE, hard=(0.1, 10000.0), usual=(3.0, 15.0)
    )
    wanted_a: float | None = number(
        "Current wanted", CURRENT, hard=(0.05, 50.0), usual=(1.5, 4.0),
        help="What the coil needs at the break for a full spark.",
    )  # fmt: skip
    ballast_taken_ohm = Taken("ballast_ohm")
