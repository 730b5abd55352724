"""Labels with what belongs beside them, in one column or two."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QVBoxLayout, QWidget

from bobweight.app.guard import guarded
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.words import kept_together

LABEL_BESIDE = "beside"
"""Set for a label whose first line stands beside what is typed: the theme puts it lower. Margins of
its own are lost when a page that is styled already is put in its place."""

_LABEL, _LABEL_MOST = 14, 24  # of a label, in characters
_FIELD, _PLAIN_FIELD = 29, 18  # of a field, and of one without an uncertainty
_APART_PX = 24  # between two columns of fields


def least_row_px(character_px: int) -> int:
    """Width that a label with its field needs, for a character so wide."""
    return character_px * (_LABEL + _FIELD)


def columns_in(width_px: int, character_px: int) -> int:
    """How many columns of fields have room side by side: one or two."""
    return 2 if width_px >= 2 * least_row_px(character_px) + _APART_PX else 1


def label_px(width_px: int, character_px: int, columns: int, plain: bool = False) -> int:
    """Width of the labels in so many columns: what the fields leave, within bounds. ``plain`` ones
    have no uncertainty beside them, and leave more where there are two."""
    each = (width_px - _APART_PX * (columns - 1)) // columns
    field = _PLAIN_FIELD if plain and columns > 1 else _FIELD
    spare = each - character_px * field
    return min(max(spare, character_px * _LABEL), character_px * _LABEL_MOST)


class LabelledRows(QWidget):
    """Labels with what belongs beside them. Where there is room for two columns of them, the second
    half stands beside the first, each row as high as its neighbour; labels take what fields leave.

    Parameters
    ----------
    across : bool
        Two that follow each other stand side by side, as pairs do.
    plain : bool
        No number has an uncertainty beside it, nor has any in the same card: labels have its room.
    """

    def __init__(self, across: bool = False, plain: bool = False) -> None:
        super().__init__()
        self._across, self._plain = across, plain
        self._rows: list[tuple[QLabel, QWidget, bool]] = []
        self._shown: list[tuple[QLabel, QWidget, bool]] = []
        self._laid: object = None
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(10)
        self._grid.setVerticalSpacing(7)
        self._between = QWidget(self)  # a column without anything in it has no room of its own
        self._between.setFixedSize(_APART_PX - 2 * self._grid.horizontalSpacing(), 1)

    @property
    def _character(self) -> int:
        return self.fontMetrics().horizontalAdvance("0")

    def add_row(self, text: str, beside: QWidget, wide: bool = False) -> QLabel:
        """Put a labelled widget below the others; a ``wide`` one across both columns. It is seen
        once :meth:`flow` was called."""
        label = PlainLabel(kept_together(text))
        label.setWordWrap(True)
        self._rows.append((label, beside, wide))
        return label

    def show_rows(self, wanted: Sequence[QWidget]) -> None:
        """Show what stands beside these labels, and hide the others."""
        shown = [row for row in self._rows if row[1] in wanted]
        for row in self._rows:
            for widget in row[:2]:
                widget.setVisible(row in shown)
        if shown != self._shown:
            self._shown = shown
            self.flow()

    def flow(self) -> None:
        """Lay out what is shown, for the width there is."""
        columns = columns_in(self.width(), self._character)
        plain = self._plain and len(self._shown) > 1
        wide_px = label_px(self.width(), self._character, columns, plain)
        for label, _, _ in self._rows:
            label.setFixedWidth(wide_px)
        laid = columns, tuple(map(id, self._shown))
        if laid == self._laid:
            return
        self._laid = laid
        while self._grid.count():
            self._grid.takeAt(0)
        top = Qt.AlignmentFlag.AlignTop
        for (label, beside, wide), row, side in self._places(columns):
            first = 3 * side
            self._grid.addWidget(label, row, first, top)
            self._grid.addWidget(beside, row, first + 1, 1, 4 if wide and columns > 1 else 1, top)
        if columns > 1:
            self._grid.addWidget(self._between, 0, 2)
        alone = columns > 1 and len(self._shown) == 1  # as wide as those of two
        beside_px = wide_px + self._grid.horizontalSpacing() if alone else 0
        self._grid.setColumnMinimumWidth(3, beside_px)
        for column, stretch in ((1, 1), (4, columns - 1)):
            self._grid.setColumnStretch(column, stretch)
        self.updateGeometry()

    def _places(self, columns: int) -> Iterator[tuple[tuple[QLabel, QWidget, bool], int, int]]:
        """Each row shown, with its line and the column that it stands in."""
        line, run = 0, []
        for row in self._shown:
            if columns > 1 and not row[2]:
                run.append(row)
                continue
            yield from self._halved(run, line)
            line += -(-len(run) // 2)
            run = []
            yield row, line, 0
            line += 1
        yield from self._halved(run, line)

    def _halved(
        self, run: Sequence[tuple[QLabel, QWidget, bool]], line: int
    ) -> Iterator[tuple[tuple[QLabel, QWidget, bool], int, int]]:
        half = -(-len(run) // 2)
        for place, row in enumerate(run):
            down, side = divmod(place, 2) if self._across else (place % half, place // half)
            yield row, line + down, side

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.flow()

    @guarded
    def minimumSizeHint(self) -> QSize:
        """One column's width: a page that shrinks is not held open by two."""
        size = super().minimumSizeHint()
        return QSize(min(size.width(), least_row_px(self._character)), size.height())


class InColumns(QWidget):
    """Widgets one below the other; where there is room, the second half beside the first."""

    def __init__(self, *widgets: QWidget) -> None:
        super().__init__()
        self._widgets, self._columns = widgets, 0
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(0)
        self._grid, self._sides = grid, (QVBoxLayout(), QVBoxLayout())
        for place, side in enumerate(self._sides):
            side.setSpacing(8)
            grid.addLayout(side, 0, place, Qt.AlignmentFlag.AlignTop)
        self._flow(1)

    def _flow(self, columns: int) -> None:
        columns = min(columns, len(self._widgets))
        if columns == self._columns:
            return
        self._columns = columns
        for side in self._sides:
            while side.count():
                side.takeAt(0)
        half = -(-len(self._widgets) // columns)
        for place, widget in enumerate(self._widgets):
            self._sides[place // half].addWidget(widget)
        self._grid.setHorizontalSpacing(_APART_PX if columns > 1 else 0)
        for place in range(2):
            self._grid.setColumnStretch(place, int(place < columns))
        self.updateGeometry()

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._flow(columns_in(self.width(), self.fontMetrics().horizontalAdvance("0")))

    @guarded
    def minimumSizeHint(self) -> QSize:
        """One column's width: a page that shrinks is not held open by two."""
        size = super().minimumSizeHint()
        least = least_row_px(self.fontMetrics().horizontalAdvance("0"))
        return QSize(min(size.width(), least), size.height())
