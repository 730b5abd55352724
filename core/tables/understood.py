"""What a table was understood to say, as records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Any

from bobweight.core.frozen import frozen
from bobweight.core.problems import Problem
from bobweight.core.record import Record
from bobweight.core.tables.headings import QUANTITY_OF

KINDS = ("readings", "target", "vacuum", "tray")


@frozen
class Choice:
    """What was said of a column by hand: ``meaning``, and where it was said unit and frame."""

    meaning: str
    unit: str | None = None
    frame: str | None = None


@frozen
class UnderstoodColumn:
    """What a column is understood to be.

    Parameters
    ----------
    index : int
        From 1.
    heading : str
    meaning : str
        The field it goes to; ``rising_deg`` and ``falling_deg`` for an angle of that direction,
        ``band_deg`` for least and most in one cell, ``row_number``, ``ignored``, ``unknown``.
    frame : str or None
        ``distributor``, ``crank`` or ``crank-static`` for speeds and advances.
    unit : str or None
        Of the numbers that carry none themselves.
    sure : bool
        False where this is only offered.
    reason : str
        A stable key why: ``named``, ``chosen``, ``cells``, ``words``, ``counting``, ``empty``,
        ``not-named``, ``swapped``, ``unit-not-told``, ``unknown-unit``, ``frame-not-told``,
        ``static-not-told``, ``table-static-needed``, ``twice``, ``hidden``,
        ``not-depression``.
    """

    index: int
    heading: str
    meaning: str
    frame: str | None = None
    unit: str | None = None
    sure: bool = True
    reason: str = "named"

    @property
    def matters(self) -> bool:
        """Whether numbers of it are taken."""
        return self.meaning in QUANTITY_OF


@frozen
class UnderstoodRow:
    """One line of the table: what would be stored, or why not.

    ``stored`` are the records; ``settings`` are values of the target itself (a speed below which
    there is no advance); ``advice`` is not grave.
    """

    line: int
    stored: tuple[Record, ...] = ()
    settings: Mapping[str, float] = field(default_factory=dict)
    problem: Problem | None = None
    advice: tuple[Problem, ...] = ()


@frozen
class Understanding:
    """A table, understood.

    Parameters
    ----------
    kind : str
        ``readings``, ``target`` (check points), ``vacuum`` (vacuum check points) or ``tray``.
    columns : tuple of Column
    rows : tuple of Row
        In the order of the lines.
    passed_over : tuple of int
        Lines that are no rows: titles, headings, comments.
    problems : tuple of Problem
        What is wrong with the table as a whole: ``column-needed``, and
        ``column-`` with a reason for each that is not sure.
    encoding : str
        Of the file, where it was not UTF-8; empty otherwise.
    cells : tuple of tuple of str
        The first filled cells of each column, to show.
    """

    kind: str
    columns: tuple[UnderstoodColumn, ...]
    rows: tuple[UnderstoodRow, ...]
    passed_over: tuple[int, ...] = ()
    problems: tuple[Problem, ...] = ()
    encoding: str = ""
    cells: tuple[tuple[str, ...], ...] = ()

    def examples(self, index: int, count: int) -> tuple[str, ...]:
        """The first filled cells of a column (from 1)."""
        return self.cells[index - 1][:count] if index <= len(self.cells) else ()

    @property
    def sure(self) -> bool:
        """Whether every column that matters is sure, and none that is needed lacks."""
        return not self.problems

    @property
    def stored(self) -> tuple[Any, ...]:
        """All records, in order."""
        return tuple(record for row in self.rows for record in row.stored)

    @property
    def settings(self) -> dict[str, float]:
        """Values of the target itself; of several the last."""
        return {key: value for row in self.rows for key, value in row.settings.items()}

    @property
    def refused(self) -> tuple[UnderstoodRow, ...]:
        """The rows that are not taken."""
        return tuple(row for row in self.rows if row.problem)
