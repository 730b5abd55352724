"""Tables of readings and of check points, pasted from a spreadsheet or kept as CSV.

What comes in may be separated by tabs, semicolons, commas or spaces, with decimal points or
commas, with or without a heading that names columns and units. Wrong lines are told by number
and the good ones kept. What goes out is CSV (RFC 4180) headed by the field names, decimal point,
stored units, and comes in again identically.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from bobweight.core.docket.cells import (
    RANGE,
    Columns,
    columns_of_heading,
    decimal_mark,
    direction,
    number_of,
    split,
    yes_or_no,
)
from bobweight.core.docket.readings import Reading
from bobweight.core.docket.target import CheckPoint, VacuumPoint
from bobweight.core.problems import BobweightError, Problem
from bobweight.core.record import Record, parameters
from bobweight.core.units import ANGLE, DEPRESSION, SPEED, Quantity

TEXT_LIMIT = 2_000_000
_READING_U = {"u_" + key: key for key in ("speed_rpm", "angle_deg", "depression_kpa")}


@dataclass(frozen=True)
class Table:
    """What was found in a pasted text.

    Parameters
    ----------
    rows : tuple of Reading, CheckPoint or VacuumPoint
        The good lines, in stored units.
    lines : tuple of int
        The line each row stands in, from 1.
    problems : tuple of Problem
        Lines that were not taken, and (not grave) advice; ``facts["line"]`` is the line.
    speed_frame, angle_frame : str or None
        ``distributor``, ``crank`` or ``crank-static`` if the heading says so.
    """

    rows: tuple[Any, ...]
    lines: tuple[int, ...]
    problems: tuple[Problem, ...]
    speed_frame: str | None = None
    angle_frame: str | None = None


def parse_readings(text: str, *, depression_unit: str = "kPa") -> Table:
    """The readings in a pasted text: speed, angle, then in any order direction, depression, note.

    Parameters
    ----------
    text : str
    depression_unit : str
        Of depressions that carry no unit, neither in the cell nor in the heading.
    """
    return _parse(text, Reading, _reading, {"depression": depression_unit})


def parse_check_points(text: str) -> Table:
    """The centrifugal check points in a pasted text: speed, then least and most or both in one
    cell (``12.5–14``, ``13 ± 1``). One angle alone is a band without width, with advice."""
    return _parse(text, CheckPoint, _check_point, {})


def parse_vacuum_points(text: str, *, depression_unit: str = "kPa") -> Table:
    """The vacuum check points in a pasted text: depression, then least and most as for
    :func:`parse_check_points`; ``depression_unit`` as for :func:`parse_readings`."""
    return _parse(text, VacuumPoint, _vacuum_point, {"depression": depression_unit})


class _Line:
    """One line of a table while it is read."""

    def __init__(
        self, number: int, cells: list[str], columns: Columns, separator: str, mark: str | None
    ) -> None:
        self.number, self.cells, self.columns = number, cells, columns
        self.separator, self.mark = separator, mark
        self.taken = set(columns.places.values())
        self.advice: list[Problem] = []

    def wrong(self, code: str, **facts: object) -> BobweightError:
        return BobweightError(code, (), line=self.number, **facts)

    def number_in(self, cell: str, quantity: Quantity) -> float:
        try:
            return number_of(cell, quantity, self.columns.units.get(quantity.key), self.mark)
        except BobweightError as error:
            raise self.wrong(error.problem.code, **error.problem.facts) from None

    def at(self, index: int | None) -> str:
        return self.cells[index] if index is not None and index < len(self.cells) else ""

    def named(self, name: str) -> str:
        return self.at(self.columns.places.get(name))

    def needed(self, name: str, field: str) -> str:
        """The cell under a heading, else the first that has no heading."""
        index = self.columns.places.get(name)
        if index is None:
            free = (i for i in range(len(self.cells)) if i not in self.taken)
            index = next(free, None)
        cell = self.at(index)
        if not cell:
            raise self.wrong("missing", field=field)
        self.taken.add(index)
        return cell

    def loose(self) -> list[str]:
        """Filled cells that no heading names and nobody has taken."""
        return [cell for i, cell in enumerate(self.cells) if cell and i not in self.taken]


def _parse(
    text: str, kind: type[Record], make: Callable[[_Line], Record], units: dict[str, str]
) -> Table:
    if len(text) > TEXT_LIMIT:
        problem = Problem("table-too-large", (), {"value": len(text), "limit": TEXT_LIMIT})
        return Table((), (), (problem,))
    first_key = next(iter(parameters(kind)))
    lines, separator = split(text, (first_key,))
    mark = decimal_mark((cell for _, cells in lines for cell in cells), separator)
    if lines and lines[0][1][0] == first_key:
        return _parse_own(lines, kind, mark)
    columns = Columns(units=dict(units))
    rows: list[tuple[int, Record]] = []
    problems: list[Problem] = []
    for number, cells in lines:
        cells = [cell.strip() for cell in cells]
        if not rows and columns_of_heading(cells, columns, separator):
            continue
        line = _Line(number, cells, columns, separator, mark)
        try:
            rows.append((number, _ordered(line, _checked(line, make(line)))))
        except BobweightError as error:
            problems.append(error.problem)
        else:
            problems.extend(line.advice)
    return _table(rows, problems, columns)


def _table(
    rows: list[tuple[int, Record]], problems: list[Problem], columns: Columns | None = None
) -> Table:
    return Table(
        tuple(row for _, row in rows),
        tuple(number for number, _ in rows),
        tuple(problems),
        columns.frames.get("speed") if columns else None,
        columns.frames.get("angle") if columns else None,
    )


def _reading(line: _Line) -> Reading:
    speed = line.number_in(line.needed("speed", "speed_rpm"), SPEED)
    angle = line.number_in(line.needed("angle", "angle_deg"), ANGLE)
    way, depression, notes = line.named("direction"), line.named("depression"), [line.named("note")]
    if way and not direction(way):
        known = "rising, falling, unknown"
        raise line.wrong("not-an-option", value=way[:40], known=known)
    for cell in line.loose():
        if not way and direction(cell):
            way = cell
        elif not depression and "depression" not in line.columns.places and _is_number(line, cell):
            depression = cell
        else:
            notes.append(cell)
    _refuse_broken_decimal(line, depression)
    return Reading(
        speed_rpm=speed,
        angle_deg=angle,
        direction=direction(way) or "unknown",
        depression_kpa=line.number_in(depression, DEPRESSION) if depression else None,
        note=" ".join(note for note in notes if note),
    )


def _refuse_broken_decimal(line: _Line, depression: str) -> None:
    """``1200,12,5`` may be 12.5° or a depression of 5: only a heading can tell."""
    if line.columns.places or line.separator != "," or len(line.cells) != 3:
        return
    if re.fullmatch(r"\d", depression) and re.fullmatch(r"-?\d+", line.cells[1]):
        text = ",".join(line.cells)
        raise line.wrong("comma-ambiguous", value=text, whole=depression,
                         broken=f"{line.cells[1]}.{depression}")  # fmt: skip


def _is_number(line: _Line, cell: str) -> bool:
    try:
        line.number_in(cell, DEPRESSION)
    except BobweightError:
        return False
    return True


def _check_point(line: _Line) -> CheckPoint:
    speed = line.number_in(line.needed("speed", "speed_rpm"), SPEED)
    least, most = _band(line)
    return CheckPoint(speed_rpm=speed, least_deg=least, most_deg=most)


def _vacuum_point(line: _Line) -> VacuumPoint:
    depression = line.number_in(line.needed("depression", "depression_kpa"), DEPRESSION)
    least, most = _band(line)
    if most < least <= 0:  # retard written as −3 to −5
        least, most = most, least
    return VacuumPoint(depression_kpa=depression, least_deg=least, most_deg=most)


def _band(line: _Line) -> tuple[float, float]:
    """The two angles of a line, as they stand."""
    names = [name for name in ("least", "most") if name in line.columns.places] or ["angle"]
    cells = [line.named(name) for name in names if line.named(name)] or line.loose()
    if not cells:
        raise line.wrong("missing", field="least_deg")
    match = RANGE.fullmatch(cells[0])
    used = 1 if match or len(cells) == 1 else 2
    if any(re.search(r"\d", cell) for cell in cells[used:]):
        raise line.wrong("too-many-cells", value=" ".join(cells[used:])[:40])
    if match:
        first, sign, second = match.groups()
        least, most = line.number_in(first, ANGLE), line.number_in(second, ANGLE)
        return (least - abs(most), least + abs(most)) if sign[0] in "±+" else (least, most)
    if used == 2:
        return line.number_in(cells[0], ANGLE), line.number_in(cells[1], ANGLE)
    angle = line.number_in(cells[0], ANGLE)
    facts = {"line": line.number, "value": angle, "unit": ANGLE.stored.symbol}
    line.advice.append(Problem("no-band", (), facts, grave=False))
    return angle, angle


def _checked(line: _Line, record: Record) -> Record:
    for key, parameter in parameters(record).items():
        problem = parameter.check(getattr(record, key))
        if problem:
            facts = {**problem.facts, "line": line.number, "field": key}
            raise BobweightError(problem.code, (), **facts)
    return record


def _ordered(line: _Line, record: Record) -> Record:
    if getattr(record, "least_deg", None) is not None and record.least_deg > record.most_deg:
        facts = {"low": record.least_deg, "high": record.most_deg, "unit": ANGLE.stored.symbol}
        raise line.wrong("limits-crossed", **facts)
    return record


def readings_csv(readings: Iterable[Reading]) -> str:
    """The readings as CSV text; :func:`parse_readings` gives them back identically."""
    return _csv(Reading, readings, tuple(_READING_U))


def check_points_csv(points: Iterable[CheckPoint]) -> str:
    """The check points as CSV text; :func:`parse_check_points` gives them back identically."""
    return _csv(CheckPoint, points)


def vacuum_points_csv(points: Iterable[VacuumPoint]) -> str:
    """The vacuum check points as CSV text; :func:`parse_vacuum_points` gives them back."""
    return _csv(VacuumPoint, points)


def _csv(kind: type[Record], rows: Iterable[Record], u_columns: tuple[str, ...] = ()) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out)  # lines end with CR LF, as RFC 4180 says
    keys = tuple(parameters(kind))
    writer.writerow((*keys, *u_columns))
    for row in rows:
        stated = [row.u.get(_READING_U[name]) for name in u_columns]
        writer.writerow([_cell(getattr(row, key)) for key in keys] + [_cell(u) for u in stated])
    return out.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else repr(float(value))


def _parse_own(lines: list[tuple[int, list[str]]], kind: type[Record], mark: str | None) -> Table:
    """A table headed by field names: cells are taken to the letter."""
    known = parameters(kind)
    heading = [name.strip() for name in lines[0][1]]
    rows: list[tuple[int, Record]] = []
    problems: list[Problem] = []
    for name in heading:
        if name and name not in known and name not in _READING_U:
            problems.append(
                Problem("unknown-column", (), {"line": lines[0][0], "value": name}, grave=False)
            )
    for number, cells in lines[1:]:
        line = _Line(number, cells, Columns(), ",", mark)
        try:
            rows.append(
                (
                    number,
                    _checked(line, _own_row(line, dict(zip(heading, cells, strict=False)), kind)),
                )
            )
        except BobweightError as error:
            problems.append(error.problem)
    return _table(rows, problems)


def _own_row(line: _Line, cells: dict[str, str], kind: type[Record]) -> Record:
    values: dict[str, Any] = {}
    for key, parameter in parameters(kind).items():
        cell = cells.get(key, "")
        if parameter.kind == "number":
            values[key] = line.number_in(cell, parameter.quantity) if cell.strip() else None
        elif parameter.kind == "flag":
            values[key] = yes_or_no(cell)
        elif cell or parameter.kind == "text":
            values[key] = cell
    u = {
        key: line.number_in(cells[name], parameters(kind)[key].quantity)
        for name, key in _READING_U.items()
        if cells.get(name, "").strip()
    }
    for key, value in u.items():
        if not value > 0:
            raise line.wrong("uncertainty-not-positive", value=value, field=key)
    return kind(**values, u=u)
