"""Everything that follows from a docket and that the board, the pages and the sheet show."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import field, replace
from functools import partial

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.readings import Session
from bobweight.core.docket.states import unit_of
from bobweight.core.frozen import frozen
from bobweight.core.judgement.compare import Comparison, Evidence, compare, target_problems, weigh
from bobweight.core.judgement.reduce import Reduced, reduce_session, session_problems
from bobweight.core.mechanics.capsule import CapsuleCurve, capsule_problems, plate_curve
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.predict import Prediction, predict
from bobweight.core.problems import Path, Problem
from bobweight.core.record import value_problems


@frozen
class PartProblems:
    """The problems of one part of a docket, and the records that were looked at for them."""

    seen: tuple[object, ...]
    problems: tuple[Problem, ...]


@frozen
class Outcome:
    """What one docket comes to.

    Attributes
    ----------
    unit : Docket
        The same with mechanism and capsule as they were when the session was read.
    session : int
        Index of the session that was judged; −1 if there is none.
    problems : tuple of Problem
        All that is wrong or unusual, placed in the docket.
    prediction : Prediction or None
        None where the mechanism cannot be computed; ``problems`` say why.
    evidence : Evidence
        What the readings say at each check point.
    found : mapping of place to PartProblems
        The problems by the part of the docket they belong to.
    """

    docket: Docket
    unit: Docket
    session: int
    problems: tuple[Problem, ...]
    prediction: Prediction | None
    capsule_curve: CapsuleCurve | None
    reduced: Reduced
    evidence: Evidence
    comparison: Comparison
    found: Mapping[Path, PartProblems] = field(default_factory=dict, repr=False)

    @property
    def stands_sound(self) -> bool:
        """True if the mechanism as it stands can be computed; ``prediction`` may be of a state
        before."""
        return not any(p.grave for p in self.problems_at("mechanism"))

    def problems_at(self, *prefix: str | int) -> tuple[Problem, ...]:
        """The problems whose place begins so."""
        return tuple(p for p in self.problems if p.path[: len(prefix)] == prefix)


def outcome(docket: Docket, session: int = -1, previous: Outcome | None = None) -> Outcome:
    """Prediction, reduced readings, comparison and problems of a docket; never raises.

    Parameters
    ----------
    session : int
        Which session of readings to judge; −1 is the last.
    previous : Outcome, optional
        An earlier outcome; what follows from records that have not changed is taken from it, so
        that an edit under a moving hand costs only what it changes.

    Notes
    -----
    What a fault of ours would make of one docket is told as a problem of that docket
    (``not-computed``), with nothing computed: a file must never keep the window from opening.
    """
    if previous is not None and any(p.code == "not-computed" for p in previous.problems):
        previous = None  # nothing was computed that could be taken from it
    try:
        return _outcome(docket, session, previous)
    except Exception as error:
        nothing = _outcome(Docket(), -1, None)
        wrong = Problem("not-computed", (), {"reason": type(error).__name__})
        return replace(nothing, docket=docket, unit=docket, problems=(wrong,), found={})


def _outcome(docket: Docket, session: int, previous: Outcome | None) -> Outcome:
    count = len(docket.sessions)
    which = -1 if count == 0 else min(session % count if session < 0 else session, count - 1)
    chosen = docket.sessions[which] if count else Session()
    found = _find_problems(docket, previous)
    unit = _unit(docket, which, previous)
    wrong = found["mechanism",].problems
    if unit.mechanism is not docket.mechanism:
        wrong = tuple(mechanism_problems(unit.mechanism))
    prediction = _prediction(unit, wrong, previous)
    reduced = _reduced(unit, chosen, prediction, previous)
    evidence = _evidence(docket, reduced, previous)
    return Outcome(
        docket=docket,
        unit=unit,
        session=which,
        problems=tuple(p for part in found.values() for p in part.problems),
        prediction=prediction,
        capsule_curve=_capsule_curve(unit, previous),
        reduced=reduced,
        evidence=evidence,
        comparison=compare(unit, evidence, prediction),
        found=found,
    )


def _unit(docket: Docket, session: int, previous: Outcome | None) -> Docket:
    """The unit as the session found it; parts that are equal to those of before are the same."""
    unit = unit_of(docket, session) if session >= 0 else docket
    if unit is docket or previous is None:
        return unit
    old = previous.unit
    return unit.with_changes(
        mechanism=old.mechanism if old.mechanism == unit.mechanism else unit.mechanism,
        capsules=old.capsules if old.capsules == unit.capsules else unit.capsules,
    )


def _find_problems(docket: Docket, previous: Outcome | None) -> dict[Path, PartProblems]:
    """The problems of each part of a docket; those of a part that did not change are kept."""
    before = {} if previous is None else previous.found
    found: dict[Path, PartProblems] = {}

    def look(place: Path, seen: tuple[object, ...], find: Callable[[], Iterable[Problem]]) -> None:
        old = before.get(place)
        if old is None or any(a is not b for a, b in zip(old.seen, seen, strict=True)):
            old = PartProblems(seen, tuple(p.at(*place) for p in find()))
        found[place] = old

    mechanism, target = docket.mechanism, docket.target
    look(("particulars",), (docket.particulars,), lambda: value_problems(docket.particulars))
    look(("mechanism",), (mechanism,), lambda: mechanism_problems(mechanism))
    for index, capsule in enumerate(docket.capsules):
        look(("capsules", index), (capsule,), partial(capsule_problems, capsule))
    look(("target",), (target, docket.setting_up), lambda: target_problems(docket))
    for index, session in enumerate(docket.sessions):
        look(("sessions", index), (session,), partial(session_problems, session))
    look(("setting_up",), (docket.setting_up,), lambda: value_problems(docket.setting_up))
    return found


def _prediction(
    docket: Docket, problems: tuple[Problem, ...], previous: Outcome | None
) -> Prediction | None:
    if previous is not None and previous.unit.mechanism is docket.mechanism:
        return previous.prediction
    if any(p.grave for p in problems):
        return None
    return predict(docket.mechanism, checked=True)


def _capsule_curve(docket: Docket, previous: Outcome | None) -> CapsuleCurve | None:
    if previous is not None and previous.unit.capsules is docket.capsules:
        return previous.capsule_curve
    return plate_curve(docket.capsules)


def _reduced(
    docket: Docket, chosen: Session, prediction: Prediction | None, previous: Outcome | None
) -> Reduced:
    if previous is not None and previous.session >= 0:
        before = previous.docket
        same = (
            before.sessions[previous.session] is chosen
            and before.particulars is docket.particulars
            and previous.unit.capsules is docket.capsules
        )
        if same and (prediction is previous.prediction or not previous.reduced.leans_on_prediction):
            return previous.reduced
    return reduce_session(chosen, docket.particulars, prediction, docket.capsules)


def _evidence(docket: Docket, reduced: Reduced, previous: Outcome | None) -> Evidence:
    if (
        previous is not None
        and previous.reduced is reduced
        and previous.docket.target is docket.target
        and previous.docket.setting_up is docket.setting_up
    ):
        return previous.evidence
    return weigh(docket, reduced)
