"""A spring from a hang test: the table of loads, what it says, and how sure."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QWidget

from bobweight.app.editors.choice import FlagField
from bobweight.app.editors.form import Form
from bobweight.app.editors.table import RecordTable
from bobweight.app.guard import guarded
from bobweight.app.messages import sentence
from bobweight.app.messages.cautions import caution_lines
from bobweight.app.messages.figures import amount_u
from bobweight.app.messages.pasting import numbers_parser
from bobweight.app.pages.springs.part import Bench
from bobweight.app.pages.springs.residual_plot import ResidualPlot
from bobweight.app.store import Change, RecordStore
from bobweight.app.widgets.card import allow, button, in_row, put_below, stacked
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.lines import Facts
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.widgets.words import note
from bobweight.app.widgets.worked_out import Group, WorkedOut
from bobweight.app.words import amount, translate
from bobweight.core.design.asks import ReadingSure
from bobweight.core.design.hang_test import HangTest, Separation
from bobweight.core.design.measured_spring import (
    HangView,
    hang_view,
    reading_u,
    taken_from_hang,
    with_reading_u,
    with_spring,
)
from bobweight.core.design.tray import TraySpring
from bobweight.core.docket.spring_source import HangRow, HangTestRecord
from bobweight.core.figure.description import Figure
from bobweight.core.figure.design import HangUnits, hang_figure
from bobweight.core.figure.view import View
from bobweight.core.judgement.workings import record_inputs
from bobweight.core.problems import BobweightError, Path, required
from bobweight.core.record import parameters, put
from bobweight.core.units import FORCE, LENGTH, SPRING_RATE

_COLUMNS = ("load_n", "length_mm", "left_out", "note")


class HangPart(QWidget):
    """Loads and lengths typed or pasted, the fit, its residuals, and what follows."""

    def __init__(self, bench: Bench, row: int) -> None:
        super().__init__()
        self._bench = bench
        self._row = row
        self._view: HangView | None = None
        tray, display = bench.tray, bench.display
        self.sure_store = RecordStore(ReadingSure(), self)
        layout = stacked(self, spacing=8)
        layout.addWidget(
            note(
                translate(
                    "springs",
                    "Hang the spring by one hook, loads on the other, and measure inside the "
                    "hooks. Begin unloaded (load 0); count the pan and the lower hook in.",
                )
            )
        )
        for line in caution_lines("hang test"):
            layout.addWidget(note("△ " + line))
        layout.addWidget(self._unit_row())
        self.table = RecordTable(
            tray, self._path("rows"), _COLUMNS, display,
            parse=numbers_parser(HangRow, ("load_n", "length_mm"), display),
            name=translate("springs", "Loads and lengths of the hang test"),
        )  # fmt: skip
        layout.addWidget(self.table)
        self.open_wound = FlagField(
            parameters(HangTestRecord)["open_wound"], tray, self._path("open_wound"), display
        )
        layout.addWidget(self.open_wound)
        self.sure = Form(ReadingSure, (), ("load_n", "length_mm"), self.sure_store, display)
        self.sure_needs = note(
            translate("springs", "Once there are rows: how well each of them was read.")
        )
        layout.addWidget(self.sure)
        layout.addWidget(self.sure_needs)
        self.wrong = note("", "wrong")
        self.facts = Facts()
        self.plot = ResidualPlot(display)
        self.advice = note("", "advice")
        self.take_button = button(
            translate("springs", "Take these figures"),
            translate("springs", "Rate, tension and free length with their uncertainties."),
            self.take,
        )
        self.after = note("")
        self.worked = WorkedOut("hang", display, self._went_in)
        for widget in (self.wrong, self.facts, self.worked, self.plot, self.advice,
                       self.take_button, self.after):  # fmt: skip
            put_below(layout, widget)
        self.sure_store.changed.connect(self._sure_changed)
        self.follow(row)

    def _unit_row(self) -> QWidget:
        self.unit_box = QuietComboBox()
        for unit in FORCE.units:
            self.unit_box.addItem(unit.symbol, unit.symbol)
        self.unit_box.setAccessibleName(translate("springs", "Unit of the loads"))
        set_tip(
            self.unit_box,
            translate("springs", "A load may be typed in any unit: 250 g, 2.5 N, 9 oz."),
        )
        self.unit_box.activated.connect(self._unit_chosen)
        beside = PlainLabel(translate("springs", "Loads in"))
        beside.setBuddy(self.unit_box)
        return in_row(beside, self.unit_box)

    def _path(self, *rest: str) -> Path:
        return ("springs", self._row, "source", "hang_test", *rest)

    @property
    def _spring(self) -> TraySpring:
        return self._bench.tray.tray.springs[self._row]

    def follow(self, row: int) -> None:
        """Show the test of the spring in a row."""
        if row != self._row:
            self._row = row
            self.table.model.set_path(self._path("rows"))
            self.open_wound.set_path(self._path("open_wound"))
        record = self._spring.source.hang_test
        self.unit_box.setCurrentIndex(self.unit_box.findData(self._bench.display.unit(FORCE)))
        told = ReadingSure(
            load_n=reading_u(record.rows, "load_n"), length_mm=reading_u(record.rows, "length_mm")
        )
        if told != self.sure_store.docket:
            self.sure_store.begin(told)
        allow(self.sure, bool(record.rows), self.sure_needs.text())
        self.sure_needs.setVisible(not record.rows)
        self._view = hang_view(record)
        self._show(record, self._view)

    def _went_in(self) -> Sequence[Group]:
        record = self._spring.source.hang_test
        return ((record, record_inputs(record, "readings")),)

    def _show(self, record: HangTestRecord, view: HangView) -> None:
        result = view.result
        wrong = ""
        if view.problem is not None and view.rows:
            wrong = "▲ " + sentence(view.problem, record, self._bench.display)
        self.wrong.show_text(wrong)
        self.facts.show_facts(self._facts_of(result) if result is not None else ())
        loads = [required(record.rows[index].load_n) for index in view.rows]
        self.worked.follow(result is not None)
        self.plot.show_test(result, view.rows, loads)
        advice = [sentence(p, record, self._bench.display) for p in view.problems]
        self.advice.show_text("\n".join(f"△ {text}" for text in advice))
        allow(
            self.take_button,
            result is not None,
            translate("springs", "The rows above do not give a rate yet."),
        )
        self.after.setText(self._after_text(result))
        self.offer_picture()

    def offer_picture(self) -> None:
        """Have the board draw force against length while the test is looked at and has a row."""
        there = self.isVisible() and self._view is not None and bool(self._view.rows)
        self._bench.feed.offer_picture("hang", self._picture if there else None)

    def _picture(self, _view: View) -> Figure | None:
        if self._view is None:
            return None
        rows = [self._spring.source.hang_test.rows[index] for index in self._view.rows]
        display = self._bench.display
        length, force = display.unit(LENGTH), display.unit(FORCE)
        units = HangUnits(length, force, 1.0 / LENGTH.unit(length).factor,
                          1.0 / FORCE.unit(force).factor)  # fmt: skip
        loads = [required(row.load_n) for row in rows]
        lengths = [required(row.length_mm) for row in rows]
        return hang_figure(loads, lengths, self._view.result, units)

    @guarded
    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.offer_picture()

    @guarded
    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._bench.feed.offer_picture("hang", None)

    def _facts_of(self, result: HangTest) -> list[tuple[str, str]]:
        display = self._bench.display
        free, tension = result.free_length_mm, result.initial_tension_n
        facts = [
            (
                translate("springs", "Rate"),
                amount_u(result.rate_n_per_mm, result.u_rate_n_per_mm, SPRING_RATE, display),
            )
        ]
        if result.separation is Separation.NOT_SEPARATED:
            between = translate("springs", "between {low} and {high}, not told apart")
            for name, limits, quantity in (
                (translate("springs", "Initial tension"), result.initial_tension_limits_n, FORCE),
                (translate("springs", "Free length"), result.free_length_limits_mm, LENGTH),
            ):
                low, high = (amount(v, quantity, display.unit(quantity)) for v in limits)
                facts.append((name, between.format(low=low, high=high)))
        else:
            if result.separation is Separation.OPEN_WOUND:
                words = translate("springs", "none (wound open)")
            else:
                words = amount_u(tension, result.u_initial_tension_n, FORCE, display)
            facts.append((translate("springs", "Initial tension"), words))
            words = amount_u(free, result.u_free_length_mm, LENGTH, display)
            facts.append((translate("springs", "Free length"), words))
        facts.append((translate("springs", "How sure"), self._sure_text(result)))
        return facts

    def _sure_text(self, result: HangTest) -> str:
        display = self._bench.display
        count = len(required(self._view).rows)
        if result.dof < 1:
            return translate("springs", "nothing left over to judge by")
        if result.u_length_from_scatter:
            scatter = amount(float(f"{result.scatter:.2g}"), LENGTH, display.unit(LENGTH))
            text = translate("springs", "{count} readings, a length scatters by {scatter}")
            return text.format(count=count, scatter=scatter)
        text = translate("springs", "{count} readings, scatter {ratio} times as stated")
        return text.format(count=count, ratio=f"{result.scatter:.2f}")

    def _after_text(self, result: HangTest | None) -> str:
        if result is None:
            return ""
        try:
            taken = taken_from_hang(self._spring, result)
        except BobweightError as error:
            return sentence(error.problem, self._spring, self._bench.display)
        if taken == self._spring:
            return translate("springs", "The spring has these figures.")
        if result.separation is Separation.NOT_SEPARATED and self._spring.free_length_mm is None:
            return translate(
                "springs",
                "Only the rate is taken. Type a free length measured unloaded, and the tension "
                "follows from it.",
            )
        return translate("springs", "The spring does not have these figures yet.")

    def take(self) -> None:
        """Give the spring the figures of the test, as one edit in the tray."""
        if self._view is None or self._view.result is None:
            return
        tray = self._bench.tray
        try:
            made = taken_from_hang(self._spring, self._view.result)
        except BobweightError:
            return  # said below the button already
        rows = with_spring(tray.tray.springs, self._row, made)
        name = translate("springs", "Take the figures of the hang test")
        tray.replace(name, put(tray.tray, ("springs",), rows))

    def _unit_chosen(self, _index: int) -> None:
        self._bench.display.set_unit("force", self.unit_box.currentData())

    def _sure_changed(self, change: Change) -> None:
        if not (change.touches(("load_n",)) or change.touches(("length_mm",))):
            return
        tray, record = self._bench.tray, self._spring.source.hang_test
        told: ReadingSure = self.sure_store.docket
        rows = with_reading_u(record.rows, told.load_n, told.length_mm)
        if rows != record.rows and told != ReadingSure(
            load_n=reading_u(record.rows, "load_n"), length_mm=reading_u(record.rows, "length_mm")
        ):
            name = translate("springs", "State how well the hang test is read")
            tray.replace(name, put(tray.tray, self._path("rows"), rows))
