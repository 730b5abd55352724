"""The total at the crank over engine speed and depression, as contours with the driving states."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter, QPainterPath, QTransform
from PySide6.QtWidgets import QWidget

from bobweight.app.board.inks import faded
from bobweight.app.board.marks import Label, draw_labels, wanted
from bobweight.app.board.place import place
from bobweight.app.board.plots import PlotSheet, Scale, draw_grid
from bobweight.app.board.series import DEPRESSION_STEPS, SPEED_STEPS
from bobweight.app.board.shapes import round_range
from bobweight.core.mechanics.total import total_crank_deg

GRID = (90, 60)
LEVEL_STEPS = (1.0, 2.0, 5.0, 10.0, 20.0)


@dataclass(frozen=True)
class State:
    """A driving state on the map: engine rev/min, depression as shown, total in crank degrees."""

    name: str
    engine_rpm: float
    depression: float
    total_deg: float


@dataclass(frozen=True)
class TotalSeries:
    """The map on a grid: ``total_deg`` has shape (speeds, depressions), crank degrees;
    ``ceiling_deg`` is the most that the engine may have, None if nobody said."""

    engine_rpm: np.ndarray
    depression: np.ndarray
    total_deg: np.ndarray
    states: tuple[State, ...]
    x_range: tuple[float, float]
    y_range: tuple[float, float]
    ceiling_deg: float | None = None


def total_series(outcome: Any, from_kpa: Any, to_kpa: Any, direction: str) -> TotalSeries | None:
    """The map of an outcome with depression in the shown unit; None without a prediction."""
    prediction, docket = outcome.prediction, outcome.docket
    if prediction is None:
        return None
    ratio, static = docket.particulars.drive_ratio, docket.setting_up.static_deg or 0.0
    capsule = docket.capsule
    if outcome.capsule_curve is None:
        capsule = type(capsule)()
    states = [s for s in docket.setting_up.states if s.engine_rpm is not None]
    fastest = max([prediction.full_rpm * ratio * 1.15, *(s.engine_rpm * 1.05 for s in states)])
    deepest = max([60.0, *(s.depression_kpa * 1.1 for s in states)])
    x_range = 0.0, round_range(0.0, fastest, SPEED_STEPS)[1]
    y_range = 0.0, round_range(0.0, float(from_kpa(deepest)), DEPRESSION_STEPS)[1]
    speeds = np.linspace(*x_range, GRID[0])
    depressions = np.linspace(*y_range, GRID[1])

    def total(rpm, kpa):
        return total_crank_deg(static, ratio, prediction, capsule, rpm, kpa, direction)

    at_states = total(np.array([s.engine_rpm for s in states]),
                      np.array([s.depression_kpa for s in states]))  # fmt: skip
    return TotalSeries(
        engine_rpm=speeds,
        depression=depressions,
        total_deg=total(speeds[:, None], to_kpa(depressions)[None, :]),
        states=tuple(
            State(s.name, s.engine_rpm, float(from_kpa(s.depression_kpa)), float(at_states[i]))
            for i, s in enumerate(states)
        ),
        x_range=x_range,
        y_range=(-0.06 * y_range[1], y_range[1]),  # a state at no depression is seen whole
        ceiling_deg=docket.setting_up.ceiling_total_deg,
    )


class TotalMap(PlotSheet):
    """Contours of equal total, each with its degrees; driving states as named points."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(self.tr("Total advance over speed and depression"))
        self.series: TotalSeries | None = None
        self.view = self.add_view(0)
        self.view.add(-5, self._draw_contours)
        self.view.add(5, self._draw_states)
        self._contours: list[tuple[float, QPainterPath]] = []
        self._ceiling: list[tuple[float, QPainterPath]] = []
        self._kept: dict[str, int] = {}
        self.read_theme()

    def show_series(self, series: TotalSeries | None) -> None:
        """Paint another map."""
        self.series = series
        self._contours = self._ceiling = []
        if series is not None:
            self.view.set_range(series.x_range, series.y_range)
            ceiling = series.ceiling_deg
            levels = [n for n in contour_levels(series.total_deg) if n != ceiling]
            self._contours = _contours(series, levels)
            self._ceiling = [] if ceiling is None else _contours(series, [ceiling])
        self.update_views()

    def _draw_contours(self, painter: QPainter, scale: Scale) -> None:
        inks, series = self.inks, self.series
        draw_grid(painter, self.view, scale, inks)
        painter.setFont(inks.font)
        if series is None:
            text, width, height = inks.text(self.tr("The map needs a predicted curve"))
            painter.setPen(inks.faint)
            at = QPointF((scale.width - width) / 2, (scale.height - height) / 2)
            painter.drawStaticText(at, text)
            return
        painter.setBrush(inks.no_fill)
        transform = QTransform(
            scale.per_x, 0, 0, -scale.per_y, float(scale.x(0.0)), float(scale.y(0.0))
        )
        taken: list[QRectF] = []
        drawn = [(level, transform.map(path)) for level, path in self._contours]
        painter.setPen(inks.contour)
        for _, path in drawn:
            painter.drawPath(path)
        for level, path in self._ceiling:
            path = transform.map(path)
            painter.setPen(inks.ceiling)
            painter.drawPath(path)
            words = self.tr("ceiling {0}°").format(f"{level:g}")
            self._name_contour(painter, path, words, scale, taken)
        for level, path in drawn:
            self._name_contour(painter, path, f"{level:.0f}°", scale, taken)

    def _name_contour(self, painter, drawn: QPainterPath, words: str, scale, taken) -> None:
        inks = self.inks
        text, width, height = inks.text(words)
        whole = QRectF(0, 0, scale.width, scale.height)
        for share in (0.72, 0.6, 0.84, 0.45, 0.3, 0.15):
            at = drawn.pointAtPercent(share)
            box = QRectF(at.x() - width / 2 - 3, at.y() - height / 2, width + 6, height)
            if whole.contains(box) and not any(box.intersects(other) for other in taken):
                taken.append(box)
                painter.fillRect(box, faded(inks.theme.paper, 1.0))
                painter.setPen(inks.ink)
                painter.drawStaticText(box.topLeft() + QPointF(3, 0), text)
                return

    def _draw_states(self, painter: QPainter, scale: Scale) -> None:
        inks, series = self.inks, self.series
        if series is None:
            return
        labels, dots = [], []
        for number, state in enumerate(series.states):
            at = QPointF(scale.x(state.engine_rpm), scale.y(state.depression))
            painter.setPen(inks.bar_hot)
            painter.setBrush(inks.handle)
            painter.drawEllipse(at, 5.0, 5.0)
            dots.append((at.x(), at.y()))
            words = self.tr("{0}, {1}°").format(state.name, f"{state.total_deg:.0f}")
            labels.append(
                Label(f"state{number}", words, state.engine_rpm, state.depression, inks.ink)
            )
        places = place([wanted(label, scale, inks) for label in labels],
                       np.array(dots).reshape(-1, 2), scale.width, scale.height,
                       self._kept)  # fmt: skip
        draw_labels(painter, scale, labels, places, inks)


def contour_levels(total_deg: np.ndarray) -> Sequence[float]:
    """Round levels, at most a dozen, strictly between the extremes."""
    low, high = float(np.min(total_deg)), float(np.max(total_deg))
    step = next((s for s in LEVEL_STEPS if (high - low) / s <= 10), LEVEL_STEPS[-1])
    first = np.floor(low / step) + 1
    levels = np.arange(first, np.ceil(high / step)) * step
    return [float(level) for level in levels]


def _contours(series: TotalSeries, levels: Sequence[float]) -> list[tuple[float, QPainterPath]]:
    """Paths in shown units, each level with its own; none where the map does not reach it."""
    to_x = series.engine_rpm[1] - series.engine_rpm[0]
    to_y = series.depression[1] - series.depression[0]
    back = QTransform(to_x, 0, 0, to_y, -0.5 * to_x, -0.5 * to_y)
    found = []
    for level in levels:
        path = pg.functions.isocurve(series.total_deg, level + 1e-6, connected=True, path=True)
        if not path.isEmpty():
            found.append((level, back.map(path)))
    return found
