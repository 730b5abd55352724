"""The tray: what is in it, in and out of it, and the printed list with labels."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QModelIndex
from PySide6.QtGui import QGuiApplication

from bobweight.app.editors.take_table import TableTaker
from bobweight.app.messages import sentence, spring_name
from bobweight.app.messages.figures import field_text, known_text, spring_title, sure_text
from bobweight.app.pages.springs.acts import add_springs, docket_springs
from bobweight.app.pages.springs.own_undo import OwnUndo
from bobweight.app.pages.springs.tray_words import TrayWords
from bobweight.app.paper.asking import ask_printer
from bobweight.app.paper.output import print_description, write_description
from bobweight.app.paper.type import FontRuler
from bobweight.app.widgets.card import allow, button, in_grid, in_row
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.dialogs import Dialogs
from bobweight.app.widgets.lines import Facts
from bobweight.app.widgets.patience import Patience
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.widgets.table import ReadTable
from bobweight.app.widgets.words import note
from bobweight.app.words import QT_TRANSLATE_NOOP, lower_first, translate
from bobweight.core.design.tray import TraySpring
from bobweight.core.problems import BobweightError
from bobweight.core.record import put
from bobweight.core.sheet.description import PAPER_NAMES, Description
from bobweight.core.sheet.tray_list import tray_list
from bobweight.core.tables.export import SUFFIXES, write_table
from bobweight.core.tables.frames import Place
from bobweight.core.tables.own import tray_rows
from bobweight.core.tables.source import read_source
from bobweight.core.tables.understood import Understanding

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter


class TrayPart(OwnUndo):
    """The table of the tray and what can be done with it."""

    key = "tray"
    title = QT_TRANSLATE_NOOP("springs", "Tray")

    def build(self) -> None:
        self.dialogs = Dialogs()
        self.patiently = Patience(self)
        self.taker = TableTaker("tray", self._place, self._put, self.display)
        self.ask_printer = self._printer_dialog
        self.words = TrayWords(self.tray, self.display)
        name = translate("springs", "Springs in the tray")
        self.view = ReadTable(name, self.words.columns(), row_tip=self.words.row_tip, wraps=True)
        self.model = self.view.table_model
        self.view.setAccessibleDescription(
            translate("springs", "Up and Down choose a spring, Enter opens it.")
        )
        self.view.selectionModel().currentRowChanged.connect(self._row_chosen)
        self.view.activated.connect(self.open_spring)
        self.view.doubleClicked.connect(self.open_spring)
        self.empty = note(
            translate(
                "springs",
                "The tray is empty. Add a spring and hang loads on it or measure its wire, take "
                "the springs of this docket, or import a table.",
            )
        )
        self.trouble = note("", "wrong")
        self.keep_button = button(
            translate("springs", "Keep this tray"),
            translate("springs", "The file on the disk is kept too, under another name."),
            self._keep,
        )
        self.disk_button = button(
            translate("springs", "Read the file"),
            translate("springs", "Take what is on the disk. It can be undone here."),
            self._take_disk,
        )
        self._trouble_row = in_row(self.keep_button, self.disk_button)
        self.sure = note("")
        self._make_buttons()
        self.add_card(
            translate("springs", "In the tray"), self.trouble, self._trouble_row, self.empty,
            self.view, self.sure, self._rows, self.undo_row(),
        )  # fmt: skip
        self.fitted = Facts()
        self.wanting = note("")
        self.add_card(
            translate("springs", "This docket"), self.fitted, self._docket_row, self.wanting
        )
        self.add_card(translate("springs", "In, out, on paper"), self._files, self._paper_row)
        self.tray.trouble_changed.connect(self.follow)

    def _make_buttons(self) -> None:
        self.add_button = button(
            translate("springs", "Add"), translate("springs", "A new spring, to be measured."),
            self.add_spring,
        )  # fmt: skip
        self.copy_button = button(
            translate("springs", "Copy"), translate("springs", "Another entry like this one."),
            self.copy_spring,
        )  # fmt: skip
        self.remove_button = button(
            translate("springs", "Remove"), translate("springs", "Take this entry out."),
            self.remove_spring,
        )  # fmt: skip
        self.open_button = button(
            translate("springs", "Open"),
            translate("springs", "Its figures: from a hang test, from dimensions, or typed."),
            self.open_spring,
        )
        self._rows = in_grid(
            2, self.add_button, self.open_button, self.copy_button, self.remove_button
        )
        self.take_button = button(
            translate("springs", "Put the docket’s springs in the tray"),
            translate("springs", "Those that the tray does not hold yet."),
            self.take_docket,
        )
        self._docket_row = in_grid(1, self.use_row(), self.take_button)
        self.import_button = button(
            translate("springs", "Import CSV…"),
            translate("springs", "Springs of a table, put after those that are here."),
            self.import_csv,
        )
        self.export_button = button(
            translate("springs", "Export CSV…"),
            translate("springs", "The tray as a table for a spreadsheet."),
            self.export_csv,
        )
        self.print_button = button(
            translate("springs", "Print list…"),
            translate("springs", "The list, and label strips to cut out."),
            self.print_list,
        )
        self.pdf_button = button(
            translate("springs", "Save list…"),
            translate("springs", "List and label strips as a PDF file."),
            self.save_list,
        )
        self.paste_button = button(
            translate("springs", "Paste"),
            translate("springs", "Springs of a table copied from a spreadsheet, with its heading."),
            self.paste,
        )
        self._files = in_grid(
            2, self.import_button, self.export_button, self.print_button, self.pdf_button,
            self.paste_button,
        )  # fmt: skip
        self.paper_box = QuietComboBox()
        for paper, name in PAPER_NAMES.items():
            self.paper_box.addItem(name, paper)
        self.paper_box.setAccessibleName(translate("springs", "Paper"))
        beside = PlainLabel(translate("springs", "&Paper"))
        beside.setBuddy(self.paper_box)
        self._paper_row = in_row(beside, self.paper_box)

    def follow(self) -> None:
        springs = self.tray.tray.springs
        self.view.show_rows(range(len(springs)))
        there = bool(springs)
        self.empty.setVisible(not there)
        self.view.setVisible(there)
        for made in (self.open_button, self.copy_button, self.remove_button, self.export_button,
                     self.print_button, self.pdf_button, self.primary_button,
                     self.secondary_button):  # fmt: skip
            allow(made, there, translate("springs", "The tray is empty: add a spring first."))
        self.fitted.show_facts(self._fitted_facts())
        mechanism = self.store.docket.mechanism
        allow(
            self.take_button,
            bool(docket_springs(mechanism, springs)),
            translate("springs", "The tray holds them already.")
            if mechanism.springs
            else translate("springs", "No spring is entered on the Mechanism page yet."),
        )
        off = (self.primary_button, self.secondary_button, self.take_button)
        why = dict.fromkeys(b.accessibleDescription() for b in off if not b.isEnabled())
        self.wanting.show_text("\n".join(f"○ {each}" for each in why))
        self._choose_row()
        row = self.bench.row
        self.sure.setVisible(there)
        if there:
            spring = springs[row]
            text = f"{spring_title(spring, row)}: {lower_first(sure_text(spring))}"
            note = self.words.note(row)
            problems = [p for p in self.words.problems(row) if p.code != "missing"]
            said = [sentence(p, self.tray.tray, self.display) for p in problems]
            lines = [text, note, *(f"△ {each}" for each in said)]
            self.sure.setText("\n".join(line for line in lines if line))
        self._follow_trouble()
        self.follow_undo()

    def _fitted_facts(self) -> list[tuple[str, str]]:
        """The docket's springs, how each is known and how sure."""
        facts = []
        for index, spring in enumerate(self.store.docket.mechanism.springs):
            if spring.rate_n_per_mm is None:
                text = translate("springs", "▲ rate not known yet")
            else:
                rate = field_text(spring, "rate_n_per_mm", self.display)
                parts = (spring.label.strip(), rate, lower_first(known_text(spring.source)))
                text = ", ".join(part for part in parts if part)
            facts.append((spring_name(self.store.docket, index), text))
        return facts

    def _follow_trouble(self) -> None:
        trouble = self.tray.trouble
        self.trouble.setVisible(trouble is not None)
        self._trouble_row.setVisible(trouble is not None)
        if trouble is not None:
            text = translate("springs", "The tray is not being kept. {reason}")
            reason = sentence(trouble, self.tray.tray, self.display)
            self.trouble.setText("▲ " + text.format(reason=reason))

    def _choose_row(self) -> None:
        if self.view.chosen_row() != self.bench.row and self.bench.row >= 0:
            self.view.setCurrentIndex(self.model.index(self.bench.row, 0))
        self.view.fit_height()

    def _row_chosen(self, index: QModelIndex, _before: QModelIndex) -> None:
        self.bench.choose(index.row())

    # Acts -----------------------------------------------------------------------------------

    def add_spring(self) -> None:
        """Add a spring and open it."""
        add_springs(self.bench, (TraySpring(),), translate("springs", "Add a spring"))
        self.open_spring()

    def copy_spring(self) -> None:
        """Add an entry like the one chosen."""
        spring = self.tray.tray.springs[self.bench.row]
        title = spring_title(spring, self.bench.row)
        name = translate("springs", "Copy “{spring}”").format(spring=title)
        label = translate("springs", "{label} copy").format(label=spring.label).strip()
        add_springs(self.bench, (spring.with_changes(label=label if spring.label else ""),), name)

    def remove_spring(self) -> None:
        """Take the entry chosen out."""
        springs, row = self.tray.tray.springs, self.bench.row
        title = spring_title(springs[row], row)
        name = translate("springs", "Remove “{spring}”").format(spring=title)
        rest = (*springs[:row], *springs[row + 1 :])
        self.tray.replace(name, put(self.tray.tray, ("springs",), rest))
        self.said.say(translate("springs", "“{spring}” was taken out.").format(spring=title))

    def open_spring(self) -> None:
        """Show the figures of the spring chosen."""
        if self.bench.row >= 0:
            self.bench.part_asked.emit("spring")

    def take_docket(self) -> None:
        """Put the docket's springs in the tray."""
        found = docket_springs(self.store.docket.mechanism, self.tray.tray.springs)
        add_springs(self.bench, found, translate("springs", "Put the docket’s springs in the tray"))

    def import_csv(self) -> None:
        """Ask for a table and put its springs in."""
        title = translate("springs", "Import springs")
        path = self.dialogs.open_table(self, title, Path.home())
        if path is None:
            return
        try:
            source = self.patiently(lambda: read_source(path), path)
        except BobweightError as error:
            self.said.refuse(error, self.tray.tray)
            return
        name = translate("springs", "Import {file}").format(file=path.name)
        self._told(self.taker.take(source, path.name, name, self.window()))

    def paste(self) -> None:
        """Put in the springs of a table on the clipboard."""
        self._told(self.taker.paste(QGuiApplication.clipboard().text(), self.window()))

    def _place(self, _kind: str) -> Place:
        return Place()

    def _put(self, name: str, found: Understanding) -> None:
        add_springs(self.bench, found.stored, name)

    def _told(self, sentences: list[str] | None) -> None:
        if sentences:
            self.said.say("\n".join(sentences), "advice" if len(sentences) > 1 else "faint")

    def export_csv(self) -> None:
        """Ask where, and write the tray as a table."""
        title = translate("springs", "Export springs")
        path = self.dialogs.save_table(self, title, Path.home() / "springs.csv")
        if path is None:
            return
        path = path if path.suffix.lower() in SUFFIXES else path.with_name(path.name + ".csv")
        try:
            rows, title = tray_rows(self.tray.tray), translate("springs", "Springs")
            self.patiently(lambda: write_table(rows, path, title), path)
        except BobweightError as error:
            self.said.refuse(error, self.tray.tray)
        else:
            self.said.say(translate("springs", "Saved as {file}.").format(file=path.name))

    def describe(self) -> Description:
        """The list on paper."""
        return tray_list(self.tray.tray, self.paper_box.currentData(), FontRuler())

    def print_list(self) -> None:
        """Print list and labels, if the dialog says so."""
        try:
            done = print_description(self.describe(), self.ask_printer)
        except BobweightError as error:
            self.said.refuse(error)
        else:
            if done:
                self.said.say(translate("springs", "Sent to the printer."))

    def save_list(self) -> None:
        """Ask where, and write list and labels as PDF."""
        title = translate("springs", "Save the list")
        path = self.dialogs.save_pdf(self, title, Path.home() / "springs.pdf")
        if path is None:
            return
        try:
            write_description(self.describe(), path, self.patiently)
        except BobweightError as error:
            self.said.refuse(error)
        else:
            self.said.say(translate("springs", "Saved as {file}.").format(file=path.name))

    def _keep(self) -> None:
        moved = self.tray.keep_this()
        if moved is not None:
            text = translate("springs", "The other file is now called {file}.")
            self.said.say(text.format(file=moved.name))

    def _take_disk(self) -> None:
        try:
            self.tray.take_from_disk(translate("springs", "Read the tray from the disk"))
        except BobweightError as error:
            self.said.refuse(error, self.tray.tray)

    def _printer_dialog(self, printer: QPrinter) -> bool:
        return ask_printer(printer, self, translate("springs", "Print the list"))
