"""Lays out the fields of a record as labelled groups."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from bobweight.app.editors.choice import ChoiceField, FlagField
from bobweight.app.editors.field import Field
from bobweight.app.editors.number import NumberField, WholeField
from bobweight.app.editors.text import TextField
from bobweight.app.store import RecordStore
from bobweight.app.store.display import Display
from bobweight.app.theme import set_role
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.words import kept_together
from bobweight.core.problems import Path
from bobweight.core.record import Parameter, Record, parameters

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


def field(
    parameter: Parameter,
    store: RecordStore,
    path: Path,
    display: Display,
    parent: QWidget | None = None,
) -> Field:
    """The editor that suits a parameter."""
    return _EDITORS[parameter.kind](parameter, store, path, display, parent)


class Form(QWidget):
    """Labels and fields in two columns; ``fields`` by key."""

    def __init__(
        self, record_type: type[Record], prefix: Path, keys: Iterable[str], store: RecordStore,
        display: Display, parent: QWidget | None = None, heading: str = "",
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self.fields: dict[str, Field] = {}
        self._labels: dict[str, QLabel] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(7)
        grid.setColumnStretch(1, 1)
        label_px = self.fontMetrics().horizontalAdvance("0") * 14
        grid.setColumnMinimumWidth(0, label_px)
        if heading:
            title = PlainLabel(heading)
            set_role(title, "group")
            grid.addWidget(title, 0, 0, 1, 2)
        described = parameters(record_type)
        for row, key in enumerate(keys, start=1):
            made = field(described[key], store, (*prefix, key), display, self)
            beside = PlainLabel(kept_together(made.text_label()))
            beside.setWordWrap(True)
            beside.setFixedWidth(label_px)
            beside.setContentsMargins(0, 6, 0, 0)
            made.take_label(beside)
            grid.addWidget(beside, row, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(made, row, 1)
            self.fields[key] = made
            self._labels[key] = beside

    def set_prefix(self, prefix: Path) -> None:
        """Edit the record at another path."""
        for key, made in self.fields.items():
            made.set_path((*prefix, key))

    def show_only(self, keys: Iterable[str]) -> None:
        """Show these fields and hide the others."""
        wanted = set(keys)
        for key, made in self.fields.items():
            made.setVisible(key in wanted)
            self._labels[key].setVisible(key in wanted)


def form(
    record_type: type[Record], prefix: Path, keys: Iterable[str], store: RecordStore,
    display: Display,
    parent: QWidget | None = None, heading: str = "",
) -> Form:  # fmt: skip
    """A form of the named fields of a record at a path."""
    return Form(record_type, prefix, keys, store, display, parent, heading)
