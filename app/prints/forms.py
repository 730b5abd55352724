"""The form of a print: the values of its record, with the docket's own figures to begin with."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from bobweight.app.editors.form import Form, plain_keys
from bobweight.app.editors.number import NumberField
from bobweight.app.store import RecordStore
from bobweight.app.store.display import Display
from bobweight.app.widgets.card import stacked
from bobweight.app.widgets.worked_out import Group, WorkedOut
from bobweight.core.bench.ring import RingSpec
from bobweight.core.bench.tape import TapeSpec
from bobweight.core.judgement.workings import record_inputs
from bobweight.core.problems import required
from bobweight.core.record import Record, parameters

if TYPE_CHECKING:
    from bobweight.app.editors.field import Field

_OF_SEVERAL = ("order", "firing", "two_stroke")
"""What is asked of a tape only if it marks several cylinders."""


class PrintForm(QWidget):
    """Every value of a record and of the records in it, each with its unit, limits and tip.

    Signals
    -------
    altered()
        A value was altered.
    """

    altered = Signal()

    def __init__(self, asked: Record, display: Display) -> None:
        super().__init__()
        self._store = RecordStore(asked, self)
        self.fields: dict[str, Field] = {}
        layout = stacked(self)
        inner = [key for key, described in parameters(asked).items() if described.kind == "one"]
        self._forms = [Form(type(asked), (), plain_keys(type(asked)), self._store, display)]
        for key in inner:
            kind = type(getattr(asked, key))
            self._forms.append(Form(kind, (key,), plain_keys(kind), self._store, display))
        for made in self._forms:
            self.fields |= made.fields
            layout.addWidget(made)
        self._worked: WorkedOut | None = None
        if isinstance(asked, TapeSpec):
            self._worked = WorkedOut("tape", display, self._went_in)
            layout.addWidget(self._worked)
        layout.addStretch(1)
        self._show_needed()
        self._store.changed.connect(self._taken)

    def _went_in(self) -> Sequence[Group]:
        return ((self.asked, record_inputs(self.asked)),)

    @property
    def asked(self) -> Record:
        """What is asked for, as it stands."""
        return self._store.docket

    def commit(self) -> bool:
        """Take what is still being typed. False if something was refused."""
        return all([field.commit() for field in self.fields.values()])

    def _taken(self, _change: object) -> None:
        self._show_needed()
        self.altered.emit()

    def _show_needed(self) -> None:
        if isinstance(self.asked, TapeSpec):
            alone = self.asked.cylinders == 1
            keys = plain_keys(TapeSpec)
            self._forms[0].show_only(k for k in keys if not (alone and k in _OF_SEVERAL))
            required(self._worked).follow(self.asked.diameter_mm is not None)
        if isinstance(self.asked, TapeSpec | RingSpec):
            steps = self.asked.steps
            for key, used in (("mid_deg", steps.longer_deg), ("major_deg", steps.figures_deg)):
                cast(NumberField, self.fields[key]).show_used(used)
