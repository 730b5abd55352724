"""The shortest cure: which alteration, or which two, bring the fitted unit into its band.

Everything is judged over samples of what the readings leave possible, so that the probability of
the band is that of the real unit and not of one curve. With a diagnosis the samples are of its
explanations, as many of each as it is probable; without one, of the fit.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.alter_catalogue import STAGES, Alteration, catalogue
from bobweight.core.judgement.compare import Comparison
from bobweight.core.judgement.diagnose import Diagnosis
from bobweight.core.judgement.faults import NONE_OF_THESE
from bobweight.core.judgement.fit import Fit
from bobweight.core.judgement.fit_curves import Simulator, Values
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import get, put
from bobweight.core.statistics.least_squares import Cancelled

ENOUGH = 0.9
"""A unit whose probability of the band is this needs no alteration."""
ONE_IS_ENOUGH = 0.85
"""A single alteration as probable as this is not joined by another."""
_SAMPLES = 96
_PAIRS_TRIED = 6
_WORTH_ANOTHER = 0.15  # what a second alteration must add
_REGRET = 0.2  # what filing a weight must do better than anything that can be undone
_AS_GOOD = 0.04  # within this the earlier one in the trade's order is taken


@dataclass(frozen=True)
class Step:
    """One alteration of a list, by how much, and the probability of the band after it."""

    key: str
    stage: str
    path: Path
    spring: int | None
    amount: float
    unit: str
    probability_inside_after: float


@dataclass(frozen=True, eq=False)
class Sensitivity:
    """Distributor degrees at each check point for one unit of an alteration; for one that sets
    values, for the whole of it."""

    key: str
    stage: str
    path: Path
    spring: int | None
    unit: str
    deg_per_unit: NDArray


@dataclass(frozen=True, eq=False)
class Cure:
    """What to alter.

    Attributes
    ----------
    probability_before : float
        That the unit as it is lies inside its band everywhere.
    steps : tuple of Step
        In the order of the trade; empty if nothing need be done or nothing helps.
    edits : tuple of (Path, value)
        What the steps change, on top of ``docket_now``.
    docket_now, docket_after : Docket
        The unit as the readings show it (by the leading explanation, or fitted), and the same
        with the edits.
    others : tuple of tuple of Step
        Other single alterations, the most probable first.
    speeds_rpm : array
        Distributor speeds of the check points, for ``sensitivities``.
    sensitivities : tuple of Sensitivity
    """

    probability_before: float
    steps: tuple[Step, ...]
    edits: tuple[tuple[Path, float], ...]
    docket_now: Docket
    docket_after: Docket
    others: tuple[tuple[Step, ...], ...]
    speeds_rpm: NDArray
    sensitivities: tuple[Sensitivity, ...] = field(repr=False)


@dataclass(frozen=True, eq=False)
class Bands:
    """The target in distributor figures: speeds, least, most, and the branches that it is read
    on; the ceiling; and the vacuum points."""

    speed_rpm: NDArray
    low_deg: NDArray
    high_deg: NDArray
    ways: tuple[str, ...]
    ceiling_deg: float
    depression_kpa: NDArray
    vacuum_low_deg: NDArray
    vacuum_high_deg: NDArray

    @classmethod
    def of(cls, comparison: Comparison, read_as: str) -> Bands:
        """The bands that a comparison was made against."""
        points = [*comparison.check_points]
        if comparison.start is not None:
            points.insert(0, comparison.start)
        ways = ("rising", "falling") if read_as == "either" else (read_as,)
        ceiling = np.inf if comparison.ceiling is None else comparison.ceiling.high_deg
        vacuum = comparison.vacuum_points
        return cls(
            *(np.array([getattr(p, k) for p in points], dtype=float)
              for k in ("speed_rpm", "low_deg", "high_deg")),
            ways, float(ceiling),
            *(np.array([getattr(p, k) for p in vacuum], dtype=float)
              for k in ("depression_kpa", "low_deg", "high_deg")),
        )  # fmt: skip


def find_cure(
    docket: Docket,
    fit: Fit,
    comparison: Comparison,
    diagnosis: Diagnosis | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Cure:
    """The shortest list of alterations that brings the fitted unit into its band.

    Parameters
    ----------
    docket : Docket
        As stored: what a fresh spring is like, and the target.
    fit : Fit
    comparison : Comparison
        Of the same docket: gives the bands in distributor figures.
    diagnosis : Diagnosis, optional

    Raises
    ------
    BobweightError
        ``no-check-points`` where there is no band to be brought into.
    bobweight.core.statistics.least_squares.Cancelled
    """
    bands = Bands.of(comparison, docket.target.read_as)
    if not len(bands.speed_rpm) and not len(bands.depression_kpa):
        raise BobweightError("no-check-points", ("target", "points"))
    return _Search(docket, fit, bands, diagnosis, cancelled).run()


def _liked(single: tuple[Alteration, float, float]) -> float:
    """Its probability, less for what cannot be undone."""
    return single[2] - _REGRET * (single[0].key == "mass")


def _drawn(diagnosis: Diagnosis, by_fit: Values) -> Values:
    """Samples of the explanations, and of the fit for "none of these"."""
    found, rest = diagnosis.samples(_SAMPLES)
    docket = diagnosis.family.docket
    joined = {}
    for path in {**by_fit, **found}:
        usual = float(get(docket, path))
        parts = [
            source.get(path, np.full(_SAMPLES, usual))[:count]
            for source, count in ((found, _SAMPLES - rest), (by_fit, rest))
        ]
        joined[path] = np.concatenate(parts)
    return joined


class _Search:
    """One search for a cure."""

    def __init__(
        self, docket: Docket, fit: Fit, bands: Bands, diagnosis: Diagnosis | None, cancelled
    ):
        self.docket, self.bands, self.cancelled = docket, bands, cancelled
        self.simulator: Simulator = fit.objective.simulator
        self.now = fit.docket
        self.drawn: Values = fit.values(fit.samples(_SAMPLES))
        if diagnosis is not None:
            self.drawn = _drawn(diagnosis, self.drawn)
            if diagnosis.first.name != NONE_OF_THESE:
                self.now = diagnosis.docket_of()
        self.centre: Values = {p: np.array([float(get(self.now, p))]) for p in self.drawn}
        self.vacuum = len(bands.depression_kpa) > 0 and bool(self.simulator.capsules)
        self.list = catalogue(docket, self.now, self.vacuum)

    def run(self) -> Cure:
        before = float(self.inside(self.drawn))
        sensitivities = tuple(self._sensitivity(a) for a in self.list)
        singles = [s for s in (self._best_single(a) for a in self.list) if s is not None]
        chosen: tuple[tuple[Alteration, float], ...] = ()
        if before < ENOUGH and singles:
            chosen = self._choose(before, singles)
        steps = self._steps(chosen)
        edits, after = self._edits(chosen)
        others = sorted(singles, key=lambda s: -s[2])
        return Cure(
            before, steps, edits, self.now, after,
            tuple(self._steps(((a, amount),)) for a, amount, _ in others[:5]),
            self.bands.speed_rpm, sensitivities,
        )  # fmt: skip

    def _choose(self, before: float, singles: list) -> tuple[tuple[Alteration, float], ...]:
        best = max(_liked(s) for s in singles)
        single = next(s for s in singles if _liked(s) >= best - _AS_GOOD)  # in the trade's order
        if best >= ONE_IS_ENOUGH:
            return ((single[0], single[1]),)
        pair = self._best_pair()
        if pair is not None and pair[1] >= best + _WORTH_ANOTHER:
            return pair[0]
        return ((single[0], single[1]),) if best > before + 0.02 else ()

    def advance(self, values: Values) -> NDArray:
        """Advance at the check points, shape (builds, branches × speeds); falling after rising."""
        if self.cancelled is not None and self.cancelled():
            raise Cancelled
        table = self.simulator.curves(values)
        return np.concatenate(
            [table.at(self.bands.speed_rpm, way) for way in self.bands.ways], axis=1
        )

    def margin(self, values: Values) -> NDArray:
        """Least distance to a limit in degrees, negative outside, shape (builds,)."""
        b = self.bands
        advance = self.advance(values)
        low, high = (np.tile(a, len(b.ways)) for a in (b.low_deg, b.high_deg))
        parts = [np.minimum(advance - low, high - advance)]
        if np.isfinite(b.ceiling_deg):
            stop, give = (
                np.reshape(self.simulator.value(values, "mechanism", key), (-1, 1))
                for key in ("stop_deg", "stop_give_deg")
            )
            parts.append(np.broadcast_to(b.ceiling_deg - stop - give, (len(advance), 1)))
        if self.vacuum:
            none = np.full(len(b.depression_kpa), 2)
            moved = self.simulator.vacuum_deg(values, b.depression_kpa, none)
            inside = np.minimum(moved - b.vacuum_low_deg, b.vacuum_high_deg - moved)
            parts.append(np.broadcast_to(inside, (len(advance), inside.shape[1])))
        return np.concatenate(parts, axis=1).min(axis=1)

    def inside(self, values: Values, groups: int = 1) -> NDArray:
        """Probability of the band, of each of ``groups`` runs of samples."""
        margin = self.margin(values).reshape(groups, -1)
        return np.squeeze(np.mean(margin >= 0, axis=1))

    def _tried(self, chosen: list[tuple[Alteration, NDArray]]) -> tuple[NDArray, NDArray]:
        """Probability and mean margin of combinations of amounts, each of shape (combinations,)."""
        count = len(chosen[0][1])
        values = {p: np.tile(v, count) if len(v) > 1 else v for p, v in self.drawn.items()}
        for alteration, amounts in chosen:
            values = alteration.apply(values, np.repeat(amounts, _SAMPLES), self.docket)
        margin = self.margin(values).reshape(count, -1)
        return np.mean(margin >= 0, axis=1), np.mean(np.minimum(margin, 0.5), axis=1)

    def _best_single(self, a: Alteration) -> tuple[Alteration, float, float] | None:
        """The amount with the most probability, and where equal the most margin."""
        if not a.amounts:
            return None
        amounts = np.array(a.amounts)
        probability, margin = self._tried([(a, amounts)])
        best = int(np.argmax(probability + 0.02 * margin))
        return a, float(amounts[best]), float(probability[best])

    def _best_pair(self):
        """Two alterations and their probability: found by straight-line sums, then for true."""
        able = [a for a in self.list if a.amounts]
        base = self.advance(self.drawn)
        shifts = {id(a): self._shifts(a) for a in able}
        b = self.bands
        low, high = (np.tile(v, len(b.ways)) for v in (b.low_deg, b.high_deg))
        found = []
        for i, one in enumerate(able):
            for two in able[i + 1 :]:
                if one.spring is not None and one.spring == two.spring and one.is_set + two.is_set:
                    continue
                total = (
                    base[None, None]
                    + shifts[id(one)][:, None, None]
                    + shifts[id(two)][None, :, None]
                )
                inside = ((total >= low) & (total <= high)).all(axis=3).mean(axis=2)
                p, q = np.unravel_index(np.argmax(inside), inside.shape)
                worth = inside[p, q] - _REGRET * sum(a.key == "mass" for a in (one, two))
                found.append((worth, one, two, one.amounts[p], two.amounts[q]))
        found.sort(key=lambda f: -f[0])
        best = None
        for _, one, two, x, y in found[:_PAIRS_TRIED]:
            first, second = (self._near(a, v) for a, v in ((one, x), (two, y)))
            grid = np.meshgrid(first, second, indexing="ij")
            amounts = [g.ravel() for g in grid]
            probability, margin = self._tried([(one, amounts[0]), (two, amounts[1])])
            k = int(np.argmax(probability + 0.02 * margin))
            pair = ((one, float(amounts[0][k])), (two, float(amounts[1][k])))
            if best is None or probability[k] > best[1] + _AS_GOOD:
                best = (pair, float(probability[k]))
        return best

    def _shifts(self, a: Alteration) -> NDArray:
        """Change of the centre's curve for each amount: (amounts, branches × speeds)."""
        count = len(a.amounts)
        values = {p: np.repeat(v, count) for p, v in self.centre.items()}
        return self.advance(a.apply(values, np.array(a.amounts), self.docket)) - self.advance(
            self.centre
        )

    def _near(self, a: Alteration, amount: float) -> NDArray:
        if a.is_set:
            return np.array([amount])
        amounts = np.array(a.amounts)
        at = int(np.argmin(np.abs(amounts - amount)))
        return amounts[max(at - 2, 0) : at + 3]

    def _sensitivity(self, a: Alteration) -> Sensitivity:
        count = len(self.bands.speed_rpm)
        facts = (a.key, a.stage, a.path, a.spring, a.unit)
        if a.key == "static":
            ratio = self.docket.particulars.drive_ratio
            return Sensitivity(*facts, np.full(count, 1.0 / ratio))
        if a.is_set:
            change = self.advance(a.apply(self.centre, 1.0, self.docket)) - self.advance(
                self.centre
            )
        else:
            step = 0.05 if a.unit != "g" else 0.2
            both = {p: np.repeat(v, 2) for p, v in self.centre.items()}
            pair = self.advance(a.apply(both, np.array([step, -step]), self.docket))
            change = (pair[0] - pair[1])[None] / (2 * step)
        return Sensitivity(*facts, change[0].reshape(-1, count).mean(axis=0))

    def _steps(self, chosen: tuple[tuple[Alteration, float], ...]) -> tuple[Step, ...]:
        ordered = sorted(chosen, key=lambda c: STAGES.index(c[0].stage))
        found = []
        for k, (a, amount) in enumerate(ordered):
            upto = [(each, np.array([v])) for each, v in ordered[: k + 1]]
            probability = float(self._tried(upto)[0][0])
            facts = (a.key, a.stage, a.path, a.spring, amount, a.unit)
            found.append(Step(*facts, probability))
        return tuple(found)

    def _edits(self, chosen) -> tuple[tuple[tuple[Path, float], ...], Docket]:
        after, edits = self.now, []
        for a, amount in sorted(chosen, key=lambda c: STAGES.index(c[0].stage)):
            changes = a.to if a.is_set else ((a.path, float(get(after, a.path)) + amount),)
            for path, value in changes:
                edits.append((path, value))
                after = put(after, path, value)
        return tuple(edits), after
