"""Find a field by its name, and go to it."""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDialog,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.editors.form import plain_keys
from bobweight.app.guard import guarded
from bobweight.app.messages import place_text
from bobweight.app.words import translate
from bobweight.core.docket.docket import Docket
from bobweight.core.problems import Path
from bobweight.core.record import Record, parameters

_PATH = Qt.ItemDataRole.UserRole
_LISTS = ("springs", "capsules")  # whose entries are forms; the others are rows of a table
_MOST = 40


def field_paths(record: Record, here: Path = ()) -> Iterator[Path]:
    """The paths of all values that a form shows, in the order of the docket."""
    plain = set(plain_keys(type(record)))
    for key, parameter in parameters(type(record)).items():
        value = getattr(record, key)
        if key in plain:
            yield (*here, key)
        elif parameter.kind == "one":
            yield from field_paths(value, (*here, key))
        elif key in _LISTS:
            for index, entry in enumerate(value):
                yield from field_paths(entry, (*here, key, index))


class Finder(QDialog):
    """Type part of a name; Enter goes to the field.

    Signals
    -------
    found(path)
        The field to go to.
    """

    found = Signal(object)

    def __init__(self, docket: Docket, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(translate("window", "Find a field"))
        self.places = [(place_text(path, docket), path) for path in field_paths(docket)]
        self.edit = QLineEdit()
        self.edit.setPlaceholderText(translate("window", "Part of its name: stop, rate, static…"))
        self.edit.setAccessibleName(translate("window", "Name of the field"))
        self.edit.textChanged.connect(self.narrow)
        self.edit.returnPressed.connect(self.take)
        self.list = QListWidget()
        self.list.setAccessibleName(translate("window", "Fields of that name"))
        self.list.itemActivated.connect(self.take)
        layout = QVBoxLayout(self)
        layout.addWidget(self.edit)
        layout.addWidget(self.list)
        character = self.fontMetrics().horizontalAdvance("0")
        self.resize(character * 56, character * 40)
        self.narrow("")

    def narrow(self, text: str) -> None:
        """Show the fields whose names have every word typed."""
        words = text.casefold().split()
        self.list.clear()
        for name, path in self.places:
            if all(word in name.casefold() for word in words):
                item = QListWidgetItem(name)
                item.setData(_PATH, path)
                self.list.addItem(item)
                if self.list.count() >= _MOST:
                    break
        self.list.setCurrentRow(0)

    def take(self) -> None:
        """Go to the field chosen."""
        item = self.list.currentItem()
        if item is not None:
            self.accept()
            self.found.emit(tuple(item.data(_PATH)))

    @guarded
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and Down choose while the name is typed."""
        step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
            return
        row = self.list.currentRow() + step
        self.list.setCurrentRow(min(max(row, 0), self.list.count() - 1))
