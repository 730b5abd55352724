"""How a result was worked out: formula, what went in, and where each figure came from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from operator import itemgetter
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHeaderView, QToolButton, QWidget

from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.theme import set_role
from bobweight.app.widgets.card import stacked
from bobweight.app.widgets.section import Section
from bobweight.app.widgets.table import Column, ReadTable
from bobweight.app.widgets.words import words
from bobweight.app.words import translate
from bobweight.core.record import Record

if TYPE_CHECKING:  # read when it is first opened
    from bobweight.core.judgement.workings import Input

_MOST_ROWS = 12
Group = tuple[Record, Sequence["Input"]]
"""A record and what of it went in."""
Asked = Callable[[], Sequence[Group]]
"""What went in, as it stands."""


class WorkedOut(QWidget):
    """A line that opens under a result.

    Parameters
    ----------
    key : str
        Of ``core.judgement.workings.RESULTS``.
    asked : callable
        Called only while it is open.
    """

    def __init__(self, key: str, display: Display, asked: Asked) -> None:
        super().__init__()
        self._key, self._display, self._asked = key, display, asked
        self._made: tuple[QWidget, ReadTable] | None = None
        self.head = QToolButton()
        self.head.setText(translate("workings", "How was this worked out?"))
        self.head.setCheckable(True)
        set_role(self.head, "fold")
        self.head.setMinimumHeight(32)
        self.head.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.head.setArrowType(Qt.ArrowType.RightArrow)
        self.head.toggled.connect(self._open)
        self._column = stacked(self, spacing=4)
        self._column.addWidget(self.head, 0, Qt.AlignmentFlag.AlignLeft)

    def follow(self, there: bool = True) -> None:
        """The result is another: show what went into it; nothing where there is none."""
        self.setVisible(there)
        if self._made is None or not self.head.isChecked():
            return
        from bobweight.app.messages.workings import input_rows

        rows = []
        for root, given in self._asked():
            rows += input_rows(given, root, self._display)
        self._made[1].show_rows(rows)
        self._made[1].fit_height()

    def _open(self, open_: bool) -> None:
        self.head.setArrowType(Qt.ArrowType.DownArrow if open_ else Qt.ArrowType.RightArrow)
        if open_ and self._made is None:
            self._made = self._make()
        if self._made is not None:
            self._made[0].setVisible(open_)
        self.follow()
        if open_:
            self._keep_open()

    def _keep_open(self) -> None:
        """The section that this stands in is wanted: others give way, not the one read."""
        above = self.parentWidget()
        while above is not None:
            if isinstance(above, Section) and above.heading is not None:
                above.asked.emit(True)
                return
            above = above.parentWidget()

    def _make(self) -> tuple[QWidget, ReadTable]:
        """What opens, made when it is first asked for."""
        from bobweight.app.messages.workings import formula_lines

        under = QWidget()
        column = stacked(under)
        for line in formula_lines(self._key):
            column.addWidget(words(line))
        columns = (
            Column(translate("workings", "What"), itemgetter(0)),
            Column(translate("workings", "Value"), itemgetter(1), True),
            Column(translate("workings", "From"), itemgetter(2)),
        )
        table = ReadTable(translate("workings", "What it was worked out from"), columns, _MOST_ROWS,
                          row_tip=" · ".join)  # fmt: skip
        header = table.horizontalHeader()
        header.setStretchLastSection(False)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        column.addWidget(table)
        self._column.addWidget(under)
        return under, table


def from_docket(key: str, store: Store, display: Display) -> WorkedOut:
    """The line under a result that is worked out from the docket as it stands."""
    return WorkedOut(key, display, partial(_of_docket, key, store))


def _of_docket(key: str, store: Store) -> Sequence[Group]:
    from bobweight.core.judgement.workings import inputs

    return ((store.docket, inputs(key, store.docket)),)
