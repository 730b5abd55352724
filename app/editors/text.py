"""Editor of a text."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QPlainTextEdit, QWidget

from bobweight.app.editors.field import Field, wants_undo
from bobweight.app.guard import guarded
from bobweight.app.words import cut

LONGEST_LINE, LONGEST_TEXT = 4000, 100_000
"""A longer text is kept, shown by its beginning, and not to be edited here."""


class TextField(Field):
    """One line, or several where the description says ``long``. Taken on Enter or on leaving."""

    def _build(self) -> None:
        self._shown_text = ""
        self.edit: QLineEdit | QPlainTextEdit
        if self.parameter.long:
            self.edit = QPlainTextEdit()
            self.edit.setTabChangesFocus(True)
            self.edit.setFixedHeight(self.fontMetrics().lineSpacing() * 6)
        else:
            self.edit = QLineEdit()
            self.edit.setMaxLength(LONGEST_LINE)
            self.edit.returnPressed.connect(self.commit)
        self.edit.installEventFilter(self)
        self.row.addWidget(self.edit, 1)

    def _editor(self) -> QWidget:
        return self.edit

    def _show(self, value: str) -> None:
        if value == self._text() and self._shown_text == value:
            return
        most = LONGEST_TEXT if isinstance(self.edit, QPlainTextEdit) else LONGEST_LINE
        self.edit.setReadOnly(len(value) > most)  # a hand cannot work on what it does not see
        if isinstance(self.edit, QPlainTextEdit):
            self.edit.setPlainText(cut(value, most))
        else:
            self.edit.setText(cut(value, most))
            self.edit.setCursorPosition(0)
        self._shown_text = self._text()

    def _text(self) -> str:
        if isinstance(self.edit, QPlainTextEdit):  # its plain text has other spaces than were set
            raw = self.edit.document().toRawText()
            return raw.replace("\u2029", "\n").replace("\u2028", "\n")
        return self.edit.text()

    def _is_typed(self) -> bool:
        """True if a hand altered what was shown; what the editor itself cannot show as it is
        stored stays as it is stored."""
        return self.is_there and self._text() != self._shown_text

    def uncommitted(self) -> str:
        return self._text() if self._is_typed() else ""

    def _take(self) -> bool:
        if not self._is_typed():
            return True
        text = self._text()
        if "\r\n" in self.value:  # lines go on ending as they did
            text = text.replace("\r\n", "\n").replace("\n", "\r\n")
        done = text == self.value or self._put(text)
        if done:
            self._shown_text = self._text()
        return done

    @guarded
    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if wants_undo(event) and self.is_there and not self._is_typed():
            event.ignore()  # nothing typed to undo here: the window's undo takes it
            return True
        if event.type() == QEvent.Type.FocusOut:
            self.commit()
        elif (
            event.type() == QEvent.Type.KeyPress
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
            and self._is_typed()
        ):
            self.refresh()
            return True
        return super().eventFilter(watched, event)
