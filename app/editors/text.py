"""Editor of a text."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QPlainTextEdit, QWidget

from bobweight.app.editors.field import Field, wants_undo
from bobweight.app.guard import guarded
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.core.problems import Path
from bobweight.core.record import Parameter


class TextField(Field):
    """One line, or several where the description says ``long``. Taken on Enter or on leaving."""

    def __init__(
        self, parameter: Parameter, store: Store, path: Path, display: Display,
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parameter, store, path, display, parent)
        self.edit: QLineEdit | QPlainTextEdit
        if parameter.long:
            self.edit = QPlainTextEdit()
            self.edit.setTabChangesFocus(True)
            self.edit.setFixedHeight(self.fontMetrics().lineSpacing() * 6)
        else:
            self.edit = QLineEdit()
            self.edit.setMaxLength(400)
            self.edit.returnPressed.connect(self.commit)
        self.edit.installEventFilter(self)
        self.row.addWidget(self.edit, 1)
        self.refresh()

    def _editor(self) -> QWidget:
        return self.edit

    def _show(self, value: str) -> None:
        if value == self._text():
            return
        if isinstance(self.edit, QPlainTextEdit):
            self.edit.setPlainText(value)
        else:
            self.edit.setText(value)
            self.edit.setCursorPosition(0)

    def _text(self) -> str:
        if isinstance(self.edit, QPlainTextEdit):
            return self.edit.toPlainText()
        return self.edit.text()

    def uncommitted(self) -> str:
        return self._text() if self.is_there and self._text() != self.value else ""

    def _take(self) -> bool:
        text = self._text()
        return True if text == self.value else self._put(text)

    @guarded
    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if wants_undo(event) and self.is_there and self._text() == self.value:
            event.ignore()  # nothing typed to undo here: the window's undo takes it
            return True
        if event.type() == QEvent.Type.FocusOut:
            self.commit()
        elif (
            event.type() == QEvent.Type.KeyPress
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
            and self._text() != self.value
        ):
            self.refresh()
            return True
        return super().eventFilter(watched, event)
