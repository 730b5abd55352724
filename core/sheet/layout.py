"""Tables, lists of particulars, headings, scale bar: elements laid out from plain content."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bobweight.core.figure.description import Content, word
from bobweight.core.frozen import frozen
from bobweight.core.sheet.description import (
    LEAST_LINE_MM,
    MM_PER_PT,
    Element,
    Line,
    Marks,
    Ruler,
    Text,
    wrap,
)

ROW_MM = 4.0
CLOSER_ROWS_MM = tuple(ROW_MM - 0.1 * step for step in range(9))
"""Heights of rows from the usual to the densest."""
"""Rows of a page that would take another one otherwise: type of the same size, set solid."""
HEADING_MM = 5.2
SIZE_PT = 8.0
SMALL_PT = 7.5
HEADING_PT = 8.5
RULE_MM = 0.3
PAD_MM = 1.0
MARK_ROOM_MM = 3.1
LABEL_GAP_MM = 2.0
FACT_GAP_MM = 5.0


@frozen
class SheetColumn:
    """A column of a table: its heading (one or two lines) and alignment."""

    heading: tuple[Content, ...]
    align: str = "right"


@frozen
class Cell:
    """What stands in one place of a table: text, a mark in front of it (a shape), and weight."""

    text: Content = ""
    mark: str = ""
    bold: bool = False


@frozen
class Rows:
    """A table before it is laid out."""

    columns: tuple[SheetColumn, ...]
    rows: tuple[tuple[Cell, ...], ...]


def heading(x_mm: float, y_mm: float, width_mm: float, text: Content, aside: Content = "",
            ruler: Ruler | None = None) -> list[Element]:  # fmt: skip
    """A section heading with a rule above it. Takes ``HEADING_MM``.

    ``aside`` stands at the right end, in what the heading leaves as the ruler measures it.
    """
    room = width_mm
    made: list[Element] = [Line(x_mm, y_mm, x_mm + width_mm, y_mm, RULE_MM)]
    if aside and ruler:
        room = heading_mm(text, ruler, width_mm)
        made.append(Text(x_mm + width_mm, y_mm + 3.8, aside, SMALL_PT, align="right",
                         room_mm=width_mm - room - 4.0))  # fmt: skip
    made.append(Text(x_mm, y_mm + 3.8, text, HEADING_PT, bold=True, room_mm=room))
    return made


def heading_mm(text: Content, ruler: Ruler, width_mm: float) -> float:
    """How much of a width the words of a section heading take beside others, at most half."""
    return min(ruler.width_mm(text, HEADING_PT, bold=True) + 0.5, width_mm / 2)


def header_mm(columns: Sequence[SheetColumn]) -> float:
    """The height of the heading row of a table."""
    return 3.3 * max(len(c.heading) for c in columns) + 1.5


def table_mm(columns: Sequence[SheetColumn], rows: int, row_mm: float = ROW_MM) -> float:
    """The height of a table with so many rows."""
    return header_mm(columns) + rows * row_mm


def _baseline_mm(row_mm: float) -> float:
    """How far below the top of a row its words stand."""
    return row_mm / 2 + 0.8


def needed_mm(
    columns: Sequence[SheetColumn], rows: Sequence[Sequence[Cell]], ruler: Ruler
) -> float:
    """The least width in mm at which nothing of a table is shortened."""
    return sum(max(one, other) for one, other in zip(*_needs(ruler, columns, rows), strict=True))


def _needs(ruler: Ruler, columns: Sequence[SheetColumn],
           rows: Sequence[Sequence[Cell]]) -> tuple[list[float], list[float]]:  # fmt: skip
    """What the heading and the cells of each column need, in mm."""
    pad = 2 * PAD_MM + 0.2
    heads = [max(ruler.width_mm(line, SMALL_PT) for line in c.heading) + pad for c in columns]
    cells = [pad for _ in columns]
    for row in rows:
        for index, cell in enumerate(row):
            mark = MARK_ROOM_MM if cell.mark else 0.0
            wide = ruler.width_mm(cell.text, SIZE_PT, cell.bold) + mark + pad
            cells[index] = max(cells[index], wide)
    return heads, cells


def column_widths(
    width_mm: float, ruler: Ruler, columns: Sequence[SheetColumn], rows: Sequence[Sequence[Cell]]
) -> list[float]:
    """Widths in mm that give every column what it needs, and all the same share of what is left.

    Where the needs exceed the width, first the headings give way, widest first, then the cells;
    what gives way is shortened.
    """
    heads, cells = _needs(ruler, columns, rows)
    needs = _lowered([max(h, c) for h, c in zip(heads, cells, strict=True)], cells, width_mm)
    needs = _lowered(needs, [4.0 for _ in columns], width_mm)
    spare = (width_mm - sum(needs)) / len(needs)
    return [need + spare for need in needs]


def shared_widths(tables: Sequence[Rows], width_mm: float, ruler: Ruler) -> dict[int, list[float]]:
    """Column widths by the number of columns, so that tables of one kind share a grid."""
    found = {}
    for count in {len(t.columns) for t in tables}:
        alike = [t for t in tables if len(t.columns) == count]
        headings = tuple(
            replace(column, heading=tuple(h for t in alike for h in t.columns[i].heading))
            for i, column in enumerate(alike[0].columns)
        )
        found[count] = column_widths(width_mm, ruler, headings, [r for t in alike for r in t.rows])
    return found


def _lowered(needs: list[float], least: list[float], width_mm: float) -> list[float]:
    """Needs with the highest lowered until they fit the width, none below its least."""
    most = max(needs)
    while sum(needs) > width_mm and most > 4.0:
        most *= 0.98
        needs = [min(n, max(most, floor)) for n, floor in zip(needs, least, strict=True)]
    return needs


def table(x_mm: float, y_mm: float, widths: Sequence[float], columns: Sequence[SheetColumn],
          rows: Sequence[Sequence[Cell]], limit: int | None = None,
          row_mm: float = ROW_MM) -> list[Element]:  # fmt: skip
    """A table from its top left corner with columns of these widths; with more rows than
    ``limit`` the last line says how many are left out."""
    edges = [x_mm]
    for width in widths:
        edges.append(edges[-1] + width)
    top = y_mm + header_mm(columns)
    made: list[Element] = []
    for column, left, right in zip(columns, edges, edges[1:], strict=False):
        lines = len(column.heading)
        for index, text in enumerate(column.heading):
            baseline = top - 1.5 - 3.3 * (lines - 1 - index)
            made.append(_set(text, left, right, baseline, column.align, SMALL_PT))
    made.append(Line(x_mm, top - 0.2, edges[-1], top - 0.2, 0.25))
    shown = list(rows)
    if limit is not None and len(shown) > limit:
        shown = shown[: limit - 1]
    for number, row in enumerate(shown):
        baseline = top + row_mm * number + _baseline_mm(row_mm)
        for cell, column, left, right in zip(row, columns, edges, edges[1:], strict=False):
            made += _cell(cell, left, right, baseline, column.align)
        if number + 1 < len(shown) or len(shown) < len(rows):
            below = top + row_mm * (number + 1)
            made.append(Line(x_mm, below, edges[-1], below, LEAST_LINE_MM, grey=0.6))
    if len(shown) < len(rows):
        baseline = top + row_mm * len(shown) + _baseline_mm(row_mm)
        more = word("more-in-docket", count=len(rows) - len(shown))
        made.append(Text(x_mm + PAD_MM, baseline, more, SMALL_PT, italic=True,
                         room_mm=sum(widths) - PAD_MM))  # fmt: skip
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
        left += MARK_ROOM_MM
    if cell.text:
        made.append(_set(cell.text, left, right, baseline, align, SIZE_PT, cell.bold))
    return made


Fact = tuple[Content, Content]


@frozen
class FactList:
    """Labels with their values, laid out in columns that are filled from top to bottom.

    ``columns`` holds, for each, its items, the width of its labels and that of its values in mm.
    """

    columns: tuple[tuple[tuple[Fact, ...], float, float], ...]
    rows: int
    row_mm: float = ROW_MM

    @property
    def height_mm(self) -> float:
        """Of the whole list."""
        return self.row_mm * self.rows

    def elements(self, x_mm: float, y_mm: float) -> list[Element]:
        """The list from its top left corner."""
        made: list[Element] = []
        for items, label_mm, value_mm in self.columns:
            for row, (label, value) in enumerate(items):
                y = y_mm + self.row_mm * row + _baseline_mm(self.row_mm)
                made.append(Text(x_mm, y, label, SMALL_PT, room_mm=label_mm))
                made.append(Text(x_mm + label_mm + LABEL_GAP_MM, y, value, SIZE_PT, bold=True,
                                 room_mm=value_mm))  # fmt: skip
            x_mm += label_mm + LABEL_GAP_MM + value_mm + FACT_GAP_MM
        return made


def fact_list(items: Sequence[Fact], width_mm: float, most: int, ruler: Ruler,
              longest_mm: float = 46.0, lines: int = 1) -> FactList:  # fmt: skip
    """Facts in as many columns as fit side by side, at most ``most``.

    A value longer than ``longest_mm`` counts as so long; if no room is spare it is broken into at
    most so many lines, and shortened only beyond them.
    """
    for count in range(min(most, len(items)), 0, -1):
        rows = -(-len(items) // count)
        parts = [tuple(items[i : i + rows]) for i in range(0, len(items), rows)]
        labels = [max(ruler.width_mm(f[0], SMALL_PT) for f in part) + 0.3 for part in parts]
        wanted = [max(ruler.width_mm(f[1], SIZE_PT, bold=True) for f in p) + 0.3 for p in parts]
        values = [min(width, longest_mm) for width in wanted]
        gaps = LABEL_GAP_MM * len(parts) + FACT_GAP_MM * (len(parts) - 1)
        spare = width_mm - sum(labels) - sum(values) - gaps
        if spare >= 0 or count == 1:
            if spare < 0:  # one column that is too wide: labels to a half, values the rest
                labels = [min(labels[0], width_mm / 2)]
                values = [width_mm - labels[0] - LABEL_GAP_MM]
                spare = 0.0
            for index, width in enumerate(wanted):  # long values first, then all alike
                more = min(max(width - values[index], 0.0), spare)
                values[index] += more
                spare -= more
            values = [value + spare / len(parts) for value in values]
            if lines > 1:
                parts = [_broken(p, mm, lines, ruler) for p, mm in zip(parts, values, strict=True)]
                rows = max(map(len, parts))
            return FactList(tuple(zip(parts, labels, values, strict=True)), rows)
    return FactList((), 0)


def _broken(facts: Sequence[Fact], value_mm: float, lines: int, ruler: Ruler) -> tuple[Fact, ...]:
    """The facts with long values on several rows, the first of which has the label."""
    made: list[Fact] = []
    for label, value in facts:
        if isinstance(value, str) and ruler.width_mm(value, SIZE_PT, bold=True) > value_mm:
            first, *others = wrapped(value, value_mm, SIZE_PT, lines, ruler)
            made += [(label, first), *(("", other) for other in others)]
        else:
            made.append((label, value))
    return tuple(made)


def scale_bar(x_mm: float, y_mm: float, length_mm: float = 100.0) -> list[Element]:
    """A bar of true length on the line ``y_mm``, divided every 10 mm, with its words above.

    The outer edges of its end strokes are the true length apart.
    """
    thick = 0.35
    made: list[Element] = [Line(x_mm, y_mm, x_mm + length_mm, y_mm, thick)]
    for index in range(round(length_mm / 10) + 1):
        tall = 3.0 if index % 5 == 0 else 1.8
        x = min(max(10.0 * index, 0.125), length_mm - 0.125) + x_mm
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


def wrapped(text: str, width_mm: float, size_pt: float, most: int, ruler: Ruler) -> list[str]:
    """Bold text broken at spaces into at most so many lines; what is left stands on the last."""
    lines = wrap(text, width_mm, lambda part: ruler.width_mm(part, size_pt, bold=True))
    return [*lines[: most - 1], " ".join(lines[most - 1 :])] if len(lines) > most else lines


def cautions_overleaf(x_mm: float, bottom_mm: float, room_mm: float) -> Text:
    """Where the cautions stand, at the foot of a page without them."""
    return Text(x_mm, bottom_mm - 0.6, word("cautions-overleaf", page=1), SMALL_PT, room_mm=room_mm)


def text_mm(size_pt: float) -> float:
    """The height of a line of text, ascender to descender, in mm."""
    return 1.2 * size_pt * MM_PER_PT


def flow(x_mm: float, y_mm: float, width_mm: float, phrases: Sequence[Content], ruler: Ruler,
         lines: int) -> tuple[list[Element], list[int]]:  # fmt: skip
    """Phrases set one after another in at most so many lines; how many do not fit is said.

    Returns the elements, and how many phrases stand on each line.
    """
    for kept in range(len(phrases), -1, -1):
        left_out = [word("and-more", count=len(phrases) - kept)] if kept < len(phrases) else []
        made, counts, fits = _flowed(x_mm, y_mm, width_mm, [*phrases[:kept], *left_out], ruler,
                                     lines)  # fmt: skip
        if fits:
            break
    return made, counts


def _flowed(x_mm: float, y_mm: float, width_mm: float, phrases: Sequence[Content], ruler: Ruler,
            lines: int) -> tuple[list[Element], list[int], bool]:  # fmt: skip
    """The phrases of :func:`flow` that fit, and whether all do."""
    made: list[Element] = []
    counts: list[int] = []
    at = width_mm
    for phrase in phrases:
        wide = min(ruler.width_mm(phrase, SIZE_PT) + 0.5, width_mm)
        if at + wide > width_mm:
            if len(counts) == lines:
                return made, counts, False
            counts.append(0)
            at = 0.0
        baseline = y_mm + ROW_MM * len(counts) - 1.0
        made.append(Text(x_mm + at, baseline, phrase, SIZE_PT, room_mm=wide))
        counts[-1] += 1
        at += wide + 6.0
    return made, counts, True
