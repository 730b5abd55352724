"""A picture to click in: zoom, a magnifier at the pointer, what was clicked, and the drawing."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from bobweight.app.guard import guarded
from bobweight.app.theme import theme_for
from bobweight.app.words import translate
from bobweight.core.docket.pictures import MeasuredPicture
from bobweight.core.mechanics.traced import smooth
from bobweight.core.photo.overlay import LaidLine

_REACH_PX = 9.0
_NAMED_PX = 28.0
_LENS_PX, _LENS_TIMES = 176, 4.0
_CLOSE = 8.0
"""Largest size of a picture's pixel on the screen."""


class PictureCanvas(QWidget):
    """Shows a measured picture; tells where the hand clicks, moves and takes away points.

    Wheel: size. Drag on the picture: move it. Keys: arrows move the cross by a picture's pixel
    (with Shift ten), Enter or Space clicks, Delete takes the nearest point away, plus, minus and
    zero change the size.

    Signals
    -------
    clicked(x, y)
        In pixels of the picture.
    moved(pick, point, x, y, gesture)
        A clicked point is dragged; all steps of a drag have one gesture.
    removed(pick, point)
    """

    clicked = Signal(float, float)
    moved = Signal(int, int, float, float, object)
    removed = Signal(int, int)

    def __init__(self) -> None:
        super().__init__()
        self.image: QImage | None = None
        self.picture = MeasuredPicture()
        self.drawing: Sequence[LaidLine] = ()
        self.labels: Sequence[str] = ()
        self._share = 0.5
        self._scale, self._origin = 1.0, QPointF()
        self._round: tuple[float, float, float] | None = None  # what is to be seen at any size
        self._cross: QPointF | None = None  # in the picture
        self._held: tuple[int, int] | None = None
        self._gesture: object | None = None
        self._pressed: QPointF | None = None
        self._panned = False
        self.setMinimumSize(320, 300)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setCursor(Qt.CursorShape.CrossCursor)
        self.setAccessibleName(translate("photo", "The picture"))
        self.setAccessibleDescription(
            translate(
                "photo",
                "Arrows move the cross by a pixel, with Shift by ten; Enter clicks, Delete takes "
                "the nearest point away, plus, minus and zero change the size.",
            )
        )

    @guarded
    def sizeHint(self) -> QSize:
        return QSize(720, 600)

    def show_image(self, image: QImage | None) -> None:
        """Show another picture, whole."""
        self.image = image
        self._cross = None
        self.fit()

    def show_picture(
        self, picture: MeasuredPicture, labels: Sequence[str], drawing: Sequence[LaidLine]
    ) -> None:
        """Show what was clicked, a label for each pick, and the drawing over it."""
        self.picture, self.labels, self.drawing = picture, labels, drawing
        self.update()

    def set_share(self, share: float) -> None:
        """0 shows the picture alone, 1 the drawing alone."""
        self._share = min(max(share, 0.0), 1.0)
        self.update()

    def fit(self) -> None:
        """Show the whole picture."""
        self._round = None
        if self.image is not None and self.width() > 2:
            wide, high = self.image.width(), self.image.height()
            self._scale = min(self.width() / wide, self.height() / high)
            self._origin = QPointF(wide / 2, high / 2)
        self.update()

    def look_at(self, x: float, y: float, times: float) -> None:
        """Bring a place of the picture to the middle, that many times larger than whole."""
        self.fit()
        self._scale = min(self._scale * times, _CLOSE)
        self._origin = QPointF(x, y)
        self.update()

    def look_round(self, x: float, y: float, reach: float) -> None:
        """Bring a place of the picture to the middle, and so much of it to each side."""
        self.look_at(x, y, 1.0)
        self._scale = min(0.5 * min(self.width(), self.height()) / max(reach, 1.0), _CLOSE)
        self._round = x, y, reach

    # Between picture and screen -------------------------------------------------------------

    def on_screen(self, x: float, y: float) -> QPointF:
        return QPointF(
            self.width() / 2 + (x + 0.5 - self._origin.x()) * self._scale,
            self.height() / 2 + (y + 0.5 - self._origin.y()) * self._scale,
        )

    def on_picture(self, at: QPointF) -> QPointF:
        return QPointF(
            self._origin.x() + (at.x() - self.width() / 2) / self._scale - 0.5,
            self._origin.y() + (at.y() - self.height() / 2) / self._scale - 0.5,
        )

    def _nearest(self, at: QPointF) -> tuple[int, int] | None:
        best, found = _REACH_PX, None
        for index, pick in enumerate(self.picture.picks):
            for number, point in enumerate(pick.points):
                place = self.on_screen(point.x_px, point.y_px)
                away = math.hypot(place.x() - at.x(), place.y() - at.y())
                if away < best:
                    best, found = away, (index, number)
        return found

    # The hand -------------------------------------------------------------------------------

    @guarded
    def mousePressEvent(self, event: QMouseEvent) -> None:
        at = event.position()
        if event.button() == Qt.MouseButton.RightButton:
            nearest = self._nearest(at)
            if nearest is not None:
                self.removed.emit(*nearest)
        elif event.button() == Qt.MouseButton.LeftButton and self.image is not None:
            self._pressed, self._panned = at, False
            self._held, self._gesture = self._nearest(at), object()

    @guarded
    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        at = event.position()
        before, self._cross = self._cross, self.on_picture(at)
        if self._pressed is not None and event.buttons() & Qt.MouseButton.LeftButton:
            far = (at - self._pressed).manhattanLength() > 6
            if self._held is not None and far:
                x, y = self._cross.x(), self._cross.y()
                self.moved.emit(*self._held, x, y, self._gesture)
                self._panned = True
            elif self._held is None and (far or self._panned) and before is not None:
                self._panned = True
                self._origin -= self._cross - before
                self._cross = self.on_picture(at)
        self.update()

    @guarded
    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton and self._pressed is not None:
            if not self._panned:
                self._click(self.on_picture(self._pressed))
            self._pressed, self._held, self._gesture = None, None, None

    @guarded
    def mouseDoubleClickEvent(self, _event: QMouseEvent) -> None:
        """The second click of two is no place of its own."""

    @guarded
    def leaveEvent(self, _event: object) -> None:
        self._cross = None
        self.update()

    @guarded
    def wheelEvent(self, event: QWheelEvent) -> None:
        self._zoom(1.2 if event.angleDelta().y() > 0 else 1 / 1.2, event.position())
        event.accept()

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._round is None:
            self.fit()
        else:
            self.look_round(*self._round)

    @guarded
    def keyPressEvent(self, event: QKeyEvent) -> None:
        keys = Qt.Key
        step = 10.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0
        ways: dict[int, tuple[float, float]] = {
            keys.Key_Left: (-step, 0.0), keys.Key_Right: (step, 0.0),
            keys.Key_Up: (0.0, -step), keys.Key_Down: (0.0, step),
        }  # fmt: skip
        cross = self._cross or QPointF(self._origin)
        if event.key() in ways:
            self._cross = cross + QPointF(*ways[event.key()])
            self.update()
        elif event.key() in (keys.Key_Return, keys.Key_Enter, keys.Key_Space):
            self._click(cross)
        elif event.key() in (keys.Key_Delete, keys.Key_Backspace):
            nearest = self._nearest(self.on_screen(cross.x(), cross.y()))
            if nearest is not None:
                self.removed.emit(*nearest)
        elif event.key() in (keys.Key_Plus, keys.Key_Equal):
            self._zoom(1.25, self.on_screen(cross.x(), cross.y()))
        elif event.key() == keys.Key_Minus:
            self._zoom(0.8, self.on_screen(cross.x(), cross.y()))
        elif event.key() == keys.Key_0:
            self.fit()
        else:
            super().keyPressEvent(event)

    def _click(self, place: QPointF) -> None:
        if self.image is None:
            return
        x, y = place.x(), place.y()
        if -0.5 <= x <= self.image.width() and -0.5 <= y <= self.image.height():
            self.clicked.emit(x, y)

    def _zoom(self, times: float, at: QPointF) -> None:
        if self.image is None:
            return
        whole = min(self.width() / self.image.width(), self.height() / self.image.height())
        under = self.on_picture(at)
        self._scale = min(max(self._scale * times, 0.5 * whole), _CLOSE)
        self._origin += under - self.on_picture(at)
        self.update()

    # The picture ----------------------------------------------------------------------------

    @guarded
    def paintEvent(self, _event: QPaintEvent) -> None:
        painter = QPainter(self)
        theme = theme_for(self.palette())
        painter.fillRect(self.rect(), QColor(theme.paper))
        if self.image is None:
            painter.setPen(QColor(theme.faint))
            painter.drawText(
                self.rect(), Qt.AlignmentFlag.AlignCenter,
                translate("photo", "Load a picture, or drop one here"),
            )  # fmt: skip
            painter.end()
            return
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        corner = self.on_screen(-0.5, -0.5)
        size = self.image.size().toSizeF() * self._scale
        painter.setOpacity(1.0 - 0.85 * max(0.0, 2 * self._share - 1))
        painter.drawImage(QRectF(corner, size), self.image)
        painter.setOpacity(1.0)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_drawing(painter, QColor(theme.spring_secondary))
        self._paint_marks(painter, QColor(theme.good))
        self._paint_picks(painter, QColor(theme.accent), QColor(theme.paper))
        self._paint_lens(painter, QColor(theme.accent), QColor(theme.line))
        painter.end()

    def _paint_drawing(self, painter: QPainter, colour: QColor) -> None:
        painter.setOpacity(min(1.0, 2 * self._share))
        painter.setPen(QPen(colour, 1.8))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for line in self.drawing:
            points = QPolygonF([self.on_screen(float(x), float(y)) for x, y in line.pixels])
            if line.closed:
                painter.drawPolygon(points)
            else:
                painter.drawPolyline(points)
        painter.setOpacity(1.0)

    def _paint_marks(self, painter: QPainter, colour: QColor) -> None:
        painter.setPen(QPen(colour, 2.0))
        for mark in self.picture.marks:
            at = self.on_screen(mark.x_px, mark.y_px)
            painter.drawEllipse(at, 9.0, 9.0)
        for point in self.picture.known_points:
            self._paint_cross(painter, self.on_screen(point.x_px, point.y_px), 8.0)

    def _paint_picks(self, painter: QPainter, colour: QColor, paper: QColor) -> None:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        metrics = painter.fontMetrics()
        for pick, label in zip(self.picture.picks, self.labels, strict=False):
            places = [self.on_screen(p.x_px, p.y_px) for p in pick.points]
            painter.setPen(QPen(colour, 2.0))
            if len(places) > 1:
                ring = QPolygonF(places)
                painter.setPen(QPen(colour, 1.2))
                if pick.part == "outline":
                    edge = smooth(np.array([(at.x(), at.y()) for at in places]))
                    painter.drawPolygon(QPolygonF([QPointF(x, y) for x, y in edge.tolist()]))
                else:
                    painter.drawPolyline(ring)
                painter.setPen(QPen(colour, 2.0))
            for place, point in zip(places, pick.points, strict=True):
                self._paint_cross(painter, place, 6.0)
                if point.snapped:
                    painter.drawEllipse(place, 5.0, 5.0)
            if places and self._is_near(places):
                box = QRectF(metrics.boundingRect(label).adjusted(-3, -1, 3, 1))
                box.moveTopLeft(places[0] + QPointF(9, -box.height() - 3))
                painter.fillRect(box, paper)
                painter.drawText(box, Qt.AlignmentFlag.AlignCenter, label)

    def _is_near(self, places: list[QPointF]) -> bool:
        """Whether the pointer is so near that a pick says its name."""
        if self._cross is None:
            return False
        at = self.on_screen(self._cross.x(), self._cross.y())
        return min((at - place).manhattanLength() for place in places) < _NAMED_PX

    @staticmethod
    def _paint_cross(painter: QPainter, at: QPointF, reach: float) -> None:
        painter.drawLine(at - QPointF(reach, 0), at + QPointF(reach, 0))
        painter.drawLine(at - QPointF(0, reach), at + QPointF(0, reach))

    def _paint_lens(self, painter: QPainter, colour: QColor, frame: QColor) -> None:
        """The magnifier: in the corner that the pointer is not in."""
        if self._cross is None or self.image is None:
            return
        at = self.on_screen(self._cross.x(), self._cross.y())
        left = at.x() < self.width() / 2 and at.y() < _LENS_PX + 60
        box = QRectF(self.width() - _LENS_PX - 8 if left else 8, 8, _LENS_PX, _LENS_PX)
        times = max(_LENS_TIMES, 2 * self._scale)
        half = _LENS_PX / times / 2
        middle = self._cross + QPointF(0.5, 0.5)
        source = QRectF(middle.x() - half, middle.y() - half, 2 * half, 2 * half)
        painter.fillRect(box, frame)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, False)
        painter.drawImage(box, self.image, source)
        painter.setPen(QPen(frame, 1.5))
        painter.drawRect(box)
        painter.setPen(QPen(colour, 1.2))
        gap = 4.0
        centre = box.center()
        for way in (QPointF(1, 0), QPointF(-1, 0), QPointF(0, 1), QPointF(0, -1)):
            painter.drawLine(centre + way * gap, centre + way * _LENS_PX / 3)
