"""Curves laid over the board for comparison: candidates for the springs, and a band of builds.

In distributor degrees and rev/min, whatever the board shows. A page puts one on the feed
(``feed.show_overlay``); the board paints it until it is taken away.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPolygonF

from bobweight.app.board.inks import Inks, faded, pen
from bobweight.app.board.series import Line
from bobweight.app.store.overlay import Overlay, OverlayCurve

if TYPE_CHECKING:  # pages make overlays, and only the board may draw with pyqtgraph
    from bobweight.app.board.plots import Scale

Array = NDArray[np.float64]


def strong_line(overlay: Overlay, factor: float, x_end: float) -> tuple[str, Line] | None:
    """Words and line, in shown units, of what a label should stand at; None for nothing."""
    for curve in overlay.curves:
        if curve.strong and curve.words:
            return curve.words, _line(curve, factor, x_end)
    for band in overlay.bands:
        if band.words:
            return band.words, Line(band.speed_rpm * factor, band.high_deg * factor)
    return None


def _line(curve: OverlayCurve, factor: float, x_end: float) -> Line:
    x, y = curve.speed_rpm * factor, curve.advance_deg * factor
    if len(x) and x[-1] < x_end:
        x, y = np.append(x, x_end), np.append(y, y[-1])
    return Line(x, y)


def draw_overlay(
    painter: QPainter, scale: Scale, overlay: Overlay, factor: float, x_end: float, inks: Inks
) -> None:
    """Bands below, then the faint curves, then the strong one."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for band in overlay.bands:
        x = band.speed_rpm * factor
        low, high = scale.line(x, band.low_deg * factor), scale.line(x, band.high_deg * factor)
        if band.words:  # the others are their edges alone: two fills would hide each other
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(faded(inks.theme.ink, 0.12))
            painter.drawPolygon(QPolygonF([*low, *reversed(list(high))]))
            painter.setBrush(Qt.BrushStyle.NoBrush)
        dash = (4.0, 3.0) if band.words else (1.0, 3.0)
        painter.setPen(pen(inks.theme.ink, 1.0, dash))
        painter.drawPolyline(low)
        painter.drawPolyline(high)
    for curve in sorted(overlay.curves, key=lambda curve: curve.strong):
        line = _line(curve, factor, x_end)
        strong = curve.strong
        painter.setPen(
            pen(inks.theme.ink, 1.8, (6.0, 2.0, 1.5, 2.0))
            if strong
            else pen(inks.theme.ghost, 1.0, (1.5, 2.5))
        )
        painter.drawPolyline(scale.line(line.x, line.y))
