"""How a table makes explanations more or less likely before any reading.

A sound unit lies inside its table, and a fault mostly takes it outside: one that is not felt there
is less likely to be what brought the unit to the bench.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.judgement.family import Family
from bobweight.core.judgement.table_limits import FAULT_FELT

_LEAST_KEPT = 0.003
_DRAWN = 1000  # amounts beforehand, of which a few are taken


def felt(family: Family, hypotheses: Indices, q: Floats) -> Floats:
    """What the table adds beforehand to each hypothesis: the share of sound units that keep it, for
    a fault times how mostly it is felt; shape (hypotheses,).

    Parameters
    ----------
    hypotheses : int array, shape (hypotheses,)
        Rows of ``family.hypotheses``.
    q : array, shape (units, columns)
        Points beforehand.
    """
    nothing = np.zeros(len(q), int)
    sound = family.sound_values(q, nothing)
    kept = family.limits.keeping(sound, family.simulator.curves(sound))
    share = max(float(kept.mean()), _LEAST_KEPT)
    likely = np.flatnonzero(kept > _LEAST_KEPT)
    found = np.full(len(hypotheses), share)
    found[family.of_table[hypotheses] == 1] = 1.0
    twin = family.as_found.is_one[hypotheses]
    acting = np.flatnonzero(family.of_unit[hypotheses] & ~twin)
    if len(likely) and len(acting):
        which = np.repeat(hypotheses[acting], len(likely))
        values = family.values(np.tile(q[likely], (len(acting), 1)), which)
        left = family.limits.keeping(values, family.simulator.curves(values))
        acts = 1.0 - FAULT_FELT * left.reshape(len(acting), -1)
        found[acting] *= acts @ kept[likely] / kept[likely].sum()
    for i in np.flatnonzero(twin):  # whose sound unit is another
        h = hypotheses[i : i + 1]
        x, which = _before(family, int(h[0]), q), np.repeat(h, len(q))
        sound = family.sound_values(x, which)
        values = family.values(x, which, sound)
        keeps, left = (
            family.limits.keeping(v, family.simulator.curves(v)) for v in (sound, values)
        )
        found[i] = max(float(np.mean(keeps * (1.0 - FAULT_FELT * left))), _LEAST_KEPT)
    return found


def _before(family: Family, h: int, q: Floats) -> Floats:
    """Points beforehand under one hypothesis, from points that are standard normal."""
    if not family.as_found.is_one[h]:
        return q
    rng, drawn = np.random.default_rng(h), np.zeros((_DRAWN, family.columns))
    columns = [family.first_fault + i for i in family.hypotheses[h].faults]
    drawn[:, columns] = rng.normal(size=(_DRAWN, len(columns)))
    which = np.full(_DRAWN, h)
    moved = family.moved(drawn, which)
    log_weight = family.as_found.log_weight(h, moved)
    weight = np.exp(log_weight - log_weight.max())
    chosen = rng.choice(_DRAWN, len(q), p=weight / weight.sum())
    found = q.copy()
    found[:, columns] = drawn[chosen][:, columns]
    return found
