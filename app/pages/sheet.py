"""The sheet: how it will look on paper, and the ways out of the window."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QWidget,
)

from bobweight.app.messages import sentence
from bobweight.app.messages.figures import session_title
from bobweight.app.pages.page import Page, is_empty
from bobweight.app.paper.asking import KINDS, ask_printer, save_path
from bobweight.app.paper.output import (
    describe,
    judged_options,
    print_docket,
    write_outcome,
)
from bobweight.app.paper.preview import Preview
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.store.session import Settings
from bobweight.app.store.workshop import kept_workshop
from bobweight.app.theme import set_role
from bobweight.app.widgets.card import allow, button
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.patience import Patience
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.widgets.words import AnswerLabel
from bobweight.app.words import QT_TRANSLATE_NOOP, translate
from bobweight.core.figure.view import View
from bobweight.core.problems import BobweightError
from bobweight.core.sheet.description import PAPER_NAMES, Description
from bobweight.core.sheet.options import EARLIEST, SheetOptions

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

AskPath = Callable[[QWidget, str, Path, str], Path | None]
"""Asks where to save: parent, title, suggested path, suffix. None: not at all."""

AskPrinter: TypeAlias = "Callable[[QPrinter], bool]"

_SAVE = {
    "pdf": QT_TRANSLATE_NOOP("pages", "Save PDF…"),
    "svg": QT_TRANSLATE_NOOP("pages", "Save SVG…"),
    "png": QT_TRANSLATE_NOOP("pages", "Save PNG…"),
    "csv": QT_TRANSLATE_NOOP("pages", "Save CSV…"),
}
_TIPS = {
    "pdf": QT_TRANSLATE_NOOP("pages", "The page as a PDF file, to print or to send."),
    "svg": QT_TRANSLATE_NOOP("pages", "The page as a drawing that can be altered."),
    "png": QT_TRANSLATE_NOOP("pages", "The page as an image of 200 dots an inch."),
    "csv": QT_TRANSLATE_NOOP(
        "pages", "The figures of the sheet as a table: check points, curve, readings."
    ),
}


class SheetPage(Page):
    """Preview of the sheet; print, PDF, SVG, PNG and CSV.

    ``ask_path`` and ``ask_printer`` are the dialogs; another may stand in for each.
    """

    key = "sheet"
    ask_path: AskPath
    ask_printer: AskPrinter

    @classmethod
    def state_of(cls, feed: OutcomeFeed) -> str:
        """``empty`` while nothing at all has been entered, ``begun`` while no curve can be drawn,
        else ``done``: there is always a sheet of what is known."""
        docket = feed.outcome.docket
        roots = (("particulars",), ("mechanism",), ("capsules",), ("target",))
        entered = any(session.readings for session in docket.sessions)
        if not entered and all(is_empty(docket, root) for root in roots):
            return "empty"
        drawn = feed.outcome.prediction is not None or feed.outcome.capsule_curve is not None
        return "done" if drawn else "begun"

    def build(self) -> None:
        self.feed.decisions.changed.connect(self.follow_when_seen)  # the heading is the judgement
        self.ask_path = save_path
        self.ask_printer = self._printer_dialog
        self.paper_box = QComboBox()
        for paper, name in PAPER_NAMES.items():
            self.paper_box.addItem(name, paper)
        self.paper_box.setAccessibleName(translate("pages", "Paper"))
        set_tip(self.paper_box, translate("pages", "The size of the paper."))
        self._paper_recalled = False
        self.paper_box.currentIndexChanged.connect(self._paper_chosen)
        self.print_button = button(
            translate("pages", "Print…"), translate("pages", "Print the page at true size."),
            self.print_sheet,
        )  # fmt: skip
        self.save_buttons = {
            suffix: button(
                translate("pages", _SAVE[suffix]),
                translate("pages", _TIPS[suffix]),
                self._save_asked,
            )
            for suffix in KINDS
        }
        for suffix, made in self.save_buttons.items():
            made.setProperty("suffix", suffix)
        self.preview = Preview(self.describe)
        self.preview.setAccessibleName(translate("pages", "Preview of the sheet"))
        self.preview.setAccessibleDescription(
            translate("pages", "Plus and minus change the size, zero fits the width.")
        )
        self.said = AnswerLabel()
        self.second_box = QCheckBox(translate("pages", "Second page: the record at length"))
        set_tip(
            self.second_box,
            translate("pages", "Findings, before and after, alterations and setting up in full."),
        )
        self.second_box.toggled.connect(self._paper_chosen)
        self.before_box = QuietComboBox(10)
        self.before_box.setAccessibleName(translate("pages", "Compared with"))
        set_tip(
            self.before_box,
            translate("pages", "Readings of this session stand on the curve as small squares."),
        )
        self.before_box.activated.connect(self._paper_chosen)
        self._lay_out()

    def _lay_out(self) -> None:
        paper = PlainLabel(translate("pages", "&Paper"))
        paper.setBuddy(self.paper_box)
        grid = QGridLayout()
        grid.setSpacing(8)
        choice = QHBoxLayout()
        choice.addWidget(paper)
        choice.addWidget(self.paper_box, 1)
        grid.addLayout(choice, 0, 0)
        buttons = (self.print_button, *self.save_buttons.values())
        for place, made in enumerate(buttons, start=1):
            grid.addWidget(made, place // 3, place % 3)
            grid.setColumnStretch(place % 3, 1)
        self.body.addLayout(grid)
        self._before_label = PlainLabel(translate("pages", "&Compared with"))
        self._before_label.setBuddy(self.before_box)
        compared = QHBoxLayout()
        compared.addWidget(self.second_box)
        compared.addStretch(1)
        self.workshop_button = button(
            translate("pages", "Workshop…"),
            translate("pages", "Name, address and sign that head the sheet."), self._ask_workshop,
        )  # fmt: skip
        compared.addWidget(self.workshop_button)
        self.body.addLayout(compared)
        before = QHBoxLayout()
        before.addWidget(self._before_label)
        before.addWidget(self.before_box, 1)
        self.body.addLayout(before)
        self.body.addWidget(self.said)
        self.body.addLayout(self._zoom_row())
        self.body.addWidget(self.preview, 1000)

    def _zoom_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.zoom_out_button = button("−", translate("pages", "Smaller"),
                                            self.preview.zoom_out)  # fmt: skip
        self.zoom_in_button = button("+", translate("pages", "Larger"), self.preview.zoom_in)
        for zoom in (self.zoom_out_button, self.zoom_in_button):
            zoom.setAccessibleName(zoom.toolTip())
        self.fit_button = button(
            translate("pages", "Fit width"), translate("pages", "The whole width of the paper."),
            self.preview.fit_width,
        )  # fmt: skip
        note = PlainLabel(translate("pages", "As it will be printed"))
        set_role(note, "faint")
        row.addWidget(note, 1)
        for made in (self.zoom_out_button, self.zoom_in_button, self.fit_button):
            row.addWidget(made)
        self.preview.zoomed.connect(self._zoomed)
        self._zoomed(self.preview.zoom)
        return row

    @property
    def paper(self) -> str:
        """Key of the paper chosen."""
        return self.paper_box.currentData()

    def view(self) -> View:
        """Frame and units as the window shows them."""
        return self.display.view(self.feed.outcome.docket)

    def describe(self) -> Description:
        """The sheet of the docket as it stands."""
        return describe(self.feed.decisions.judged, self.paper, self.view(), self.options())

    def options(self) -> SheetOptions:
        """Pages, comparison and heading asked for."""
        workshop = kept_workshop(self._settings())
        before = self.before_box.currentData() if self.before_box.count() else EARLIEST
        asked = SheetOptions(2 if self.second_box.isChecked() else 1, before, workshop)
        found = self.feed.decisions.current
        if found is None:
            said = translate("pages", "Being judged…") if self.feed.decisions.awaited else ""
            return replace(asked, said=said)
        return judged_options(found.decision.judgement, asked, self.view().frame)

    def _recall_paper(self) -> None:
        """The paper that was chosen last, once the page stands in its window."""
        if self._paper_recalled or not hasattr(self.window(), "settings"):
            return
        self._paper_recalled = True
        index = self.paper_box.findData(self._settings().text("paper"))
        if index >= 0:
            self.paper_box.setCurrentIndex(index)

    def follow(self) -> None:
        super().follow()
        self._recall_paper()
        self._fill_before()
        awaited = self.feed.decisions.awaited  # the judgement that heads the sheet
        for made in (self.print_button, *self.save_buttons.values()):
            allow(made, not awaited, translate("pages", "In a moment: it is being judged."))
        self.preview.follow()

    def _fill_before(self) -> None:
        """The sessions that the one shown can be compared with; what was chosen stays."""
        chosen = self.before_box.currentData() if self.before_box.count() else EARLIEST
        docket, shown = self.store.docket, self.feed.outcome.session
        self.before_box.clear()
        self.before_box.addItem(translate("pages", "The first session with readings"), EARLIEST)
        self.before_box.addItem(translate("pages", "No other session"), None)
        for index in range(len(docket.sessions)):
            if index != shown:
                self.before_box.addItem(session_title(docket, index), index)
        places = [self.before_box.itemData(i) for i in range(self.before_box.count())]
        self.before_box.setCurrentIndex(places.index(chosen) if chosen in places else 0)
        several = len(docket.sessions) > 1
        self.before_box.setVisible(several)
        self._before_label.setVisible(several)

    def _ask_workshop(self) -> None:
        """The workshop's heading is the window's to keep."""
        window = self.window()
        if hasattr(window, "show_workshop"):
            window.show_workshop()

    def close_down(self) -> None:
        """The window closes."""
        self.preview.stop()

    def print_sheet(self) -> None:
        """Print, if the dialog says so."""
        try:
            done = print_docket(self.feed.outcome, self.ask_printer, self.paper, self.view(),
                                self.options())  # fmt: skip
        except BobweightError as error:
            self.said.say(sentence(error.problem, self.store.docket, self.display), "wrong")
        else:
            if done:
                self.said.say(translate("pages", "Sent to the printer."))

    def save(self, suffix: str) -> None:
        """Ask where, and save the sheet as pdf, svg, png or csv."""
        title = translate("pages", "Save the sheet")
        path = self.ask_path(self, title, self._suggestion(suffix), suffix)
        if path is None:
            return
        if path.suffix.lower() != f".{suffix}":  # the button says what is written
            path = path.with_name(f"{path.name}.{suffix}")
            if path.exists():  # the dialog asked about another name
                text = translate("pages", "{file} is there already. Choose another name.")
                self.said.say(text.format(file=path.name), "wrong")
                return
        try:
            write_outcome(self.feed.outcome, path, self.paper, self.view(), self.options(),
                          Patience(self))  # fmt: skip
        except BobweightError as error:
            self.said.say(sentence(error.problem, self.store.docket, self.display), "wrong")
        else:
            self._settings().saved_to("sheets", path)
            self.said.say(translate("pages", "Saved as {file}.").format(file=path.name))

    def _suggestion(self, suffix: str) -> Path:
        """Beside the docket, under its name; else under the title."""
        if self.store.file_path is not None:
            return self.store.file_path.with_suffix(f".{suffix}")
        record = self.store.docket.particulars
        name = re.sub(r"[^\w\- ]", "", record.title or record.unit_number).strip()
        folder = self._settings().folder_for("sheets")
        return folder / f"{name or translate('pages', 'sheet')}.{suffix}"

    def _settings(self) -> Settings:
        return getattr(self.window(), "settings", None) or Settings()

    def _save_asked(self) -> None:
        self.save(self.sender().property("suffix"))

    def _paper_chosen(self, _chosen: int) -> None:
        self._settings().set_text("paper", self.paper_box.currentData())
        self.preview.follow(at_once=True)

    def _zoomed(self, zoom: float) -> None:
        whole = translate("pages", "The page is shown as wide as there is room already.")
        for made in (self.zoom_out_button, self.fit_button):
            allow(made, zoom > 1.0, whole)

    def _printer_dialog(self, printer: QPrinter) -> bool:
        return ask_printer(printer, self, translate("pages", "Print the sheet"))
