"""The advance curve of the sheet: prediction, target band and readings against speed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.docket.mechanism import SPRING_ROLES
from bobweight.core.sheet.description import Content, Element, Marks, Ruler, Text, word
from bobweight.core.sheet.drawn import (
    BEFORE_SHAPES,
    FALLING_DASH,
    FALLING_MM,
    MARK_MM,
    MARK_SHAPES,
    RISING_MM,
    SAME_CURVE_DEG,
    band,
    readings,
)
from bobweight.core.sheet.figures import View
from bobweight.core.sheet.layout import SMALL_PT
from bobweight.core.sheet.plot import Place, Plot, Scale, around, axes, beside

if TYPE_CHECKING:
    from bobweight.core.judgement.compare import PointResult
    from bobweight.core.judgement.outcome import Outcome
    from bobweight.core.judgement.reduce import Reduced

LEFT_MM, RIGHT_MM = 11.0, 12.0
ABOVE_MM, BELOW_MM = 8.5, 9.5
ALONE_MM = 3.0  # right and above where there is no second scale
CEILING_DASH = (4.0, 1.0, 0.8, 1.0)
_BLANK_SPEED_RPM, _BLANK_ADVANCE_DEG = 2500.0, 15.0
_LEAST_SPEED_RPM, _LEAST_ADVANCE_DEG = 100.0, 1.0  # an axis shorter than that says nothing


def has_curve(outcome: Outcome) -> bool:
    """True if there is a prediction, a target or a reading to draw."""
    return bool(
        outcome.prediction is not None
        or outcome.comparison.check_points
        or len(_centrifugal(outcome.reduced))
    )


def curve_plot(outcome: Outcome, view: View, ruler: Ruler, x_mm: float, y_mm: float,
               width_mm: float, height_mm: float,
               before: Reduced | None = None) -> list[Element]:  # fmt: skip
    """The plot in a rectangle of the page, axes and their titles included; ``before`` are the
    readings of an earlier session."""
    second = _second(view)
    left, right = x_mm + LEFT_MM, x_mm + width_mm - (RIGHT_MM if second else ALONE_MM)
    top, bottom = y_mm + (ABOVE_MM if second else ALONE_MM), y_mm + height_mm - BELOW_MM
    lowest, highest, fastest = _limits(outcome, view, before)
    plot = Plot(
        Scale.around(0.0, fastest, max(4, int((right - left) / 13)), left, right),
        Scale.around(lowest, highest, max(4, int((bottom - top) / 9)), bottom, top),
        ruler,
    )
    _band(plot, outcome, view)
    _predicted(plot, outcome, view)
    if before is not None:
        _readings(plot, outcome, view, before, before)
    _readings(plot, outcome, view, outcome.reduced, before)
    _labels(plot, outcome, view)
    return axes(plot, word(f"speed-axis-{view.frame}"), word(f"advance-axis-{view.frame}"),
                *second) + plot.elements  # fmt: skip


def marks_key(outcome: Outcome, ruler: Ruler, left_mm: float, right_mm: float, baseline_mm: float,
              before: Reduced | None = None) -> list[Element]:  # fmt: skip
    """What the marks of the readings mean, on one line that ends at ``right_mm`` and does not
    begin before ``left_mm``."""
    entries = _key_entries(outcome.reduced, before)
    widths = [ruler.width_mm(text, SMALL_PT) + 0.5 for text, _, _ in entries]
    room = right_mm - left_mm - _KEY_GAP_MM * len(entries)
    share = min(1.0, room / max(sum(widths), 1e-9))
    made: list[Element] = []
    for (text, shape, filled), width in zip(reversed(entries), reversed(widths), strict=True):
        width *= share
        made.append(Text(right_mm, baseline_mm, text, SMALL_PT, align="right", room_mm=width))
        right_mm -= width + 1.7
        made.append(Marks(((right_mm, baseline_mm - 0.95),), shape, MARK_MM, filled))
        right_mm -= _KEY_GAP_MM - 1.7
    if made and right_mm - ruler.width_mm(word("key"), SMALL_PT) > left_mm:
        made.append(Text(right_mm, baseline_mm, word("key"), SMALL_PT, align="right"))
    return made


_KEY_GAP_MM = MARK_MM / 2 + 4.2  # a mark with the gaps before and behind it


def _key_entries(reduced: Reduced, before: Reduced | None) -> list[tuple[Content, str, bool]]:
    """Words, shape and filling of every kind of mark that is on the plots."""
    seen = np.isfinite(reduced.advance_deg) | np.isfinite(reduced.vacuum_deg)
    kinds = set(reduced.direction[seen & ~reduced.left_out])
    entries = [(word(f"key-{kind}"), *MARK_SHAPES[kind]) for kind in MARK_SHAPES if kind in kinds]
    if before is not None:
        rows = _centrifugal(before)
        kinds = set(before.direction[rows[~before.left_out[rows]]])
        entries += [(word(f"key-before-{kind}"), *BEFORE_SHAPES[kind])
                    for kind in BEFORE_SHAPES if kind in kinds]  # fmt: skip
    if np.any(seen & reduced.left_out):
        entries.append((word("key-left-out"), "cross", False))
    return entries


def _second(view: View) -> tuple[float, Content, Content] | tuple[()]:
    """The second scale: crank figures beside distributor ones, or the reverse."""
    if view.drive_ratio == 1.0:
        return ()
    other = "distributor" if view.frame == "crank" else "crank"
    factor = 1 / view.drive_ratio if view.frame == "crank" else view.drive_ratio
    return factor, word(f"speed-axis-{other}"), word(f"advance-axis-{other}")


def _limits(outcome: Outcome, view: View, before: Reduced | None) -> tuple[float, float, float]:
    """Least and most advance and the highest speed to show, in the frame of the view.

    The prediction and the target decide; readings widen the range, but one wild reading may not
    squeeze the curve into a corner.
    """
    advances, speeds = [0.0], []
    prediction = outcome.prediction
    if prediction is not None:
        advances.append(prediction.full_deg)
        speeds.append(1.15 * prediction.full_rpm)
    for point in outcome.comparison.check_points:
        advances += [deg for deg in (point.low_deg, point.high_deg) if math.isfinite(deg)]
        speeds.append(1.05 * point.speed_rpm)
    if outcome.comparison.ceiling is not None:
        advances.append(outcome.comparison.ceiling.high_deg)
    seen_deg, seen_rpm = (
        np.concatenate([getattr(r, key)[_centrifugal(r)] for r in (outcome.reduced, before) if r])
        for key in ("advance_deg", "speed_rpm")
    )
    if len(seen_deg):
        if speeds:
            most = max(1.6 * max(advances), max(advances) + 5.0)
            least = min(advances) - 5.0
            seen_deg = np.clip(seen_deg, least, most)
            seen_rpm = np.minimum(seen_rpm, 1.5 * max(speeds))
        advances += [float(seen_deg.min()) - 0.3, float(seen_deg.max()) + 0.3]
        speeds.append(1.03 * float(seen_rpm.max()))
    if not speeds or max(speeds) <= 0:
        return 0.0, view.factor * _BLANK_ADVANCE_DEG, view.factor * _BLANK_SPEED_RPM
    least, most = min(advances), max([*advances, _LEAST_ADVANCE_DEG])
    room = 0.07 * (most - least)
    return (
        view.factor * (min(least - 0.3, -room) if least < 0 else 0.0),
        view.factor * (most + room),
        view.factor * max([*speeds, _LEAST_SPEED_RPM]),
    )


def _band(plot: Plot, outcome: Outcome, view: View) -> None:
    points = outcome.comparison.check_points
    band(plot, *(np.array([getattr(p, key) for p in points]) * view.factor
                 for key in ("speed_rpm", "low_deg", "high_deg")))  # fmt: skip
    ceiling, start = outcome.comparison.ceiling, outcome.comparison.start
    if ceiling is not None:
        y = float(plot.y.mm(ceiling.high_deg * view.factor))
        plot.line(plot.left, y, plot.right, y, 0.25, CEILING_DASH)
    if start is not None:
        x, y = plot.at([start.speed_rpm * view.factor], [0.0])[0]
        plot.line(x, y, x, y - 5.0, 0.35)


def _predicted(plot: Plot, outcome: Outcome, view: View) -> None:
    prediction = outcome.prediction
    if prediction is None:
        return
    rising = _to_edge(prediction.rising, plot, view)
    plot.curve(*rising, RISING_MM)
    if not _alike(outcome):
        plot.curve(*_to_edge(prediction.falling, plot, view), FALLING_MM, FALLING_DASH)


def _to_edge(branch: object, plot: Plot, view: View) -> tuple[np.ndarray, np.ndarray]:
    """A branch in the frame of the view, drawn on flat to the right edge of the plot."""
    speed = np.append(branch.speed_rpm, np.inf) * view.factor
    speed[-1] = max(plot.x.high, speed[-2])
    return speed, np.append(branch.advance_deg, branch.advance_deg[-1]) * view.factor


def _alike(outcome: Outcome) -> bool:
    """True if rising and falling are one curve."""
    prediction = outcome.prediction
    speed = np.concatenate([prediction.rising.speed_rpm, prediction.falling.speed_rpm])
    apart = np.interp(speed, prediction.rising.speed_rpm, prediction.rising.advance_deg)
    apart -= np.interp(speed, prediction.falling.speed_rpm, prediction.falling.advance_deg)
    return not prediction.jumps and float(np.abs(apart).max()) < SAME_CURVE_DEG


def _centrifugal(reduced: Reduced) -> np.ndarray:
    """Rows of the reduced readings taken with the pipe off."""
    return np.flatnonzero(~reduced.pipe_on & np.isfinite(reduced.advance_deg))


def _shown(outcome: Outcome, view: View, reduced: Reduced,
           before: Reduced | None) -> tuple[np.ndarray, np.ndarray]:  # fmt: skip
    """Rows of some readings inside the limits of the plot, and of those beyond."""
    rows = _centrifugal(reduced)
    lowest, highest, fastest = _limits(outcome, view, before)
    speed, angle = reduced.speed_rpm[rows] * view.factor, reduced.advance_deg[rows] * view.factor
    within = (speed <= fastest) & (angle >= lowest) & (angle <= highest)
    return rows[within], rows[~within]


def outside_the_plot(outcome: Outcome, view: View, before: Reduced | None = None) -> int:
    """How many readings lie beyond the limits of the plot."""
    both = [reduced for reduced in (outcome.reduced, before) if reduced is not None]
    return sum(len(_shown(outcome, view, reduced, before)[1]) for reduced in both)


def _readings(plot: Plot, outcome: Outcome, view: View, reduced: Reduced,
              before: Reduced | None) -> None:  # fmt: skip
    rows, _ = _shown(outcome, view, reduced, before)
    speed, angle = reduced.speed_rpm * view.factor, reduced.advance_deg * view.factor
    out = rows[reduced.left_out[rows]]
    used = rows[~reduced.left_out[rows]]
    earlier = reduced is before
    if not earlier:
        plot.marks(plot.at(speed[out], angle[out]), "cross", MARK_MM, False)
    readings(plot, speed[used], angle[used], reduced.u_speed_rpm[used] * view.factor,
             reduced.u_advance_deg[used] * view.factor, reduced.direction[used],
             BEFORE_SHAPES if earlier else MARK_SHAPES)  # fmt: skip


def _labels(plot: Plot, outcome: Outcome, view: View) -> None:
    _limit_labels(plot, outcome, view)
    prediction = outcome.prediction
    if prediction is not None:
        rising = plot.at(*_to_edge(prediction.rising, plot, view))
        falling = plot.at(*_to_edge(prediction.falling, plot, view))
        if _alike(outcome):
            plot.label(word("predicted"), beside(rising, "right"))
        else:
            plot.label(word("predicted-rising"), beside(rising, "right"))
            plot.label(word("predicted-falling"), beside(falling, "left"))
    if outcome.comparison.check_points:
        plot.label(word("band"), _band_places(plot, outcome.comparison.check_points, view))
    if prediction is None:
        return
    for take_up, role in _take_ups(outcome):
        at = plot.at([take_up.speed_rpm * view.factor], [take_up.advance_deg * view.factor])
        plot.marks(at, "ring", 1.6, False)
        x, y = (float(v) for v in at[0])
        text = word("takes-up", spring=role, advance=view.angle(take_up.advance_deg))
        plot.label(text, around(x, y), must=False)


def _limit_labels(plot: Plot, outcome: Outcome, view: View) -> None:
    """The words at the ceiling and at the speed below which there may be no advance."""
    ceiling, start = outcome.comparison.ceiling, outcome.comparison.start
    if start is not None:
        x, y = plot.at([start.speed_rpm * view.factor], [0.0])[0]
        top = (float(x), float(y) - 4.5)
        places = [Place(x - 1.2, y - up, "right", top) for up in (1.8, 3.5, 6.5, 9.0)]
        places += [Place(x + 1.2, y - up, "left", top) for up in (1.8, 3.5)]
        plot.label(word("no-advance-below"), places)
    if ceiling is not None:
        y = float(plot.y.mm(ceiling.high_deg * view.factor))
        across = np.linspace(plot.left + 2.0, plot.right - 30.0, 12)
        places = [Place(float(x), y + up, "left") for up in (-1.2, 3.4) for x in across]
        plot.label(word("ceiling"), places)


def _take_ups(outcome: Outcome) -> list[tuple[object, str]]:
    """The take-ups with the role of their spring; like springs on several weights count once."""
    springs = outcome.docket.mechanism.springs
    found: dict[tuple[str, float], tuple[object, str]] = {}
    for take_up in outcome.prediction.take_ups:
        role = SPRING_ROLES[springs[take_up.spring].role]
        found.setdefault((role, round(take_up.advance_deg, 3)), (take_up, role))
    return list(found.values())


def _band_places(plot: Plot, points: Sequence[PointResult], view: View) -> list[Place]:
    """Below the low edge and above the high edge, near the check points and between them."""
    points = sorted(points, key=lambda p: p.speed_rpm)
    speed = np.array([p.speed_rpm for p in points]) * view.factor
    low, high = (
        np.clip(np.array([getattr(p, key) for p in points]) * view.factor, plot.y.low, plot.y.high)
        for key in ("low_deg", "high_deg")
    )
    places: list[Place] = []
    for share in (0.85, 0.7, 0.55, 0.4, 0.25, 0.95):
        at = speed[0] + share * (speed[-1] - speed[0])
        below = plot.at([at], [np.interp(at, speed, low)])[0]
        above = plot.at([at], [np.interp(at, speed, high)])[0]
        (x_low, y_low), (x_high, y_high) = below, above
        places += [
            Place(x_low + 2, y_low + 4.0, "left"),
            Place(x_high - 2, y_high - 2.0, "right"),
            Place(x_low + 4, y_low + 8.0, "left", (x_low, y_low)),
            Place(x_high - 4, y_high - 6.0, "right", (x_high, y_high)),
        ]
    return places
