"""Everything that follows from a docket and that the board, the pages and the sheet show."""

from __future__ import annotations

from dataclasses import dataclass

from core.docket.docket import Docket
from core.docket.readings import Session
from core.judgement.compare import Comparison, Evidence, compare, target_problems, weigh
from core.judgement.reduce import Reduced, reduce_session, session_problems
from core.mechanics.capsule import CapsuleCurve, capsule_curve, capsule_problems
from core.mechanics.checks import mechanism_problems
from core.mechanics.predict import Prediction, predict
from core.problems import Problem
from core.record import value_problems


@dataclass(frozen=True)
class Outcome:
    """What one docket comes to.

    Attributes
    ----------
    docket : Docket
    session : int
        Index of the session that was judged; −1 if there is none.
    problems : tuple of Problem
        All that is wrong or unusual, placed in the docket.
    prediction : Prediction or None
        None where the mechanism cannot be computed; ``problems`` say why.
    capsule_curve : CapsuleCurve or None
    reduced : Reduced
    evidence : Evidence
        What the readings say at each check point.
    comparison : Comparison
    """

    docket: Docket
    session: int
    problems: tuple[Problem, ...]
    prediction: Prediction | None
    capsule_curve: CapsuleCurve | None
    reduced: Reduced
    evidence: Evidence
    comparison: Comparison

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
    """
    count = len(docket.sessions)
    which = -1 if count == 0 else min(session % count if session < 0 else session, count - 1)
    chosen = docket.sessions[which] if count else Session()
    of_mechanism = mechanism_problems(docket.mechanism)
    prediction = _prediction(docket, of_mechanism, previous)
    reduced = _reduced(docket, chosen, prediction, previous)
    evidence = _evidence(docket, reduced, previous)
    problems = [
        *(p.at("particulars") for p in value_problems(docket.particulars)),
        *(p.at("mechanism") for p in of_mechanism),
        *(p.at("capsule") for p in capsule_problems(docket.capsule)),
        *(p.at("target") for p in target_problems(docket)),
        *(
            p.at("sessions", i)
            for i, each in enumerate(docket.sessions)
            for p in session_problems(each)
        ),
        *(p.at("setting_up") for p in value_problems(docket.setting_up)),
    ]
    return Outcome(
        docket=docket,
        session=which,
        problems=tuple(problems),
        prediction=prediction,
        capsule_curve=capsule_curve(docket.capsule),
        reduced=reduced,
        evidence=evidence,
        comparison=compare(docket, evidence, prediction),
    )


def _prediction(
    docket: Docket, problems: list[Problem], previous: Outcome | None
) -> Prediction | None:
    if previous is not None and previous.docket.mechanism is docket.mechanism:
        return previous.prediction
    return None if any(p.grave for p in problems) else predict(docket.mechanism)


def _reduced(
    docket: Docket, chosen: Session, prediction: Prediction | None, previous: Outcome | None
) -> Reduced:
    if previous is not None and previous.session >= 0:
        before = previous.docket
        same = (
            before.sessions[previous.session] is chosen
            and before.particulars is docket.particulars
            and before.capsule is docket.capsule
        )
        if same and (prediction is previous.prediction or not previous.reduced.leans_on_prediction):
            return previous.reduced
    return reduce_session(chosen, docket.particulars, prediction, docket.capsule)


def _evidence(docket: Docket, reduced: Reduced, previous: Outcome | None) -> Evidence:
    if (
        previous is not None
        and previous.reduced is reduced
        and previous.docket.target is docket.target
        and previous.docket.setting_up is docket.setting_up
    ):
        return previous.evidence
    return weigh(docket, reduced)
