"""Axes at round numbers, curves, bands and marks in a rectangle of the page, and labels that
stand free of them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from bobweight.core.sheet.description import (
    LEAST_LINE_MM,
    Content,
    Element,
    Line,
    Marks,
    Point,
    Polyline,
    Rect,
    Ruler,
    Text,
)
from bobweight.core.sheet.figures import figure
from bobweight.core.sheet.layout import SMALL_PT, text_mm

TICK_MM = 1.4
_ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)


def round_step(span: float, most: int) -> float:
    """The smallest round step (1, 2, 2.5 or 5 times a power of ten) that divides a span into at
    most ``most`` parts."""
    power = 10.0 ** math.floor(math.log10(span / most))
    for step in _ROUND:
        if span / (step * power) <= most * (1 + 1e-9):
            return step * power
    return 10 * power


@dataclass(frozen=True)
class Scale:
    """One axis: values from ``low`` to ``high`` on the page from ``start_mm`` to ``end_mm``, with
    ticks at the multiples of ``step``. The high end is a tick."""

    low: float
    high: float
    step: float
    start_mm: float
    end_mm: float

    @classmethod
    def around(cls, low: float, high: float, most: int, start_mm: float, end_mm: float) -> Scale:
        """A scale that holds a range, with at most ``most`` + 1 steps.

        A low end less than a step below zero stays where it is: what lies a little below zero
        shall not cost a whole step of empty plot.
        """
        step = round_step(max(high - low, 1e-9), most)
        if not -step < low < 0:
            low = step * math.floor(low / step + 1e-9)
        return cls(low, step * math.ceil(high / step - 1e-9), step, start_mm, end_mm)

    def mm(self, values: Sequence[float] | np.ndarray | float) -> np.ndarray:
        """Where values stand on the page."""
        share = (np.asarray(values, float) - self.low) / (self.high - self.low)
        return self.start_mm + share * (self.end_mm - self.start_mm)

    def ticks(self) -> np.ndarray:
        """The multiples of the step on the scale."""
        first = math.ceil(self.low / self.step - 1e-9)
        return self.step * np.arange(first, round(self.high / self.step) + 1)

    def numbers(self, factor: float = 1.0) -> list[tuple[str, float]]:
        """The numbers along the axis, as written, and where they stand in mm.

        With a factor, those of a second scale: at the same ticks where that gives plain numbers,
        else at round numbers of its own.
        """
        step, decimals = self.step * factor, 1 if factor != 1.0 else 4
        if abs(step * 10**decimals - round(step * 10**decimals)) > 1e-6:
            step = round_step((self.high - self.low) * factor, len(self.ticks()))
        first = math.ceil(self.low * factor / step - 1e-9)
        values = step * np.arange(first, math.floor(self.high * factor / step + 1e-9) + 1)
        decimals = next((n for n in range(4) if abs(step * 10**n % 1.0) < 1e-6), 4)
        places = self.mm(values / factor)
        return [(figure(v, decimals), float(p)) for v, p in zip(values, places, strict=True)]


@dataclass(frozen=True)
class Box:
    """A rectangle of the page that a text takes, in mm."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        return (
            self.left < other.right and other.left < self.right
            and self.top < other.bottom and other.top < self.bottom
        )  # fmt: skip


@dataclass(frozen=True)
class Place:
    """Where a label could stand: its baseline, how it is aligned there, and what it speaks of."""

    x: float
    y: float
    align: str
    anchor: Point | None = None


@dataclass
class Plot:
    """A rectangle with two axes that gathers what is drawn in it, and where, so that labels can
    be put in free places afterwards."""

    x: Scale
    y: Scale
    ruler: Ruler
    elements: list[Element] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)
    ink: list[np.ndarray] = field(default_factory=list)

    @property
    def left(self) -> float:
        return self.x.start_mm

    @property
    def right(self) -> float:
        return self.x.end_mm

    @property
    def top(self) -> float:
        return self.y.end_mm

    @property
    def bottom(self) -> float:
        return self.y.start_mm

    def at(self, x: Sequence[float] | np.ndarray, y: Sequence[float] | np.ndarray) -> np.ndarray:
        """Points of the page, shape (N, 2), for values."""
        return np.column_stack([self.x.mm(x), self.y.mm(y)])

    def curve(self, x: np.ndarray, y: np.ndarray, width_mm: float,
              dash: tuple[float, ...] = ()) -> np.ndarray:  # fmt: skip
        """Draw a line, cut off at the ends of the x scale; its points on the page come back."""
        points = _cut(self.at(x, y), self.left, self.right)
        if len(points) > 1:
            self.elements.append(Polyline(_tuples(points), width_mm, dash))
            self.ink.append(dense(points))
        return points

    def marks(self, points: np.ndarray, shape: str, size_mm: float, filled: bool) -> None:
        """Draw marks at points of the page."""
        if len(points):
            self.elements.append(Marks(_tuples(points), shape, size_mm, filled))
            around = np.array([(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)]) * size_mm / 2
            self.ink += [(points[:, None, :] + around).reshape(-1, 2)] * 4  # worse than a line

    def line(self, x1: float, y1: float, x2: float, y2: float, width_mm: float,
             dash: tuple[float, ...] = ()) -> None:  # fmt: skip
        """Draw a straight line between points of the page."""
        self.elements.append(Line(x1, y1, x2, y2, width_mm, dash))
        self.ink.append(dense(np.array([(x1, y1), (x2, y2)])))

    def label(self, text: Content, places: Iterable[Place], must: bool = True) -> bool:
        """Put a label at the place that hides least; one that is not a must is left out where no
        place is free. True if it was put.

        A fine line leads from the anchor of the place to a label that is not close.
        """
        width = self.ruler.width_mm(text, SMALL_PT)
        ink = np.vstack(self.ink) if self.ink else np.zeros((0, 2))
        best: tuple[float, Place, Box] | None = None
        for place in places:
            box = text_box(place, width, SMALL_PT)
            score = self._hidden(box, ink) + self._crossed(place, box)
            if best is None or score < best[0]:
                best = (score, place, box)
            if score == 0:
                break
        if best is None or best[0] >= 1000 or (best[0] > 0 and not must):
            return False
        _, place, box = best
        leader = _leader(place, box)
        if len(leader):
            self.line(*leader[0], *leader[1], LEAST_LINE_MM)
        self.elements.append(
            Text(place.x, place.y, text, SMALL_PT, align=place.align, room_mm=width + 0.5,
                 backing=True)
        )  # fmt: skip
        self.taken.append(box)
        return True

    def _crossed(self, place: Place, box: Box) -> float:
        """1000 for each label that the leader of a place would cross."""
        leader = _leader(place, box)
        if not len(leader):
            return 0.0
        x, y = dense(leader).T
        return 1000.0 * sum(
            bool(np.any((x > b.left) & (x < b.right) & (y > b.top) & (y < b.bottom)))
            for b in self.taken
        )

    def _hidden(self, box: Box, ink: np.ndarray) -> float:
        """How much a text in a box would hide; 1000 and more if it meets another or leaves the
        plot."""
        beyond_side = box.left < self.left + 0.5 or box.right > self.right - 0.5
        beyond_end = box.top < self.top + 0.5 or box.bottom > self.bottom - 0.5
        met = sum(box.meets(other) for other in self.taken)
        x, y = ink[:, 0], ink[:, 1]
        inside = (x > box.left - 0.4) & (x < box.right + 0.4) & (y > box.top) & (y < box.bottom)
        return 1000.0 * (beyond_side + beyond_end + met) + float(np.count_nonzero(inside))


def _leader(place: Place, box: Box) -> np.ndarray:
    """Both ends of the line from a place's anchor to its label, shape (2, 2); empty where the
    label is close enough or has no anchor."""
    if place.anchor is None:
        return np.zeros((0, 2))
    x, y = place.anchor
    near = np.array((min(max(x, box.left), box.right), min(max(y, box.top), box.bottom)))
    way = near - (x, y)
    away = float(np.hypot(*way))
    if away <= 3.0:
        return np.zeros((0, 2))
    return np.array([(x, y) + way * 1.1 / away, near])


def text_box(place: Place, width: float, size_pt: float) -> Box:
    """The rectangle that a text of this width takes at a place."""
    left = place.x - width * {"left": 0.0, "centre": 0.5, "right": 1.0}[place.align]
    tall = text_mm(size_pt)
    return Box(left - 0.3, place.y - 0.8 * tall, left + width + 0.3, place.y + 0.25 * tall)


def dense(points: np.ndarray, gap_mm: float = 0.7) -> np.ndarray:
    """Points along a polyline at most ``gap_mm`` apart."""
    lengths = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    wanted = np.linspace(0.0, along[-1], int(along[-1] / gap_mm) + 2)
    return np.column_stack([np.interp(wanted, along, points[:, i]) for i in (0, 1)])


def _cut(points: np.ndarray, left: float, right: float) -> np.ndarray:
    """A polyline whose x never falls, cut off outside ``left`` to ``right``."""
    x, y = points[:, 0], points[:, 1]
    inside = points[(x >= left) & (x <= right)]
    if len(x) and x[-1] > right > x[0]:
        inside = np.vstack([inside, (right, np.interp(right, x, y))])
    if len(x) and x[0] < left < x[-1]:
        inside = np.vstack([(left, np.interp(left, x, y)), inside])
    return inside


def _tuples(points: np.ndarray) -> tuple[Point, ...]:
    return tuple((round(float(x), 3), round(float(y), 3)) for x, y in points)


def axes(plot: Plot, x_title: Content, y_title: Content, second: float | None = None,
         x_second: Content = "", y_second: Content = "") -> list[Element]:  # fmt: skip
    """The grid, the frame, the round numbers and the titles of a plot.

    With ``second`` (a factor) the top and the right edge carry a second scale: the same ticks
    times the factor.
    """
    made: list[Element] = []
    for x in plot.x.mm(plot.x.ticks()):
        if plot.left + 0.1 < x < plot.right - 0.1:
            made.append(Line(x, plot.top, x, plot.bottom, LEAST_LINE_MM, (0.3, 0.9), 0.5))
    for value, y in zip(plot.y.ticks(), plot.y.mm(plot.y.ticks()), strict=True):
        if plot.top + 0.1 < y < plot.bottom - 0.1:
            zero = abs(value) < plot.y.step / 100
            made.append(
                Line(plot.left, y, plot.right, y, LEAST_LINE_MM, () if zero else (0.3, 0.9), 0.5)
            )
    made.append(Rect(plot.left, plot.top, plot.right - plot.left, plot.bottom - plot.top, 0.3))
    made += _numbers(plot, 1.0, below=True)
    made += _titles(plot, 1.0, x_title, y_title, below=True)
    if second is not None:
        made += _numbers(plot, second, below=False)
        made += _titles(plot, second, x_second, y_second, below=False)
    return made


def _titles(
    plot: Plot, factor: float, x_title: Content, y_title: Content, below: bool
) -> list[Element]:
    """The titles below and left, or above and right, clear of the numbers."""
    widest = max(plot.ruler.width_mm(text, SMALL_PT) for text, _ in plot.y.numbers(factor))
    x = plot.left - widest - 3.6 if below else plot.right + widest + 5.6
    y = plot.bottom + 8.2 if below else plot.top - 5.6
    return [
        Text((plot.left + plot.right) / 2, y, x_title, SMALL_PT, align="centre",
             room_mm=plot.right - plot.left),
        Text(x, (plot.top + plot.bottom) / 2, y_title, SMALL_PT, align="centre",
             room_mm=plot.bottom - plot.top, angle_deg=90.0),
    ]  # fmt: skip


def _numbers(plot: Plot, factor: float, below: bool) -> list[Element]:
    """Ticks and round numbers below and left, or above and right."""
    made: list[Element] = []
    y, out = (plot.bottom, 1) if below else (plot.top, -1)
    for text, x in plot.x.numbers(factor):
        made.append(Line(x, y, x, y + out * TICK_MM, 0.25))
        made.append(Text(x, y + (4.5 if below else -2.1), text, SMALL_PT, align="centre"))
    x, out, align = (plot.left, -1, "right") if below else (plot.right, 1, "left")
    for text, y in plot.y.numbers(factor):
        made.append(Line(x, y, x + out * TICK_MM, y, 0.25))
        made.append(Text(x + out * 2.0, y + 1.0, text, SMALL_PT, align=align))
    return made


def beside(points: np.ndarray, side: str) -> list[Place]:
    """Places for a label along a curve: beside its steep part first, then above or below its flat
    part, then further off; ``side`` is ``left`` (above) or ``right`` (below)."""
    x, y = points[:, 0], points[:, 1]
    far = y[np.argmax(np.abs(y - y[0]))]
    gone = (y - y[0]) / (far - y[0]) if far != y[0] else np.zeros(len(y))
    climbs = far <= y[0]
    out, align = (-1, "right") if side == "left" else (1, "left")
    found = []
    for gap in (2.5, 5.0, 9.0):
        for share in np.arange(0.95, 0.1, -0.05):
            index = int(np.argmax(gone >= share))
            at = (float(x[index]), float(y[index]))
            found.append(Place(at[0] + out * gap, at[1] + 1.0, align, at))
        if gap == 2.5:
            above = (side == "left") == climbs
            along = dense(points)
            for share in (0.75, 0.85, 0.65, 0.9, 0.5):
                at = along[min(int(share * len(along)), len(along) - 1)]
                found.append(Place(float(at[0]), float(at[1]) + (-1.4 if above else 3.4), "centre"))
    return found


def around(x: float, y: float) -> list[Place]:
    """Places about a point, below right first, then above left, near before far."""
    near = (0, 3, 6)
    below = [(3 + d, 3.4 + e, "left") for e in near for d in (*near, 10)]
    above = [(-3 - d, -2 - e, "right") for e in near for d in near]
    return [Place(x + d, y + e, align, (x, y)) for d, e, align in (*below, *above)]
