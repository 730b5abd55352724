"""Where points of a weight are marked: on a photograph, or on a grid in millimetres."""

from __future__ import annotations

import math

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
from bobweight.app.theme import Theme, theme_for
from bobweight.app.words import translate
from bobweight.core.design.weight_sketch import HOLES, LINES, PARTS_OF, WeightSketch, marked
from bobweight.core.mechanics.traced import smooth

_REACH_PX = 9.0
_GRID_MM = (-12.0, 60.0)
_SIGNS = {"pivot": "P", "shaft": "S", "scale_1": "1", "scale_2": "2"}


class OutlineCanvas(QWidget):
    """Shows a sketch; tells where the hand marks and moves points.

    Keys: arrows move the cross (with Shift further), Enter or Space marks, Delete takes the point
    under the cross away, plus and minus change the size, zero shows all.

    Signals
    -------
    marked_at(x, y)
        A point was marked, in sketch units.
    moved_to(index, x, y, gesture)
        A point is dragged; all steps of a drag have one gesture.
    removed(index)
        A point should go.
    """

    marked_at = Signal(float, float)
    moved_to = Signal(int, float, float, object)
    removed = Signal(int)

    def __init__(self) -> None:
        super().__init__()
        self.sketch = WeightSketch()
        self.image: QImage | None = None
        self.centre_of_gravity: QPointF | None = None
        self._scale, self._origin = 6.0, QPointF()
        self._fitted = False
        self._cross: QPointF | None = None
        self._held = -1
        self._gesture: object | None = None
        self.setMinimumSize(280, 260)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setCursor(Qt.CursorShape.CrossCursor)
        self.setAccessibleName(translate("springs", "Outline of the weight"))
        self.setAccessibleDescription(
            translate(
                "springs",
                "Arrows move the cross, Enter marks a point, Delete takes the nearest away, plus "
                "and minus change the size. Points can be typed in the table as well.",
            )
        )

    @guarded
    def sizeHint(self) -> QSize:
        return QSize(560, 520)

    def show_sketch(self, sketch: WeightSketch, centre: tuple[float, float] | None) -> None:
        """Show another sketch, and where its centre of gravity lies (sketch units)."""
        self.sketch = sketch
        self.centre_of_gravity = None if centre is None else QPointF(*centre)
        self.update()

    def show_image(self, image: QImage | None) -> None:
        """Show a photograph under the points; None takes it away."""
        self.image = image
        self.fit()

    # Between sketch and screen --------------------------------------------------------------

    def _bounds(self) -> QRectF:
        if self.image is not None:
            return QRectF(self.image.rect())
        low, high = _GRID_MM
        found = QRectF(low, low, high - low, high - low)
        for point in self.sketch.points:
            if point.x is not None and point.y is not None:
                found = found.united(QRectF(point.x - 3, point.y - 3, 6, 6))
        return found

    def fit(self) -> None:
        """Show everything."""
        bounds = self._bounds()
        if self.width() < 2 or not bounds.isValid():
            return
        self._scale = 0.96 * min(self.width() / bounds.width(), self.height() / bounds.height())
        self._origin = bounds.center()
        self._fitted = True
        self.update()

    def _up(self) -> float:
        return 1.0 if self.image is not None else -1.0

    def on_screen(self, x: float, y: float) -> QPointF:
        """Pixels of a place in sketch units."""
        return QPointF(
            self.width() / 2 + (x - self._origin.x()) * self._scale,
            self.height() / 2 + (y - self._origin.y()) * self._scale * self._up(),
        )

    def on_sketch(self, at: QPointF) -> tuple[float, float]:
        """Sketch units of a place in pixels."""
        return (
            self._origin.x() + (at.x() - self.width() / 2) / self._scale,
            self._origin.y() + (at.y() - self.height() / 2) / self._scale * self._up(),
        )

    def _nearest(self, at: QPointF) -> int:
        best, found = _REACH_PX, -1
        for index, point in enumerate(self.sketch.points):
            if point.x is None or point.y is None:
                continue
            place = self.on_screen(point.x, point.y)
            away = math.hypot(place.x() - at.x(), place.y() - at.y())
            if away < best:
                best, found = away, index
        return found

    # The hand -------------------------------------------------------------------------------

    @guarded
    def mousePressEvent(self, event: QMouseEvent) -> None:
        at = event.position()
        if event.button() == Qt.MouseButton.LeftButton:
            self._held, self._gesture = self._nearest(at), object()
            if self._held < 0:
                self._mark(at)
        elif event.button() == Qt.MouseButton.RightButton:
            self._remove(at)

    @guarded
    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self._cross = event.position()
        if self._held >= 0 and event.buttons() & Qt.MouseButton.LeftButton:
            x, y = self.on_sketch(event.position())
            self.moved_to.emit(self._held, _tidy(x), _tidy(y), self._gesture)
        self.update()

    @guarded
    def mouseReleaseEvent(self, _event: QMouseEvent) -> None:
        self._held, self._gesture = -1, None

    @guarded
    def wheelEvent(self, event: QWheelEvent) -> None:
        self._zoom(1.15 if event.angleDelta().y() > 0 else 1 / 1.15, event.position())
        event.accept()

    @guarded
    def keyPressEvent(self, event: QKeyEvent) -> None:
        keys = Qt.Key
        step = 10.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0
        ways: dict[int, tuple[float, float]] = {
            keys.Key_Left: (-step, 0), keys.Key_Right: (step, 0), keys.Key_Up: (0, -step),
            keys.Key_Down: (0, step),
        }  # fmt: skip
        at = self._cross or QPointF(self.width() / 2, self.height() / 2)
        if event.key() in ways:
            dx, dy = ways[event.key()]
            self._cross = QPointF(
                min(max(at.x() + dx, 0.0), self.width()), min(max(at.y() + dy, 0.0), self.height())
            )
            self.update()
        elif event.key() in (keys.Key_Return, keys.Key_Enter, keys.Key_Space):
            self._mark(at)
        elif event.key() in (keys.Key_Delete, keys.Key_Backspace):
            self._remove(at)
        elif event.key() in (keys.Key_Plus, keys.Key_Equal):
            self._zoom(1.25, at)
        elif event.key() == keys.Key_Minus:
            self._zoom(0.8, at)
        elif event.key() == keys.Key_0:
            self.fit()
        else:
            super().keyPressEvent(event)

    def _mark(self, at: QPointF) -> None:
        x, y = self.on_sketch(at)
        self.marked_at.emit(_tidy(x), _tidy(y))

    def _remove(self, at: QPointF) -> None:
        index = self._nearest(at)
        if index >= 0:
            self.removed.emit(index)

    def _zoom(self, factor: float, at: QPointF) -> None:
        x, y = self.on_sketch(at)
        self._scale = min(max(self._scale * factor, 0.02), 400.0)
        after = self.on_sketch(at)
        self._origin += QPointF(x - after[0], y - after[1])
        self.update()

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if not self._fitted or event.oldSize().width() < 2:
            self.fit()

    # Painting -------------------------------------------------------------------------------

    @guarded
    def paintEvent(self, _event: QPaintEvent) -> None:
        theme = theme_for(self.palette())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.fillRect(self.rect(), QColor(theme.paper))
        if self.image is not None:
            corner = self.on_screen(0, 0)
            size = self.image.size()
            painter.drawImage(
                QRectF(corner.x(), corner.y(), size.width() * self._scale,
                       size.height() * self._scale),
                self.image,
            )  # fmt: skip
        else:
            self._draw_grid(painter, theme)
        self._draw_rings(painter, theme)
        self._draw_places(painter, theme)
        if self.hasFocus() and self._cross is not None:
            painter.setPen(QPen(QColor(theme.accent), 1))
            painter.drawLine(QPointF(self._cross.x(), 0), QPointF(self._cross.x(), self.height()))
            painter.drawLine(QPointF(0, self._cross.y()), QPointF(self.width(), self._cross.y()))
        painter.setPen(QPen(QColor(theme.accent if self.hasFocus() else theme.line), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def _draw_grid(self, painter: QPainter, theme: Theme) -> None:
        """Lines every 10 mm, numbered; every millimetre where there is room."""
        left, top = self.on_sketch(QPointF(0, 0))
        right, bottom = self.on_sketch(QPointF(self.width(), self.height()))
        for step, strong in ((1, False), (10, True)):
            if step * self._scale < 5:
                continue
            painter.setPen(QPen(QColor(theme.line if strong else theme.grid), 1))
            for k in range(math.ceil(left / step), math.floor(right / step) + 1):
                x = self.on_screen(k * step, 0).x()
                painter.drawLine(QPointF(x, 0), QPointF(x, self.height()))
            for k in range(math.ceil(bottom / step), math.floor(top / step) + 1):
                y = self.on_screen(0, k * step).y()
                painter.drawLine(QPointF(0, y), QPointF(self.width(), y))
        painter.setPen(QColor(theme.faint))
        metrics = painter.fontMetrics()  # a number that would be cut off is left out
        for k in range(math.ceil(left / 10), math.floor(right / 10) + 1):
            text = f"{10 * k} mm" if k == 0 else f"{10 * k}".replace("-", "−")
            x = self.on_screen(10 * k, 0).x() + 3
            if x + metrics.horizontalAdvance(text) < self.width():
                painter.drawText(QPointF(x, self.height() - 4), text)
        for k in range(math.ceil(bottom / 10), math.floor(top / 10) + 1):
            y = self.on_screen(0, 10 * k).y() - 2
            if y >= metrics.ascent():
                painter.drawText(QPointF(3, y), f"{10 * k}".replace("-", "−"))

    def _draw_rings(self, painter: QPainter, theme: Theme) -> None:
        for part in ("outline", *HOLES):
            if part not in PARTS_OF[self.sketch.by]:
                continue
            corners = marked(self.sketch, part)
            if not corners:
                continue
            points = [self.on_screen(x, y) for x, y in corners]
            drawn = QPolygonF([self.on_screen(x, y) for x, y in smooth(np.array(corners))])
            fill = QColor(theme.weight if part == "outline" else theme.paper)
            fill.setAlphaF(0.45 if part == "outline" or self.image is None else 0.25)
            painter.setBrush(fill if len(points) > 2 else Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(theme.paper), 4))
            painter.drawPolygon(drawn)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            pen = QPen(QColor(theme.ink), 2)
            if part != "outline":
                pen.setDashPattern([3, 2])
            painter.setPen(pen)
            painter.drawPolygon(drawn)
            painter.setPen(QPen(QColor(theme.ink), 1))
            painter.setBrush(QColor(theme.paper))
            for point in points:
                painter.drawRect(QRectF(point.x() - 3, point.y() - 3, 6, 6))

    def _draw_lines(self, painter: QPainter, theme: Theme) -> None:
        """The lines along which the weight hung or balanced, through and beyond their points."""
        if self.sketch.by != "lines":
            return
        for part in LINES:
            points = [self.on_screen(x, y) for x, y in marked(self.sketch, part)]
            if len(points) == 2:
                way = points[1] - points[0]
                far = 1.2 * max(self.width(), self.height()) / max(math.hypot(way.x(), way.y()), 1)
                for pen in (QPen(QColor(theme.paper), 4), QPen(QColor(theme.ink), 1.5)):
                    painter.setPen(pen)
                    painter.drawLine(points[0] - way * far, points[1] + way * far)
            painter.setPen(QPen(QColor(theme.ink), 1))
            painter.setBrush(QColor(theme.paper))
            for point in points:
                painter.drawRect(QRectF(point.x() - 3, point.y() - 3, 6, 6))

    def _draw_places(self, painter: QPainter, theme: Theme) -> None:
        """Pivot, shaft, the ends of the scale, and the centre of gravity: a letter each."""
        self._draw_lines(painter, theme)
        ends = [self.on_screen(*p[-1]) for part in ("scale_1", "scale_2")
                if (p := marked(self.sketch, part))]  # fmt: skip
        if len(ends) == 2:
            painter.setPen(QPen(QColor(theme.accent), 2, Qt.PenStyle.DashLine))
            painter.drawLine(*ends)
        metrics = painter.fontMetrics()
        for part, sign in _SIGNS.items():
            for x, y in marked(self.sketch, part)[-1:]:
                at = self.on_screen(x, y)
                painter.setPen(QPen(QColor(theme.accent), 2))
                painter.setBrush(QColor(theme.paper))
                painter.drawEllipse(at, 9, 9)
                painter.setPen(QColor(theme.ink))
                half = metrics.horizontalAdvance(sign) / 2
                painter.drawText(QPointF(at.x() - half, at.y() + metrics.ascent() / 2 - 2), sign)
        if self.centre_of_gravity is not None:
            at = self.on_screen(self.centre_of_gravity.x(), self.centre_of_gravity.y())
            painter.setPen(QPen(QColor(theme.ink), 1.5))
            painter.setBrush(QColor(theme.paper))
            painter.drawEllipse(at, 7, 7)
            painter.setBrush(QColor(theme.ink))
            box = QRectF(at.x() - 7, at.y() - 7, 14, 14)
            painter.drawPie(box, 0, 90 * 16)
            painter.drawPie(box, 180 * 16, 90 * 16)


def _tidy(value: float) -> float:
    """To a hundredth of a unit, as fine as any click."""
    return round(value, 2)
