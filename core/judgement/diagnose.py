"""What is wrong, how sure that is: every explanation scored by its evidence.

The evidence of an explanation is the probability it gave the readings before they were taken,
after Laplace: the fitted cost and the volume of what fits. With prior odds it gives posterior
probabilities over all explanations, "nothing wrong" and "none of these" among them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.diagnose_models import MOST_Z, Family
from bobweight.core.judgement.faults import NONE_OF_THESE, NOTHING_WRONG, Fault
from bobweight.core.judgement.fit import reading_problems
from bobweight.core.judgement.fit_curves import Values
from bobweight.core.judgement.fit_values import Suspicion
from bobweight.core.judgement.objective import robust, weights
from bobweight.core.judgement.reduce import Reduced, reduce_session
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import get, parameter_at, put
from bobweight.core.statistics.least_squares import difference_jacobian, minimise

SAME_PLACE_DISTANCE2 = 1.5
"""Two explanations share a place if their fitted readings differ by less than this (squared, in
uncertainties, summed over all readings): no more than chance."""
SAME_PLACE_ODDS = 20.0
"""... and neither is more probable than this many times the other."""
_ASIDE = np.array([0.7, 1.0, 1.4])
_SEED = 5
_HOPELESS = 80.0  # a cost so much above the best leaves no more than e⁻⁴⁰ of the probability
_GRID = np.array([-2.0, -1.2, -0.4, 0.4, 1.2, 2.0])
_UNMEASURED = 0.05  # share by which a size and its uncertainty may move and count as untold


@dataclass(frozen=True)
class FaultSize:
    """How far one value departs: its path, the docket's figure and the fitted one.

    ``amount`` and ``u`` are the fault's own measure in ``unit`` (a share for rates and masses);
    ``fitted`` and ``u_fitted`` are in the value's stored unit, ``value_unit``. Not ``measured`` is
    a size of which the readings told nothing: it and its uncertainty are those before them.
    """

    fault: str
    path: Path
    amount: float
    u: float
    unit: str
    nominal: float | None
    fitted: float | None
    u_fitted: float | None
    value_unit: str
    measured: bool = True


@dataclass(frozen=True)
class Explanation:
    """One explanation and how probable it is.

    Attributes
    ----------
    name : str
        Stable key of :mod:`core.judgement.faults`; a pair is joined by ``+``.
    side : {'unit', 'measurement', 'both', 'none'}
    probability : float
    log_evidence, bic : float
        Laplace's, and the Bayesian information criterion beside it (smaller is better).
    sizes : tuple of FaultSize
    check_first : tuple of str
        Codes of what a hand checks first.
    place : int
        Rank, from 1; explanations that the readings cannot tell apart share it.
    alike : tuple of str
        The others of its place.
    """

    name: str
    side: str
    probability: float
    log_evidence: float
    bic: float
    sizes: tuple[FaultSize, ...]
    check_first: tuple[str, ...]
    place: int = 0
    alike: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Diagnosis:
    """All explanations of one session, the most probable first.

    ``x``, ``hypothesis`` and ``covariance`` hold where each came to rest, in the same order, for
    the adviser.
    """

    explanations: tuple[Explanation, ...]
    x: NDArray = field(repr=False)
    hypothesis: NDArray = field(repr=False)
    covariance: NDArray = field(repr=False)
    family: Family = field(repr=False)

    @property
    def first(self) -> Explanation:
        """The most probable."""
        return self.explanations[0]

    def probability(self, name: str) -> float:
        """The probability of an explanation; 0 if it was not considered."""
        return next((e.probability for e in self.explanations if e.name == name), 0.0)

    def samples(self, count: int, seed: int = _SEED) -> tuple[Values, int]:
        """Values of units as probable as the explanations and their amounts say, each of shape
        (units,); and how many of ``count`` are left to "none of these", which has no values."""
        rng = np.random.default_rng(seed)
        odds = np.array([e.probability for e in self.explanations])
        chosen = rng.choice(len(odds), count, p=odds / odds.sum())
        free_form = np.array([e.name == NONE_OF_THESE for e in self.explanations])
        chosen = np.sort(chosen[~free_form[chosen]])
        x = np.empty((len(chosen), self.x.shape[1]))
        for i in np.unique(chosen):
            columns = np.flatnonzero(self.family.free[self.hypothesis[i]])
            root = np.linalg.cholesky(self.covariance[i][np.ix_(columns, columns)])
            mine = np.flatnonzero(chosen == i)
            x[mine] = self.x[i]
            x[np.ix_(mine, columns)] += rng.normal(size=(len(mine), len(columns))) @ root.T
        return self.family.values(x, self.hypothesis[chosen]), count - len(chosen)

    def docket_of(self, index: int = 0) -> Docket:
        """The docket with the values that an explanation comes to, within their limits."""
        docket = self.family.docket
        values = self.family.values(self.x[index][None], self.hypothesis[index][None])
        for path, value in values.items():
            low, high = parameter_at(docket, path).hard
            docket = put(docket, path, float(np.clip(value[0], low, high)))
        return docket

    def place_of(self, name: str) -> int | None:
        """The place of an explanation, None if it was not considered."""
        return next((e.place for e in self.explanations if e.name == name), None)


def diagnose(
    docket: Docket,
    session: int = -1,
    reduced: Reduced | None = None,
    *,
    cancelled: Callable[[], bool] | None = None,
) -> Diagnosis:
    """Explanations of a session's readings with their posterior probabilities.

    Parameters
    ----------
    docket : Docket
        Its figures describe the sound unit.
    session : int
        Index into ``docket.sessions``.
    cancelled : callable, optional
        Polled before every batch.

    Raises
    ------
    BobweightError
        The first of :func:`core.judgement.fit.reading_problems`.
    bobweight.core.statistics.least_squares.Cancelled

    Notes
    -----
    Laplace's method: MacKay, Information Theory, Inference, and Learning Algorithms, ch. 27-28.
    """
    session = session % len(docket.sessions)
    reduced = reduced or reduce_session(docket.sessions[session], docket.particulars)
    for problem in reading_problems(docket, session, reduced):
        raise BobweightError.of(problem)
    family = Family(docket, session, reduced)
    starts, which = _starts(family)
    low, high = np.full(family.columns, -6.0), np.full(family.columns, 6.0)
    low[family.first_fault : family.first_node] = -MOST_Z
    high[family.first_fault : family.first_node] = MOST_Z
    found = minimise(
        lambda x, member: family.residuals(x, which[member]), starts, low, high,
        free=family.free[which], tolerance=1e-4, most_steps=14, hopeless=_HOPELESS,
        cancelled=cancelled,
    )  # fmt: skip
    best = _best_of_each(found.cost, which, len(family.hypotheses))
    return _ranked(family, found.x[best], found.cost[best], low, high)


def suspicions(diagnosis: Diagnosis, least: float = 0.1) -> tuple[Suspicion, ...]:
    """The values that the likely faults concern, each twice as loosely held as the fault is usual.

    Parameters
    ----------
    least : float
        Probability from which a fault is likely.
    """
    found: dict[Path, Suspicion] = {}
    for i, e in enumerate(diagnosis.explanations):
        if e.probability < least:
            continue
        for j in diagnosis.family.hypotheses[diagnosis.hypothesis[i]].faults:
            fault = diagnosis.family.faults[j]
            for effect in fault.effects:
                by_share = effect.how != "add"
                u = 2.0 * fault.usual if fault.usual else 2.0
                held = found.get(effect.path)
                if held is None or u > held.u:
                    found[effect.path] = Suspicion(effect.path, u, by_share)
    return tuple(found.values())


def _starts(family: Family) -> tuple[NDArray, NDArray]:
    """Where to begin: for each hypothesis the amounts that, the scatter of a sound unit allowed
    for in a straight line, leave least; and the hypothesis of each start."""
    rows, which = [], []
    for h, hypothesis in enumerate(family.hypotheses):
        amounts = [i for i in hypothesis.faults if family.faults[i].usual > 0]
        grids = np.meshgrid(*[_GRID] * len(amounts), indexing="ij")
        points = np.zeros((grids[0].size if grids else 1, family.columns))
        for i, grid in zip(amounts, grids, strict=True):
            points[:, family.first_fault + i] = grid.ravel()
        rows.append(points)
        which.append(np.full(len(points), h))
    x, which = np.concatenate(rows), np.concatenate(which)
    r = robust(family.distances(x, which))
    slopes = _slopes(family, np.zeros((1, family.columns)), np.zeros(1, int))[0]
    slopes = slopes[:, : family.first_fault]
    inverse = np.linalg.inv(np.eye(len(slopes)) + slopes @ slopes.T)
    cost = np.einsum("br,rs,bs->b", r, inverse, r)
    cost += np.sum(x[:, family.first_fault : family.first_node] ** 2, axis=1)
    chosen = []
    for h in range(len(family.hypotheses)):
        mine = np.flatnonzero(which == h)
        order = mine[np.argsort(cost[mine])]
        chosen += list(order[:1])
        if len(family.hypotheses[h].faults) == 1 and len(order) > 2:
            apart = [i for i in order[1:] if np.abs(x[i] - x[order[0]]).max() > 1.0]
            chosen += apart[:1] if cost[apart[0]] < cost[order[0]] + 20 else []
    x, which = x[chosen], which[chosen]
    # A slip can be taken for an ordinary reading and hold a start back: try from aside as well.
    aside = np.repeat(x[:1], len(_ASIDE), axis=0)
    aside[:, : family.first_fault] = (
        np.random.default_rng(_SEED).normal(size=(len(_ASIDE), family.first_fault))
        * _ASIDE[:, None]
    )
    return np.concatenate([x, aside]), np.concatenate([which, np.full(len(_ASIDE), which[0])])


def _slopes(family: Family, x: NDArray, which: NDArray) -> NDArray:
    """Slopes of the distances at each point, shape (points, readings, columns)."""
    far = np.full(x.shape, 50.0)
    return difference_jacobian(
        lambda points, member: family.distances(points, which[member]), x,
        family.distances(x, which), -far, far, family.free[which], np.full(family.columns, 100.0),
        np.arange(len(x)), central=True,
    )  # fmt: skip


def _best_of_each(cost: NDArray, which: NDArray, count: int) -> NDArray:
    best = np.empty(count, int)
    for h in range(count):
        mine = np.flatnonzero(which == h)
        best[h] = mine[np.argmin(cost[mine])]
    return best


def _ranked(family: Family, x: NDArray, cost: NDArray, low: NDArray, high: NDArray) -> Diagnosis:
    which = np.arange(len(family.hypotheses))
    d = family.distances(x, which)
    slopes = _slopes(family, x, which)
    information = np.einsum("hrp,hr,hrq->hpq", slopes, weights(d), slopes)
    information += np.eye(family.columns)
    log_z = -0.5 * cost - 0.5 * np.linalg.slogdet(information)[1]
    covariance = np.linalg.inv(information)
    log_odds = log_z + np.log([h.weight for h in family.hypotheses])
    readings = np.sum(robust(d) ** 2, axis=1)
    bic = readings + np.array([
        (family.free[h].sum() - family.first_fault) * np.log(d.shape[1]) for h in which
    ])  # fmt: skip
    probability = np.exp(log_odds - log_odds.max())
    probability /= probability.sum()
    names = [h.name for h in family.hypotheses]
    merged = {}
    for name in dict.fromkeys(names):
        mine = [i for i in which if names[i] == name]
        best = max(mine, key=lambda i: log_odds[i])
        merged[name] = (float(probability[mine].sum()), best)
    order = sorted(merged, key=lambda name: -merged[name][0])
    rest = np.array([merged[name][1] for name in order])
    explanations = [
        _explanation(
            family, x[i], i, merged[name][0], float(log_z[i]), float(bic[i]), covariance[i]
        )
        for name, i in zip(order, rest, strict=True)
    ]
    return Diagnosis(
        explanations=_placed(explanations, d[rest]),
        x=x[rest], hypothesis=rest, covariance=covariance[rest], family=family,
    )  # fmt: skip


def _explanation(
    family: Family, x: NDArray, h: int, probability: float, log_z: float, bic: float, cov: NDArray
) -> Explanation:
    hypothesis = family.hypotheses[h]
    faults = [family.faults[i] for i in hypothesis.faults]
    sizes = [
        s
        for i, sign in zip(hypothesis.faults, hypothesis.signs, strict=True)
        for s in _sizes(family, x, h, i, sign, cov)
    ]
    sides = {f.side for f in faults}
    side = "none" if not sides else sides.pop() if len(sides) == 1 else "both"
    return Explanation(
        hypothesis.name, side, probability, log_z, bic, tuple(sizes),
        tuple(dict.fromkeys(f.check_first for f in faults)),
    )  # fmt: skip


def _sizes(
    family: Family, x: NDArray, h: int, i: int, sign: float, cov: NDArray
) -> list[FaultSize]:
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
    values = family.values(moved, np.full(len(moved), h))
    found = []
    for effect in fault.effects:
        value = values[effect.path]
        slope = (value[1:] - value[0]) / step
        nominal = get(family.docket, effect.path)
        found.append(
            FaultSize(
                fault.key, effect.path, sign * effect.sign * amount if fault.usual else 0.0, u,
                fault.unit, float(nominal), float(value[0]), float(np.sqrt(slope @ cov @ slope)),
                parameter_at(family.docket, effect.path).quantity.stored.symbol, measured,
            )
        )  # fmt: skip
    return found


def _nested(one: str, other: str) -> bool:
    """Whether an explanation is a special case of the other, or stands by itself."""
    parts = set(one.split("+")), set(other.split("+"))
    alone = {NOTHING_WRONG, NONE_OF_THESE}
    return bool((parts[0] | parts[1]) & alone) or parts[0] <= parts[1] or parts[1] <= parts[0]


def _placed(explanations: list[Explanation], d: NDArray) -> tuple[Explanation, ...]:
    """Places: an explanation joins the first of a place if the readings do not part them."""
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
    placed: list[Explanation | None] = [None] * len(explanations)
    for rank, leader in enumerate(leaders, start=1):
        names = [explanations[i].name for i in members[leader]]
        for i in members[leader]:
            e = explanations[i]
            alike = tuple(n for n in names if n != e.name)
            placed[i] = Explanation(**(e.__dict__ | {"place": rank, "alike": alike}))
    return tuple(p for p in placed if p is not None)
