"""How the record of an explanation is made: its name, the sizes of its faults, its place."""

from __future__ import annotations

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.judgement.diagnosis import STORED, Explanation, FaultSize
from bobweight.core.judgement.family import Family
from bobweight.core.judgement.faults import (
    MARK_OFFSET,
    NONE_OF_THESE,
    NOTHING_WRONG,
    OTHER_TABLE,
    Fault,
)
from bobweight.core.record import parameter_at, taken_at

SAME_PLACE_DISTANCE2 = 1.5
"""Two explanations share a place if their fitted readings differ by less than this (squared, in
uncertainties, summed over all readings): no more than chance."""
SAME_PLACE_ODDS = 20.0
"""... and neither is more probable than this many times the other."""
WORTH_NAMING = 0.05
"""Explanations of a place name each other from this probability on: what is less probable is out
of the question anyhow."""
_UNMEASURED = 0.05  # share by which a size and its uncertainty may move and count as untold


def explained(
    family: Family, x: Floats, h: int, probability: float, cov: Floats, mark_off: bool
) -> Explanation:
    """The record of one explanation, from where it came to rest.

    Parameters
    ----------
    x : array, shape (columns,)
    h : int
        Its hypothesis.
    probability : float
    cov : array, shape (columns, columns)
        Covariance of ``x``.
    mark_off : bool
        Whether the mark has slipped as well.
    """
    hypothesis = family.hypotheses[h]
    faults = [family.faults[i] for i in hypothesis.faults]
    sizes = [
        s
        for i, sign in zip(hypothesis.faults, hypothesis.signs, strict=True)
        for s in _sizes(family, x, h, i, sign, cov)
    ]
    sides = {f.side for f in faults}
    checks = [f.check_first for f in faults]
    name = hypothesis.name
    if name == OTHER_TABLE:
        sides, checks = {"measurement"}, ["check-table"]
    if mark_off:
        sides.add("measurement")
        checks.append("prove-mark")
        sizes.append(_mark_size(family, x, cov))
        name = MARK_OFFSET if name == NOTHING_WRONG else f"{name}+{MARK_OFFSET}"
    side = "none" if not sides else sides.pop() if len(sides) == 1 else "both"
    return Explanation(name, side, probability, tuple(sizes), tuple(dict.fromkeys(checks)))


def _mark_size(family: Family, x: Floats, cov: Floats) -> FaultSize:
    path = (*family.simulator.instrument, "mark_error_deg")
    amount = float(family.u_zero * x[family.zero])
    u = float(family.u_zero * np.sqrt(cov[family.zero, family.zero]))
    nominal = float(taken_at(family.docket, path))
    return FaultSize(MARK_OFFSET, path, amount, u, "deg", nominal, nominal + amount, u, "°")


def _sizes(family: Family, x: Floats, h: int, i: int, sign: float, cov: Floats) -> list[FaultSize]:
    """Sizes of one fault, with uncertainties by linear propagation from the point's covariance."""
    fault: Fault = family.faults[i]
    column = family.first_fault + i
    amount = float(fault.amount(x[column : column + 1])[0])
    narrowed = float(np.sqrt(cov[column, column]))  # 1 before the readings
    u = amount * fault.spread * narrowed
    moved_by = abs(amount - fault.usual)
    measured = moved_by >= _UNMEASURED * fault.usual or narrowed <= 1.0 - _UNMEASURED
    if fault.pipe:
        facts = (None, None, None, fault.unit, measured)
        return [FaultSize(fault.key, (), amount, u, fault.unit, *facts)]
    step = 1e-4
    moved = np.concatenate([x[None], x + step * np.eye(family.columns)])
    which = np.full(len(moved), h)
    sound = family.sound_values(moved, which)
    values = family.values(moved, which, sound)
    figures = {family.sound[each.value].path for each in family.altered(h)}
    found = []
    for effect in fault.effects:
        value = values[effect.path]
        slope = (value[1:] - value[0]) / step
        stated = family.simulator.usual(effect.path)
        ought = float(sound[effect.path][0]) if effect.path in sound else stated
        # of a part as found what is stated is what was found
        nominal = ought if effect.path in figures else stated
        stored = effect.path[0] in STORED
        unit = parameter_at(family.docket, effect.path).quantity.stored.symbol if stored else "°"
        found.append(
            FaultSize(
                fault.key, effect.path, sign * effect.sign * amount if fault.usual else 0.0, u,
                fault.unit, float(nominal), float(value[0]), float(np.sqrt(slope @ cov @ slope)),
                unit, measured, ought,
            )
        )  # fmt: skip
    return found


def _nested(one: str, other: str) -> bool:
    """Whether an explanation is a special case of the other, or stands by itself."""
    parts = set(one.split("+")), set(other.split("+"))
    alone = {NOTHING_WRONG, NONE_OF_THESE}
    return bool((parts[0] | parts[1]) & alone) or parts[0] <= parts[1] or parts[1] <= parts[0]


def placed(explanations: list[Explanation], d: Floats) -> tuple[Explanation, ...]:
    """Explanations with their places: one joins the first of a place if the readings do not part
    them.

    Parameters
    ----------
    explanations : list of Explanation
        The most probable first.
    d : array, shape (explanations, readings)
        Distances of the readings where each came to rest.
    """
    leaders: list[int] = []
    members: dict[int, list[int]] = {}
    clipped = np.clip(d, -6.0, 6.0)
    for i, e in enumerate(explanations):
        for leader in leaders:
            first = explanations[leader]
            near = float(np.sum((clipped[i] - clipped[leader]) ** 2)) < SAME_PLACE_DISTANCE2
            close = first.probability < SAME_PLACE_ODDS * e.probability
            if near and close and not _nested(e.name, first.name):
                members[leader].append(i)
                break
        else:
            leaders.append(i)
            members[i] = [i]
    found: list[Explanation | None] = [None] * len(explanations)
    for rank, leader in enumerate(leaders, start=1):
        named = {explanations[i].name for i in members[leader]
                 if explanations[i].probability >= WORTH_NAMING}  # fmt: skip
        for i in members[leader]:
            e = explanations[i]
            others = [explanations[k].name for k in members[leader] if k != i]
            alike = tuple(n for n in others if e.name in named and n in named)
            found[i] = Explanation(**(e.__dict__ | {"place": rank, "alike": alike}))
    return tuple(p for p in found if p is not None)
