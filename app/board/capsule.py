"""Advance of the breaker plate against depression."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter

from bobweight.app.board import paint
from bobweight.app.board.drags import Grip
from bobweight.app.board.figure_plot import FigurePlot
from bobweight.app.board.plots import PixelScale
from bobweight.app.words import translate
from bobweight.core.figure.description import Figure
from bobweight.core.figure.numbers import figure as written
from bobweight.core.figure.numbers import short
from bobweight.core.figure.place import dense
from bobweight.core.problems import required

SIGN_PX = 22.0


class CapsulePlot(FigurePlot):
    """The capsule's curve, its target and the readings taken with the pipe on."""

    GATE, READING = "vacuum", "vacuum reading"

    def __init__(self) -> None:
        self.empty_words = ""
        self.unit = "kPa"
        super().__init__()
        self.setAccessibleName(translate("Board", "Advance against depression"))

    def show_vacuum(self, figure: Figure, unit: str, empty_words: str = "") -> None:
        """Show another figure in a unit; ``empty_words`` say why there is no curve."""
        if empty_words != self.empty_words:
            self.empty_words = empty_words
            self.update_views()
        self.unit = unit
        self.show_figure(figure)

    # Painting

    def draw_between(self, painter: QPainter, scale: PixelScale) -> None:
        """Why there is no curve, on paper of its own, where it covers least."""
        if self.figure is None or self.figure.trace("rising") or not self.empty_words:
            return
        readings, band = _shown(scale, self.figure)
        best: tuple[float, QRectF, Qt.AlignmentFlag, QRectF] | None = None
        for room, across in _rooms(scale):
            flags = across | Qt.AlignmentFlag.AlignBottom | Qt.TextFlag.TextWordWrap
            taken = painter.boundingRect(room, flags, self.empty_words)
            if best is None or taken.width() <= room.width():  # no word is wider than the room
                around = taken.adjusted(-8, -6, 8, 6)
                covered = 10 * _covered(around, readings) + _covered(around, band)
                if best is None or covered < best[0]:
                    best = covered, room, flags, taken
        _, room, flags, taken = required(best)
        painter.fillRect(taken.adjusted(-6, -2, 6, 2), QColor(self.inks.theme.paper))
        painter.setPen(self.inks.faint)
        painter.drawText(room, flags, self.empty_words)

    def draw_signs(self, painter: QPainter, scale: PixelScale) -> None:
        """The verdict's sign over each check point; the word is in its tip."""
        for gate, box in zip(self.shown.gates, self.taken(scale), strict=True):
            x, top = box.center().x(), box.top()
            paint.draw_verdict(painter, x, top, gate.verdict, "", self.inks)

    def taken(self, scale: PixelScale) -> list[QRectF]:
        """Where each check point's sign stands."""
        boxes = []
        for gate in self.shown.gates:
            _, wide, tall = self.inks.text(paint.verdict_text(gate.verdict))
            top = max(max(float(scale.y(gate.high)), 0.0) - SIGN_PX, 0.0)
            boxes.append(QRectF(float(scale.x(gate.x)) - wide / 2, top, wide, tall))
        return boxes

    # The mouse

    def place_words(self, x: float) -> str:
        return f"{short(x, 1)}\N{NO-BREAK SPACE}{self.unit}"

    def reading_tip(self, grip: Grip) -> str:
        words = translate("Board", "Reading {0}: {1}, {2}°. Drag to correct it.")
        return words.format(grip.index + 1, self.place_words(grip.x), written(grip.y))


def _rooms(scale: PixelScale) -> Iterator[tuple[QRectF, Qt.AlignmentFlag]]:
    """Rooms for words along the lower edge, the widest first, with their alignment across."""
    for share in (1.0, 0.75, 0.6):
        width = (scale.width - 8.0) * share
        for across, left in (
            (Qt.AlignmentFlag.AlignHCenter, (scale.width - width) / 2),
            (Qt.AlignmentFlag.AlignRight, scale.width - 4.0 - width),
            (Qt.AlignmentFlag.AlignLeft, 4.0),
        ):
            yield QRectF(left, 0.0, width, scale.height - 6.0), across


def _shown(scale: PixelScale, figure: Figure) -> tuple[np.ndarray, np.ndarray]:
    """Points of the readings and points along the band's edges: each (N, 2), pixels."""
    x = scale.x(np.array([gate.x for gate in figure.gates]))
    edges = [np.array([getattr(gate, end) for gate in figure.gates]) for end in ("low", "high")]
    band = np.vstack([dense(np.column_stack([x, scale.y(edge)]), 7.0) for edge in edges])
    readings = figure.marks()
    return np.column_stack([scale.x(readings.x), scale.y(readings.y)]), band


def _covered(area: QRectF, points: np.ndarray) -> int:
    """How many points lie in an area."""
    x, y = points.T
    inside = (x > area.left()) & (x < area.right()) & (y > area.top()) & (y < area.bottom())
    return int(inside.sum())
