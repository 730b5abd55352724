"""A table of figures to read: as tall as its rows, walked with the arrow keys, left with Tab."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QTableView,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from bobweight.app.guard import guarded

Cell = str | tuple[str, str]
"""A text, or a text and its colour."""


class FigureTable(QTableWidget):
    """Rows of texts under headings; the first column names the row."""

    def __init__(self, name: str, headings: Sequence[str], parent: QWidget | None = None) -> None:
        super().__init__(0, len(headings), parent)
        self._shown: object = None
        self.setAccessibleName(name)
        self.set_headings(headings)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setTabKeyNavigation(False)
        self.setAlternatingRowColors(True)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().lineSpacing() + 10)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        header.setMinimumSectionSize(self.fontMetrics().horizontalAdvance("0") * 5)

    def set_points(self, points: float) -> None:
        """Type of another size, and rows to suit."""
        self.setStyleSheet(f"font-size: {points}pt")
        font = QFont(self.font())
        font.setPointSizeF(points)
        height = QFontMetrics(font).lineSpacing()
        self.verticalHeader().setDefaultSectionSize(height + 12)
        self._size()

    def set_headings(self, headings: Sequence[str]) -> None:
        """Other headings, as many as there are columns."""
        self.setHorizontalHeaderLabels(list(headings))

    def show_rows(self, rows: Sequence[Sequence[Cell]]) -> None:
        """Show these rows in place of the old."""
        shown = (tuple(map(tuple, rows)), self.palette().cacheKey())
        if shown == self._shown:
            return
        self._shown = shown
        self.setRowCount(len(rows))
        for r, row in enumerate(rows):
            for c, cell in enumerate(row):
                text, colour = cell if isinstance(cell, tuple) else (cell, "")
                item = QTableWidgetItem(text)
                if colour:
                    item.setForeground(QColor(colour))
                side = Qt.AlignmentFlag.AlignLeft if c == 0 else Qt.AlignmentFlag.AlignRight
                item.setTextAlignment(side | Qt.AlignmentFlag.AlignVCenter)
                heading = self.horizontalHeaderItem(c).text().replace("\n", " ")
                item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{heading}: {text}")
                self.setItem(r, c, item)
        self._size()
        self.setVisible(bool(rows))

    def _size(self) -> None:
        height = self.horizontalHeader().sizeHint().height()
        row_height = self.verticalHeader().defaultSectionSize()
        self.setFixedHeight(height + self.rowCount() * row_height + 4)

    def texts(self) -> list[list[str]]:
        """The texts shown."""
        columns = range(self.columnCount())
        return [[self.item(r, c).text() for c in columns] for r in range(self.rowCount())]

    @guarded
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy takes the whole table, with its headings, for a spreadsheet."""
        if event.matches(QKeySequence.StandardKey.Copy):
            heads = [self.horizontalHeaderItem(c).text() for c in range(self.columnCount())]
            lines = [[head.replace("\n", " ") for head in heads], *self.texts()]
            QGuiApplication.clipboard().setText("\n".join("\t".join(line) for line in lines))
        else:
            super().keyPressEvent(event)


class ReadTable(QTableView):
    """A table to read and choose a row in; Tab leaves it, as tall as its rows within reason."""

    def __init__(self, name: str, most_rows: int = 10, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._most = most_rows
        self.setAccessibleName(name)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setWordWrap(False)
        self.setAlternatingRowColors(True)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().lineSpacing() + 10)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setStretchLastSection(True)
        header.setHighlightSections(False)

    def fit_height(self) -> None:
        """As tall as its rows."""
        rows = min(max(self.model().rowCount(), 2), self._most)
        section = self.verticalHeader().defaultSectionSize()
        head = self.horizontalHeader().sizeHint().height()
        bar = self.horizontalScrollBar().sizeHint().height()
        self.setFixedHeight(head + rows * section + bar + 4)

    def chosen_row(self) -> int:
        """The row chosen; −1 for none."""
        index = self.currentIndex()
        return index.row() if index.isValid() else -1
