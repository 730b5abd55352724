"""A small drawing of a mechanism that shows which part is meant."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from bobweight.app.guard import guarded
from bobweight.app.theme import theme_for
from bobweight.app.words import translate

_PLATE = 26.0
_PLACES = {
    "shaft": (0.0, 0.0), "pivot": (17.0, 0.0), "pin": (9.0, -6.5), "foot_pin": (5.5, -9.0),
    "post": (-6.0, 20.0), "peg": (-3.5, 9.0), "stop": (-20.0, -9.0), "cam_mark": (-9.0, 2.5),
    "weight_mark": (14.0, -13.5), "outline": (13.5, -8.0), "rim": (18.4, 18.4),
    "circle": (0.0, 0.0),
}  # fmt: skip
"""Where each part lies in the sketch, mm from the shaft, y up."""


class PartSketch(QWidget):
    """Shaft, plate, one weight, one spring; the part that is asked is ringed."""

    def __init__(self) -> None:
        super().__init__()
        self._part = ""
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(translate("photo", "Drawing of the part that is meant"))

    @guarded
    def sizeHint(self) -> QSize:
        return QSize(220, 132)

    def show_part(self, part: str) -> None:
        """Ring a part; an unknown one or none rings nothing."""
        self._part = part
        self.setVisible(part in _PLACES)
        self.update()

    @guarded
    def paintEvent(self, _event: QPaintEvent) -> None:
        theme = theme_for(self.palette())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.translate(self.width() / 2, self.height() / 2)
        size = min(self.width(), self.height()) / 2 / (_PLATE + 2)
        painter.scale(size, -size)
        ink = QPen(QColor(theme.line), 0.7)
        painter.setPen(ink)
        painter.drawEllipse(QPointF(0, 0), _PLATE, _PLATE)
        painter.drawEllipse(QRectF(6.0, -17.0, 15.0, 20.0))
        for part, radius in (("shaft", 3.0), ("pivot", 1.6), ("pin", 1.3), ("post", 1.4),
                             ("peg", 1.4)):  # fmt: skip
            painter.drawEllipse(QPointF(*_PLACES[part]), radius, radius)
        painter.drawRoundedRect(QRectF(-11.0, -3.0, 22.0, 6.0), 3.0, 3.0)
        painter.drawRect(QRectF(-22.0, -11.0, 3.0, 4.0))
        post, peg = QPointF(*_PLACES["post"]), QPointF(*_PLACES["peg"])
        along = peg - post
        across = QPointF(-along.y(), along.x()) * 0.16
        places = [
            post + along * (0.15 + 0.07 * k) + across * (1 if k % 2 else -1) for k in range(11)
        ]
        painter.drawPolyline([post, *places, peg])
        if self._part in _PLACES:
            painter.setPen(QPen(QColor(theme.accent), 1.6))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            if self._part == "outline":
                painter.drawEllipse(QRectF(6.0, -17.0, 15.0, 20.0))
            else:
                reach = 6.5 if self._part == "circle" else 4.0
                painter.drawEllipse(QPointF(*_PLACES[self._part]), reach, reach)
        painter.end()
