"""Editors of a choice and of yes or no."""

from __future__ import annotations

from PySide6.QtWidgets import QCheckBox, QComboBox, QWidget

from bobweight.app.editors.field import Field
from bobweight.app.store import RecordStore
from bobweight.app.store.display import Display
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.words import label, option_text
from bobweight.core.problems import Path
from bobweight.core.record import Parameter


class ChoiceField(Field):
    """One of the options of a choice."""

    def __init__(
        self, parameter: Parameter, store: RecordStore, path: Path, display: Display,
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parameter, store, path, display, parent)
        self.box = QuietComboBox()
        self.box.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self.box.setMinimumContentsLength(12)
        for key in parameter.options:
            self.box.addItem(option_text(parameter, key), key)
        self.box.activated.connect(self.commit)
        self.row.addWidget(self.box, 1)
        self.refresh()

    def _editor(self) -> QWidget:
        return self.box

    def _show(self, value: str) -> None:
        self.box.setCurrentIndex(self.box.findData(value))

    def _take(self) -> bool:
        key = self.box.currentData()
        return True if key == self.value else self._put(key)


class FlagField(Field):
    """Yes or no."""

    def __init__(
        self, parameter: Parameter, store: RecordStore, path: Path, display: Display,
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parameter, store, path, display, parent)
        self.box = QCheckBox(label(parameter))
        self.box.clicked.connect(self.commit)
        self.row.addWidget(self.box, 1)
        self.refresh()

    def text_label(self) -> str:
        return ""

    def _editor(self) -> QWidget:
        return self.box

    def _show(self, value: bool) -> None:
        self.box.setChecked(bool(value))

    def _take(self) -> bool:
        checked = self.box.isChecked()
        return True if checked == self.value else self._put(checked)
