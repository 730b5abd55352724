"""What may explain a session's readings: single faults, pairs, nothing, none of these."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import product

from bobweight.core.frozen import frozen
from bobweight.core.judgement.faults import (
    NONE_OF_THESE,
    NOTHING_WRONG,
    OTHER_TABLE,
    PAIR_WEIGHT,
    PAIRS,
    WEIGHT_NONE,
    Fault,
)


@frozen
class Hypothesis:
    """One explanation with its signs: the faults that act, and prior odds. ``table`` is 1 where
    the table is another unit's; ``told`` is the logarithm of what other sessions make of the odds.
    ``as_found``: the stated figures that its faults alter are those of the part at fault.
    """

    name: str
    faults: tuple[int, ...]
    signs: tuple[float, ...]
    weight: float
    free_form: bool = False
    table: int = 0
    told: float = 0.0
    as_found: bool = False

    @property
    def log_odds(self) -> float:
        """Logarithm of its odds before the readings of this session."""
        return math.log(self.weight) + self.told


def hypotheses_of(faults: Sequence[Fault], nothing: float, other: float) -> list[Hypothesis]:
    """Every explanation with its signs, "nothing wrong" the first.

    Parameters
    ----------
    nothing : float
        Prior odds that nothing is wrong.
    other : float
        Probability that the table is another unit's.
    """
    place = {f.key: i for i, f in enumerate(faults)}
    found = [
        Hypothesis(NOTHING_WRONG, (), (), nothing),
        Hypothesis(NONE_OF_THESE, (), (), WEIGHT_NONE, free_form=True),
    ]
    if other > 0:
        odds = other / max(1.0 - other, 1e-6)
        found.append(Hypothesis(OTHER_TABLE, (), (), nothing * odds, table=1))
    for i, fault in enumerate(faults):
        weight = fault.weight / len(fault.signs)
        found += [Hypothesis(fault.key, (i,), (sign,), weight) for sign in fault.signs]
    for keys in PAIRS:
        if not all(key in place for key in keys):
            continue
        acting = tuple(place[key] for key in keys)
        signs = list(product(*(faults[i].signs for i in acting)))
        weight = PAIR_WEIGHT / 3.0 ** (len(keys) - 2) / len(signs)
        found += [Hypothesis("+".join(keys), acting, s, weight) for s in signs]
    return found


def with_twins(
    found: Sequence[Hypothesis], share: float, altered: Callable[[Hypothesis], Sequence[object]]
) -> list[Hypothesis]:
    """Each explanation that alters a stated figure twice, after all others: with that figure of a
    sound part, and of the part as it was found.

    Parameters
    ----------
    share : float
        Chance that a stated figure is of the part as found.
    altered : callable
        The stated figures that an explanation alters.
    """
    twice = [h for h in found if share and altered(h)]
    alone = [h for h in found if h not in twice]
    for flag, part in ((False, 1.0 - share), (True, share)):
        alone += [replace(h, weight=part * h.weight, as_found=flag) for h in twice]
    return alone
