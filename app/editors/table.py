"""The table of rows typed at the bench: Tab to the next cell, Enter to the next row."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import cast

from PySide6.QtCore import (
    QAbstractItemModel,
    QModelIndex,
    QPersistentModelIndex,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QComboBox,
    QHBoxLayout,
    QHeaderView,
    QLineEdit,
    QPushButton,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from bobweight.app.editors.figure_edit import FigureLine
from bobweight.app.editors.row_model import RowModel
from bobweight.app.editors.text import LONGEST_LINE
from bobweight.app.guard import guarded
from bobweight.app.store import RecordStore
from bobweight.app.store.display import Display
from bobweight.app.widgets.card import allow, button, stacked
from bobweight.app.widgets.table import HeldTable
from bobweight.app.widgets.words import AnswerLabel
from bobweight.app.words import counted, cut, option_text, translate
from bobweight.core.problems import Path
from bobweight.core.record import Record

_Index = QModelIndex | QPersistentModelIndex
_ROOMY_PX, _TIGHT_PX = 24, 8  # beside the longest text of a column
_UNBOUNDED_PX = 1 << 20
_FIGURE, _A_DATE = "00.00", "0000-00-00"
_MEASURED_ROWS = 40
_WORDS = 14  # of words that give way, in characters: names are told apart by as many
_WRAPPED = 26  # likewise of words that stand on several lines
_CELL = 14  # of a cell where there is room, in characters
_FEW_COLUMNS = 3  # so few share the width; more scroll sideways


class CellDelegate(QStyledItemDelegate):
    """A plain line for numbers and texts, a list for a choice."""

    @guarded
    def createEditor(  # type: ignore[override]  # None, for no editor, is not in PySide's stubs
        self, parent: QWidget, option: QStyleOptionViewItem, index: _Index
    ) -> QWidget | None:
        model = cast(RowModel, index.model())
        parameter = model.parameter(index.column())
        if parameter.kind == "choice":
            box = QComboBox(parent)
            for key in parameter.options:
                box.addItem(option_text(parameter, key), key)
            box.activated.connect(self._chosen)
            return box
        edit = FigureLine(parent) if parameter.kind in ("number", "whole") else QLineEdit(parent)
        edit.setFrame(False)
        edit.setMaxLength(LONGEST_LINE)
        edit.setStyleSheet("QLineEdit { min-height: 0; padding: 0 4px; border: none; }")
        edit.setAccessibleName(model.heading(index.column()).replace("\n", ", "))
        if model.is_blank(index.row()):
            edit.textEdited.connect(self._begun)
        return edit

    @guarded
    def setEditorData(self, editor: QWidget, index: _Index) -> None:
        """What is being typed or chosen stays, whatever is told of the row meanwhile."""
        model = cast(RowModel, index.model())
        if isinstance(editor, QComboBox):
            if editor.property("filled"):
                return
            editor.setProperty("filled", True)
            if not model.is_blank(index.row()):
                key = model.parameter(index.column()).key
                stored = getattr(model.records()[index.row()], key)
                editor.setCurrentIndex(editor.findData(stored))
            return
        # What is typed stays, or a verdict that arrives would wipe it out.
        if isinstance(editor, QLineEdit) and not editor.isModified():
            text = model.cell_text(index.row(), index.column())
            editor.setReadOnly(len(text) > LONGEST_LINE)
            editor.setText(cut(text, LONGEST_LINE))

    @guarded
    def setModelData(self, editor: QWidget, model: QAbstractItemModel, index: _Index) -> None:
        if isinstance(editor, QComboBox):
            model.setData(index, editor.currentData())
        elif isinstance(editor, QLineEdit) and editor.isModified():  # else it was only opened
            model.setData(index, editor.text())

    def _begun(self) -> None:
        cast(RowView, self.parent()).rows.show_spare(True)

    def _chosen(self) -> None:
        editor = self.sender()
        self.commitData.emit(editor)
        self.closeEditor.emit(editor, QAbstractItemDelegate.EndEditHint.NoHint)


_DONE_WITH = "done-with"  # a property of an editor whose cell was taken and closed


class RowView(QTableView):
    """The grid itself, with the keys of the bench."""

    width_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.paste: Callable[[str], None] | None = None
        self.needed_px = 0
        triggers = QAbstractItemView.EditTrigger
        self.setEditTriggers(
            triggers.AnyKeyPressed | triggers.DoubleClicked | triggers.EditKeyPressed
            | triggers.SelectedClicked
        )  # fmt: skip
        self.setItemDelegate(CellDelegate(self))
        self.setAlternatingRowColors(True)
        self.setTabKeyNavigation(True)
        self.setWordWrap(False)
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().lineSpacing() + 12)
        self.verticalHeader().setMinimumWidth(self.fontMetrics().horizontalAdvance("▲ 00"))
        self.verticalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignCenter)
        self.horizontalHeader().setHighlightSections(False)  # bold words would be cut
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)

    @guarded
    def sizeHint(self) -> QSize:
        size = super().sizeHint()
        return QSize(self.needed_px or size.width(), size.height())

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.width_changed.emit()

    @property
    def rows(self) -> RowModel:
        """The model."""
        return cast(RowModel, self.model())

    def edit_cell(self, row: int, column: int) -> None:
        """Open the editor of a cell."""
        index = self.rows.index(row, column)
        if not index.isValid():
            return
        self.setCurrentIndex(index)
        self.scrollTo(index)
        self.edit(index)

    @guarded
    def commitData(self, editor: QWidget) -> None:
        if not editor.property(_DONE_WITH):
            super().commitData(editor)

    @guarded
    def closeEditor(self, editor: QWidget, hint: QAbstractItemDelegate.EndEditHint) -> None:
        """Once only: Qt puts Enter off to its loop, and a hand that is quick closes it before."""
        if editor.property(_DONE_WITH):
            return
        editor.setProperty(_DONE_WITH, True)
        index = self.currentIndex()
        super().closeEditor(editor, hint)
        if self.state() != QAbstractItemView.State.EditingState:  # else Tab has gone on in the row
            self.rows.show_spare(False)
        if hint == QAbstractItemDelegate.EndEditHint.SubmitModelCache:  # Enter
            row = min(index.row() + 1, self.rows.rowCount() - 1)
            if (index.row(), self.rows.keys[index.column()]) in self.rows.drafts:
                self.setCurrentIndex(index)  # stay where something is to be mended
                return
            self.setCurrentIndex(self.rows.index(row, 0))
            self.edit(self.rows.index(row, 0))

    @guarded
    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Paste):
            self._paste(QGuiApplication.clipboard().text())
        elif event.matches(QKeySequence.StandardKey.Copy):
            QGuiApplication.clipboard().setText(self.selected_text())
        elif event.key() == Qt.Key.Key_Delete:
            self._delete()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if self.state() != QAbstractItemView.State.EditingState:  # else it is the editor's own
                index = self.currentIndex()
                row, column = max(index.row(), 0), max(index.column(), 0)  # none chosen yet
                self.edit_cell(row, column)
        elif event.key() == Qt.Key.Key_Escape and self._drop_draft():
            return
        elif not self._choose_by_letter(event):
            self._tab_out_or_default(event)

    def _tab_out_or_default(self, event: QKeyEvent) -> None:
        """Tab at the very end and Backtab at the very start leave the table."""
        index, last = self.currentIndex(), self.rows.index(
            self.rows.rowCount() - 1, self.rows.columnCount() - 1
        )  # fmt: skip
        if event.key() == Qt.Key.Key_Tab and index == last:
            self._leave(True)
        elif event.key() == Qt.Key.Key_Backtab and index.row() <= 0 and index.column() <= 0:
            self._leave(False)
        else:
            super().keyPressEvent(event)

    def _leave(self, forward: bool) -> None:
        """Move the keyboard to the widget after (before) the table."""
        self.setTabKeyNavigation(False)
        self.focusNextPrevChild(forward)
        self.setTabKeyNavigation(True)

    def _paste(self, text: str) -> None:
        """Several cells go to the table as rows, a single text into the current cell."""
        index = self.currentIndex()
        if not any(mark in text.strip() for mark in "\t\n;") and index.isValid():
            self.rows.setData(index, text.strip())
        elif self.paste:
            self.paste(text)

    def _choose_by_letter(self, event: QKeyEvent) -> bool:
        index, text = self.currentIndex(), event.text().lower()
        if (
            not index.isValid()
            or not text
            or event.modifiers() & ~Qt.KeyboardModifier.ShiftModifier
        ):
            return False
        parameter = self.rows.parameter(index.column())
        if parameter.kind != "choice" or not text.isalpha():
            return False
        for key in parameter.options:
            if option_text(parameter, key).lower().startswith(text):
                self.rows.setData(index, key)
                return True
        return False

    def _drop_draft(self) -> bool:
        index = self.currentIndex()
        if not index.isValid():
            return False
        if (index.row(), self.rows.keys[index.column()]) not in self.rows.drafts:
            return False
        self.rows.drop_draft(index.row(), index.column())
        return True

    def _delete(self) -> None:
        whole = [index.row() for index in self.selectionModel().selectedRows()]
        if whole:
            self.rows.remove_rows(whole)
            return
        cells = [(index.row(), index.column()) for index in self.selectedIndexes()]
        self.rows.clear_cells(cells)

    def selected_rows(self) -> list[int]:
        """Rows with anything selected, else the current one."""
        rows = {index.row() for index in self.selectedIndexes()}
        if not rows and self.currentIndex().isValid():
            rows = {self.currentIndex().row()}
        return sorted(rows)

    def selected_text(self) -> str:
        """The selected cells as lines of tab-separated texts."""
        cells = {(index.row(), index.column()) for index in self.selectedIndexes()}
        lines = []
        for row in sorted({row for row, _ in cells}):
            columns = sorted(column for r, column in cells if r == row)
            lines.append("\t".join(self.rows.copied_text(row, column) for column in columns))
        return "\n".join(lines)


class RecordTable(HeldTable):
    """A table over the records at a path, its buttons, and below it what is wrong in which row.

    Parameters
    ----------
    keys : sequence of str
        The columns.
    parse : callable or None
        ``parse(text) -> (rows, sentences)`` for what is pasted.
    take : callable or None
        ``take(text, parent) -> sentences`` takes what is pasted in by itself; without either
        pasting is off.
    wraps : bool
        Whether words that find no room on one line stand on several: for a table of few rows.
    hint, blank, unit_note, assumed
        As for :class:`app.editors.row_model.RowModel`.
    """

    def __init__(
        self, store: RecordStore, path: Path, keys: Sequence[str], display: Display, *,
        parse: Callable[[str], tuple[Sequence[Record], Sequence[str]]] | None = None,
        take: Callable[[str, QWidget | None], list[str]] | None = None,
        blank: Callable[[tuple[Record, ...]], Record] | None = None,
        hint: Callable[[int, str], str | None] | None = None,
        unit_note: Callable[[str], str] | None = None,
        assumed: Callable[[Record], bool] | None = None, wraps: bool = False, name: str = "",
    ) -> None:  # fmt: skip
        super().__init__()
        self._most_px = _UNBOUNDED_PX
        self._parse, self._take = parse, take
        self.model = RowModel(store, path, keys, display, blank, hint, unit_note, assumed, self)
        self._few = len(keys) <= _FEW_COLUMNS
        self.is_tight = False
        """True while the columns have no more room than they need."""
        self._wraps = wraps
        self.view = RowView(self)
        self.view.setWordWrap(wraps)
        self.view.setModel(self.model)
        self.view.setAccessibleName(name)
        self.view.setAccessibleDescription(
            translate(
                "editors",
                "Type a value and press Tab for the next cell, Enter for the next row. Delete "
                "empties a cell; Escape drops a refused text.",
            )
        )
        self.said = AnswerLabel()
        self._pasted: list[str] = []
        layout = self._column = stacked(self, self.view, self.said, spacing=6)
        layout.addLayout(self._buttons())
        self._size_columns()
        if wraps:  # few rows: each edit may be what the columns were too narrow for
            self.model.dataChanged.connect(self._size_columns)
            self.model.rowsInserted.connect(self._size_columns)
        self.view.width_changed.connect(self._size_columns)
        self.model.drafts_changed.connect(self._say)
        self.model.rowsInserted.connect(self._size_height)
        self.model.rowsRemoved.connect(self._size_height)
        self.model.modelReset.connect(self._size_columns)
        told = (self.model.rowsInserted, self.model.rowsRemoved, self.model.modelReset)
        for signal in (*told, self.model.dataChanged):
            signal.connect(self._allow_delete)
        self._allow_delete()
        display.changed.connect(self._size_columns)
        if parse is not None or take is not None:
            self.view.paste = self.paste

    def _buttons(self) -> QHBoxLayout:
        buttons = QHBoxLayout()
        self.insert_button = button(
            translate("editors", "Insert row"),
            translate("editors", "An empty row before this one."),
            self.insert_row,
        )
        self.delete_button = QPushButton(translate("editors", "Delete row"))
        self.delete_button.clicked.connect(self.delete_rows)
        buttons.addWidget(self.insert_button)
        buttons.addWidget(self.delete_button)
        if self._parse is not None or self._take is not None:
            self.paste_button = button(
                translate("editors", "Paste"),
                translate("editors", "Rows copied from a spreadsheet or a text. Ctrl+V does too."),
                self.paste_clipboard,
            )
            buttons.addWidget(self.paste_button)
        buttons.addStretch(1)
        return buttons

    def _allow_delete(self) -> None:
        none = translate("editors", "There is no row yet.")
        allow(self.delete_button, bool(self.model.records()), none)

    def show_columns(self, keys: Sequence[str]) -> None:
        """Show these columns from now on."""
        if tuple(keys) != self.model.keys:
            self.model.set_keys(keys)
            self._few = len(keys) <= _FEW_COLUMNS
            self._size_columns()

    def _size_columns(self) -> None:
        header = self.view.horizontalHeader()
        header.setMinimumSectionSize(self.fontMetrics().horizontalAdvance("0") * 4)
        self.model.set_narrow(None)
        room = self.view.viewport().width()
        widths = self._widths(_ROOMY_PX)
        longer = self._longer_words(widths)
        self.is_tight = tight = sum(widths) + sum(longer) > room and not self._few
        if tight:
            self.model.set_narrow(lambda _column, _words: False)
            widths = self._widths(_TIGHT_PX)
            longer = self._longer_words(widths)
        self._overflows = sum(widths) > room and not self._few
        needed = [max(width, self.fontMetrics().horizontalAdvance("0") * _CELL) for width in widths]
        for column, wanted in enumerate(longer):
            widths[column] += max(0, min(wanted, room - sum(widths)))
        if self.model.parameter(len(widths) - 1).kind != "text":  # words are given what is left
            spare = max(0, room - sum(widths)) // len(widths)
            widths = [width + spare for width in widths]
        self._show_needed(needed)
        if tight:
            metrics = self.fontMetrics()
            room_px = [width - _TIGHT_PX for width in widths]  # the heading has its edges too
            self.model.set_narrow(lambda at, words: metrics.horizontalAdvance(words) <= room_px[at])
        for column, (key, width) in enumerate(zip(self.model.keys, widths, strict=True)):
            self.view.setColumnWidth(column, width)
            stretched = self._few or key == self.model.keys[-1]
            modes = QHeaderView.ResizeMode
            header.setSectionResizeMode(column, modes.Stretch if stretched else modes.Interactive)
        self._size_height()

    def _show_needed(self, widths: Sequence[int]) -> None:
        """A table of a few figures is as wide as they need, others as wide as the page."""
        few = self._few and self.model.parameter(len(widths) - 1).kind != "text"
        view, flags = self.view, Qt.AlignmentFlag
        bar = view.verticalScrollBar().sizeHint().width()
        needed = sum(widths) + view.verticalHeader().sizeHint().width() + bar if few else 0
        if needed != view.needed_px:
            view.needed_px = needed
            self._column.setAlignment(view, flags.AlignLeft if few else flags(0))
            view.updateGeometry()

    def _widths(self, margin_px: int) -> list[int]:
        """Width of each column: its heading, a usual figure, its longest choice if it has any."""
        metrics, widths = self.fontMetrics(), []
        for column in range(len(self.model.keys)):
            parameter = self.model.parameter(column)
            texts = self.model.header_text(column).split("\n")
            if parameter.kind == "choice":  # what nobody chose may be told in fewer words
                options = [o for o in parameter.options if o != parameter.default]
                texts += [option_text(parameter, option) for option in options]
                rows = range(min(len(self.model.records()), _MEASURED_ROWS))
                texts += [self.model.display_text(row, column) for row in rows]
            widths.append(max(metrics.horizontalAdvance(text) for text in texts) + margin_px)
            if parameter.kind == "number":
                figure = metrics.horizontalAdvance(_FIGURE) + _TIGHT_PX
                widths[-1] = max(widths[-1], figure)
            elif parameter.kind == "text" and (longest := self._longest_px(column)):
                most = metrics.horizontalAdvance("0") * (_WRAPPED if self._wraps else _WORDS)
                widths[-1] = max(widths[-1], min(longest, most) + _TIGHT_PX)
        return widths

    def _longest_px(self, column: int) -> int:
        """How wide the longest text of a column is; of dates a whole one, if there is any row."""
        rows = range(min(len(self.model.records()), _MEASURED_ROWS))
        texts = [self.model.cell_text(row, column) for row in rows]
        if texts and self.model.keys[column] == "date":
            texts.append(_A_DATE)
        return max(map(self.fontMetrics().horizontalAdvance, texts), default=0)

    def _longer_words(self, widths: Sequence[int]) -> list[int]:
        """By how much the words in each column are longer than that, for where there is room; the
        last column takes what is left as it is."""
        wanted = [0] * len(widths)
        for column, width in enumerate(widths[:-1]):
            if self.model.parameter(column).kind == "text":
                wanted[column] = max(0, self._longest_px(column) + _TIGHT_PX - width)
        return wanted

    def _size_height(self) -> None:
        """As tall as its rows, within reason: the page scrolls, a short table does not."""
        rows = min(max(self.model.rowCount(), 3), 60)
        header = self.view.horizontalHeader().sizeHint().height()
        row = self.view.verticalHeader().defaultSectionSize()
        bar = self.view.horizontalScrollBar().sizeHint().height() if self._overflows else 0
        tall = rows * row
        if self._wraps:
            self.view.resizeRowsToContents()
            heights = map(self.view.rowHeight, range(self.model.rowCount()))
            tall = max(sum(heights), tall)
        whole = header + tall + bar + 4
        most = max(self._most_px, header + 4 * row)
        over = whole - most  # of less than a row all rows are seen, and a bar would scroll nothing
        self.view.setFixedHeight(whole if over < row else most)

    def hold_to(self, most_px: int) -> None:
        if most_px != self._most_px:
            self._most_px = most_px
            self._size_height()
            if self.view.currentIndex().isValid():
                self.view.scrollTo(self.view.currentIndex())

    def held_px(self) -> int:
        return self.view.height()

    # Acts -----------------------------------------------------------------------------------

    def insert_row(self) -> None:
        """An empty row before the current one."""
        current = self.view.currentIndex()
        row = current.row() if current.isValid() else self.model.rowCount() - 1
        self.model.insert_row(row)
        self.view.edit_cell(row, 0)

    def delete_rows(self) -> None:
        """Take the selected rows out."""
        rows = self.view.selected_rows()
        self.model.remove_rows(rows)
        if rows:
            row = min(rows[0], self.model.rowCount() - 1)
            self.view.setCurrentIndex(self.model.index(row, 0))

    def paste_clipboard(self) -> None:
        """Paste what the clipboard holds."""
        self.paste(QGuiApplication.clipboard().text())

    def paste(self, text: str) -> None:
        """Put in the good rows of a text, as one edit, and name the lines that are wrong."""
        if not self.model.is_there:
            return
        if self._take is not None:
            self._pasted = self._take(text, self.window())
            self._say()
            return
        if self._parse is None:
            return
        rows, sentences = self._parse(text)
        if rows:
            one, many = (
                translate("editors", "Paste a row"),
                translate("editors", "Paste {count} rows"),
            )
            name = counted(len(rows), one, many)
            self.model.add_rows(name, rows)
        self._pasted = list(sentences)
        if not rows and not sentences:
            self._pasted = [translate("editors", "There is nothing on the clipboard to paste.")]
        elif rows and sentences:
            self._pasted.insert(
                0,
                counted(
                    len(rows),
                    translate("editors", "One row pasted. Left out:"),
                    translate("editors", "{count} rows pasted. Left out:"),
                ),
            )
        self._say()

    def focus_row(self, row: int, key: str | None = None) -> None:
        """Give a row (and a value in it) the keyboard."""
        column = self.model.keys.index(key) if key in self.model.keys else 0
        index = self.model.index(min(row, self.model.rowCount() - 1), column)
        self.view.setFocus(Qt.FocusReason.OtherFocusReason)
        self.view.setCurrentIndex(index)
        self.view.scrollTo(index)

    def _say(self) -> None:
        texts = [*self.model.draft_sentences(), *self._pasted]
        if len(texts) > 8:
            more = translate("editors", "and {count} more.").format(count=len(texts) - 7)
            texts = [*texts[:7], more]
        self.said.say("\n▲ ".join(texts), "wrong")
