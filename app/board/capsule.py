"""Advance of the breaker plate against depression."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter
from PySide6.QtWidgets import QWidget

from bobweight.app.board import decision_paint
from bobweight.app.board.decision_series import NOTHING, DecisionSeries
from bobweight.app.board.drags import Grip
from bobweight.app.board.marks import (
    Label,
    bar_part,
    draw_bars,
    draw_branches,
    draw_labels,
    draw_readings,
    draw_verdict,
    nearest,
    wanted,
)
from bobweight.app.board.place import Placed, place, resampled
from bobweight.app.board.plots import PlotSheet, Scale, draw_band, draw_grid
from bobweight.app.board.series import CapsuleSeries, Line


class CapsulePlot(PlotSheet):
    """The capsule's curve, its target and the readings taken with the pipe on."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(self.tr("Advance against depression"))
        self.series: CapsuleSeries | None = None
        self.empty_words = ""
        self.decision: DecisionSeries = NOTHING
        self.titles: dict[str, str] = {}
        self.view = self.add_view(0)
        self.view.add(-5, self._draw_under)
        self.view.add(5, self._draw_over)
        self._kept: dict[str, int] = {}
        self._labels: tuple[object, list[Label], dict[str, Placed]] | None = None
        self.read_theme()

    def show_series(self, series: CapsuleSeries, empty_words: str = "") -> None:
        """Paint other numbers; ``empty_words`` say why there is no curve."""
        self.series, self.empty_words = series, empty_words
        if self.holding is None or self.view.scale() is None:
            self.view.set_range(series.x_range, series.y_range)
        self.update_views()

    def show_decision(self, decision: DecisionSeries, titles: dict[str, str]) -> None:
        """Lay the next reading, slips and another session's readings over the plot."""
        self.decision, self.titles, self._labels = decision, titles, None
        self.update_views()

    def read_theme(self) -> None:
        super().read_theme()
        self._labels = None

    # Painting

    def _draw_under(self, painter: QPainter, scale: Scale) -> None:
        inks, series = self.inks, self.series
        draw_grid(painter, self.view, scale, inks)
        if series is None:
            return
        if series.y_range[0] < 0.0 < series.y_range[1]:
            painter.setPen(inks.faint)
            zero = float(scale.y(0.0))
            painter.drawLine(QLineF(0, zero, scale.width, zero))
        draw_band(painter, scale, series.bars, inks)
        if series.ghost is not None:
            painter.setPen(inks.ghost)
            painter.drawPolyline(scale.line(series.ghost.x, series.ghost.y))
        decision_paint.draw_below(painter, scale, self.decision, inks)

    def _draw_over(self, painter: QPainter, scale: Scale) -> None:
        inks, series = self.inks, self.series
        if series is None:
            return
        painter.setFont(inks.font)
        if series.rising is None and self.empty_words:
            self._draw_empty_words(painter, scale)  # below the readings: it must not hide one
        draw_branches(painter, scale, series, inks)
        grip = self.holding
        draw_bars(painter, scale, series.bars, inks,
                  grip.index if grip and grip.kind == "vacuum" else None)  # fmt: skip
        draw_readings(painter, scale, series.marks, series.marks.y, inks,
                      grip.index if grip and grip.kind == "vacuum reading" else None)  # fmt: skip
        decision_paint.draw_above(painter, scale, self.decision, series.marks, inks)
        painter.setFont(inks.font)
        self._draw_signs(painter, scale, series)
        labels, places = self._label_places(scale)
        draw_labels(painter, scale, labels, places, inks)

    def _draw_empty_words(self, painter: QPainter, scale: Scale) -> None:
        """Why there is no curve, on paper of its own, where it covers least."""
        readings, band = _shown(scale, self.series)
        best = None
        for room, across in _rooms(scale):
            flags = across | Qt.AlignmentFlag.AlignBottom | Qt.TextFlag.TextWordWrap
            taken = painter.boundingRect(room, flags, self.empty_words)
            if best is None or taken.width() <= room.width():  # no word is wider than the room
                around = taken.adjusted(-8, -6, 8, 6)
                covered = 10 * _covered(around, readings) + _covered(around, band)
                if best is None or covered < best[0]:
                    best = covered, room, flags, taken
        _, room, flags, taken = best
        painter.fillRect(taken.adjusted(-6, -2, 6, 2), QColor(self.inks.theme.paper))
        painter.setPen(self.inks.faint)
        painter.drawText(room, flags, self.empty_words)

    def _draw_signs(self, painter: QPainter, scale: Scale, series: CapsuleSeries) -> None:
        """The verdict's sign over each check point; the word is in its tip."""
        for bar in series.bars:
            top = max(float(scale.y(bar.high)), 0.0) - 22.0
            draw_verdict(painter, float(scale.x(bar.x)), max(top, 0.0), bar.verdict, "",
                         self.inks)  # fmt: skip

    def _label_places(self, scale: Scale) -> tuple[list[Label], dict[str, Placed]]:
        series = self.series
        if self._labels is not None and self._labels[0] == (id(series), scale):
            return self._labels[1], self._labels[2]
        labels = self._wanted_labels(series, scale)
        obstacles = [
            resampled(scale.x(line.x), scale.y(line.y))
            for line in (series.rising, series.falling, series.ghost)
            if line is not None
        ]
        marks = series.marks
        for y in (marks.y, marks.y - marks.u_y, marks.y + marks.u_y):  # and the error bar's ends
            obstacles.append(np.column_stack([scale.x(marks.x), scale.y(y)]))
        obstacles += decision_paint.obstacles(scale, self.decision)
        for bar in series.bars:
            y = np.arange(max(scale.y(bar.high), 0) - 18, min(scale.y(bar.low), scale.height), 6.0)
            obstacles.append(np.column_stack([np.full(len(y), scale.x(bar.x)), y]))
        places = place([wanted(label, scale, self.inks) for label in labels],
                       np.vstack(obstacles), scale.width, scale.height, self._kept)  # fmt: skip
        self._labels = ((id(series), scale), labels, places)
        return labels, places

    def _wanted_labels(self, series: CapsuleSeries, scale: Scale) -> list[Label]:
        inks = self.inks
        found = decision_paint.labels(self.decision, series.marks, inks, self.titles)
        if series.rising is None:
            return found
        down = 1.0 if float(series.rising.y[-1]) >= 0 else -1.0
        words = self.tr("rising and falling") if series.same else self.tr("rising")
        if inks.text(words)[1] > scale.width / 2:
            words = _in_two_lines(words)  # a narrow plot has no room for them beside the curve
        found.append(_on_curve("rising", words, series.rising, inks.rising, (1, 0.6 * down)))
        if not series.same:
            spot = _on_curve(
                "falling", self.tr("falling"), series.falling, inks.falling, (-1, -0.6 * down)
            )
            found.append(spot)
        if series.ghost is not None:
            found.append(
                _on_curve("ghost", self.tr("before"), series.ghost, inks.ghost, (1, down), 0.3)
            )
        return found

    # The mouse

    def value_at(self, point: QPointF) -> tuple[float, float]:
        at, scale = self.view.at(point), self.view.scale()
        return scale.value(at.x(), at.y()) if scale else (0.0, 0.0)

    def grip_at(self, point: QPointF) -> Grip | None:
        scale, series = self.view.scale(), self.series
        at = self.view.at(point)
        if scale is None or series is None or not self.view.box.rect().contains(at):
            return None
        marks = series.marks
        i = nearest(marks, marks.y, scale, at)
        if i is not None:
            place_ = float(marks.x[i]), float(marks.y[i])
            return Grip("vacuum reading", int(marks.row[i]), "whole", *place_)
        found = bar_part(series.bars, scale, at)
        if found is None:
            return None
        bar, part = found
        y = {"least": bar.low, "most": bar.high}.get(part, 0.0)
        return Grip("vacuum", bar.index, part, bar.x, y, bar.low, bar.high)

    def hovered(self, point: QPointF, grip: Grip | None) -> None:
        self.setToolTip(self._tip(grip) if grip else "")

    def _tip(self, grip: Grip) -> str:
        unit = self.view.axes["bottom"].labelText.rsplit(", ", 1)[-1]
        if grip.kind == "vacuum reading":
            words = self.tr("Reading {0}: {1} {2}, {3}°. Drag to correct it.")
            return words.format(grip.index + 1, f"{grip.x:.4g}", unit, f"{grip.y:.1f}")
        bar = next(bar for bar in self.series.bars if bar.index == grip.index)
        verdict = {
            "inside": self.tr("inside"),
            "outside": self.tr("outside"),
            "cannot tell": self.tr("cannot tell"),
        }.get(bar.verdict, bar.verdict)
        words = self.tr("Check point at {0} {1}: {2}° to {3}°, {4}. Drag an end or the bar.")
        ends = (f"{grip.low:.1f}", f"{grip.high:.1f}")
        return words.format(f"{grip.x:.4g}", unit, *ends, verdict)


def _on_curve(key: str, words: str, line: Line, pen, toward, share: float = 0.55) -> Label:
    end = float(line.y[-1])
    i = min(int(np.searchsorted(np.abs(line.y), abs(end) * share)), len(line.x) - 1)
    return Label(key, words, float(line.x[i]), float(line.y[i]), pen, toward)


def _in_two_lines(words: str) -> str:
    """The words broken at the space nearest their middle."""
    spaces = [i for i, letter in enumerate(words) if letter == " "]
    if not spaces:
        return words
    at = min(spaces, key=lambda i: abs(i - len(words) / 2))
    return f"{words[:at]}\n{words[at + 1 :]}"


def _rooms(scale: Scale) -> Iterator[tuple[QRectF, Qt.AlignmentFlag]]:
    """Rooms for words along the lower edge, the widest first, with their alignment across."""
    for share in (1.0, 0.75, 0.6):
        width = (scale.width - 8.0) * share
        for across, left in (
            (Qt.AlignmentFlag.AlignHCenter, (scale.width - width) / 2),
            (Qt.AlignmentFlag.AlignRight, scale.width - 4.0 - width),
            (Qt.AlignmentFlag.AlignLeft, 4.0),
        ):
            yield QRectF(left, 0.0, width, scale.height - 6.0), across


def _shown(scale: Scale, series: CapsuleSeries) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points of the readings and points along the band's edges: each (N, 2), pixels."""
    x = scale.x(np.array([bar.x for bar in series.bars]))
    edges = [np.array([getattr(bar, end) for bar in series.bars]) for end in ("low", "high")]
    band = np.vstack([resampled(x, scale.y(edge)) for edge in edges])
    return np.column_stack([scale.x(series.marks.x), scale.y(series.marks.y)]), band


def _covered(area: QRectF, points: NDArray[np.float64]) -> int:
    """How many points lie in an area."""
    x, y = points.T
    inside = (x > area.left()) & (x < area.right()) & (y > area.top()) & (y < area.bottom())
    return int(inside.sum())
