"""One judgement of a session of readings: the entry for window, command line and studies."""

from __future__ import annotations

from collections.abc import Callable

from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.answer import Judgement
from bobweight.core.judgement.decision import Progress, decide_docket

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
    return decide_docket(docket, session, progress, cancelled).judgement
