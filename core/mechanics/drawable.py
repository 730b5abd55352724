"""Whether a mechanism can be drawn: every place is known, whatever else is not."""

from __future__ import annotations

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.problems import Path
from bobweight.core.record import get, put

_DRAWN_ALL_THE_SAME = ("nothing-holds-back",)


def drawable(mechanism: Mechanism) -> Mechanism | None:
    """The mechanism with any figure for what is blank and moves no line (masses, rates, free
    lengths, the stop); None where a place is missing or cannot be."""
    any_figure: list[tuple[Path, float]] = [(("weights", "mass_g"), 20.0), (("stop_deg",), 10.0)]
    for index in range(len(mechanism.springs)):
        any_figure += [
            (("springs", index, "rate_n_per_mm"), 1.0),
            (("springs", index, "free_length_mm"), 1.0),
        ]
    for path, value in any_figure:
        if get(mechanism, path) is None:
            mechanism = put(mechanism, path, value)
    if any(p.grave and p.code not in _DRAWN_ALL_THE_SAME for p in mechanism_problems(mechanism)):
        return None
    return mechanism
