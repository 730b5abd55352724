"""What to alter: the shortest list with its probability, others instead, a preview, one edit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QButtonGroup,
    QCheckBox,
    QGridLayout,
    QPushButton,
    QRadioButton,
    QWidget,
)

from bobweight.app.editors.take_alteration import take_alteration
from bobweight.app.messages.explanations import (
    alterations_text,
    option_sentence,
    percent,
    shares_sentence,
    step_text,
    steps_text,
)
from bobweight.app.pages.verdict.part import VerdictPart, being_judged
from bobweight.app.widgets.bars import ProbabilityBar
from bobweight.app.widgets.card import allow
from bobweight.app.widgets.caution_box import CautionBox
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.widgets.words import words
from bobweight.app.words import QT_TRANSLATE_NOOP, translate
from bobweight.core.problems import required

if TYPE_CHECKING:
    from bobweight.app.store.display import Display
    from bobweight.core.docket.docket import Docket
    from bobweight.core.judgement.consequences import Consequences, Option


class OptionRow(QWidget):
    """One list of alterations: a button to choose it, its steps, the probability after it."""

    def __init__(self) -> None:
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 2)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(2)
        self.button = QRadioButton()
        self.steps, self.said = words(), words(role="faint")
        self.bar = ProbabilityBar()
        self.number = PlainLabel()
        widest = max(map(self.fontMetrics().horizontalAdvance, ("<1 %", ">99 %")))
        self.number.setMinimumWidth(widest)  # or each bar would have a length of its own
        grid.addWidget(self.button, 0, 0, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(self.steps, 0, 1, 1, 2)
        grid.addWidget(self.bar, 1, 1)
        grid.addWidget(self.number, 1, 2)
        grid.addWidget(self.said, 2, 1, 1, 2)
        grid.setColumnStretch(1, 1)

    def show_option(self, option: Option, docket: Docket, display: Display, before: float) -> None:
        """Show a list of alterations to a docket."""
        texts = [step_text(step, docket, display) for step in option.steps]
        numbered = [f"{n}. {text}" for n, text in enumerate(texts, start=1)]
        said = option_sentence(option.steps, before)
        self.steps.setText("\n".join(numbered if len(texts) > 1 else texts))
        self.said.setText(said)
        self.number.setText(percent(option.probability))
        self.bar.show_share(option.probability, said)
        self.button.setAccessibleName(steps_text(option.steps, docket, display))
        self.button.setAccessibleDescription(said)


class AlterPart(VerdictPart):
    """The lists of alterations to choose from."""

    title = QT_TRANSLATE_NOOP("verdict", "What to alter")

    def fill(self) -> None:
        self.said = words()
        self.body.addWidget(self.said)
        self.rows: list[OptionRow] = []
        self._group = QButtonGroup(self)
        self._group.idClicked.connect(self._chosen)
        self._holder = QWidget()
        self._grid = QGridLayout(self._holder)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(6)
        self.preview = QCheckBox(translate("verdict", "Show the curve after it on the board"))
        self.preview.setChecked(True)
        self.preview.toggled.connect(self._preview_toggled)
        self.take_button = QPushButton(translate("verdict", "It is done: take it into the docket"))
        set_tip(
            self.take_button,
            translate(
                "verdict",
                "Puts the fitted figures and the alteration into the docket and into its history, "
                "and begins a session for the readings after it. One undo takes it all back.",
            ),
        )
        self.take_button.clicked.connect(self.take)
        self.cautions = CautionBox(self.display)
        self.cautions.show_act("setting")
        for widget in (self._holder, self.preview, self.take_button, self.cautions):
            self.body.addWidget(widget)

    def show_found(self, found: Consequences) -> None:
        decision, options = found.decision, found.options
        options = options if decision.to_alter else ()
        while len(self.rows) < len(options):
            row = OptionRow()
            self._group.addButton(row.button, len(self.rows))
            self._grid.addWidget(row, len(self.rows), 0)
            self.rows.append(row)
        for index, row in enumerate(self.rows):
            row.setVisible(index < len(options))
            if index < len(options):
                before = required(decision.cure).probability_before
                row.show_option(options[index], decision.judgement.described, self.display, before)
        self.said.setText(self._said(found))
        for widget in (self._holder, self.preview, self.take_button, self.cautions):
            widget.setVisible(bool(options))
        if options:
            self.rows[max(self.decisions.chosen, 0)].button.setChecked(True)
        if not options or not self.preview.isChecked():
            self.decisions.choose(-1)

    def show_current(self, found: Consequences, current: bool) -> None:
        allow(self.take_button, current, being_judged())

    def _said(self, found: Consequences) -> str:
        decision, cure = found.decision, found.decision.cure
        if cure is None:
            return translate("verdict", "Nothing can be proposed without a target.")
        if decision.action == "leave-alone":
            more = translate("verdict", "Nothing need be altered.")
        elif not decision.to_alter:
            more = translate("verdict", "Nothing is proposed before the table’s shaft is sure.")
        elif not found.options:
            more = translate("verdict", "Nothing tried makes that better.")
        else:
            more = alterations_text(decision.action, len(found.options) > 1)
        said = translate(
            "verdict", "As it is, the chance that it lies inside the whole band is {before}."
        )
        shares = shares_sentence([option.steps for option in found.options])
        shares = shares if decision.to_alter else ""
        said = said.format(before=percent(cure.probability_before))
        return " ".join(part for part in (said, more, shares) if part)

    # Acts -----------------------------------------------------------------------------------

    def _chosen(self, index: int) -> None:
        if self.preview.isChecked():
            self.decisions.choose(index)

    def _preview_toggled(self, on: bool) -> None:
        self.decisions.choose(max(self._group.checkedId(), 0) if on else -1)

    def take(self) -> None:
        """Take the list chosen into the docket and its history, as one edit."""
        take_alteration(self.store, self.feed, self.display, max(self._group.checkedId(), 0))
