"""The plan of the mechanism at rest with its dimensions: simple lines, black on white."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bobweight.core.docket.docket import Docket
from bobweight.core.figure.description import Content, word
from bobweight.core.figure.numbers import short
from bobweight.core.mechanics.drawable import drawable
from bobweight.core.mechanics.pose import Pose, SpringPose, pose
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

_CAPTION_MM = 4.0
_EDGE_MM = 5.0
_SEGMENTS = 73
_COILS = 5
_DASH = (0.7, 0.7)


@dataclass(frozen=True)
class PlanDrawing:
    """The mechanism at rest in mm of the base plate; ``mirrored`` for a unit that turns clockwise,
    seen from above."""

    rest: Pose
    mirrored: bool

    def elements(self, x_mm: float, y_mm: float, width_mm: float, height_mm: float,
                 ruler: Ruler) -> list[Element]:  # fmt: skip
        """The drawing in a rectangle of the page, its caption below."""
        room = min(width_mm, height_mm - _CAPTION_MM)
        middle = (x_mm + width_mm / 2, y_mm + (height_mm - _CAPTION_MM) / 2)
        scale = (room / 2 - _EDGE_MM) / max(self.rest.extent_mm, 1.0)
        drawn = _Drawn(self, middle, scale, (x_mm, y_mm, width_mm, height_mm - _CAPTION_MM), ruler)
        caption = Text(x_mm + width_mm / 2, y_mm + height_mm - 1.0, word("plan-key"), SMALL_PT,
                       align="centre", room_mm=width_mm)  # fmt: skip
        return [*drawn.elements(), caption]


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
    return PlanDrawing(rest, docket.particulars.rotation == "clockwise")


class _Drawn:
    """One plan on its way to the page."""

    def __init__(self, plan: PlanDrawing, middle: Point, scale: float,
                 room: tuple[float, float, float, float], ruler: Ruler) -> None:  # fmt: skip
        self.rest, self.scale, self.ruler = plan.rest, scale, ruler
        self.side = -1.0 if plan.mirrored else 1.0
        self.x, self.y = middle
        self.room = room
        self.taken: list[tuple[float, float, float, float]] = []

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
        """Radii from the centre, and from pivot to centre of gravity, in mm."""
        spans: list[tuple[Point, Point]] = []
        for weight in self.rest.weights[:1]:
            spans += [((0.0, 0.0), weight.pivot_xy), (weight.pivot_xy, weight.cg_xy)]
        for spring in self.rest.springs:
            spans += [((0.0, 0.0), spring.post_xy), ((0.0, 0.0), spring.peg_xy)]
        made: list[Element] = []
        for start, end in spans:
            if start == (0.0, 0.0):
                made.append(Line(*self._at(start), *self._at(end), LEAST_LINE_MM, _DASH))
        for start, end in spans:
            made += self._number(start, end)
        return made

    def _number(self, start: Point, end: Point) -> list[Element]:
        """A dimension near its end, or further along where another stands; else none."""
        said: Content = short(math.dist(start, end), 1)
        wide, tall = self.ruler.width_mm(said, SMALL_PT) + 0.6, text_mm(SMALL_PT)
        left, top, across, down = self.room
        (x0, y0), (x1, y1) = self._at(start), self._at(end)
        long = math.hypot(x1 - x0, y1 - y0) or 1.0
        aside, up = -(y1 - y0) / long, (x1 - x0) / long
        for share in (1.0, 0.75, 0.6, 0.45):
            for off in (3.0, -3.0, 4.5, -4.5):
                x, y = x0 + share * (x1 - x0) + off * aside, y0 + share * (y1 - y0) + off * up
                box = (x - wide / 2, y - tall / 2, x + wide / 2, y + tall / 2)
                inside = (left < box[0] and box[2] < left + across
                          and top < box[1] and box[3] < top + down)  # fmt: skip
                free = all(box[2] < a or c < box[0] or box[3] < b or d < box[1]
                           for a, b, c, d in self.taken)  # fmt: skip
                if inside and free:
                    self.taken.append((box[0] - 0.9, box[1] - 0.3, box[2] + 0.9, box[3] + 0.3))
                    return [Text(x, y + 0.95, said, SMALL_PT, align="centre", backing=True)]
        return []
