"""What was found when the unit was stripped, and the limits it is held against.

The limits are common practice and vary by maker, so each can be altered in the docket.
"""

from __future__ import annotations

from typing import Any

from bobweight.core.record import Record, choice, many, number, one, stored, text
from bobweight.core.units import (
    ANGLE,
    CAPACITANCE,
    DEPRESSION,
    FORCE,
    LENGTH,
    MASS,
    TIME_S,
    VOLTAGE,
    Quantity,
    Unit,
)

INSULATION = Quantity(
    "insulation", (Unit("MΩ", 1.0, ("Mohm",)), Unit("kΩ", 1e-3, ("kohm",)), Unit("GΩ", 1e3)), 0
)
ROTOR_RESISTANCE = Quantity(
    "rotor_resistance", (Unit("kΩ", 1.0, ("kohm",)), Unit("Ω", 1e-3, ("ohm", "ohms"))), 1
)
CONDITIONS = {
    "unseen": "Not looked at",
    "sound": "Sound",
    "doubtful": "Doubtful",
    "faulty": "Faulty",
}


@stored
class LobeAngle(Record):
    """The angle at which one lobe opens the contacts, in the order in which they come round."""

    firing_deg: float | None = number("Opens at", ANGLE, hard=(-360.0, 1080.0), frame="distributor")


@stored
class LeakReading(Record):
    """Depression left in the capsule some time after the line was closed."""

    time_s: float | None = number("After", TIME_S, hard=(0.0, 36000.0))
    depression_kpa: float | None = number("Depression left", DEPRESSION, hard=(0.0, 101.0))


def _most(label: str, quantity: Quantity, default: float, top: float) -> Any:
    return number(
        label, quantity, default, hard=(0.0, top), frame=_frame(quantity),
        help="Common practice; alter to suit.",
    )  # fmt: skip


def _frame(quantity: Quantity) -> str:
    """All angles of the strip-down are read at the distributor."""
    return "distributor" if quantity is ANGLE else ""


@stored
class FindingLimits(Record):
    """The limits of the findings. What is empty is left to common practice or is no limit."""

    side_play_most_mm: float = _most("Side play, at most", LENGTH, 0.10, 5.0)
    end_float_least_mm: float = _most("End float, at least", LENGTH, 0.05, 10.0)
    end_float_most_mm: float = _most("End float, at most", LENGTH, 0.25, 10.0)
    lobe_error_most_deg: float = _most("Error of a lobe, at most", ANGLE, 1.0, 30.0)
    gap_nominal_mm: float | None = number(
        "Gap of this unit", LENGTH, hard=(0.05, 3.0), usual=(0.25, 0.65),
        help="As its maker states it. Empty: the gap to set; where that is empty too, the gap is "
        "shown and not judged.",
    )  # fmt: skip
    gap_tolerance_mm: float = _most("Gap, within ±", LENGTH, 0.025, 1.0)
    gap_least_mm: float = _most("Gap, at least", LENGTH, 0.35, 5.0)
    gap_most_mm: float = _most("Gap, at most", LENGTH, 0.40, 5.0)
    dwell_nominal_deg: float | None = number(
        "Dwell of this unit", ANGLE, hard=(1.0, 300.0), frame="distributor",
        help="As its maker states it. Empty: the dwell is shown and not judged.",
    )  # fmt: skip
    dwell_tolerance_deg: float = _most("Dwell, within ±", ANGLE, 3.0, 60.0)
    dwell_least_deg: float | None = number(
        "Dwell, at least", ANGLE, hard=(0.0, 360.0), frame="distributor",
        help="Where the data give a range. Empty: common practice, which is shown only.",
    )  # fmt: skip
    dwell_most_deg: float | None = number(
        "Dwell, at most", ANGLE, hard=(0.0, 360.0), frame="distributor",
        help="Where the data give a range. Empty: common practice, which is shown only.",
    )  # fmt: skip
    dwell_change_most_deg: float = _most("Change of dwell, at most", ANGLE, 2.0, 60.0)
    dwell_vacuum_change_most_deg: float | None = number(
        "Change of dwell over the vacuum travel, at most", ANGLE, hard=(0.0, 60.0),
        frame="distributor",
        help="2° on plates that turn about the shaft. Empty: shown and not judged, since a plate "
        "that turns about a pin beside the shaft changes the dwell by its build.",
    )  # fmt: skip
    spring_least_n: float = _most("Contact spring, at least", FORCE, 4.73, 50.0)
    spring_most_n: float = _most("Contact spring, at most", FORCE, 6.67, 50.0)
    condenser_least_uf: float = _most("Condenser, at least", CAPACITANCE, 0.18, 10.0)
    condenser_most_uf: float = _most("Condenser, at most", CAPACITANCE, 0.25, 10.0)
    insulation_least_mohm: float = _most("Insulation, at least", INSULATION, 50.0, 1e6)
    earth_drop_most_v: float = _most("Drop of the earth lead, at most", VOLTAGE, 0.1, 12.0)
    rotor_least_kohm: float = _most("Rotor, at least", ROTOR_RESISTANCE, 4.0, 1000.0)
    rotor_most_kohm: float = _most("Rotor, at most", ROTOR_RESISTANCE, 6.0, 1000.0)
    weight_difference_most_g: float = _most("Difference of the weights, at most", MASS, 1.0, 50.0)
    pivot_clearance_most_mm: float = _most("Clearance at a pivot, at most", LENGTH, 0.20, 5.0)
    leak_test_s: float = number(
        "Time of the leak test", TIME_S, 60.0, hard=(1.0, 3600.0), usual=(30.0, 60.0),
        help="The loss over this time is judged, whenever the depression was read.",
    )  # fmt: skip
    leak_loss_most_kpa: float = _most("Loss in the leak test, at most", DEPRESSION, 3.386, 100.0)


def _found(label: str, quantity: Quantity, top: float, trade_u: float, help: str) -> Any:
    return number(label, quantity, hard=(0.0, top), uncertain=True, trade_u=trade_u, help=help,
                  frame=_frame(quantity))  # fmt: skip


@stored
class Findings(Record):
    """The strip-down record: what was measured and seen, part by part."""

    side_play_mm: float | None = _found(
        "Side play of the shaft", LENGTH, 5.0, 0.01,
        "On an indicator at the cam, in line with the heel, pushed under half a pound each way. "
        "New: 0.01 to 0.04 mm.",
    )  # fmt: skip
    end_float_mm: float | None = _found(
        "End float of the shaft", LENGTH, 10.0, 0.02, "More is usual on gear-set types."
    )
    lobes_deg: tuple[LobeAngle, ...] = many(
        "Firing angles", LobeAngle,
        help="Distributor degrees at which each lobe opens the contacts, in order; any zero.",
    )  # fmt: skip
    u_lobe_deg: float | None = number(
        "Each angle is read to ±", ANGLE, hard=(0.01, 10.0), usual=(0.1, 1.0), frame="distributor",
        help="Standard uncertainty of one firing angle.",
    )  # fmt: skip
    gap_mm: float | None = _found(
        "Contact gap", LENGTH, 5.0, 0.03,
        "Heel on the peak of a lobe. A pitted contact reads wide on a feeler gauge.",
    )  # fmt: skip
    dwell_deg: float | None = _found(
        "Dwell", ANGLE, 360.0, 1.0, "Distributor degrees closed, as the meter shows it."
    )
    dwell_change_deg: float | None = _found(
        "Change of dwell, idle to 1500 rev/min", ANGLE, 60.0, 0.5,
        "How much the dwell moves from idle to 1500 rev/min: over 2° means wear.",
    )  # fmt: skip
    dwell_vacuum_change_deg: float | None = _found(
        "Change of dwell over the vacuum travel", ANGLE, 60.0, 0.5,
        "How much the dwell moves as the capsule pulls the plate through its travel.",
    )  # fmt: skip
    spring_n: float | None = _found(
        "Contact spring", FORCE, 50.0, 0.3, "Pull at the contact, square to the arm, as they part."
    )
    condenser_uf: float | None = _found("Condenser", CAPACITANCE, 10.0, 0.01, "")
    insulation_mohm: float | None = _found(
        "Insulation of the condenser", INSULATION, 1e6, 5.0, "Read warm, at its working voltage."
    )
    earth_drop_v: float | None = _found(
        "Drop across contacts and earth lead", VOLTAGE, 12.0, 0.02,
        "Volts from the moving contact’s terminal to the body, points closed, ignition on only "
        "while reading.",
    )  # fmt: skip
    earth_lead: str = choice(
        "Earth lead through the plate’s travel", CONDITIONS, "unseen",
        help="Sound: whole, and free all the way with the plate.",
    )  # fmt: skip
    rotor_kohm: float | None = _found(
        "Suppressed rotor", ROTOR_RESISTANCE, 1000.0, 0.2,
        "Tip to centre. Leave it empty for a rotor without a resistor.",
    )  # fmt: skip
    rotor: str = choice(
        "Rotor", CONDITIONS, "unseen", help="Cracks, tracks, a loose clip, a burnt tip."
    )
    cap: str = choice(
        "Cap", CONDITIONS, "unseen", help="Cracks, tracks, posts burnt or touched, the brush."
    )
    weight_difference_g: float | None = _found(
        "Difference of the two weights", MASS, 50.0, 0.1, "Usual: within 0.5 to 1 g."
    )
    pivot_clearance_mm: float | None = _found(
        "Clearance at the worst pivot", LENGTH, 5.0, 0.02,
        "Usual: up to 0.08 mm. Of weights and cam foot.",
    )  # fmt: skip
    weights_free: str = choice(
        "Weights and cam swing freely", CONDITIONS, "unseen", help="Clean and oiled, springs off."
    )
    plate: str = choice(
        "Breaker plate turns freely", CONDITIONS, "unseen", help="Through its travel, no rock."
    )
    leak: tuple[LeakReading, ...] = many(
        "Leak-down", LeakReading, help="Depression held in the capsule, at two times or more."
    )
    u_leak_kpa: float | None = number(
        "Each depression is read to ±", DEPRESSION, hard=(0.001, 20.0), usual=(0.05, 2.0),
        help="Standard uncertainty of one reading of the gauge.",
    )  # fmt: skip
    limits: FindingLimits = one("Limits", FindingLimits)
    notes: str = text("Notes", long=True, help="What else was found: repairs, bodges, damage.")
