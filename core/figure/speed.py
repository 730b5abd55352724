"""Advance against speed, and how far the readings are off it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.figure.decided import Decided, decided_parts, with_room
from bobweight.core.figure.description import (
    START_SHARE,
    Axis,
    Bound,
    CheckSpan,
    Dots,
    Figure,
    Label,
    Trace,
    dots,
    word,
)
from bobweight.core.figure.events import curve_events
from bobweight.core.figure.numbers import typed
from bobweight.core.figure.overlay import Overlay, overlay_parts
from bobweight.core.figure.ranges import ANGLE_STEPS, SPEED_STEPS, finite, round_range
from bobweight.core.figure.traces import branch_trace, is_one_curve, named, on_branch
from bobweight.core.figure.view import View

if TYPE_CHECKING:
    from bobweight.core.judgement.compare import PointResult
    from bobweight.core.judgement.outcome import Outcome
    from bobweight.core.judgement.reduce import Reduced
    from bobweight.core.mechanics.predict import Prediction

_BLANK_SPEED_RPM, _BLANK_ADVANCE_DEG = 2500.0, 15.0
_WILD = 2.5  # times the table's last speed, beyond which no curve is followed
_MOST_MISTAKEN = 3  # readings that are named so
_LEAST_SPEED_RPM, _LEAST_ADVANCE_DEG = 100.0, 1.0  # an axis shorter than that says nothing


def has_curve(outcome: Outcome) -> bool:
    """True if there is a prediction, a target or a reading to draw."""
    return bool(
        outcome.prediction is not None
        or outcome.comparison.check_points
        or len(_centrifugal(outcome.reduced))
    )


def speed_figure(outcome: Outcome, view: View, *, before: Outcome | None = None,
                 other: Reduced | None = None, other_title: str = "",
                 decided: Decided | None = None, overlay: Overlay | None = None,
                 doubted: Prediction | None = None) -> Figure:  # fmt: skip
    """Advance against speed: prediction, target and readings of an outcome.

    Parameters
    ----------
    before : Outcome, optional
        Of the docket held for comparison.
    other : Reduced, optional
        Readings of another session, named ``other_title``.
    decided : Decided, optional
        What is shown of a decision.
    overlay : Overlay, optional
        Curves laid over for comparison.
    doubted : Prediction, optional
        By figures of which one cannot be right; no range makes room for it.
    """
    prediction, comparison = outcome.prediction, outcome.comparison
    found = Decided() if decided is None else decided
    x_range, y_range = _ranges(outcome, view, other)
    parts = decided_parts(found, view, x_range[1])
    if prediction is None:  # nothing else is drawn of this unit's curve
        y_range = with_room(y_range, parts.zones)
    readings = centrifugal_dots(outcome.reduced, view, "reading", found.slips)
    others = () if other is None else (centrifugal_dots(other, view, "other"),)
    traces = _traces(prediction, before, doubted, view, x_range[1])
    bounds, bars = _bounds(outcome, view, y_range[0]), gates(comparison.check_points, view)
    events, told = curve_events(outcome, view)
    laid = overlay_parts(overlay, view, x_range[1])
    labels = (
        *_bound_labels(bounds, x_range, y_range, view), *_curve_labels(traces, prediction), *told,
        *band_label(bars),
        *laid.labels, *parts.labels, *_other_label(others, other_title),
        *_mistaken_labels(readings),
    )  # fmt: skip
    return Figure(
        x=Axis(word(f"speed-axis-{view.frame}"), *x_range),
        y=Axis(word(f"advance-axis-{view.frame}"), *y_range),
        zones=(*parts.zones, *laid.zones),
        gates=bars,
        bounds=bounds,
        traces=(*laid.traces, *parts.traces, *traces),
        dots=(*others, readings),
        events=events,
        next=parts.next,
        labels=labels,
    )


def deviation_figure(outcome: Outcome, view: View, shown: Figure) -> Figure:
    """How far readings and check points lie off the predicted curve, on the speed axis of
    ``shown``; where nothing is predicted off the one that was fitted, if it is shown."""
    prediction, fitted = outcome.prediction, None
    readings = shown.marks()
    off = np.full(len(readings), np.nan)
    if prediction is None:
        fitted = shown.trace("fitted")
    if prediction is not None and len(readings):
        speed = readings.x / view.factor
        up, down = on_branch(prediction.rising, speed), on_branch(prediction.falling, speed)
        kind = readings.kind
        fair = np.where(kind == "falling", down, np.where(kind == "rising", up, 0.5 * (up + down)))
        off = readings.y - view.shown(fair)
    elif fitted is not None:
        off = readings.y - np.interp(readings.x, fitted.x, fitted.y)
    bars = []
    for g in shown.gates:
        at = g.predicted
        if fitted is not None:
            at = float(np.interp(g.x, fitted.x, fitted.y))
        if at is not None:
            bars.append(CheckSpan(g.index, g.x, g.low - at, g.high - at, g.verdict, 0.0))
    used = off[~readings.left_out]
    edges = [abs(edge) for bar in bars for edge in (bar.low, bar.high)]
    most = max([*finite(np.abs(used)), *finite(edges), view.factor])
    most = round_range(0.0, 1.15 * most, ANGLE_STEPS[1:])[1]
    x, zero = np.array([0.0, shown.x.high]), np.zeros(2)
    role = "rising" if fitted is None else "fitted"
    return Figure(
        x=shown.x,
        y=Axis(word("deviation-axis"), -most, most),
        gates=tuple(bars),
        traces=() if prediction is None and fitted is None else (Trace(role, x, zero),),
        dots=(dots("reading", readings.x, off, readings.kind, row=readings.row,
                   left_out=readings.left_out),),
    )  # fmt: skip


def gates(results: Iterable[PointResult], view: View) -> tuple[CheckSpan, ...]:
    """Check points as bars, in the order of the axis."""
    made = (
        CheckSpan(
            index=-1 if r.index is None else r.index,
            x=_place_of(r, view),
            low=float(view.shown(r.low_deg)),
            high=float(view.shown(r.high_deg)),
            verdict=r.told,
            predicted=None if r.predicted_deg is None else float(view.shown(r.predicted_deg)),
        )
        for r in results
    )
    return tuple(sorted(made, key=lambda gate: gate.x))


def _place_of(result: PointResult, view: View) -> float:
    if result.speed_rpm is not None:
        return result.speed_rpm * view.factor
    return (result.depression_kpa or 0.0) * view.per_kpa


def centrifugal_dots(reduced: Reduced, view: View, role: str,
                     mistaken: frozenset[int] = frozenset()) -> Dots:  # fmt: skip
    """Readings with the pipe off."""
    rows = _centrifugal(reduced)
    return dots(
        role, reduced.speed_rpm[rows] * view.factor, view.shown(reduced.advance_deg[rows]),
        reduced.direction[rows], reduced.u_speed_rpm[rows] * view.factor,
        reduced.u_advance_deg[rows] * view.factor, reduced.index[rows], reduced.left_out[rows],
        np.isin(reduced.index[rows], list(mistaken)), reduced.shown.count[rows],
        reduced.shown.scatter_deg[rows] * reduced.per_shown_deg * view.factor,
    )  # fmt: skip


def beyond(figure: Figure) -> int:
    """How many readings lie beyond the ranges of a figure."""
    return sum(int(np.count_nonzero(~within(figure, marks))) for marks in figure.dots)


def within(figure: Figure, marks: Dots) -> np.ndarray:
    """Which marks lie inside the ranges of a figure."""
    x, y = figure.x, figure.y
    return (
        (marks.x >= x.low) & (marks.x <= x.high) & (marks.y >= y.low) & (marks.y <= y.high)
    )  # fmt: skip


def _centrifugal(reduced: Reduced) -> np.ndarray:
    return np.flatnonzero(~reduced.pipe_on & np.isfinite(reduced.advance_deg))


def _ranges(outcome: Outcome, view: View, other: Reduced | None,
            ) -> tuple[tuple[float, float], tuple[float, float]]:  # fmt: skip
    """The ranges of both axes. Prediction and target decide; readings widen them, but neither one
    wild reading nor a prediction far beyond the table may squeeze the rest into a corner."""
    advances, speeds = [0.0], []
    prediction, comparison = outcome.prediction, outcome.comparison
    for point in comparison.check_points:
        advances += finite([point.low_deg, point.high_deg])
        speeds.append(1.04 * (point.speed_rpm or 0.0))
    if prediction is not None:
        advances.append(prediction.full_deg)
        most_rpm = _WILD * max(speeds, default=np.inf)
        speeds += [min(rpm, most_rpm) for rpm in finite([1.12 * prediction.full_rpm])]
    if comparison.ceiling is not None:
        advances.append(comparison.ceiling.high_deg)
    if comparison.start is not None:
        speeds.append(1.5 * (comparison.start.speed_rpm or 0.0))
    most, least = max(1.6 * max(advances), max(advances) + 5.0), min(advances) - 5.0
    fastest = 1.5 * max(speeds, default=np.inf)
    for reduced in (outcome.reduced, other):
        if reduced is not None and len(rows := _centrifugal(reduced)):
            end = np.where(reduced.left_out[rows], 0.0, reduced.u_advance_deg[rows])
            seen = reduced.advance_deg[rows]
            limits = (least, most) if speeds else (-np.inf, np.inf)
            advances += [float(np.clip(seen - end, *limits).min()),
                         float(np.clip(seen + end, *limits).max())]  # fmt: skip
            speeds.append(min(1.03 * float(reduced.speed_rpm[rows].max()), fastest))
    if max(speeds, default=0.0) <= 0:
        advances, speeds = [0.0, _BLANK_ADVANCE_DEG], [_BLANK_SPEED_RPM]
    low, high = min(advances), max([*advances, _LEAST_ADVANCE_DEG])
    room = 0.04 * (high - low)
    bottom = min(view.shown(low - room if low < 0 else 0.0), 0.0)
    return (
        round_range(0.0, view.factor * max([*speeds, _LEAST_SPEED_RPM]), SPEED_STEPS),
        round_range(bottom, view.shown(high + room), ANGLE_STEPS),
    )


def _traces(prediction: Prediction | None, before: Outcome | None, doubted: Prediction | None,
            view: View, end: float) -> tuple[Trace, ...]:  # fmt: skip
    """The curve held for comparison, falling and rising; one where these are the same."""
    made = []
    if doubted is not None:
        made.append(branch_trace(doubted.rising, view, end, "doubted"))
    if before is not None and before.prediction is not None:
        made.append(branch_trace(before.prediction.rising, view, end, "before"))
    if prediction is not None:
        if not is_one_curve(prediction):
            made.append(branch_trace(prediction.falling, view, end, "falling"))
        made.append(branch_trace(prediction.rising, view, end, "rising"))
    return tuple(made)


def _bounds(outcome: Outcome, view: View, foot: float) -> tuple[Bound, ...]:
    made = []
    start, ceiling = outcome.comparison.start, outcome.comparison.ceiling
    if start is not None and start.speed_rpm is not None:
        made.append(Bound("start", start.speed_rpm * view.factor, max(foot, view.zero_deg)))
    if ceiling is not None:
        made.append(Bound("ceiling", float(view.shown(ceiling.high_deg))))
    return tuple(made)


def _curve_labels(traces: Sequence[Trace], prediction: Prediction | None) -> list[Label]:
    """The words at the curves; the falling one stands left of the rising one."""
    found = []
    parted = any(trace.role == "falling" for trace in traces)
    for trace in traces:
        if trace.role == "before":
            shares = (0.35, 0.5, 0.25, 0.7)
            found.append(named(trace, word("held-before"), (1.0, -1.0), shares))
        elif trace.role == "doubted":
            found.append(named(trace, word("doubted"), (1.0, -1.0)))
        elif prediction is not None and prediction.full_deg:
            said = f"predicted-{trace.role}" if parted else "predicted"
            side = -1.0 if trace.role == "falling" else 1.0
            found.append(named(trace, word(said), (side, -0.8 * side)))
    return found


def _bound_labels(bounds: Sequence[Bound], x_range: tuple[float, float],
                  y_range: tuple[float, float], view: View) -> list[Label]:  # fmt: skip
    """The words at the ceiling and at the speed below which there may be no advance."""
    found = []
    for bound in bounds:
        if bound.kind == "start":
            tall = START_SHARE * (y_range[1] - y_range[0])
            spots = tuple((bound.at, bound.foot + up * tall) for up in (1.0, 0.6, 0.2))
            said = word("no-advance-below", speed=view.speed(bound.at / view.factor))
            found.append(Label("start", said, spots, "bound", (-0.6, 1.0)))
        else:
            spots = tuple((x_range[1] * share, bound.at) for share in (0.08, 0.2, 0.35, 0.6, 0.85))
            said = word("ceiling-at", advance=typed(bound.at))
            found.append(Label("ceiling", said, spots, "bound", (1.0, -1.0)))
    return found


def band_label(bars: Sequence[CheckSpan]) -> list[Label]:
    """The words at the target: below its low edge or above its high edge."""
    if not bars:
        return []
    x = np.array([bar.x for bar in bars])
    spots = []
    for share in (0.85, 0.7, 0.55, 0.4, 0.25, 0.95):
        at = float(x[0] + share * (x[-1] - x[0]))
        for end in ("low", "high"):
            y = float(np.interp(at, x, [getattr(bar, end) for bar in bars]))
            if np.isfinite(y):
                spots.append((at, y))
    return [Label("band", word("band"), tuple(spots), "band")] if spots else []


def _other_label(others: Sequence[Dots], title: str) -> list[Label]:
    found = []
    for marks in others:
        used = np.flatnonzero(marks.used)
        if title and len(used):
            used = used[np.argsort(marks.x[used])]
            spots = tuple(
                (float(marks.x[i]), float(marks.y[i]))
                for i in (used[int(share * (len(used) - 1))] for share in (0.7, 0.5, 0.9, 0.3))
            )
            found.append(Label("other", title, spots, "other", (1.0, -1.0), must=False))
    return found


def _mistaken_labels(readings: Dots) -> list[Label]:
    chosen = np.flatnonzero(readings.mistaken & np.isfinite(readings.y))
    spots = [(float(readings.x[i]), float(readings.y[i])) for i in chosen[:_MOST_MISTAKEN]]
    return [
        Label(f"mistaken{n}", word("looks-mistaken"), (spot,), "wrong", (1.0, -1.0))
        for n, spot in enumerate(spots)
    ]
