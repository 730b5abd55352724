"""The plan view: the mechanism from above, to scale, posed at the present speed.

Painted with QPainter on a plain widget. Parts are picked with the mouse or with the arrow keys
and Enter; a tang or the stop is dragged, or nudged with the up and down keys.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPainterPath, QPainterPathStroker, QPixmap, QTransform
from PySide6.QtWidgets import QWidget

from bobweight.app.board.drags import TANG_STEP_MM
from bobweight.app.board.plan_paint import (
    PlanInks,
    PlanPaths,
    of_paths,
    paint_plan,
    paint_plate,
    plan_paths,
)
from bobweight.app.board.plots import polygon
from bobweight.app.board.wording import PartWords
from bobweight.app.guard import guarded
from bobweight.app.theme import theme_for
from bobweight.app.widgets.plain import show_tip
from bobweight.app.words import translate
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.figure.description import alike
from bobweight.core.figure.plan import (
    PlanFrame,
    PosedPlan,
    framed,
    plan_frame,
    posed_plan,
    tang_way,
)
from bobweight.core.figure.plan_shapes import Points
from bobweight.core.figure.ranges import snapped
from bobweight.core.frozen import frozen
from bobweight.core.problems import Path, required

if TYPE_CHECKING:  # read by the page of the mechanism
    from bobweight.app.board.plan_form import FormLines, FormPlaces, HitArea

STOP_STEP_DEG = 0.1
_ARROWS = (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down)


@frozen
class Part:
    """Something that can be picked: where its numbers are, its words, its place in mm."""

    path: Path
    words: str
    hit: QPainterPath
    drag: str = ""
    index: int = -1

    @property
    def key(self) -> tuple[Path, int]:
        """Tells parts apart: all weights share one path."""
        return self.path, self.index


class PlanView(QWidget):
    """The mechanism drawn to scale.

    Signals
    -------
    picked(path)
        A part was clicked, or Enter was pressed on it.
    bent(spring, tang_mm, gesture)
        A tang was dragged; one gesture for the whole drag.
    stop_moved(deg, gesture)
        The stop was dragged.
    mirror_asked(spring)
        A spring that pulls the cam forward was clicked, to be mirrored.
    drag_ended()
    drag_given_up()
        Escape was pressed during a drag.
    """

    picked = Signal(object)
    mirror_asked = Signal(int)
    bent = Signal(int, float, object)
    stop_moved = Signal(float, object)
    drag_ended = Signal()
    drag_given_up = Signal()

    def __init__(self, words: PartWords) -> None:
        super().__init__()
        self.setAccessibleName(translate("Board", "Plan view of the mechanism"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self._words = words
        self._docket: Docket | None = None
        self._frame: PlanFrame | None = None
        self._posed: PosedPlan | None = None
        self._paths: PlanPaths | None = None
        self._plate: tuple[object, QPixmap] = None, QPixmap()
        self._framed_for: tuple[Mechanism, int] | None = None
        self._posed_for: Mechanism | None = None
        self._empty_words = ""
        self._fit = 0.0  # mm reach shown; stands still while dragging
        self._parts: list[Part] | None = None
        self._current: tuple[Path, int] | None = None
        self._hover: tuple[Path, int] | None = None
        self._drag: tuple[Part, Points, float] | None = None
        self._press = QPointF()
        self._gesture: object | None = None
        self._kept: dict[str, int] = {}
        self._said: tuple[str, ...] = ()
        self._lines: FormLines | None = None
        self._targets: list[HitArea] = []
        self._lit: Path | None = None
        self._kept_form: FormPlaces | None = None
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self._read_theme()

    def _read_theme(self) -> None:
        self.inks = PlanInks(theme_for(self.palette()), self.font(), self.devicePixelRatioF())
        self._plate = None, QPixmap()

    @guarded
    def sizeHint(self) -> QSize:
        return QSize(340, 300)

    @guarded
    def minimumSizeHint(self) -> QSize:
        return QSize(220, 190)

    # What is shown

    @property
    def docket(self) -> Docket:
        """Whose mechanism is drawn, where one is."""
        return required(self._docket)

    @property
    def frame(self) -> PlanFrame:
        """What does not turn of the drawing, where there is one."""
        return required(self._frame)

    @property
    def posed(self) -> PosedPlan:
        """What turns of it."""
        return required(self._posed)

    def show_pose(self, docket: Docket, advance_deg: float) -> None:
        """Draw a docket's mechanism (it must be free of grave problems) at an advance; nothing is
        painted where the drawing and its words are the same."""
        frame, posed, *words = self._frame, self._posed, self._said, self._way_round()
        mechanism, shown = docket.mechanism, self._posed_for
        if shown is None or (mechanism is not shown and mechanism != shown):
            self._posed = None
        key = (framed(mechanism), docket.particulars.lobes_taken)
        if self._frame is None or key != self._framed_for:
            before, self._frame, self._framed_for = self._frame, plan_frame(docket), key
            if before is None or not alike(of_paths(before), of_paths(self._frame)):
                self._paths = plan_paths(self._frame)
            self._posed = None
        if self._posed is None or self._posed.cam_deg != advance_deg:
            self._posed = posed_plan(mechanism, self.frame, advance_deg)
            self._posed_for = mechanism
        self._docket, self._empty_words = docket, ""
        self._said = self._words.labels(docket, self._posed)
        self._parts = None
        fit = self._fit
        if self._gesture is None:
            self._fit = self.frame.reach_mm
        same = frame is self._frame and posed is self._posed and fit == self._fit
        if not same or words != [self._said, self._way_round()]:
            self.update()

    def _way_round(self) -> str | None:
        return "" if self._docket is None else self._docket.particulars.rotation

    def show_form(self, lines: FormLines | None) -> None:
        """Show dimensions and faults over the drawing; None takes them off."""
        if lines != self._lines:
            self._lines, self._targets, self._parts = lines, [], None
            self.update()

    def light(self, path: Path | None) -> None:
        """Light the line of a figure (by its path inside the mechanism), or none."""
        if path != self._lit:
            self._lit = path
            self.update()

    def show_nothing(self, words: str) -> None:
        """Words in place of a mechanism that cannot be drawn."""
        self._frame = self._posed = self._framed_for = self._posed_for = self._docket = None
        self._parts, self._empty_words, self._lines = [], words, None
        self.update()

    @property
    def parts(self) -> list[Part]:
        """What can be picked now, the topmost first."""
        if self._parts is None:
            self._parts = self._make_parts()
        return self._parts

    def transform(self) -> QTransform:
        """From mm of the base plate to pixels; mirrored for a unit that turns clockwise."""
        mirrored = self.docket.particulars.turns_clockwise
        return plan_transform(QRectF(self.rect()), self._fit, mirrored)

    def px_per_mm(self) -> float:
        """The scale of the drawing."""
        return -self.transform().m22()

    # Painting

    @guarded
    def paintEvent(self, _event) -> None:
        if self.inks.ratio != self.devicePixelRatioF():  # moved to another screen
            self._read_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._frame is None or self._posed is None or self._paths is None:
            painter.fillRect(self.rect(), self.inks.paper)
            self._paint_words(painter)
        else:
            marks = {self._current if self.hasFocus() else None, self._hover} - {None}
            marked = [part for part in self.parts if part.key in marks] if marks else ()
            lines = self._lines
            room, transform = QRectF(self.rect()), self.transform()
            painter.drawPixmap(0, 0, self._bare_plate(self._frame.plate_mm, transform))
            taken = paint_plan(
                painter, self.docket, self._frame, self._posed, required(self._paths), transform,
                room, self.inks, self._said if lines is None else (), self._kept, marked,
                lines is not None and lines.blank_weights,
                frozenset() if lines is None else lines.blank_springs,
            )  # fmt: skip
            if lines is not None:
                from bobweight.app.board.plan_form import FormPlaces, paint_form

                self._kept_form = self._kept_form or FormPlaces()
                self._targets = paint_form(
                    painter, lines, self._frame, self._posed, transform, room, self.inks,
                    self._kept_form, self._lit, taken,
                )  # fmt: skip
        painter.end()

    def _bare_plate(self, plate_mm: float, transform: QTransform) -> QPixmap:
        """Paper and base plate, under all that moves; painted for their size, and other inks."""
        key = self.size(), plate_mm, transform
        if self._plate[0] != key:
            picture = QPixmap(self.size() * self.inks.ratio)
            picture.setDevicePixelRatio(self.inks.ratio)
            picture.fill(self.inks.paper)
            painter = QPainter(picture)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            paint_plate(painter, plate_mm, transform, self.inks)
            painter.end()
            self._plate = key, picture
        return self._plate[1]

    def _paint_words(self, painter: QPainter) -> None:
        painter.setFont(self.inks.font)
        painter.setPen(self.inks.faint)
        room = self.rect().adjusted(24, 24, -24, -24)
        flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        painter.drawText(room, flags, self._empty_words)

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        kinds = (QEvent.Type.PaletteChange, QEvent.Type.ApplicationPaletteChange,
                 QEvent.Type.FontChange)  # fmt: skip
        if event.type() in kinds and hasattr(self, "inks"):
            self._read_theme()
            self.update()

    @guarded
    def focusInEvent(self, event) -> None:
        super().focusInEvent(event)
        if (
            self._current is None
            and self.parts
            and event.reason() != Qt.FocusReason.MouseFocusReason
        ):
            self._select(self.parts[0])
        self.update()

    @guarded
    def focusOutEvent(self, event) -> None:
        super().focusOutEvent(event)
        self.update()

    # Parts

    def _make_parts(self) -> list[Part]:
        if self._posed is None or (self._lines is not None and self._lines.draft):
            return []
        parts = []
        for kind, index, path, words in self._words.describe(self.docket, self._posed):
            drag = kind if kind in ("tang", "stop") else ""
            parts.append(Part(path, words, self._hit(kind, index), drag, index))
        return parts

    def _hit(self, kind: str, index: int) -> QPainterPath:
        frame, posed = self.frame, self.posed
        if kind == "tang":
            path = closed(posed.springs[index].tang)
            path.addEllipse(QPointF(*posed.springs[index].post), 2.4, 2.4)
            path.setFillRule(Qt.FillRule.WindingFill)
            return path
        if kind == "spring":
            spring = posed.springs[index]
            return corridor(spring.coils[0], spring.coils[-1], 5.0)
        if kind == "weight":
            return closed(posed.weights[index])
        if kind == "stop":
            at = math.radians(frame.zero_deg + frame.stop_deg)
            path = QPainterPath()
            middle = QPointF(frame.scale_mm * math.cos(at), frame.scale_mm * math.sin(at))
            path.addEllipse(middle, 3.4, 3.4)
            return path
        if kind == "cam":
            return closed(frame.cam)
        path = QPainterPath()
        path.setFillRule(Qt.FillRule.WindingFill)
        for foot in frame.feet:
            path.addPath(closed(foot))
        return QTransform().rotate(posed.cam_deg).map(path)

    def part_at(self, point: QPointF) -> Part | None:
        """The topmost part under a point of the widget."""
        if self._frame is None:
            return None
        back, _ = self.transform().inverted()
        at = back.map(point)
        return next((part for part in self.parts if part.hit.contains(at)), None)

    def _target_at(self, point: QPointF) -> HitArea | None:
        """The dimension or fault under a point of the widget."""
        if self._lines is None:
            return None
        return next((target for target in self._targets if target.hit.contains(point)), None)

    def _follow_target(self, target: HitArea) -> None:
        from bobweight.app.board.plan_form import MIRROR

        if target.act == MIRROR:
            self.mirror_asked.emit(int(target.path[1]))
        else:
            self.light(target.path)
            self.picked.emit(("mechanism", *target.path))

    def _select(self, part: Part) -> None:
        self._current = part.key
        self.setAccessibleDescription(part.words)
        self.update()

    # Mouse and keys

    @guarded
    def mousePressEvent(self, event) -> None:
        if event.button() != Qt.MouseButton.LeftButton:
            return
        self._press, self._drag, self._gesture = event.position(), None, None
        target = self._target_at(event.position())
        if target is not None:
            self._follow_target(target)
            return
        part = self.part_at(event.position())
        if part is None:
            return
        self._select(part)
        way, start = np.zeros(2), 0.0
        if part.drag == "tang":
            way = tang_way(self.docket.mechanism, part.index, self.posed.cam_deg)
            start = self.docket.mechanism.springs[part.index].tang_mm
        elif part.drag == "stop":
            start = self.frame.stop_deg
        self._drag = (part, way, start)

    @guarded
    def mouseMoveEvent(self, event) -> None:
        if self._drag is None or not event.buttons() & Qt.MouseButton.LeftButton:
            self._hovering(event.position(), event.globalPosition().toPoint())
            return
        part, way, start = self._drag
        moved = event.position() - self._press
        if not part.drag or (self._gesture is None and moved.manhattanLength() < 4):
            return
        if self._gesture is None:
            self._gesture = object()
        back, _ = self.transform().inverted()
        here, was = back.map(event.position()), back.map(self._press)
        if part.drag == "tang":
            step = np.array([here.x() - was.x(), here.y() - was.y()])
            along = float(step @ way) / max(float(way @ way), 1e-9)
            self.bent.emit(part.index, snapped(start + along, TANG_STEP_MM), self._gesture)
        else:
            turn = math.degrees(math.atan2(here.y(), here.x()) - math.atan2(was.y(), was.x()))
            turn = (turn + 180) % 360 - 180
            self.stop_moved.emit(snapped(start + turn, STOP_STEP_DEG), self._gesture)

    @guarded
    def mouseReleaseEvent(self, event) -> None:
        if event.button() != Qt.MouseButton.LeftButton or self._drag is None:
            return
        part, gesture = self._drag[0], self._gesture
        self._drag = self._gesture = None
        if gesture is None:
            self.picked.emit(part.path)
        else:
            self.drag_ended.emit()

    @guarded
    def leaveEvent(self, event) -> None:
        super().leaveEvent(event)
        self._hover = None
        self.update()

    def _hovering(self, point: QPointF, on_screen) -> None:
        target = self._target_at(point)
        if target is not None:
            self.setCursor(Qt.CursorShape.PointingHandCursor)
            show_tip(on_screen, target.tip, self)
            return
        part = self.part_at(point)
        key = part.key if part else None
        if key != self._hover:
            self._hover = key
            drags = part is not None and part.drag
            self.setCursor(Qt.CursorShape.OpenHandCursor if drags else Qt.CursorShape.ArrowCursor)
            show_tip(on_screen, part.words if part else "", self)
            self.update()

    @guarded
    def keyPressEvent(self, event) -> None:
        parts = self.parts
        key = event.key()
        if key == Qt.Key.Key_Escape and self._gesture is not None:
            self._drag = self._gesture = None
            self.drag_given_up.emit()
            return
        if not parts or key not in (
            *_ARROWS,
            Qt.Key.Key_Return,
            Qt.Key.Key_Enter,
            Qt.Key.Key_Space,
        ):
            super().keyPressEvent(event)
            return
        where = next((i for i, p in enumerate(parts) if p.key == self._current), -1)
        if key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            step = 1 if key == Qt.Key.Key_Right else -1
            self._select(parts[(where + step) % len(parts) if where >= 0 else 0])
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            if where >= 0:
                self._nudge(parts[where], 1.0 if key == Qt.Key.Key_Up else -1.0)
        elif where >= 0:
            self.picked.emit(parts[where].path)

    def _nudge(self, part: Part, way: float) -> None:
        """One step of a tang or the stop by key."""
        if part.drag == "tang":
            here = self.docket.mechanism.springs[part.index].tang_mm
            self.bent.emit(part.index, snapped(here + way * TANG_STEP_MM, TANG_STEP_MM), None)
        elif part.drag == "stop":
            here = self.frame.stop_deg
            self.stop_moved.emit(snapped(here + way * STOP_STEP_DEG, STOP_STEP_DEG), None)


def plan_transform(
    room: QRectF, reach_mm: float, mirrored: bool, above_px: float = 8.0
) -> QTransform:
    """From mm of the base plate to pixels of a room; corner words have their lines above."""
    free = min(room.width() - 8, room.height() - 14 - 2 * above_px)
    scale = max(free, 60.0) / (2.0 * max(reach_mm, 1.0))
    middle = room.center() + QPointF(0.0, 0.5 * above_px)
    return QTransform(-scale if mirrored else scale, 0, 0, -scale, middle.x(), middle.y())


def closed(points: Points) -> QPainterPath:
    """A closed outline as a path."""
    path = QPainterPath()
    path.addPolygon(polygon(points[:, 0], points[:, 1]))
    path.closeSubpath()
    return path


def corridor(start: Points, end: Points, width_mm: float) -> QPainterPath:
    """A strip round a line, to be hit by the mouse."""
    path = QPainterPath(QPointF(*start))
    path.lineTo(QPointF(*end))
    stroker = QPainterPathStroker()
    stroker.setWidth(width_mm)
    return stroker.createStroke(path)
