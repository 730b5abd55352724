"""Advance against speed, and the deviations beneath on the same speed axis."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QLabel, QWidget

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
from bobweight.app.board.overlays import draw_overlay, strong_line
from bobweight.app.board.place import Placed, place, resampled
from bobweight.app.board.plots import PlotSheet, Scale, draw_band, draw_grid
from bobweight.app.board.series import Bar, CurveSeries, Event, Line
from bobweight.app.guard import guarded
from bobweight.app.store.overlay import Overlay

HATCH_PX = 7.0
MARK_HALF_PX = 6.0
STRIP_LEAST_PX, STRIP_SHARE = 118, 0.27
SIGN_HALF_PX = 7.0
VERDICT_ROOM = 0.75
"""Room above the strip's marks for the verdicts' words, as a share of half its range."""


class CurvePlot(PlotSheet):
    """Predicted curves, target, readings and ghost; deviations in the strip below.

    Signals
    -------
    pointed(float)
        The mouse points at this speed, in shown units.
    """

    pointed = Signal(float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(self.tr("Advance against speed"))
        self.series: CurveSeries | None = None
        self.overlay: tuple[Overlay, float] | None = None
        self.decision: DecisionSeries = NOTHING
        self.titles: dict[str, str] = {}
        self.spring_names: Sequence[str] = ()
        self.pointer: tuple[float, float | None] | None = None
        self.main = self.add_view(0, bottom=False)
        self.strip = self.add_view(1)
        self.main.axes["bottom"].setHeight(6)
        self.ci.layout.setRowStretchFactor(0, 1)
        self.strip.axes["left"].setStyle(maxTickLevel=0)
        self.main.add(-5, self._draw_under)
        self.main.add(5, self._draw_over)
        self.strip.add(5, self._draw_strip)
        self.note = QLabel(self)
        self.note.setWordWrap(True)
        self.note.setTextInteractionFlags(Qt.TextInteractionFlag.NoTextInteraction)
        self.note.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.note.hide()
        self._kept: dict[str, int] = {}
        self._labels: tuple[object, list[Label], dict[str, Placed]] | None = None
        self.read_theme()

    def show_series(self, series: CurveSeries, spring_names: Sequence[str]) -> None:
        """Paint other numbers. While something is held the axes stand still."""
        self.series, self.spring_names = series, spring_names
        if self.holding is None or self.main.scale() is None:
            self.main.set_range(series.x_range, series.y_range)
            deviation = series.deviation_range
            self.strip.set_range(series.x_range, (-deviation, (1 + VERDICT_ROOM) * deviation))
        self.update_views()

    def show_overlay(self, overlay: Overlay | None, factor: float) -> None:
        """Lay curves in distributor figures over the plot; shown = factor × distributor."""
        shown = None if overlay is None else (overlay, factor)
        if shown != self.overlay:
            self.overlay, self._labels = shown, None
            self.update_views()

    def show_decision(self, decision: DecisionSeries, titles: dict[str, str]) -> None:
        """Lay the fit, an alteration's preview, the next reading and slips over the plot;
        ``titles`` names the explanations."""
        self.decision, self.titles, self._labels = decision, titles, None
        self.update_views()

    def set_pointer(self, speed: float, advance: float | None) -> None:
        """Where the plan view is posed, in shown units."""
        if (speed, advance) != self.pointer:
            self.pointer = (speed, advance)
            self.update_views()

    def show_note(self, words: str) -> None:
        """Words on the plot that say what is missing; empty for none."""
        self.note.setText(words)
        self.note.setVisible(bool(words))
        self._place_note()

    def read_theme(self) -> None:
        super().read_theme()
        if hasattr(self, "note"):
            self._labels = None
            self.note.setStyleSheet(
                f"QLabel {{ color: {self.inks.theme.ink}; background: {self.inks.theme.paper};"
                f" border-left: 3px solid {self.inks.theme.advice}; padding: 4px 10px; }}"
            )

    @guarded
    def resizeEvent(self, event) -> None:
        super().resizeEvent(event)
        if hasattr(self, "note"):
            self.strip.plot.setFixedHeight(self._strip_px())
            self._place_note()

    def _strip_px(self) -> int:
        return max(STRIP_LEAST_PX, int(STRIP_SHARE * self.height()))

    def _place_note(self) -> None:
        width = min(int(self.width() * 0.62), 460)
        height = self.note.heightForWidth(width)
        room = self.height() - self._strip_px()
        left = (self.width() + 58 - width) // 2
        self.note.setGeometry(left, max((room - height) // 2, 8), width, height)

    # Painting

    def _draw_under(self, painter: QPainter, scale: Scale) -> None:
        inks, series = self.inks, self.series
        draw_grid(painter, self.main, scale, inks)
        if series is None:
            return
        draw_band(painter, scale, series.bars, inks)
        self._draw_limits(painter, scale, series)
        if series.ghost is not None:
            painter.setPen(inks.ghost)
            painter.drawPolyline(scale.line(series.ghost.x, series.ghost.y))
        decision_paint.draw_below(painter, scale, self.decision, inks)
        if self.overlay is not None:
            draw_overlay(painter, scale, *self.overlay, series.x_range[1], inks)

    def _draw_limits(self, painter: QPainter, scale: Scale, series: CurveSeries) -> None:
        """No advance below, and the ceiling: a line hatched on its forbidden side."""
        inks = self.inks
        painter.setPen(inks.limit)
        if series.no_advance_below:
            x, zero = float(scale.x(series.no_advance_below)), float(scale.y(0.0))
            tall = _start_line_px(scale)
            painter.drawLine(QLineF(x, zero, x, zero - tall))
            painter.fillRect(QRectF(x - HATCH_PX, zero - tall, HATCH_PX, tall), inks.forbidden)
        if series.ceiling is not None:
            y = float(scale.y(series.ceiling))
            painter.drawLine(QLineF(0, y, scale.width, y))
            painter.fillRect(QRectF(0, y - HATCH_PX, scale.width, HATCH_PX), inks.forbidden)

    def _draw_over(self, painter: QPainter, scale: Scale) -> None:
        inks, series = self.inks, self.series
        if series is None:
            return
        self._draw_pointer(painter, scale, ring=True)
        draw_branches(painter, scale, series, inks)
        grip = self.holding
        draw_bars(painter, scale, series.bars, inks,
                  grip.index if grip and grip.kind == "check" else None)  # fmt: skip
        draw_readings(painter, scale, series.marks, series.marks.y, inks,
                      grip.index if grip and grip.kind == "reading" else None)  # fmt: skip
        decision_paint.draw_above(painter, scale, self.decision, series.marks, inks)
        self._draw_events(painter, scale, series.events)
        labels, places = self._label_places(scale)
        draw_labels(painter, scale, labels, places, inks)

    def _draw_events(self, painter: QPainter, scale: Scale, events: Sequence[Event]) -> None:
        for event in events:
            x, y = scale.x(event.x), scale.y(event.y)
            if event.kind == "take-up":
                painter.setPen(self.inks.faint)
                painter.drawEllipse(QPointF(x, y), 3.5, 3.5)
            else:
                painter.setPen(self.inks.jump)
                x2, y2 = scale.x(event.x_to), scale.y(event.y_to)
                across = 4.0 if event.kind == "jump" else 0.0
                up = 4.0 - across
                for px, py in ((x, y), (x2, y2)):
                    painter.drawLine(QLineF(px - across, py - up, px + across, py + up))

    def _draw_pointer(self, painter: QPainter, scale: Scale, ring: bool) -> None:
        if self.pointer is None:
            return
        speed, advance = self.pointer
        x = float(scale.x(speed))
        painter.setPen(self.inks.pointer)
        painter.drawLine(QLineF(x, 0, x, scale.height))
        if ring and advance is not None:
            painter.setPen(self.inks.pointer_ring)
            painter.setBrush(self.inks.handle)
            painter.drawEllipse(QPointF(x, float(scale.y(advance))), 5.0, 5.0)

    def _draw_strip(self, painter: QPainter, scale: Scale) -> None:
        inks, series = self.inks, self.series
        draw_grid(painter, self.strip, scale, inks)
        if series is None:
            return
        self._draw_pointer(painter, scale, ring=False)
        painter.setFont(inks.font)
        if series.rising is None:
            self._words_in_strip(painter, scale, self.tr("No predicted curve to measure from"))
        else:
            painter.setPen(inks.rising)
            zero = float(scale.y(0.0))
            painter.drawLine(QLineF(0, zero, scale.width, zero))
        draw_bars(painter, scale, series.bars, inks, None, base="prediction")
        draw_readings(painter, scale, series.marks, series.marks.deviation, inks, bars=False)
        self._draw_verdicts(painter, scale, series)

    def _words_in_strip(self, painter: QPainter, scale: Scale, words: str) -> None:
        text, width, height = self.inks.text(words)
        at = QPointF((scale.width - width) / 2, (scale.height - height) / 2)
        painter.fillRect(QRectF(at.x() - 3, at.y(), width + 6, height), self.inks.paper)
        painter.setPen(self.inks.faint)
        painter.drawStaticText(at, text)

    def _draw_verdicts(self, painter: QPainter, scale: Scale, series: CurveSeries) -> None:
        if not series.bars:
            return
        words = self._verdict_words()
        places = [float(scale.x(bar.x)) for bar in series.bars]
        right = -1e9
        for bar, x, following in zip(series.bars, places, [*places[1:], 1e9], strict=True):
            said = words[bar.verdict]
            half = self.inks.text(f"? {said}")[1] / 2 + 5
            x = min(max(x, half), scale.width - half)
            if x - half < right or x + half > following - SIGN_HALF_PX:
                said, half = "", SIGN_HALF_PX  # no room for the word; the tip says it
            right = x + half
            _, width, height = self.inks.text(f"? {said}".rstrip())
            painter.fillRect(QRectF(x - width / 2, 1.0, width, height), self.inks.halo)
            draw_verdict(painter, x, 1.0, bar.verdict, said, self.inks)

    # Labels

    def _label_places(self, scale: Scale) -> tuple[list[Label], dict[str, Placed]]:
        series = self.series
        if self._labels is not None and self._labels[0] == (id(series), scale):
            return self._labels[1], self._labels[2]
        labels = self._wanted_labels(series)
        obstacles = [
            resampled(scale.x(line.x), scale.y(line.y))
            for line in (series.rising, series.falling, series.ghost)
            if line is not None
        ]
        marks = series.marks
        at = scale.x(marks.x), scale.y(marks.y)
        obstacles += [
            np.column_stack([at[0] + side, at[1]]) for side in (-MARK_HALF_PX, MARK_HALF_PX)
        ]
        obstacles += decision_paint.obstacles(scale, self.decision)
        if series.ceiling is not None:
            x = np.arange(0.0, scale.width, 12.0)
            obstacles.append(np.column_stack([x, np.full(len(x), scale.y(series.ceiling) - 3)]))
        if series.no_advance_below:
            y = scale.y(0.0) - np.arange(0.0, _start_line_px(scale) + 1, 6.0)
            line = np.full(len(y), scale.x(series.no_advance_below))
            obstacles += [np.column_stack([line - back, y]) for back in (HATCH_PX, 0.0)]
        for bar in series.bars:
            top, bottom = max(scale.y(bar.high), 0.0), min(scale.y(bar.low), scale.height)
            y = np.arange(top, bottom + 6, 6.0)
            obstacles.append(np.column_stack([np.full(len(y), scale.x(bar.x)), y]))
        places = place(
            [wanted(label, scale, self.inks) for label in labels],
            np.vstack(obstacles), scale.width, scale.height, self._kept,
            decision_paint.rings(scale, self.decision, marks),
        )  # fmt: skip
        self._labels = ((id(series), scale), labels, places)
        return labels, places

    def _wanted_labels(self, series: CurveSeries) -> list[Label]:
        inks, found = self.inks, []
        if series.rising is not None and series.full:
            words = self.tr("rising and falling") if series.same else self.tr("rising")
            found.append(_on_curve("rising", words, series.rising, 0.62, inks.rising, (1, 0.8)))
            if series.falling is not None and not series.same:
                words = self.tr("falling")
                found.append(
                    _on_curve("falling", words, series.falling, 0.62, inks.falling, (-1, -0.8))
                )
        found += [self._event_label(n, event) for n, event in enumerate(series.events)]
        if series.ceiling is not None:
            words = self.tr("ceiling {0}°").format(_round(series.ceiling, 1))
            spot = (series.x_range[1] * 0.06, series.ceiling)
            found.append(Label("ceiling", words, *spot, inks.limit, (1, 1)))
        if series.no_advance_below:
            words = self.tr("no advance below {0}").format(_round(series.no_advance_below))
            scale = self.main.scale()
            up = _start_line_px(scale) / scale.per_y if scale else 0.0
            spot = (series.no_advance_below, up)  # at the upper end of its line
            found.append(Label("below", words, *spot, inks.limit, (-0.6, -1)))
        if series.ghost is not None:
            found.append(
                _on_curve("ghost", self.tr("before"), series.ghost, 0.35, inks.ghost, (1, 1))
            )
        if self.overlay is not None:
            strong = strong_line(*self.overlay, series.x_range[1])
            if strong is not None:
                found.append(_on_curve("overlay", *strong, 0.45, inks.ink, (1, -1)))
        return found + decision_paint.labels(self.decision, series.marks, inks, self.titles)

    def _event_label(self, number: int, event: Event) -> Label:
        x, y = 0.5 * (event.x + event.x_to), 0.5 * (event.y + event.y_to)
        pen = self.inks.jump
        if event.kind == "jump" and event.direction == "rising":
            words = self.tr("jumps from {0}° to {1}° rising")
            words = words.format(_round(event.y, 1), _round(event.y_to, 1))
        elif event.kind == "jump":
            words = self.tr("drops from {0}° to {1}° falling")
            words = words.format(_round(event.y, 1), _round(event.y_to, 1))
        else:
            words, pen = self._event_words(event)
        side = -1.0 if event.direction == "falling" else 1.0
        return Label(f"{event.kind}{number}", words, x, y, pen, (side, side))

    def _event_words(self, event: Event):
        """A spring that takes up, a plateau, or both at once."""
        known = 0 <= event.spring < len(self.spring_names)
        spring = self.spring_names[event.spring] if known else ""
        if event.kind == "take-up":
            return self.tr("{0} takes up").format(spring), self.inks.faint
        if known:
            words = self.tr("{3} takes up: stands\nat {0}° from {1} to {2}")
        else:
            words = self.tr("stands at {0}° from {1} to {2}")
        numbers = _round(event.y, 1), _round(event.x), _round(event.x_to)
        return words.format(*numbers, spring), self.inks.jump

    # The mouse

    def value_at(self, point: QPointF) -> tuple[float, float]:
        at = self.main.at(point)
        scale = self.main.scale()
        return scale.value(at.x(), at.y()) if scale else (0.0, 0.0)

    def grip_at(self, point: QPointF) -> Grip | None:
        scale, series = self.main.scale(), self.series
        at = self.main.at(point)
        if scale is None or series is None or not self.main.box.rect().contains(at):
            return None
        marks = series.marks
        i = nearest(marks, marks.y, scale, at)
        if i is not None:
            return Grip("reading", int(marks.row[i]), "whole", float(marks.x[i]), float(marks.y[i]))
        found = bar_part(series.bars, scale, at)
        if found is None:
            return None
        bar, part = found
        y = {"least": bar.low, "most": bar.high}.get(part, 0.0)
        return Grip("check", bar.index, part, bar.x, y, bar.low, bar.high)

    def hovered(self, point: QPointF, grip: Grip | None) -> None:
        if self.series is None or self.main.scale() is None:
            return
        in_strip = self.strip.box.rect().contains(self.strip.at(point))
        self.setToolTip(self._tip(grip) if grip else self._strip_tip(point) if in_strip else "")
        inside = in_strip or self.main.box.rect().contains(self.main.at(point))
        if inside and grip is None:
            self.pointed.emit(min(max(self.value_at(point)[0], 0.0), self.series.x_range[1]))

    @guarded
    def keyPressEvent(self, event) -> None:
        """Left and right move the pointer along the speed axis; with Shift further."""
        ways = {Qt.Key.Key_Left: -1.0, Qt.Key.Key_Right: 1.0}
        if event.key() not in ways or self.pointer is None or self.series is None:
            super().keyPressEvent(event)
            return
        far = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
        speed = self.pointer[0] + ways[event.key()] * (100.0 if far else 10.0)
        self.pointed.emit(min(max(speed, 0.0), self.series.x_range[1]))

    def _tip(self, grip: Grip) -> str:
        if grip.kind == "reading":
            words = self.tr("Reading {0}: {1} rev/min, {2}°. Drag to correct it.")
            words = words.format(grip.index + 1, _round(grip.x), _round(grip.y, 1))
            slip = self.tr("It looks like a slip.") if grip.index in self.decision.slips else ""
            return f"{words} {slip}".strip()
        bar = next(bar for bar in self.series.bars if bar.index == grip.index)
        words = self.tr("{0} Drag an end or the bar.")
        return words.format(self._bar_words(bar))

    def _strip_tip(self, point: QPointF) -> str:
        """What is said of the check point or reading nearest across in the strip."""
        scale, x = self.strip.scale(), self.strip.at(point).x()
        bars = [(abs(float(scale.x(bar.x)) - x), bar) for bar in self.series.bars]
        away, bar = min(bars, key=lambda each: each[0], default=(math.inf, None))
        return self._bar_words(bar) if away < 12 else ""

    def _bar_words(self, bar: Bar) -> str:
        words = self.tr("Check point at {0} rev/min, {1}: {2} by the readings.")
        return words.format(_round(bar.x), self._limits(bar), self._verdict_words()[bar.verdict])

    def _limits(self, bar: Bar) -> str:
        if not math.isfinite(bar.low):
            return self.tr("at most {0}°").format(_round(bar.high, 1))
        if not math.isfinite(bar.high):
            return self.tr("at least {0}°").format(_round(bar.low, 1))
        return self.tr("{0}° to {1}°").format(_round(bar.low, 1), _round(bar.high, 1))

    def _verdict_words(self) -> dict[str, str]:
        return {
            "inside": self.tr("inside"),
            "outside": self.tr("outside"),
            "cannot tell": self.tr("cannot tell"),
        }


def _start_line_px(scale: Scale) -> float:
    """How tall the line stands below which there is to be no advance."""
    return min(0.3 * scale.height, 90.0)


def _on_curve(key: str, words: str, line: Line, share: float, pen, toward) -> Label:
    """A label at a share of the curve's height."""
    y = share * float(line.y[-1])
    i = min(int(np.searchsorted(line.y, y)), len(line.x) - 1)
    return Label(key, words, float(line.x[i]), float(line.y[i]), pen, toward)


def _round(value: float, digits: int = 0) -> str:
    return f"{value:.{digits}f}"
