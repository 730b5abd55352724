"""Editors of a choice and of yes or no."""

from __future__ import annotations

from PySide6.QtWidgets import QCheckBox, QWidget

from bobweight.app.editors.field import Field
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.words import label, option_text


class ChoiceField(Field):
    """One of the options of a choice."""

    def _build(self) -> None:
        self.box = QuietComboBox(12)
        for key in self.parameter.options:
            self.box.addItem(option_text(self.parameter, key), key)
        self.box.activated.connect(self.commit)
        self.row.addWidget(self.box, 1)

    def _editor(self) -> QWidget:
        return self.box

    def _show(self, value: str) -> None:
        self.box.setCurrentIndex(self.box.findData(value))

    def _take(self) -> bool:
        key = self.box.currentData()
        return True if key == self.value else self._put(key)


class FlagField(Field):
    """Yes or no."""

    def _build(self) -> None:
        self.box = QCheckBox(label(self.parameter))
        self.box.clicked.connect(self.commit)
        self.row.addWidget(self.box, 1)

    def text_label(self) -> str:
        return ""

    def _editor(self) -> QWidget:
        return self.box

    def _show(self, value: bool) -> None:
        self.box.setChecked(bool(value))

    def _take(self) -> bool:
        checked = self.box.isChecked()
        return True if checked == self.value else self._put(checked)
