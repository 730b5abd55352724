"""A table to read, of described columns: walked with arrow keys, left with Tab, copied whole."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRect,
    QSize,
    Qt,
)
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetrics,
    QFontMetricsF,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from bobweight.app.guard import guarded
from bobweight.app.widgets.plain import tip_text
from bobweight.app.words import visible
from bobweight.core.frozen import frozen

Index = QModelIndex | QPersistentModelIndex
Cell = str | tuple[str, str]
"""A text, or a text and its colour."""
_ROOT = QModelIndex()
_MEASURED_ROWS = 20  # beyond those seen; a column is as wide as its widest cell among these
_COMPARED_ROWS = 60
_LEAST_WORD = "Abcdefgh…"  # of a name that gives way
_STEP_PX = 8  # by which the longest words are shortened in turn
_MOST_LINES, _TALL_PX = 4, 10_000
_CELL_PX = 7  # beside a text: Qt's margins and the line between columns
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_ASKED = frozenset(
    (
        Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.TextAlignmentRole,
        Qt.ItemDataRole.ForegroundRole, Qt.ItemDataRole.ToolTipRole,
        Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.AccessibleDescriptionRole,
    )
)  # fmt: skip
"""What a cell has an answer to; a view asks each cell that it paints for as much again."""
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter


@frozen
class Column:
    """One column: its heading, and what stands in it for a row.

    Attributes
    ----------
    text : callable
        ``text(row)`` is the cell as written.
    number : bool
        Written at the right.
    unit : callable or None
        The unit as now shown, below the heading.
    colour : callable or None
        ``colour(row)`` names a colour of the theme; empty for the usual one.
    spoken : callable or None
        The cell for the ear, where signs would not be understood.
    spare : bool
        Told elsewhere as well: left out where there is no room for it.
    short : str
        The heading where there is no room for the whole; empty if it has no shorter one.
    """

    heading: str
    text: Callable[[Any], str]
    number: bool = False
    unit: Callable[[], str] | None = None
    tip: str = ""
    colour: Callable[[Any], str] | None = None
    spoken: Callable[[Any], str] | None = None
    spare: bool = False
    short: str = ""

    def head(self, short: bool = False) -> str:
        """The heading with its unit."""
        heading = (self.short if short else "") or self.heading
        return f"{heading}\n{self.unit()}" if self.unit is not None else heading

    def said(self, row: Any) -> str:
        """Heading and cell for the ear."""
        name = self.heading.replace("\n", " ")
        if self.unit is not None:
            name = f"{name}, {self.unit()}"
        return f"{name}: {(self.spoken or self.text)(row)}"


def _cell(column: Column, row: Any) -> tuple[str, str]:
    return column.text(row), "" if column.colour is None else column.colour(row)


class TableModel(QAbstractTableModel):
    """Rows of whatever the columns read; ``row_tip(row)`` says what is wrong with one."""

    def __init__(
        self, columns: Sequence[Column], parent: QObject | None = None,
        row_tip: Callable[[Any], str] | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self.columns = tuple(columns)
        self.rows: tuple[Any, ...] = ()
        self._row_tip, self._short = row_tip, True
        self._told: tuple[list[str], list[list[tuple[str, str]]]] = [], []

    def show_rows(self, rows: Sequence[Any]) -> bool:
        """Show these in place of those before; a row chosen stays so if their number does. False
        if all is written as it was."""
        if len(rows) == len(self.rows):
            self.rows = tuple(rows)
            return self.show_again()
        self.beginResetModel()
        self.rows = tuple(rows)
        self._told = self._told[0], self._written()
        self.endResetModel()
        return True

    def show_again(self) -> bool:
        """Tell the view of the headings and rows that are written otherwise; of many rows, of all,
        since a view asks only for those that are seen. False if there are none."""
        last = len(self.columns) - 1
        heads, rows = [column.head() for column in self.columns], self._written()
        (was_heads, was_rows), self._told = self._told, (heads, rows)
        if heads != was_heads:
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, last)
        if len(rows) != len(self.rows):
            self.dataChanged.emit(self.index(0, 0), self.index(len(self.rows) - 1, last))
            return True
        for row, (now, was) in enumerate(zip(rows, was_rows, strict=True)):
            for column, (cell, before) in enumerate(zip(now, was, strict=True)):
                if cell != before:  # told one by one: Qt paints no others
                    at = self.index(row, column)
                    self.dataChanged.emit(at, at)
        return heads != was_heads or rows != was_rows

    def _written(self) -> list[list[tuple[str, str]]]:
        """Every cell with its colour; nothing of many rows."""
        few = len(self.rows) <= _COMPARED_ROWS
        return [[_cell(column, row) for column in self.columns] for row in self.rows if few]

    def _at(self, row: int, column: int) -> tuple[str, str]:
        """A cell with its colour, as last told of: a view asks for it at every paint."""
        told = self._told[1]
        return told[row][column] if told else _cell(self.columns[column], self.rows[row])

    def shorten_headings(self, short: bool) -> bool:
        """Write headings short for want of room, or whole. True if that is news."""
        news, self._short = short != self._short, short
        if news:
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(self.columns) - 1)
        return news

    def set_columns(self, columns: Sequence[Column]) -> None:
        """Other columns, as many as before."""
        was, self.columns = self.columns, tuple(columns)
        if [column.head() for column in was] != [column.head() for column in columns]:
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(self.columns) - 1)

    def texts(self, row: int) -> tuple[str, ...]:
        """The cells of a row."""
        return tuple(self._at(row, column)[0] for column in range(len(self.columns)))

    @guarded
    def rowCount(self, parent: Index = _ROOT) -> int:
        return 0 if parent.isValid() else len(self.rows)

    @guarded
    def columnCount(self, parent: Index = _ROOT) -> int:
        return 0 if parent.isValid() else len(self.columns)

    @guarded
    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        if orientation != Qt.Orientation.Horizontal or not 0 <= section < len(self.columns):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self.columns[section].head(self._short)
        if role == Qt.ItemDataRole.ToolTipRole:
            return self.columns[section].tip or None
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _RIGHT if self.columns[section].number else _LEFT
        return None

    @guarded
    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if role not in _ASKED or not index.isValid() or index.row() >= len(self.rows):
            return None
        row, column, roles = self.rows[index.row()], self.columns[index.column()], Qt.ItemDataRole
        if role == roles.DisplayRole:
            return visible(self._at(index.row(), index.column())[0], 400)
        if role == roles.AccessibleTextRole:
            return column.said(row)
        if role == roles.TextAlignmentRole:
            return _RIGHT if column.number else _LEFT
        if role == roles.ForegroundRole and column.colour is not None:
            colour = self._at(index.row(), index.column())[1]
            return QColor(colour) if colour else None
        if role in (roles.ToolTipRole, roles.AccessibleDescriptionRole):
            told = self._row_tip(row) if self._row_tip else ""
            whole = "" if column.number or role != roles.ToolTipRole else column.text(row)
            return tip_text(told or whole) or None
        return None


class HeldTable(QWidget):
    """A table to fill in, which a page holds to what is seen of it."""

    def hold_to(self, most_px: int) -> None:
        """Be no taller than this, such as the view that the page is seen through; the rows beyond
        it scroll in the table."""
        raise NotImplementedError

    def held_px(self) -> int:
        """How tall what is held is."""
        raise NotImplementedError


class ReadTable(QTableView):
    """As tall as its rows, up to ``most_rows``; without a limit also hidden while it has none, and
    no wider than its columns need. Where it ``wraps``, words that find no room on one line stand on
    up to four."""

    def __init__(
        self, name: str, columns: Sequence[Column], most_rows: int | None = 10,
        row_tip: Callable[[Any], str] | None = None,
        wraps: bool = False,
    ) -> None:  # fmt: skip
        super().__init__()
        self._most, self._wider = most_rows, False
        self._needed_px = 0
        self._short_at_px: int | None = None
        self._fitted_font = ""
        self._heading_px: dict[tuple[str, object], int] = {}  # by type and words
        self._wraps = wraps
        self.table_model = TableModel(columns, self, row_tip)
        self.setModel(self.table_model)
        self.setAccessibleName(name)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setAlternatingRowColors(True)
        self.horizontalHeader().setResizeContentsPrecision(_MEASURED_ROWS)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().lineSpacing() + 10)
        self._lay_out_columns()
        self.table_model.modelReset.connect(self.fit_height)
        if most_rows is not None:
            self.table_model.headerDataChanged.connect(self._fit_columns)

    def _lay_out_columns(self) -> None:
        header = self.horizontalHeader()
        if self._most is None:
            self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
            header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
            header.setMinimumSectionSize(self.fontMetrics().horizontalAdvance("0") * 5)
            return
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setWordWrap(self._wraps)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        header.setStretchLastSection(True)
        header.setHighlightSections(False)

    def show_rows(self, rows: Sequence[Any]) -> None:
        """Show these rows in place of the old."""
        told, font = self.table_model.show_rows(rows), self.font().key()
        if told or font != self._fitted_font:
            self._fitted_font = font
            self._fit_columns()
        if self._most is None:
            self.setVisible(bool(rows))

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._fit_columns()

    @property
    def is_own_width(self) -> bool:
        """No wider than its columns need."""
        return self._most is None

    @guarded
    def sizeHint(self) -> QSize:
        size = super().sizeHint()
        return QSize(self._needed_px, size.height()) if self._most is None else size

    def _fit_whole(self) -> None:
        """All figures in columns of one width where there is room; else as narrow as they are, and
        the words give way."""
        header, columns = self.horizontalHeader(), self.table_model.columns
        shown = [place for place in range(len(columns)) if not self.isColumnHidden(place)]
        numbers = [place for place in shown if columns[place].number]
        narrow = self.text_widths(_COMPARED_ROWS)
        whole = {place: max(narrow[place], self._whole_heading_px(place)) for place in shown}
        apart = 2 * header.fontMetrics().horizontalAdvance("0")
        widest = max((whole[place] for place in numbers), default=0) + apart
        widths = {at: widest if columns[at].number else whole[at] + apart for at in shown}
        frame, needed = 2 * self.frameWidth(), sum(widths.values())
        if needed + frame != self._needed_px:
            self._needed_px = needed + frame
            self.updateGeometry()
        room = self.width() - frame
        # Once short they stay so: narrower figures would move all that is below.
        short = room < sum(whole.values()) or room == self._short_at_px
        self._short_at_px = room if short else None
        if self.table_model.shorten_headings(short):
            narrow = self.text_widths(_COMPARED_ROWS)
        if room < needed:
            widths = {place: narrow[place] for place in shown}
            self._share(widths, room - sum(widths.values()), numbers)
        with self._at_once():
            for place, width in widths.items():
                header.resizeSection(place, width)
        self.fit_height()

    @contextmanager
    def _at_once(self) -> Iterator[None]:
        """Columns and rows made otherwise meanwhile are so now. Qt waits with that until its loop
        comes round, and then paints a second time what it has just painted."""
        headers = self.horizontalHeader(), self.verticalHeader()
        if any(header.signalsBlocked() for header in headers):  # a scroll bar came or went
            yield
            return
        before = [_sections(header) for header in headers]
        for header in headers:
            header.blockSignals(True)
        try:
            yield
            changed = before != [_sections(header) for header in headers]
        finally:
            for header in headers:
                header.blockSignals(False)
        if changed:
            self.updateGeometries()
            self.viewport().update()

    def _whole_heading_px(self, column: int) -> int:
        """How wide a heading is with its words whole."""
        metrics = self.horizontalHeader().fontMetrics()
        lines = self.table_model.columns[column].head().split("\n")
        return max(map(metrics.horizontalAdvance, lines)) + 2 * _CELL_PX

    def _share(self, widths: dict[int, int], left_px: int, numbers: Sequence[int]) -> None:
        """Share out what is left over among all columns, or what is wanting among those of words,
        and then among all."""
        words = [place for place in widths if place not in numbers]
        if left_px < 0:
            metrics = self.horizontalHeader().fontMetrics()
            for place in words:
                least = metrics.horizontalAdvance(_LEAST_WORD)
                less = min(max(widths[place] - least, 0), -left_px)
                widths[place] -= less
                left_px += less
        for count, place in enumerate(reversed(widths)):
            each = left_px // (len(widths) - count)
            widths[place] += each
            left_px -= each

    def _fit_columns(self) -> None:
        """Have all columns in view: those told elsewhere give way, then the longest words; what is
        left over is for words, not for a number."""
        if self._most is None:
            self._fit_whole()
        elif self.horizontalHeader().stretchLastSection():
            with self._at_once():
                self._fit_in_view()

    def _fit_in_view(self) -> None:
        header = self.horizontalHeader()
        columns, room = self.table_model.columns, self.viewport().width()
        for place in range(len(columns)):
            self.setColumnHidden(place, False)  # or its heading has no width
        widths = dict(enumerate(self.text_widths(_MEASURED_ROWS)))
        for place in reversed([place for place in widths if columns[place].spare]):
            if sum(widths.values()) > room:
                del widths[place]
        metrics = header.fontMetrics()
        spare = {
            place: width - _CELL_PX - metrics.horizontalAdvance(columns[place].heading)
            for place, width in widths.items() if not columns[place].number
        }  # fmt: skip
        while (over := sum(widths.values()) - room) > 0:
            longer = [place for place, px in spare.items() if px > 0]
            if not longer:
                break
            place = max(longer, key=lambda place: widths[place])
            less = min(over, _STEP_PX, spare[place])
            widths[place] -= less
            spare[place] -= less
        left_over = room - sum(widths.values())
        if spare and left_over > 0 and columns[max(widths)].number:  # else it stands far off
            widths[max(spare, key=lambda place: widths[place])] += left_over
        for place in range(len(columns)):
            self.setColumnHidden(place, place not in widths)
            if place in widths:
                self.setColumnWidth(place, widths[place])
        wider, was = sum(widths.values()) > room, self._wider
        self._wider = wider
        if self._fit_rows(widths) or wider != was:
            self.fit_height()

    def _fit_rows(self, widths: Mapping[int, int]) -> bool:
        """A row whose words are cut has more lines; True if any has another height than it had."""
        metrics, single = self.fontMetrics(), self.verticalHeader().defaultSectionSize()
        fitted = False
        for row, texts in enumerate(self.texts(_MEASURED_ROWS) if self._wraps else ()):
            lines = max(
                _lines(metrics, texts[at], width - _CELL_PX) for at, width in widths.items()
            )
            height = single + (min(lines, _MOST_LINES) - 1) * metrics.lineSpacing()
            if height != self.rowHeight(row):
                self.setRowHeight(row, height)
                fitted = True
        return fitted

    def fit_height(self) -> None:
        """As tall as its rows."""
        rows, bar = self.table_model.rowCount(), 0
        if self._most is not None:
            rows = min(max(rows, 2), self._most)
            bar = self.horizontalScrollBar().sizeHint().height() if self._wider else 0
        section, there = self.verticalHeader().defaultSectionSize(), self.table_model.rowCount()
        tall = sum(self.rowHeight(row) if row < there else section for row in range(rows))
        self.setFixedHeight(self._height_of_headings() + tall + bar + 4)

    def text_widths(self, most_rows: int | None = None) -> list[int]:
        """How wide each column is with its widest text, px, in all or so many rows; asked of the
        texts alone, since Qt asks every cell for all that it has."""
        self.ensurePolished()
        metrics = QFontMetricsF(self.font())
        return [
            max(
                self._width_of_heading(column),
                *(math.ceil(metrics.horizontalAdvance(cell)) + _CELL_PX for cell in cells),
            )
            for column, cells in enumerate(zip(*self.texts(most_rows), strict=True))
        ] or [self._width_of_heading(c) for c in range(len(self.table_model.columns))]

    def _width_of_heading(self, column: int) -> int:
        """Its section's width, px; Qt asks the heading for all that it has to tell it."""
        header, words = self.horizontalHeader(), self._words_of_heading(column)
        key = header.font().key(), words
        if words is None:
            return header.sectionSizeHint(column)
        if key not in self._heading_px:
            self._heading_px[key] = header.sectionSizeHint(column)
        return self._heading_px[key]

    def _height_of_headings(self) -> int:
        """Likewise of all together."""
        header, columns = self.horizontalHeader(), range(len(self.table_model.columns))
        key = header.font().key(), tuple(map(self._words_of_heading, columns))
        if key not in self._heading_px:
            self._heading_px[key] = header.sizeHint().height()
        return self._heading_px[key]

    def _words_of_heading(self, column: int) -> str | None:
        """As they are written; None for a column that is hidden."""
        if self.isColumnHidden(column):
            return None
        words: str = self.table_model.headerData(column, Qt.Orientation.Horizontal)
        return words

    def chosen_row(self) -> int:
        """The row chosen; −1 for none."""
        index = self.currentIndex()
        return index.row() if index.isValid() else -1

    def texts(self, most_rows: int | None = None) -> list[list[str]]:
        """The texts shown, of all rows or the first so many."""
        rows = range(len(self.table_model.rows))[:most_rows]
        return [list(self.table_model.texts(row)) for row in rows]

    @guarded
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy takes the whole table, with its headings, for a spreadsheet."""
        if event.matches(QKeySequence.StandardKey.Copy):
            heads = [column.head().replace("\n", " ") for column in self.table_model.columns]
            lines = ["\t".join(line) for line in [heads, *self.texts()]]
            text = "\n".join(lines).replace("−", "-")  # as spreadsheets read it
            QGuiApplication.clipboard().setText(text)
        else:
            super().keyPressEvent(event)


class FigureTable(ReadTable):
    """Rows of cells under headings; the first column names the row, in words or by ``figures``."""

    def __init__(self, name: str, headings: Sequence[str], figures: bool = False) -> None:
        super().__init__(name, _columns(headings, figures), None)
        self._figures = figures
        self._shown: object = None

    def set_points(self, points: float) -> None:
        """Type of another size, and rows to suit."""
        self.setStyleSheet(f"font-size: {points}pt")
        font = QFont(self.font())
        font.setPointSizeF(points)
        self.verticalHeader().setDefaultSectionSize(QFontMetrics(font).lineSpacing() + 12)
        self.fit_height()

    def set_headings(self, headings: Sequence[str]) -> None:
        """Other headings, as many as there are columns."""
        self.table_model.set_columns(_columns(headings, self._figures))

    def show_rows(self, rows: Sequence[Sequence[Cell]]) -> None:
        """Show these rows in place of the old; nothing is done for equal ones."""
        shown = (tuple(map(tuple, rows)), self.palette().cacheKey())
        if shown != self._shown:
            self._shown = shown
            super().show_rows(rows)
            self.fit_height()


def _lines(metrics: QFontMetrics, text: str, width_px: int) -> int:
    """On how many lines a text stands in so much room."""
    if metrics.horizontalAdvance(text) <= width_px:
        return 1
    room, wraps = QRect(0, 0, width_px, _TALL_PX), Qt.TextFlag.TextWordWrap.value
    return max(2, round(metrics.boundingRect(room, wraps, text).height() / metrics.lineSpacing()))


def _sections(header: QHeaderView) -> list[int]:
    """How long each column or row is, px."""
    return [header.sectionSize(place) for place in range(header.count())]


def _columns(headings: Sequence[str], figures: bool) -> list[Column]:
    def of(place: int, heading: str) -> Column:
        def text(row: Sequence[Cell]) -> str:
            cell = row[place]
            return cell if isinstance(cell, str) else cell[0]

        def colour(row: Sequence[Cell]) -> str:
            cell = row[place]
            return "" if isinstance(cell, str) else cell[1]

        return Column(heading, text, place > 0 or figures, colour=colour)

    return [of(place, heading) for place, heading in enumerate(headings)]
