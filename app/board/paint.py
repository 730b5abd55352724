"""Paints a figure on the layers of a view: under the curves, and over them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath

from bobweight.app.board.inks import HATCH_PX, Inks
from bobweight.app.board.plots import PixelScale, PlotArea, draw_line
from bobweight.app.theme import VERDICT_SIGNS
from bobweight.core.figure.description import (
    START_SHARE,
    Bound,
    CheckSpan,
    Dots,
    Event,
    Figure,
    NextMark,
    Trace,
    Zone,
)
from bobweight.core.figure.place import Placed
from bobweight.core.judgement.compare import stretches

BAR_HALF_PX, HANDLE_PX = 6.0, 3.4
RING_PX, TICK_PX, DIAMOND_PX, EDGE_PX = 7.6, 7.0, 6.5, 7.0
LOUD = ("falling", "rising", "altered", "held", "pull-posed")
"""Lines that are drawn over everything else; the others lie under the marks."""


def draw_grid(painter: QPainter, view: PlotArea, scale: PixelScale, inks: Inks) -> None:
    """Fine lines at the major ticks."""
    across, up = view.grid(scale)
    painter.setPen(inks.grid)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    lines = [QLineF(x, 0, x, scale.height) for x in across]
    painter.drawLines(lines + [QLineF(0, y, scale.width, y) for y in up])
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)


def draw_under(
    painter: QPainter, view: PlotArea, scale: PixelScale, figure: Figure, inks: Inks
) -> None:
    """Grid, areas, limits, the quiet lines and the marks of another session."""
    draw_grid(painter, view, scale, inks)
    if figure.y.low < 0.0 < figure.y.high:
        painter.setPen(inks.faint)
        zero = float(scale.y(0.0))
        painter.drawLine(QLineF(0, zero, scale.width, zero))
    _draw_band(painter, scale, figure.gates, inks)
    _draw_zones(painter, scale, figure.zones, inks)
    for bound in figure.bounds:
        _draw_bound(painter, scale, bound, inks)
    draw_traces(painter, scale, (t for t in figure.traces if t.role not in LOUD), inks)
    for dots in figure.dots:
        if dots.role == "other":
            draw_dots(painter, scale, dots, inks)


def _draw_zones(painter: QPainter, scale: PixelScale, zones: Iterable[Zone], inks: Inks) -> None:
    """Areas, each with the filling and the edge of its role. They end where the axis does."""
    painter.save()
    painter.setClipRect(QRectF(0, 0, scale.width, scale.height), Qt.ClipOperation.IntersectClip)
    for zone in zones:
        fill, edge = inks.zone(zone.role)
        low, high = scale.line(zone.x, zone.low), scale.line(zone.x, zone.high)
        if fill is not None:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(fill)
            outline = np.append(zone.x, zone.x[::-1]), np.append(zone.low, zone.high[::-1])
            painter.drawPolygon(scale.line(*outline))
            painter.setBrush(inks.no_fill)
        if edge is not None:
            painter.setPen(edge)
            painter.drawPolyline(low)
            painter.drawPolyline(high)
    painter.restore()


def draw_over(painter: QPainter, scale: PixelScale, figure: Figure, events: Iterable[Event],
              inks: Inks, hot_gate: int | None = None,
              hot_row: int | None = None) -> None:  # fmt: skip
    """The curves, the check points, the readings, and what is told of them; ``hot`` is what the
    hand holds."""
    draw_traces(painter, scale, (t for t in figure.traces if t.role in LOUD), inks)
    draw_gates(painter, scale, figure.gates, inks, hot_gate)
    for dots in figure.dots:
        if dots.role != "other":
            draw_dots(painter, scale, dots, inks, hot_row)
    if figure.next is not None:
        _draw_next(painter, scale, figure.next, inks)
    for event in events:
        _draw_event(painter, scale, event, inks)


def draw_traces(painter: QPainter, scale: PixelScale, traces: Iterable[Trace], inks: Inks) -> None:
    """Lines, each with the pen of its role. They end where the axis does; marks may stand over."""
    painter.save()
    painter.setClipRect(QRectF(0, 0, scale.width, scale.height).adjusted(0, -4, 0, 4),
                        Qt.ClipOperation.IntersectClip)  # fmt: skip
    painter.setBrush(inks.no_fill)
    for trace in traces:
        painter.setPen(inks.trace(trace.role))
        draw_line(painter, scale.x(trace.x), scale.y(trace.y))
    painter.restore()


def _draw_band(
    painter: QPainter, scale: PixelScale, gates: tuple[CheckSpan, ...], inks: Inks
) -> None:
    """The target: filled between check points with both limits, each limit's edge dashed.

    A limit that a check point has not is no limit: nothing is drawn towards the plot's border.
    """
    if len(gates) < 2:
        return
    x = np.array([gate.x for gate in gates])
    bottom, top = scale.value(0, scale.height)[1], scale.value(0, 0)[1]
    ends = [np.array([getattr(gate, end) for gate in gates]) for end in ("low", "high")]
    low, high = (np.clip(end, bottom, top) for end in ends)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(inks.band)
    for run in stretches(np.isfinite(ends[0]) & np.isfinite(ends[1])):
        sides = np.append(x[run], x[run][::-1]), np.append(high[run], low[run][::-1])
        painter.drawPolygon(scale.line(*sides))
    painter.setPen(inks.band_edge)
    painter.setBrush(inks.no_fill)
    for edge, there in zip((low, high), map(np.isfinite, ends), strict=True):
        for run in stretches(there):
            painter.drawPolyline(scale.line(x[run], edge[run]))


def _draw_bound(painter: QPainter, scale: PixelScale, bound: Bound, inks: Inks) -> None:
    """A limit: a line hatched on its forbidden side."""
    painter.setPen(inks.limit)
    hatch = inks.hatched(painter)
    if bound.kind == "start":
        x, foot = float(scale.x(bound.at)), float(scale.y(bound.foot))
        tall = START_SHARE * scale.height
        painter.drawLine(QLineF(x, foot, x, foot - tall))
        painter.fillRect(QRectF(x - HATCH_PX, foot - tall, HATCH_PX, tall), hatch)
    elif bound.kind == "stop":
        x = float(scale.x(bound.at))
        painter.drawLine(QLineF(x, 0, x, scale.height))
        painter.fillRect(QRectF(x, 0, HATCH_PX, scale.height), hatch)
    else:
        y = float(scale.y(bound.at))
        painter.drawLine(QLineF(0, y, scale.width, y))
        painter.fillRect(QRectF(0, y - HATCH_PX, scale.width, HATCH_PX), hatch)


def draw_gates(painter: QPainter, scale: PixelScale, gates: tuple[CheckSpan, ...], inks: Inks,
               hot: int | None = None, handles: bool = True) -> None:  # fmt: skip
    """I-shaped bars from least to most, with a handle at each end that can be dragged."""
    for gate in gates:
        x, low, high = scale.x(gate.x), scale.y(gate.low), scale.y(gate.high)
        ends = [y for y in (low, high) if np.isfinite(y)]
        painter.setPen(inks.bar_hot if gate.index == hot and handles else inks.bar)
        lines = [QLineF(x, min(low, scale.height), x, max(high, 0.0))]
        lines += [QLineF(x - BAR_HALF_PX, y, x + BAR_HALF_PX, y) for y in ends]
        painter.drawLines(lines)
        if handles:
            painter.setBrush(inks.handle)
            for y in ends:
                painter.drawEllipse(QPointF(x, y), HANDLE_PX, HANDLE_PX)


def dot_places(scale: PixelScale, dots: Dots) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Where marks are drawn, in pixels, and which lie beyond the plot and stand at its border."""
    x, y = scale.x(dots.x), scale.y(dots.y)
    inner_x = np.clip(x, EDGE_PX, max(scale.width - EDGE_PX, EDGE_PX))
    inner_y = np.clip(y, EDGE_PX, max(scale.height - EDGE_PX, EDGE_PX))
    beyond = (x < 0) | (x > scale.width) | (y < 0) | (y > scale.height)
    return np.where(beyond, inner_x, x), np.where(beyond, inner_y, y), beyond


def draw_dots(painter: QPainter, scale: PixelScale, dots: Dots, inks: Inks,
              hot: int | None = None) -> None:  # fmt: skip
    """Marks with their error bars: shape tells the kind; struck and hollow are left out; ringed
    look mistaken; an arrow at the border points to one that lies beyond it."""
    if not len(dots):
        return
    reading, places = dots.role == "reading", dot_places(scale, dots)
    if reading:
        u_x, u_y = dots.u_x * scale.per_x, dots.u_y * scale.per_y
        barred = np.isfinite(dots.y) & ~dots.left_out & ~places[2] & (u_y > 0)
        bars = np.stack([*places[:2], u_x, u_y], axis=1)[barred].tolist()
        lines = [QLineF(x, y - v, x, y + v) for x, y, _, v in bars]
        lines += [QLineF(x - u, y, x + u, y) for x, y, u, _ in bars]
        painter.setPen(inks.reading_bar)
        painter.drawLines(lines)
    paths = inks.marks if reading else inks.small_marks
    usual = inks.reading if reading else inks.dots(dots.role)
    painter.setPen(usual)
    given = dots.left_out, dots.kind, dots.row, dots.mistaken
    x, y, beyond, left_out, kinds, rows, mistaken = (a.tolist() for a in (*places, *given))
    for i in np.flatnonzero(np.isfinite(dots.y)).tolist():
        out, kind = left_out[i], kinds[i]
        if out and not reading:
            continue
        special = out or (reading and rows[i] == hot)
        if special:
            painter.setPen(inks.left_out if out else inks.bar_hot)
        painter.setBrush(inks.no_fill if out else inks.fill(kind, reading))
        painter.translate(x[i], y[i])
        painter.drawPath(paths.get(kind, paths["unknown"]))
        if out:
            size = inks.theme.mark_px * 0.75
            painter.drawLine(QLineF(-size, size * 0.6, size, -size * 0.6))
        if mistaken[i]:
            painter.setPen(inks.ring)
            painter.setBrush(inks.no_fill)
            painter.drawEllipse(QPointF(0.0, 0.0), RING_PX, RING_PX)
            special = True
        if beyond[i]:
            _draw_arrow(painter, scale.x(float(dots.x[i])) - x[i], scale.y(float(dots.y[i])) - y[i])
        painter.translate(-x[i], -y[i])
        if special:
            painter.setPen(usual)


def _draw_arrow(painter: QPainter, dx: float, dy: float) -> None:
    """From a mark at the border towards where it belongs."""
    long = max(float(np.hypot(dx, dy)), 1e-9)
    dx, dy = 12.0 * dx / long, 12.0 * dy / long
    painter.drawLine(QLineF(-0.3 * dx, -0.3 * dy, -1.6 * dx, -1.6 * dy))


def _draw_next(painter: QPainter, scale: PixelScale, mark: NextMark, inks: Inks) -> None:
    """A bracket from one expectation to the other, with an open diamond between."""
    x = float(scale.x(mark.x))
    heights = [float(scale.y(y)) for _, y in mark.expected]
    painter.setPen(inks.next_foot)
    painter.drawLine(QLineF(x, scale.height, x, max(heights)))
    painter.setPen(inks.next)
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


def _draw_event(painter: QPainter, scale: PixelScale, event: Event, inks: Inks) -> None:
    x, y = scale.x(event.x), scale.y(event.y)
    if event.kind == "take-up":
        painter.setPen(inks.faint)
        painter.setBrush(inks.no_fill)
        painter.drawEllipse(QPointF(x, y), 3.5, 3.5)
        return
    painter.setPen(inks.jump)
    across, up = (4.0, 0.0) if event.kind == "jump" else (0.0, 4.0)
    for px, py in ((x, y), (scale.x(event.x_to), scale.y(event.y_to))):
        painter.drawLine(QLineF(px - across, py - up, px + across, py + up))


def verdict_text(verdict: str, words: str = "") -> str:
    """Sign and word of a verdict as written."""
    return f"{VERDICT_SIGNS[verdict]} {words}".rstrip()


def draw_verdict(painter: QPainter, x: float, y: float, verdict: str, words: str,
                 inks: Inks) -> float:  # fmt: skip
    """Sign and word of a verdict, centred on x with its top at y; returns the width in px."""
    text, width, _ = inks.text(verdict_text(verdict, words))
    painter.setPen(inks.verdicts[verdict])
    painter.drawStaticText(QPointF(x - width / 2, y), text)
    return width


def draw_labels(painter: QPainter, figure: Figure, texts: Mapping[str, str],
                places: Mapping[str, Placed], inks: Inks) -> None:  # fmt: skip
    """Words at their places, with a leader where they stand off. Nothing is cleared under them: a
    place is chosen so that nothing need be."""
    painter.setFont(inks.font)
    unit = inks.line_px
    for label in figure.labels:
        placed = places.get(label.key)
        if placed is None:
            continue
        if placed.leader is not None:
            (x0, y0), (x1, y1) = placed.leader
            painter.setPen(inks.leader)
            painter.drawLine(QLineF(x0 * unit, y0 * unit, x1 * unit, y1 * unit))
        text, _, _ = inks.text(texts[label.key])
        painter.setPen(inks.word(label.role))
        painter.drawStaticText(QPointF(placed.x * unit, placed.y * unit), text)


_NEAR_MARK_PX, _NEAR_GATE_PX = 11.0, 10.0


def nearest(scale: PixelScale, dots: Dots, at: QPointF) -> int | None:
    """Which mark (place in ``dots``) is drawn under a point, or None."""
    if not len(dots):
        return None
    x, y, _ = dot_places(scale, dots)
    away = np.hypot(x - at.x(), y - at.y())
    away[~np.isfinite(away)] = np.inf
    best = int(np.argmin(away))
    return best if away[best] <= _NEAR_MARK_PX else None


def gate_part(
    scale: PixelScale, gates: tuple[CheckSpan, ...], at: QPointF
) -> tuple[CheckSpan, str] | None:
    """The check point under a point and its part: ``most``, ``least`` or ``body``."""
    found, best = None, _NEAR_GATE_PX
    for gate in gates:
        x, low, high = scale.x(gate.x), scale.y(gate.low), scale.y(gate.high)
        across = abs(at.x() - x)
        for part, y in (("most", high), ("least", low)):
            away = float(np.hypot(across, at.y() - y))
            if away < best:
                found, best = (gate, part), away
        if found is None and high < at.y() < low and across < _NEAR_GATE_PX * 0.7:
            found, best = (gate, "body"), across + 3.0
    return found
