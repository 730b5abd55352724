"""How far each reading of a hang test lies off the fitted line, as a strip."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from bobweight.app.guard import guarded
from bobweight.app.store.display import Display
from bobweight.app.theme import theme_for
from bobweight.app.widgets.plain import set_tip
from bobweight.app.words import significant, translate, with_unit
from bobweight.core.design.hang_test import HangTest, PointKind
from bobweight.core.units import FORCE, LENGTH

_HEIGHT_EM = 9
_MARK_PX = 4.5


class ResidualPlot(QWidget):
    """Marks over load: a disc on the line, a square with the coils closed, a cross beyond the
    line's end; a flagged reading stands in a ring with its number."""

    def __init__(self, display: Display) -> None:
        super().__init__()
        self._display = display
        self._loads_n = np.zeros(0)
        self._rows: tuple[int, ...] = ()
        self._test: HangTest | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(translate("springs", "Residuals of the hang test"))
        self.hide()

    def show_test(self, test: HangTest | None, rows: tuple[int, ...], loads_n: list[float]) -> None:
        """Show the residuals of a test; None hides the strip."""
        self._test, self._rows, self._loads_n = test, rows, np.array(loads_n, float)
        self.setVisible(test is not None)
        if test is not None:
            self.setAccessibleDescription("; ".join(self.words()))
            set_tip(self, "\n".join(self.words()))
        self.update()

    def words(self) -> list[str]:
        """Each reading's residual in words."""
        if self._test is None:
            return []
        unit, factor = self._length()
        kinds = {
            PointKind.CLOSED: translate("springs", "coils closed"),
            PointKind.ON_LINE: translate("springs", "on the line"),
            PointKind.STIFFENED: translate("springs", "stiffer"),
            PointKind.SOFTENED: translate("springs", "gives more"),
        }
        text = translate("springs", "row {row}: {residual}, {kind}")
        flagged = translate("springs", "row {row}: {residual}, {kind}, off the line")
        return [
            (flagged if out else text).format(
                row=row + 1, residual=with_unit(f"{residual / factor:+.3f}", unit), kind=kinds[kind]
            )
            for row, residual, kind, out in zip(
                self._rows, self._test.residuals_mm, self._test.kinds, self._test.flagged,
                strict=True,
            )
        ]  # fmt: skip

    def _length(self) -> tuple[str, float]:
        symbol = self._display.unit(LENGTH)
        return symbol, LENGTH.unit(symbol).factor

    @guarded
    def sizeHint(self) -> QSize:
        return QSize(260, self.fontMetrics().lineSpacing() * _HEIGHT_EM)

    @guarded
    def paintEvent(self, _event: QPaintEvent) -> None:
        test = self._test
        if test is None:
            return
        theme = theme_for(self.palette())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        font = painter.font()
        font.setPointSizeF(theme.small_pt)
        painter.setFont(font)
        line = painter.fontMetrics().lineSpacing()
        unit, factor = self._length()
        residuals = test.residuals_mm / factor
        with np.errstate(divide="ignore", invalid="ignore"):
            u = np.where(test.standardised != 0, residuals / test.standardised, 0.0)
        u = np.where(np.isfinite(u), np.abs(u), 0.0)
        reach = float(np.max(np.abs(residuals) + u)) or 1e-3
        half = significant(reach, 2)
        left = painter.fontMetrics().horizontalAdvance(f"−{half}") + 10
        box = QRectF(left, line + 4, self.width() - left - 14, self.height() - 2.4 * line - 8)
        painter.fillRect(box, QColor(theme.paper))
        painter.setPen(QPen(QColor(theme.grid), 1))
        painter.drawRect(box)
        middle = box.center().y()
        painter.setPen(QPen(QColor(theme.rising), 2))
        painter.drawLine(QPointF(box.left(), middle), QPointF(box.right(), middle))
        painter.setPen(QColor(theme.faint))
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        for text, y in ((f"+{half}", box.top() + line / 2), ("0", middle),
                        (f"−{half}", box.bottom() - line / 2)):  # fmt: skip
            painter.drawText(QRectF(0, y - line / 2, left - 6, line), right, text)
        title = translate("springs", "Length less the line, {unit}").format(unit=unit)
        painter.drawText(QPointF(4, line - 3), title)
        largest = float(self._loads_n.max()) or 1.0
        self._draw_axis(painter, box, line, largest)
        for k in range(len(residuals)):
            x = box.left() + 8 + (box.width() - 16) * float(self._loads_n[k]) / largest
            y = middle - float(residuals[k]) / reach * (box.height() / 2 - 8)
            bar = float(u[k]) / reach * (box.height() / 2 - 8)
            painter.setPen(QPen(QColor(theme.ink), 1))
            painter.drawLine(QPointF(x, y - bar), QPointF(x, y + bar))
            self._draw_mark(painter, QPointF(x, y), test.kinds[k])
            if test.flagged[k]:
                self._draw_flag(painter, QPointF(x, y), self._rows[k] + 1, box)
        painter.end()

    def _draw_axis(self, painter: QPainter, box: QRectF, line: int, largest_n: float) -> None:
        symbol = self._display.unit(FORCE)
        most = significant(largest_n / FORCE.unit(symbol).factor, 3)
        y = box.bottom() + line
        painter.setPen(QColor(theme_for(self.palette()).faint))
        painter.drawText(QPointF(box.left() + 4, y), "0")
        words = translate("springs", "load {most}").format(most=with_unit(most, symbol))
        width = painter.fontMetrics().horizontalAdvance(words)
        painter.drawText(QPointF(box.right() - width, y), words)

    def _draw_mark(self, painter: QPainter, at: QPointF, kind: PointKind) -> None:
        theme = theme_for(self.palette())
        ink = QColor(theme.ink)
        painter.setPen(QPen(ink, 1.6))
        if kind is PointKind.ON_LINE:
            painter.setBrush(ink)
            painter.drawEllipse(at, _MARK_PX - 1, _MARK_PX - 1)
        elif kind is PointKind.CLOSED:
            painter.setBrush(QColor(theme.paper))
            painter.drawRect(QRectF(at.x() - _MARK_PX + 1, at.y() - _MARK_PX + 1,
                                    2 * _MARK_PX - 2, 2 * _MARK_PX - 2))  # fmt: skip
        else:
            for sign in (1, -1):
                painter.drawLine(
                    QPointF(at.x() - _MARK_PX, at.y() - sign * _MARK_PX),
                    QPointF(at.x() + _MARK_PX, at.y() + sign * _MARK_PX),
                )
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _draw_flag(self, painter: QPainter, at: QPointF, number: int, box: QRectF) -> None:
        painter.setPen(QPen(QColor(theme_for(self.palette()).wrong), 1.6))
        painter.drawEllipse(at, 2 * _MARK_PX, 2 * _MARK_PX)
        text = str(number)
        width = painter.fontMetrics().horizontalAdvance(text)
        right = at.x() + 2 * _MARK_PX + 3
        x = right if right + width < box.right() else at.x() - 2 * _MARK_PX - 3 - width
        painter.drawText(QPointF(x, at.y() + painter.fontMetrics().ascent() / 2 - 1), text)
