"""Which numbers stand where on the board: arrays in the frame and units shown. No Qt, no paint.

Everything comes from the outcome of the docket; here it is only brought into the frame shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bobweight.app.board.shapes import round_range

Array = NDArray[np.float64]
_NONE = np.zeros(0)
SPEED_STEPS = (100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)
ANGLE_STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
DEPRESSION_STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)


@dataclass(frozen=True)
class Line:
    """A polyline in shown units."""

    x: Array
    y: Array


@dataclass(frozen=True)
class Bar:
    """A check point: from least to most at a place on the axis.

    Either end may be infinite: the table gives no limit there. ``verdict`` is that of the
    readings; ``predicted_inside`` that of the prediction (None: no prediction); ``predicted`` is
    where the curve passes.
    """

    index: int
    x: float
    low: float
    high: float
    verdict: str
    predicted_inside: bool | None
    predicted: float | None
    probability: float | None


@dataclass(frozen=True)
class Marks:
    """Readings: one row each; ``row`` is the place in the session's list."""

    row: NDArray[np.int_]
    x: Array
    y: Array
    u_x: Array
    u_y: Array
    direction: NDArray
    left_out: NDArray[np.bool_]
    deviation: Array


NO_MARKS = Marks(np.zeros(0, int), _NONE, _NONE, _NONE, _NONE, np.zeros(0, "U8"),
                 np.zeros(0, bool), _NONE)  # fmt: skip


@dataclass(frozen=True)
class Event:
    """Something on the curve that is told in words: jump, plateau or take-up."""

    kind: str
    x: float
    y: float
    x_to: float
    y_to: float
    direction: str = "rising"
    spring: int = -1


@dataclass(frozen=True)
class CurveSeries:
    """All that stands on the speed plot and its strip, in the frame shown."""

    rising: Line | None
    falling: Line | None
    ghost: Line | None
    bars: tuple[Bar, ...]
    marks: Marks
    events: tuple[Event, ...]
    no_advance_below: float | None
    ceiling: float | None
    start: float | None
    full_at: float | None
    full: float | None
    x_range: tuple[float, float]
    y_range: tuple[float, float]
    deviation_range: float
    same: bool
    """True if rising and falling coincide."""


@dataclass(frozen=True)
class CapsuleSeries:
    """All that stands on the capsule plot, in the frame and unit shown."""

    rising: Line | None
    falling: Line | None
    ghost: Line | None
    bars: tuple[Bar, ...]
    marks: Marks
    x_range: tuple[float, float]
    y_range: tuple[float, float]
    same: bool


def curve_series(outcome: Any, ghost: Any, factor: float) -> CurveSeries:
    """The speed plot of an outcome; shown value = factor × distributor value."""
    prediction = outcome.prediction
    marks = centrifugal_marks(outcome.reduced, prediction, factor)
    comparison = outcome.comparison
    bars = _bars(comparison.check_points if comparison else (), factor, "speed_rpm", factor)
    below = _limit(comparison and comparison.start, "speed_rpm", factor)
    ceiling = _limit(comparison and comparison.ceiling, "high_deg", factor)
    start = full_at = full = None
    if prediction is not None:
        start, full_at = prediction.start_rpm * factor, prediction.full_rpm * factor
        full = prediction.full_deg * factor
    used = marks.x[~marks.left_out]
    x_range = _speed_range(start, full_at, bars, used, below)
    heights = [full or 0.0, ceiling or 0.0, *_edges(bars), *(marks.y + marks.u_y)]
    lows = [0.0, *_edges(bars), *(marks.y - marks.u_y)]
    y_range = round_range(min(lows), max(heights) * 1.04 or 15.0 * factor, ANGLE_STEPS)
    rising = falling = None
    if prediction is not None:
        rising = branch_line(prediction.rising, factor, x_range[1])
        falling = branch_line(prediction.falling, factor, x_range[1])
    ghost_prediction = ghost.prediction if ghost is not None else None
    return CurveSeries(
        rising=rising,
        falling=falling,
        ghost=branch_line(ghost_prediction.rising, factor, x_range[1])
        if ghost_prediction
        else None,
        bars=bars,
        marks=marks,
        events=_events(prediction, factor) if prediction is not None else (),
        no_advance_below=below,
        ceiling=ceiling,
        start=start,
        full_at=full_at,
        full=full,
        x_range=x_range,
        y_range=y_range,
        deviation_range=_deviation_range(marks, bars, factor),
        same=_same(rising, falling),
    )


def capsule_series(
    outcome: Any, ghost: Any, factor: float, from_kpa: Any, unit_kpa: float
) -> CapsuleSeries:
    """The capsule plot of an outcome.

    Parameters
    ----------
    from_kpa : callable
        Depression in kPa to the unit shown.
    unit_kpa : float
        One shown unit in kPa.
    """
    curve = outcome.capsule_curve
    rising = falling = None
    if curve is not None:
        x = np.asarray(from_kpa(curve.depression_kpa))
        rising, falling = Line(x, curve.rising_deg * factor), Line(x, curve.falling_deg * factor)
    old = None
    if ghost is not None and ghost.capsule_curve is not None:
        before = ghost.capsule_curve
        x = np.asarray(from_kpa(before.depression_kpa))
        old = Line(x, before.rising_deg * factor)
    comparison = outcome.comparison
    points = comparison.vacuum_points if comparison else ()
    bars = _bars(points, 1.0 / unit_kpa, "depression_kpa", factor)
    marks = vacuum_marks(outcome.reduced, factor, from_kpa)
    ends = [float(line.x[-1]) for line in (rising,) if line is not None]
    ends += [bar.x * 1.05 for bar in bars] + list(marks.x * 1.03)
    heights = [0.0, *_edges(bars), *(marks.y + marks.u_y)]
    heights += [float(np.max(line.y)) for line in (rising, old) if line is not None]
    lows = [0.0, *_edges(bars), *(marks.y - marks.u_y)]
    lows += [float(np.min(line.y)) for line in (rising, old) if line is not None]
    top = max(heights) * 1.06 or (10.0 * factor if min(lows) == 0.0 else 0.0)
    return CapsuleSeries(
        rising=rising,
        falling=falling,
        ghost=old,
        bars=bars,
        marks=marks,
        x_range=(0.0, round_range(0.0, max(ends, default=60.0 / unit_kpa), DEPRESSION_STEPS)[1]),
        y_range=round_range(min(lows) * 1.06, top, ANGLE_STEPS),
        same=_same(rising, falling),
    )


def on_branch(branch: Any, speed_rpm: Any) -> Any:
    """Advance at distributor speeds as the drawn polyline shows it, in distributor degrees."""
    return np.interp(speed_rpm, branch.speed_rpm, branch.advance_deg)


def branch_line(branch: Any, factor: float, x_end: float) -> Line:
    """A branch as shown, drawn on flat to the end of the axis."""
    x, y = branch.speed_rpm * factor, branch.advance_deg * factor
    if x[-1] < x_end:
        x, y = np.append(x, x_end), np.append(y, y[-1])
    return Line(x, y)


def _same(rising: Line | None, falling: Line | None) -> bool:
    if rising is None or falling is None:
        return False
    if len(rising.x) != len(falling.x):
        return False
    return bool(np.allclose(rising.x, falling.x, rtol=1e-3) and np.allclose(rising.y, falling.y))


def _bars(results: Any, x_factor: float, x_name: str, factor: float) -> tuple[Bar, ...]:
    bars = [
        Bar(
            index=r.index,
            x=float(getattr(r, x_name) * x_factor),
            low=float(r.low_deg * factor),
            high=float(r.high_deg * factor),
            verdict=r.verdict.value,
            predicted_inside=r.predicted_inside,
            predicted=None if r.predicted_deg is None else float(r.predicted_deg * factor),
            probability=r.probability_inside,
        )
        for r in results
    ]
    return tuple(sorted(bars, key=lambda bar: bar.x))


def _edges(bars: tuple[Bar, ...]) -> list[float]:
    """Every finite end of the bars."""
    return [end for bar in bars for end in (bar.low, bar.high) if np.isfinite(end)]


def _limit(result: Any, name: str, factor: float) -> float | None:
    value = getattr(result, name, None) if result else None
    return None if value is None else float(value * factor)


def centrifugal_marks(reduced: Any, prediction: Any, factor: float) -> Marks:
    """Readings with the pipe off; deviations where there is a prediction."""
    if reduced is None or not len(reduced.index):
        return NO_MARKS
    off = np.isnan(reduced.depression_kpa) & np.isfinite(reduced.advance_deg)
    speed, advance = reduced.speed_rpm[off], reduced.advance_deg[off]
    direction = reduced.direction[off]
    deviation = np.full(len(speed), np.nan)
    if prediction is not None and len(speed):
        up = on_branch(prediction.rising, speed)
        down = on_branch(prediction.falling, speed)
        between = np.where(direction == "falling", down, 0.5 * (up + down))
        deviation = (advance - np.where(direction == "rising", up, between)) * factor
    return Marks(
        row=reduced.index[off],
        x=speed * factor,
        y=advance * factor,
        u_x=reduced.u_speed_rpm[off] * factor,
        u_y=reduced.u_advance_deg[off] * factor,
        direction=direction,
        left_out=reduced.left_out[off],
        deviation=deviation,
    )


def vacuum_marks(reduced: Any, factor: float, from_kpa: Any) -> Marks:
    """Readings with the pipe on."""
    if reduced is None or not len(reduced.index):
        return NO_MARKS
    on = np.isfinite(reduced.depression_kpa) & np.isfinite(reduced.vacuum_deg)
    x = np.asarray(from_kpa(reduced.depression_kpa[on]))
    none = np.full(len(x), np.nan)
    u_x = np.asarray(from_kpa(reduced.u_depression_kpa[on]))
    return Marks(reduced.index[on], x, reduced.vacuum_deg[on] * factor, u_x,
                 reduced.u_vacuum_deg[on] * factor, reduced.direction[on],
                 reduced.left_out[on], none)  # fmt: skip


def _events(prediction: Any, factor: float) -> tuple[Event, ...]:
    jumps = [
        Event("jump", j.speed_rpm * factor, j.from_deg * factor, j.speed_rpm * factor,
              j.to_deg * factor, j.direction)
        for j in prediction.jumps
    ]  # fmt: skip
    of_spring = {round(t.advance_deg, 6): t.spring for t in prediction.take_ups}
    plateaus = [
        Event("plateau", p.from_rpm * factor, p.advance_deg * factor, p.to_rpm * factor,
              p.advance_deg * factor, spring=of_spring.get(round(p.advance_deg, 6), -1))
        for p in prediction.plateaus
    ]  # fmt: skip
    told = {p.spring for p in plateaus}
    take_ups = [
        Event("take-up", t.speed_rpm * factor, t.advance_deg * factor, t.speed_rpm * factor,
              t.advance_deg * factor, spring=t.spring)
        for t in prediction.take_ups
        if t.spring not in told
        and 0.02 * prediction.full_deg < t.advance_deg < 0.98 * prediction.full_deg
    ]  # fmt: skip
    return (*jumps, *plateaus, *take_ups)


def _speed_range(
    start: float | None,
    full_at: float | None,
    bars: tuple[Bar, ...],
    readings: Array,
    below: float | None,
) -> tuple[float, float]:
    ends = [bar.x * 1.04 for bar in bars] + list(readings * 1.04)
    if full_at is not None and np.isfinite(full_at):
        ends.append(full_at * 1.12)
    if below:
        ends.append(below * 1.5)
    return 0.0, round_range(0.0, max(ends, default=2500.0), SPEED_STEPS)[1]


def _deviation_range(marks: Marks, bars: tuple[Bar, ...], factor: float) -> float:
    """Half the height of the strip: it holds every mark in use and the band's edges."""
    kept = marks.deviation[~marks.left_out]
    edges = [abs(e - bar.predicted) for bar in bars if bar.predicted is not None
             for e in _edges((bar,))]  # fmt: skip
    largest = max([*np.abs(kept[np.isfinite(kept)]), *edges, 1.0 * factor])
    return round_range(0.0, float(largest) * 1.15, (1.0, 2.0, 5.0, 10.0, 20.0))[1]
