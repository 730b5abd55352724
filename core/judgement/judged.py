"""An outcome as it was judged: its check points by all that is known, and the one decision."""

from __future__ import annotations

from dataclasses import replace

from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.answer import BEING_JUDGED, Judgement
from bobweight.core.judgement.compare import Comparison, PointResult, compare
from bobweight.core.judgement.outcome import Outcome, outcome
from bobweight.core.statistics.conformity import Conformity


def judged(docket: Docket, session: int = -1) -> Outcome:
    """The outcome of a session, judged."""
    from bobweight.core.judgement.decision import decide_docket  # late: a window opens unjudged

    known = outcome(docket, session)
    decision = decide_docket(docket, session, known=known, with_fit=False)
    return judged_outcome(known, decision.judgement)


def judged_outcome(outcome: Outcome, judgement: Judgement) -> Outcome:
    """The outcome with the comparison of a judgement of the same docket and session; as it is
    where nothing could be judged. Nothing is predicted by figures that cannot be right."""
    if judgement.bare:
        outcome = replace(
            outcome, prediction=None, comparison=compare(outcome.unit, outcome.evidence, None)
        )
    if judgement.probability_inside is None:
        return outcome
    known = {(p.kind, p.index): p for p in judgement.check_points}

    def of(point: PointResult | None) -> PointResult | None:
        p = None if point is None else known.get((point.kind, point.index))
        if point is None or p is None or p.advance_deg is None:
            return point
        return replace(
            point, estimate_deg=p.advance_deg, u_deg=p.u_deg,
            probability_inside=p.probability_inside, verdict=p.verdict, estimate_branch=p.branch,
            decision=p.decision, reached=p.read_around,
        )  # fmt: skip

    old = outcome.comparison
    comparison = Comparison(
        tuple(filter(None, map(of, old.check_points))), of(old.start), of(old.ceiling),
        tuple(filter(None, map(of, old.vacuum_points))), judgement.decision,
    )  # fmt: skip
    return replace(outcome, comparison=comparison)


def unjudged(outcome: Outcome) -> Outcome:
    """The outcome while it is being judged: of no check point anything is told yet, but that
    nobody took a reading."""
    word = "" if outcome.reduced.left_out.all() else BEING_JUDGED

    def of(point: PointResult | None) -> PointResult | None:
        if point is None:
            return None
        return replace(
            point, probability_inside=None, verdict=Conformity.CANNOT_TELL, decision=word
        )

    old = outcome.comparison
    comparison = Comparison(
        tuple(filter(None, map(of, old.check_points))), of(old.start), of(old.ceiling),
        tuple(filter(None, map(of, old.vacuum_points))),
    )  # fmt: skip
    return replace(outcome, comparison=comparison)
