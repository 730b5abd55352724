"""A ruled table to read at arm's length and to write in, over as many pages as it needs."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from bobweight.core.figure.description import Content
from bobweight.core.frozen import frozen
from bobweight.core.sheet.description import LEAST_LINE_MM, Element, Line, Rect, Text
from bobweight.core.sheet.layout import SMALL_PT
from bobweight.core.sheet.pages import Pages

_HEAD_LINE_MM = 3.6
_INSIDE_MM, _HEAD_INSIDE_MM = 1.8, 1.0


@frozen
class GridColumn:
    """A column: its heading line by line, its share of the width, and the group it stands under
    (neighbours of one group share a heading above)."""

    heading: tuple[Content, ...]
    share: float = 1.0
    group: Content = ""
    bold: bool = False


Row = Sequence[Content]


def grid(pages: Pages, columns: Sequence[GridColumn], rows: Sequence[Row], *,
         row_mm: float = 8.0, size_pt: float = 11.0) -> None:  # fmt: skip
    """Set a ruled table on the pages; its heading stands on each page again.

    Parameters
    ----------
    rows : sequence of rows of Content
        One content a column, an empty one leaves room to write.
    row_mm, size_pt : float
        Height of a row and most size of its figures: all are of one size, so that the widest fits.
    """
    total = sum(column.share for column in columns)
    widths = [pages.room * column.share / total for column in columns]
    edges = [pages.left]
    for width in widths:
        edges.append(edges[-1] + width)
    for column, width, cells in zip(columns, widths, zip(*rows, strict=True), strict=True):
        widest_mm = max(pages.ruler.width_mm(cell, size_pt, column.bold) for cell in cells)
        size_pt *= min(1.0, (width - 2 * _INSIDE_MM) / max(widest_mm, 1e-9))
    rest = list(rows)
    pages.need(_head_mm(columns) + row_mm * min(len(rest), 3))
    while rest:
        fit = max(int((pages.left_mm - _head_mm(columns)) // row_mm), 1)
        part, rest = rest[:fit], rest[fit:]
        pages.add(_head(columns, edges, pages.y))
        top = pages.y + _head_mm(columns)
        pages.add(_body(columns, edges, top, part, row_mm, size_pt))
        pages.y = top + row_mm * len(part) + 3.0
        if rest:
            pages.turn()


def _head_mm(columns: Sequence[GridColumn]) -> float:
    lines = max(len(column.heading) for column in columns)
    grouped = any(column.group for column in columns)
    return _HEAD_LINE_MM * (lines + grouped) + 1.6


def _head(columns: Sequence[GridColumn], edges: Sequence[float], y: float) -> list[Element]:
    made: list[Element] = []
    grouped = any(column.group for column in columns)
    lines = max(len(column.heading) for column in columns)
    place = 0
    for group, members in groupby(columns, key=lambda column: column.group):
        count = len(list(members))
        if group:
            left, right = edges[place], edges[place + count]
            made.append(_set(group, left, right, y + 3.0, SMALL_PT, True))
            under = y + _HEAD_LINE_MM + 0.3
            made.append(Line(left + 1.0, under, right - 1.0, under, LEAST_LINE_MM))
        place += count
    for column, left, right in zip(columns, edges, edges[1:], strict=False):
        for number, text in enumerate(column.heading):
            below = lines - len(column.heading) + number + grouped
            baseline = y + _HEAD_LINE_MM * below + 3.2
            if text:
                made.append(_set(text, left, right, baseline, SMALL_PT, False))
    return made


def _body(columns: Sequence[GridColumn], edges: Sequence[float], top: float, rows: Sequence[Row],
          row_mm: float, size_pt: float) -> list[Element]:  # fmt: skip
    bottom = top + row_mm * len(rows)
    made: list[Element] = [Rect(edges[0], top, edges[-1] - edges[0], bottom - top, 0.35)]
    for number in range(1, len(rows)):
        y = top + row_mm * number
        made.append(Line(edges[0], y, edges[-1], y, LEAST_LINE_MM))
    for place in range(1, len(columns)):
        changed = columns[place].group != columns[place - 1].group
        x = edges[place]
        made.append(Line(x, top, x, bottom, 0.35 if changed else LEAST_LINE_MM))
    for number, row in enumerate(rows):
        baseline = top + row_mm * (number + 0.5) + 0.125 * size_pt
        for column, text, left, right in zip(columns, row, edges, edges[1:], strict=False):
            if text:
                made.append(_set(text, left, right, baseline, size_pt, column.bold))
    return made


def _set(text: Content, left: float, right: float, baseline: float, size_pt: float,
         bold: bool) -> Text:  # fmt: skip
    return Text((left + right) / 2, baseline, text, size_pt, bold=bold, align="centre",
                room_mm=right - left - 2 * _HEAD_INSIDE_MM)  # fmt: skip
