"""Figures that cannot be right: one mistyped, or of another part.

Where figures and table cannot be had together, either is wrong. That it is the table is an
explanation of its own; that it is a figure is seen by judging the readings as if no figure of the
mechanism were known: if that explains table and readings better by more than such mistakes are
rare, the figures are let be, and the program names those that would have to be another.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism, Spring
from bobweight.core.judgement.diagnosis import Diagnosis
from bobweight.core.judgement.sound import SoundUnit, TableRows
from bobweight.core.problems import Path
from bobweight.core.record import parameter_at
from bobweight.core.statistics.least_squares import minimise

FIGURE_WRONG = 0.03
"""Chance that a figure is not a little off but wrong (common practice)."""
_LEAST_COST = 6.0  # of figures and table together, below which nothing is doubted ...
_SCATTER = 1.35  # ... unless the readings scatter so much about all that the figures allow
_ENOUGH = 0.5  # of that cost, that a single figure must take away to be named
_MOST_NAMED = 5
_NEVER = 1e-300
_SHARE_U, _ANGLE_U_DEG = 1.0, 25.0  # what a figure may be off by that is wrong
_TRIED, _STARTS, _STEPS = np.linspace(-2.8, 2.8, 141), 2, 15


def without_figures(docket: Docket, found: Diagnosis) -> Docket | None:
    """The docket without the mechanism's figures, where these, the table and the readings do not
    go together; None where they do, or nothing can be said of it."""
    unit = found.family.unit
    if unit.rows is None or unit.assumed.nothing_known:
        return None
    scatter = float(found.family.noise_factor(found.x[:1])[0])
    if unit.cost < _LEAST_COST and scatter < _SCATTER:
        return None
    springs = tuple(Spring(role=s.role) for s in docket.mechanism.springs)
    return docket.with_changes(mechanism=Mechanism(springs=springs))


def wrong_figures(with_figures: Diagnosis, without: Diagnosis) -> bool:
    """Whether table and readings speak for a wrong figure."""
    logs = [_log_of_all(d) for d in (with_figures, without)]
    odds = FIGURE_WRONG / (1.0 - FIGURE_WRONG)
    return bool(logs[1] + np.log(odds) > logs[0])


def _log_of_all(d: Diagnosis) -> float:
    """Logarithm of how probable table and readings are, whether the table is this unit's or not."""
    weight = np.exp([h.log_odds for h in d.family.hypotheses])
    other = d.family.of_table == 1
    terms = np.log(max(d.odds[~other].sum(), _NEVER) / weight[~other].sum())
    if other.any():
        one = np.log(max(d.odds[other].sum(), _NEVER) / weight[other].sum())
        terms = np.logaddexp(terms, one + d.family.unit.log_other)
    found: float = d.family.unit.log_table + d.log_evidence + np.log(weight.sum()) + terms
    return found


@lru_cache(maxsize=4)
def suspects(unit: SoundUnit) -> tuple[Path, ...]:
    """The figures of which each by itself, were it another, would let the rest and the table agree:
    those that are unusual first, then by what they explain. Where no single one would, those that
    are unusual."""
    docket, order, unusual = Docket(mechanism=unit.mechanism), [], []
    for index, f in enumerate(unit.free):
        parameter = parameter_at(docket, f.path)
        stands = parameter.default is not None or parameter.assumed is not None
        if stands or f.path[1:] in unit.assumed.known:
            continue
        low, high = parameter.usual or parameter.hard
        if not low <= f.value <= high:
            unusual.append(f.path)
        if (cost := _cost_without(unit, index)) < _ENOUGH * unit.cost:
            order.append((low <= f.value <= high, cost, f.path))
    return tuple([path for _, _, path in sorted(order)] or unusual)[:_MOST_NAMED]


def _cost_without(unit: SoundUnit, index: int) -> float:
    """Least cost of figures and table with one figure let go."""
    f = unit.free[index]
    angle = f.unit == "°"
    loose = replace(f, u=_ANGLE_U_DEG if angle else _SHARE_U, by_share=not angle, origin=0.0)
    free = (*unit.free[:index], loose, *unit.free[index + 1 :])
    assert unit.rows is not None
    rows: TableRows = unit.rows.of(free)
    low, high = np.array([each.bounds for each in free]).T
    tried: Floats = np.zeros((len(_TRIED), len(free)))  # all else as it was typed
    tried[:, index] = _TRIED
    tried = np.clip(tried, low, high)
    cost = np.sum(rows.residuals(tried) ** 2, axis=1) + np.sum(tried**2, axis=1)
    found = minimise(
        lambda z, member: np.concatenate([rows.residuals(z), z], axis=1),
        tried[np.argsort(cost)[:_STARTS]], low, high, tolerance=1e-3, most_steps=_STEPS,
    )  # fmt: skip
    return float(found.cost[found.best])
