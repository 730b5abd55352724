"""How readings, check points, verdicts and direct labels are painted on a plot's layer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QPainter, QPen

from bobweight.app.board.inks import Inks
from bobweight.app.board.place import Placed, Wanted
from bobweight.app.board.plots import Scale
from bobweight.app.board.series import Bar, CapsuleSeries, CurveSeries, Marks
from bobweight.app.theme import VERDICT_SIGNS

BAR_HALF_PX = 6.0
HANDLE_PX = 3.4


@dataclass(frozen=True)
class Label:
    """Words that stand beside a point; ``pen`` gives their colour."""

    key: str
    words: str
    x: float
    y: float
    pen: QPen
    toward: tuple[float, float] = (0.0, 0.0)


def draw_branches(
    painter: QPainter, scale: Scale, series: CurveSeries | CapsuleSeries, inks: Inks
) -> None:
    """The falling and the rising curve; one line where they are the same."""
    painter.setBrush(inks.no_fill)
    for line, pen in ((series.falling, inks.falling), (series.rising, inks.rising)):
        if line is not None and not (series.same and pen is inks.falling):
            painter.setPen(pen)
            painter.drawPolyline(scale.line(line.x, line.y))


def draw_bars(
    painter: QPainter, scale: Scale, bars: Sequence[Bar], inks: Inks, hot: int | None, base=None
) -> None:
    """I-shaped bars from least to most with a handle at each end.

    ``base`` is subtracted from the height where given (the strip shows deviations).
    """
    for bar in bars:
        shift = 0.0
        if base is not None:
            if bar.predicted is None:
                continue
            shift = bar.predicted
        x, low, high = scale.x(bar.x), scale.y(bar.low - shift), scale.y(bar.high - shift)
        ends = [y for y in (low, high) if np.isfinite(y)]
        low, high = min(low, scale.height), max(high, 0.0)
        painter.setPen(inks.bar_hot if bar.index == hot else inks.bar)
        lines = [QLineF(x, low, x, high)]
        lines += [QLineF(x - BAR_HALF_PX, y, x + BAR_HALF_PX, y) for y in ends]
        painter.drawLines(lines)
        if base is None:
            painter.setBrush(inks.handle)
            for y in ends:
                painter.drawEllipse(QPointF(x, y), HANDLE_PX, HANDLE_PX)


def draw_readings(
    painter: QPainter,
    scale: Scale,
    marks: Marks,
    y: np.ndarray,
    inks: Inks,
    hot: int | None = None,
    bars: bool = True,
) -> None:
    """Readings with their error bars: shape tells the direction, struck and hollow left out."""
    if not len(marks.row):
        return
    seen = np.flatnonzero(np.isfinite(y))
    x, y = scale.x(marks.x[seen]).tolist(), scale.y(y[seen]).tolist()
    rows, left_out = marks.row[seen].tolist(), marks.left_out[seen].tolist()
    kinds = marks.direction[seen].tolist()
    if bars:
        u_x = (marks.u_x[seen] * scale.per_x).tolist()
        u_y = (marks.u_y[seen] * scale.per_y).tolist()
        used = [i for i, out in enumerate(left_out) if not out]
        lines = [QLineF(x[i], y[i] - u_y[i], x[i], y[i] + u_y[i]) for i in used]
        lines += [QLineF(x[i] - u_x[i], y[i], x[i] + u_x[i], y[i]) for i in used]
        painter.setPen(inks.reading_bar)
        painter.drawLines(lines)
    painter.setPen(inks.reading)
    for at_x, at_y, row, out, kind in zip(x, y, rows, left_out, kinds, strict=True):
        special = out or row == hot
        if special:
            painter.setPen(inks.left_out if out else inks.bar_hot)
        painter.setBrush(inks.no_fill if out else inks.fills[kind])
        painter.translate(at_x, at_y)
        painter.drawPath(inks.marks[kind])
        if out:
            size = inks.theme.mark_px * 0.75
            painter.drawLine(QLineF(-size, size * 0.6, size, -size * 0.6))
        painter.translate(-at_x, -at_y)
        if special:
            painter.setPen(inks.reading)


def draw_verdict(
    painter: QPainter, x: float, y: float, verdict: str, words: str, inks: Inks
) -> float:
    """Sign and word of a verdict, centred on x with its top at y; returns the width in px."""
    text, width, _ = inks.text(f"{VERDICT_SIGNS[verdict]} {words}".rstrip())
    painter.setPen(inks.verdicts[verdict])
    painter.drawStaticText(QPointF(x - width / 2, y), text)
    return width


def wanted(label: Label, scale: Scale, inks: Inks) -> Wanted:
    """The label's size and its point in pixels."""
    _, width, height = inks.text(label.words)
    return Wanted(label.key, width, height, float(scale.x(label.x)), float(scale.y(label.y)),
                  label.toward)  # fmt: skip


def draw_labels(
    painter: QPainter,
    scale: Scale,
    labels: Sequence[Label],
    places: dict[str, Placed],
    inks: Inks,
) -> None:
    """Labels at their places, each on a breath of paper, with a leader where it stands off."""
    painter.setFont(inks.font)
    for label in labels:
        place = places.get(label.key)
        if place is None:
            continue
        text, width, height = inks.text(label.words)
        if place.leader is not None:
            painter.setPen(inks.leader)
            painter.drawLine(QPointF(scale.x(label.x), scale.y(label.y)), QPointF(*place.leader))
        painter.fillRect(QRectF(place.x - 2, place.y, width + 4, height), inks.halo)
        painter.setPen(label.pen)
        painter.drawStaticText(QPointF(place.x, place.y), text)


def nearest(
    marks: Marks, y: np.ndarray, scale: Scale, at: QPointF, within_px: float = 11.0
) -> int | None:
    """Which reading (place in ``marks``) lies under a point, or None."""
    if not len(marks.row):
        return None
    away = np.hypot(scale.x(marks.x) - at.x(), scale.y(y) - at.y())
    away[~np.isfinite(away)] = np.inf
    best = int(np.argmin(away))
    return best if away[best] <= within_px else None


def bar_part(
    bars: Sequence[Bar], scale: Scale, at: QPointF, within_px: float = 10.0
) -> tuple[Bar, str] | None:
    """The check point under a point and its part: ``most``, ``least`` or ``body``."""
    found, best = None, within_px
    for bar in bars:
        x, low, high = scale.x(bar.x), scale.y(bar.low), scale.y(bar.high)
        across = abs(at.x() - x)
        for part, y in (("most", high), ("least", low)):
            away = float(np.hypot(across, at.y() - y))
            if away < best:
                found, best = (bar, part), away
        if found is None and high < at.y() < low and across < within_px * 0.7:
            found, best = (bar, "body"), across + 3.0
    return found
