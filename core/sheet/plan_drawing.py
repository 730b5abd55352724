"""The plan of the mechanism at rest with its dimensions: simple lines, black on white."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.figure.description import Content, word
from bobweight.core.figure.numbers import short
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.dimensions import Dimension, dimensions
from bobweight.core.mechanics.drawable import drawable
from bobweight.core.mechanics.pose import Pose, SpringPose, pose
from bobweight.core.mechanics.typical import Completed
from bobweight.core.record import is_assumed
from bobweight.core.sheet.description import (
    LEAST_LINE_MM,
    Element,
    Line,
    Marks,
    Point,
    Polyline,
    Ruler,
    Text,
)
from bobweight.core.sheet.layout import SMALL_PT, text_mm

_CAPTION_MM, _LINE_MM = 7.4, 3.4
_EDGE_MM = 5.0
_SEGMENTS = 73
_COILS = 5
_DASH = (0.7, 0.7)
_LENGTHS = ("pivot_radius_mm", "cg_mm", "post_radius_mm", "peg_radius_mm")
_SHARES = np.array([1.0, 0.85, 0.7, 0.55, 0.4])
_ASIDE_MM = np.array([1.9, 2.3, 2.7, 3.2, 3.8, 4.5, 5.5, 6.5, 8.0])
_CLEAR_MM = 0.35
_SAME_MM, _NEAR_MM, _OFF_MARK_MM = 2.2, 2.6, 1.2
_FROM_END = 0.5  # what a mm from the end of its line counts against one from the line


@frozen
class PlanDrawing:
    """The mechanism at rest in mm of the base plate; ``mirrored`` for a unit that turns clockwise,
    seen from above, which may be ``assumed``."""

    rest: Pose
    mirrored: bool
    lengths: tuple[Dimension, ...] = ()
    assumed: bool = False

    def elements(self, x_mm: float, y_mm: float, width_mm: float, height_mm: float,
                 ruler: Ruler) -> list[Element]:  # fmt: skip
        """The drawing in a rectangle of the page, its caption below."""
        room = min(width_mm, height_mm - _CAPTION_MM)
        middle = (x_mm + width_mm / 2, y_mm + (height_mm - _CAPTION_MM) / 2)
        scale = (room / 2 - _EDGE_MM) / max(self.rest.extent_mm, 1.0)
        drawn = _Drawn(self, middle, scale, (x_mm, y_mm, width_mm, height_mm - _CAPTION_MM), ruler)
        foot = y_mm + height_mm - 1.0
        key = "plan-key-assumed" if self.assumed else "plan-key"
        caption = [
            Text(x_mm + width_mm / 2, y, word(code), SMALL_PT, align="centre", room_mm=width_mm)
            for y, code in ((foot - _LINE_MM, key), (foot, "plan-from"))
        ]
        return [*drawn.elements(), *caption]


def plan_drawing(docket: Docket) -> PlanDrawing | None:
    """The plan of a docket; None where too little of the mechanism is known to draw it."""
    mechanism = drawable(docket.mechanism)
    if mechanism is None:
        return None
    rest = pose(mechanism, 0.0)
    points = [p for w in rest.weights for p in (w.pivot_xy, w.cg_xy)]
    points += [p for s in rest.springs for p in (s.post_xy, s.peg_xy)]
    if not points or not all(math.isfinite(v) for p in points for v in p):
        return None
    known = dimensions(Completed(mechanism, frozenset(), frozenset()))
    lengths = tuple(one for one in known if one.path[-1] in _LENGTHS and one.value is not None)
    return PlanDrawing(rest, docket.particulars.turns_clockwise, lengths,
                       is_assumed(docket.particulars, "rotation"))  # fmt: skip


class _Drawn:
    """One plan on its way to the page."""

    def __init__(self, plan: PlanDrawing, middle: Point, scale: float,
                 room: tuple[float, float, float, float], ruler: Ruler) -> None:  # fmt: skip
        self.rest, self.scale, self.ruler = plan.rest, scale, ruler
        self.side = -1.0 if plan.mirrored else 1.0
        self.x, self.y = middle
        self.room = room
        self.lengths = plan.lengths
        self.solid: list[_Stroke] = []

    def _at(self, point: Point) -> Point:
        return self.x + self.side * self.scale * point[0], self.y - self.scale * point[1]

    def elements(self) -> list[Element]:
        """Plate, cam, weights, springs, then the dimensions where they are free."""
        reach = self.rest.extent_mm
        made: list[Element] = [self._circle(reach + 1.5, 0.35), self._circle(0.2 * reach, 0.25)]
        for dx, dy in ((1.8, 0.0), (0.0, 1.8)):
            made.append(Line(self.x - dx, self.y - dy, self.x + dx, self.y + dy))
        for weight in self.rest.weights:
            pivot, cg = self._at(weight.pivot_xy), self._at(weight.cg_xy)
            made += [Line(*pivot, *cg, 0.7), Marks((pivot,), "ring", 2.4),
                     Marks((cg,), "disc", 2.2, True)]  # fmt: skip
            if weight.pin_xy is not None:
                pin = self._at(weight.pin_xy)
                made += [Line(*pivot, *pin, 0.5), Marks((pin,), "ring", 1.6)]
                if weight.foot_pin_xy is not None:
                    made.append(Line(*pin, *self._at(weight.foot_pin_xy), 0.3))
        for spring in self.rest.springs:
            made += self._spring(spring)
        self.solid = [stroke for element in made for stroke in _strokes(element)]
        return made + self._dimensions()

    def _circle(self, radius_mm: float, wide: float) -> Polyline:
        turns = [2 * math.pi * n / (_SEGMENTS - 1) for n in range(_SEGMENTS)]
        ring = [self._at((radius_mm * math.cos(t), radius_mm * math.sin(t))) for t in turns]
        return Polyline(tuple(ring), wide)

    def _spring(self, spring: SpringPose) -> list[Element]:
        (x0, y0), (x1, y1) = post, peg = self._at(spring.post_xy), self._at(spring.peg_xy)
        long = math.hypot(x1 - x0, y1 - y0) or 1.0
        across, up = -(y1 - y0) / long, (x1 - x0) / long
        points = [post]
        for n in range(2 * _COILS):
            share, out = 0.15 + 0.7 * (n + 0.5) / (2 * _COILS), 0.9 if n % 2 else -0.9
            points.append((x0 + share * (x1 - x0) + out * across,
                           y0 + share * (y1 - y0) + out * up))  # fmt: skip
        return [Polyline((*points, peg), 0.3), Marks((post,), "square", 2.0),
                Marks((peg,), "diamond", 2.0)]  # fmt: skip

    def _dimensions(self) -> list[Element]:
        """Radii, and from pivot to centre of gravity, in mm: each as the tables have it."""
        made: list[Element] = []
        for one in self.lengths:
            if one.start == (0.0, 0.0) or one.path[-1] == "peg_radius_mm":
                made.append(Line(*self._at(one.start), *self._at(one.end), LEAST_LINE_MM, _DASH))
        self.solid += [stroke for element in made for stroke in _strokes(element)]
        told: list[tuple[Content, Point]] = []
        for one in self.lengths:
            said, end = short(one.value, 2), self._at(one.end)
            # a peg beside the centre of gravity, as far from the pivot: one figure is both's
            if all(said != other or math.dist(end, at) > _SAME_MM for other, at in told):
                made += self._number(one, said)
                told.append((said, end))
        return made

    def _number(self, one: Dimension, said: Content) -> list[Element]:
        """A length as near to its line as it stands clear of every part and of the other numbers,
        led to the line's end where that is not near; none where there is no such place."""
        wide, tall = self.ruler.width_mm(said, SMALL_PT), 0.75 * text_mm(SMALL_PT)
        start, end = np.array(self._at(one.start)), np.array(self._at(one.end))
        along = (end - start) / (math.dist(start, end) or 1.0)
        aside = np.array([-along[1], along[0]])
        on_line = start + np.outer(_SHARES, end - start)
        off = np.concatenate([_ASIDE_MM, -_ASIDE_MM])
        beside = (on_line[:, None, :] + off[None, :, None] * aside).reshape(-1, 2)
        turn = np.linspace(0.0, 2 * math.pi, 16, endpoint=False)
        rays = np.column_stack([np.cos(turn), np.sin(turn)])
        about = (end + _ASIDE_MM[:, None, None] * rays[None]).reshape(-1, 2)
        places = np.vstack([beside, about])
        half = np.array([wide / 2, tall / 2]) + _CLEAR_MM
        left, top, across, down = self.room
        inside = (places - half >= (left, top)) & (places + half <= (left + across, top + down))
        free = inside.all(axis=1) & ~_met(places, half, np.array(self.solid))
        if not free.any():
            return []
        near = np.clip((places - start) @ along, 0.4 * math.dist(start, end), math.dist(start, end))
        gone = np.hypot(*(places - start - near[:, None] * along).T)
        gone += _FROM_END * np.hypot(*(places - end).T)
        x, y = places[free][np.argmin(gone[free])]
        self.solid.append((x - wide / 2, y, x + wide / 2, y, tall / 2))
        at = np.array([x, y])
        corner = np.clip(end, at - half, at + half)
        away = math.dist(corner, end)
        leader: list[Element] = []
        if away > _NEAR_MM and gone[free].min() > _NEAR_MM:
            tip = end + (corner - end) * _OFF_MARK_MM / away
            leader.append(Line(float(corner[0]), float(corner[1]), float(tip[0]), float(tip[1])))
        return [*leader, Text(float(x), float(y) + 0.95, said, SMALL_PT, align="centre")]


_Stroke = tuple[float, float, float, float, float]
"""Both ends and half the width, in mm."""


def _strokes(element: Element) -> list[_Stroke]:
    """What an element of the drawing covers."""
    if isinstance(element, Line):
        ends = (element.x1_mm, element.y1_mm, element.x2_mm, element.y2_mm)
        return [(*ends, element.width_mm / 2)]
    if isinstance(element, Polyline):
        return [(*a, *b, element.width_mm / 2) for a, b in pairwise(element.points)]
    if isinstance(element, Marks):
        return [(*at, *at, 0.55 * element.size_mm) for at in element.points]
    return []


def _met(places: np.ndarray, half: np.ndarray, solid: np.ndarray) -> np.ndarray:
    """Whether boxes of half this size meet a stroke, shape (places,).

    Strokes are rows of both ends and half the width. A stroke meets a box that it enters before it
    leaves it (Liang and Barsky, *ACM Transactions on Graphics* 3, 1984).
    """
    ends, wide = solid[:, :4].reshape(-1, 2, 2), solid[:, 4]
    start, run = ends[:, 0], ends[:, 1] - ends[:, 0]
    run = np.where(np.abs(run) < 1e-9, 1e-9, run)
    reach = half[None, None, :] + wide[None, :, None]
    one, other = ((places[:, None, :] + side * reach - start) / run for side in (-1.0, 1.0))
    enters = np.minimum(one, other).max(axis=2)
    leaves = np.maximum(one, other).min(axis=2)
    met: np.ndarray = ((enters <= leaves) & (leaves >= 0.0) & (enters <= 1.0)).any(axis=1)
    return met
