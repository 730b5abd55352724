"""The total at the crank over engine speed and depression: contours, and what is forbidden."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPainterPath, QPen, QTransform

from bobweight.app.board.figure_plot import FigurePlot
from bobweight.app.board.inks import Inks
from bobweight.app.board.plots import PixelScale
from bobweight.app.words import translate
from bobweight.core.figure.description import Figure, Surface
from bobweight.core.figure.numbers import short

MOST_SHADE = 0.3
_HATCH_PX = 16.0  # a large area, with lines and words over it


class TotalMap(FigurePlot):
    """Contours of equal total, each with its degrees; driving states as named points."""

    MOST_HEIGHTS = 7.0  # the lines are close

    def __init__(self) -> None:
        self._contours: list[tuple[float, QPainterPath]] = []
        self._ceiling: list[tuple[float, QPainterPath]] = []
        self._above: QPainterPath | None = None
        self._shade: QImage | None = None
        super().__init__()
        self.setAccessibleName(translate("Board", "Total advance over speed and depression"))

    def show_map(self, figure: Figure | None) -> None:
        """Show another map; None where there is no predicted curve."""
        self._contours, self._ceiling, self._above, self._shade = [], [], None, None
        if figure is None or figure.surface is None:
            self.figure = None
            self.update_views()
            return
        surface = figure.surface
        ceiling = surface.ceiling
        self._contours = _contours(surface, [n for n in surface.levels if n != ceiling])
        if ceiling is not None:
            self._ceiling = _contours(surface, [ceiling])
            self._above = _above(surface, ceiling)
        self._shade = _shade(surface, self.inks.theme.rising)
        self.show_figure(figure)
        self.update_views()

    def _shaded(self, scale: PixelScale) -> QRectF:
        """The rectangle of the grid, in pixels."""
        assert self.figure is not None and self.figure.surface is not None
        x, y = self.figure.surface.x, self.figure.surface.y
        corner = QPointF(scale.x(float(x[0])), scale.y(float(y[-1])))
        return QRectF(corner, QPointF(scale.x(float(x[-1])), scale.y(float(y[0]))))

    def draw_between(self, painter: QPainter, scale: PixelScale) -> None:
        inks, to_px = self.inks, _to_px(scale)
        if self._shade is not None:
            painter.drawImage(self._shaded(scale), self._shade)
        if self._above is not None:
            room = QPainterPath()
            room.addRect(0.0, 0.0, scale.width, scale.height)
            above = to_px.map(self._above).intersected(room)
            painter.fillPath(above, inks.hatched(painter, _HATCH_PX))
        painter.setBrush(inks.no_fill)
        lines = self._lines(to_px)
        names = _names(lines, scale, inks)
        gaps = QPainterPath()
        for box, _ in names:
            gaps.addRect(box)
        whole = QPainterPath()
        whole.addRect(QRectF(0, 0, scale.width, scale.height))
        painter.save()
        painter.setClipPath(whole.subtracted(gaps), Qt.ClipOperation.IntersectClip)
        for _, path, pen in lines:
            painter.setPen(pen)
            painter.drawPath(path)
        painter.restore()
        painter.setPen(inks.ink)
        for box, words in names:
            painter.drawStaticText(box.topLeft() + QPointF(3, 0), inks.text(words)[0])

    def taken(self, scale: PixelScale) -> list[QRectF]:
        """Where the degrees of the contours stand."""
        return [box for box, _ in _names(self._lines(_to_px(scale)), scale, self.inks)]

    def _lines(self, to_px: QTransform) -> list[tuple[str, QPainterPath, QPen]]:
        """The ceiling and the contours: name, path in pixels, pen."""
        said = translate("Board", "ceiling {0}°")
        return [
            *((said.format(short(level)), to_px.map(path), self.inks.ceiling)
              for level, path in self._ceiling),
            *((f"{short(level)}°", to_px.map(path), self.inks.contour)
              for level, path in self._contours),
        ]  # fmt: skip


def _to_px(scale: PixelScale) -> QTransform:
    """From shown units to pixels."""
    return QTransform(scale.per_x, 0, 0, -scale.per_y, float(scale.x(0.0)), float(scale.y(0.0)))


def _names(lines: Sequence[tuple[str, QPainterPath, QPen]], scale: PixelScale,
           inks: Inks) -> list[tuple[QRectF, str]]:  # fmt: skip
    """Where the degrees of each line stand: in a gap of it, as on a chart."""
    whole = QRectF(0, 0, scale.width, scale.height)
    found: list[tuple[QRectF, str]] = []
    for words, path, _ in lines:
        _, width, height = inks.text(words)
        for share in (0.72, 0.6, 0.84, 0.45, 0.3, 0.15):
            at = path.pointAtPercent(share)
            box = QRectF(at.x() - width / 2 - 3, at.y() - height / 2, width + 6, height)
            if whole.contains(box) and not any(box.intersects(other) for other, _ in found):
                found.append((box, words))
                break
    return found


def _contours(surface: Surface, levels: Sequence[float]) -> list[tuple[float, QPainterPath]]:
    """Paths in shown units, each level with its own; none where the map does not reach it."""
    to_x, to_y = surface.x[1] - surface.x[0], surface.y[1] - surface.y[0]
    back = QTransform(to_x, 0, 0, to_y, surface.x[0] - 0.5 * to_x, surface.y[0] - 0.5 * to_y)
    found = []
    for level in levels:
        path = pg.functions.isocurve(surface.height, level + 1e-6, connected=True, path=True)
        if not path.isEmpty():
            found.append((level, back.map(path)))
    return found


def _shade(surface: Surface, colour: str) -> QImage:
    """The deeper the more advance, a step a contour; a pixel a point of the grid, top row first."""
    steps = np.searchsorted(surface.levels, surface.height) / max(len(surface.levels), 1)
    tint = QColor(colour)
    pixels = np.empty((*steps.T.shape, 4), dtype=np.uint8)
    pixels[..., :3] = tint.red(), tint.green(), tint.blue()
    pixels[..., 3] = np.round(255 * MOST_SHADE * steps.T[::-1])
    height, width = steps.T.shape
    made = QImage(pixels.tobytes(), width, height, 4 * width, QImage.Format.Format_RGBA8888)
    return made.copy()


def _above(surface: Surface, level: float) -> QPainterPath:
    """The cells of the grid that lie above a level, in shown units."""
    path = QPainterPath()
    to_y = float(surface.y[1] - surface.y[0])
    to_x = float(surface.x[1] - surface.x[0])
    for i, column in enumerate(surface.height > level):
        runs = [j for j, above in enumerate(column) if above]
        if runs:  # the total grows with the depression: one run a column
            x, y = float(surface.x[i]), float(surface.y[runs[0]])
            path.addRect(QRectF(x - to_x / 2, y, to_x, to_y * (len(runs) - 1)))
    return path
