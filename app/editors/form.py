"""Lays out the fields of a record as labelled groups."""

from __future__ import annotations

from collections.abc import Iterable

from bobweight.app.editors.choice import ChoiceField, FlagField
from bobweight.app.editors.columns import LABEL_BESIDE, LabelledRows
from bobweight.app.editors.field import Field
from bobweight.app.editors.number import NumberField, WholeField
from bobweight.app.editors.text import TextField
from bobweight.app.store import RecordStore
from bobweight.app.store.display import Display
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


class Form(LabelledRows):
    """The named fields of a record at a path, with their labels; ``fields`` by key. Where there are
    two columns of them, long texts and the ``wide`` ones stand across both."""

    def __init__(
        self, record_type: type[Record], prefix: Path, keys: Iterable[str], store: RecordStore,
        display: Display, wide: Iterable[str] = (), plain: bool = False,
    ) -> None:  # fmt: skip
        super().__init__(plain=plain)
        self.fields: dict[str, Field] = {}
        described, wide = parameters(record_type), set(wide)
        for key in keys:
            parameter = described[key]
            made = _EDITORS[parameter.kind](parameter, store, (*prefix, key), display, self)
            beside = self.add_row(made.text_label(), made, key in wide or parameter.long)
            beside.setProperty(LABEL_BESIDE, True)
            beside.setIndent(0)  # a padded label would be indented
            made.take_label(beside)
            self.fields[key] = made
        self._shown = list(self._rows)
        self.flow()

    def set_prefix(self, prefix: Path) -> None:
        """Edit the record at another path."""
        for key, made in self.fields.items():
            made.set_path((*prefix, key))

    def show_only(self, keys: Iterable[str]) -> None:
        """Show these fields and hide the others."""
        wanted = set(keys)
        self.show_rows([made for key, made in self.fields.items() if key in wanted])
