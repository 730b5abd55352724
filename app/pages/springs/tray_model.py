"""The tray as a table to read: each figure with its uncertainty."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor

from bobweight.app.guard import guarded
from bobweight.app.messages import sentence
from bobweight.app.messages.figures import field_text, known_text, spring_title
from bobweight.app.store.display import Display
from bobweight.app.store.tray_store import TrayStore
from bobweight.app.theme import theme_for
from bobweight.app.words import label, translate
from bobweight.core.design.tray import OWN_FIGURES, TraySpring, tray_problems
from bobweight.core.problems import Problem
from bobweight.core.record import parameters

_Index = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()
KEYS = (
    "label", "count", *OWN_FIGURES, "source", "note",
)  # fmt: skip
_NUMBERS = ("count", *OWN_FIGURES)


class TrayModel(QAbstractTableModel):
    """Rows of the tray; a row with something wrong says so by a sign and in its tip."""

    def __init__(self, tray: TrayStore, display: Display, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._store = tray
        self._display = display
        self._read()
        tray.changed.connect(self.follow)
        display.changed.connect(self._display_changed)

    def _read(self) -> None:
        self._tray = self._store.tray
        self.springs = self._tray.springs
        self._problems: dict[int, list[Problem]] = {}
        for problem in tray_problems(self._tray):
            if len(problem.path) > 1:
                self._problems.setdefault(problem.path[1], []).append(problem)

    def follow(self, _change: object = None) -> None:
        """Take the tray as it now is."""
        if self._store.tray is self._tray:
            return
        if len(self._store.tray.springs) == len(self.springs):
            self._read()
            self._display_changed()
        else:
            self.beginResetModel()
            self._read()
            self.endResetModel()

    def _display_changed(self) -> None:
        if self.springs:
            last = self.index(len(self.springs) - 1, len(KEYS) - 1)
            self.dataChanged.emit(self.index(0, 0), last)
        self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(KEYS) - 1)

    def problems(self, row: int) -> list[Problem]:
        """What is wrong with a row."""
        return self._problems.get(row, [])

    @guarded
    def rowCount(self, parent: _Index = _ROOT) -> int:
        return 0 if parent.isValid() else len(self.springs)

    @guarded
    def columnCount(self, parent: _Index = _ROOT) -> int:
        return 0 if parent.isValid() else len(KEYS)

    @guarded
    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        if role != Qt.ItemDataRole.DisplayRole or orientation != Qt.Orientation.Horizontal:
            return None
        key = KEYS[section]
        if key == "count":
            return translate("springs", "No.")
        if key == "initial_tension_n":
            words = translate("springs", "Tension")
        else:
            words = label(parameters(TraySpring)[key])
        quantity = parameters(TraySpring)[key].quantity
        unit = self._display.unit(quantity) if key in _NUMBERS else ""
        return f"{words}\n{unit}" if unit else words

    @guarded
    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid() or index.row() >= len(self.springs):
            return None
        row, key = index.row(), KEYS[index.column()]
        roles = Qt.ItemDataRole
        if role == roles.DisplayRole:
            return self._text(row, key)
        if role == roles.AccessibleTextRole:
            header = str(self.headerData(index.column(), Qt.Orientation.Horizontal))
            return f"{header.replace(chr(10), ', ')}: {self._text(row, key)}"
        if role == roles.TextAlignmentRole and key in _NUMBERS:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        problems = self.problems(row)
        if role in (roles.ToolTipRole, roles.AccessibleDescriptionRole):
            return "\n".join(sentence(p, self._store.tray, self._display) for p in problems)
        if role == roles.ForegroundRole and key == "label" and problems:
            return QColor(theme_for().advice)
        return None

    def _text(self, row: int, key: str) -> str:
        spring = self.springs[row]
        if key == "label":
            title = spring_title(spring, row)
            return f"△ {title}" if self.problems(row) else title
        if key == "count":
            return str(spring.count)
        if key == "source":
            return known_text(spring.source)
        if key == "note":
            parts = (spring.note, spring.source.note)
            return "; ".join(part.strip() for part in parts if part.strip())
        return field_text(spring, key, self._display, unit=False)
