"""The drawn plan of rotor slot and dog, at the size of the part, right and half a turn out."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPaintEvent, QPen, QPolygonF, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from bobweight.app.guard import guarded
from bobweight.app.theme import Theme, theme_for
from bobweight.app.words import translate
from bobweight.core.bench.reassembly import SlotPlan
from bobweight.core.bench.sums import ScreenBar

BAR_MM: float = ScreenBar().bar_mm
_MARGIN_PX = 14
_TEXT_LINES = 2
_PLAIN = Qt.AlignmentFlag.AlignLeft.value | Qt.TextFlag.TextDontClip.value
_WRONG = "✗ looking down on the cap "  # the widest of the titles


class SlotPlanView(QWidget):
    """Draws a plan and the same unit put together wrong, both to one scale, with a check bar.

    ``px_per_mm`` is logical pixels for a millimetre of the part; at the screen's own it is true
    size, which the bar proves.
    """

    def __init__(self) -> None:
        super().__init__()
        self.plan: SlotPlan | None = None
        self.turned_over = False
        self.times = 1.0
        self.correction = 1.0
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setSizePolicy(policy)
        self.setAccessibleName(translate("reassembly", "Plan of rotor slot and dog"))

    @property
    def px_per_mm(self) -> float:
        """Logical pixels for a millimetre at true size, by the screen and its correction."""
        return self.physicalDpiX() / 25.4 * self.correction

    def show_plan(self, plan: SlotPlan | None, turned_over: bool, times: float = 1.0) -> None:
        """Draw another plan, so many times its size, from the cap's side or the dog's."""
        self.plan, self.turned_over, self.times = plan, turned_over, times
        self.setAccessibleDescription(self._described())
        self._size()
        self.update()

    def set_correction(self, correction: float) -> None:
        """Draw larger or smaller, where the screen says its size wrong."""
        self.correction = correction
        self._size()
        self.update()

    def cells(self) -> list[QRectF]:
        """Where the right and the wrong plan are drawn: side by side, else one below the other."""
        if self.plan is None:
            return []
        side = 2 * self.plan.extent_mm * self.px_per_mm * self.times
        text = _TEXT_LINES * self.fontMetrics().lineSpacing() + 6
        pitch = max(side, self.fontMetrics().horizontalAdvance(_WRONG)) + _MARGIN_PX
        if pitch + side + _MARGIN_PX <= self.width():
            return [QRectF(_MARGIN_PX + k * pitch, text, side, side) for k in (0, 1)]
        return [QRectF(_MARGIN_PX, text + k * (side + text), side, side) for k in (0, 1)]

    @guarded
    def sizeHint(self) -> QSize:
        return QSize(300, self.height())

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._size()

    def _size(self) -> None:
        if self.plan is None:
            self.setFixedHeight(0)
            return
        bottom = max(cell.bottom() for cell in self.cells())
        self.setFixedHeight(int(bottom + 2.6 * self.fontMetrics().lineSpacing()))

    def _described(self) -> str:
        if self.plan is None:
            return ""
        return translate(
            "reassembly",
            "With the dog’s blade across and its wide side up, the rotor’s slot points {angle}° "
            "anticlockwise from the right; half a turn out it would point {wrong}°.",
        ).format(angle=f"{self.plan.slot_deg:.0f}", wrong=f"{self.plan.wrong_slot_deg:.0f}")

    # Painting -------------------------------------------------------------------------------

    @guarded
    def paintEvent(self, event: QPaintEvent) -> None:
        if self.plan is None:
            return
        theme = theme_for(self.palette())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        good, wrong = self.cells()
        titles = (
            (translate("reassembly", "✓ as it belongs"), theme.good),
            (translate("reassembly", "✗ cam half a turn out"), theme.wrong),
        )
        plans = (self.plan, self.plan.cam_half_turn_out())
        for cell, plan, (title, colour) in zip((good, wrong), plans, titles, strict=True):
            self._draw_title(painter, cell, title, QColor(colour), theme)
            drawn = plan.turned_over() if self.turned_over else plan
            self._draw(painter, cell, drawn, theme, right=plan is self.plan)
        self._draw_bar(painter, theme)
        painter.end()

    def _draw_title(
        self, painter: QPainter, cell: QRectF, title: str, colour: QColor, theme: Theme
    ) -> None:
        line = self.fontMetrics().lineSpacing()
        painter.setPen(colour)
        left = QRectF(cell.left(), cell.top() - 2 * line - 2, max(cell.width(), 190.0), line)
        painter.drawText(left, _PLAIN, title)
        font = QFont(self.font())
        font.setPointSizeF(theme.small_pt)
        painter.save()
        painter.setFont(font)
        painter.setPen(QColor(theme.faint))
        seen = (
            translate("reassembly", "dog towards you")
            if self.turned_over
            else translate("reassembly", "looking down on the cap")
        )
        painter.drawText(left.translated(0, line), _PLAIN, seen)
        painter.restore()

    def _draw(
        self, painter: QPainter, cell: QRectF, plan: SlotPlan, theme: Theme, right: bool
    ) -> None:
        scale, centre = self.px_per_mm * self.times, cell.center()

        def at(xy: np.ndarray) -> QPointF:
            return QPointF(centre.x() + scale * float(xy[0]), centre.y() - scale * float(xy[1]))

        def polygon(points: np.ndarray) -> QPolygonF:
            return QPolygonF([at(point) for point in points])

        ink, faint = QColor(theme.ink), QColor(theme.faint)
        axis = QPen(QColor(theme.line), 0.8, Qt.PenStyle.DashDotLine)
        painter.setPen(axis)
        reach = plan.extent_mm * 0.97
        painter.drawLine(at(np.array([-reach, 0])), at(np.array([reach, 0])))
        painter.drawLine(at(np.array([0, -reach])), at(np.array([0, reach])))
        radius = plan.shaft_mm * scale
        layers = (self._draw_cam, self._draw_dog)  # what is hidden is drawn dashed, over the rest
        painter.setPen(QPen(faint, 1.2))
        painter.setBrush(QColor(theme.base_plate))
        painter.drawEllipse(centre, radius, radius)
        for layer in layers:
            layer(painter, plan, polygon, theme)
        painter.setPen(QPen(ink, 1.0))
        painter.setBrush(ink)
        painter.drawEllipse(centre, 1.6, 1.6)
        self._draw_pointer(painter, plan, at, theme, right)
        self._draw_rotation(painter, cell, plan, theme)

    def _draw_cam(self, painter: QPainter, plan: SlotPlan, polygon, theme: Theme) -> None:
        hidden = self.turned_over
        style = Qt.PenStyle.DashLine if hidden else Qt.PenStyle.SolidLine
        painter.setPen(QPen(QColor(theme.ink), 1.2, style))
        painter.setBrush(Qt.BrushStyle.NoBrush if hidden else QColor(theme.cam))
        painter.drawPolygon(polygon(plan.cam))
        painter.setBrush(Qt.BrushStyle.NoBrush if hidden else QColor(theme.paper))
        painter.drawPolygon(polygon(plan.slot))

    def _draw_dog(self, painter: QPainter, plan: SlotPlan, polygon, theme: Theme) -> None:
        hidden = not self.turned_over
        style = Qt.PenStyle.DashLine if hidden else Qt.PenStyle.SolidLine
        painter.setPen(QPen(QColor(theme.spring_secondary), 2.0, style))
        painter.setBrush(Qt.BrushStyle.NoBrush if hidden else QColor(theme.weight))
        painter.drawPolygon(polygon(plan.blade))

    def _draw_pointer(self, painter: QPainter, plan: SlotPlan, at, theme: Theme, right: bool):
        """An arrow the way the rotor points."""
        turn = np.radians(plan.slot_deg)
        way, side = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
        colour = QColor(theme.good if right else theme.wrong)
        painter.setPen(QPen(colour, 2.2))
        start, tip = way * plan.extent_mm * 0.72, way * plan.extent_mm * 0.95
        painter.drawLine(at(start), at(tip))
        barb = plan.extent_mm * 0.07
        for sign in (1, -1):
            painter.drawLine(at(tip), at(tip - way * barb + sign * side * barb * 0.7))

    def _draw_rotation(self, painter: QPainter, cell: QRectF, plan: SlotPlan, theme: Theme) -> None:
        painter.setPen(QColor(theme.ink))
        sign = "↻" if plan.clockwise else "↺"
        if "rotation" in plan.assumed:
            sign += " ?"
        font = QFont(self.font())
        font.setPointSizeF(theme.heading_pt)
        painter.save()
        painter.setFont(font)
        painter.drawText(cell, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom, sign)
        painter.restore()

    def _draw_bar(self, painter: QPainter, theme: Theme) -> None:
        line = self.fontMetrics().lineSpacing()
        y = self.height() - 0.7 * line
        length = BAR_MM * self.px_per_mm
        painter.setPen(QPen(QColor(theme.ink), 1.4))
        painter.drawLine(QPointF(_MARGIN_PX, y), QPointF(_MARGIN_PX + length, y))
        for x in (_MARGIN_PX, _MARGIN_PX + length):
            painter.drawLine(QPointF(x, y - 5), QPointF(x, y + 5))
        text = translate("reassembly", "{length} mm on the screen").format(length=f"{BAR_MM:.0f}")
        painter.drawText(QPointF(_MARGIN_PX + length + 8, y + 5), text)
