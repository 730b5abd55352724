"""Editors of a choice and of yes or no."""

from __future__ import annotations

from PySide6.QtWidgets import QCheckBox, QWidget

from bobweight.app.editors.field import Field
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.words import label, lower_first, option_text, translate


class ChoiceField(Field):
    """One of the options of a choice. Of one that may be blank the first entry is nothing chosen:
    what is assumed then, grey and in a broken frame."""

    def _build(self) -> None:
        self.box = QuietComboBox(12)
        if self.parameter.optional:
            self.box.addItem(self._blank_text(), None)
        for key in self.parameter.options:
            self.box.addItem(option_text(self.parameter, key), key)
        self.box.activated.connect(self.commit)
        self.row.addWidget(self.box, 1)

    def _editor(self) -> QWidget:
        return self.box

    def _blank_text(self) -> str:
        if self.parameter.assumed is None:
            return translate("editors", "not known")
        words = lower_first(option_text(self.parameter, self.parameter.assumed))
        return translate("editors", "Assumed: {words}").format(words=words)

    def _show(self, value: str | None) -> None:
        blank = value is None
        self.box.setCurrentIndex(0 if blank else self.box.findData(value))
        if bool(self.box.property("assumed")) != blank:
            self.box.setProperty("assumed", blank)
            self.box.style().unpolish(self.box)
            self.box.style().polish(self.box)

    def _tip(self) -> str:
        assumed = self.parameter.assumed
        if assumed is None or self.value is not None:
            return super()._tip()
        words = lower_first(option_text(self.parameter, assumed))
        said = translate("editors", "Not entered: {words} assumed, as usual in the trade.")
        return "\n".join([said.format(words=words), *filter(None, [super()._tip()])])

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
