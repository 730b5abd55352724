"""What follows from a decision: the fitted curve, each list of alterations with its curve, where
the next reading stands on the plot, and the docket with an alteration taken in."""

from __future__ import annotations

import math
from dataclasses import field

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.history import Alteration as Altered
from bobweight.core.docket.readings import Reading, Session
from bobweight.core.docket.states import newest_state, unit_of, with_corrected, with_new_state
from bobweight.core.frozen import frozen
from bobweight.core.judgement.advise import PossibleReading
from bobweight.core.judgement.alter import Cure, CureStep
from bobweight.core.judgement.alter_catalogue import catalogue
from bobweight.core.judgement.decision import Decision
from bobweight.core.judgement.fit import Estimate, Fit, FittedReading
from bobweight.core.judgement.fit_values import by_triples
from bobweight.core.judgement.reduce import reduce_session
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.predict import Prediction, predict
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import parameter_at, put, taken_at

MOVED = 0.05
"""A value is taken into the docket if the readings moved it by more than this share of the standard
uncertainty it had before."""
MOST_OTHERS = 3


@frozen(eq=False)
class Option:
    """One list of alterations that may be chosen.

    Attributes
    ----------
    edits : tuple of (Path, value)
        What the steps set, on top of the fitted figures.
    fitted : Docket
        The unit as the session found it, with the fitted figures that the readings moved.
    docket : Docket
        The same with the edits.
    prediction : Prediction or None
        Of that docket; None where it cannot be computed.
    """

    steps: tuple[CureStep, ...]
    edits: tuple[tuple[Path, float], ...]
    fitted: Docket = field(repr=False)
    docket: Docket = field(repr=False)
    prediction: Prediction | None = field(repr=False)

    @property
    def probability(self) -> float:
        """Of the band, after the whole list."""
        return self.steps[-1].probability_inside_after


@frozen
class Spot:
    """Where the next reading stands on the plots, in distributor figures.

    Attributes
    ----------
    expected_deg : tuple of (name, float)
        What each of the two explanations it parts expects there: centrifugal advance, or with the
        pipe on the movement of the plate.
    """

    speed_rpm: float
    depression_kpa: float | None
    direction: str
    expected_deg: tuple[tuple[str, float], ...]


@frozen(eq=False)
class Consequences:
    """What follows from a decision; parts that it did not reach are None or empty.

    Attributes
    ----------
    fitted : Prediction or None
        The curve of the fitted docket.
    taken : Docket or None
        The unit as the session found it, with the fitted figures that the readings moved.
    options : tuple of Option
        The shortest cure first, then other single alterations.
    spot : Spot or None
        None if no reading is worth taking.
    slips : tuple of FittedReading
        Readings that are more likely slips than not.
    """

    decision: Decision
    fitted: Prediction | None = None
    taken: Docket | None = None
    options: tuple[Option, ...] = ()
    spot: Spot | None = None
    slips: tuple[FittedReading, ...] = ()


def consequences(decision: Decision) -> Consequences:
    """What follows from a decision. Never raises for what :func:`decide_docket` returns."""
    fit, cure, advice = decision.fit, decision.cure, decision.advice
    fitted = None if fit is None else _prediction(fit.docket)
    unit = decision.docket
    if decision.session >= 0:
        unit = unit_of(decision.docket, decision.session)
    spot = None
    if advice is not None and advice.worth_taking:
        spot = next_spot(decision, advice.best, advice.apart, fitted)
    return Consequences(
        decision,
        fitted,
        None if fit is None else with_fitted(unit, fit),
        () if cure is None else _options(unit, fit, cure),
        spot,
        decision.judgement.slips,
    )


def with_fitted(docket: Docket, fit: Fit) -> Docket:
    """The docket with the fitted figures that the readings moved, each rounded to the second digit
    of its uncertainty; stated uncertainties stay, since the readings are still in the docket.
    Figures of the instruments are taken only where the readings determine them."""
    moved = [
        e
        for e in fit.estimates
        if abs(e.value - e.before) > MOVED * e.u_before
        and (e.path[0] != "sessions" or e.state != "not-determined")
    ]
    if any(e.path[0] == "capsules" for e in moved):
        docket = by_triples(docket)
    for e in moved:
        docket = put(docket, e.path, _rounded(docket, e))
    return docket


def altered(docket: Docket, option: Option, session: int, words: tuple[str, ...], title: str,
            date: str = "") -> Docket:  # fmt: skip
    """The docket after a list of alterations: its figures in a new state of the unit, a line of
    history for each, and an empty session with the same instruments for the readings after it. The
    fitted figures that the alteration builds upon are corrections, and hold for every state.

    Parameters
    ----------
    docket : Docket
        As it stands; ``option.docket`` was made of it.
    session : int
        Index of the session that the alteration follows from.
    words : tuple of str
        What each step is called in the history.
    title, date : str
        Of the new session.
    """
    instrument = option.docket.sessions[session].instrument
    now = with_corrected(docket, session, option.fitted)
    after = now
    for path, value in option.edits:
        if path[0] == "capsules":
            after = by_triples(after)
        old = taken_at(option.fitted, path)
        low, high = parameter_at(after, path).hard
        moved = value if old is None else taken_at(after, path) + value - old
        after = put(after, path, min(max(round(moved, 9), low), high))
    after = with_new_state(now, after, title, date)
    new = Session(title=title, date=date, state=newest_state(after), instrument=instrument)
    sessions = (*docket.sessions, new)
    lines = tuple(
        Altered(
            date=date, what=what, amount=step.amount if step.unit else None, unit=step.unit,
            before_session=session + 1, after_session=len(sessions),
        )
        for step, what in zip(option.steps, words, strict=True)
    )  # fmt: skip
    return after.with_changes(sessions=sessions, history=(*docket.history, *lines))


def with_taken(docket: Docket, taken: Docket, session: int) -> Docket:
    """The docket as it stands with the fitted figures of ``taken``, which was made of it: those of
    mechanism, capsule and the session's instruments, and nothing else."""
    instrument = taken.sessions[session].instrument
    corrected = with_corrected(docket, session, taken)
    return put(corrected, ("sessions", session, "instrument"), instrument)


def read_before(docket: Docket, session: int) -> tuple[Altered, ...]:
    """The alterations made after a session (by its index) was read: the docket's figures describe
    the unit after them."""
    return tuple(
        line
        for line in docket.history
        if line.before_session is not None and line.before_session > session
    )


def next_spot(
    decision: Decision, best: PossibleReading, apart: tuple[str, ...], fitted: Prediction | None
) -> Spot | None:
    """Where a reading stands once it is reduced as the readings of its session are."""
    docket, session = decision.docket, decision.docket.sessions[decision.session]
    expected = dict(best.expected_deg)
    names = [name for name in apart if name in expected]
    rows = tuple(
        Reading(
            speed_rpm=best.speed_rpm, angle_deg=expected[name], direction=best.direction,
            depression_kpa=best.depression_kpa,
        )
        for name in names
    )  # fmt: skip
    reduced = reduce_session(
        session.with_changes(readings=rows), docket.particulars, fitted, docket.capsules
    )
    column = reduced.advance_deg if best.depression_kpa is None else reduced.vacuum_deg
    if not names or not np.isfinite(column).all():
        return None
    pairs = tuple(zip(names, (float(v) for v in column), strict=True))
    return Spot(float(reduced.speed_rpm[0]), best.depression_kpa, best.direction, pairs)


def _options(docket: Docket, fit: Fit | None, cure: Cure) -> tuple[Option, ...]:
    lists = [cure.steps] if cure.steps else []
    places = [{(s.key, s.path) for s in steps} for steps in lists]
    for other in cure.others[:MOST_OTHERS]:
        better = other and other[-1].probability_inside_after > cure.probability_before
        if better and {(s.key, s.path) for s in other} not in places:
            lists.append(other)
    if fit is None:  # blanks hold no figure that could be altered: what is done goes on record
        return tuple(Option(steps, (), docket, docket, None) for steps in lists)
    base = with_fitted(docket, fit)
    found = (_option(docket, base, fit, steps) for steps in lists)
    return tuple(o for o in found if o is not None)


def _option(docket: Docket, base: Docket, fit: Fit, steps: tuple[CureStep, ...]) -> Option | None:
    known = {(a.key, a.path): a for a in catalogue(docket, fit.docket, vacuum=True)}
    after, edits = base, []
    for step in steps:
        a = known.get((step.key, step.path))
        if a is None:
            return None
        if a.path[0] == "capsules":
            after = by_triples(after)
        changes = a.to or ((a.path, a.of(float(taken_at(after, a.path)), step.amount)),)
        for path, value in changes:
            low, high = parameter_at(after, path).hard
            value = min(max(round(value, 6), low), high)
            after = put(after, path, value)
            edits.append((path, value))
    return Option(steps, tuple(edits), base, after, _prediction(after))


def _prediction(docket: Docket) -> Prediction | None:
    if any(p.grave for p in mechanism_problems(docket.mechanism)):
        return None
    try:
        return predict(docket.mechanism)
    except BobweightError:
        return None


def _rounded(docket: Docket, e: Estimate) -> float:
    low, high = parameter_at(docket, e.path).hard
    digits = 1 - math.floor(math.log10(e.u)) if e.u > 0 else 6
    return min(max(round(e.value, digits), low), high)
