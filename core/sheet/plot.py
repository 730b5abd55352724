"""Paints a figure in a rectangle of the page: axes at round numbers, lines and shapes told apart
without colour, words where the figure's own rule puts them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from bobweight.core.figure.description import (
    START_SHARE,
    Bound,
    CheckSpan,
    Content,
    Dots,
    Event,
    Figure,
    Label,
    Zone,
    word,
)
from bobweight.core.figure.numbers import figure
from bobweight.core.figure.place import Placed, named_events, place_labels
from bobweight.core.figure.ranges import round_step
from bobweight.core.figure.speed import within
from bobweight.core.figure.view import View
from bobweight.core.frozen import frozen
from bobweight.core.judgement.compare import stretches
from bobweight.core.sheet.description import (
    LEAST_LINE_MM,
    Element,
    Line,
    Marks,
    Point,
    Polygon,
    Polyline,
    Rect,
    Ruler,
    Text,
)
from bobweight.core.sheet.layout import SMALL_PT, text_mm

LEFT_MM, RIGHT_MM, ABOVE_MM, BELOW_MM = 12.0, 3.0, 2.5, 9.5
SECOND_RIGHT_MM, SECOND_ABOVE_MM = 12.0, 8.5
TICK_MM = 1.4
TEXT_MM = text_mm(SMALL_PT)
ACROSS_STEP_MM, UP_STEP_MM = 12.0, 7.0  # as near as numbers of an axis may stand
MARK_MM = 2.1
CAP_MM = 1.0
EDGE_MM, HEAD_MM = 4.0, 1.1  # of a mark beyond the plot from its edge; of its arrow
_FREE_MM = 0.5  # beside words on a grid
BAND_DASH, CEILING_DASH = (0.9, 0.7), (4.0, 1.0, 0.8, 1.0)
BAND_GREY, ZONE_GREY = 0.88, 0.93


class Stroke(NamedTuple):
    """Width and dashes of a line, in mm."""

    width_mm: float
    dash: tuple[float, ...] = ()


STROKES: Mapping[str, Stroke] = {
    "rising": Stroke(0.5),
    "falling": Stroke(0.4, (2.2, 1.1)),
    "before": Stroke(0.3, (0.6, 0.9)),
    "expected": Stroke(0.3, (0.6, 0.9)),
    "fitted": Stroke(0.3, (2.4, 0.9, 0.5, 0.9)),
    "found": Stroke(0.35, (0.5, 0.8)),
    "left": Stroke(0.8),
    "altered": Stroke(0.5, (1.6, 0.6, 0.4, 0.6)),
}
OTHER_STROKE = Stroke(0.3)
SHAPES: Mapping[str, Mapping[str, tuple[str, bool]]] = {
    "reading": {"rising": ("up", True), "falling": ("down", False), "unknown": ("ring", False)},
    "other": {
        "rising": ("square", True), "falling": ("square", False), "unknown": ("diamond", False),
    },
}  # fmt: skip
"""Shape and filling of readings by their direction; those of an earlier session beside them."""
SIZES_MM = {"square": 1.6, "diamond": 1.6}


@frozen
class AxisScale:
    """One axis: values from ``low`` to ``high`` on the page from ``start_mm`` to ``end_mm``, with
    ticks at the multiples of ``step``."""

    low: float
    high: float
    step: float
    start_mm: float
    end_mm: float

    @classmethod
    def over(cls, low: float, high: float, most: int, start_mm: float, end_mm: float) -> AxisScale:
        """A scale of a range, with at most ``most`` steps."""
        return cls(low, high, round_step(max(high - low, 1e-9), most), start_mm, end_mm)

    def mm(self, values: Sequence[float] | np.ndarray | float) -> np.ndarray:
        """Where values stand on the page."""
        share = (np.asarray(values, float) - self.low) / (self.high - self.low)
        return self.start_mm + share * (self.end_mm - self.start_mm)

    def ticks(self) -> np.ndarray:
        """The multiples of the step on the scale."""
        first = math.ceil(self.low / self.step - 1e-9)
        return self.step * np.arange(first, math.floor(self.high / self.step + 1e-9) + 1)

    def numbers(self, factor: float = 1.0, zero: float = 0.0) -> list[tuple[str, float]]:
        """The numbers along the axis, as written, and where they stand in mm.

        With a factor those of a second scale, which shows ``(value − zero) × factor``: at the same
        ticks where that gives plain numbers, else at round numbers of its own.
        """
        step, decimals = self.step * factor, 1 if factor != 1.0 else 4
        low, high = (self.low - zero) * factor, (self.high - zero) * factor
        plain = zero == 0.0 and abs(step * 10**decimals - round(step * 10**decimals)) < 1e-6
        if not plain:
            step = round_step(high - low, len(self.ticks()))
        first = math.ceil(low / step - 1e-9)
        values = step * np.arange(first, math.floor(high / step + 1e-9) + 1)
        decimals = next((n for n in range(4) if abs(step * 10**n % 1.0) < 1e-6), 4)
        places = self.mm(values / factor + zero)
        return [(figure(v, decimals), float(p)) for v, p in zip(values, places, strict=True)]


class Second(NamedTuple):
    """A second scale along the top and the right edge, which shows ``value × factor`` across and
    ``(value − zero) × factor`` up."""

    factor: float
    zero: float
    across: Content
    up: Content


def second_scale(view: View) -> Second | None:
    """Crank figures beside distributor ones, or the reverse; None where they are the same."""
    other = "crank" if view.frame == "distributor" else "distributor"
    if view.drive_ratio == 1.0 and view.zero_deg == 0.0:
        return None
    factor = replace(view, frame=other).factor / view.factor
    return Second(factor, view.zero_deg, word(f"speed-axis-{other}"),
                  word(f"advance-axis-{other}"))  # fmt: skip


def painted(shown: Figure, ruler: Ruler, x_mm: float, y_mm: float, width_mm: float,
            height_mm: float, second: Second | None = None) -> list[Element]:  # fmt: skip
    """A figure in a rectangle of the page, axes and their titles included."""
    left = x_mm + LEFT_MM
    right = x_mm + width_mm - (SECOND_RIGHT_MM if second else RIGHT_MM)
    top, bottom = y_mm + (SECOND_ABOVE_MM if second else ABOVE_MM), y_mm + height_mm - BELOW_MM
    across = AxisScale.over(shown.x.low, shown.x.high, max(4, int((right - left) / ACROSS_STEP_MM)),
                        left, right)  # fmt: skip
    up = AxisScale.over(shown.y.low, shown.y.high, max(3, int((bottom - top) / UP_STEP_MM)),
                    bottom, top)  # fmt: skip
    return _Plot(shown, across, up, ruler, second).elements()


class _Plot:
    """One figure on its way to the page."""

    def __init__(self, shown: Figure, x: AxisScale, y: AxisScale, ruler: Ruler,
                 second: Second | None) -> None:  # fmt: skip
        self.shown, self.x, self.y, self.ruler, self.second = shown, x, y, ruler, second
        self.left, self.right, self.top, self.bottom = x.start_mm, x.end_mm, y.end_mm, y.start_mm

    def elements(self) -> list[Element]:
        """Everything, in the order in which it is painted."""
        shown = self.shown
        made: list[Element] = []
        places = self._places()
        labels = self._labels(places)
        self.words = [label for label in labels if isinstance(label, Text)]
        for zone in shown.zones:
            made += self._zone(zone)
        made += self._band()
        made += self._grid()
        for gate in shown.gates:
            made += self._gate(gate)
        for bound in shown.bounds:
            made += self._bound(bound)
        for trace in shown.traces:
            stroke = STROKES.get(trace.role, OTHER_STROKE)
            made += self._line(trace.x, trace.y, stroke)
        for event in named_events(shown, places):
            made += self._event(event)
        for marks in shown.dots:
            made += self._marks(marks)
        return made + labels

    def _at(self, x: np.ndarray | list[float], y: np.ndarray | list[float]) -> np.ndarray:
        return np.column_stack([self.x.mm(x), self.y.mm(y)])

    def _line(self, x: np.ndarray, y: np.ndarray, stroke: Stroke) -> list[Element]:
        """A line cut off at the ends of the x scale."""
        x, y = _cut(x, y, self.x.low, self.x.high)
        if len(x) < 2:
            return []
        points = self._at(x, np.clip(y, self.y.low, self.y.high))
        return [Polyline(_tuples(points), *stroke)]

    def _zone(self, zone: Zone) -> list[Element]:
        ends = [_cut(zone.x, v, self.x.low, self.x.high) for v in (zone.low, zone.high)]
        low, high = (self._at(x, np.clip(v, self.y.low, self.y.high)) for x, v in ends)
        outline = np.vstack([low, high[::-1]])
        return [Polygon(_tuples(outline), ZONE_GREY)]

    def _band(self) -> list[Element]:
        """Grey between check points with both limits; each limit's edge dashed, and nothing drawn
        to a limit that there is not."""
        gates = self.shown.gates
        x = np.array([gate.x for gate in gates])
        ends = [np.array([getattr(gate, end) for gate in gates]) for end in ("low", "high")]
        there = [np.isfinite(end) for end in ends]
        low, high = (np.clip(end, self.y.low, self.y.high) for end in ends)
        made: list[Element] = []
        for run in stretches(there[0] & there[1]) if len(gates) > 1 else ():
            outline = np.vstack([self._at(x[run], low[run]), self._at(x[run], high[run])[::-1]])
            made.append(Polygon(_tuples(outline), BAND_GREY))
        for edge, known in zip((low, high), there, strict=True):
            for run in stretches(known) if len(gates) > 1 else ():
                made += self._line(x[run], edge[run], Stroke(0.2, BAND_DASH))
        return made

    def _gate(self, gate: CheckSpan) -> list[Element]:
        (x, low), (_, high) = self._at(
            [gate.x] * 2, list(np.clip([gate.low, gate.high], self.y.low, self.y.high))
        )
        made: list[Element] = [Line(x, low, x, high, 0.35)]
        for end, y in ((gate.low, low), (gate.high, high)):
            if math.isfinite(end):
                made.append(Line(x - CAP_MM, y, x + CAP_MM, y, 0.35))
        return made

    def _bound(self, bound: Bound) -> list[Element]:
        if bound.kind == "stop":
            x = float(self.x.mm(bound.at))
            return [Line(x, self.top, x, self.bottom, 0.25, CEILING_DASH)]
        if bound.kind == "ceiling":
            y = float(self.y.mm(bound.at))
            return [Line(self.left, y, self.right, y, 0.25, CEILING_DASH)]
        ((x, foot),) = self._at([bound.at], [bound.foot])
        tall = START_SHARE * (self.bottom - self.top)
        return [Line(x, foot, x, foot - tall, 0.35)]

    def _event(self, event: Event) -> list[Element]:
        points = self._at([event.x, event.x_to], [event.y, event.y_to])
        if event.kind == "take-up":
            return [Marks(_tuples(points[:1]), "ring", 1.6)]
        across, up = (CAP_MM, 0.0) if event.kind == "jump" else (0.0, CAP_MM)
        return [Line(x - across, y - up, x + across, y + up, 0.25) for x, y in points]

    def _marks(self, marks: Dots) -> list[Element]:
        """Marks told apart by shape, with a fine bar of one standard uncertainty each way; those
        beyond the plot stand at its edge, with an arrow."""
        made: list[Element] = []
        inside = within(self.shown, marks)
        out = inside & marks.left_out
        if marks.role == "reading" and out.any():
            crossed = _tuples(self._at(marks.x[out], marks.y[out]))
            made.append(Marks(crossed, "cross", MARK_MM))
        used = inside & ~marks.left_out
        for i in np.flatnonzero(used):
            x, y, u_x, u_y = marks.x[i], marks.y[i], marks.u_x[i], marks.u_y[i]
            left, right = self._at([x - u_x, x + u_x], [y, y])
            low, high = self._at([x, x], [y - u_y, y + u_y])
            if right[0] - left[0] > MARK_MM:
                made.append(Line(max(left[0], self.left), left[1], min(right[0], self.right),
                                 left[1], LEAST_LINE_MM))  # fmt: skip
            if low[1] - high[1] > MARK_MM:
                made.append(Line(low[0], max(high[1], self.top), low[0], min(low[1], self.bottom),
                                 LEAST_LINE_MM))  # fmt: skip
        for kind, (shape, filled) in SHAPES.get(marks.role, SHAPES["reading"]).items():
            chosen = used & (marks.kind == kind)
            if chosen.any():
                points = _tuples(self._at(marks.x[chosen], marks.y[chosen]))
                made.append(Marks(points, shape, SIZES_MM.get(shape, MARK_MM), filled))
        return made + self._beyond(marks, ~inside & np.isfinite(marks.x + marks.y))

    def _beyond(self, marks: Dots, which: np.ndarray) -> list[Element]:
        """Marks beyond the plot, inside the edge that they would cross; an arrow says which."""
        made: list[Element] = []
        for i in np.flatnonzero(which):
            ((there_x, there_y),) = self._at([marks.x[i]], [marks.y[i]])
            x = min(max(there_x, self.left + EDGE_MM), self.right - EDGE_MM)
            y = min(max(there_y, self.top + EDGE_MM), self.bottom - EDGE_MM)
            across = float(np.sign(there_x - x)) if not self.left <= there_x <= self.right else 0.0
            down = float(np.sign(there_y - y)) if not self.top <= there_y <= self.bottom else 0.0
            tip = x + across * EDGE_MM, y + down * EDGE_MM
            made.append(Line(x, y, *tip, 0.25))
            for turn in (-0.6, 0.6):
                made.append(Line(*tip, tip[0] - HEAD_MM * (across - turn * down),
                                 tip[1] - HEAD_MM * (down + turn * across), 0.25))  # fmt: skip
            shape, filled = SHAPES.get(marks.role, SHAPES["reading"])[marks.kind[i]]
            if marks.left_out[i]:
                shape, filled = "cross", False
            size_mm = SIZES_MM.get(shape, MARK_MM)
            made.append(Marks(_tuples(np.array([[x, y]])), shape, size_mm, filled))
        return made

    def _places(self) -> dict[str, Placed]:
        size = (self.right - self.left) / TEXT_MM, (self.bottom - self.top) / TEXT_MM

        def measure(label: Label) -> tuple[float, float]:
            return self.ruler.width_mm(label.words, SMALL_PT) / TEXT_MM + 0.1, 1.0

        return place_labels(self.shown, *size, measure)

    def _labels(self, places: Mapping[str, Placed]) -> list[Element]:
        made: list[Element] = []
        for label in self.shown.labels:
            placed = places.get(label.key)
            if placed is not None:
                made += self._label(label.words, placed)
        return made

    def _label(self, words: Content, placed: Placed) -> list[Element]:
        made: list[Element] = []
        if placed.leader is not None:
            (x0, y0), (x1, y1) = placed.leader
            made.append(Line(*self._page(x0, y0), *self._page(x1, y1)))
        x, y = self._page(placed.x, placed.y + 0.78)
        room = placed.width * TEXT_MM + 0.5
        return [*made, Text(x, y, words, SMALL_PT, room_mm=room)]

    def _page(self, x: float, y: float) -> Point:
        """A place in heights of text on the page."""
        return self.left + x * TEXT_MM, self.top + y * TEXT_MM

    def _box(self, text: Text) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of words that the grid leaves free."""
        wide = min(self.ruler.width_mm(text.text, SMALL_PT), text.room_mm or math.inf)
        top = text.y_mm - 0.78 * TEXT_MM
        return text.x_mm - _FREE_MM, top, text.x_mm + wide + _FREE_MM, top + TEXT_MM

    # Axes

    def _grid(self) -> list[Element]:
        """The grid, the frame, the round numbers and the titles."""
        made: list[Element] = []
        for x in self.x.mm(self.x.ticks()):
            if self.left + 0.1 < x < self.right - 0.1:
                boxes = [b for b in map(self._box, self.words) if b[0] < x < b[2]]
                for top, foot in _between(self.top, self.bottom, [(b[1], b[3]) for b in boxes]):
                    made.append(Line(x, top, x, foot, LEAST_LINE_MM, (0.3, 0.9), 0.5))
        for value, y in zip(self.y.ticks(), self.y.mm(self.y.ticks()), strict=True):
            if self.top + 0.1 < y < self.bottom - 0.1:
                dash = () if abs(value) < self.y.step / 100 else (0.3, 0.9)
                boxes = [b for b in map(self._box, self.words) if b[1] < y < b[3]]
                for left, right in _between(self.left, self.right, [(b[0], b[2]) for b in boxes]):
                    made.append(Line(left, y, right, y, LEAST_LINE_MM, dash, 0.5))
        made.append(Rect(self.left, self.top, self.right - self.left, self.bottom - self.top, 0.3))
        made += self._numbers(1.0, 0.0, self.shown.x.title, self.shown.y.title, below=True)
        if self.second is not None:
            made += self._numbers(*self.second, below=False)
        return made

    def _numbers(self, factor: float, zero: float, across: Content, up: Content,
                 below: bool) -> list[Element]:  # fmt: skip
        """Ticks, round numbers and titles below and left, or above and right."""
        made: list[Element] = []
        edge, out = (self.bottom, 1) if below else (self.top, -1)
        for text, x in self.x.numbers(factor):
            made.append(Line(x, edge, x, edge + out * TICK_MM, 0.25))
            made.append(Text(x, edge + (4.5 if below else -2.1), text, SMALL_PT, align="centre"))
        numbers = self.y.numbers(factor, zero)
        edge, out, align = (self.left, -1, "right") if below else (self.right, 1, "left")
        for text, y in numbers:
            made.append(Line(edge, y, edge + out * TICK_MM, y, 0.25))
            made.append(Text(edge + out * 2.0, y + 1.0, text, SMALL_PT, align=align))
        widest = max((self.ruler.width_mm(text, SMALL_PT) for text, _ in numbers), default=0.0)
        beside = self.left - widest - 3.6 if below else self.right + widest + 5.6
        over = self.bottom + 8.2 if below else self.top - 5.6
        return [
            *made,
            Text((self.left + self.right) / 2, over, across, SMALL_PT, align="centre",
                 room_mm=self.right - self.left),
            Text(beside, (self.top + self.bottom) / 2, up, SMALL_PT, align="centre",
                 room_mm=self.bottom - self.top, angle_deg=90.0),
        ]  # fmt: skip


def _between(
    low: float, high: float, taken: Sequence[tuple[float, float]]
) -> list[tuple[float, float]]:
    """What is left of a stretch between others."""
    left = []
    for start, end in sorted(taken):
        if start > low:
            left.append((low, start))
        low = max(low, end)
    return [*left, (low, high)] if low < high else left


def _cut(x: np.ndarray, y: np.ndarray, low: float, high: float) -> tuple[np.ndarray, np.ndarray]:
    """A line whose x never falls, cut off outside a range."""
    inside = (x >= low) & (x <= high)
    kept_x, kept_y = x[inside], y[inside]
    if len(x) and x[-1] > high > x[0]:
        kept_x, kept_y = np.append(kept_x, high), np.append(kept_y, np.interp(high, x, y))
    if len(x) and x[0] < low < x[-1]:
        kept_x, kept_y = np.append(low, kept_x), np.append(np.interp(low, x, y), kept_y)
    return kept_x, kept_y


def _tuples(points: np.ndarray) -> tuple[Point, ...]:
    return tuple((round(float(x), 3), round(float(y), 3)) for x, y in points)


_KEY_GAP_MM = MARK_MM / 2 + 4.2  # a mark with the gaps before and behind it


def marks_key(shown: tuple[Figure, ...], ruler: Ruler, left_mm: float, right_mm: float,
              baseline_mm: float) -> list[Element]:  # fmt: skip
    """What the marks of the readings mean, on one line that ends at ``right_mm`` and does not
    begin before ``left_mm``."""
    entries = _key_entries(shown)
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


def _key_entries(shown: tuple[Figure, ...]) -> list[tuple[Content, str, bool]]:
    """Words, shape and filling of every kind of mark that is on some figures."""
    entries: list[tuple[Content, str, bool]] = []
    for role, code in (("reading", "key"), ("other", "key-before")):
        marks = [each.marks(role) for each in shown]
        kinds = {kind for each in marks for kind in each.kind[each.used]}
        entries += [(word(f"{code}-{kind}"), *style) for kind, style in SHAPES[role].items()
                    if kind in kinds]  # fmt: skip
    if any(each.marks().left_out.any() for each in shown):
        entries.append((word("key-left-out"), "cross", False))
    return entries
