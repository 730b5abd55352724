"""Numbers that are not stored as typed: inputs of a short sum, and other ways to say a value."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from bobweight.app.editors.columns import LABEL_BESIDE, LabelledRows
from bobweight.app.editors.field import wants_undo
from bobweight.app.editors.figure_edit import FigureEdit
from bobweight.app.editors.number import read
from bobweight.app.guard import guarded
from bobweight.app.messages import sentence
from bobweight.app.store.display import Display
from bobweight.app.widgets.card import stacked
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.widgets.words import AnswerLabel
from bobweight.app.words import help_text, label, unit_text, written
from bobweight.core.problems import BobweightError, Problem
from bobweight.core.record import Parameter


class NumberEntry(QWidget):
    """A number with its unit, any unit typed, and the reason below it where it is refused.

    Signals
    -------
    taken(value)
        A number (or None for nothing) was typed and accepted.

    Parameters
    ----------
    parameter : Parameter
        What it is: label, unit, limits and tip.
    take : callable or None
        ``take(value)`` puts the number to use and may raise a BobweightError, which is then told
        here.
    """

    taken = Signal(object)

    def __init__(
        self, parameter: Parameter, display: Display, *,
        take: Callable[[float | None], None] | None = None,
    ) -> None:  # fmt: skip
        super().__init__()
        self.parameter = parameter
        self.name = label(parameter)
        self.quantity = parameter.quantity
        self.display = display
        self.value: float | None = None
        self._take = take
        self._shown_text = ""
        self.edit = FigureEdit()
        self.edit.setFixedWidth(self.fontMetrics().horizontalAdvance("0") * 8 + 14)
        self.edit.setMaxLength(60)
        self.edit.setAccessibleName(self.name)
        set_tip(self.edit, help_text(parameter))
        self.edit.installEventFilter(self)
        self.edit.editingFinished.connect(self.commit)
        self.unit_label = PlainLabel()
        self.said = AnswerLabel()
        row = QHBoxLayout()
        row.setSpacing(6)
        row.addWidget(self.edit)
        row.addWidget(self.unit_label)
        row.addStretch(1)
        layout = stacked(self, spacing=2)
        layout.addLayout(row)
        layout.addWidget(self.said)
        display.changed.connect(self._follow_units)
        self._follow_units()

    @property
    def symbol(self) -> str:
        """The unit shown."""
        return self.display.unit(self.quantity)

    def show_value(self, value: float | None) -> None:
        """Show a number; what was typed and refused is dropped."""
        self.value = value
        self._shown_text = written(value, self.quantity, self.symbol)
        self.edit.setText(self._shown_text)
        self.say(None)

    def commit(self) -> bool:
        """Take what was typed. False if it was refused."""
        if self.edit.text() == self._shown_text:
            return True
        try:
            value = read(self.edit.text(), self.quantity, self.symbol)
            wrong = self.parameter.check(value)
            if wrong is not None:
                raise BobweightError.of(wrong)
            if self._take is not None:
                self._take(value)
        except BobweightError as error:
            self.say(error.problem)
            return False
        if self._take is None:
            self.show_value(value)
        self.say(None)
        self.taken.emit(value)
        return True

    def say(self, problem: Problem | None) -> None:
        """Why a number was refused; None clears it."""
        refused = problem is not None
        if bool(self.edit.property("refused")) != refused:
            self.edit.setProperty("refused", refused)
            self.edit.style().unpolish(self.edit)
            self.edit.style().polish(self.edit)
        self.said.say(sentence(problem, None, self.display) if problem else "", "wrong")
        self.edit.setAccessibleDescription(self.said.text())

    def _follow_units(self) -> None:
        self.unit_label.setText(unit_text(self.parameter, self.symbol))
        self.show_value(self.value)

    @guarded
    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if wants_undo(event) and self.edit.text() == self._shown_text:
            event.ignore()  # nothing typed to undo here: the window's undo takes it
            return True
        if (
            event.type() == QEvent.Type.KeyPress
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
            and self.edit.text() != self._shown_text
        ):
            self.show_value(self.value)
            return True
        return super().eventFilter(watched, event)


class Lines(LabelledRows):
    """Labels with what belongs beside them, in the two columns of a form: two and two."""

    def __init__(self) -> None:
        super().__init__(across=True, plain=True)

    def add(self, text: str, beside: QWidget) -> None:
        """Put a labelled widget below the others."""
        label = self.add_row(text, beside)
        if not isinstance(beside, QLabel):
            label.setProperty(LABEL_BESIDE, True)
            label.setIndent(0)
            label.setBuddy(beside.edit if isinstance(beside, NumberEntry) else beside)
        self._shown = list(self._rows)
        self.flow()

    def add_entry(self, entry: NumberEntry) -> NumberEntry:
        """Put an entry below the others, under its own name."""
        self.add(entry.name, entry)
        return entry
