"""How the fitted curve, an alteration's preview, the next reading, slips and the readings of
another session are painted. All are told by shape and words as well as by colour."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QCoreApplication, QLineF, QPointF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPolygonF

from bobweight.app.board.decision_series import DecisionSeries, NextMark
from bobweight.app.board.inks import Inks, faded, mark_paths, pen
from bobweight.app.board.marks import Label
from bobweight.app.board.place import resampled
from bobweight.app.board.plots import Scale
from bobweight.app.board.series import Line, Marks

translate = QCoreApplication.translate
RING_PX = 9.5
TICK_PX = 7.0
DIAMOND_PX = 6.5
SMALL_SHARE = 0.72
"""Marks of the other session, as a share of those of the session shown."""


def draw_below(painter: QPainter, scale: Scale, series: DecisionSeries, inks: Inks) -> None:
    """The quiet part: the band of the fitted curve, the curve, and the other session's marks."""
    painter.setBrush(inks.no_fill)
    if series.band is not None:
        band = series.band
        low, high = scale.line(band.x, band.low), scale.line(band.x, band.high)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(faded(inks.theme.jump, 0.15))
        painter.drawPolygon(QPolygonF([*list(low), *list(high)[::-1]]))
        painter.setBrush(inks.no_fill)
    if series.fitted is not None:
        painter.setPen(pen(inks.theme.jump, 1.4, (8.0, 3.0, 1.5, 3.0)))
        painter.drawPolyline(scale.line(series.fitted.x, series.fitted.y))
    _draw_other(painter, scale, series.other, inks)


def draw_above(
    painter: QPainter, scale: Scale, series: DecisionSeries, marks: Marks, inks: Inks
) -> None:
    """The preview of an alteration, rings about slips, and where to take the next reading."""
    painter.setBrush(inks.no_fill)
    if series.preview is not None:
        painter.setPen(pen(inks.theme.accent, 2.2, (6.0, 2.0, 1.5, 2.0)))
        painter.drawPolyline(scale.line(series.preview.x, series.preview.y))
    painter.setPen(pen(inks.theme.wrong, 1.8))
    for x, y in _slip_points(series, marks):
        painter.drawEllipse(QPointF(scale.x(x), scale.y(y)), RING_PX, RING_PX)
    if series.next is not None:
        _draw_next(painter, scale, series.next, inks)


def _draw_next(painter: QPainter, scale: Scale, mark: NextMark, inks: Inks) -> None:
    """A bracket from one expectation to the other, with an open diamond between."""
    x = float(scale.x(mark.x))
    heights = [float(scale.y(y)) for _, y in mark.expected]
    painter.setPen(pen(inks.theme.advice, 1.2, (2.0, 3.0)))
    painter.drawLine(QLineF(x, scale.height, x, max(heights)))
    painter.setPen(pen(inks.theme.advice, 2.2))
    painter.drawLine(QLineF(x, min(heights), x, max(heights)))
    for y in heights:
        painter.drawLine(QLineF(x - TICK_PX, y, x + TICK_PX, y))
    middle = float(scale.y(mark.middle))
    path = QPainterPath(QPointF(x, middle - DIAMOND_PX))
    for dx, dy in ((DIAMOND_PX, 0), (0, DIAMOND_PX), (-DIAMOND_PX, 0)):
        path.lineTo(x + dx, middle + dy)
    path.closeSubpath()
    painter.setBrush(inks.handle)
    painter.drawPath(path)
    painter.setBrush(inks.no_fill)


def _draw_other(painter: QPainter, scale: Scale, marks: Marks, inks: Inks) -> None:
    """Smaller, hollow, grey marks of the same shapes."""
    if not len(marks.row):
        return
    paths = mark_paths(inks.theme.mark_px * SMALL_SHARE)
    painter.setPen(pen(inks.theme.faint, 1.2))
    painter.setBrush(inks.handle)
    used = ~marks.left_out & np.isfinite(marks.y)
    for x, y, kind in zip(scale.x(marks.x[used]), scale.y(marks.y[used]), marks.direction[used],
                          strict=True):  # fmt: skip
        painter.translate(float(x), float(y))
        painter.drawPath(paths[str(kind)])
        painter.translate(-float(x), -float(y))
    painter.setBrush(inks.no_fill)


def _slip_points(series: DecisionSeries, marks: Marks) -> list[tuple[float, float]]:
    if not series.slips or not len(marks.row):
        return []
    chosen = np.isin(marks.row, list(series.slips)) & np.isfinite(marks.y)
    return list(zip(marks.x[chosen].tolist(), marks.y[chosen].tolist(), strict=True))


def labels(series: DecisionSeries, marks: Marks, inks: Inks, titles: dict[str, str]) -> list[Label]:
    """The words that stand at each part; ``titles`` names the explanations."""
    found = []
    if series.next is not None:
        found += _next_labels(series.next, inks, titles)
    for number, (x, y) in enumerate(_slip_points(series, marks)[:3]):
        words = translate("Board", "looks like a slip")
        found.append(Label(f"slip{number}", words, x, y, pen(inks.theme.wrong), (1, 1)))
    if series.preview is not None:
        words = translate("Board", "after the alteration")
        found.append(_at(series.preview, "preview", words, 0.78, pen(inks.theme.accent), (1, 1)))
    if series.fitted is not None:
        words = translate("Board", "fitted to the readings,\nwith its 95 % band")
        found.append(_at(series.fitted, "fitted", words, 0.5, pen(inks.theme.jump), (-1, -1)))
    if len(series.other.row) and series.other_words:
        other = series.other
        used = np.flatnonzero(~other.left_out & np.isfinite(other.y))
        if len(used):
            order = used[np.argsort(other.x[used])]
            i = order[int(0.7 * (len(order) - 1))]
            spot = float(other.x[i]), float(other.y[i])
            found.append(Label("other", series.other_words, *spot, pen(inks.theme.faint), (1, 1)))
    return found


def _next_labels(mark: NextMark, inks: Inks, titles: dict[str, str]) -> list[Label]:
    ink = pen(inks.theme.advice)
    falling = mark.direction == "falling"
    words = (
        translate("Board", "next reading,\nfalling") if falling
        else translate("Board", "next reading,\nrising")
    )  # fmt: skip
    found = [Label("next", words, mark.x, mark.middle, ink, (1, 0.2))]
    for number, (name, y) in enumerate(mark.expected):
        up = -1.0 if y == max(v for _, v in mark.expected) else 1.0
        text = translate("Board", "if {0}").format(titles.get(name, name))
        found.append(Label(f"next{number}", text, mark.x, y, ink, (0.4, up)))
    return found


def _at(line: Line, key: str, words: str, share: float, ink, toward) -> Label:
    y = share * float(line.y[-1])
    i = min(int(np.searchsorted(line.y, y)), len(line.x) - 1)
    return Label(key, words, float(line.x[i]), float(line.y[i]), ink, toward)


def rings(scale: Scale, series: DecisionSeries, marks: Marks) -> list[tuple[float, ...]]:
    """Places taken by the rings about slips; labels keep a few pixels off besides. To the right
    there is room for the ring's own words close by."""
    return [
        (float(scale.x(x)) - 14.0, float(scale.y(y)) - 8.0, 18.0, 16.0)
        for x, y in _slip_points(series, marks)
    ]


def obstacles(scale: Scale, series: DecisionSeries) -> list[np.ndarray]:
    """Points that labels should keep off."""
    found = [
        resampled(scale.x(line.x), scale.y(line.y))
        for line in (series.fitted, series.preview)
        if line is not None
    ]
    other = series.other
    if len(other.row):
        found.append(np.column_stack([scale.x(other.x), scale.y(other.y)]))
    if series.next is not None:
        heights = [float(scale.y(y)) for _, y in series.next.expected]
        y = np.arange(min(heights), scale.height, 9.0)
        found.append(np.column_stack([np.full(len(y), scale.x(series.next.x)), y]))
    return found
