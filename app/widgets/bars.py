"""Shares as painted bars, each with its name and its number in words beside it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from bobweight.app.guard import guarded
from bobweight.app.theme import theme_for
from bobweight.core.frozen import frozen


@frozen
class Bar:
    """One bar: its name, its share of the whole (0…1), a second share that it reaches to (its
    outline), and the number as written."""

    name: str
    share: float
    reach: float
    number: str


class Bars(QWidget):
    """A bar a line: the name above, the filled share and the outlined reach, the number beside."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.bars: tuple[Bar, ...] = ()
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.hide()

    def show_bars(self, bars: Sequence[Bar]) -> None:
        """Show these; none hides the widget."""
        self.bars = tuple(bars)
        self.setAccessibleDescription("; ".join(f"{bar.name}: {bar.number}" for bar in bars))
        self.setVisible(bool(bars))
        self.updateGeometry()
        self.update()

    def _line(self) -> int:
        return self.fontMetrics().lineSpacing()

    @guarded
    def sizeHint(self) -> QSize:
        return QSize(240, len(self.bars) * (2 * self._line() + 4) + 4)

    @guarded
    def paintEvent(self, _event: QPaintEvent) -> None:
        theme = theme_for(self.palette())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        metrics, line = painter.fontMetrics(), self._line()
        number = max((metrics.horizontalAdvance(bar.number) for bar in self.bars), default=0)
        room = max(self.width() - number - 14, 20)
        for index, bar in enumerate(self.bars):
            y = 2 + index * (2 * line + 4)
            painter.setPen(QColor(theme.ink))
            name = metrics.elidedText(bar.name, Qt.TextElideMode.ElideRight, self.width() - 2)
            painter.drawText(QRectF(0, y, self.width(), line), Qt.AlignmentFlag.AlignLeft, name)
            top, tall = y + line + 2, line - 6
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(theme.grid))
            painter.drawRect(QRectF(0, top, room, tall))
            painter.setBrush(QColor(theme.accent))
            painter.drawRect(QRectF(0, top, room * min(max(bar.share, 0.0), 1.0), tall))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(theme.ink), 1.2))
            painter.drawRect(QRectF(0, top, room * min(max(bar.reach, 0.0), 1.0), tall))
            painter.drawText(
                QRectF(room + 8, y + line - 1, number + 6, line), Qt.AlignmentFlag.AlignLeft,
                bar.number,
            )  # fmt: skip
        painter.end()


class ProbabilityBar(QWidget):
    """A probability as a length between two end marks; the word and the number stand beside it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._share = 0.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_share(self, share: float, said: str) -> None:
        """Show this share; ``said`` is the same in words, for the ear."""
        self._share = min(max(share, 0.0), 1.0)
        self.setAccessibleName(said)
        self.update()

    @guarded
    def sizeHint(self) -> QSize:
        return QSize(120, max(self.fontMetrics().lineSpacing() // 2, 9))

    @guarded
    def paintEvent(self, _event: QPaintEvent) -> None:
        theme = theme_for(self.palette())
        painter = QPainter(self)
        whole = QRectF(0.5, 0.5, self.width() - 1, self.height() - 1)
        painter.fillRect(whole, QColor(theme.paper))
        done = QRectF(whole)
        done.setWidth(max(whole.width() * self._share, 1.5))
        painter.fillRect(done, QColor(theme.accent))
        painter.setPen(QPen(QColor(theme.line), 1.0))
        painter.drawRect(whole)
        painter.end()
