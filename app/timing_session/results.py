"""The running comparison: the last speed large, and every check point so far."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QWidget

from bobweight.app.board.figure_plot import FigurePlot
from bobweight.app.guard import guarded
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import theme_for
from bobweight.app.timing_session.taking import Taking
from bobweight.app.timing_session.words import (
    band_text,
    group_place,
    group_text,
    plain_degrees,
    point_text,
    standing_text,
)
from bobweight.app.widgets.card import stacked
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.widgets.table import FigureTable
from bobweight.app.words import amount, translate
from bobweight.core.figure.speed import speed_figure
from bobweight.core.figure.view import View
from bobweight.core.judgement.answer import NOT_READ
from bobweight.core.judgement.taking import Group, Planned, check_at
from bobweight.core.problems import required
from bobweight.core.units import DEPRESSION

_LEAST_PLOT_PX = 200
_NO_READING = "–"


class Results(QWidget):
    """What was read so far against what the instrument should show."""

    def __init__(self, taking: Taking, feed: OutcomeFeed) -> None:
        super().__init__()
        self._taking = taking
        self._feed = feed
        self.place = PlainLabel()
        self.last = PlainLabel()
        self.last.setWordWrap(True)
        self.verdict = PlainLabel()
        self.verdict.setWordWrap(True)
        self.table = FigureTable(
            translate("timing", "Check points so far"),
            (
                translate("timing", "rev/min"), translate("timing", "Must show"),
                translate("timing", "Rising ↑"), translate("timing", "Falling ↓"),
                translate("timing", "Whole curve"),
            ),
            figures=True,
        )  # fmt: skip
        self.none = PlainLabel(
            translate("timing", "The target has no check points to hold the readings against.")
        )
        self.none.setWordWrap(True)
        self._verdict_pt = theme_for().heading_pt
        layout = stacked(
            self, self.place, self.last, self.verdict, self.table, self.none, spacing=8
        )
        self.plot = FigurePlot()
        self.plot.setAccessibleName(
            translate("timing", "The curve so far, as the instrument shows")
        )
        self.plot.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.plot.setMinimumHeight(_LEAST_PLOT_PX)
        self.plot.bare_words = translate(
            "timing",
            "Nothing is known of the curve yet.\nReadings stand here as they are taken.",
        )
        layout.addWidget(self.plot, 1)
        layout.addStretch(0)  # takes the room where the picture has none

    def type_sizes(self, large_pt: float, text_pt: float, small_pt: float) -> None:
        """The type of the last reading, of the rest, and in the picture."""
        self._verdict_pt = text_pt
        self.last.setStyleSheet(f"font-size: {large_pt}pt")
        for widget in (self.place, self.none):
            widget.setStyleSheet(f"font-size: {text_pt}pt")
        self.table.set_points(text_pt)
        self.plot.set_points(small_pt)
        self.follow()

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._share_out()

    def _share_out(self) -> None:
        """The picture comes where the figures leave it room."""
        figures = (self.place, self.last, self.verdict, self.table, self.none)
        spacing = required(self.layout()).spacing()
        taken = sum(w.sizeHint().height() + spacing for w in figures if not w.isHidden())
        self.plot.setVisible(self.height() - taken >= _LEAST_PLOT_PX)

    def _show_curve(self) -> None:
        """The readings so far on the predicted curve and the target, as the instrument shows them:
        a lamp with the session's static counted in."""
        docket, session = self._taking.store.docket, self._taking.session
        view = View(self._taking.frame, docket.particulars.ratio_taken,
                    static_deg=session.instrument.static_taken_deg)  # fmt: skip
        self.plot.show_figure(speed_figure(self._feed.outcome, view))

    def follow(self) -> None:
        """The readings changed."""
        self._show_curve()
        groups, verdicts = self._taking.groups(), self._verdicts()
        theme = theme_for()
        if groups:
            last = groups[-1]
            self.place.setText(group_place(last))
            self.last.setText(group_text(last))
            point = check_at(self._taking.store.docket, self._taking.index, last)
            verdict = verdicts.get(point.point, NOT_READ) if point is not None else NOT_READ
            self.verdict.setText(standing_text(point, verdict, self._held(last)))
            colour = theme.faint if point is None else theme.verdict(verdict)
        else:
            self.place.setText(translate("timing", "No readings yet"))
            self.last.setText("")
            self.verdict.setText("")
            colour = theme.faint
        self.verdict.setStyleSheet(f"font-size: {self._verdict_pt}pt; color: {colour}")
        checks = [point for point in self._taking.plan() if point.point is not None]
        self.none.setVisible(not checks)
        suggestion = self._taking.suggestion()
        following = None if suggestion is None else suggestion.speed_rpm
        self.table.show_rows([self._row(point, following, verdicts) for point in checks])
        self._share_out()

    def _held(self, group: Group) -> str:
        """The depression of a group; empty with the pipe off."""
        if group.depression_kpa is None:
            return ""
        held = float(f"{group.depression_kpa:.3g}")
        return amount(held, DEPRESSION, self._taking.display.depression_unit)

    def _verdicts(self) -> dict[int | None, str]:
        """The word for each row of the target: the one that the whole window has."""
        judged = self._feed.decisions.judged.comparison.check_points
        return {r.index: r.told for r in judged}

    def _row(self, point: Planned, following_rpm: float | None, verdicts: dict[int | None, str]):
        near = following_rpm is not None and abs(point.speed_rpm - following_rpm) < 1.0
        speed = f"{'▸ ' if near else ''}{point.speed_rpm:.0f}"
        cells = [self._cell(point, direction) for direction in ("rising", "falling")]
        verdict = verdicts.get(point.point, NOT_READ)
        judged = point_text(verdict), theme_for().verdict(verdict)
        return (speed, band_text(point.low_deg, point.high_deg), *cells, judged)

    def _cell(self, point: Planned, direction: str) -> str:
        group = self._taking.group_at(point, direction)
        return _NO_READING if group is None else plain_degrees(group.angle_deg)
