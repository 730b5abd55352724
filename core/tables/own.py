"""The program's own tables: CSV (RFC 4180) headed by the field names, in stored units with a
decimal point, read again identically."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from bobweight.core.design.tray import OWN_FIGURES, Tray
from bobweight.core.docket.readings import Reading
from bobweight.core.docket.target import FRAMES, CheckPoint, VacuumPoint
from bobweight.core.problems import BobweightError, Problem
from bobweight.core.record import Record, parameters
from bobweight.core.tables.cells import decimal_mark, yes_or_no
from bobweight.core.tables.frames import Place
from bobweight.core.tables.harmless import harmful_again, harmless
from bobweight.core.tables.headings import IGNORED, QUANTITY_OF
from bobweight.core.tables.rows import RowInHand, by_meaning, checked
from bobweight.core.tables.understood import Understanding, UnderstoodColumn, UnderstoodRow
from bobweight.core.units import ANGLE, SPEED

_KINDS: dict[str, type[Record]] = {
    "readings": Reading,
    "target": CheckPoint,
    "vacuum": VacuumPoint,
}
_FRAME_KEY = {"readings": "read_with", "target": "frame", "vacuum": "frame"}
_SHOWN_BY = {"lamp": ("crank", "crank-static"), "rig": ("distributor", "distributor")}
Rows = list[list[Any]]


def _keys(kind: type[Record]) -> list[str]:
    return [key for key, p in parameters(kind).items() if p.kind not in ("one", "many")]


def readings_rows(readings: Iterable[Reading], read_with: str = "") -> Rows:
    """The readings as a heading and rows; ``read_with``: lamp or rig, whose figures they are."""
    u_keys = [key for key, p in parameters(Reading).items() if p.uncertain]
    rows: Rows = [[*_keys(Reading), *(f"u_{key}" for key in u_keys), "read_with"]]
    for reading in readings:
        plain = [_cell(getattr(reading, key)) for key in _keys(Reading)]
        rows.append([*plain, *(_cell(reading.u.get(key)) for key in u_keys), read_with])
    return rows


def check_point_rows(points: Iterable[CheckPoint], frame: str = "") -> Rows:
    """The check points as a heading and rows, with the frame of their figures."""
    return _point_rows(CheckPoint, points, frame)


def vacuum_point_rows(points: Iterable[VacuumPoint], frame: str = "") -> Rows:
    """The vacuum check points as a heading and rows, with the frame of their figures."""
    return _point_rows(VacuumPoint, points, frame)


def _point_rows(kind: type[Record], points: Iterable[Record], frame: str) -> Rows:
    rows: Rows = [[*_keys(kind), "frame"]]
    return rows + [[*(_cell(getattr(p, key)) for key in _keys(kind)), frame] for p in points]


def tray_rows(tray: Tray) -> Rows:
    """The tray as a heading with units and rows, its uncertainties beside the figures."""
    heading = ["label", "count"]
    for name, key in zip(("rate", "initial tension", "free length"), OWN_FIGURES, strict=True):
        symbol = QUANTITY_OF[key].stored.symbol
        heading += [f"{name} [{symbol}]", f"u {name} [{symbol}]"]
    rows: Rows = [[*heading, "known from", "where from", "note"]]
    for spring in tray.springs:
        known = [_cell(v) for key in OWN_FIGURES for v in (getattr(spring, key), spring.u.get(key))]
        rows.append([spring.label, spring.count, *known, spring.source.known_from,
                     spring.source.note, spring.note])  # fmt: skip
    return rows


def csv_text(rows: Rows) -> str:
    """Rows as CSV: a decimal point, lines ended with CR LF, no cell that a spreadsheet reckons."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    for row in rows:
        writer.writerow([harmless(v) if isinstance(v, str) else
                         repr(v) if isinstance(v, float) else v for v in row])  # fmt: skip
    return out.getvalue()


def _cell(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else float(value)


# In again -----------------------------------------------------------------------------------------


def is_own(text: str, kind: str) -> bool:
    """Whether a text is a table of readings or check points that the program wrote."""
    return _own_kind(text, kind) is not None


def _own_kind(text: str, kind: str) -> str | None:
    kinds = ("target", "vacuum") if kind == "target" else (kind,)
    for each in kinds:
        keys = _keys(_KINDS[each])[:2] if each in _KINDS else []
        if keys and re.match(rf"\ufeff?{keys[0]}[,;\t]{keys[1]}\b", text):
            return each
    return None


def understand_own(text: str, kind: str, place: Place) -> Understanding:
    """A table that the program wrote, cells taken to the letter."""
    kind = _own_kind(text, kind) or kind
    record = _KINDS[kind]
    text = text.removeprefix("\ufeff")
    separator = text[len(_keys(record)[0])]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    heading = [name.strip() for name in next(reader)]
    numbered, number = [], reader.line_num + 1
    for cells in reader:
        if cells:
            numbered.append((number, [harmful_again(cell) for cell in cells]))
        number = reader.line_num + 1
    mark = decimal_mark((cell for _, cells in numbered for cell in cells), separator)
    columns = tuple(_column(i, name, kind, place) for i, name in enumerate(heading))
    rows = [_own_row(n, cells, heading, columns, record, place, mark) for n, cells in numbered]
    first = [cells for _, cells in numbered[:50]]
    examples = tuple(
        tuple(c for cells in first for c in cells[i : i + 1] if c)[:3] for i in range(len(heading))
    )
    return Understanding(kind, columns, tuple(rows), (1,), cells=examples)


def _column(index: int, name: str, kind: str, place: Place) -> UnderstoodColumn:
    known = name in (*_keys(_KINDS[kind]), _FRAME_KEY[kind]) or name in QUANTITY_OF
    if not known:
        return UnderstoodColumn(index + 1, name, IGNORED)
    quantity = QUANTITY_OF.get(name)
    frames = {SPEED.key: place.speed_frame, ANGLE.key: place.angle_frame}
    return UnderstoodColumn(index + 1, name, name, frames.get(quantity.key) if quantity else None,
                  quantity.stored.symbol if quantity else None)  # fmt: skip


def _framed(
    columns: tuple[UnderstoodColumn, ...], told: str, place: Place
) -> tuple[UnderstoodColumn, ...]:
    """The columns in the frame that a row's last cell tells."""
    if told in _SHOWN_BY:
        speed, angle = _SHOWN_BY[told]
    elif told in FRAMES:
        speed, angle = ("distributor" if told == "distributor" else "crank"), told
    else:
        return columns
    if (speed, angle) == (place.speed_frame, place.angle_frame):
        return columns
    frames = {SPEED.key: speed, ANGLE.key: angle}
    return tuple(
        replace(c, frame=frames.get(QUANTITY_OF[c.meaning].key)) if c.frame else c for c in columns
    )


def _own_row(
    number: int, cells: list[str], heading: list[str], columns: tuple[UnderstoodColumn, ...],
    record: type[Record], place: Place, mark: str | None,
) -> UnderstoodRow:  # fmt: skip
    named = dict(zip(heading, cells, strict=False))
    told = named.get("read_with") or named.get("frame") or ""
    framed = _framed(columns, told, place)
    line = RowInHand(number, tuple(cells), framed, place, mark, by_meaning(framed))
    values: dict[str, Any] = {}
    u: dict[str, float] = {}
    try:
        for column in line.columns:
            cell = named.get(column.heading, "")
            key = column.meaning
            if key.startswith("u_"):
                if cell.strip():
                    u[key.removeprefix("u_")] = line.uncertainty_in(line.at(column), column)
            elif key in QUANTITY_OF:
                values[key] = line.number_in(cell, column) if cell.strip() else None
            elif key in parameters(record):
                flag = parameters(record)[key].kind == "flag"
                if flag or cell or parameters(record)[key].kind == "text":
                    values[key] = bool(yes_or_no(cell)) if flag else cell
        return UnderstoodRow(number, (checked(line, record(**values, u=u)),))
    except BobweightError as error:
        facts = {**error.problem.facts, "line": number}
        return UnderstoodRow(number, problem=Problem(error.problem.code, (), facts))
