"""Lays out the fields of a record as labelled groups."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from bobweight.app.editors.choice import ChoiceField, FlagField
from bobweight.app.editors.field import (
    APART_PX,
    LABEL_BESIDE,
    Field,
    columns_in,
    label_px,
    least_row_px,
)
from bobweight.app.editors.number import NumberField, WholeField
from bobweight.app.editors.text import TextField
from bobweight.app.guard import guarded
from bobweight.app.store import RecordStore
from bobweight.app.store.display import Display
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.words import kept_together
from bobweight.core.problems import Path
from bobweight.core.record import Record, parameters

_EDITORS = {
    "number": NumberField,
    "whole": WholeField,
    "text": TextField,
    "choice": ChoiceField,
    "flag": FlagField,
}


def plain_keys(record_type: type[Record]) -> list[str]:
    """The keys of the plain values of a record: those that a form can show."""
    return [key for key, p in parameters(record_type).items() if p.kind in _EDITORS]


class Form(QWidget):
    """The named fields of a record at a path, with their labels; ``fields`` by key. Where there is
    room for two columns of them, the second half stands beside the first, and labels take what
    fields leave."""

    def __init__(
        self, record_type: type[Record], prefix: Path, keys: Iterable[str], store: RecordStore,
        display: Display,
    ) -> None:  # fmt: skip
        super().__init__()
        self.fields: dict[str, Field] = {}
        self._labels: dict[str, QLabel] = {}
        whole = QGridLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setHorizontalSpacing(0)
        self._sides = (QGridLayout(), QGridLayout())
        for place, side in enumerate(self._sides):
            side.setHorizontalSpacing(10)
            side.setVerticalSpacing(7)
            side.setColumnStretch(1, 1)
            whole.addLayout(side, 0, place, Qt.AlignmentFlag.AlignTop)
        self._whole = whole
        described = parameters(record_type)
        for key in keys:
            parameter = described[key]
            made = _EDITORS[parameter.kind](parameter, store, (*prefix, key), display, self)
            beside = PlainLabel(kept_together(made.text_label()))
            beside.setWordWrap(True)
            beside.setProperty(LABEL_BESIDE, True)
            beside.setIndent(0)  # a padded label would be indented
            made.take_label(beside)
            self.fields[key] = made
            self._labels[key] = beside
        self._shown = list(self.fields)
        self._columns = 0
        self._flow(1, label_px(0, self._character, 1))

    @property
    def _character(self) -> int:
        return self.fontMetrics().horizontalAdvance("0")

    def _flow(self, columns: int, label_width: int) -> None:
        """Lay the shown fields out in so many columns, filled from top to bottom."""
        for label in self._labels.values():
            label.setFixedWidth(label_width)
        if columns == self._columns:
            return
        self._columns = columns
        for side in self._sides:
            while side.count():
                side.takeAt(0)
        rows = -(-len(self._shown) // columns)
        for place, key in enumerate(self._shown):
            side, row = self._sides[place // rows], place % rows
            side.addWidget(self._labels[key], row, 0, Qt.AlignmentFlag.AlignTop)
            side.addWidget(self.fields[key], row, 1)
        self._whole.setHorizontalSpacing(APART_PX if columns > 1 else 0)
        for place in range(2):
            self._whole.setColumnStretch(place, int(place < columns))
        self.updateGeometry()

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        columns = columns_in(self.width(), self._character) if len(self._shown) > 3 else 1
        self._flow(columns, label_px(self.width(), self._character, columns))

    @guarded
    def minimumSizeHint(self) -> QSize:
        """One column's width: a page that shrinks is not held open by two."""
        size = super().minimumSizeHint()
        return QSize(min(size.width(), least_row_px(self._character)), size.height())

    def set_prefix(self, prefix: Path) -> None:
        """Edit the record at another path."""
        for key, made in self.fields.items():
            made.set_path((*prefix, key))

    def show_only(self, keys: Iterable[str]) -> None:
        """Show these fields and hide the others."""
        wanted = set(keys)
        shown = [key for key in self.fields if key in wanted]
        for key, made in self.fields.items():
            made.setVisible(key in wanted)
            self._labels[key].setVisible(key in wanted)
        if shown != self._shown:
            self._shown, columns, self._columns = shown, self._columns, 0
            self._flow(columns, next(iter(self._labels.values())).width())
