"""The plan view as a form: every dimension a line with its figure, every fault where it is.

A dimension that is blank has its name, as its field has. The line of the field that has the
keyboard is lit; a line that is clicked opens its field.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from PySide6.QtCore import QCoreApplication, QLineF, QPointF, QRectF
from PySide6.QtGui import QPainter, QPainterPath, QPainterPathStroker, QPen, QTransform

from bobweight.app.board.plan_paint import PASSING, PEG_MM, PlanInks, centre_lines, obstacles, rim
from bobweight.app.board.plots import polygon
from bobweight.core.figure.place import Asking, Ground, Placed, place_words
from bobweight.core.figure.plan import PlanFrame, PosedPlan
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.dimensions import Dimension
from bobweight.core.mechanics.pose import Point
from bobweight.core.problems import Path

HIT_PX = 9.0
_SHARES, _FEW = (0.5, 0.68, 0.35, 0.82, 0.2, 0.92), 4
"""Where along its line a dimension may be named, the best first; the last only for want of room."""
_ARROW_PX, _ARROW_TURN = 6.0, 0.32
_ALIKE_DEG, _STEP_PX = 9.0, 9.0
MIRROR = "mirror"
"""What a click on a fault does, besides opening its field."""

MOST_WORDS, LEAST_ROOM = 60, 270.0
"""Of more dimensions, or in less room (in squares as high as a line), only the one whose field is
in hand is named: no picture holds the words."""


@frozen
class DrawingFault:
    """What is wrong with one part: words, a place in mm, the field and what a click does."""

    path: Path
    words: str
    at: tuple[float, float]
    act: str = ""


@frozen
class FormLines:
    """The dimensions and faults of the mechanism drawn, with the words for each; ``stop`` are the
    words and the tip of the stop, ``pin`` those of where it is on the plate, if that is known. A
    ``draft`` cannot be computed: its parts are not to be moved."""

    dimensions: tuple[Dimension, ...]
    words: tuple[str, ...]
    tips: tuple[str, ...]
    stop: tuple[str, str] = ("", "")
    pin: tuple[str, str] = ("", "")
    faults: tuple[DrawingFault, ...] = ()
    blank_weights: bool = False
    blank_springs: frozenset[int] = frozenset()
    draft: bool = False


@frozen
class HitArea:
    """What a click meets, in pixels: the path of a field, and what else is done."""

    path: Path
    shape: QPainterPath
    tip: str
    act: str = ""
    is_line: bool = False

    @cached_property
    def hit(self) -> QPainterPath:
        """Where a click meets it; made for the first one, since it is painted far more often."""
        if not self.is_line:
            return self.shape
        stroker = QPainterPathStroker()
        stroker.setWidth(HIT_PX)
        return stroker.createStroke(self.shape)


@dataclass(eq=False)
class FormPlaces:
    """Where the words stood when last painted, and what they were placed ``of``."""

    choices: dict[str, int] = field(default_factory=dict)
    places: dict[str, Placed] = field(default_factory=dict)
    of: tuple = ()


def sides(dimensions: Sequence[Dimension]) -> list[int]:
    """How many steps each length is drawn beside its points, so that lengths on one line stand
    side by side."""
    found: list[int] = []
    seen: list[tuple[complex, float]] = []
    for one in dimensions:
        start, way = complex(*one.start), complex(*one.end) - complex(*one.start)
        if one.is_angle or abs(way) < 1e-9:
            found.append(0)
            continue
        heading = math.degrees(math.atan2(way.imag, way.real))
        near = sum(
            abs(start - at) < 1e-6 and abs((heading - other + 180) % 360 - 180) < _ALIKE_DEG
            for at, other in seen
        )
        seen.append((start, heading))
        found.append((near + 1) // 2 * (1 if near % 2 else -1))
    return found


def line_of(dimension: Dimension, transform: QTransform, side: int = 0) -> QPainterPath:
    """A dimension's line or arc in pixels."""
    path = QPainterPath()
    start, end = (transform.map(QPointF(*p)) for p in (dimension.start, dimension.end))
    if not dimension.is_angle:
        if side:
            way = end - start
            size = math.hypot(way.x(), way.y()) or 1.0
            beside = QPointF(-way.y(), way.x()) * (side * _STEP_PX / size)
            start, end = start + beside, end + beside
        path.moveTo(start)
        path.lineTo(end)
        return path
    corner, leg = complex(*dimension.start), complex(*dimension.end) - complex(*dimension.start)
    unit = leg / (abs(leg) or 1.0)
    steps = np.linspace(0.0, math.radians(dimension.turn_deg or 0.0), 33)
    points = corner + dimension.radius_mm * unit * np.exp(1j * steps)
    path.addPolygon(transform.map(polygon(points.real, points.imag)))
    return path


def paint_form(
    painter: QPainter,
    lines: FormLines,
    frame: PlanFrame,
    posed: PosedPlan,
    transform: QTransform,
    room: QRectF,
    inks: PlanInks,
    kept: FormPlaces,
    lit: Path | None,
    taken: Sequence[tuple[float, float, float, float]],
) -> list[HitArea]:
    """Paint dimensions and faults over the drawing; returns what can be clicked, topmost first."""
    drawn = [
        line_of(dimension, transform, side)
        for dimension, side in zip(lines.dimensions, sides(lines.dimensions), strict=True)
    ]
    painter.setBrush(inks.no_fill)
    zero = zero_line(lines.dimensions, frame.plate_mm + 1.5)
    if zero is not None:
        painter.setPen(inks.zero)
        painter.drawLine(QLineF(*(transform.map(QPointF(*end)) for end in zero)))
    order = sorted(range(len(drawn)), key=lambda i: lines.dimensions[i].path == lit)
    for index in order:
        dimension = lines.dimensions[index]
        pen = _pen(inks, dimension, lit)
        if dimension.is_angle and dimension.path == lit:
            _legs(painter, dimension, transform, inks)
        painter.setPen(pen)
        painter.drawPath(drawn[index])
        _arrows(painter, drawn[index])
    targets = [
        HitArea(d.path, path, tip, is_line=True)
        for d, path, tip in zip(lines.dimensions, drawn, lines.tips, strict=True)
    ]
    words = _words(
        painter, lines, drawn, zero, frame, posed, transform, room, inks, kept, lit, taken
    )
    return words + targets


def zero_line(dimensions: Sequence[Dimension], reach_mm: float) -> tuple[Point, Point] | None:
    """The line about the shaft from which angles of springs are counted; None if none is."""
    for one in dimensions:
        if one.is_angle and one.path[0] == "springs" and not any(one.start):
            far = reach_mm / (np.hypot(*one.end) or 1.0)
            return one.start, (far * one.end[0], far * one.end[1])
    return None


def _pen(inks: PlanInks, dimension: Dimension, lit: Path | None) -> QPen:
    if dimension.path == lit:
        return inks.hot
    return inks.dimension if dimension.value is not None else inks.dimension_blank


def _arrows(painter: QPainter, path: QPainterPath) -> None:
    length = path.length()
    if length < 3.0 * _ARROW_PX:
        return
    for share, way in ((0.0, 1.0), (1.0, -1.0)):
        tip = path.pointAtPercent(share)
        near = path.pointAtPercent(min(max(share + way * _ARROW_PX / length, 0.0), 1.0))
        along = math.atan2(near.y() - tip.y(), near.x() - tip.x())
        for turn in (_ARROW_TURN, -_ARROW_TURN):
            end = QPointF(math.cos(along + turn), math.sin(along + turn)) * _ARROW_PX
            painter.drawLine(QLineF(tip, tip + end))


def _legs(painter: QPainter, dimension: Dimension, transform: QTransform, inks: PlanInks) -> None:
    """The two legs of an angle, the first being its zero line."""
    corner, leg = complex(*dimension.start), complex(*dimension.end) - complex(*dimension.start)
    reach = max(abs(leg), dimension.radius_mm + 3.0)
    unit = leg / (abs(leg) or 1.0)
    at = transform.map(QPointF(*dimension.start))
    for turn, pen in ((0.0, inks.chain), (math.radians(dimension.turn_deg or 0.0), inks.faint)):
        end = corner + reach * unit * np.exp(1j * turn)
        painter.setPen(pen)
        painter.drawLine(QLineF(at, transform.map(QPointF(float(end.real), float(end.imag)))))


def _along(paths: Sequence[QPainterPath]) -> np.ndarray:
    """Points along lines and arcs, parted by points that are no place."""
    found: list[tuple[float, float]] = [(math.nan, math.nan)]
    for path in paths:
        found += [(e.x, e.y) for e in map(path.elementAt, range(path.elementCount()))]
        found.append((math.nan, math.nan))
    return np.array(found)


def _words(
    painter: QPainter,
    lines: FormLines,
    drawn: list[QPainterPath],
    zero: tuple[Point, Point] | None,
    frame: PlanFrame,
    posed: PosedPlan,
    transform: QTransform,
    room: QRectF,
    inks: PlanInks,
    kept: FormPlaces,
    lit: Path | None,
    taken: Sequence[tuple[float, float, float, float]],
) -> list[HitArea]:
    painter.setFont(inks.font)
    unit = inks.line_px
    middle = transform.map(QPointF(0, 0))
    wanted, said = [], {}

    def add(key: str, words: str, spots: list[QPointF], target: HitArea, pen: QPen,
            must: bool = True) -> None:  # fmt: skip
        at = spots[0]
        toward = (at.x() - middle.x(), at.y() - middle.y())
        places = np.array([(p.x(), p.y()) for p in spots]) / unit
        wanted.append(Asking(key, size(words), places, toward, must))
        said[key] = words, pen, target

    def size(words: str) -> tuple[float, float]:
        _, width, height = inks.text(words)
        return width / unit, height / unit

    for fault in lines.faults:
        at = transform.map(QPointF(*fault.at))
        target = HitArea(fault.path, QPainterPath(), fault.words, fault.act)
        add(f"fault{fault.path}", fault.words, [at], target, inks.fault)
    if lines.stop[0]:
        turn = math.radians(frame.zero_deg + frame.stop_deg)
        at = QPointF(math.cos(turn), math.sin(turn)) * (frame.scale_mm + 2.6)
        add("stop", lines.stop[0], [transform.map(at)],
            HitArea(("stop_deg",), QPainterPath(), lines.stop[1]), inks.ink)  # fmt: skip
    if lines.pin[0]:
        target = HitArea(("plate", "stop_radius_mm"), QPainterPath(), lines.pin[1])
        at = transform.map(QPointF(*frame.stop.at))
        add("pin", lines.pin[0], [at], target, inks.ink, must=False)
    small = room.width() * room.height() < LEAST_ROOM * unit**2
    crowded = small or len(lines.dimensions) > MOST_WORDS
    for dimension, words, tip, path in zip(
        lines.dimensions, lines.words, lines.tips, drawn, strict=True
    ):
        if not words or (crowded and dimension.path != lit):
            continue
        target = HitArea(dimension.path, QPainterPath(), tip)
        pen = inks.accent if dimension.path == lit else inks.ink
        add(f"{dimension.path}", words, [path.pointAtPercent(s) for s in _SHARES], target, pen)
    if zero is not None and not small:
        tip = QCoreApplication.translate("Plan", "Angles of springs are counted from this line.")
        add("zero", QCoreApplication.translate("Plan", "zero line"),
            [transform.map(QPointF(*zero[1]))], HitArea(("springs",), QPainterPath(), tip),
            inks.faint)  # fmt: skip
    corners = np.array([(0, 0), (1, 0), (1, 1), (0, 1), (0, 0), (1, 1), (np.nan, np.nan)])
    edges = [corners * (w, h) + (x, y) for x, y, w, h in taken]
    held = (*posed.pivots, *(at for s in posed.springs for at in (s.post, s.peg)))
    pegs = [transform.map(QPointF(*at)) for at in held]
    peg = PEG_MM * abs(transform.m22())
    edges.append(rim(frame, transform))
    edges += [corners * 2.0 * peg + (at.x() - peg, at.y() - peg) for at in pegs]
    ground = _along(drawn), obstacles(frame, posed, transform), np.vstack(edges)
    of = (room.size().toTuple(), unit, *(each.tobytes() for each in ground),
          *((one.key, one.size, one.spots.tobytes()) for one in wanted))  # fmt: skip
    if of != kept.of:  # most edits move nothing of the drawing
        way, marks, shut = (each / unit for each in ground)
        made = Ground(room.width() / unit, room.height() / unit, way, marks, shut,
                      passing=PASSING, unseen=centre_lines(frame, transform) / unit)  # fmt: skip
        few = [replace(one, spots=one.spots[:_FEW]) for one in wanted]
        kept.of, kept.places = of, place_words(few, made, kept.choices)
        if len(kept.places) < len(wanted):
            kept.places = place_words(wanted, made, kept.choices)
    targets = []
    for key, spot in kept.places.items():
        words, pen, target = said[key]
        if spot.leader is not None:
            (x0, y0), (x1, y1) = spot.leader
            painter.setPen(inks.leader)
            painter.drawLine(QLineF(x0 * unit, y0 * unit, x1 * unit, y1 * unit))
        box = QRectF(spot.x * unit - 3, spot.y * unit, spot.width * unit + 6, spot.height * unit)
        painter.fillRect(box, inks.halo)
        painter.setPen(pen)
        painter.drawStaticText(QPointF(box.x() + 3, box.y()), inks.text(words)[0])
        hit = QPainterPath()
        hit.addRect(box.adjusted(-2, -2, 2, 2))
        targets.append(HitArea(target.path, hit, target.tip, target.act))
    return targets
