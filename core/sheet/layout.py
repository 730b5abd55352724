"""Tables, lists of particulars, headings, scale bar: elements laid out from plain content."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from core.sheet.description import (
    LEAST_LINE_MM,
    MM_PER_PT,
    Content,
    Element,
    Line,
    Marks,
    Ruler,
    Text,
    word,
)

ROW_MM = 4.2
HEADING_MM = 5.2
SIZE_PT = 8.0
SMALL_PT = 7.5
RULE_MM = 0.3
PAD_MM = 1.0


@dataclass(frozen=True)
class Column:
    """A column of a table: its heading (one or two lines), alignment and share of the width.

    The share is a weight: the width a column should have relative to the others.
    """

    heading: tuple[Content, ...]
    share: float = 1.0
    align: str = "right"


@dataclass(frozen=True)
class Cell:
    """What stands in one place of a table: text, a mark in front of it (a shape), and weight."""

    text: Content = ""
    mark: str = ""
    bold: bool = False


def heading(x_mm: float, y_mm: float, width_mm: float, text: Content,
            aside: Content = "") -> list[Element]:  # fmt: skip
    """A section heading with a rule above it; ``aside`` stands at the right end. Takes
    ``HEADING_MM``."""
    made: list[Element] = [
        Line(x_mm, y_mm, x_mm + width_mm, y_mm, RULE_MM),
        Text(x_mm, y_mm + 3.8, text, 8.5, bold=True, room_mm=width_mm * (0.45 if aside else 1)),
    ]
    if aside:
        made.append(Text(x_mm + width_mm, y_mm + 3.8, aside, SMALL_PT, align="right",
                         room_mm=width_mm * 0.52))  # fmt: skip
    return made


def header_mm(columns: Sequence[Column]) -> float:
    """The height of the heading row of a table."""
    return 3.3 * max(len(c.heading) for c in columns) + 1.5


def table_mm(columns: Sequence[Column], rows: int) -> float:
    """The height of a table with so many rows."""
    return header_mm(columns) + rows * ROW_MM


def table(x_mm: float, y_mm: float, width_mm: float, columns: Sequence[Column],
          rows: Sequence[Sequence[Cell]], limit: int | None = None) -> list[Element]:  # fmt: skip
    """A table from its top left corner; with more rows than ``limit`` the last line says how many
    are left out."""
    shares = sum(c.share for c in columns)
    edges = [x_mm]
    for column in columns:
        edges.append(edges[-1] + width_mm * column.share / shares)
    top = y_mm + header_mm(columns)
    made: list[Element] = []
    for column, left, right in zip(columns, edges, edges[1:], strict=False):
        lines = len(column.heading)
        for index, text in enumerate(column.heading):
            baseline = top - 1.5 - 3.3 * (lines - 1 - index)
            made.append(_set(text, left, right, baseline, column.align, SMALL_PT))
    made.append(Line(x_mm, top - 0.2, x_mm + width_mm, top - 0.2, 0.25))
    shown = list(rows)
    if limit is not None and len(shown) > limit:
        shown = shown[: limit - 1]
    for number, row in enumerate(shown):
        baseline = top + ROW_MM * (number + 1) - 1.2
        for cell, column, left, right in zip(row, columns, edges, edges[1:], strict=False):
            made += _cell(cell, left, right, baseline, column.align)
        if number + 1 < len(shown) or len(shown) < len(rows):
            below = top + ROW_MM * (number + 1)
            made.append(Line(x_mm, below, x_mm + width_mm, below, LEAST_LINE_MM, grey=0.6))
    if len(shown) < len(rows):
        baseline = top + ROW_MM * (len(shown) + 1) - 1.2
        more = word("more-in-docket", count=len(rows) - len(shown))
        made.append(Text(x_mm + PAD_MM, baseline, more, SMALL_PT, italic=True,
                         room_mm=width_mm - PAD_MM))  # fmt: skip
    return made


def _set(text: Content, left: float, right: float, baseline: float, align: str, size_pt: float,
         bold: bool = False) -> Text:  # fmt: skip
    x = {"left": left + PAD_MM, "right": right - PAD_MM}.get(align, (left + right) / 2)
    return Text(x, baseline, text, size_pt, bold=bold, align=align,
                room_mm=right - left - 2 * PAD_MM)  # fmt: skip


def _cell(cell: Cell, left: float, right: float, baseline: float, align: str) -> list[Element]:
    made: list[Element] = []
    if cell.mark:
        centre = (left + PAD_MM + 1.2, baseline - 1.0)
        made.append(Marks((centre,), cell.mark, 2.0, line_mm=0.35))
        left += 2.8
    if cell.text:
        made.append(_set(cell.text, left, right, baseline, align, SIZE_PT, cell.bold))
    return made


def facts(x_mm: float, y_mm: float, width_mm: float, items: Sequence[tuple[Content, Content]],
          columns: int, ruler: Ruler, rows: int | None = None) -> list[Element]:  # fmt: skip
    """Labels with their values in several columns, filled column by column."""
    rows = rows or fact_rows(len(items), columns)
    each = width_mm / columns
    made: list[Element] = []
    for start in range(0, min(len(items), rows * columns), rows):
        column = items[start : start + rows]
        x = x_mm + each * (start // rows)
        widest = max(ruler.width_mm(label, SMALL_PT) for label, _ in column)
        label_mm = min(widest + 2.5, each * 0.6)
        for row, (label, value) in enumerate(column):
            y = y_mm + ROW_MM * (row + 1) - 1.2
            made.append(Text(x, y, label, SMALL_PT, room_mm=label_mm - 1.5))
            made.append(Text(x + label_mm, y, value, SIZE_PT, bold=True,
                             room_mm=each - label_mm - 3.0))  # fmt: skip
    return made


def fact_rows(count: int, columns: int) -> int:
    """How many rows so many facts take."""
    return -(-count // columns)


def scale_bar(x_mm: float, y_mm: float, length_mm: float = 100.0) -> list[Element]:
    """A bar of true length on the line ``y_mm``, divided every 10 mm, with its words above."""
    thick = 0.35
    made: list[Element] = [Line(x_mm, y_mm, x_mm + length_mm, y_mm, thick)]
    for index in range(round(length_mm / 10) + 1):
        tall = 3.0 if index % 5 == 0 else 1.8
        x = x_mm + 10.0 * index
        made.append(Line(x, y_mm - tall, x, y_mm, 0.25))
    made.append(Text(x_mm + length_mm / 2, y_mm - 4.2, word("scale-bar", length_mm=length_mm),
                     SMALL_PT, align="centre", room_mm=length_mm))  # fmt: skip
    return made


def place_to_write(x_mm: float, y_mm: float, width_mm: float, label: Content,
                   ruler: Ruler) -> list[Element]:  # fmt: skip
    """A label and a line to write on."""
    label_mm = min(ruler.width_mm(label, SMALL_PT) + 1.5, width_mm / 2)
    return [
        Text(x_mm, y_mm, label, SMALL_PT, room_mm=label_mm),
        Line(x_mm + label_mm, y_mm + 0.6, x_mm + width_mm, y_mm + 0.6, 0.25),
    ]


def text_mm(size_pt: float) -> float:
    """The height of a line of text, ascender to descender, in mm."""
    return 1.2 * size_pt * MM_PER_PT


def flow(x_mm: float, y_mm: float, width_mm: float, phrases: Sequence[Content], ruler: Ruler,
         lines: int) -> tuple[list[Element], list[int]]:  # fmt: skip
    """Phrases set one after another in at most so many lines, those that do not fit left out.

    Returns the elements, and how many phrases stand on each line.
    """
    made: list[Element] = []
    counts: list[int] = []
    at = width_mm
    for phrase in phrases:
        wide = min(ruler.width_mm(phrase, SIZE_PT) + 0.5, width_mm)
        if at + wide > width_mm:
            if len(counts) == lines:
                break
            counts.append(0)
            at = 0.0
        baseline = y_mm + ROW_MM * len(counts) - 1.0
        made.append(Text(x_mm + at, baseline, phrase, SIZE_PT, room_mm=wide))
        counts[-1] += 1
        at += wide + 6.0
    return made, counts
