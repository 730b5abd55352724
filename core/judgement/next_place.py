"""One place for the next reading: what the decision asks for and what tells explanations apart."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.answer import Help, PointJudgement
from bobweight.core.problems import Path
from bobweight.core.record import get

if TYPE_CHECKING:
    from bobweight.core.judgement.advise import Advice

READINGS = ("read", "read-stretch", "read-way", "read-again")
"""Kinds of help that are readings."""


def wanted(docket: Docket, helps: tuple[Help, ...]) -> tuple[Help, ...]:
    """Helps without what is stated in the docket as well as it would be measured."""

    def stated(path: Path) -> float:
        u = get(docket, path[:-1]).u.get(path[-1]) if path and _is_there(docket, path) else None
        return np.inf if u is None else float(u)

    return tuple(h for h in helps if h.u is None or stated(h.path) > h.u)


def _is_there(docket: Docket, path: Path) -> bool:
    """Whether the record that holds a value is in the docket: springs that are only assumed, and
    the instruments of a session to come, are not."""
    rows = {("mechanism", "springs"): docket.mechanism.springs, ("sessions",): docket.sessions}
    return all(
        path[: len(p)] != p or int(path[len(p)]) < len(records) for p, records in rows.items()
    )


def agreed(
    advice: Advice | None, helps: tuple[Help, ...], action: str,
    points: tuple[PointJudgement, ...], scale: float,
) -> tuple[Advice | None, tuple[Help, ...]]:  # fmt: skip
    """Advice and helps that name the same reading, or both none.

    Where the act is to read more though no single reading decides, several are asked for at the
    point that is most in doubt.

    Parameters
    ----------
    scale : float
        Shown speed per distributor speed.
    """
    first = next((h for h in helps if h.what in READINGS), None)
    if first is None and action == "read-more":
        first = _again(points, scale)
        helps = helps if first is None else (first, *helps)
    elif first is not None and action == "read-more":  # what is to be done now stands first
        helps = (first, *(h for h in helps if h is not first))
    if advice is None:
        return None, helps
    if first is None or first.speed_rpm is None:
        return replace(advice, worth_taking=False), helps
    speed, way = first.speed_rpm, first.direction
    near = [
        c
        for c in advice.candidates
        if c.direction == way and (c.depression_kpa is None) == (first.depression_kpa is None)
    ]
    if not near:
        return replace(advice, worth_taking=True), helps
    if first.depression_kpa is not None:
        kpa = first.depression_kpa
        best = min(near, key=lambda c: abs((c.depression_kpa or 0.0) - kpa))
    else:
        best = min(near, key=lambda c: abs(c.speed_rpm - speed))
    there = replace(first, speed_rpm=best.speed_rpm, depression_kpa=best.depression_kpa)
    helps = tuple(there if h is first else h for h in helps)
    return replace(advice, best=best, worth_taking=True), helps


def _again(points: tuple[PointJudgement, ...], scale: float) -> Help | None:
    """Several readings at the point most in doubt, on the branch that is nearer its limit."""
    open_ = [p for p in points if p.speed_rpm is not None and p.probability_inside is not None]
    if not open_:
        return None
    p = min(open_, key=lambda p: abs((p.probability_inside or 0.0) - 0.5))
    above = (p.advance_deg or 0.0) > 0.5 * (p.low_deg + p.high_deg)
    way = p.branch or ("falling" if above else "rising")
    return Help("read-again", 0.0, speed_rpm=float(p.speed_rpm or 0.0) * scale, direction=way)
