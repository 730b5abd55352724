"""What the other sessions of a unit tell of it: before and after judge each other.

What no alteration touched is the same in all states of a unit. What another session's readings
taught of those values enters the sound unit as a few more rows beside figures and table, and the
faults that it found in what was not touched count for this session too.

Notes
-----
A message of expectation propagation, passed once: the normal law that figures, table and the other
session's readings leave, divided by the one before those readings. Minka, Expectation Propagation
for Approximate Bayesian Inference, Proc. 17th UAI (2001) 362.
"""

from __future__ import annotations

from collections.abc import Callable, Set
from functools import lru_cache
from itertools import accumulate

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.states import differing, state_of, unit_of
from bobweight.core.judgement.assume import assume
from bobweight.core.judgement.diagnose import diagnose
from bobweight.core.judgement.diagnosis import Diagnosis
from bobweight.core.judgement.fit import reading_problems
from bobweight.core.judgement.fit_values import FreeValue, mechanism_values
from bobweight.core.judgement.outcome import outcome
from bobweight.core.judgement.reduce import reduce_session
from bobweight.core.judgement.told import BESIDES, UNTOUCHED, FaultsTold, Parts, Told
from bobweight.core.problems import BobweightError, Path

MOST_OTHERS, ENOUGH_READINGS = 3, 150
"""Further sessions, or any once so many readings are counted, say little more, and each costs a
diagnosis."""
_LEAST_TOLD = 0.05  # of what was known of a direction before, for it to be passed on
_LEAST_OF_TABLE = 0.3  # probability that the table is the unit's, for the sound unit to be told of


def others_told(
    docket: Docket, session: int, cancelled: Callable[[], bool] | None = None
) -> Told | None:
    """What the other sessions tell of the unit as one session found it; None if they tell nothing.

    Parameters
    ----------
    docket : Docket
        With its figures as they stand and all its states and sessions.
    session : int
        Index of the session that is judged.

    Raises
    ------
    bobweight.core.statistics.least_squares.Cancelled
    """
    unit = unit_of(docket, session)
    told: list[_Another] = []
    for other in _nearest(docket, session):
        altered = state_of(docket, session) != state_of(docket, other)
        if not altered and _noted(docket, session, other):
            continue  # nobody says what was touched
        then = unit_of(docket, other)
        diagnosis = _diagnosis(_alone(then, other), cancelled)
        if diagnosis is not None:
            touched = frozenset(path for path, _, _ in differing(then, unit))
            told.append((other, diagnosis, touched, BESIDES if altered else UNTOUCHED))
    return _joined(tuple(told), mechanism_values(assume(unit))) if told else None


_Another = tuple[int, Diagnosis, frozenset[Path], float]
"""Another session: which, its diagnosis, what was touched since, and the chance that a fault of the
rest was left as it was."""


@lru_cache(maxsize=8)
def _joined(told: tuple[_Another, ...], mine: tuple[FreeValue, ...]) -> Told:
    """What other sessions tell together; the same for the same diagnoses, so that the sound unit
    that they go into is made once."""
    rows = [_rows(diagnosis, mine, touched) for _, diagnosis, touched, _ in told]
    matrix, offset = (np.concatenate(each) for each in zip(*rows, strict=True))
    return Told(
        tuple(other for other, *_ in told), matrix, offset, tuple(len(each) for each, _ in rows),
        tuple(_faults(diagnosis, touched, left) for _, diagnosis, touched, left in told),
    )  # fmt: skip


def _nearest(docket: Docket, session: int) -> list[int]:
    """Other sessions with readings, the nearest in state and in time first, till there are
    enough."""
    found = [i for i, s in enumerate(docket.sessions) if s.readings and i != session]
    state = state_of(docket, session)
    found.sort(key=lambda i: (abs(state_of(docket, i) - state), abs(i - session)))
    counts = [len(docket.sessions[i].readings) for i in (session, *found)]
    return [i for i, n in zip(found, accumulate(counts), strict=False) if n < ENOUGH_READINGS][
        :MOST_OTHERS
    ]


def _noted(docket: Docket, one: int, other: int) -> bool:
    """Whether anything is noted as done to the unit between two sessions."""
    first, last = sorted((one + 1, other + 1))
    return any(
        first <= (line.before_session or 0) < last or first < (line.after_session or 0) <= last
        for line in docket.history
    )


def _alone(unit: Docket, session: int) -> Docket:
    """The unit as a session found it, with that session alone."""
    return Docket(
        particulars=unit.particulars, mechanism=unit.mechanism, capsules=unit.capsules,
        target=unit.target, setting_up=unit.setting_up, sessions=(unit.sessions[session],),
    )  # fmt: skip


@lru_cache(maxsize=8)
def _kept(docket: Docket) -> list[Diagnosis | None]:
    """Room for the diagnosis of a docket, once it is made."""
    return []


def _diagnosis(docket: Docket, cancelled: Callable[[], bool] | None) -> Diagnosis | None:
    """The diagnosis of a docket with one session; None where its readings cannot be judged."""
    kept = _kept(docket)
    if not kept:
        kept.append(_diagnosed(docket, cancelled))
    return kept[0]


def _diagnosed(docket: Docket, cancelled: Callable[[], bool] | None) -> Diagnosis | None:
    known = outcome(docket, 0)
    if reading_problems(docket, 0, known.reduced):
        return None
    few = reduce_session(
        docket.sessions[0], docket.particulars, known.prediction, docket.capsules, closely=True
    )
    try:
        return diagnose(docket, 0, few, cancelled=cancelled)
    except (BobweightError, np.linalg.LinAlgError):
        return None


# Values -----------------------------------------------------------------------------------------


def _rows(
    diagnosis: Diagnosis, mine: tuple[FreeValue, ...], touched: Set[Path]
) -> tuple[Floats, Floats]:
    """What a diagnosis tells of the values that the other unit has in common with this one, as
    rows on this one's; as many as it has values (matrix), and what they come to (offset)."""
    family = diagnosis.family
    told = _directions_told(diagnosis)
    same = [
        (i, j, *known)
        for j, theirs in enumerate(family.unit.free)
        for i, own in enumerate(mine)
        if own.path == theirs.path
        and own.path not in touched
        and (known := _moved(own, theirs)) is not None
    ]
    if told is None or not same:
        return np.zeros((0, len(mine))), np.zeros(0)
    columns, places = [s[0] for s in same], [s[1] for s in same]
    scale, shift = np.array([s[2] for s in same]), np.array([s[3] for s in same])
    mean, covariance = told
    basis = family.directions.basis[0][places, : family.directions.kept]
    root = family.unit.root[places]
    before = np.linalg.cholesky(root @ root.T + 1e-9 * np.eye(len(same)))
    basis = np.linalg.solve(before, basis)
    less = basis @ (np.eye(len(mean)) - covariance) @ basis.T
    precision = np.linalg.inv(np.eye(len(same)) - less)
    gain, axes = np.linalg.eigh(precision - np.eye(len(same)))
    kept = gain > _LEAST_TOLD
    root_gain, axes = np.sqrt(gain[kept]), axes[:, kept]
    along = root_gain[:, None] * np.linalg.solve(before.T, axes).T
    offset = (axes.T @ precision @ basis @ mean) / root_gain
    offset += along @ (family.unit.z[places] - shift)
    matrix = np.zeros((len(along), len(mine)))
    matrix[:, columns] = along * scale
    return matrix, offset


def _directions_told(diagnosis: Diagnosis) -> tuple[Floats, Floats] | None:
    """Mean and covariance of a sound unit's directions after the readings, over all explanations
    by which the table is this unit's; standard normal before."""
    family = diagnosis.family
    n = family.directions.kept
    rows = np.flatnonzero(family.of_table[diagnosis.hypothesis] == 0)
    weight = np.array([diagnosis.explanations[i].probability for i in rows])
    if weight.sum() < _LEAST_OF_TABLE:
        return None
    weight /= weight.sum()
    whole, each = diagnosis.x[rows], diagnosis.covariance[rows, :n, :n]
    moved = family.figures_moved(whole, diagnosis.hypothesis[rows])
    x = whole[:, :n] - moved @ family.directions.basis[0][:, :n]
    mean = weight @ x
    off = x - mean
    covariance = np.einsum("h,hij->ij", weight, each) + np.einsum("h,hi,hj->ij", weight, off, off)
    return mean, covariance


def _moved(own: FreeValue, theirs: FreeValue) -> tuple[float, float] | None:
    """Scale and shift from one unit's z of a value to the other's; None where they are not of a
    kind."""
    if own.by_share != theirs.by_share or (own.by_share and own.origin != theirs.origin):
        return None
    if not own.by_share:
        return own.u / theirs.u, (own.value - theirs.value) / theirs.u
    whole, other = own.value - own.origin, theirs.value - theirs.origin
    if whole * other <= 0:
        return None
    return own.u / theirs.u, float(np.log(whole / other)) / theirs.u


# Faults -----------------------------------------------------------------------------------------


def _faults(diagnosis: Diagnosis, touched: Set[Path], left: float) -> FaultsTold:
    family = diagnosis.family
    own = {
        f.key for f in family.faults
        if f.side == "measurement" or any(e.path in touched for e in f.effects)
    }  # fmt: skip
    at = {int(h): i for i, h in reversed(list(enumerate(diagnosis.hypothesis)))}
    amounts: dict[str, tuple[float, float]] = {}
    weight: dict[tuple[Parts, Parts], float] = {}
    evidence: dict[tuple[Parts, Parts], float] = {}
    for n, (h, odds) in enumerate(zip(family.hypotheses, diagnosis.odds.tolist(), strict=True)):
        parts = family.parts(h)
        lasting = frozenset(p for p in parts if p[0] not in own)
        key = (lasting, parts - lasting)
        before = weight.get(key, 0.0)
        weight[key] = before + h.weight
        evidence[key] = (evidence.get(key, 0.0) * before + odds) / weight[key]
        if n in at and len(h.faults) == 1 and lasting and family.faults[h.faults[0]].usual > 0:
            column, row = family.first_fault + h.faults[0], at[n]
            u = float(np.sqrt(diagnosis.covariance[row, column, column]))
            amounts[family.faults[h.faults[0]].key] = float(diagnosis.x[row, column]), u
    most = max(evidence.values())
    evidence = {k: e / most for k, e in evidence.items()}
    return FaultsTold(weight, evidence, left, amounts, diagnosis.first.name)
