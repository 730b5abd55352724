"""What the stated tolerances do: the band of curves, the odds of passing, which one matters."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QSlider, QVBoxLayout, QWidget

from bobweight.app.editors.number import NumberField
from bobweight.app.guard import guarded
from bobweight.app.messages import place_text
from bobweight.app.messages.judgement import reckoned_with_doubted
from bobweight.app.messages.lacking import curve_needs
from bobweight.app.pages.springs.part import Bench, SpringsPart
from bobweight.app.pages.springs.tolerances import (
    SLIDER_STEPS,
    band_overlay,
    goal_or_none,
    influences,
    shares,
    slider_place,
    slider_u,
    worked_out,
)
from bobweight.app.store.jobs import Runner, Ticket
from bobweight.app.widgets.bars import Bar, Bars
from bobweight.app.widgets.card import button, in_row, stacked
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.lines import Facts
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.widgets.words import note
from bobweight.app.widgets.worked_out import from_docket
from bobweight.app.words import QT_TRANSLATE_NOOP, amount, significant, translate
from bobweight.core.design.goal import Goal
from bobweight.core.design.spread import Uncertain, mechanism_spread
from bobweight.core.design.tolerance import Influence, Tolerance
from bobweight.core.docket.docket import Docket
from bobweight.core.figure.description import Figure
from bobweight.core.figure.design import pass_figure
from bobweight.core.figure.view import View
from bobweight.core.problems import BobweightError, Path, required
from bobweight.core.record import parameter_at, put_uncertainty
from bobweight.core.units import pass_rate

_FEW = 6
_SETTLED_MS = 350


def spread_name(path: Path, docket: Docket) -> str:
    """What an uncertain value is called."""
    return place_text(("mechanism", *path), docket)


class QuietSlider(QSlider):
    """A slider that leaves the wheel to the page, so that scrolling alters no tolerance."""

    @guarded
    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()


class ToleranceRow(QWidget):
    """One value with its ±, and a slider for the same on a scale from a tenth to ten times."""

    def __init__(self, bench: Bench, uncertain: Uncertain) -> None:
        super().__init__()
        self._bench = bench
        self.path: Path = ("mechanism", *uncertain.paths[0])
        self._middle_u = uncertain.u
        self._gesture: object | None = None
        store = bench.store
        self.name = PlainLabel()
        self.name.setWordWrap(True)
        self.source = note("")
        self.field = NumberField(
            parameter_at(store.docket, self.path), store, self.path, bench.display
        )
        self.slider = QuietSlider(Qt.Orientation.Horizontal)
        self.slider.setRange(0, SLIDER_STEPS)
        self.slider.setPageStep(10)
        set_tip(
            self.slider,
            translate("springs", "How far it may differ: from a tenth to ten times as much."),
        )
        self.slider.valueChanged.connect(self._moved)
        self.slider.sliderPressed.connect(self._begin)
        self.slider.sliderReleased.connect(self._end)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 6)
        column.setSpacing(2)
        for widget in (self.name, self.field, self.slider, self.source):
            column.addWidget(widget)
        self.show_uncertain(uncertain)

    def show_uncertain(self, uncertain: Uncertain) -> None:
        """The value as the docket now has it."""
        docket, display = self._bench.store.docket, self._bench.display
        name = spread_name(uncertain.paths[0], docket)
        self.name.setText(name)
        self.slider.setAccessibleName(translate("springs", "Tolerance of {name}").format(name=name))
        quantity = parameter_at(docket, self.path).quantity
        told = amount(float(f"{uncertain.u:.2g}"), quantity, display.unit(quantity))
        text = {
            "stated": translate("springs", "± {amount}, as stated"),
            "trade": translate("springs", "± {amount}, usual in the trade; nobody has stated it"),
        }.get(uncertain.source, translate("springs", "± {amount}, assumed; nobody has stated it"))
        self.source.setText(text.format(amount=told))
        self.slider.setAccessibleDescription(self.source.text())
        if not self.slider.isSliderDown():
            self.slider.blockSignals(True)
            self.slider.setValue(slider_place(uncertain.u, self._middle_u))
            self.slider.blockSignals(False)

    def _begin(self) -> None:
        self._gesture = object()

    def _end(self) -> None:
        self._gesture = None

    def _moved(self, place: int) -> None:
        store, u = self._bench.store, slider_u(place, self._middle_u)
        quantity = parameter_at(store.docket, self.path).quantity
        told = amount(u, quantity, self._bench.display.unit(quantity))
        name = translate("springs", "{place} ± {amount}").format(
            place=place_text(self.path, store.docket), amount=told
        )
        gesture = self._gesture or ("tolerance", self.path)
        store.replace(name, put_uncertainty(store.docket, self.path, u), gesture)


class TolerancePart(SpringsPart):
    """The odds, the bars, and the tolerances themselves."""

    key = "tolerance"
    title = QT_TRANSLATE_NOOP("springs", "Tolerance")

    def build(self) -> None:
        self.runner, self.sobol_runner = Runner(self), Runner(self)
        self._waiting = False
        self._of: Docket | None = None
        self._sobol_of: Docket | None = None
        self.result: Tolerance | None = None
        self.influence: Influence | None = None
        self._goal: Goal | None = None
        self._rows: list[ToleranceRow] = []
        self._made: dict[Path, ToleranceRow] = {}
        self._all = False
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(_SETTLED_MS)
        self._timer.timeout.connect(self._start_sobol)
        self.status = note("")
        self.doubted = note("", "advice")
        self.feed.decisions.changed.connect(self._show_doubted)
        self.odds = Facts()
        self.worked = from_docket("tolerance", self.store, self.display)
        self.add_card(translate("springs", "Of units built so, how many pass"), self.status,
                      self.doubted, self.odds, self.worked)  # fmt: skip
        self.point_box = QuietComboBox()
        self.point_box.setAccessibleName(translate("springs", "At which check point"))
        self.point_box.setSizeAdjustPolicy(QuietComboBox.SizeAdjustPolicy.AdjustToContents)
        self.point_box.activated.connect(self._show_shares)
        beside = PlainLabel(translate("springs", "At"))
        beside.setBuddy(self.point_box)
        self._point_row = in_row(beside, self.point_box)
        self.bars = Bars(translate("springs", "Which tolerance makes the spread"))
        self.bars_note = note(
            translate(
                "springs",
                "Filled: its share of the spread by itself. Outline: with all that it acts "
                "through.",
            )
        )
        self.which_status = note("")
        self._which = self.add_card(
            translate("springs", "Which one to care about"),
            self.which_status,
            self._point_row,
            self.bars,
            self.bars_note,
        )
        self._rows_holder = QWidget()
        self._rows_layout = stacked(self._rows_holder)
        self.all_button = button(
            translate("springs", "Show all"),
            translate("springs", "Every uncertain value of the mechanism, or those that matter."),
            self._toggle_all,
        )
        self._tolerances = self.add_card(
            translate("springs", "Tolerances: how far off each may be"),
            self._rows_holder,
            self.all_button,
        )
        self.runner.finished.connect(self._finished)
        self.runner.failed.connect(self._failed)
        self.sobol_runner.finished.connect(self._sobol_finished)
        self.sobol_runner.failed.connect(self._failed)

    def follow(self) -> None:
        if self._possible() and self.store.docket is not self._of:
            self._request()
        elif self._possible() and self.result is not None and not self.runner.busy:
            self._shares_soon()  # left before they were begun
        self._show()

    def leave(self) -> None:
        self._timer.stop()
        self.feed.offer_picture("pass", None)

    def _possible(self) -> bool:
        return self.feed.outcome.prediction is not None and self.feed.outcome.stands_sound

    def _request(self) -> None:
        """Work out the present docket; while a run is on, only the newest docket waits."""
        if self.runner.busy:
            self._waiting = True
            return
        self._of = self.store.docket
        self.runner.start(self._work)

    def _work(self, _ticket: Ticket) -> tuple[Docket, Tolerance]:
        docket = required(self._of)
        return docket, worked_out(docket)

    def _finished(self, result: tuple[Docket, Tolerance]) -> None:
        docket, self.result = result
        self._goal = goal_or_none(docket)
        if self._waiting or docket is not self.store.docket:
            self._waiting = False
            if self._possible() and self.isVisible():
                self._request()
        else:
            self._shares_soon()
        self._show()

    def _shares_soon(self) -> None:
        """Work out what makes the spread, if that is of another docket, once the hand rests."""
        if self._sobol_of is not self.store.docket and self.isVisible():
            self._timer.start()

    def _start_sobol(self) -> None:
        if self.sobol_runner.busy or not self._possible() or not self.isVisible():
            return
        self._sobol_of = self.store.docket
        self.sobol_runner.start(self._sobol_work)

    def _sobol_work(self, _ticket: Ticket) -> Influence | None:
        return influences(required(self._sobol_of))

    def _sobol_finished(self, found: Influence | None) -> None:
        self.influence = found
        self._shares_soon()
        self._show()

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, BobweightError):
            raise error
        self.result = None
        self._show()
        self.said.refuse(error)
        if self._waiting and self._possible() and self.isVisible():
            self._waiting = False
            self._request()

    # Showing --------------------------------------------------------------------------------

    def _show(self) -> None:
        possible = self._possible()
        self.worked.follow(possible and self.result is not None)
        self._which.setVisible(possible)
        self._tolerances.setVisible(possible)
        if not possible:
            now = replace(self.feed.outcome, prediction=None)  # which may be of a state before
            self.status.setText(curve_needs(now, self.feed.decisions.doubts))
        elif self.result is None:
            self.status.setText(translate("springs", "Working it out."))
        elif self.result.all_probability is None:
            self.status.setText(
                translate("springs", "The target has no check points; the board shows the band.")
            )
        else:
            text = translate(
                "springs",
                "{count} units built at random within the tolerances below. The board shows where "
                "95 of 100 lie.",
            )
            self.status.setText(text.format(count=self.result.builds))
        self._show_doubted()
        result = self.result if possible else None
        self.odds.show_facts(self._odds_of(result) if result is not None else ())
        if self.isVisible():
            words = translate("springs", "95 of 100 units")
            self.feed.show_overlay(None if result is None else band_overlay(result, words))
            self.feed.offer_picture("pass", None if result is None else self._picture)
        self._fill_points()
        self._show_shares()
        self._match_rows()

    def _show_doubted(self) -> None:
        """That one of the figures is doubted, where the judgement of the docket does."""
        found = self.feed.decisions.current if self._possible() else None
        said = "" if found is None else reckoned_with_doubted(found.decision.judgement)
        self.doubted.show_text(f"△ {said}" if said else "")

    def _picture(self, view: View) -> Figure | None:
        if self.result is None or self._goal is None:
            return None
        return pass_figure(self.result, self._goal, view)

    def _odds_of(self, result: Tolerance) -> list[tuple[str, str]]:
        if result.all_probability is None or self._goal is None:
            return []
        facts = [(translate("springs", "Everywhere"), pass_rate(result.all_probability))]
        names = self._point_names()
        facts += [
            (name, pass_rate(float(p)))
            for name, p in zip(names, required(result.point_probability), strict=False)
        ]
        if self._goal.ceiling_deg < float("inf") and result.ceiling_probability is not None:
            facts.append((translate("springs", "Ceiling"), pass_rate(result.ceiling_probability)))
        return facts

    def _point_names(self) -> list[str]:
        view = self.display.view(self.store.docket)
        names = []
        goal = required(self._goal)
        for index, speed in zip(goal.index, goal.speed_rpm, strict=True):
            text = translate("springs", "{speed} rev/min").format(speed=view.speed(speed))
            if index is None:
                text = translate("springs", "Below {speed}").format(speed=text)
            names.append(text)
        return names

    def _fill_points(self) -> None:
        there = self.influence is not None and self._goal is not None
        self._point_row.setVisible(there)
        self.bars_note.setVisible(there)
        self.which_status.show_text(self._which_text(there))
        if not there:
            return
        names = [translate("springs", "All check points"), *self._point_names()]
        if names != [self.point_box.itemText(k) for k in range(self.point_box.count())]:
            chosen = max(self.point_box.currentIndex(), 0)
            self.point_box.clear()
            self.point_box.addItems(names)
            self.point_box.setCurrentIndex(min(chosen, len(names) - 1))

    def _which_text(self, there: bool) -> str:
        """What stands in place of the shares while there are none."""
        if there:
            return ""
        if self.result is not None and self._goal is None:
            return translate("springs", "Without check points in the target there is nothing to "
                             "weigh them by.")  # fmt: skip
        if self._sobol_of is self.store.docket and not self.sobol_runner.busy:
            return ""  # it was refused, and is said below
        return translate("springs", "Working it out.")

    def _ranked(self) -> list[Path]:
        """Paths of the uncertain values, those that matter first."""
        if self.influence is None:
            return []
        return [share.uncertain.paths[0] for share in shares(self.influence)]

    def _show_shares(self, _index: int = 0) -> None:
        if self.influence is None or not self._possible():
            self.bars.show_bars(())
            return
        chosen = self.point_box.currentIndex() - 1
        found = shares(self.influence, chosen if 0 <= chosen < len(self.influence.u_deg) else None)
        docket = self.store.docket
        bars = [
            Bar(
                spread_name(share.uncertain.paths[0], docket), share.alone,
                max(share.total, share.alone),
                translate("springs", "{alone} %, {total} % in all").format(
                    alone=significant(round(100 * max(share.alone, 0.0)), 3),
                    total=significant(round(100 * max(share.total, share.alone, 0.0)), 3),
                ),
            )
            for share in found[:_FEW]
            if share.total >= 0.005
        ]  # fmt: skip
        self.bars.show_bars(bars)

    def _match_rows(self) -> None:
        """Rows for the values that matter, or all; a row under the hand stays where it is."""
        found = mechanism_spread(self.store.docket.mechanism) if self._possible() else ()
        spread = {uncertain.paths[0]: uncertain for uncertain in found}
        order = [p for p in self._ranked() if p in spread]
        order += [p for p in spread if p not in order]
        wanted = order if self._all else order[:_FEW]
        focus = QApplication.focusWidget()
        held = focus is not None and self._rows_holder.isAncestorOf(focus)
        here = [row.path[1:] for row in self._rows]
        if (not held and here != wanted) or any(path not in spread for path in here):
            self._remake(wanted, spread)
        for row in self._rows:
            row.show_uncertain(spread[row.path[1:]])
        self.all_button.setVisible(len(spread) > _FEW)
        self.all_button.setText(
            translate("springs", "Show those that matter")
            if self._all
            else translate("springs", "Show all {count}").format(count=len(spread))
        )

    def _remake(self, wanted: list[Path], spread: dict[Path, Uncertain]) -> None:
        """Other rows; one that does not matter now is kept for when it does again."""
        for path, row in list(self._made.items()):
            row.setVisible(path in wanted)
            if path not in spread:
                self._rows_layout.removeWidget(row)
                row.deleteLater()
                del self._made[path]
        self._rows = []
        for place, path in enumerate(wanted):
            row = self._made.get(path) or ToleranceRow(self.bench, spread[path])
            self._made[path] = row
            self._rows_layout.insertWidget(place, row)
            self._rows.append(row)

    def _toggle_all(self) -> None:
        self._all = not self._all
        self._match_rows()

    def close_down(self) -> None:
        self._timer.stop()
        self.runner.close()
        self.sobol_runner.close()
