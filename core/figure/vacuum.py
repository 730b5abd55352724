"""Movement of the breaker plate against depression."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.figure.decided import Decided, next_parts
from bobweight.core.figure.description import Axis, Dots, Figure, Label, Trace, dots, word
from bobweight.core.figure.ranges import ANGLE_STEPS, DEPRESSION_STEPS, finite, round_range
from bobweight.core.figure.speed import band_label, gates
from bobweight.core.figure.traces import is_one_movement, named
from bobweight.core.figure.view import View

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome
    from bobweight.core.judgement.reduce import Reduced
    from bobweight.core.mechanics.capsule import CapsuleCurve

LEAST_KPA, LEAST_DEG = 10.0, 1.0
_BLANK_KPA, _BLANK_DEG = 60.0, 10.0
_NAMED_AT = (0.55, 0.7, 0.4, 0.85, 0.25)


def has_capsule(outcome: Outcome) -> bool:
    """True if there is a capsule, a vacuum check point or a reading with the pipe on."""
    return bool(
        outcome.capsule_curve is not None
        or outcome.comparison.vacuum_points
        or len(_pipe_on(outcome.reduced))
    )


def vacuum_figure(outcome: Outcome, view: View, *, before: Outcome | None = None,
                  other: Reduced | None = None, other_title: str = "",
                  decided: Decided | None = None) -> Figure:  # fmt: skip
    """Movement of the plate against depression: capsule, target and readings with the pipe on.

    Static timing has no part in it, so that of a view is left out.
    """
    view, found = view.moving, Decided() if decided is None else decided
    readings = vacuum_dots(outcome.reduced, view, "reading", found.slips)
    others = () if other is None else (vacuum_dots(other, view, "other"),)
    bars = gates(outcome.comparison.vacuum_points, view)
    x_range, y_range = _ranges(outcome, before, view)
    traces, labels = _traces(outcome.capsule_curve, view)
    if before is not None and before.capsule_curve is not None:
        curve = before.capsule_curve
        held = Trace("before", curve.depression_kpa * view.per_kpa, view.shown(curve.rising_deg))
        traces.insert(0, held)
        labels.append(named(held, word("held-before"), (1.0, -1.0), (0.3, 0.5, 0.15)))
    spot, mark = found.spot(pipe_on=True), None
    if spot is not None and spot.depression_kpa is not None:
        mark, said = next_parts(spot, spot.depression_kpa * view.per_kpa, view)
        labels = said + labels
    return Figure(
        x=Axis(word("depression-axis", unit=view.depression_unit), *x_range),
        y=Axis(word(f"movement-axis-{view.frame}"), *y_range),
        gates=bars,
        traces=tuple(traces),
        dots=(*others, readings),
        next=mark,
        labels=(*labels, *band_label(bars)),
    )


def vacuum_dots(reduced: Reduced, view: View, role: str,
                mistaken: frozenset[int] = frozenset()) -> Dots:  # fmt: skip
    """Readings with the pipe on."""
    rows = _pipe_on(reduced)
    return dots(
        role, reduced.depression_kpa[rows] * view.per_kpa, view.shown(reduced.vacuum_deg[rows]),
        reduced.direction[rows], reduced.u_depression_kpa[rows] * view.per_kpa,
        reduced.u_vacuum_deg[rows] * view.factor, reduced.index[rows], reduced.left_out[rows],
        np.isin(reduced.index[rows], list(mistaken)), reduced.shown.count[rows],
        reduced.shown.scatter_deg[rows] * reduced.per_shown_deg * view.factor,
    )  # fmt: skip


def _pipe_on(reduced: Reduced) -> np.ndarray:
    return np.flatnonzero(reduced.pipe_on & np.isfinite(reduced.vacuum_deg))


def _traces(curve: CapsuleCurve | None, view: View) -> tuple[list[Trace], list[Label]]:
    """Falling and rising with the words at them; one where these are the same."""
    if curve is None:
        return [], []
    x = curve.depression_kpa * view.per_kpa
    rising = Trace("rising", x, view.shown(curve.rising_deg))
    side = 1.0 if float(rising.y[-1]) >= 0 else -1.0
    if is_one_movement(curve):
        return [rising], [named(rising, word("predicted"), (1.0, -0.6 * side), _NAMED_AT)]
    falling = Trace("falling", x, view.shown(curve.falling_deg))
    return [falling, rising], [
        named(rising, word("predicted-rising"), (1.0, -0.6 * side), _NAMED_AT),
        named(falling, word("predicted-falling"), (-1.0, 0.6 * side), _NAMED_AT),
    ]


def _ranges(outcome: Outcome, before: Outcome | None, view: View,
            ) -> tuple[tuple[float, float], tuple[float, float]]:  # fmt: skip
    points = outcome.comparison.vacuum_points
    heights = [0.0, *finite(deg for p in points for deg in (p.low_deg, p.high_deg))]
    reach = [1.05 * p.depression_kpa for p in points if p.depression_kpa is not None]
    reduced, rows = outcome.reduced, _pipe_on(outcome.reduced)
    if len(rows):
        end = np.where(reduced.left_out[rows], 0.0, reduced.u_vacuum_deg[rows])
        heights += [*(reduced.vacuum_deg[rows] - end), *(reduced.vacuum_deg[rows] + end)]
        reach += list(1.03 * reduced.depression_kpa[rows])
    for curve in (outcome.capsule_curve, None if before is None else before.capsule_curve):
        if curve is not None:
            heights += [float(curve.rising_deg.min()), float(curve.rising_deg.max())]
            reach.append(_useful_kpa(curve))
    if not reach:
        heights, reach = [0.0, _BLANK_DEG], [_BLANK_KPA]
    low, high = min(heights), max(heights)
    if high - low < LEAST_DEG:
        high = low + LEAST_DEG
    room = 0.04 * (high - low)
    return (
        round_range(0.0, view.per_kpa * max([*reach, LEAST_KPA]), DEPRESSION_STEPS),
        round_range(view.factor * (low - room if low < 0 else 0.0),
                    view.factor * (high + room if high > 0 else 0.0), ANGLE_STEPS),
    )  # fmt: skip


def _useful_kpa(curve: CapsuleCurve) -> float:
    """Where the capsule has reached its stop, and a fifth more."""
    moved = np.abs(curve.rising_deg)
    first = int(np.argmax(moved >= moved.max() - 1e-9))
    return min(1.2 * float(curve.depression_kpa[first]), float(curve.depression_kpa[-1]))
