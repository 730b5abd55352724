"""From a text to lines of cells: whatever separates them, and what is no row at all."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence

from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError
from bobweight.core.tables.cells import decimal_mark, spaced

TEXT_LIMIT = 8_000_000
_COMMENT = re.compile(r"\s*(#|//|%|!)")
_RULE = re.compile(r"[\s|:+=_\-–—]*")
_GUTTER = 2  # blank columns that keep two columns of a table of fixed width apart


@frozen
class Grid:
    """The filled lines of a table.

    Parameters
    ----------
    lines : tuple of (int, tuple of str)
        The line's number in the text, from 1, and its cells without the spaces about them.
    separator : str
        A tab, ``;``, ``,``, ``|``, or a space for spaces and columns of fixed width.
    mark : str or None
        The decimal mark, where the numbers tell.
    comments : tuple of (int, tuple of str)
        Lines that begin with a sign for a comment.
    hidden : frozenset of int
        Numbers of the lines that a spreadsheet hides.
    hidden_columns : frozenset of int
        Columns, from 1, that it hides.
    """

    lines: tuple[tuple[int, tuple[str, ...]], ...]
    separator: str
    mark: str | None
    comments: tuple[tuple[int, tuple[str, ...]], ...] = ()
    hidden: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()

    @property
    def width(self) -> int:
        """How many columns there are."""
        return max((len(cells) for _, cells in self.lines), default=0)

    def turned(self) -> Grid:
        """Rows for columns; a line is numbered by the column it stood in."""
        rows = [cells + ("",) * (self.width - len(cells)) for _, cells in self.lines]
        lines = tuple((i + 1, column) for i, column in enumerate(zip(*rows, strict=True)))
        across = frozenset(i for i, (n, _) in enumerate(self.lines, 1) if n in self.hidden)
        return Grid(lines, self.separator, self.mark, self.comments, self.hidden_columns, across)


def grid_of_text(text: str) -> Grid:
    """The lines of a table in a text.

    Raises
    ------
    BobweightError
        ``table-too-large``; ``table-empty``.
    """
    if len(text) > TEXT_LIMIT:
        raise BobweightError("table-too-large", (), value=len(text), limit=TEXT_LIMIT)
    text = text.removeprefix("\ufeff").replace("\0", "")
    announced = re.match(r"\s*\"?sep=(.)\"?[^\S\n]*(?:\r\n|\r|\n)", text)
    separator = announced.group(1) if announced else _separator(text)
    if announced:
        text = "\n" + text[announced.end() :]  # so that lines keep their numbers
    found: list[tuple[int, list[str]]]
    if separator == " ":
        found = _by_width(text) or [(n, spaced(line)) for n, line in _numbered(text)]
    else:
        found = _separated(text, separator)
    if separator == "|":
        found = _without_frame(found)
    return grid_of_cells(found, separator)


def grid_of_cells(rows: Sequence[tuple[int, Sequence[str]]], separator: str) -> Grid:
    """The lines of a table whose cells are known; empty lines and rules between them go.

    Raises
    ------
    BobweightError
        ``table-empty``.
    """
    lines: list[tuple[int, tuple[str, ...]]] = []
    comments: list[tuple[int, tuple[str, ...]]] = []
    for number, row in rows:
        cells = tuple(_plain(cell) for cell in row)
        if all(_RULE.fullmatch(cell) for cell in cells) and not any(
            re.fullmatch(r"[-–—]", cell) for cell in cells
        ):
            continue
        is_comment = cells[0] and _COMMENT.match(cells[0])
        (comments if is_comment else lines).append((number, cells))
    if not lines:
        raise BobweightError("table-empty")
    mark = decimal_mark((cell for _, cells in lines for cell in cells), separator)
    return Grid(tuple(lines), separator, mark, tuple(comments))


def _plain(cell: str) -> str:
    """A cell without spaces about it and without what keeps a spreadsheet from reckoning it."""
    cell = cell.replace("\u00a0", " ").replace("º", "°").replace("˚", "°").strip()
    kept = re.fullmatch(r'="(.*)"', cell)
    return kept.group(1) if kept else re.sub(r"^'(?=[=+\-−@\d])", "", cell)


def _numbered(text: str) -> list[tuple[int, str]]:
    return list(enumerate(re.split(r"\r\n|\r|\n", text), 1))


def _separator(text: str) -> str:
    lines = [line for _, line in _numbered(text[:200_000]) if re.search(r"\d", line)]
    lines = [line for line in lines if not _COMMENT.match(line)] or lines
    for mark in ("\t", ";", "|"):
        if 2 * sum(mark in line for line in lines) > len(lines):
            return mark
    # "800,5 8" is a decimal comma between spaces: the second cell would hold two numbers
    cell = r'\s*"?=?"*[+\-−]?[\d.]*(?:\d[eE][+\-]?\d+)?'
    number = re.compile(rf'{cell}"*[^\d,]*,{cell}(?![\d.]|\s+[+\-−]?\d).*')
    if lines and 2 * sum(bool(number.fullmatch(line)) for line in lines) >= len(lines):
        return ","
    return "," if _commas_agree(text) else " "


def _commas_agree(text: str) -> bool:
    """Whether commas part a heading and most lines with numbers into equally many cells; a heading
    of fixed width may have commas of its own."""
    lines = [line for _, line in _numbered(text[:200_000]) if line.strip()]
    try:
        widths = [len(cells) for cells in csv.reader(lines)]
    except csv.Error:
        return False
    if len(widths) != len(lines):  # a quoted cell of several lines
        return False
    rows = [width for width, line in zip(widths, lines, strict=True) if re.search(r"\d", line)]
    usual = max(rows, key=rows.count, default=0)
    named = any(
        width == usual and re.match(r"\W*[^\W\d]", line) and "  " not in line.strip()
        for width, line in zip(widths, lines, strict=True)
    )
    return usual > 1 and named and 2 * rows.count(usual) > len(rows)


def _separated(text: str, separator: str) -> list[tuple[int, list[str]]]:
    try:
        return _quoted(text, separator)
    except csv.Error:  # an inch mark where a quotation would begin, or a cell without end
        return [(number, line.split(separator)) for number, line in _numbered(text) if line]


def _quoted(text: str, separator: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(
        io.StringIO(text, newline=""),
        delimiter=separator,
        skipinitialspace=separator != "\t",
        strict=True,
    )
    lines, number = [], 1
    for cells in reader:
        if cells:
            lines.append((number, cells))
        number = reader.line_num + 1
    return lines


def _without_frame(lines: list[tuple[int, list[str]]]) -> list[tuple[int, list[str]]]:
    """The lines of a table drawn with upright strokes, without those at its ends; an empty cell
    where other lines have a filled one is no end."""
    rows = [cells for _, cells in lines if len(cells) > 1]
    first = 1 if all(not cells[0].strip() for cells in rows) else 0
    last = -1 if all(not cells[-1].strip() for cells in rows) else None
    return [(n, cells[first:last] if len(cells) > 1 else cells) for n, cells in lines]


def _by_width(text: str) -> list[tuple[int, list[str]]] | None:
    """The cells of columns of fixed width: kept apart by gutters that run through all lines."""
    lines = [
        (n, line.expandtabs().rstrip())
        for n, line in _numbered(text)
        if line.strip() and not _COMMENT.match(line) and not _RULE.fullmatch(line)
    ]
    if len(lines) < 3 or sum("  " in line.strip() for _, line in lines) < len(lines) / 2:
        return None
    width = max(len(line) for _, line in lines)
    filled = [any(line[i : i + 1].strip() for _, line in lines) for i in range(width)]
    edges, i = [], 0
    while i < width:
        start = i
        while i < width and filled[i]:
            i += 1
        if i > start:
            edges.append((start, i))
        i += 1
    columns: list[list[int]] = []
    for start, end in edges:
        if columns and start - columns[-1][1] < _GUTTER:
            columns[-1][1] = end
        else:
            columns.append([start, end])
    if len(columns) < 2:
        return None
    rows = [(n, [line[a:b].strip() for a, b in columns]) for n, line in lines]
    two_numbers = re.compile(r"[+\-−]?\d[\d.,]*\s+[+\-−]?\d[\d.,]*")
    if any(two_numbers.fullmatch(cell) for _, cells in rows for cell in cells):
        return None
    return rows
