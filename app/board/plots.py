"""Axes of pyqtgraph with layers of our own on them, and the mouse on those layers.

pyqtgraph lays out the axes and their ticks; the layers paint in pixels, once a frame, whatever
their series says. Mouse events are answered here rather than by pyqtgraph's scene, which asks
every item at every move. No menu of pyqtgraph is ever shown.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import groupby
from operator import itemgetter

import pyqtgraph as pg
import shiboken6
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QLineF, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPen,
    QPicture,
    QPolygonF,
    QStaticText,
)
from PySide6.QtWidgets import QGraphicsItem, QGraphicsTextItem

from bobweight.app.board.drags import Grip
from bobweight.app.board.inks import Inks
from bobweight.app.guard import guarded
from bobweight.app.theme import LIGHT, Theme, theme_for
from bobweight.core.figure.numbers import MINUS
from bobweight.core.frozen import frozen
from bobweight.core.problems import required

DRAG_STARTS_PX = 4
_CURSORS = {
    "least": Qt.CursorShape.SizeVerCursor,
    "most": Qt.CursorShape.SizeVerCursor,
    "body": Qt.CursorShape.SizeHorCursor,
    "whole": Qt.CursorShape.SizeAllCursor,
}
polygon: Callable[..., QPolygonF] = pg.functions.arrayToQPolygonF
_PIECE = 24  # points


def draw_line(painter: QPainter, x: NDArray, y: NDArray) -> None:
    """A line with the pen at hand, by pieces where no joint shows (round ends, one full colour):
    Qt smooths the edges of many short lines in a third of the time that it takes for a long one."""
    pen = painter.pen()
    joins = pen.style() == Qt.PenStyle.SolidLine and pen.capStyle() == Qt.PenCapStyle.RoundCap
    full = painter.opacity() == 1.0 and pen.color().alpha() == 255
    step = _PIECE if joins and full and pen.widthF() > 1.0 else max(len(x), 1)
    for first in range(0, max(len(x) - 1, 1), step):
        last = first + step + 1
        painter.drawPolyline(polygon(x[first:last], y[first:last]))


@frozen
class PixelScale:
    """From shown units to pixels of one view and back."""

    x0: float
    y0: float
    per_x: float
    per_y: float
    width: float
    height: float

    def x(self, value):
        return (value - self.x0) * self.per_x

    def y(self, value):
        return self.height - (value - self.y0) * self.per_y

    def value(self, x: float, y: float) -> tuple[float, float]:
        return self.x0 + x / self.per_x, self.y0 + (self.height - y) / self.per_y

    def line(self, x: NDArray, y: NDArray) -> QPolygonF:
        return polygon(self.x(x), self.y(y))


class Layer(QGraphicsItem):
    """A sheet of drawing over (z > 0) or under (z < 0) a view, painted in the view's pixels."""

    def __init__(
        self, view: PlotArea, z: float, draw: Callable[[QPainter, PixelScale], None]
    ) -> None:
        super().__init__(view.box)
        self._view = view
        self._draw = draw
        self.setZValue(z)

    @guarded
    def boundingRect(self) -> QRectF:
        return self._view.box.rect()

    @guarded
    def paint(self, painter: QPainter, _option: object, _widget: object = None) -> None:
        scale = self._view.scale()
        if scale is not None:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            self._draw(painter, scale)


_FULL_OF_NUMBERS = [(0, 0.8), (2, 0.52), (4, 0.4), (6, 0.2)]
"""Share of an axis that numbers may take beside so many others, or they run together."""
_LEFT_PX = 58  # of the left axis, in type of the usual size
_FOR_TYPE = 0.6  # of how much larger type is, the width of the left axis takes
_BEYOND_PX = 18.0  # words may be so much longer than their axis: what is beside it is as wide


class TurnedTitle(QGraphicsTextItem):
    """Words that read upwards, as outlines: letters that are turned stand at whole pixels, and a
    space between two words comes and goes."""

    def __init__(self, axis: pg.AxisItem) -> None:
        super().__init__(axis)
        self._axis = axis
        self.setRotation(-90)
        self.hide()

    @guarded
    def paint(self, painter: QPainter, _option: object, _widget: object = None) -> None:
        margin, font = self.document().documentMargin(), self.font()
        words = QPainterPath()
        words.addText(margin, margin + QFontMetricsF(font).ascent(), font, self.toPlainText())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillPath(words, QColor(self._axis.labelStyle["color"]))


class NumberAxis(pg.AxisItem):
    """An axis whose numbers have a true minus sign, and stand apart in large type too.

    pyqtgraph keeps its lines and numbers as a picture, and drops it whenever they may look
    otherwise; a picture lays out every number anew when it is painted, so they are kept laid out.
    """

    picture: QPicture | None
    label: QGraphicsTextItem
    _lines: Sequence[tuple[QPen, Sequence[QLineF]]] = ()
    _numbers: Sequence[tuple[QPointF, QStaticText]] = ()

    def __init__(self, orientation: str) -> None:
        super().__init__(orientation)
        if orientation == "left":
            shiboken6.delete(self.label)
            self.label = TurnedTitle(self)

    @guarded
    def paint(self, painter: QPainter, _option: object, _widget: object = None) -> None:
        font = self.style["tickFont"] or painter.font()
        if self.picture is None:
            picture = QPicture()
            self._lay_out(picture, font)  # which may drop the picture there is
            self.picture = picture
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        for pen, lines in self._lines:
            painter.setPen(pen)
            painter.drawLines(lines)
        painter.setFont(font)
        painter.setPen(self.textPen())
        painter.setClipRect(self.boundingRect().toAlignedRect())
        for place, number in self._numbers:
            painter.drawStaticText(place, number)

    def _lay_out(self, picture: QPicture, font: QFont) -> None:
        painter = QPainter(picture)
        painter.setFont(font)
        line, ticks, texts = self.generateDrawSpecs(painter) or (None, (), ())
        lines = groupby([] if line is None else [line, *ticks], itemgetter(0))
        self._lines = [(pen, [QLineF(*ends) for _, *ends in each]) for pen, each in lines]
        self._numbers = []
        for rect, flags, text in texts:
            number = QStaticText(text)
            number.setTextFormat(Qt.TextFormat.PlainText)
            number.prepare(font=font)
            place = painter.boundingRect(rect, int(flags), text).topLeft()
            self._numbers.append((place, number))
        painter.end()

    def tickSpacing(self, minVal, maxVal, size) -> list[tuple[float, float]]:
        font = self.style["tickFont"]
        larger = 1.0 if font is None else font.pointSizeF() / LIGHT.small_pt
        return super().tickSpacing(minVal, maxVal, size / larger)

    def tickStrings(self, values, scale, spacing) -> list[str]:
        return [text.replace("-", MINUS) for text in super().tickStrings(values, scale, spacing)]


class PlotArea:
    """One plot of a sheet: its axes, its range and its layers.

    It is put together from a view box and two axes: a ``PlotItem`` would make two more axes, a
    form of controls and its menus besides, none of which is ever shown.
    """

    def __init__(self, sheet: PlotSheet, row: int, bottom: bool = True) -> None:
        self.plot = sheet.ci.addLayout(row=row, col=0)
        self.plot.layout.setContentsMargins(1, 1, 1, 1)
        self.plot.layout.setSpacing(0)
        self.box = pg.ViewBox(enableMenu=False)
        self.box.disableAutoRange()
        self.box.setMouseEnabled(False, False)
        self.box.setDefaultPadding(0.0)
        self.axes = {side: NumberAxis(side) for side in ("left", "bottom")}
        self.plot.addItem(self.axes["left"], row=0, col=0)
        self.plot.addItem(self.box, row=0, col=1)
        self.plot.addItem(self.axes["bottom"], row=1, col=1)
        for axis in self.axes.values():
            axis.linkToView(self.box)
            axis.enableAutoSIPrefix(False)
            axis.setStyle(tickLength=-5, tickTextOffset=5, maxTickLevel=1)
            axis.setStyle(textFillLimits=_FULL_OF_NUMBERS)
        if not bottom:
            self.axes["bottom"].setStyle(showValues=False)
        self._words = {"left": "", "bottom": ""}
        self.box.sigResized.connect(self._centre_words)
        self.layers: list[Layer] = []
        self._range: tuple[float, float, float, float] | None = None
        self._grid: tuple[object, list[float], list[float]] | None = None

    def add(self, z: float, draw: Callable[[QPainter, PixelScale], None]) -> None:
        """A layer painted by a function."""
        self.layers.append(Layer(self, z, draw))

    def set_range(self, x: tuple[float, float], y: tuple[float, float]) -> None:
        """The range of both axes in shown units; nothing happens if it is the present one."""
        if (*x, *y) != self._range:
            self._range = (*x, *y)
            self.box.setRange(xRange=x, yRange=y, padding=0.0, disableAutoRange=True)
            self.update()

    def set_labels(self, left: str, bottom: str = "") -> None:
        """The axes' words, with their unit."""
        words = {"left": left, "bottom": bottom}
        if words != self._words:  # it is asked at every redraw
            self._words = words
            self._centre_words()

    def _centre_words(self) -> None:
        """Words stay in the middle of an axis that a later layout made longer; where an axis is
        shorter than its words, the quantity and its unit are left ("Advance °"), or nothing."""
        for side, words in self._words.items():
            axis = self.axes[side]
            room = self.box.height() if side == "left" else self.box.width()
            width = QFontMetricsF(axis.label.font()).horizontalAdvance
            if width(words) > room:
                quantity, _, rest = words.partition(",")
                words = f"{quantity} {rest.rpartition(' ')[2]}".strip()
                words = words if width(words) <= room + _BEYOND_PX else ""
            if axis.labelText != words:
                axis.setLabel(text=words)
                axis.showLabel(bool(words))
            axis.resizeEvent()  # new words are not put in the middle by themselves

    def scale(self) -> PixelScale | None:
        """The present scale; None before there is one."""
        rect = self.box.rect()
        if self._range is None or rect.width() < 2 or rect.height() < 2:
            return None
        x0, x1, y0, y1 = self._range
        return PixelScale(x0, y0, rect.width() / (x1 - x0), rect.height() / (y1 - y0),
                     rect.width(), rect.height())  # fmt: skip

    def grid(self, scale: PixelScale) -> tuple[list[float], list[float]]:
        """Pixel places of the major ticks across and up, kept while range and size stay."""
        key = (self._range, scale.width, scale.height)
        if self._grid is None or self._grid[0] != key:
            x0, x1, y0, y1 = required(self._range)
            across = self.axes["bottom"].tickValues(x0, x1, scale.width)
            up = self.axes["left"].tickValues(y0, y1, scale.height)
            self._grid = (
                key,
                [float(scale.x(v)) for v in (across[0][1] if across else ())],
                [float(scale.y(v)) for v in (up[0][1] if up else ())],
            )
        return self._grid[1:]

    def update(self) -> None:
        for layer in self.layers:
            layer.update()

    def resized(self) -> None:
        for layer in self.layers:
            layer.prepareGeometryChange()

    def at(self, point: QPointF) -> QPointF:
        """A point of the sheet in this view's pixels."""
        return self.box.mapFromScene(point)


class PlotSheet(pg.GraphicsLayoutWidget):
    """A widget with one or two views, in the colours of the theme.

    Signals
    -------
    dragged(Grip, x, y, gesture)
        What is held has been moved to shown values; one gesture object for the whole drag.
    drag_ended()
        The drag is over.
    drag_given_up()
        Escape was pressed during a drag.
    clicked(Grip)
        Pressed and let go without a drag.
    menu_asked(Grip, QPoint)
        The other button, at a place of the screen.
    """

    dragged = Signal(object, float, float, object)
    drag_ended = Signal()
    drag_given_up = Signal()
    clicked = Signal(object)
    menu_asked = Signal(object, object)

    def __init__(self) -> None:
        super().__init__()
        self._grip: Grip | None = None
        self._gesture: object | None = None
        self._press = QPointF()
        self.ci.layout.setSpacing(2)
        self.setFrameShape(self.Shape.NoFrame)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setMouseTracking(True)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.DefaultContextMenu)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.views: list[PlotArea] = []
        self._look: tuple[Theme, str] | None = None
        self._points: float | None = None
        self.inks = Inks(theme_for(self.palette()), self.font())

    def add_view(self, row: int, bottom: bool = True) -> PlotArea:
        """Another plot; all share the width of their left axes, so that their x axes line up."""
        view = PlotArea(self, row, bottom)
        view.axes["left"].setWidth(_LEFT_PX)
        view.box.sigResized.connect(self._resized)
        self.views.append(view)
        return view

    def read_theme(self) -> None:
        """Take colours and type from the palette as it is now."""
        theme = theme_for(self.palette())
        self._look = (theme, self.font().key())
        if self._points is not None:
            larger = self._points / theme.small_pt
            theme = replace(theme, small_pt=self._points, mark_px=theme.mark_px * larger**0.5)
        self.inks = Inks(theme, self.font())
        self.setBackground(QColor(theme.paper))
        small = self.inks.font
        style = {"color": theme.faint, "font-size": f"{theme.small_pt}pt"}
        larger = theme.small_pt / LIGHT.small_pt - 1.0
        above = round(0.5 * self.inks.line_px) + 1  # of a number at the very end of its axis
        self.ci.layout.setContentsMargins(4, above, 10, 2)
        for view in self.views:
            view.axes["left"].setWidth(_LEFT_PX * (1.0 + _FOR_TYPE * larger))
            view.axes["left"].setStyle(hideOverlappingLabels=above + 4)
            if self._points is not None:  # else it makes it a little low for large type
                view.axes["bottom"].setHeight(round(2.2 * self.inks.line_px) + 5)
            for axis in view.axes.values():
                axis.setPen(QPen(QColor(theme.line)))
                axis.setTextPen(QPen(QColor(theme.ink)))
                axis.setStyle(tickFont=small)
                axis.label.setFont(small)
                axis.setLabel(axis.labelText, **style)
                axis.resizeEvent()
            view.update()

    def set_points(self, points: float) -> None:
        """Write in type of another size than the theme's, with marks to suit."""
        if points != self._points:
            self._points = points
            self.read_theme()

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.LanguageChange:
            self.forget_words()
        kinds = (QEvent.Type.PaletteChange, QEvent.Type.ApplicationPaletteChange,
                 QEvent.Type.FontChange)  # fmt: skip
        if event.type() not in kinds or not hasattr(self, "views"):
            return
        if self._look != (theme_for(self.palette()), self.font().key()):
            self.read_theme()

    def forget_words(self) -> None:
        """Words are others from now on."""

    def update_views(self) -> None:
        for view in self.views:
            view.update()

    def _resized(self, *_: object) -> None:
        for view in self.views:
            view.resized()

    # The mouse. Subclasses say what lies under it: grip_at, value_at, hovered.

    def grip_at(self, point: QPointF) -> Grip | None:
        """What can be held at a point of the scene."""
        return None

    def value_at(self, point: QPointF) -> tuple[float, float]:
        """The shown values at a point of the scene."""
        return 0.0, 0.0

    def hovered(self, point: QPointF, grip: Grip | None) -> None:
        """The mouse passes over a point, with no button down."""

    @property
    def holding(self) -> Grip | None:
        """What is being dragged, or None."""
        return self._grip if self._gesture is not None else None

    @guarded
    def mousePressEvent(self, event) -> None:
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        if event.button() == Qt.MouseButton.LeftButton:
            self._press = self._scene_point(event)
            self._grip = self.grip_at(self._press)
        event.accept()

    @guarded
    def mouseMoveEvent(self, event) -> None:
        point = self._scene_point(event)
        event.accept()
        if not event.buttons() & Qt.MouseButton.LeftButton:
            grip = self.grip_at(point)
            self.setCursor(_CURSORS[grip.part] if grip else Qt.CursorShape.ArrowCursor)
            self.hovered(point, grip)
            return
        if self._grip is None:
            self.hovered(point, None)
            return
        way = point - self._press
        if self._gesture is None and abs(way.x()) + abs(way.y()) < DRAG_STARTS_PX:
            return
        if self._gesture is None:
            self._gesture = object()
            self.update_views()  # what is held looks otherwise
        x0, y0 = self.value_at(self._press)
        x, y = self.value_at(point)
        grip = self._grip
        self.dragged.emit(grip, grip.x + x - x0, grip.y + y - y0, self._gesture)

    @guarded
    def mouseReleaseEvent(self, event) -> None:
        event.accept()
        if event.button() != Qt.MouseButton.LeftButton or self._grip is None:
            return
        grip, gesture = self._grip, self._gesture
        self._grip = self._gesture = None
        if gesture is None:
            self.clicked.emit(grip)
        else:
            self.update_views()
            self.drag_ended.emit()

    @guarded
    def mouseDoubleClickEvent(self, event) -> None:
        self.mousePressEvent(event)

    @guarded
    def keyPressEvent(self, event) -> None:
        if event.key() == Qt.Key.Key_Escape and self._gesture is not None:
            self._grip = self._gesture = None
            self.update_views()
            self.drag_given_up.emit()
        else:
            event.ignore()  # the view would scroll

    @guarded
    def contextMenuEvent(self, event) -> None:
        event.accept()
        grip = self.grip_at(self.mapToScene(event.pos()))
        if grip is not None:
            self.menu_asked.emit(grip, event.globalPos())

    @guarded
    def wheelEvent(self, event) -> None:
        event.ignore()

    def _scene_point(self, event) -> QPointF:
        return self.mapToScene(event.position().toPoint())
