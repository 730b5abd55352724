"""Everything that follows from a docket and that the board, the pages and the sheet show."""

from __future__ import annotations

from dataclasses import dataclass

from core.docket.docket import Docket
from core.docket.readings import Session
from core.judgement.compare import Comparison, compare, target_problems
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
    comparison : Comparison
    """

    docket: Docket
    session: int
    problems: tuple[Problem, ...]
    prediction: Prediction | None
    capsule_curve: CapsuleCurve | None
    reduced: Reduced
    comparison: Comparison

    def problems_at(self, *prefix: str | int) -> tuple[Problem, ...]:
        """The problems whose place begins so."""
        return tuple(p for p in self.problems if p.path[: len(prefix)] == prefix)


def outcome(docket: Docket, session: int = -1) -> Outcome:
    """Prediction, reduced readings, comparison and problems of a docket; never raises.

    Parameters
    ----------
    session : int
        Which session of readings to judge; −1 is the last.
    """
    count = len(docket.sessions)
    which = -1 if count == 0 else min(session % count if session < 0 else session, count - 1)
    of_mechanism = mechanism_problems(docket.mechanism)
    prediction = None if any(p.grave for p in of_mechanism) else predict(docket.mechanism)
    chosen = docket.sessions[which] if count else Session()
    reduced = reduce_session(chosen, docket.particulars, prediction, docket.capsule)
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
        comparison=compare(docket, reduced, prediction),
    )
