"""How a spring is known: typed, hung with loads, or from its dimensions; with what was measured.

What was measured is kept beside the figures that follow from it, so that a later reader can see
how sure they are and work them out again.
"""

from __future__ import annotations

from bobweight.core.record import Record, choice, flag, many, number, one, stored, text
from bobweight.core.units import FORCE, LENGTH, NUMBER, STRESS

KNOWN_FROM = {
    "typed": "Typed in",
    "hang": "Hang test",
    "dimensions": "Wire and coil dimensions",
}
WIRES = {
    "music": "Music wire",
    "hard-drawn": "Hard-drawn wire",
    "oil-tempered": "Oil-tempered wire",
    "chrome-vanadium": "Chrome-vanadium wire",
    "chrome-silicon": "Chrome-silicon wire",
    "stainless-302": "Stainless wire, 302",
    "phosphor-bronze": "Phosphor bronze wire",
}
HOOK_RULES = {
    "stated": "So many coils, as stated",
    "moduli": "By the wire’s moduli (about 0.4 coil)",
}


@stored
class HangRow(Record):
    """One load of a hang test and the length under it."""

    load_n: float | None = number(
        "Load", FORCE, hard=(0.0, 2000.0), uncertain=True,
        help="With the lower hook and the pan. 0 for the unloaded spring.",
    )  # fmt: skip
    length_mm: float | None = number(
        "Length", LENGTH, hard=(1.0, 1000.0), uncertain=True,
        help="Between the insides of the hooks.",
    )  # fmt: skip
    left_out: bool = flag("Left out", help="Shown but not used. Say why in the note.")
    note: str = text("Note")


@stored
class HangTestRecord(Record):
    """The rows of a hang test as they were read."""

    rows: tuple[HangRow, ...] = many("Loads", HangRow, most=1000)
    open_wound: bool = flag(
        "Wound open", help="Daylight between the coils at rest: no initial tension."
    )


@stored
class CoilRecord(Record):
    """A spring's dimensions, from which its rate follows."""

    wire_mm: float | None = number(
        "Wire", LENGTH, hard=(0.05, 12.0), usual=(0.3, 2.5), uncertain=True, trade_u=0.005,
        help="Diameter of the bare wire. The rate goes with its fourth power: use a micrometer.",
    )  # fmt: skip
    mean_diameter_mm: float | None = number(
        "Mean coil diameter", LENGTH, hard=(0.2, 100.0), usual=(2.0, 15.0),
        uncertain=True, trade_u=0.03, help="Outside diameter less one wire.",
    )  # fmt: skip
    body_coils: float | None = number(
        "Coils of the body", NUMBER, hard=(0.5, 200.0), usual=(3.0, 40.0),
        uncertain=True, trade_u=0.15, help="Hooks not counted.",
    )  # fmt: skip
    material: str = choice("Wire of", WIRES, "music")
    hook_rule: str = choice(
        "Hooks count as", HOOK_RULES, "stated", help="What both hooks add to the active coils."
    )
    hook_coils: float = number(
        "Hooks, in coils", NUMBER, 1.0, hard=(0.0, 5.0), usual=(0.0, 1.5),
        uncertain=True, trade_u=0.25,
        help="Both hooks together; about one coil is common practice.",
    )  # fmt: skip
    shear_modulus_mpa: float | None = number(
        "Shear modulus", STRESS, hard=(1e3, 2e5), uncertain=True,
        help="Only if better known than the handbook’s.",
    )  # fmt: skip


@stored
class SpringSource(Record):
    """How the figures of a spring are known, with what was measured."""

    known_from: str = choice("Known from", KNOWN_FROM, "typed")
    hang_test: HangTestRecord = one("Hang test", HangTestRecord)
    coil: CoilRecord = one("Dimensions", CoilRecord)
    note: str = text("Where from", help="The unit it came out of, the maker’s number, a supplier.")
