"""Names with what belongs beside them, one a line."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QWidget

from bobweight.app.theme import set_role
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.widgets.words import Selectable
from bobweight.app.words import unbroken, without_joiners


class Facts(QWidget):
    """Names with their values, one a line; the values can be copied."""

    def __init__(self) -> None:
        super().__init__()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(10)
        self._grid.setVerticalSpacing(3)
        self._grid.setColumnStretch(1, 1)
        self._rows: list[tuple[PlainLabel, Selectable]] = []

    def show_facts(self, facts: Iterable[tuple[str, str]]) -> None:
        """Show these in place of those before."""
        facts = list(facts)
        while len(self._rows) < len(facts):
            row = (PlainLabel(), Selectable())
            set_role(row[0], "faint")
            for column, made in enumerate(row):
                made.setWordWrap(True)
                self._grid.addWidget(made, len(self._rows), column, Qt.AlignmentFlag.AlignTop)
            row[0].setFixedWidth(self.fontMetrics().horizontalAdvance("0") * 15)
            self._rows.append(row)
        for index, row in enumerate(self._rows):
            there = index < len(facts)
            for made, text in zip(row, facts[index] if there else ("", ""), strict=True):
                made.setText(unbroken(text))
                made.setVisible(there)
            if there:
                row[1].setAccessibleName(f"{facts[index][0]}: {facts[index][1]}")
        self.setVisible(bool(facts))

    def texts(self) -> dict[str, str]:
        """What is shown."""
        texts = ([without_joiners(made.text()) for made in row] for row in self._rows)
        return {name: value for name, value in texts if name}
