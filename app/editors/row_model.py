"""A tuple of records as a table model: the rows of the docket, and one blank row to type into."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtCore import Signal as QtSignal
from PySide6.QtGui import QColor, QFont

from bobweight.app.editors.number import read_framed
from bobweight.app.guard import guarded
from bobweight.app.messages import edit_name, place_text, sentence
from bobweight.app.store import Change, RecordStore
from bobweight.app.store.display import Display
from bobweight.app.theme import theme_for
from bobweight.app.widgets.plain import tip_text
from bobweight.app.words import (
    help_text,
    label,
    lower_first,
    option_text,
    translate,
    unit_text,
    visible,
    written,
)
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError, Path, Problem, required
from bobweight.core.record import Parameter, Record, get, parameter_at, parameters, put
from bobweight.core.units import shown

_Index = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()


def _in_short_lines(heading: str, column: int, fits: Callable[[int, str], bool]) -> str:
    """A heading in as few lines as fit, a word at least in each and a shorter one for a long one; a
    unit has its own line, and its sign stays with its word."""
    lines: list[str] = []
    text, long = heading, translate("parameters", "Depression")
    if text.startswith(long) and not fits(column, long):
        text = text.replace(long, translate("editors", "Vac."))
    for part in text.replace(" °", "\u00a0°").split("\n"):
        first, *others = part.split(" ")
        lines.append(first)
        for word in others:
            joined = f"{lines[-1]} {word}"
            lines[-1:] = [joined] if fits(column, joined) else [lines[-1], word]
    return "\n".join(lines)


@frozen
class Draft:
    """What was typed into a cell and refused, and why."""

    text: str
    problem: Problem


Drafts = dict[tuple[int, str], Draft]
LONGEST_CELL = 400
"""The most characters of a text that a cell shows."""


class RowModel(QAbstractTableModel):
    """Rows of the records at ``path``; columns are the values named by ``keys``.

    A refused text stays in its cell as a draft, with its reason, until it is mended; the docket
    keeps the old value. It stays too while the rows at another path are shown.

    Parameters
    ----------
    blank : callable
        Makes the record that the blank last row stands for, from the rows before it.
    hint : callable or None
        ``hint(row, key)`` gives a text shown in place of a stored value that is not known (such
        as a guessed direction), or None.
    assumed : callable or None
        Whether a row is as usual in the trade and nobody's own; it looks so.
    """

    drafts_changed = QtSignal()

    def __init__(
        self, store: RecordStore, path: Path, keys: Sequence[str], display: Display,
        blank: Callable[[tuple[Record, ...]], Record] | None = None,
        hint: Callable[[int, str], str | None] | None = None,
        unit_note: Callable[[str], str] | None = None,
        assumed: Callable[[Record], bool] | None = None,
        parent: QObject | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self.store = store
        self.path = path
        self._fits: Callable[[int, str], bool] | None = None
        self.keys = tuple(keys)
        self.display = display
        self.record_type = required(parameter_at(store.docket, path).record)
        self.described = parameters(self.record_type)
        self.drafts: Drafts = {}
        self._elsewhere: dict[Path, Drafts] = {}
        self._blank = blank or (lambda _rows: self.record_type())
        self._hint = hint or (lambda _row, _key: None)
        self.drafts_changed.connect(self._tell_refusal)
        self._unit_note = unit_note or (lambda _key: "")
        self._assumed = assumed or (lambda _record: False)
        self._rows = self.records()
        self._spare = False
        self._told: tuple[object, list[str], list[tuple[object, ...]]] = None, [], []
        store.changed.connect(self._store_changed)
        display.changed.connect(self.show_again)

    # What is there --------------------------------------------------------------------------

    def records(self) -> tuple[Record, ...]:
        """The rows stored; none if the path leads nowhere any more."""
        return get(self.store.docket, self.path) if self.is_there else ()

    @property
    def is_there(self) -> bool:
        """False once the record that the rows belong to was taken out of the docket."""
        try:
            get(self.store.docket, self.path)
        except (IndexError, AttributeError):
            return False
        return True

    def parameter(self, column: int) -> Parameter:
        """The description of a column."""
        return self.described[self.keys[column]]

    def symbol(self, parameter: Parameter) -> str:
        """The unit that a column shows."""
        return self.display.unit(parameter.quantity)

    def set_path(self, path: Path) -> None:
        """Show the rows at another path."""
        self.beginResetModel()
        self._elsewhere[self.path] = self.drafts
        self.path = path
        self._spare = False
        self.drafts = self._elsewhere.pop(path, {})
        self._rows = self.records()
        self.endResetModel()
        self.drafts_changed.emit()

    def set_keys(self, keys: Sequence[str]) -> None:
        """Show other columns; what was refused in one that goes stays with it."""
        self.beginResetModel()
        self._spare = False
        self.keys, self._fits = tuple(keys), None
        self.endResetModel()

    @property
    def refuses(self) -> bool:
        """True while a refused text stands in a cell, shown or not."""
        return bool(self.all_drafts())

    def _tell_refusal(self) -> None:
        self.store.refusal.emit(self)

    def all_drafts(self) -> list[tuple[Path, Draft]]:
        """Every refused cell, also of the rows that are not shown."""
        every = {**self._elsewhere, self.path: self.drafts}
        return [
            ((*path, row, key), draft)
            for path in sorted(every, key=str)
            for (row, key), draft in sorted(every[path].items())
        ]

    @guarded
    def rowCount(self, parent: _Index = _ROOT) -> int:
        return 0 if parent.isValid() else len(self._rows) + 1 + self._spare

    @guarded
    def columnCount(self, parent: _Index = _ROOT) -> int:
        return 0 if parent.isValid() else len(self.keys)

    def is_blank(self, row: int) -> bool:
        """True for the last row, which is not stored yet."""
        return row >= len(self._rows)

    def copied_text(self, row: int, column: int) -> str:
        """The text of a cell as it is copied: a number with all its digits."""
        parameter = self.parameter(column)
        if (row, self.keys[column]) in self.drafts or parameter.kind not in ("number", "whole"):
            return self.cell_text(row, column)
        value = None if self.is_blank(row) else getattr(self._rows[row], self.keys[column])
        return "" if value is None else shown(value, parameter.quantity, self.symbol(parameter))

    def cell_text(self, row: int, column: int) -> str:
        """The text of a cell as it would be edited."""
        key = self.keys[column]
        if (row, key) in self.drafts:
            return self.drafts[row, key].text
        if self.is_blank(row):
            return ""
        value, parameter = getattr(self._rows[row], key), self.described[key]
        if parameter.kind in ("number", "whole"):
            return written(value, parameter.quantity, self.symbol(parameter))
        if parameter.kind == "choice":
            return option_text(parameter, value)
        return "" if parameter.kind == "flag" else str(value)

    def cell_problem(self, row: int, key: str) -> Problem | None:
        """Why a cell's text was refused, or advice on its value."""
        if (row, key) in self.drafts:
            return self.drafts[row, key].problem
        if self.is_blank(row):
            return None
        return self.described[key].advise(getattr(self._rows[row], key))

    def row_sentences(self, row: int) -> list[str]:
        """What is wrong with a row, one sentence a cell."""
        found = (self.cell_problem(row, key) for key in self.keys)
        return [self._sentence(row, problem) for problem in found if problem]

    def draft_sentences(self) -> list[str]:
        """Every refused cell, with its row."""
        return [self._sentence(row, draft.problem) for (row, _), draft in sorted(
            self.drafts.items(), key=lambda item: item[0])]  # fmt: skip

    def _sentence(self, row: int, problem: Problem) -> str:
        placed = Problem(problem.code, (*self.path, row, problem.path[-1]), problem.facts)
        return sentence(placed, self.store.docket, self.display)

    # For the view ---------------------------------------------------------------------------

    @guarded
    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        row, column = index.row(), index.column()
        key, parameter = self.keys[column], self.parameter(column)
        roles = Qt.ItemDataRole
        if role == roles.EditRole:
            return self.cell_text(row, column)
        if role == roles.DisplayRole:
            return visible(self.display_text(row, column), LONGEST_CELL)
        if role == roles.CheckStateRole and parameter.kind == "flag" and not self.is_blank(row):
            checked = getattr(self._rows[row], key)
            return Qt.CheckState.Checked if checked else Qt.CheckState.Unchecked
        if role == roles.TextAlignmentRole and parameter.kind in ("number", "whole"):
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        if role == roles.ForegroundRole:
            return self._colour(row, key)
        if role == roles.FontRole and (self._hinted(row, key) or self._is_assumed(row)):
            font = QFont()
            font.setItalic(True)
            return font
        if role in (roles.ToolTipRole, roles.AccessibleDescriptionRole):
            problem = self.cell_problem(row, key)
            if problem:
                return tip_text(self._sentence(row, problem))
            whole = self.display_text(row, column) if parameter.kind == "text" else ""
            if self._is_assumed(row):
                whole = translate("editors", "As usual in the trade, and not entered.")
            return tip_text(whole or help_text(parameter))
        if role == roles.AccessibleTextRole:
            return f"{self.heading(column)}: {self.display_text(row, column)}"
        return None

    def _hinted(self, row: int, key: str) -> bool:
        return not self.is_blank(row) and self._hint(row, key) is not None

    def _is_assumed(self, row: int) -> bool:
        return not self.is_blank(row) and self._assumed(self._rows[row])

    def display_text(self, row: int, column: int) -> str:
        """The text of a cell as it is shown."""
        key = self.keys[column]
        if self._hinted(row, key) and (row, key) not in self.drafts:
            return self._hint(row, key) or ""
        text = self.cell_text(row, column)
        return f"▲ {text}" if (row, key) in self.drafts else text

    def _colour(self, row: int, key: str) -> QColor | None:
        theme = theme_for()
        if (row, key) in self.drafts:
            return QColor(theme.wrong)
        if self.cell_problem(row, key):
            return QColor(theme.advice)
        return QColor(theme.faint) if self._hinted(row, key) or self._is_assumed(row) else None

    def heading(self, column: int) -> str:
        """What a column is, and on a second line its unit."""
        key, parameter = self.keys[column], self.parameter(column)
        note = self._unit_note(key) or unit_text(parameter, self.symbol(parameter))
        return f"{label(parameter)}\n{note}"

    def header_text(self, column: int) -> str:
        """The heading as it is written."""
        heading = self.heading(column)
        return heading if self._fits is None else _in_short_lines(heading, column, self._fits)

    def set_narrow(self, fits: Callable[[int, str], bool] | None) -> None:
        """Headings in as many lines as it takes where ``fits(column, words)`` tells what a line
        holds; None for where there is width enough."""
        self._fits = fits
        self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(self.keys) - 1)

    @guarded
    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        roles = Qt.ItemDataRole
        if orientation == Qt.Orientation.Horizontal:
            if role == roles.DisplayRole:
                return self.header_text(section)
            if role == roles.ToolTipRole:
                return help_text(self.parameter(section))
            if role == roles.TextAlignmentRole:  # over what stands in it
                figures = self.parameter(section).kind in ("number", "whole")
                side = Qt.AlignmentFlag.AlignRight if figures else Qt.AlignmentFlag.AlignLeft
                return side | Qt.AlignmentFlag.AlignVCenter
            return None
        if role == roles.DisplayRole:
            if any(row == section for row, _ in self.drafts):
                return f"▲ {section + 1}"
            return "✎" if self.is_blank(section) else str(section + 1)
        if role == roles.ToolTipRole:
            if self.is_blank(section):
                return translate("editors", "Type here to add a row.")
            return tip_text("\n".join(self.row_sentences(section)))
        return None

    @guarded
    def flags(self, index: _Index) -> Qt.ItemFlag:
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        if self.parameter(index.column()).kind == "flag":
            blank = self.is_blank(index.row())
            return flags if blank else flags | Qt.ItemFlag.ItemIsUserCheckable
        return flags | Qt.ItemFlag.ItemIsEditable

    @guarded
    def setData(self, index: _Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Take a typed text, an option's key or a tick; a refused text stays as a draft."""
        row, key, parameter = index.row(), self.keys[index.column()], self.parameter(index.column())
        if role == Qt.ItemDataRole.CheckStateRole:
            value = Qt.CheckState(value) == Qt.CheckState.Checked
        elif role != Qt.ItemDataRole.EditRole:
            return False
        if not self.is_there:
            return False
        if isinstance(value, str) and self._set_several(row, index.column(), value):
            return True
        drafted = (row, key) in self.drafts
        if value == self.cell_text(row, index.column()) and not drafted:
            return False
        try:
            self._put(row, key, self._stored(parameter, value))
        except BobweightError as error:
            problem = error.problem
            self.drafts[row, key] = Draft(
                str(value),
                problem if problem.path else Problem(problem.code, (key,), problem.facts),
            )
            self._tell_drafts(row)
            return False
        if self.drafts.pop((row, key), None):
            self._tell_drafts(row)
        return True

    def _set_several(self, row: int, column: int, text: str) -> bool:
        """Take "1200; 6.5", figures of neighbouring cells typed in one, as one edit. False, with
        nothing taken, if that is not what the text is."""
        texts = text.split(";")
        wanted = [self.parameter(c) for c in range(column, len(self.keys))][: len(texts)]
        if len(texts) < 2 or len(wanted) < len(texts) or any(p.kind != "number" for p in wanted):
            return False
        try:
            values = [self._stored(p, t) for p, t in zip(wanted, texts, strict=True)]
        except BobweightError:
            return False
        if any(p.check(v) is not None for p, v in zip(wanted, values, strict=True)):
            return False
        gesture = object()
        for parameter, value in zip(wanted, values, strict=True):
            self._put(row, parameter.key, value, gesture)
            self.drafts.pop((row, parameter.key), None)
        self._tell_drafts(row)
        return True

    def drop_draft(self, row: int, column: int) -> None:
        """Forget what was refused in a cell; the stored value shows again."""
        if self.drafts.pop((row, self.keys[column]), None):
            self._tell_drafts(row)

    def _tell_drafts(self, row: int) -> None:
        self.dataChanged.emit(self.index(row, 0), self.index(row, len(self.keys) - 1))
        self.headerDataChanged.emit(Qt.Orientation.Vertical, row, row)
        self.drafts_changed.emit()

    def _stored(self, parameter: Parameter, value: Any) -> Any:
        if parameter.kind in ("number", "whole") and isinstance(value, str):
            symbol = self.symbol(parameter)
            return read_framed(value, parameter, symbol, self.path, self.store.docket)
        return value

    def _put(self, row: int, key: str, value: Any, gesture: object | None = None) -> None:
        if not self.is_blank(row):
            path = (*self.path, row, key)
            name = edit_name(path, self.store.docket, value, self.display)
            self.store.edit(name, path, value, gesture)
            return
        blank = self._blank(self._rows)
        if value == getattr(blank, key):
            return
        added = put(blank, (key,), value)
        docket = put(self.store.docket, self.path, (*self._rows, added))
        path = (*self.path, row, key)
        self.store.replace(edit_name(path, docket, value, self.display), docket, gesture)

    def show_spare(self, shown: bool) -> None:
        """A second blank row while something is typed in the first, so that a click can go on
        there."""
        last = len(self._rows) + 1
        if shown and not self._spare:
            self.beginInsertRows(_ROOT, last, last)
            self._spare = True
            self.endInsertRows()
        elif self._spare and not shown:
            self.beginRemoveRows(_ROOT, last, last)
            self._spare = False
            self.endRemoveRows()

    # Whole rows -----------------------------------------------------------------------------

    def insert_row(self, row: int) -> None:
        """Put an empty row before a row, as one edit."""
        if not self.is_there:
            return  # taken back, and the page has not followed yet
        rows = self._rows
        row = min(row, len(rows))
        name = translate("editors", "Insert {place}").format(
            place=lower_first(place_text((*self.path, row), self.store.docket))
        )
        self._shift_drafts(lambda r: r + 1 if r >= row else r)
        self._replace(name, (*rows[:row], self._blank(rows[:row]), *rows[row:]))

    def remove_rows(self, gone: Sequence[int]) -> None:
        """Take rows out, as one edit."""
        out = sorted({row for row in gone if not self.is_blank(row)})
        if not out:
            return
        if len(out) == 1:
            place = lower_first(place_text((*self.path, out[0]), self.store.docket))
            name = translate("editors", "Delete {place}").format(place=place)
        else:
            name = translate("editors", "Delete {count} rows").format(count=len(out))
        self.drafts = {k: v for k, v in self.drafts.items() if k[0] not in out}
        self._shift_drafts(lambda r: r - sum(1 for o in out if o < r))
        self._replace(name, tuple(r for i, r in enumerate(self._rows) if i not in out))

    def add_rows(self, name: str, rows: Sequence[Record]) -> None:
        """Put rows at the end, as one edit."""
        if self.is_there:
            self._replace(name, (*self._rows, *rows))

    def clear_cells(self, cells: Sequence[tuple[int, int]]) -> None:
        """Empty cells (to "not known", or to the usual value), as one edit."""
        docket = self.store.docket
        for row, column in cells:
            self.drop_draft(row, column)
            parameter = self.parameter(column)
            if not self.is_blank(row):
                docket = put(docket, (*self.path, row, parameter.key), parameter.default)
        self.store.replace(translate("editors", "Clear cells"), docket)

    def _replace(self, name: str, rows: tuple[Record, ...]) -> None:
        self.store.replace(name, put(self.store.docket, self.path, rows))

    def _shift_drafts(self, move: Callable[[int], int]) -> None:
        self.drafts = {(move(row), key): draft for (row, key), draft in self.drafts.items()}

    # Following the docket -------------------------------------------------------------------

    def _store_changed(self, change: Change) -> None:
        self._keep_drafts(change)
        if not change.touches(self.path):
            return
        old, new = self._rows, self.records()
        if self._spare and len(new) == len(old) + 1:  # the spare row is the blank one now
            self._rows, self._spare = new, False
        elif len(new) == len(old) + 1 and new[: len(old)] == old:
            self.beginInsertRows(_ROOT, len(old) + 1, len(old) + 1)
            self._rows = new
            self.endInsertRows()
        elif len(new) == len(old):
            self._rows = new
        else:
            self.beginResetModel()
            self._rows, self._spare = new, False
            self.drafts = {k: v for k, v in self.drafts.items() if k[0] < len(new)}
            self.endResetModel()
            self.drafts_changed.emit()
        self.show_again()

    def _keep_drafts(self, change: Change) -> None:
        """Refused cells go with their rows; those of a docket that is no longer open end."""
        if not self.drafts and not any(self._elsewhere.values()):
            return
        held = {} if change.begun else {**self._elsewhere, self.path: self.drafts}
        moved = ((change.followed(path), drafts) for path, drafts in held.items())
        self._elsewhere = {path: drafts for path, drafts in moved if path is not None and drafts}
        before, self.drafts = self.drafts, self._elsewhere.pop(self.path, {})
        if self.drafts != before:
            self.drafts_changed.emit()

    def show_again(self) -> None:
        """Tell the view of the headings and rows that read differently (values, units, guesses):
        a cell that is painted costs many times what it costs to see that it is the same."""
        last = len(self.keys) - 1
        heads = [self.header_text(column) for column in range(len(self.keys))]
        rows: list[tuple[object, ...]] = [
            (row, *(self._hint(place, key) for key in self.keys))
            for place, row in enumerate(self._rows)
        ]
        rest = len(rows), self.keys, self.display.shown, dict(self.drafts)
        (was_rest, was_heads, was_rows), self._told = self._told, (rest, heads, rows)
        if heads != was_heads:
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, last)
        if rest != was_rest:
            self.dataChanged.emit(self.index(0, 0), self.index(len(rows), last))
            self.headerDataChanged.emit(Qt.Orientation.Vertical, 0, len(rows))
            return
        for row, (now, was) in enumerate(zip(rows, was_rows, strict=True)):
            if now != was:
                self.dataChanged.emit(self.index(row, 0), self.index(row, last))
