"""What is wrong, how sure that is: every explanation scored by its evidence.

The evidence of an explanation is the probability it gave the readings before they were taken,
after Laplace: the fitted cost and the volume of what fits. With prior odds it gives posterior
probabilities over all explanations, "nothing wrong" and "none of these" among them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.diagnose_models import NOISE_SPREAD, Family
from bobweight.core.judgement.faults import (
    MARK_OFFSET,
    NONE_OF_THESE,
    NOTHING_WRONG,
    OTHER_TABLE,
    Fault,
)
from bobweight.core.judgement.fit import reading_problems
from bobweight.core.judgement.fit_curves import ZERO
from bobweight.core.judgement.fit_values import Suspicion
from bobweight.core.judgement.objective import mixture_root, robust, weights
from bobweight.core.judgement.reduce import Reduced, reduce_session
from bobweight.core.judgement.sampling import Samples, Start, annealed_twice
from bobweight.core.judgement.told import Told
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import get, parameter_at, put
from bobweight.core.statistics.least_squares import difference_jacobian, minimise
from bobweight.core.statistics.robust import median

SAME_PLACE_DISTANCE2 = 1.5
"""Two explanations share a place if their fitted readings differ by less than this (squared, in
uncertainties, summed over all readings): no more than chance."""
SAME_PLACE_ODDS = 20.0
"""... and neither is more probable than this many times the other."""
_ASIDE = np.array([0.7, 1.0, 1.4])
_SEED = 5
_HOPELESS = 22.0  # a cost so much above the best leaves no more than e⁻¹¹ of the probability
_MOVES = 3
_APART = 0.7  # standard deviations between two places that are not the same
_DONORS = 8
_WORTH = 15.0  # cost by which a lent place may be worse and still be tried
_LOST = 30.0  # cost above the best from which nothing is lent any more
_GRID = np.array([-2.0, -1.2, -0.4, 0.4, 1.2, 2.0])
_WIDE_GRID = np.array([-1.5, 0.0, 1.5])  # for three amounts at once
_LEAST_SHARE = 1e-4  # of the probability, for an explanation with a slipped mark to be told apart
SAMPLES = 600
_AS_LIKELY = 3.0  # times, within which figures may be of a sound part or of that as found
_LIVE = 6.0  # logarithm of the odds below the best, beyond which nothing is weighed further
_FEW = 72  # samples of each at first
_FEW_SOUND = 144  # of a sound unit: it fits its table through the narrowest gate
_BEFORE = 96  # points of what is thought before the readings
_JOINT_STEPS = 6
_STORED = ("mechanism", "sessions", "capsules")
_UNMEASURED = 0.05  # share by which a size and its uncertainty may move and count as untold


@dataclass(frozen=True)
class FaultSize:
    """How far one value departs: its path, what it should be (the docket's figure, or where that
    is of the part as found, what the table makes of it), what a sound one has by all that is known,
    and the fitted one, which is off that by ``amount``.

    ``amount`` and ``u`` are the fault's own measure in ``unit`` (a share for rates and masses);
    the others are in the value's stored unit, ``value_unit``. Not ``measured`` is
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
    sound: float | None = None


@dataclass(frozen=True)
class Explanation:
    """One explanation and how probable it is.

    Attributes
    ----------
    name : str
        Stable key of :mod:`core.judgement.faults`; a pair is joined by ``+``.
    side : {'unit', 'measurement', 'both', 'none'}
    probability : float
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
    sizes: tuple[FaultSize, ...]
    check_first: tuple[str, ...]
    place: int = 0
    alike: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Diagnosis:
    """All explanations of one session, the most probable first.

    ``x``, ``hypothesis`` and ``covariance`` hold where each came to rest, in the same order.
    ``odds`` are the probabilities of the family's hypotheses, ``samples`` what the readings leave
    possible of those that are in question; ``log_evidence`` is that of all of them together.
    """

    explanations: tuple[Explanation, ...]
    x: Floats = field(repr=False)
    hypothesis: Indices = field(repr=False)
    covariance: Floats = field(repr=False)
    family: Family = field(repr=False)
    odds: Floats = field(repr=False)
    samples: Samples = field(repr=False)
    log_evidence: float = 0.0

    @property
    def first(self) -> Explanation:
        """The most probable."""
        return self.explanations[0]

    def probability(self, name: str) -> float:
        """The probability of an explanation; 0 if it was not considered."""
        return next((e.probability for e in self.explanations if e.name == name), 0.0)

    def docket_of(self) -> Docket:
        """The docket with the values that the leading explanation comes to, within their limits."""
        docket = self.family.docket
        values = self.family.values(self.x[:1], self.hypothesis[:1])
        for path, value in values.items():
            if path[0] not in _STORED:
                continue
            low, high = parameter_at(docket, path).hard
            docket = put(docket, path, float(np.clip(value[0], low, high)))
        return docket

    def read_as(self) -> Docket:
        """The docket with the values of the leading explanation, the zero that its readings have
        in common put down to the mark."""
        x, which = self.x[:1], self.hypothesis[:1]
        path = (*self.family.simulator.instrument, "mark_error_deg")
        found, parameter = self.docket_of(), parameter_at(self.family.docket, path)
        mark = float(get(found, path)) + float(self.family.values(x, which)[ZERO][0])
        return put(found, path, float(np.clip(mark, *parameter.hard)))

    @property
    def unsaid(self) -> bool:
        """Whether nobody says, and the readings do not show, if the figures that the leading
        explanation alters are of a sound part or of the part as found."""
        family, h = self.family, int(self.hypothesis[0])
        name = family.hypotheses[h].name
        mine = [i for i, each in enumerate(family.hypotheses) if each.name == name]
        likely = {family.hypotheses[i].as_found: self.odds[i] / family.hypotheses[i].weight
                  for i in sorted(mine, key=lambda i: self.odds[i])}  # fmt: skip
        if family.docket.mechanism.measured_off != "unsaid" or len(likely) < 2:
            return False
        return bool(max(likely.values()) < _AS_LIKELY * min(likely.values()))

    def place_of(self, name: str) -> int | None:
        """The place of an explanation, None if it was not considered."""
        return next((e.place for e in self.explanations if e.name == name), None)


def diagnose(
    docket: Docket,
    session: int = -1,
    reduced: Reduced | None = None,
    *,
    told: Told | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Diagnosis:
    """Explanations of a session's readings with their posterior probabilities.

    Parameters
    ----------
    docket : Docket
        Its figures and its table together describe the sound unit.
    session : int
        Index into ``docket.sessions``.
    told : Told, optional
        What the unit's other sessions tell of it.
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
    family = Family(docket, session, reduced, told)
    x, cost = _rested(family, *_starts(family), cancelled)
    for starts in (_twins, _lent):
        again = starts(family, x, cost)
        if len(again[1]):
            there, least = _rested(family, *again, cancelled)
            lower = least < cost
            x, cost = np.where(lower[:, None], there, x), np.where(lower, least, cost)
    return _ranked(family, x, cost, cancelled)


def _rested(
    family: Family, starts: Floats, which: Indices, cancelled: Callable[[], bool] | None
) -> tuple[Floats, Floats]:  # fmt: skip
    """Where each hypothesis comes to rest from its starts, and at what cost; infinite for one
    without a start."""
    found = minimise(
        lambda x, member: family.residuals(x, which[member]), starts, family.low, family.high,
        free=family.free[which], tolerance=1e-3, most_steps=10, hopeless=_HOPELESS,
        beside=lambda x, member: family.residuals_beside(x, which[member]), cancelled=cancelled,
    )  # fmt: skip
    best = _best_of_each(found.cost, which, len(family.hypotheses))
    return found.x[best], np.where(best < 0, np.inf, found.cost[best])


def _twins(family: Family, x: Floats, cost: Floats) -> tuple[Floats, Indices]:
    """Starts of the explanations whose figures are of the part as found: where those with the same
    faults and a sound part's figures came to rest, as far as they can still come into question."""
    gain = family.as_found.gain
    other = {(h.name, h.signs): i for i, h in enumerate(family.hypotheses) if not h.as_found}
    twins = np.flatnonzero(family.as_found.is_one)
    of = np.array(
        [other[family.hypotheses[i].name, family.hypotheses[i].signs] for i in twins], int
    )
    worth = cost[of] - gain[twins] < cost.min() + _HOPELESS
    return x[of[worth]], twins[worth]


def _lent(family: Family, x: Floats, cost: Floats) -> tuple[Floats, Indices]:
    """Further starts: the sound unit of the explanations that came to rest lowest, lent to the
    others with their own faults; a blank docket has several sound units that may be meant."""
    donors: list[int] = []
    for h in np.argsort(cost).tolist():
        apart = [np.abs(x[h, : family.first_fault] - x[g, : family.first_fault]) for g in donors]
        if all(a.max() > _APART for a in apart):
            donors.append(h)
        if len(donors) == _DONORS:
            break
    count = len(x)
    which, own = np.tile(np.arange(count), len(donors)), np.tile(x, (len(donors), 1))
    lent = own.copy()
    lent[:, : family.first_fault] = np.repeat(x[donors, : family.first_fault], count, axis=0)
    now = np.sum(family.residuals(lent, which) ** 2, axis=1)
    worth = (now < cost[which] + _WORTH) & (cost[which] < cost.min() + _LOST)
    worth &= np.abs(lent - own).max(axis=1) > _APART
    return lent[worth], which[worth]


def suspicions(diagnosis: Diagnosis, least: float = 0.1) -> tuple[Suspicion, ...]:
    """The values that the likely faults concern, each twice as loosely held as the fault is usual,
    or by as much as it is put to another value.

    Parameters
    ----------
    least : float
        Probability from which a fault is likely.
    """
    family = diagnosis.family
    found: dict[Path, Suspicion] = {}
    for i, e in enumerate(diagnosis.explanations):
        if e.probability < least:
            continue
        for j in family.hypotheses[diagnosis.hypothesis[i]].faults:
            for effect in family.faults[j].effects:
                u = 2.0 * family.faults[j].usual or 2.0
                if effect.how in ("set", "swap"):
                    usual = family.simulator.usual
                    there = usual(effect.other) if effect.how == "swap" else effect.sign
                    u = abs(usual(effect.path) - there)
                held = found.get(effect.path)
                if held is None or u > held.u:
                    by_share = effect.how in ("share", "none")
                    found[effect.path] = Suspicion(effect.path, u, by_share)
    return tuple(found.values())


def _starts(family: Family) -> tuple[Floats, Indices]:
    """Where to begin: for each hypothesis the amounts and the zero that, what is open of a sound
    unit allowed for in a straight line, leave least; and the hypothesis of each start."""
    rows, which = [], []
    for h, hypothesis in enumerate(family.hypotheses):
        if hypothesis.as_found:  # begins where its twin comes to rest
            continue
        amounts = [i for i in hypothesis.faults if family.faults[i].usual > 0]
        grid = _GRID if len(amounts) < 3 else _WIDE_GRID
        grids = np.meshgrid(*[grid] * len(amounts), indexing="ij")
        points = np.zeros((grids[0].size if grids else 1, family.columns))
        for i, tried in zip(amounts, grids, strict=True):
            points[:, family.first_fault + i] = tried.ravel()
        rows.append(points)
        which.append(np.full(len(points), h))
    x, of = np.concatenate(rows), np.concatenate(which)
    slopes = _slopes(family, np.zeros((1, family.columns)), np.zeros(1, int))[0]
    slopes = slopes[:, : family.zero]
    inverse = np.linalg.inv(np.eye(len(slopes)) + slopes @ slopes.T)
    # The zero as stated, and moved by what the readings have in common; a reading far below a curve
    # is nearer to its level part than it is low, so that the first move is not the whole.
    table = family.simulator.curves(family.values(x, of))  # the zero moves no curve
    places, distances = [x], [family.distances(x, of, table=table)]
    u = median(family.simulator.u_deg) * family.simulator.ratio
    for _ in range(_MOVES):
        moved = places[-1].copy()
        moved[:, family.zero] += median(distances[-1]) * u / family.u_zero
        moved[:, family.zero] = np.clip(
            moved[:, family.zero], family.low[family.zero], family.high[family.zero]
        )
        places.append(moved)
        distances.append(family.distances(moved, of, table=table))
    x, of = np.concatenate(places), np.tile(of, len(places))
    r = robust(np.concatenate(distances))
    before = np.sum(x[:, family.first_fault : family.first_node] ** 2, axis=1)
    before += mixture_root(x[:, family.zero], *family.zero_mixture) ** 2
    cost = np.einsum("br,rs,bs->b", r, inverse, r) + before
    plain = np.sum(r**2, axis=1) + before
    chosen = []
    for h in sorted(set(of.tolist())):  # numpy.unique loads numpy.ma
        mine = np.flatnonzero(of == h)
        order = mine[np.argsort(cost[mine])]
        chosen.append(order[0])
        apart = order[np.abs(x[order] - x[order[0]]).max(axis=1) > 1.0]
        if len(family.hypotheses[h].faults) < 2 and len(apart):
            # A straight line follows readings that all are off further than any curve can.
            other = apart[0] if cost[apart[0]] < cost[order[0]] + 20 else order[0]
            least = mine[np.argmin(plain[mine])]
            chosen += {int(other), int(least)} - {int(order[0])}
    x, of = x[chosen], of[chosen]
    # A slip can be taken for an ordinary reading and hold a start back: try from aside as well.
    aside = np.repeat(x[:1], len(_ASIDE), axis=0)
    aside[:, : family.zero] = (
        np.random.default_rng(_SEED).normal(size=(len(_ASIDE), family.zero)) * _ASIDE[:, None]
    )
    return np.concatenate([x, aside]), np.concatenate([of, np.full(len(_ASIDE), of[0])])


def _slopes(family: Family, x: Floats, which: Indices) -> Floats:
    """Slopes of the distances at each point, shape (points, readings, columns)."""
    far, near = np.full(x.shape, 50.0), family.beside(x, which)
    return difference_jacobian(
        near, x, near(x, np.arange(len(x))), -far, far, family.free[which],
        np.ones(family.columns), np.arange(len(x)),
    )  # fmt: skip


def _best_of_each(cost: Floats, which: Indices, count: int) -> Indices:
    """The row of least cost of each hypothesis, −1 for one without a row."""
    best = np.empty(count, int)
    for h in range(count):
        mine = np.flatnonzero(which == h)
        best[h] = mine[np.argmin(cost[mine])] if len(mine) else -1
    return best


def _information(family: Family, x: Floats, which: Indices, d: Floats) -> Floats:
    """Inverse covariance of each point: what readings and prior say of it."""
    slopes = _slopes(family, x, which)
    w = weights(d)
    information = np.einsum("hrp,hr,hrq->hpq", slopes, w, slopes) + np.eye(family.columns)
    # The cost of noise bends twice as much as its straight line says.
    information[:, family.noise, family.noise] += NOISE_SPREAD**2 * np.sum(w * d**2, axis=1)
    slipped = family.zero_slipped(x)
    spread = family.zero_mixture[1]
    information[:, family.zero, family.zero] += slipped * (1.0 / spread**2 - 1.0)
    return np.asarray(information + family.as_found_information(x, which))


def _ranked(
    family: Family, x: Floats, cost: Floats, cancelled: Callable[[], bool] | None
) -> Diagnosis:  # fmt: skip
    which = np.arange(len(family.hypotheses))
    d = family.distances(x, which)
    information = _information(family, x, which, d)
    # The mode is that of the noise once the curve is integrated out; its evidence is the joint one.
    placed = d.shape[1] - family.judging
    cost = cost + 2.0 * placed * NOISE_SPREAD * x[:, family.noise] - family.as_found.gain.max()
    log_z = -0.5 * cost - 0.5 * np.linalg.slogdet(information)[1]
    covariance = np.asarray(np.linalg.inv(information))
    samples, log_z, slipped = _sampled(family, x, covariance, log_z, cancelled)
    log_odds = log_z + np.array([h.log_odds for h in family.hypotheses])
    probability = np.exp(log_odds - log_odds.max())
    weights_before = np.exp([h.log_odds for h in family.hypotheses])
    log_evidence = float(log_odds.max() + np.log(probability.sum() / weights_before.sum()))
    probability /= probability.sum()
    merged: dict[tuple[str, bool], list[tuple[float, int]]] = {}
    for i, h in enumerate(family.hypotheses):
        for off, share in ((False, 1.0 - slipped[i]), (True, slipped[i])):
            if share * probability[i] > _LEAST_SHARE or not off:
                merged.setdefault((h.name, off), []).append((share * probability[i], i))
    ranked = sorted(
        ((sum(p for p, _ in parts), max(parts)[1], *key) for key, parts in merged.items()),
        key=lambda r: -r[0],
    )
    total = sum(r[0] for r in ranked)
    rest = np.array([r[1] for r in ranked])
    explanations = [
        _explanation(family, x[i], i, p / total, covariance[i], off) for p, i, _, off in ranked
    ]
    return Diagnosis(
        explanations=_placed(explanations, d[rest]),
        x=x[rest], hypothesis=rest, covariance=covariance[rest], family=family,
        odds=probability, samples=samples, log_evidence=log_evidence + family.log_noise_free,
    )  # fmt: skip


def _sampled(
    family: Family, x: Floats, covariance: Floats, log_z: Floats,
    cancelled: Callable[[], bool] | None,
) -> tuple[Samples, Floats, Floats]:  # fmt: skip
    """Samples of the explanations that Laplace's method leaves in question, the evidence of all
    explanations by them, table and all, and how probably the mark of each has slipped."""
    weighed = np.array([h.log_odds for h in family.hypotheses])
    log_odds = log_z + weighed
    asked = np.flatnonzero(log_odds > log_odds.max() - _LIVE)
    sound = np.array([not h.faults for h in family.hypotheses])[asked]
    before = np.random.default_rng(_SEED).normal(size=(_BEFORE, family.columns))
    before[:, [family.zero, family.noise]] = 0.0
    before[:, family.first_node :] = 0.0
    log_felt = np.log(family.felt(asked, before))
    start = Start(*_joint(family, x, covariance, asked, cancelled), family.free, family.low,
                  family.high)  # fmt: skip
    samples = annealed_twice(
        start, asked, np.where(sound, _FEW_SOUND, _FEW), weighed[asked] - log_felt, SAMPLES,
        family.log_density, cancelled,
    )  # fmt: skip
    sampled = samples.log_evidence - log_felt
    # What is not in question stays as far below the best as it was.
    best = np.max(sampled - log_z[asked] + log_odds[asked])
    found = log_z + best - log_odds.max()
    found[asked] = sampled
    slipped = family.zero_slipped(x)
    for h in asked:
        slipped[h] = family.zero_slipped(samples.x[samples.which == h]).mean()
    # The free deviation needs no mark to move.
    slipped[[h.free_form for h in family.hypotheses]] = 0.0
    return samples, found, slipped


def _joint(
    family: Family, x: Floats, covariance: Floats, asked: Indices,
    cancelled: Callable[[], bool] | None,
) -> tuple[Floats, Floats]:  # fmt: skip
    """Where explanations come to rest, and their covariance, once the sound unit is what figures
    and table say of it and not a straight line: there samples begin."""
    x, covariance = x.copy(), covariance.copy()
    asked = asked[family.of_table[asked] == 0]
    if family.unit.rows is None or not len(asked):
        return x, covariance
    x[asked] = minimise(
        lambda x, member: family.joint_residuals(x, asked[member]), x[asked], family.low,
        family.high, free=family.free[asked], tolerance=1e-3, most_steps=_JOINT_STEPS,
        cancelled=cancelled,
    ).x  # fmt: skip
    rest = x[asked]
    information = _information(family, rest, asked, family.distances(rest, asked))
    far = np.full(rest.shape, 50.0)
    sound = np.zeros(family.columns, bool)
    sound[: family.kept] = True
    slopes = difference_jacobian(
        lambda x, member: family.sound_residuals(x, asked[member]), rest,
        family.sound_residuals(rest, asked), -far, far, np.tile(sound, (len(asked), 1)),
        np.full(family.columns, 100.0), np.arange(len(asked)), central=True,
    )  # fmt: skip
    information += np.einsum("hrp,hrq->hpq", slopes, slopes)
    information -= np.diag(sound * 1.0)
    covariance[asked] = np.linalg.inv(information)
    return x, covariance


def _explanation(
    family: Family, x: Floats, h: int, probability: float, cov: Floats, mark_off: bool
) -> Explanation:
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
    nominal = float(get(family.docket, path))
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
        stored = effect.path[0] in _STORED
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


def _placed(explanations: list[Explanation], d: Floats) -> tuple[Explanation, ...]:
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
