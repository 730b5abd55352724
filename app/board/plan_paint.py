"""How the plan view is painted: from outlines in mm to lines and words on the widget."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from functools import lru_cache

import numpy as np
from PySide6.QtCore import QCoreApplication, QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QPainter, QPainterPath, QPen, QTransform

from bobweight.app.board.inks import Inks
from bobweight.app.board.inks import pen as plain_pen
from bobweight.app.board.plots import draw_line, polygon
from bobweight.app.theme import Theme
from bobweight.core.docket.docket import Docket
from bobweight.core.figure.place import Asking, Ground, dense, place_words
from bobweight.core.figure.plan import PlanFrame, PosedPlan, scale_marks
from bobweight.core.figure.plan_contact import PIN_MM
from bobweight.core.figure.plan_shapes import LEAST_LOOP_MM, Points, turned
from bobweight.core.figure.ranges import scale_bar_mm
from bobweight.core.frozen import frozen
from bobweight.core.record import is_assumed

translate = QCoreApplication.translate
_LARGE = 64.0
_PALE = 0.32
PASSING = 0.2
"""How much it matters what the leader of words runs over, as for :class:`Ground`."""
_PIVOT_MM, _CENTRE_MM, _HOOK_MM = 1.9, 1.5, 2.2
PEG_MM = 1.4
"""Half the width of what a spring hooks on, with a little room."""


class PlanInks(Inks):
    """Pens and brushes of the plan view, for a screen of so many pixels a logical pixel.

    Its pens are cosmetic, since the drawing is painted in mm; a cosmetic pen counts the pixels of
    the screen.
    """

    def __init__(self, theme: Theme, font: QFont, ratio: float) -> None:
        super().__init__(theme, font)
        self.ratio, self.px_per_mm = ratio, 1.0

        def pen(colour: str, width: float, dash: tuple[float, ...] = ()) -> QPen:
            made = plain_pen(colour, width * ratio, dash)
            made.setCosmetic(True)
            return made

        self.ink, self.faint = pen(theme.ink, 1.0), pen(theme.faint, 1.0)
        self.leader = self.ink  # it crosses every part
        self.pointer = pen(theme.pointer, 1.0)
        self.plate = QBrush(QColor(theme.base_plate))
        self.weight = QBrush(QColor(theme.weight))
        self.foot = QBrush(QColor(theme.foot))
        self.cam = QBrush(QColor(theme.cam))
        self.edge = pen(theme.ink, 1.2)
        self.edge.setJoinStyle(Qt.PenJoinStyle.MiterJoin)  # round ones cost half the drawing
        self.fine = pen(theme.ink, 0.8)
        self.chain = pen(theme.faint, 0.8, (12.0, 3.0, 2.0, 3.0))
        self.zero = pen(theme.ink, 1.1, (12.0, 3.0, 2.0, 3.0))
        self.rest = pen(theme.faint, 0.9, (2.0, 3.0))
        self.solid = QBrush(QColor(theme.ink))
        self.hot = pen(theme.accent, 2.6)
        self.accent = pen(theme.accent, 2.0)
        self.dimension = pen(theme.ink, 0.8)
        self.dimension_blank = pen(theme.faint, 0.9, (4.0, 3.0))
        self.fault = pen(theme.wrong, 1.6)
        self.stop = QBrush(QColor(theme.stop))
        self.rubber = QBrush(QColor(theme.faint))
        self.springs = {
            role: (pen(theme.spring(role), 2.6 if role == "secondary" else 1.7),
                   pen(theme.spring(role), 1.3))
            for role in ("primary", "secondary", "further")
        }  # fmt: skip
        self.under = pen(theme.paper, 4.4)


def paint_plan(
    painter: QPainter,
    docket: Docket,
    frame: PlanFrame,
    posed: PosedPlan,
    paths: PlanPaths,
    transform: QTransform,
    room: QRectF,
    inks: PlanInks,
    said: Sequence[str],
    kept: dict[str, int],
    marked: Sequence,
    blank_weights: bool = False,
    blank_springs: Collection[int] = (),
) -> list[tuple[float, float, float, float]]:
    """Paint everything on the base plate, then the words (none without ``said``). Parts that
    nobody has measured are pale. Returns the rooms that corner words take."""
    paint_parts(painter, docket, frame, posed, paths, transform, inks, blank_weights, blank_springs)
    if marked:
        painter.setTransform(transform)
        painter.setPen(inks.hot)
        painter.setBrush(inks.no_fill)
        for part in marked:
            painter.drawPath(part.hit)
    painter.resetTransform()
    painter.setFont(inks.font)
    taken = [_scale_bar(painter, transform, room, inks), _rotation(painter, docket, inks)]
    if said:
        _words(painter, docket, frame, posed, transform, room, inks, said, kept, taken)
    return taken


def paint_parts(
    painter: QPainter,
    docket: Docket,
    frame: PlanFrame,
    posed: PosedPlan,
    paths: PlanPaths,
    transform: QTransform,
    inks: PlanInks,
    blank_weights: bool = False,
    blank_springs: Collection[int] = (),
) -> None:
    """Paint the parts on the base plate; pale where nobody has measured them."""
    inks.px_per_mm = abs(transform.m22()) or 1.0
    painter.setTransform(transform)
    _scale(painter, frame, posed, inks)
    if docket.mechanism.plate.stop_is_placed:
        _stop_pin(painter, frame, inks)
    painter.setPen(inks.fine)
    painter.setBrush(inks.plate)
    for index, spring in enumerate(posed.springs):
        painter.setOpacity(_PALE if index in blank_springs else 1.0)
        painter.drawPolygon(_polygon(spring.tang))
    painter.setOpacity(_PALE if blank_weights else 1.0)
    _weights(painter, frame, posed, paths, inks)
    _foot(painter, frame, posed, paths.foot, inks)
    for index, spring in enumerate(posed.springs):
        painter.setOpacity(_PALE if index in blank_springs else 1.0)
        given = docket.mechanism.springs[index]
        _spring(painter, spring, given.role, given.slack_taken_mm, inks)
    painter.setOpacity(_PALE if blank_weights else 1.0)
    _cam(painter, frame, posed, inks)
    painter.setOpacity(1.0)
    painter.resetTransform()


def _polygon(points: Points):
    return polygon(points[:, 0], points[:, 1])


def paint_plate(painter: QPainter, plate_mm: float, transform: QTransform, inks: PlanInks) -> None:
    """Paint the base plate, on which all the rest lies, and its centre lines."""
    painter.setTransform(transform)
    painter.setPen(inks.edge)
    painter.setBrush(inks.plate)
    painter.drawEllipse(QPointF(0, 0), plate_mm, plate_mm)
    painter.setPen(inks.chain)
    reach = plate_mm + 1.5
    painter.drawLines([QLineF(-reach, 0, reach, 0), QLineF(0, -reach, 0, reach)])
    painter.resetTransform()


def _scale(painter: QPainter, frame: PlanFrame, posed: PosedPlan, inks: PlanInks) -> None:
    """Degrees of advance on an arc outside the plate, the stop on it, and the cam's pointer."""
    radius = frame.scale_mm
    box = QRectF(-radius, -radius, 2 * radius, 2 * radius)
    painter.setPen(inks.edge)
    painter.setBrush(inks.no_fill)
    painter.drawArc(box, round(-frame.zero_deg * 16), round(-frame.end_deg * 16))
    lines = []
    for degrees, rank in scale_marks(frame):
        if degrees <= frame.end_deg + 1e-9:
            lines.append(_radial(frame.zero_deg + degrees, radius, radius + 1.0 + 0.9 * rank))
    painter.setPen(inks.fine)
    painter.drawLines(lines)
    _stop_block(painter, frame, inks)
    painter.setPen(inks.accent)
    painter.drawLine(_radial(frame.zero_deg + posed.cam_deg, frame.hub_mm, radius + 2.4))


def _stop_block(painter: QPainter, frame: PlanFrame, inks: PlanInks) -> None:
    painter.save()
    painter.rotate(frame.zero_deg + frame.stop_deg)
    painter.setPen(inks.fine)
    painter.setBrush(inks.stop)
    painter.drawRect(QRectF(frame.scale_mm - 1.6, 0.0, 4.4, 1.5))
    painter.restore()


def _stop_pin(painter: QPainter, frame: PlanFrame, inks: PlanInks) -> None:
    """The stop on the plate, with its rubber."""
    at = QPointF(*frame.stop.at)
    painter.setPen(inks.fine)
    if frame.stop.rubber_mm > 0.0:
        painter.setBrush(inks.rubber)
        painter.drawEllipse(at, PIN_MM + frame.stop.rubber_mm, PIN_MM + frame.stop.rubber_mm)
    painter.setBrush(inks.stop)
    painter.drawEllipse(at, PIN_MM, PIN_MM)


def _radial(angle_deg: float, start: float, end: float) -> QLineF:
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return QLineF(start * c, start * s, end * c, end * s)


def _about(pivot: Points, turn_deg: float) -> QTransform:
    """Turns about a pivot, counter-clockwise with y up."""
    x, y = float(pivot[0]), float(pivot[1])
    return QTransform().translate(x, y).rotate(turn_deg).translate(-x, -y)


def _weights(
    painter: QPainter, frame: PlanFrame, posed: PosedPlan, paths: PlanPaths, inks: PlanInks
) -> None:
    painter.setPen(inks.rest)
    painter.setBrush(inks.no_fill)
    if posed.cam_deg > 0.02 * frame.stop_deg:
        for shape in frame.weights:
            painter.drawPolygon(_polygon(shape))
    painter.setPen(inks.edge)
    painter.setBrush(inks.weight)
    for path, pivot, turn in zip(paths.weights, posed.pivots, posed.turns_deg, strict=True):
        painter.drawPath(_about(pivot, turn).map(path))
    painter.setBrush(inks.no_fill)
    for flank, traced, pivot, turn in zip(
        frame.flanks, frame.traced, posed.pivots, posed.turns_deg, strict=True
    ):
        if flank is not None and traced:
            painter.drawPolyline(_about(pivot, turn).map(_polygon(flank.flank)))
    for pivot, centre in zip(posed.pivots, posed.centres, strict=True):
        painter.setPen(inks.edge)
        painter.setBrush(inks.handle)
        painter.drawEllipse(QPointF(*pivot), _PIVOT_MM, _PIVOT_MM)
        painter.setBrush(inks.solid)
        painter.drawEllipse(QPointF(*pivot), 0.5, 0.5)
        _centre_of_gravity(painter, centre, inks)


def _centre_of_gravity(painter: QPainter, centre: Points, inks: PlanInks) -> None:
    """The drawing-office sign: a ring with two opposite quarters filled."""
    at, r = QPointF(*centre), _CENTRE_MM
    box = QRectF(at.x() - r, at.y() - r, 2 * r, 2 * r)
    painter.setPen(inks.fine)
    painter.setBrush(inks.handle)
    painter.drawEllipse(at, r, r)
    painter.setBrush(inks.solid)
    painter.drawPie(box, 0, 90 * 16)
    painter.drawPie(box, 180 * 16, 90 * 16)


@frozen(eq=False)
class PlanPaths:
    """Outlines at rest that are joined of several; ``weights`` with what carries their flanks."""

    foot: QPainterPath
    weights: tuple[QPainterPath, ...]


def of_paths(frame: PlanFrame) -> tuple[object, ...]:
    """What the joined outlines of a drawing are made of."""
    return frame.hub_mm, frame.feet, frame.weights, frame.flanks, frame.traced


def plan_paths(frame: PlanFrame) -> PlanPaths:
    """The joined outlines of a drawing. Made once, since joining takes long."""
    hub = QPainterPath()
    hub.addEllipse(QPointF(0, 0), frame.hub_mm * _LARGE, frame.hub_mm * _LARGE)
    weights = []
    for shape, flank, traced in zip(frame.weights, frame.flanks, frame.traced, strict=True):
        lugs = [] if flank is None or traced else [flank.lug]
        weights.append(_joined(_large(shape), lugs))
    return PlanPaths(_joined(hub, frame.feet), tuple(weights))


def _joined(path: QPainterPath, shapes: Sequence[Points]) -> QPainterPath:
    for shape in shapes:
        path = path.united(_large(shape))
    return QTransform.fromScale(1 / _LARGE, 1 / _LARGE).map(path)


def _large(shape: Points) -> QPainterPath:
    """An outline for joining: large, since Qt joins straight pieces of about a unit."""
    path = QPainterPath()
    path.addPolygon(_polygon(shape * _LARGE))
    path.closeSubpath()
    return path


def _foot(
    painter: QPainter, frame: PlanFrame, posed: PosedPlan, foot: QPainterPath, inks: PlanInks
) -> None:
    painter.save()
    painter.rotate(posed.cam_deg)
    painter.setPen(inks.edge)
    painter.setBrush(inks.foot)
    painter.drawPath(foot)
    painter.setBrush(inks.handle)
    for slot in frame.slots:
        painter.drawPolygon(_polygon(slot))
    painter.restore()
    painter.setPen(inks.edge)
    painter.setBrush(inks.plate)
    for link in posed.links:
        painter.drawPolygon(_polygon(link))
    painter.setPen(inks.fine)
    painter.setBrush(inks.solid)
    for pin in posed.pins:
        painter.drawEllipse(QPointF(*pin), 1.1, 1.1)


def _spring(painter: QPainter, spring, role: str, slack_mm: float, inks: PlanInks) -> None:
    coils, loop = inks.springs.get(role, inks.springs["further"])
    painter.setPen(inks.fine)
    painter.setBrush(inks.solid)
    painter.drawEllipse(QPointF(*spring.post), 1.2, 1.2)
    painter.setBrush(inks.handle)
    painter.drawEllipse(QPointF(*spring.peg), 1.0, 1.0)
    # In pixels: Qt rounds the bends of a thick line in mm far finer than can be seen.
    to_px, per_mm = painter.transform(), inks.px_per_mm
    x, y = (spring.coils * (to_px.m11(), to_px.m22()) + (to_px.dx(), to_px.dy())).T
    painter.setBrush(inks.no_fill)
    painter.save()
    painter.resetTransform()
    wire = max(spring.wire_mm, 1.4 * inks.ratio / inks.px_per_mm)
    inside = QColor(coils.color()).lighter(165)
    bevel, round_ = Qt.PenJoinStyle.BevelJoin, Qt.PenJoinStyle.RoundJoin
    for colour, width, join in (
        (inks.under.color(), wire + 0.45, bevel),
        (coils.color(), wire, round_),  # costs twice as much, and of this alone it is seen
        (inside, 0.45 * wire, bevel),
    ):
        thick = QPen(colour, width * per_mm)
        thick.setCapStyle(Qt.PenCapStyle.RoundCap)
        thick.setJoinStyle(join)
        painter.setPen(thick)
        draw_line(painter, x, y)
    painter.restore()
    if slack_mm > LEAST_LOOP_MM:
        painter.setPen(loop)
        painter.drawPolygon(_polygon(spring.loop))


def _cam(painter: QPainter, frame: PlanFrame, posed: PosedPlan, inks: PlanInks) -> None:
    painter.setPen(inks.edge)
    painter.setBrush(inks.cam)
    painter.drawPolygon(_polygon(turned(frame.cam, posed.cam_deg)))
    hole = frame.hub_mm * 0.34
    painter.setBrush(inks.handle)
    painter.drawEllipse(QPointF(0, 0), hole, hole)
    painter.setPen(inks.fine)
    painter.drawLines([QLineF(-hole, 0, hole, 0), QLineF(0, -hole, 0, hole)])


# Words


def _words(
    painter: QPainter,
    docket: Docket,
    frame: PlanFrame,
    posed: PosedPlan,
    transform: QTransform,
    room: QRectF,
    inks: PlanInks,
    said: Sequence[str],
    kept: dict[str, int],
    taken: Sequence[tuple[float, float, float, float]],
) -> None:
    unit = inks.line_px
    labels, said_at = _labels(docket, frame, posed, transform, inks, said)
    corners = np.array([(0, 0), (1, 0), (1, 1), (0, 1), (0, 0), (1, 1), (np.nan, np.nan)])
    rooms = [corners * (w, h) + (x, y) for x, y, w, h in taken]
    edges = np.vstack([*rooms, rim(frame, transform)]) / unit
    field = Ground(room.width() / unit, room.height() / unit, np.zeros((0, 2)),
                  obstacles(frame, posed, transform) / unit, edges, passing=PASSING)  # fmt: skip
    for key, spot in place_words(labels, field, kept).items():
        words, colour = said_at[key]
        if spot.leader is not None:
            (x0, y0), (x1, y1) = spot.leader
            painter.setPen(inks.leader)
            painter.drawLine(QLineF(x0 * unit, y0 * unit, x1 * unit, y1 * unit))
        x, y = spot.x * unit, spot.y * unit
        painter.fillRect(QRectF(x - 2, y, spot.width * unit + 4, spot.height * unit), inks.halo)
        painter.setPen(colour)
        painter.drawStaticText(QPointF(x, y), inks.text(words)[0])


def _labels(docket, frame, posed, transform, inks, said):
    """Where the words stand for the stop, the present advance and each spring."""
    middle = transform.map(QPointF(0, 0))
    labels, said_at = [], {}

    def add(key: str, words: str, at: QPointF, colour) -> None:
        _, width, height = inks.text(words)
        toward = (at.x() - middle.x(), at.y() - middle.y())
        size = width / inks.line_px, height / inks.line_px
        spot = np.array([(at.x(), at.y())]) / inks.line_px
        labels.append(Asking(key, size, spot, toward))
        said_at[key] = words, colour

    stop_at = _radial(frame.zero_deg + frame.stop_deg, 0, frame.scale_mm + 2.6).p2()
    stop, advance, *springs = said
    add("stop", stop, transform.map(stop_at), inks.ink)
    now = _radial(frame.zero_deg + posed.cam_deg, 0, frame.scale_mm + 2.6).p2()
    add("now", advance, transform.map(now), inks.pointer)
    for index, spring in enumerate(posed.springs):
        role = docket.mechanism.springs[index].role
        spot = spring.post * 0.65 + spring.peg * 0.35
        add(f"spring{index}", springs[index], transform.map(QPointF(*spot)), inks.springs[role][0])
    return labels, said_at


def obstacles(frame: PlanFrame, posed: PosedPlan, transform: QTransform) -> np.ndarray:
    """Pixels that words should not cover: springs, rims of weights and plate, scale and pointer,
    and above all whatever a dimension runs to: shaft, pivots, posts, pegs, pins, centres, stop."""
    points = [shape[::2] for shape in posed.weights]
    points += [dense(s.coils, 1.0) for s in posed.springs]  # a point every millimetre
    points += [_disc(p, _PIVOT_MM) for p in posed.pivots]
    points += [_disc(p, _CENTRE_MM) for p in posed.centres]
    points += [_disc(p, _HOOK_MM) for s in posed.springs for p in (s.post, s.peg)]
    points += [_disc(p, PIN_MM) for p in (*posed.pins, np.array(frame.stop.at))]
    points.append(_disc(np.zeros(2), frame.hub_mm * 0.5))
    degrees = np.radians(np.arange(0.0, 360.0, 10.0))
    points.append(frame.plate_mm * np.column_stack([np.cos(degrees), np.sin(degrees)]))
    degrees = np.radians(frame.zero_deg + np.linspace(0, frame.stop_deg, 8))
    points.append((frame.scale_mm + 1) * np.column_stack([np.cos(degrees), np.sin(degrees)]))
    block = np.stack(np.meshgrid(np.arange(-1.6, 3.0, 0.5), (0.0, 0.75, 1.5)), -1).reshape(-1, 2)
    points.append(turned(block + np.array((frame.scale_mm, 0.0)), frame.zero_deg + frame.stop_deg))
    now = math.radians(frame.zero_deg + posed.cam_deg)
    points.append(
        np.outer(np.arange(frame.hub_mm, frame.scale_mm + 2.4), (math.cos(now), math.sin(now)))
    )
    points.append(frame.cam[::6])
    all_mm = np.vstack(points)
    return np.column_stack(
        [
            all_mm[:, 0] * transform.m11() + transform.dx(),
            all_mm[:, 1] * transform.m22() + transform.dy(),
        ]
    )


def rim(frame: PlanFrame, transform: QTransform) -> np.ndarray:
    """The edge of the base plate in pixels, across which no words stand."""
    turn = np.radians(np.arange(0.0, 361.0, 2.5))
    middle, radius = transform.map(QPointF(0, 0)), frame.plate_mm * abs(transform.m22())
    at = np.column_stack([np.cos(turn), np.sin(turn)]) * radius + (middle.x(), middle.y())
    return np.vstack([at, (math.nan, math.nan)])


def centre_lines(frame: PlanFrame, transform: QTransform) -> np.ndarray:
    """The centre lines of the base plate in pixels, parted by a point that is no place."""
    reach, gap = frame.plate_mm + 1.5, QPointF(math.nan, math.nan)
    ends = QPointF(-reach, 0), QPointF(reach, 0), gap, QPointF(0, -reach), QPointF(0, reach)
    return np.array([(p.x(), p.y()) for p in map(transform.map, ends)])


def _disc(middle: Points, radius_mm: float) -> Points:
    """Points all over a disc."""
    return middle + _about_nought(radius_mm)


@lru_cache(maxsize=16)
def _about_nought(radius_mm: float) -> Points:
    steps = np.arange(-radius_mm, radius_mm + 0.3, 0.6)
    grid = np.stack(np.meshgrid(steps, steps), -1).reshape(-1, 2)
    return grid[np.hypot(*grid.T) <= radius_mm]


def _scale_bar(painter: QPainter, transform: QTransform, room: QRectF, inks: PlanInks):
    """A bar of a round length with its mm; returns the room it takes."""
    per_mm = transform.m22() * -1.0
    long_mm = scale_bar_mm(min(room.width(), room.height()) / per_mm)
    long_px = long_mm * per_mm
    x, y = 10.0, room.height() - 10.0
    painter.setPen(inks.edge)
    painter.drawLines(
        [QLineF(x, y, x + long_px, y), QLineF(x, y - 4, x, y + 4),
         QLineF(x + long_px, y - 4, x + long_px, y + 4)]
    )  # fmt: skip
    text, width, height = inks.text(f"{long_mm:g} mm")
    painter.drawStaticText(QPointF(x + (long_px - width) / 2, y - height - 2), text)
    return x, y - height - 2, max(long_px, width), height + 8


def rotation_words(docket: Docket) -> str:
    """Which way the shaft turns, or that it is drawn as assumed."""
    if is_assumed(docket.particulars, "rotation"):
        return translate("Plan", "drawn turning clockwise: assumed")
    if docket.particulars.turns_clockwise:
        return translate("Plan", "turns clockwise")
    return translate("Plan", "turns anticlockwise")


def _rotation(painter: QPainter, docket: Docket, inks: PlanInks):
    """An arrow and a word for the way the shaft turns, in the corner; returns its room."""
    clockwise = docket.particulars.turns_clockwise
    text, width, height = inks.text(rotation_words(docket))
    painter.setPen(inks.edge)
    painter.setBrush(inks.no_fill)
    box = QRectF(10, 7, 14, 14)
    painter.drawArc(box, 220 * 16, -260 * 16 if clockwise else 260 * 16)
    start = 220 - 260 if clockwise else 220 + 260
    angle = math.radians(start)
    tip = QPointF(17 + 7 * math.cos(angle), 14 - 7 * math.sin(angle))
    along = angle - math.pi / 2 if clockwise else angle + math.pi / 2
    for turn in (2.6, -2.6):
        end = QPointF(math.cos(along + turn) * 5, -math.sin(along + turn) * 5)
        painter.drawLine(QLineF(tip, tip + end))
    painter.drawStaticText(QPointF(32, 14 - height / 2), text)
    return 0.0, 0.0, 34 + width, 26.0
