"""What is wrong, how sure that is: every explanation scored by its evidence.

The evidence of an explanation is the probability it gave the readings before they were taken,
after Laplace: the fitted cost and the volume of what fits. With prior odds it gives posterior
probabilities over all explanations, "nothing wrong" and "none of these" among them.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.diagnosis import Diagnosis
from bobweight.core.judgement.explaining import explained, placed
from bobweight.core.judgement.family import NOISE_SPREAD, Family
from bobweight.core.judgement.felt import felt
from bobweight.core.judgement.fit import reading_problems
from bobweight.core.judgement.objective import mixture_root, robust, weights
from bobweight.core.judgement.reduce import Reduced, reduce_session
from bobweight.core.judgement.sampling import Samples, Start, annealed_twice
from bobweight.core.judgement.told import Told
from bobweight.core.problems import BobweightError
from bobweight.core.statistics.least_squares import difference_jacobian, minimise
from bobweight.core.statistics.robust import median

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
_LIVE = 6.0  # logarithm of the odds below the best, beyond which nothing is weighed further
_FEW = 72  # samples of each at first
_FEW_SOUND = 144  # of a sound unit: it fits its table through the narrowest gate
_BEFORE = 96  # points of what is thought before the readings
_JOINT_STEPS = 6


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
    used_up = d.shape[1] - family.directions.judging
    cost = cost + 2.0 * used_up * NOISE_SPREAD * x[:, family.noise] - family.as_found.gain.max()
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
        explained(family, x[i], i, p / total, covariance[i], off) for p, i, _, off in ranked
    ]
    return Diagnosis(
        explanations=placed(explanations, d[rest]),
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
    log_felt = np.log(felt(family, asked, before))
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
    sound[: family.directions.kept] = True
    slopes = difference_jacobian(
        lambda x, member: family.sound_residuals(x, asked[member]), rest,
        family.sound_residuals(rest, asked), -far, far, np.tile(sound, (len(asked), 1)),
        np.full(family.columns, 100.0), np.arange(len(asked)), central=True,
    )  # fmt: skip
    information += np.einsum("hrp,hrq->hpq", slopes, slopes)
    information -= np.diag(sound * 1.0)
    covariance[asked] = np.linalg.inv(information)
    return x, covariance
