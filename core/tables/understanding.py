"""What a table is understood to say, before anything is taken from it.

Nothing is guessed into a quantity and taken: a column that no heading, unit or choice names is at
most *offered* (``sure`` is False), and whoever takes the table has to agree.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from bobweight.core.problems import BobweightError, Problem
from bobweight.core.tables import own
from bobweight.core.tables.columns import Layout
from bobweight.core.tables.frames import Place
from bobweight.core.tables.grid import Grid, grid_of_text
from bobweight.core.tables.heading_lines import find_layout
from bobweight.core.tables.headings import QUANTITY_OF
from bobweight.core.tables.rows import rows_of
from bobweight.core.tables.source import Source
from bobweight.core.tables.understood import Choice, Understanding, UnderstoodColumn

_EXAMPLES = 3


def understand_source(
    source: Source, kind: str, place: Place | None = None,
    chosen: Mapping[int, Choice] | None = None,
) -> Understanding:  # fmt: skip
    """What the table in a file says; as :func:`understand_text`."""
    if source.grid is not None:
        return understand(source.grid, kind, place, chosen)
    found = understand_text(source.text, kind, place, chosen)
    return replace(found, encoding=source.encoding)


def understand_text(
    text: str, kind: str, place: Place | None = None, chosen: Mapping[int, Choice] | None = None
) -> Understanding:
    """What the table in a text says; as :func:`understand`. A table that the program wrote itself
    is read to the letter.

    Raises
    ------
    BobweightError
        As :func:`understand` and :func:`core.tables.grid.grid_of_text`.
    """
    if not chosen and own.is_own(text, kind):
        return own.understand_own(text, kind, place or Place())
    return understand(grid_of_text(text), kind, place, chosen)


def understand(
    grid: Grid, kind: str, place: Place | None = None, chosen: Mapping[int, Choice] | None = None
) -> Understanding:
    """What a table says.

    Parameters
    ----------
    grid : Grid
    kind : str
        One of :data:`KINDS`. A ``target`` whose table names a depression and no speed is
        understood as ``vacuum``.
    place : Place, optional
        Where it goes; distributor figures if not given.
    chosen : mapping of int to Choice, optional
        What is known of columns (from 1); of the others, headings and cells tell.

    Raises
    ------
    BobweightError
        ``no-such-column`` of a choice; ``unknown-unit``.
    """
    place, chosen = place or Place(), dict(chosen or {})
    for index, choice in chosen.items():
        if not 1 <= index <= grid.width:
            raise BobweightError("no-such-column", (), value=index, limit=grid.width)
        if choice.unit and choice.meaning in QUANTITY_OF:
            QUANTITY_OF[choice.meaning].unit(choice.unit)
    layout = find_layout(grid, kind)
    if kind == "target" and _is_vacuum(layout, chosen):
        return understand(grid, "vacuum", place, chosen)
    columns = layout.columns(place, chosen)
    rows = rows_of(layout, columns, place)
    examples = tuple(cells[:_EXAMPLES] for cells in layout.cells)
    return Understanding(kind, columns, rows, layout.passed_over, _problems(kind, columns),
                         cells=examples)  # fmt: skip


def _is_vacuum(layout: Layout, chosen: Mapping[int, Choice]) -> bool:
    meanings = {h.meaning for h in layout.told} | {c.meaning for c in chosen.values()}
    return "depression_kpa" in meanings and "speed_rpm" not in meanings


def _problems(kind: str, columns: tuple[UnderstoodColumn, ...]) -> tuple[Problem, ...]:
    found = [
        Problem("column-needed", (), {"field": needed[0]})
        for needed in _NEEDED[kind]
        if not any(column.meaning in needed for column in columns)
    ]
    found += [doubt(c) for c in columns if c.matters and not c.sure]
    return tuple(found)


def doubt(column: UnderstoodColumn) -> Problem:
    """What is not sure of a column: a code for each reason."""
    facts = {"column": column.index, "heading": column.heading, "field": column.meaning,
             "reason": column.reason}  # fmt: skip
    return Problem(f"column-{column.reason}", (), facts)


_NEEDED: dict[str, tuple[tuple[str, ...], ...]] = {
    "readings": (("speed_rpm",), ("angle_deg", "rising_deg", "falling_deg")),
    "target": (("speed_rpm",), ("least_deg", "most_deg", "band_deg")),
    "vacuum": (("depression_kpa",), ("least_deg", "most_deg", "band_deg")),
    "tray": (("rate_n_per_mm",),),
}
