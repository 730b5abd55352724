"""What a check point says, described once: for the window's tables, the sheet and plain text."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from bobweight.core.figure.description import Content, word
from bobweight.core.units import percent

if TYPE_CHECKING:
    from bobweight.core.figure.view import View
    from bobweight.core.judgement.compare import PointResult


def stands(point: PointResult, view: View) -> View:
    """The view of a point's degrees: the capsule only adds, and has no static on it."""
    return view.moving if point.kind == "vacuum" else view


def place(point: PointResult, view: View) -> Content:
    """Where it is: a speed or a depression, below which speed, or that it is the ceiling."""
    if point.kind == "ceiling":
        return word("point-ceiling")
    if point.depression_kpa is not None:
        return f"{view.depression(point.depression_kpa)} {view.depression_unit}"
    speed = view.speed(point.speed_rpm)
    return word("point-below", speed=speed) if point.kind == "start" else speed


def band(point: PointResult, view: View) -> Content:
    """Least and most."""
    return stands(point, view).between(point.low_deg, point.high_deg)


def found(point: PointResult, view: View, spelt: bool = False) -> Content:
    """Where the curve runs there by all that is known, with the branch that decides, by its sign or
    ``spelt`` out; empty if nothing is known."""
    said = stands(point, view).at_u(point.estimate_deg, point.u_deg)
    return _of_branch(point.estimate_branch, said, spelt)


def predicted(point: PointResult, view: View, spelt: bool = False) -> Content:
    """The prediction, with the branch that decides likewise; empty without one."""
    said = stands(point, view).at(point.predicted_deg)
    return _of_branch(point.predicted_branch, said, spelt)


def chance(point: PointResult) -> str:
    """How probable it is that the true value lies inside the band; empty if unknown."""
    return "" if point.probability_inside is None else percent(point.probability_inside)


def decision(told: str) -> Content:
    """What a point is told to be (``PointResult.told``)."""
    return word(f"verdict-{told.replace(' ', '-')}")


def branches(results: Iterable[PointResult]) -> list[str]:
    """Of which branches some values are alone, in the order they are read."""
    told = {b for p in results for b in (p.predicted_branch, p.estimate_branch)}
    return [branch for branch in ("rising", "falling") if branch in told]


def _of_branch(branch: str | None, value: str, spelt: bool) -> Content:
    if not branch or not value:
        return value
    return word(f"spelt-{branch}" if spelt else f"branch-{branch}", value=value)
