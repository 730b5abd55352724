"""A print with its form, its preview, and the ways out: printer or PDF."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QFrame,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.editors.entry import Lines
from bobweight.app.guard import guarded
from bobweight.app.messages import sentence
from bobweight.app.messages.lacking import curve_needs
from bobweight.app.paper.asking import ask_printer, save_path
from bobweight.app.paper.output import judged_options, print_description, write_description
from bobweight.app.paper.preview import Preview
from bobweight.app.prints.forms import PrintForm
from bobweight.app.prints.kinds import CARD_FRAME, KINDS, Asked
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.store.session import Settings
from bobweight.app.store.workshop import kept_workshop
from bobweight.app.widgets.card import allow
from bobweight.app.widgets.dialogs import open_at
from bobweight.app.widgets.patience import Patience
from bobweight.app.widgets.words import AnswerLabel, note
from bobweight.app.words import counted, translate
from bobweight.core.problems import BobweightError
from bobweight.core.sheet.description import PAPER_NAMES, PAPERS, Description, PaperPage, Paragraph

_MARGIN_MM, _WHY_LINES, _WHY_PT, _WHY_LEADING_MM = 30.0, 14, 13.0, 6.2


class PrintDialog(QDialog):
    """Shows one kind of print for the docket as it stands.

    ``ask_path`` and ``ask_printer`` are the dialogs; another may stand in for each.
    """

    def __init__(self, key: str, feed: OutcomeFeed, display: Display, settings: Settings,
                 parent: QWidget | None = None) -> None:  # fmt: skip
        super().__init__(parent)
        self.key, self.kind = key, KINDS[key]
        self.feed, self.display, self.settings = feed, display, settings
        self.ask_path: Callable[..., Path | None] = save_path
        self.ask_printer: Callable[..., bool] = ask_printer
        self.title = translate("prints", self.kind.title)
        self.setWindowTitle(self.title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        docket = feed.outcome.docket
        self.form = PrintForm(self.kind.asks(docket), display) if self.kind.asks else None
        if self.form is not None:
            self.form.altered.connect(self._altered)
        self.preview = Preview(self.describe)
        self.preview.setAccessibleName(translate("prints", "Preview of the print"))
        self.feed.decisions.changed.connect(self._decided)
        self._lay_out()
        open_at(self, 1060, 1000)

    def _lay_out(self) -> None:
        self.paper_box = QComboBox()
        for paper, name in PAPER_NAMES.items():
            self.paper_box.addItem(name, paper)
        self.paper_box.setCurrentIndex(max(self.paper_box.findData(self.settings.text("paper")), 0))
        self.paper_box.setAccessibleName(translate("prints", "Paper"))
        self.paper_box.currentIndexChanged.connect(self._paper_chosen)
        self.said = AnswerLabel()
        self.print_button = self._button(translate("prints", "Print…"), self.print_it)
        self.save_button = self._button(translate("prints", "Save PDF…"), self.save)
        self.close_button = self._button(translate("prints", "Close"), self.close)
        side = QVBoxLayout()
        lines = Lines()
        lines.add(translate("prints", "Paper"), self.paper_box)
        if self.form is not None:
            scroll = QScrollArea()
            scroll.setWidget(self.form)
            scroll.setWidgetResizable(True)
            scroll.setFrameShape(QFrame.Shape.NoFrame)
            scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
            side.addWidget(scroll, 10)
        side.addWidget(lines)
        how = translate(
            "prints", "Print at 100 %, not fitted to the page, and measure what its foot names."
        )
        self.how = note(how)
        side.addWidget(self.how)
        side.addWidget(self.said)
        side.addStretch(0 if self.form is not None else 1)  # a form takes what there is
        for button in (self.print_button, self.save_button, self.close_button):
            side.addWidget(button)
        left = QWidget()
        left.setLayout(side)
        left.setFixedWidth(self.fontMetrics().horizontalAdvance("0") * 44)
        layout = QHBoxLayout(self)
        layout.addWidget(left)
        layout.addWidget(self.preview, 1)

    def _button(self, text: str, act: Callable[[], object]) -> QPushButton:
        button = QPushButton(text)
        button.setAutoDefault(False)  # Enter takes a number, it does not print
        button.clicked.connect(act)
        return button

    @property
    def paper(self) -> str:
        """Key of the paper chosen."""
        return self.paper_box.currentData()

    def describe(self) -> Description:
        """The pages as the form asks for them; a page that says why not, where that cannot be."""
        try:
            found = self._described()
        except BobweightError as error:
            why = self._why(error)
            self.said.say(why, "wrong")
            self.how.hide()
            self._enable(why)
            return self._why_not(why)
        self._enable(self._awaited())
        self.how.setVisible(found.true_size)
        count = len(found.pages)
        one, many = translate("prints", "One page."), translate("prints", "{count} pages.")
        self.said.say(counted(count, one, many))
        return found

    def _why_not(self, why: str) -> Description:
        """A page that says, where the print would be, why there is none."""
        wide, tall = PAPERS[self.paper]
        words = translate("prints", "Not printed yet. {why}").format(why=why)
        said = Paragraph(
            _MARGIN_MM, tall / 4, words, wide - 2 * _MARGIN_MM, _WHY_LINES, _WHY_PT, _WHY_LEADING_MM
        )  # fmt: skip
        return Description(self.title, self.paper, (PaperPage(wide, tall, 12.0, (said,)),))

    def _awaited(self) -> str:
        """What keeps the print from being whole for a moment; empty if nothing does."""
        if self.kind.judged and self.feed.decisions.awaited:
            return translate("prints", "In a moment: it is being judged.")
        return ""

    def _decided(self) -> None:
        self.preview.follow()

    def _described(self) -> Description:
        view = self.display.view(self.feed.outcome.docket)
        workshop = kept_workshop(self.settings)
        asked = self.form.asked if self.form is not None else None
        found = self.feed.decisions.current
        said = (
            "" if found is None else judged_options(found.decision.judgement, frame=CARD_FRAME).said
        )
        return self.kind.describe(Asked(self.feed.outcome, view, self.paper, workshop, said), asked)

    def print_it(self) -> None:
        """Print, if the printer's dialog says so."""
        if self._ready() and self._try(self._print):
            self.said.say(translate("prints", "Sent to the printer."))

    def _print(self) -> bool:
        return print_description(self._described(), self._asked)

    def _asked(self, printer: object) -> bool:
        return self.ask_printer(printer, self, self.title)

    def save(self) -> None:
        """Ask where, and save as PDF."""
        if not self._ready():
            return
        title = self.feed.outcome.docket.particulars.title
        name = re.sub(r"[^\w\- ]", "", f"{title} {self.title}").strip()[:80]
        folder = self.settings.folder_for("prints")
        path = self.ask_path(self, self.title, folder / f"{name}.pdf", "pdf")
        if path is None:
            return
        path = path if path.suffix.lower() == ".pdf" else path.with_name(f"{path.name}.pdf")

        def write() -> bool:
            write_description(self._described(), path, Patience(self))
            return True

        if self._try(write):
            self.settings.saved_to("prints", path)
            self.said.say(translate("prints", "Saved as {file}.").format(file=path.name))

    def _why(self, error: BobweightError) -> str:
        if error.problem.code == "curve-needed":
            return curve_needs(self.feed.outcome, self.feed.decisions.doubts)
        return sentence(error.problem, self.form.asked if self.form else None, self.display)

    def _ready(self) -> bool:
        """Take what is still being typed first."""
        return self.form is None or self.form.commit()

    def _try(self, act: Callable[[], bool]) -> bool:
        try:
            return act()
        except BobweightError as error:
            self.said.say(self._why(error), "wrong")
            return False

    def _enable(self, wanting: str) -> None:
        for made in (self.print_button, self.save_button):
            allow(made, not wanting, wanting)

    def _altered(self) -> None:
        self.preview.follow(at_once=True)

    def _paper_chosen(self, _index: int) -> None:
        self.settings.set_text("paper", self.paper)
        self.preview.follow(at_once=True)

    @guarded
    def closeEvent(self, event: QCloseEvent) -> None:
        self._stop()
        super().closeEvent(event)

    @guarded
    def done(self, result: int) -> None:
        """Escape too stops the preview."""
        self._stop()
        super().done(result)

    def _stop(self) -> None:
        self.preview.stop()
