"""The shortest cure: which alteration, or which two, bring the unit into its band.

Everything is judged over samples of what the readings leave possible, of all explanations, and
with what a hand adds, so that the probability of the band is that of the real unit and not of one
curve.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import field
from functools import cached_property

import numpy as np

from bobweight.core.arrays import Coarse, Floats, Indices
from bobweight.core.frozen import frozen
from bobweight.core.judgement.alter_catalogue import (
    HAND_SHARE,
    STAGES,
    TIMES,
    Adjustment,
    catalogue,
)
from bobweight.core.judgement.faults import NONE_OF_THESE
from bobweight.core.judgement.fit_curves import Values
from bobweight.core.judgement.posterior import Posterior, TargetBands, quantiles
from bobweight.core.problems import BobweightError, Path
from bobweight.core.statistics.least_squares import Cancelled

ENOUGH = 0.9
"""A unit whose probability of the band is this needs no alteration."""
LEFT_ALONE = 0.95
"""... and of one as probable as this none is even tried."""
ONE_IS_ENOUGH = 0.85
"""A single alteration as probable as this is not joined by another."""
_SAMPLES = 48
_NEAR = 2  # amounts to either side of the best that are tried for true
_MARGIN_COUNTS = 0.02  # a degree of margin against the probability, where that is equal
_PAIRS_TRIED = 6
_OTHERS = 5
_WORTH_ANOTHER = 0.15  # what a second alteration must add
_REGRET = 0.2  # what filing a weight must do better than anything that can be undone
_PART = 0.02  # what a spring of its own stiffness must do better than one that is to be had
_WORTH_ANY = 0.1  # what a list must add to be proposed at all
_TOLD_OF_A_RATE = 0.1
_HAND_ROWS = 3
_U_LEVER = 0.22  # of millimetres at a spring whose place is as usual in the trade (common practice)
_SEED = 20
_MIDDLE = (0.16, 0.5, 0.84)  # one standard uncertainty either way
_AS_GOOD = 0.04  # within this the earlier one in the trade's order is taken

Cancelling = Callable[[], bool] | None
Single = tuple[Adjustment, float, float]
"""An alteration, its amount, and the probability of the band after it."""
Chosen = tuple[tuple[Adjustment, float], ...]


@frozen
class CureStep:
    """One alteration of a list, by how much, and the probability of the band after it.

    ``value`` is the rate in N/mm to buy a spring by that is altered by a factor; None where the
    present one's is not known as surely as a spring is bought: the readings tell its share of the
    torque, and no rate has the probability that the factor has.
    """

    key: str
    stage: str
    path: Path
    spring: int | None
    amount: float
    unit: str
    probability_inside_after: float
    value: float | None = None


@frozen(eq=False)
class Sensitivity:
    """Distributor degrees at each check point for one unit of an alteration, in proportion to what
    a little of it does; for one that sets values, for the whole of it."""

    key: str
    stage: str
    path: Path
    spring: int | None
    unit: str
    deg_per_unit: Floats

    @property
    def deg_as_told(self) -> Floats:
        """Of a rate for a tenth more: twice as stiff is not a little, nor in proportion."""
        return self.deg_per_unit * (_TOLD_OF_A_RATE if self.unit == TIMES else 1.0)


@frozen(eq=False)
class Cure:
    """What to alter.

    Attributes
    ----------
    probability_before : float
        That the unit as it is lies inside its band everywhere.
    steps : tuple of CureStep
        In the order of the trade; empty if nothing need be done or nothing helps.
    others : tuple of tuple of CureStep
        Other single alterations, the most probable first.
    speeds_rpm : array
        Distributor speeds of the check points, for ``sensitivities``.
    """

    probability_before: float
    steps: tuple[CureStep, ...]
    others: tuple[tuple[CureStep, ...], ...]
    speeds_rpm: Floats
    sensitivities: tuple[Sensitivity, ...] = field(repr=False)


def find_cure(posterior: Posterior, target: TargetBands, cancelled: Cancelling = None) -> Cure:
    """The shortest list of alterations that brings the unit into its band.

    Parameters
    ----------
    posterior : Posterior
        What the unit may be.
    target : TargetBands
        What it is judged by.

    Raises
    ------
    BobweightError
        ``no-check-points`` where there is no band to be brought into.
    bobweight.core.statistics.least_squares.Cancelled
    """
    if not target.count:
        raise BobweightError("no-check-points", ("target", "points"))
    return _Search(posterior, target, cancelled).run()


def _regret(a: Adjustment) -> float:
    """What an alteration must do better than one that can be undone and asks for no part."""
    return {"mass": _REGRET, "rate": _PART}.get(a.key, 0.0)


def _liked(single: Single) -> float:
    """Its probability, less for what cannot be undone."""
    return single[2] - _regret(single[0])


class _Units:
    """Samples that alterations are tried on, with what a hand adds to each."""

    def __init__(self, posterior: Posterior, rows: Indices, weight: Floats, seed: int):
        self.posterior, self.count, self.weight = posterior, len(rows), weight
        self.values: Values = {p: v[rows] for p, v in posterior.values.items()}
        self.sound: Values = {p: v[rows] for p, v in posterior.sound.items()}
        self.x = posterior.x[rows]
        rng = np.random.default_rng(seed)
        self.hand = rng.normal(size=(2, _HAND_ROWS, len(rows)))
        # No curve tells the lever of a spring whose place is assumed: rates make up for it.
        known, self.lever = posterior.family.unit.assumed.known, {}
        for index in range(len(posterior.family.docket.mechanism.springs)):
            if ("springs", index, "peg_radius_mm") in known:
                self.lever[index] = np.exp(_U_LEVER * rng.normal(size=len(rows)))

    def now(self, values: Values) -> Callable[[Path], Floats]:
        """The value at a path of these values."""
        size = max(np.size(v) for v in values.values())

        def value(path: Path) -> Floats:
            if path in values:
                return np.broadcast_to(values[path], (size,))
            return np.full(size, self.posterior.simulator.usual(path))

        return value

    def altered(self, chosen: Sequence[tuple[Adjustment, Floats]]) -> Values:
        """The values after combinations of amounts, by hand: combinations × units in a row."""
        count = len(chosen[0][1])
        values: dict[Path, Floats] = {p: np.tile(v, count) for p, v in self.values.items()}
        for place, (a, amounts) in enumerate(chosen):
            amount = np.repeat(amounts, self.count)
            if a.unit == "mm" and a.spring in self.lever:
                amount *= np.tile(self.lever[a.spring], count)
            exact = a.apply(values, amount, self.now(values), self.sound)
            drawn = np.tile(self.hand[place % 2], (1, count))
            values = a.by_hand(exact, drawn)
        return values


class _Search:
    """One search for a cure: tried on a few even samples, told from all."""

    def __init__(self, posterior: Posterior, target: TargetBands, cancelled: Cancelling):
        self.posterior, self.target, self.cancelled = posterior, target, cancelled
        family, diagnosis = posterior.family, posterior.diagnosis
        self.docket, self.now = family.docket, family.docket
        if diagnosis.first.name != NONE_OF_THESE:
            self.now = diagnosis.docket_of()
        self.few = _Units(
            posterior, posterior.evenly(_SAMPLES), np.full(_SAMPLES, 1.0 / _SAMPLES), _SEED
        )
        every = np.arange(len(posterior.x))
        self.all = _Units(posterior, every, posterior.weight, _SEED + 1)
        self.centre = _Units(posterior, np.array([int(np.argmax(posterior.weight))]),
                             np.ones(1), _SEED)  # fmt: skip
        self.centre.values = posterior.leading()
        vacuum = bool(target.capsule.any())
        assumed = family.unit.assumed
        self.list = catalogue(self.docket, self.now, vacuum, not assumed.nothing_known)

    def run(self) -> Cure:
        before = float(self._chance(self.all, self.all.values)[0][0])
        singles = []
        if before < LEFT_ALONE:
            singles = [s for s in (self._best_single(a) for a in self.list) if s is not None]
        chosen: Chosen = ()
        if before < ENOUGH and singles:
            chosen = self._choose(before, singles)
        steps = self._steps(chosen)
        if len(steps) > 1:  # told from all the samples, not from the few it was found by
            alone = max(singles, key=_liked)
            single = self._steps(((alone[0], alone[1]),))
            reached = single[-1].probability_inside_after + _WORTH_ANY
            if steps[-1].probability_inside_after < reached:
                steps = single
        if steps and steps[-1].probability_inside_after < before + _WORTH_ANY:
            chosen, steps = (), ()
        likely = sorted(singles, key=lambda s: -s[2])[:_OTHERS]  # by a few samples
        others = [self._steps(((a, amount),)) for a, amount, _ in likely]
        others.sort(key=lambda steps: -steps[-1].probability_inside_after)
        return Cure(
            before, steps,
            tuple(others),
            self.target.asked.where[self.target.curve],
            tuple(self._sensitivity(a) for a in self.list),
        )  # fmt: skip

    def _choose(self, before: float, singles: list[Single]) -> Chosen:
        best = max(_liked(s) for s in singles)
        single = next(s for s in singles if _liked(s) >= best - _AS_GOOD)  # in the trade's order
        if best >= ONE_IS_ENOUGH:
            return ((single[0], single[1]),)
        pair = self._best_pair()
        if pair is not None and pair[1] >= best + _WORTH_ANOTHER:
            return pair[0]
        return ((single[0], single[1]),) if best > before + 0.02 else ()

    def _ask(self) -> None:
        if self.cancelled is not None and self.cancelled():
            raise Cancelled

    def _chance(self, units: _Units, values: Values) -> tuple[Floats, Floats]:
        """Probability of the whole band, and mean margin in degrees cut off at half a degree, of
        each run of units."""
        self._ask()
        margin = self.target.margin(self._advance(units, values)).min(axis=1)
        margin = margin.reshape(-1, units.count)
        return (margin >= 0) @ units.weight, np.minimum(margin, 0.5) @ units.weight

    def _advance(self, units: _Units, values: Values) -> Floats:
        return self.target.advance(self.posterior, values, units.x)

    def _tried(
        self, chosen: Sequence[tuple[Adjustment, Floats]], units: _Units
    ) -> tuple[Floats, Floats]:
        """Probability and margin of combinations of amounts, each of shape (combinations,)."""
        return self._chance(units, units.altered(chosen))

    def _best_single(self, a: Adjustment) -> Single | None:
        """The amount with the most probability, and where equal the most margin: found by
        straight-line sums, then for true as far as it gets better to either side."""
        if not a.amounts:
            return None
        score, probability = np.full(len(a.amounts), -np.inf), np.zeros(len(a.amounts))
        best = self._by_shift(a)
        while True:
            near = np.arange(max(best - _NEAR, 0), min(best + _NEAR + 1, len(a.amounts)))
            near = near[np.isinf(score[near])]
            if not len(near):
                return a, a.amounts[best], float(probability[best])
            amounts = np.array(a.amounts)[near]
            probability[near], margin = self._tried([(a, amounts)], self.few)
            score[near] = probability[near] + _MARGIN_COUNTS * margin
            best = int(np.argmax(score))

    def _by_shift(self, a: Adjustment) -> int:
        """Which amount is best if every unit's curve moves as the leading explanation's does."""
        base, low, high = self._flat
        there = base + self._shifts(a)[:, None]
        margin = np.minimum(there - low, high - there).min(axis=2)
        worth = (margin >= 0).mean(axis=1) + _MARGIN_COUNTS * np.minimum(margin, 0.5).mean(axis=1)
        return int(np.argmax(worth))

    @cached_property
    def _flat(self) -> tuple[Floats, Floats, Floats]:
        """Advance of the few units at every judged point of every branch, and the limits."""
        judged = self.target.judged
        base = self._advance(self.few, self.few.values)[:, :, judged].reshape(_SAMPLES, -1)
        low, high = (
            np.tile(v[judged], self.target.slots) for v in (self.target.low, self.target.high)
        )
        return base, low, high

    def _best_pair(self) -> tuple[Chosen, float] | None:
        """Two alterations and their probability: found by straight-line sums, then for true."""
        able = [a for a in self.list if a.amounts]
        base, low, high = (v.astype(np.float32) for v in self._flat)
        shifts = {id(a): self._shifts(a).astype(np.float32) for a in able}
        found = []
        for i, one in enumerate(able):
            for two in able[i + 1 :]:
                if (
                    one.spring is not None
                    and one.spring == two.spring
                    and (one.is_set or two.is_set)
                ):
                    continue
                self._ask()
                inside = _all_inside(base, shifts[id(one)], shifts[id(two)], low, high)
                p, q = np.unravel_index(np.argmax(inside), inside.shape)
                worth = inside[p, q] - sum(_regret(a) for a in (one, two))
                found.append((worth, one, two, one.amounts[p], two.amounts[q]))
        found.sort(key=lambda f: -f[0])
        best: tuple[Chosen, float] | None = None
        for _, one, two, x, y in found[:_PAIRS_TRIED]:
            first, second = (self._near(a, v) for a, v in ((one, x), (two, y)))
            grid = np.meshgrid(first, second, indexing="ij")
            amounts = [g.ravel() for g in grid]
            both = [(one, amounts[0]), (two, amounts[1])]
            probability, margin = self._tried(both, self.few)
            k = int(np.argmax(probability + _MARGIN_COUNTS * margin))
            pair = ((one, float(amounts[0][k])), (two, float(amounts[1][k])))
            if best is None or probability[k] > best[1] + _AS_GOOD:
                best = (pair, float(probability[k]))
        return best

    def _shifts(self, a: Adjustment) -> Floats:
        """Change of the leading explanation's curve at the judged points for each amount: (amounts,
        branches × points)."""
        moved = self._moved[id(a)][: len(a.amounts)]
        return moved[:, :, self.target.judged].reshape(len(moved), -1)

    @cached_property
    def _moved(self) -> dict[int, Floats]:
        """Change of the leading explanation's curve for each alteration's amounts, then for those
        that its slope is taken from: (amounts, branches, points)."""
        units, asked = self.centre, [a for a in self.list if a.key != "static"]
        parts: list[Values] = [units.values]
        for a in asked:
            amounts = np.array([*a.amounts, *_about_none(a)])
            values = {p: np.repeat(v, len(amounts)) for p, v in units.values.items()}
            parts.append(a.apply(values, amounts, units.now(values), units.sound))
        counts = [max(np.size(v) for v in part.values()) for part in parts]
        usual = self.posterior.simulator.usual
        together: Values = {
            path: np.concatenate([
                np.broadcast_to(part[path] if path in part else usual(path), (n,))
                for part, n in zip(parts, counts, strict=True)
            ])
            for path in dict.fromkeys(p for part in parts for p in part)
        }  # fmt: skip
        now, *each = np.split(self._advance(units, together), np.cumsum(counts)[:-1])
        return {id(a): found - now for a, found in zip(asked, each, strict=True)}

    def _near(self, a: Adjustment, amount: float) -> Floats:
        if a.is_set:
            return np.array([amount])
        amounts = np.array(a.amounts)
        at = int(np.argmin(np.abs(amounts - amount)))
        return amounts[max(at - 2, 0) : at + 3]

    def _sensitivity(self, a: Adjustment) -> Sensitivity:
        count = int(self.target.curve.sum())
        facts = (a.key, a.stage, a.path, a.spring, a.unit)
        if a.key == "static":
            ratio = self.docket.particulars.ratio_taken
            return Sensitivity(*facts, np.full(count, 1.0 / ratio))
        about, moved = _about_none(a), self._moved[id(a)][len(a.amounts) :]
        change = moved[0]
        if len(about) > 1:
            change = (moved[1] - moved[0]) / (about[1] - about[0])
        return Sensitivity(*facts, change[:, self.target.curve].mean(axis=0))

    def _steps(self, chosen: Chosen) -> tuple[CureStep, ...]:
        ordered = sorted(chosen, key=lambda c: STAGES.index(c[0].stage))
        found = []
        for k, (a, amount) in enumerate(ordered):
            upto = [(each, np.array([v])) for each, v in ordered[: k + 1]]
            probability = float(self._tried(upto, self.all)[0][0])
            facts = (a.key, a.stage, a.path, a.spring, amount, a.unit)
            value = self._to_buy(a, amount) if a.unit == TIMES else None
            found.append(CureStep(*facts, probability, value))
        return tuple(found)

    def _to_buy(self, a: Adjustment, amount: float) -> float | None:
        """The rate that a spring is bought by, if the present one's is known as surely."""
        if a.path not in self.all.values:
            return None
        low, middle, high = quantiles(self.all.values[a.path], self.all.weight, _MIDDLE)
        sure = high - low <= 2.0 * HAND_SHARE[str(a.path[-1])] * middle
        return a.of(float(middle), amount) if sure else None


def _about_none(a: Adjustment) -> tuple[float, ...]:
    """Amounts just below and above none, for a slope; one that sets values is done as a whole."""
    if a.is_set:
        return (1.0,)
    step = 0.05 if a.unit != "g" else 0.2
    none = 1.0 if a.unit == TIMES else 0.0
    return (none - step, none + step)


def _all_inside(base: Coarse, one: Coarse, two: Coarse, low: Coarse, high: Coarse) -> Floats:
    """Share of the samples that lie inside at every point, for each amount of one shift with each
    of another; a point at a time, since all at once take gigabytes for a table of thousands.

    Parameters
    ----------
    base : ndarray, shape (samples, points)
    one, two : ndarray, shape (amounts, points)
    low, high : ndarray, shape (points,)
    """
    inside = np.ones((len(one), len(two), len(base)), dtype=bool)
    for of, first, second, least, most in zip(base.T, one.T, two.T, low, high, strict=True):
        there = (first[:, None] + of)[:, None] + second[:, None]
        inside &= there >= least
        inside &= there <= most
        if not inside.any():
            break
    return np.asarray(inside.mean(axis=2))
