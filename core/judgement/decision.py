"""From one session of readings to a decision: what is wrong, what to measure next, what to alter.

:func:`decide_docket` runs diagnosis, fit, cure and advice in that order and is the one entry for
window, command line and scripts. It gives codes and numbers; the sentences are the application's.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field, replace
from typing import Any

import numpy as np
from numpy.linalg import LinAlgError

from bobweight.core.docket.docket import Docket
from bobweight.core.frozen import frozen
from bobweight.core.judgement.advise import Advice, Adviser
from bobweight.core.judgement.alter import Cure, find_cure
from bobweight.core.judgement.answer import Judgement
from bobweight.core.judgement.assume import ROUGH, Assumed, assume
from bobweight.core.judgement.diagnose import diagnose
from bobweight.core.judgement.diagnosis import Diagnosis, Explanation, suspicions
from bobweight.core.judgement.doubt import suspects, without_figures, wrong_figures
from bobweight.core.judgement.fit import (
    Fit,
    FitCancelled,
    fit_session,
    reading_advice,
    reading_problems,
)
from bobweight.core.judgement.misfit import errors_of
from bobweight.core.judgement.next_place import agreed, wanted
from bobweight.core.judgement.others import others_told
from bobweight.core.judgement.outcome import Outcome, outcome
from bobweight.core.judgement.posterior import Posterior, TargetBands
from bobweight.core.judgement.reduce import Reduced, reduce_session
from bobweight.core.judgement.rule import Ruled, action_of, helps_of, reasons_of, ruled
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.problems import BobweightError, Problem, path_text
from bobweight.core.statistics.least_squares import Cancelled

STAGES = ("diagnosis", "fit", "alterations", "next-reading", "done")
ACTIONS = {
    "leave-alone": "inside its band with enough probability",
    "alter": "an alteration is worth making",
    "measure-first": "a fault of measurement is likelier than any of the unit",
    "free-first": "the advance does not move: nothing else can be judged before it is freed",
    "read-more": "the readings do not say yet whether anything need be done",
    "nothing-helps": "outside the band, and no alteration of one or two things brings it in",
    "no-target": "there is no band to judge by",
    "read-first": "too few readings or none; what is known without them is in the judgement",
    "not-judged": "the readings or the mechanism cannot be judged; the problems say why",
}
"""What to do now: codes, and what each means."""

MOST_SPRINGS = 16
"""Each further spring brings values to be fitted and slows every curve: time and memory grow with
the square (20 springs 7 s, 100 minutes). No distributor has more than a few."""

Progress = Callable[[str, float], None]


@frozen(eq=False)
class Decision:
    """Everything that follows from one session of readings.

    Attributes
    ----------
    docket : Docket
        As given.
    session : int
        Index into ``docket.sessions``; −1 if there is none.
    problems : tuple of Problem
        Grave ones say why there is no decision, others are advice about the readings.
    judgement : Judgement
        What all of it comes to: the one record that sentences are made of.
    diagnosis, fit, cure, advice : or None
        None where it could not be made, or was not reached.
    complete : bool
        False if the work was stopped part way.
    """

    docket: Docket
    session: int
    judgement: Judgement = field(repr=False)
    problems: tuple[Problem, ...] = ()
    diagnosis: Diagnosis | None = field(default=None, repr=False)
    fit: Fit | None = field(default=None, repr=False)
    cure: Cure | None = field(default=None, repr=False)
    advice: Advice | None = field(default=None, repr=False)
    complete: bool = True

    @property
    def action(self) -> str:
        """A key of :data:`ACTIONS`."""
        return self.judgement.action

    @property
    def to_alter(self) -> bool:
        """Whether alterations are to be spoken of: not of a unit that is to be left alone, nor of
        one held against a table of another shaft."""
        shaft = any(r.code.startswith("table-looks") for r in self.judgement.reasons)
        return self.action != "leave-alone" and not shaft

    @property
    def explanations(self) -> tuple[Explanation, ...]:
        """All explanations, the most probable first; empty where there is no diagnosis."""
        return self.diagnosis.explanations if self.diagnosis else ()

    def as_fields(self) -> dict[str, object]:
        """The decision as plain values for JSON; sentences are for the application to add."""
        return {
            "action": self.action,
            "fit": {} if self.fit is None else _fit_fields(self.fit),
            "explanations": [_explanation_fields(e) for e in self.explanations],
            "next_reading": None if self.advice is None else _advice_fields(self.advice),
            "alterations": _cure_fields(self.cure) if self.cure and self.to_alter else [],
            "judgement": _judgement_fields(self.judgement),
        }


def decide_docket(
    docket: Docket,
    session: int = -1,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
    known: Outcome | None = None,
    with_fit: bool = True,
) -> Decision:
    """Diagnosis, fit, alterations and next reading of one session. Never raises for a docket that
    loads; stopped part way, it returns what it has, ``complete`` False.

    Parameters
    ----------
    session : int
        Index into ``docket.sessions``; −1 is the last.
    progress : callable, optional
        Called with the stage that begins (one of :data:`STAGES`) and the share done, 0…1.
    cancelled : callable, optional
        Polled before every batch of residuals.
    known : Outcome, optional
        Of this docket and session, if it is at hand.
    with_fit : bool
        Whether the figures that fit the readings best are wanted; nothing else hangs on them.
    """
    known = known or outcome(docket, session)
    work = _Making(known, progress or _silent, cancelled, with_fit)
    try:
        work.run()
    except FitCancelled as stop:
        work.fit, work.complete = stop.best, False
    except Cancelled:
        work.complete = False
    except BobweightError as error:
        work.problems.append(error.problem)
    except LinAlgError:  # values of a docket that overflow; no reading of an engine does
        place = ("sessions", known.session, "readings")
        work.problems.append(Problem("not-determined", place))
    problems = tuple(sorted(work.problems, key=lambda p: not p.grave))
    work.say(problems=problems, complete=work.complete)
    return Decision(
        docket, known.session, work.judgement, problems, work.diagnosis, work.fit, work.cure,
        work.advice, work.complete,
    )  # fmt: skip


def _silent(stage: str, share: float) -> None:
    """No one is watching."""


class _Making:
    """One decision in the making: what is ready of it, by the names of :class:`Decision`."""

    def __init__(
        self, known: Outcome, progress: Progress, cancelled: Callable[[], bool] | None,
        with_fit: bool,
    ) -> None:  # fmt: skip
        self.known, self.progress, self.cancelled = known, progress, cancelled
        self.with_fit = with_fit
        self.judgement = Judgement(known.unit, known.session)
        self.problems: list[Problem] = []
        self.diagnosis: Diagnosis | None = None
        self.fit: Fit | None = None
        self.cure: Cure | None = None
        self.advice: Advice | None = None
        self.complete = True

    def say(self, **changes: Any) -> None:
        """Fields of the judgement that are known now."""
        self.judgement = replace(self.judgement, **changes)

    def _assume(self, docket: Docket) -> Assumed:
        """What is blank of a docket filled in, and said so."""
        found = assume(docket)
        filled = docket.with_changes(mechanism=found.mechanism)
        self.say(assumed=found.paths, filled=filled)
        return found

    def run(self) -> None:
        docket, known = self.known.unit, self.known
        assumed = self._assume(docket)
        if len(docket.mechanism.springs) > MOST_SPRINGS:
            facts = {"value": len(docket.mechanism.springs), "limit": MOST_SPRINGS}
            raise BobweightError("too-many-springs", ("mechanism", "springs"), **facts)
        if known.session < 0:
            self.problems.append(Problem("no-session", ("sessions",)))
        else:
            self.problems += reading_problems(docket, known.session, known.reduced)
        if self.problems:
            return self._unread(bool(assumed.known))
        self.problems += [
            replace(p.at("mechanism"), grave=False)  # put right by assumption
            for p in mechanism_problems(docket.mechanism)
            if p.grave and p.code in ROUGH
        ]
        few = reduce_session(
            docket.sessions[known.session], docket.particulars, known.prediction, docket.capsules,
            closely=True,
        )  # fmt: skip
        self.progress("diagnosis", 0.0)
        self.diagnosis = diagnosis = self._diagnosed(few)
        prediction = None if self.judgement.bare else known.prediction
        start = prediction.start_rpm if prediction else 0.0
        self.problems += reading_advice(known.session, known.reduced, start)
        self.progress("fit", 0.5)
        if self.with_fit and prediction is not None:
            self.fit = fit_session(
                docket, known.session, few, suspicions=suspicions(diagnosis),
                near=diagnosis.read_as(), cancelled=self.cancelled,
            )  # fmt: skip
        self.progress("alterations", 0.75)
        self._judge(Posterior(diagnosis), few)
        self.progress("done", 1.0)

    def _diagnosed(self, few: Reduced) -> Diagnosis:
        """The diagnosis by all that is known; without the mechanism's figures, where they go with
        neither table nor readings."""
        docket, session = self.known.unit, self.known.session
        told = others_told(self.known.docket, session, self.cancelled)
        found = diagnose(docket, session, few, told=told, cancelled=self.cancelled)
        bare = without_figures(docket, found)
        if bare is not None:
            other = diagnose(bare, session, few, cancelled=self.cancelled)
            if wrong_figures(found, other):
                self._assume(bare)
                self.say(bare=True, doubted=suspects(found.family.unit))
                return other
        if told is not None:
            self.say(also_read=told.sessions)
        return found

    def _unread(self, blank: bool) -> None:
        """What is known without readings, where the mechanism can be computed or is blank."""
        if not blank and self.known.prediction is None:
            return
        from bobweight.core.judgement.unread import unread

        known, told = self.known, None
        if known.session >= 0:
            told = others_told(known.docket, known.session, self.cancelled)
        found = unread(known.unit, known.session, self.cancelled, told)
        if found is None:
            self.complete = False
        else:
            helps = wanted(known.unit, found.helps)
            self.say(band=found.band, helps_most=helps, action="read-first")

    def _judge(self, posterior: Posterior, few: Reduced) -> None:
        known, docket, diagnosis = self.known, self.known.unit, posterior.diagnosis
        vacuum = bool(few.used(pipe_on=True).any()) and bool(posterior.simulator.capsules)
        target = TargetBands(known.evidence.bands, docket.target.ways, vacuum)
        of_unit = dict(
            explanations=diagnosis.explanations, noise=posterior.noise(),
            band=posterior.curve_band(), action="no-target", slips=posterior.slips(),
        )  # fmt: skip
        if not target.count:
            self._advise(Adviser(posterior, np.ones(len(posterior.x), bool), 0.0))
            self.say(**of_unit)
            return
        so = ruled(docket, target, posterior, known.evidence, known.reduced)
        self.say(
            **of_unit, decision=so.decision, probability_inside=so.probability,
            probability_at_even_odds=so.even, check_points=so.points,
            errors=errors_of(posterior, target, so.points), reasons=self._reasons(so, posterior),
        )  # fmt: skip
        self.cure = cure = find_cure(posterior, target, self.cancelled)
        after = cure.steps[-1].probability_inside_after if cure.steps else 0.0
        adviser = Adviser(posterior, so.inside, after)
        self._advise(adviser)
        scale = posterior.simulator.ratio
        scale /= docket.sessions[known.session].instrument.scale_taken
        action = action_of(so, diagnosis, cure, self.advice)
        helps = wanted(docket, helps_of(so, adviser, self.advice, scale))
        self.advice, helps = agreed(self.advice, helps, action, so.points, scale)
        self.say(
            action=action, helps_most=helps, alterations=cure.steps, others=cure.others,
            probability_before=so.probability,
        )  # fmt: skip

    def _advise(self, adviser: Adviser) -> None:
        self.progress("next-reading", 0.9)
        self.advice = adviser.next_reading(self.cancelled)

    def _reasons(self, so: Ruled, posterior: Posterior) -> tuple[Problem, ...]:
        known, judgement = self.known, self.judgement
        found = reasons_of(so, known.unit, known.session, posterior, known.reduced)
        if posterior.diagnosis.unsaid:
            found = (Problem("figures-unsaid", ("mechanism", "measured_off"), {}, False), *found)
        if not judgement.bare:
            return found
        place = next(iter(judgement.doubted), ("mechanism",))
        return (Problem("figures-doubted", place, {}, False), *found)


def _judgement_fields(judgement: Judgement) -> dict[str, object]:
    return {
        "decision": judgement.decision,
        "probability_inside": judgement.probability_inside,
        "probability_at_even_odds": judgement.probability_at_even_odds,
        "action": judgement.action,
        "reasons": [r.code for r in judgement.reasons],
        "errors": [
            {"code": e.code, "path": path_text(e.path), **e.facts} for e in judgement.errors
        ],
        "helps_most": [
            {"what": h.what, "path": path_text(h.path), "gain": h.gain,
             "speed_rpm": h.speed_rpm, "direction": h.direction, "u": h.u,
             "curve_deg": None if h.curve_deg is None else list(h.curve_deg)}
            for h in judgement.helps_most
        ],
        "noise": judgement.noise,
        "assumed": [path_text(path) for path in judgement.assumed],
    }  # fmt: skip


def _fit_fields(fit: Fit) -> dict[str, object]:
    return {
        path_text(e.path): {"value": e.value, "u": e.u, "unit": e.unit, "state": e.state}
        for e in fit.estimates
    }


def _explanation_fields(e: Explanation) -> dict[str, object]:
    return {
        "name": e.name,
        "probability": e.probability,
        "place": e.place,
        "alike": list(e.alike),
        "check_first": list(e.check_first),
        "parameters": [
            {
                "fault": s.fault, "path": path_text(s.path), "amount": s.amount, "u": s.u,
                "unit": s.unit, "nominal": s.nominal, "fitted": s.fitted, "u_fitted": s.u_fitted,
                "value_unit": s.value_unit, "sound": s.sound,
            }
            for s in e.sizes
        ],
    }  # fmt: skip


def _advice_fields(advice: Advice) -> dict[str, object]:
    best = advice.best
    return {
        "speed_rpm": best.speed_rpm,
        "direction": best.direction,
        "depression_kpa": best.depression_kpa,
        "gain_bits": best.gain_bits,
        "worth_taking": advice.worth_taking,
        "apart": list(advice.apart),
    }


def _cure_fields(cure: Cure) -> list[dict[str, object]]:
    return [
        {
            "what": s.key, "path": path_text(s.path), "amount": s.amount, "unit": s.unit,
            "probability_inside_after": s.probability_inside_after,
        }
        for s in cure.steps
    ]  # fmt: skip
