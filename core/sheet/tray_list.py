"""The tray of springs on paper: the list, then label strips to cut out and put in the bags."""

from __future__ import annotations

from bobweight.core.design.tray import OWN_FIGURES, Tray, TraySpring
from bobweight.core.docket.spring_source import KNOWN_FROM
from bobweight.core.figure.description import Content, word
from bobweight.core.figure.numbers import PLUS_MINUS, figure, short
from bobweight.core.record import parameters
from bobweight.core.sheet.description import (
    Description,
    Element,
    Line,
    Ruler,
    Text,
    plain,
)
from bobweight.core.sheet.layout import (
    HEADING_MM,
    ROW_MM,
    SMALL_PT,
    Cell,
    SheetColumn,
    column_widths,
    header_mm,
    table,
)
from bobweight.core.sheet.pages import Pages

STRIP_MM = (58.0, 18.0)
"""Width and height of a label: it fits a small bag, and three stand side by side."""
_STRIPS_ACROSS = 3
_DASH = (1.2, 1.0)
_LABEL_PT = 13.0


def tray_list(tray: Tray, paper: str, ruler: Ruler) -> Description:
    """The list of a tray with its label strips, on as many pages as they need.

    Parameters
    ----------
    paper : str
        Key of :data:`core.sheet.description.PAPERS`.
    """
    made = Pages(paper, ruler, word("tray"))
    _list(made, tray)
    _strips(made, tray)
    return made.description()


def _list(made: Pages, tray: Tray) -> None:
    told = word("tray-counts", kinds=len(tray.springs), springs=sum(s.count for s in tray.springs))
    made.add([Text(made.left, made.y + 2.0, told, SMALL_PT, room_mm=made.room)])
    made.y += 6.0
    columns = _columns()
    rows = [_row(spring, number) for number, spring in enumerate(tray.springs, start=1)]
    if not rows:
        return
    widths = column_widths(made.room, made.ruler, columns, rows)
    while rows:
        fit = int((made.left_mm - header_mm(columns)) // ROW_MM)
        if fit < 1:
            made.turn()
            continue
        part, rows = rows[:fit], rows[fit:]
        made.add(table(made.left, made.y, widths, columns, part))
        made.y += header_mm(columns) + ROW_MM * len(part) + 6.0
        if rows:
            made.turn()


def _columns() -> tuple[SheetColumn, ...]:
    plus_minus = word("plus-minus")
    return (
        SheetColumn((word("number-short"),)),
        SheetColumn((word("tray-label"),), "left"),
        SheetColumn((word("tray-count"),)),
        SheetColumn((word("rate"), "N/mm")),
        SheetColumn((plus_minus, "N/mm")),
        SheetColumn((word("tension"), "N")),
        SheetColumn((plus_minus, "N")),
        SheetColumn((word("free-length"), "mm")),
        SheetColumn((plus_minus, "mm")),
        SheetColumn((word("known-from"),), "left"),
        SheetColumn((word("tray-note"),), "left"),
    )


def _row(spring: TraySpring, number: int) -> tuple[Cell, ...]:
    figures: list[Cell] = []
    for key in OWN_FIGURES:
        value, u = _rounded(getattr(spring, key), spring.u.get(key))
        figures += [Cell(value or "\N{EN DASH}"), Cell(u)]
    notes = [plain(text) for text in (spring.note, spring.source.note) if plain(text)]
    return (
        Cell(str(number)), Cell(plain(spring.label), bold=True), Cell(str(spring.count)),
        *figures, Cell(_known(spring)), Cell("; ".join(notes)),
    )  # fmt: skip


def _known(spring: TraySpring) -> Content:
    options = parameters(spring.source)["known_from"].options
    return word("label", text=options.get(spring.source.known_from, KNOWN_FROM["typed"]))


def _rounded(value: float | None, u: float | None) -> tuple[str, str]:
    """A number and its uncertainty with two digits of the latter, and the number to match."""
    if value is None:
        return "", ""
    if not u:
        return short(value), ""
    decimals = 0
    while decimals < 5 and u * 10**decimals < 9.95:
        decimals += 1
    return figure(value, decimals), figure(u, decimals)


def _strips(made: Pages, tray: Tray) -> None:
    """One label for each entry, with dashed lines to cut along."""
    springs = list(enumerate(tray.springs, start=1))
    if not springs:
        return
    wide, tall = STRIP_MM
    made.need(HEADING_MM + 4.0 + tall)
    made.heading(word("label-strips"), word("cut-here"))
    made.y += 2.0
    while springs:
        rows = int(made.left_mm // tall)
        if rows < 1:
            made.turn()
            continue
        part, springs = springs[: rows * _STRIPS_ACROSS], springs[rows * _STRIPS_ACROSS :]
        _cut_lines(made, len(part))
        for place, (number, spring) in enumerate(part):
            x = made.left + wide * (place % _STRIPS_ACROSS)
            made.add(_strip(x, made.y + tall * (place // _STRIPS_ACROSS), spring, number))
        made.y += tall * -(-len(part) // _STRIPS_ACROSS)
        if springs:
            made.turn()


def _cut_lines(made: Pages, count: int) -> None:
    """Dashed lines round so many labels; neighbours share one."""
    wide, tall = STRIP_MM
    rows = -(-count // _STRIPS_ACROSS)
    for row in range(rows + 1):
        above = min(_STRIPS_ACROSS, count - (row - 1) * _STRIPS_ACROSS) if row else 0
        below = min(_STRIPS_ACROSS, count - row * _STRIPS_ACROSS) if row < rows else 0
        y, right = made.y + tall * row, made.left + wide * max(above, below)
        made.add([Line(made.left, y, right, y, dash=_DASH)])
    for column in range(_STRIPS_ACROSS + 1):
        reach = sum(1 for row in range(rows) if _in_row(count, row) >= max(column, 1))
        if reach:
            x = made.left + wide * column
            made.add([Line(x, made.y, x, made.y + tall * reach, dash=_DASH)])


def _in_row(count: int, row: int) -> int:
    return min(_STRIPS_ACROSS, count - row * _STRIPS_ACROSS)


def _strip(x: float, y: float, spring: TraySpring, number: int) -> list[Element]:
    inside, room = x + 2.5, STRIP_MM[0] - 5.0
    name: Content = plain(spring.label) or word("spring-number", number=number)
    count = word("times", count=spring.count)
    made: list[Element] = [
        Text(inside, y + 6.0, name, _LABEL_PT, bold=True, room_mm=room - 10.0),
        Text(inside + room, y + 6.0, count, 9.0, align="right", room_mm=9.5),
    ]
    rate, u_rate = _rounded(spring.rate_n_per_mm, spring.u.get("rate_n_per_mm"))
    if rate:
        text = f"{rate} {PLUS_MINUS} {u_rate} N/mm" if u_rate else f"{rate} N/mm"
        made.append(Text(inside, y + 11.0, text, 10.0, room_mm=room))
    tension, _ = _rounded(spring.initial_tension_n, spring.u.get("initial_tension_n"))
    length, _ = _rounded(spring.free_length_mm, spring.u.get("free_length_mm"))
    if length:
        told = word("strip-line" if tension else "strip-length", tension=tension, length=length)
        made.append(Text(inside, y + 15.5, told, 8.0, room_mm=room))
    return made
