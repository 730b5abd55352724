"""One judgement of a session of readings: the entry for window, command line and studies."""

from __future__ import annotations

from collections.abc import Callable

from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.answer import Judgement, PointJudgement, decision_word
from bobweight.core.judgement.compare import PointResult
from bobweight.core.judgement.decision import Progress, decide_docket
from bobweight.core.judgement.outcome import outcome

__all__ = ["Judgement", "judge"]


def judge(
    docket: Docket,
    session: int = -1,
    *,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Judgement:
    """What figures, table and one session of readings jointly say. Never raises for a docket that
    loads; stopped part way, it returns what it has, ``complete`` False.

    Parameters
    ----------
    docket : Docket
    session : int
        Index into ``docket.sessions``; −1 is the last.
    progress, cancelled : callable, optional
        As for :func:`core.judgement.decision.decide_docket`.
    """
    known = outcome(docket, session)
    decided = decide_docket(docket, session, progress, cancelled, known)
    cure = decided.cure
    inside = None if cure is None else cure.probability_before
    return Judgement(
        docket, decided.session, decided.problems,
        decision=decision_word(float("nan") if inside is None else inside),
        probability_inside=inside,
        check_points=tuple(_point(p) for p in known.comparison.all_points),
        explanations=decided.explanations, action=decided.action,
        alterations=() if cure is None else cure.steps,
        others=() if cure is None else cure.others,
        probability_before=inside, complete=decided.complete,
    )  # fmt: skip


def _point(p: PointResult) -> PointJudgement:
    chance = p.probability_inside
    return PointJudgement(
        p.kind, p.index, p.speed_rpm, p.depression_kpa, p.low_deg, p.high_deg, p.estimate_deg,
        p.u_deg, chance, decision_word(float("nan") if chance is None else chance), p.estimate_deg,
        p.u_deg,
    )  # fmt: skip
