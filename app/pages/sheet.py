"""The sheet: how it will look on paper, and the ways out of the window."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QT_TRANSLATE_NOOP, Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QWidget,
)

from app.editors.field import set_role
from app.messages import sentence
from app.outcome_feed import OutcomeFeed
from app.pages.page import Page, is_empty
from app.paper.output import describe, print_docket, write_outcome
from app.paper.preview import Preview
from app.words import translate
from core.problems import BobweightError
from core.sheet.description import PAPER_NAMES, Description
from core.sheet.figures import View

AskPath = Callable[[QWidget, str, Path, str], Path | None]
"""Asks where to save: parent, title, suggested path, suffix. None: not at all."""

AskPrinter = Callable[[object], bool]

KINDS = {
    "pdf": QT_TRANSLATE_NOOP("pages", "PDF document"),
    "svg": QT_TRANSLATE_NOOP("pages", "SVG drawing"),
    "png": QT_TRANSLATE_NOOP("pages", "PNG image"),
    "csv": QT_TRANSLATE_NOOP("pages", "CSV table"),
}
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
    title = QT_TRANSLATE_NOOP("pages", "Sheet")
    ask_path: AskPath
    ask_printer: AskPrinter

    @classmethod
    def state_of(cls, feed: OutcomeFeed) -> str:
        """``empty`` while nothing at all has been entered, else ``done``: there is always a sheet
        of what is known."""
        docket = feed.outcome.docket
        roots = (("particulars",), ("mechanism",), ("capsule",), ("target",))
        entered = any(session.readings for session in docket.sessions)
        return "done" if entered or not all(is_empty(docket, r) for r in roots) else "empty"

    def build(self) -> None:
        self.ask_path = save_path
        self.ask_printer = self._printer_dialog
        self.paper_box = QComboBox()
        for paper, name in PAPER_NAMES.items():
            self.paper_box.addItem(name, paper)
        self.paper_box.setAccessibleName(translate("pages", "Paper"))
        self.paper_box.setToolTip(translate("pages", "The size of the paper."))
        self.paper_box.currentIndexChanged.connect(self._paper_chosen)
        self.print_button = self._button(
            translate("pages", "Print…"), translate("pages", "Print the page at true size."),
            self.print_sheet,
        )  # fmt: skip
        self.save_buttons = {
            suffix: self._button(
                translate("pages", _SAVE[suffix]),
                translate("pages", _TIPS[suffix]),
                self._save_asked,
            )
            for suffix in KINDS
        }
        for suffix, button in self.save_buttons.items():
            button.setProperty("suffix", suffix)
        self.preview = Preview(self.describe)
        self.preview.setAccessibleName(translate("pages", "Preview of the sheet"))
        self.preview.setAccessibleDescription(
            translate("pages", "Plus and minus change the size, zero fits the width.")
        )
        self.said = QLabel()
        self.said.setWordWrap(True)
        self.said.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.said.hide()
        self._lay_out()
        self.display.changed.connect(self._display_changed)

    def _lay_out(self) -> None:
        paper = QLabel(translate("pages", "&Paper"))
        paper.setBuddy(self.paper_box)
        grid = QGridLayout()
        grid.setSpacing(8)
        choice = QHBoxLayout()
        choice.addWidget(paper)
        choice.addWidget(self.paper_box, 1)
        grid.addLayout(choice, 0, 0)
        buttons = (self.print_button, *self.save_buttons.values())
        for place, button in enumerate(buttons, start=1):
            grid.addWidget(button, place // 3, place % 3)
            grid.setColumnStretch(place % 3, 1)
        self.body.addLayout(grid)
        self.body.addWidget(self.said)
        self.body.addLayout(self._zoom_row())
        self.body.addWidget(self.preview, 1000)

    def _zoom_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.zoom_out_button = self._button("−", translate("pages", "Smaller"),
                                            self.preview.zoom_out)  # fmt: skip
        self.zoom_in_button = self._button("+", translate("pages", "Larger"), self.preview.zoom_in)
        for button in (self.zoom_out_button, self.zoom_in_button):
            button.setAccessibleName(button.toolTip())
        self.fit_button = self._button(
            translate("pages", "Fit width"), translate("pages", "The whole width of the paper."),
            self.preview.fit_width,
        )  # fmt: skip
        note = QLabel(translate("pages", "As it will be printed"))
        set_role(note, "faint")
        row.addWidget(note, 1)
        for button in (self.zoom_out_button, self.zoom_in_button, self.fit_button):
            row.addWidget(button)
        self.preview.zoomed.connect(self._zoomed)
        self._zoomed(self.preview.zoom)
        return row

    def _button(self, text: str, tip: str, act: Callable[[], None]) -> QPushButton:
        button = QPushButton(text)
        button.setToolTip(tip)
        button.clicked.connect(act)
        return button

    @property
    def paper(self) -> str:
        """Key of the paper chosen."""
        return self.paper_box.currentData()

    def view(self) -> View:
        """Frame and units as the window shows them."""
        ratio = self.feed.outcome.docket.particulars.drive_ratio
        return View(self.display.frame, ratio, self.display.depression_unit)

    def describe(self) -> Description:
        """The sheet of the docket as it stands."""
        return describe(self.feed.outcome, self.paper, self.view())

    def follow(self) -> None:
        super().follow()
        self.preview.follow()

    def close_down(self) -> None:
        """The window closes."""
        self.preview.stop()

    def print_sheet(self) -> None:
        """Print, if the dialog says so."""
        try:
            done = print_docket(self.feed.outcome, self.ask_printer, self.paper, self.view())
        except BobweightError as error:
            self._tell(sentence(error.problem, self.store.docket, self.display), "wrong")
        else:
            if done:
                self._tell(translate("pages", "Sent to the printer."))

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
                self._tell(text.format(file=path.name), "wrong")
                return
        try:
            write_outcome(self.feed.outcome, path, self.paper, self.view())
        except BobweightError as error:
            self._tell(sentence(error.problem, self.store.docket, self.display), "wrong")
        else:
            self._tell(translate("pages", "Saved as {file}.").format(file=path.name))

    def _suggestion(self, suffix: str) -> Path:
        """Beside the docket, under its name; else under the title."""
        if self.store.file_path is not None:
            return self.store.file_path.with_suffix(f".{suffix}")
        record = self.store.docket.particulars
        name = re.sub(r"[^\w\- ]", "", record.title or record.unit_number).strip()
        return Path.home() / f"{name or translate('pages', 'sheet')}.{suffix}"

    def _tell(self, text: str, role: str = "faint") -> None:
        set_role(self.said, role)
        self.said.setText(text)
        self.said.show()

    def _save_asked(self) -> None:
        self.save(self.sender().property("suffix"))

    def _paper_chosen(self, _index: int) -> None:
        self.preview.follow(at_once=True)

    def _display_changed(self) -> None:
        self.preview.follow()

    def _zoomed(self, zoom: float) -> None:
        self.zoom_out_button.setEnabled(zoom > 1.0)
        self.fit_button.setEnabled(zoom > 1.0)

    def _printer_dialog(self, printer: object) -> bool:
        from PySide6.QtPrintSupport import QPrintDialog

        dialog = QPrintDialog(printer, self)
        dialog.setWindowTitle(translate("pages", "Print the sheet"))
        return dialog.exec() == QDialog.DialogCode.Accepted


def save_path(parent: QWidget, title: str, suggestion: Path, suffix: str) -> Path | None:
    """Ask with the system's dialog, which also asks before it overwrites."""
    dialog = QFileDialog(parent, title, str(suggestion.parent))
    dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
    dialog.setNameFilter(f"{translate('pages', KINDS[suffix])} (*.{suffix})")
    dialog.setDefaultSuffix(suffix)
    dialog.selectFile(suggestion.name)
    if dialog.exec() != QDialog.DialogCode.Accepted:
        return None
    return Path(dialog.selectedFiles()[0])
