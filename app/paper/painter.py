"""Paints a page description on any paint device, at true size."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPen, QPolygonF

from bobweight.app.paper.type import FINE_DPI, FontRuler, page_font
from bobweight.core.sheet.description import (
    Element,
    Line,
    Marks,
    PaperPage,
    Paragraph,
    Picture,
    Point,
    Polygon,
    Polyline,
    Rect,
    Text,
)

MM_PER_INCH = 25.4


def paint_page(painter: QPainter, page: PaperPage, dots_per_inch: float) -> None:
    """Paint a page from the device's origin; one mm of the page is one mm of the device.

    Everything is set out in fine units and scaled to the device, so that text keeps its measured
    width on a coarse screen, where Qt would round the advance of each letter to whole dots.

    Parameters
    ----------
    painter : QPainter
        Begun on a device of this resolution.
    dots_per_inch : float
        Device units in an inch; fonts are in points, so it must be the device's own.
    """
    painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
    painter.save()
    painter.scale(dots_per_inch / FINE_DPI, dots_per_inch / FINE_DPI)
    hand = _Hand(painter, dots_per_inch)
    for element in page.elements:
        hand.paint(element)
    painter.restore()


class _Hand:
    """Paints one element after another, in fine units."""

    def __init__(self, painter: QPainter, dots_per_inch: float) -> None:
        self._painter = painter
        self._scale = FINE_DPI / MM_PER_INCH
        self._per_pt = FINE_DPI / dots_per_inch  # Qt turns points into dots of the device
        self._ruler = FontRuler()

    def paint(self, element: Element) -> None:
        _PAINT[type(element)](self, element)

    def text(self, text: Text) -> None:
        words, size_pt = self._ruler.fitted(text)
        width = self._ruler.width_mm(words, size_pt, text.bold)
        left = -width * {"left": 0.0, "centre": 0.5, "right": 1.0}[text.align]
        self._painter.save()
        self._painter.translate(self._point((text.x_mm, text.y_mm)))
        self._painter.rotate(-text.angle_deg)
        if text.backing:
            tall = size_pt * MM_PER_INCH / 72
            box = (left - 0.4, -0.85 * tall, width + 0.8, 1.1 * tall)
            self._painter.fillRect(QRectF(*(v * self._scale for v in box)), Qt.GlobalColor.white)
        self._write(left * self._scale, 0.0, words, size_pt, text.bold, text.italic)
        self._painter.restore()

    def paragraph(self, paragraph: Paragraph) -> None:
        lines = self._ruler.broken(paragraph.text, paragraph.size_pt, paragraph.width_mm)
        if len(lines) > paragraph.lines:
            rest = " ".join(lines[paragraph.lines - 1 :])
            lines = lines[: paragraph.lines - 1]
            lines.append(self._ruler.shortened(rest, paragraph.size_pt, False, paragraph.width_mm))
        for index, line in enumerate(lines):
            line = self._ruler.shortened(line, paragraph.size_pt, False, paragraph.width_mm)
            at = self._point((paragraph.x_mm, paragraph.y_mm + index * paragraph.leading_mm))
            self._write(at.x(), at.y(), line, paragraph.size_pt)

    def _write(self, x: float, y: float, words: str, size_pt: float, bold: bool = False,
               italic: bool = False) -> None:  # fmt: skip
        self._painter.setPen(Qt.GlobalColor.black)
        self._painter.setFont(page_font(size_pt * self._per_pt, bold, italic))
        self._painter.drawText(QPointF(x, y), words)

    def line(self, line: Line) -> None:
        self._pen(line.width_mm, line.dash, line.grey)
        self._painter.drawLine(
            self._point((line.x1_mm, line.y1_mm)), self._point((line.x2_mm, line.y2_mm))
        )

    def polyline(self, line: Polyline) -> None:
        self._pen(line.width_mm, line.dash, line.grey, joined=True)
        self._painter.drawPolyline(self._polygon(line.points))

    def polygon(self, area: Polygon) -> None:
        self._outline(area.width_mm)
        self._painter.setBrush(_grey(area.grey))
        self._painter.drawPolygon(self._polygon(area.points))

    def rect(self, rect: Rect) -> None:
        self._outline(rect.line_mm)
        self._painter.setBrush(Qt.BrushStyle.NoBrush if rect.grey is None else _grey(rect.grey))
        self._painter.drawRect(
            QRectF(self._point((rect.x_mm, rect.y_mm)),
                   self._point((rect.x_mm + rect.width_mm, rect.y_mm + rect.height_mm)))
        )  # fmt: skip

    def marks(self, marks: Marks) -> None:
        self._pen(marks.line_mm, (), 0.0)
        black = marks.filled or marks.shape == "disc"
        self._painter.setBrush(Qt.GlobalColor.black if black else Qt.GlobalColor.white)
        half = marks.size_mm / 2 * self._scale
        for point in marks.points:
            at = self._point(point)
            if marks.shape in ("ring", "disc"):
                self._painter.drawEllipse(at, 0.9 * half, 0.9 * half)
            elif marks.shape in _CLOSED:
                self._painter.drawPolygon(_shape(_CLOSED[marks.shape], at, half))
            else:
                for stroke in _STROKES[marks.shape]:
                    self._painter.drawPolyline(_shape(stroke, at, half))

    def picture(self, picture: Picture) -> None:
        area = QRectF(self._point((picture.x_mm, picture.y_mm)),
                      self._point((picture.x_mm + picture.width_mm,
                                   picture.y_mm + picture.height_mm)))  # fmt: skip
        image = QImage.fromData(picture.data)
        if not image.isNull():  # what cannot be read leaves its place empty
            self._painter.save()
            self._painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            self._painter.drawImage(area, image)
            self._painter.restore()

    def _outline(self, width_mm: float) -> None:
        if width_mm:
            self._pen(width_mm, (), 0.0)
        else:
            self._painter.setPen(Qt.PenStyle.NoPen)

    def _pen(self, width_mm: float, dash: tuple[float, ...], grey: float,
             joined: bool = False) -> None:  # fmt: skip
        pen = QPen(_grey(grey), width_mm * self._scale)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin if joined else Qt.PenJoinStyle.MiterJoin)
        if dash:  # Qt counts dashes in widths of the pen
            pen.setDashPattern([length / width_mm for length in dash])
        self._painter.setPen(pen)
        self._painter.setBrush(Qt.BrushStyle.NoBrush)

    def _point(self, point: Point) -> QPointF:
        return QPointF(point[0] * self._scale, point[1] * self._scale)

    def _polygon(self, points: tuple[Point, ...]) -> QPolygonF:
        return QPolygonF([self._point(p) for p in points])


_PAINT: dict[type, Callable[[_Hand, Any], None]] = {
    Text: _Hand.text,
    Paragraph: _Hand.paragraph,
    Line: _Hand.line,
    Polyline: _Hand.polyline,
    Polygon: _Hand.polygon,
    Rect: _Hand.rect,
    Marks: _Hand.marks,
    Picture: _Hand.picture,
}

# Shapes in halves of the size, y downwards
_CLOSED = {
    "up": ((0.0, -1.0), (1.0, 0.8), (-1.0, 0.8)),
    "down": ((0.0, 1.0), (1.0, -0.8), (-1.0, -0.8)),
    "square": ((-0.85, -0.85), (0.85, -0.85), (0.85, 0.85), (-0.85, 0.85)),
    "diamond": ((0.0, -1.1), (1.1, 0.0), (0.0, 1.1), (-1.1, 0.0)),
}
_STROKES = {
    "cross": (((-0.8, -0.8), (0.8, 0.8)), ((-0.8, 0.8), (0.8, -0.8))),
    "tick": (((-0.8, 0.1), (-0.2, 0.7), (0.9, -0.8)),),
    "query": (
        (
            (-0.55, -0.45),
            (-0.42, -0.82),
            (-0.05, -1.0),
            (0.35, -0.88),
            (0.52, -0.52),
            (0.38, -0.2),
            (0.05, 0.05),
            (0.0, 0.4),
        ),
        ((0.0, 0.65), (0.0, 1.0)),
    ),
}


def _shape(points: tuple[Point, ...], at: QPointF, half: float) -> QPolygonF:
    return QPolygonF([QPointF(at.x() + x * half, at.y() + y * half) for x, y in points])


def _grey(grey: float) -> QColor:
    return QColor.fromRgbF(grey, grey, grey)
