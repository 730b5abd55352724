"""What each row of a table would store, or why nothing."""

from __future__ import annotations

import re
from bisect import bisect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from bobweight.core.design.tray import OWN_FIGURES, TraySpring
from bobweight.core.docket.readings import Reading
from bobweight.core.docket.spring_source import KNOWN_FROM, SpringSource
from bobweight.core.docket.target import CheckPoint, VacuumPoint
from bobweight.core.problems import BobweightError, Problem
from bobweight.core.record import Record, parameters
from bobweight.core.tables.cells import (
    BLANK,
    NONE,
    angle_text,
    band_of,
    cited,
    direction,
    number_of,
    refuse_pair,
    yes_or_no,
)
from bobweight.core.tables.columns import Layout, is_number
from bobweight.core.tables.frames import Place
from bobweight.core.tables.headings import QUANTITY_OF, UNKNOWN, heading_of
from bobweight.core.tables.understood import UnderstoodColumn, UnderstoodRow
from bobweight.core.units import ANGLE, SPEED

_SUMMARY = re.compile(
    r"(totals?|sum|mean|averages?|avg\.?|min(imum)?|max(imum)?|median|std\.?( ?dev\.?)?|count|σ|Σ"
    r"|range|result)\b[ :=]*", re.I,
)  # fmt: skip
_SPEEDS_AGREE = 0.05  # two tachometers of a bench do (common practice)
_BELOW = (
    r"(?:<|≤|(?:below|under|up to|before|until|unter|bis)\b)\s*:?\s*"
    r"([\d.,' ]*\d)\s*([a-z/]*(?:min|sec|s)?)\.?"
)
_NO_ADVANCE = re.compile(
    rf"(?:no (?:centrifugal )?advance|keine verstellung) {_BELOW}"
    rf"|^{_BELOW}\s+(?:{NONE.pattern}|0°?)$",
    re.I,
)


@dataclass
class RowInHand:
    """One row while it is read; ``under`` is the direction that a line above it names, ``beside``
    are columns of the same speed in another frame, ``u`` what cells say of their own uncertainty,
    where the rows have any."""

    number: int
    cells: tuple[str, ...]
    columns: tuple[UnderstoodColumn, ...]
    place: Place
    mark: str | None
    by_meaning: Mapping[str, list[UnderstoodColumn]]
    advice: list[Problem] = field(default_factory=list)
    under: str = ""
    beside: Sequence[UnderstoodColumn] = ()
    u: dict[str, float] | None = None

    def wrong(self, code: str, **facts: object) -> BobweightError:
        """The error of this row."""
        return BobweightError(code, (), line=self.number, **facts)

    def at(self, column: UnderstoodColumn) -> str:
        """The text of a cell; empty where nothing was read."""
        index = column.index - 1
        cell = self.cells[index] if index < len(self.cells) else ""
        return "" if BLANK.fullmatch(cell) else cell

    def of(self, meaning: str) -> list[UnderstoodColumn]:
        """The columns of a meaning."""
        return self.by_meaning.get(meaning, [])

    def text(self, meaning: str) -> str:
        """The cells of a meaning, joined."""
        return " ".join(cell for c in self.of(meaning) if (cell := self.at(c)))

    def number_in(self, cell: str, column: UnderstoodColumn) -> float:
        """A number in the stored unit and the frame of the place."""
        quantity = QUANTITY_OF[column.meaning]
        frame = column.frame
        cell = self._without_u(cell, column)
        if quantity is ANGLE:
            cell, before_tdc = angle_text(cell)
            frame = "crank-static" if before_tdc and frame != "crank-static" else frame
        try:
            value = number_of(cell, quantity, column.unit, self.mark)
            if frame is None:
                return value
            if quantity is ANGLE:
                return self.place.angle(value, frame)
            return self.place.speed(value, frame)
        except BobweightError as error:
            facts = {**error.problem.facts, "field": column.meaning}
            raise self.wrong(error.problem.code, **facts) from None

    def _refuse_thousands(self, cell: str) -> None:
        """``1.500`` where a point is the decimal mark: no engine runs at 1.5 rev/min."""
        match = re.fullmatch(r"([1-9]\d?)([.,])(\d{3})", cell)
        if match and match[2] == self.mark:
            raise self.wrong("comma-ambiguous", value=cell, field="speed_rpm",
                             whole=match[1] + match[3], broken=cell)  # fmt: skip

    def uncertainty_in(self, cell: str, column: UnderstoodColumn) -> float:
        """A difference in the stored unit and frame: static does not enter."""
        quantity = QUANTITY_OF[column.meaning]
        try:
            value = number_of(cell, quantity, column.unit, self.mark)
        except BobweightError as error:
            facts = {**error.problem.facts, "field": column.meaning}
            raise self.wrong(error.problem.code, **facts) from None
        if not value > 0:
            key = column.meaning.removeprefix("u_")
            raise self.wrong("uncertainty-not-positive", value=value, field=key)
        return self.place.difference(value, column.frame or self.place.speed_frame)

    def _without_u(self, cell: str, column: UnderstoodColumn) -> str:
        """The value of ``12 ± 0.2``, whose uncertainty is kept; a unit behind it is of both."""
        if self.u is None or not ("±" in cell or "+" in cell):
            return cell
        value, _, spread = re.sub(r"\+\s*/?\s*[-−]", "±", cell).partition("±")
        if not (value.strip() and spread.strip()):
            return cell
        name = re.sub(r"^[\s\d.,]+", "", spread)
        key = "angle_deg" if QUANTITY_OF[column.meaning] is ANGLE else column.meaning
        self.u[key] = self.uncertainty_in(spread, column)
        return value if re.search(r"[^\d\s.,+\-−]", value) else f"{value.strip()} {name}".strip()

    def needed(self, meaning: str) -> float:
        """The number of a column that must be there."""
        for column in self.of(meaning):
            if cell := self.at(column):
                if meaning == "speed_rpm" and column.unit == SPEED.stored.symbol:
                    self._refuse_thousands(cell)
                return self.number_in(cell, column)
        raise self.wrong("missing", field=meaning)

    def speed(self) -> float:
        """The speed, which must be there and agree with the same speed in another frame."""
        speed = self.needed("speed_rpm")
        for column in self.beside:
            cell = self.at(column)
            if cell and abs(self.number_in(cell, column) - speed) > _SPEEDS_AGREE * abs(speed):
                raise self.wrong("speeds-differ", value=cited(cell), heading=cited(column.heading),
                                 ratio=self.place.drive_ratio)  # fmt: skip
        return speed


def by_meaning(columns: tuple[UnderstoodColumn, ...]) -> dict[str, list[UnderstoodColumn]]:
    """The columns of each meaning."""
    found: dict[str, list[UnderstoodColumn]] = {}
    for column in columns:
        found.setdefault(column.meaning, []).append(column)
    return found


def rows_of(
    layout: Layout, columns: tuple[UnderstoodColumn, ...], place: Place
) -> tuple[UnderstoodRow, ...]:
    """The rows of a table as its columns are understood."""
    make = _MAKERS[layout.kind]
    meanings = by_meaning(columns)
    rows = [
        UnderstoodRow(n, problem=Problem("row-before-heading", (), {"line": n}))
        for n, _ in layout.before
    ]
    second = False
    beside = layout.speeds_beside(columns)
    titles = [n for n, _ in layout.ways]
    for number, cells in layout.body:
        above = bisect(titles, number)
        under = layout.ways[above - 1][1] if above else ""
        line = RowInHand(number, cells, columns, place, layout.grid.mark, meanings, under=under,
                         beside=beside)  # fmt: skip
        try:
            if number in layout.grid.hidden:
                raise line.wrong("row-hidden")
            second = second or _begins_another(layout, cells)
            if second:
                raise line.wrong("second-table")
            _refuse_summary(line)
            _refuse_surplus(line, layout)
            rows.append(make(line))
        except BobweightError as error:
            problem = error.problem
            facts = {**problem.facts, "line": number}
            rows.append(UnderstoodRow(number, problem=Problem(problem.code, problem.path, facts)))
    return tuple(rows)


def _begins_another(layout: Layout, cells: tuple[str, ...]) -> bool:
    """Whether a line is the heading of another table below."""
    filled = [c for c in cells if c]
    if not layout.headed or len(filled) < 2 or any(is_number(c) or direction(c) for c in filled):
        return False
    if _NO_ADVANCE.search(" ".join(filled)):
        return False
    named = [heading_of(c, layout.kind).meaning for c in filled]
    return any(m != UNKNOWN for m in named)


def _refuse_summary(line: RowInHand) -> None:
    for column in line.columns:
        if column.meaning in ("note", "direction"):
            continue
        cell = line.at(column)
        match = _SUMMARY.fullmatch if column.meaning == "label" else _SUMMARY.match
        if cell and match(cell) and not re.match(r"(min|max)\S*\s*\d", cell, re.I):
            raise line.wrong("summary-row", value=cited(cell))


def _refuse_surplus(line: RowInHand, layout: Layout) -> None:
    """Numbers beyond the last column that is known, and numbers that no heading names."""
    named = {c.index for c in line.columns if c.meaning != UNKNOWN or layout.headings[c.index - 1]}
    last = max((c.index for c in line.columns if c.heading), default=0)
    for i, cell in enumerate(line.cells):
        if not cell or not is_number(cell) or i + 1 in named:
            continue
        if layout.headed and i + 1 > last:
            _refuse_broken_decimal(line, layout)
            raise line.wrong("too-many-cells-for-heading", value=cited(cell))
        if not layout.headed:
            _refuse_broken_decimal(line, layout)
            raise line.wrong("number-not-named", value=cited(cell), column=i + 1)


def _refuse_broken_decimal(line: RowInHand, layout: Layout) -> None:
    """``1200,12,5`` may be 12.5° or something of 5: only a heading can tell."""
    if layout.grid.separator != ",":
        return
    cells = [c for c in line.cells if c]
    if len(cells) == 3 and re.fullmatch(r"\d", cells[2]) and re.fullmatch(r"-?\d+", cells[1]):
        raise line.wrong("comma-ambiguous", value=",".join(cells), whole=cells[2],
                         broken=f"{cells[1]}.{cells[2]}")  # fmt: skip


def checked(line: RowInHand, record: Record) -> Record:
    """The record, if all of it lies within its hard limits."""
    for key, parameter in parameters(record).items():
        if parameter.kind == "one":
            continue
        problem = parameter.check(getattr(record, key))
        if problem:
            raise line.wrong(problem.code, **{**problem.facts, "field": key})
    return record


# Readings -------------------------------------------------------------------------------------


def _reading_rows(line: RowInHand) -> UnderstoodRow:
    line.u = {}
    speed = line.speed()
    way = line.text("direction")
    note = []
    for column in line.columns:
        if column.meaning in ("note", UNKNOWN) and (cell := line.at(column)):
            if not column.heading and not way and direction(cell):
                way = cell
            elif column.meaning == "note" or not column.heading:
                note.append(cell)
    if way and not direction(way):
        raise line.wrong("not-an-option", value=cited(way), known="rising, falling, unknown")
    left_out = yes_or_no(line.text("left_out"))
    if left_out is None:
        raise line.wrong("not-an-option", value=cited(line.text("left_out")), known="yes, no")
    shared: dict[str, Any] = {
        "speed_rpm": speed,
        "depression_kpa": next(
            (line.number_in(cell, c) for c in line.of("depression_kpa") if (cell := line.at(c))),
            None,
        ),
        "left_out": left_out,
        "note": " ".join(part for part in note if part),
    }
    u = {
        c.meaning.removeprefix("u_"): line.uncertainty_in(line.at(c), c)
        for c in line.columns
        if c.meaning.startswith("u_") and line.at(c)
    }
    found = []
    moving_so = direction(way) or line.under or "unknown"
    for meaning, moving in (("angle_deg", moving_so), ("rising_deg", "rising"),
                            ("falling_deg", "falling")):  # fmt: skip
        for column in line.of(meaning):
            if cell := line.at(column):
                line.u.pop("angle_deg", None)
                angle = line.number_in(cell, column)
                reading = Reading(angle_deg=angle, direction=moving, u=u | line.u, **shared)
                found.append(checked(line, reading))
    if not found:
        raise line.wrong("missing", field="angle_deg")
    return UnderstoodRow(line.number, tuple(found))


# Check points -----------------------------------------------------------------------------------


def _check_point_row(line: RowInHand) -> UnderstoodRow:
    text = " ".join(c for c in line.cells if c)
    match = _NO_ADVANCE.search(text)
    if match and len([c for c in line.cells if c]) <= 2:
        column = (line.of("speed_rpm") or [UnderstoodColumn(1, "", "speed_rpm")])[0]
        below = " ".join(part for part in match.groups() if part)
        return UnderstoodRow(line.number, settings={
            "no_advance_below_rpm": line.number_in(below, column)
        })  # fmt: skip
    speed = line.speed()
    bands = [line.at(c) for m in ("band_deg", "least_deg", "most_deg") for c in line.of(m)]
    filled = [cell for cell in bands if cell]
    if filled and all(NONE.fullmatch(cell) for cell in filled):
        return UnderstoodRow(line.number, settings={"no_advance_below_rpm": speed})
    least, most = _band(line)
    point = checked(line, CheckPoint(speed_rpm=speed, least_deg=least, most_deg=most))
    return UnderstoodRow(line.number, (_in_order(line, point),), advice=tuple(line.advice))


def _vacuum_row(line: RowInHand) -> UnderstoodRow:
    depression = line.needed("depression_kpa")
    least, most = _band(line)
    if least is not None and most is not None and most < least <= 0:  # retard as −3 to −5
        least, most = most, least
    point = checked(line, VacuumPoint(depression_kpa=depression, least_deg=least, most_deg=most))
    return UnderstoodRow(line.number, (_in_order(line, point),), advice=tuple(line.advice))


def _band(line: RowInHand) -> tuple[float | None, float | None]:
    """Least and most of a row, in the frame of the place."""
    ends: dict[str, tuple[str, UnderstoodColumn]] = {}
    for meaning in ("least_deg", "most_deg"):
        for column in line.of(meaning):
            if cell := line.at(column):
                ends.setdefault(meaning, (cell, column))
    if len(ends) == 1 and not line.of("band_deg"):  # a band may stand under one of the two
        ((meaning, (cell, column)),) = ends.items()
        low, high, about = band_of(cell)
        if low != high:
            return _ends(line, low, high, about, column)
        one = line.number_in(cell, column)
        return (one, None) if meaning == "least_deg" else (None, one)
    if len(ends) == 2:
        return (line.number_in(*ends["least_deg"]), line.number_in(*ends["most_deg"]))
    bands = [(cell, c) for c in line.of("band_deg") if (cell := line.at(c))]
    if not bands:
        raise line.wrong("missing", field="least_deg")
    cell, column = bands[0]
    refuse_pair(cell)
    tolerance = [c for c in line.of("tolerance_deg") if line.at(c)]
    if tolerance:
        middle = line.number_in(cell, column)
        spread = abs(_difference(line, line.at(tolerance[0]).lstrip("±+/- "), column))
        return middle - spread, middle + spread
    low, high, is_about = band_of(cell)
    if low == high:
        angle = line.number_in(cell, column)
        facts = {"line": line.number, "value": angle, "unit": ANGLE.stored.symbol}
        line.advice.append(Problem("no-band", (), facts, grave=False))
        return angle, angle
    return _ends(line, low, high, is_about, column)


def _ends(
    line: RowInHand, low: str | None, high: str | None, is_about: bool, column: UnderstoodColumn
) -> tuple[float | None, float | None]:
    least = None if low is None else line.number_in(low, column)
    if is_about and high is not None and least is not None:
        about = abs(_difference(line, high, column))
        return least - about, least + about
    return least, None if high is None else line.number_in(high, column)


def _difference(line: RowInHand, cell: str, column: UnderstoodColumn) -> float:
    """Degrees of difference, in the frame of the place: static does not enter."""
    try:
        value = number_of(cell, ANGLE, column.unit, line.mark)
    except BobweightError as error:
        raise line.wrong(error.problem.code, **error.problem.facts) from None
    return line.place.difference(value, column.frame or line.place.angle_frame)


def _in_order(line: RowInHand, point: Any) -> Any:
    if None not in (point.least_deg, point.most_deg) and point.least_deg > point.most_deg:
        facts = {"low": point.least_deg, "high": point.most_deg, "unit": ANGLE.stored.symbol}
        raise line.wrong("limits-crossed", **facts)
    return point


# Springs ----------------------------------------------------------------------------------------


def _spring_row(line: RowInHand) -> UnderstoodRow:
    values: dict[str, Any] = {"label": line.text("label")}
    u = line.u = {}
    for key in OWN_FIGURES:
        for column in line.of(key):
            if cell := line.at(column):
                values[key] = line.number_in(cell, column)
        for column in line.of(f"u_{key}"):
            if line.at(column):
                u[key] = _spring_u(line, column, key)
    if "rate_n_per_mm" not in values:
        raise line.wrong("missing", field="rate_n_per_mm")
    if count := line.text("count"):
        values["count"] = _whole(line, count)
    source = {}
    if known := line.text("known_from"):
        source["known_from"] = _known_from(known)
    if where := line.text("where_from"):
        source["note"] = where
    if source:
        values["source"] = SpringSource(**source)
    loose = [
        f"{c.heading}: {cell}" for c in line.columns
        if c.meaning == UNKNOWN and c.heading and (cell := line.at(c))
    ]  # fmt: skip
    values["note"] = " ".join(part for part in (line.text("note"), ", ".join(loose)) if part)
    return UnderstoodRow(line.number, (checked(line, TraySpring(**values, u=u)),))


def _spring_u(line: RowInHand, column: UnderstoodColumn, key: str) -> float:
    value = line.number_in(line.at(column), column)
    if not value > 0:
        raise line.wrong("uncertainty-not-positive", value=value, field=key)
    return value


def _whole(line: RowInHand, cell: str) -> int:
    try:
        return int(re.sub(r"[.,]0+$", "", cell))
    except ValueError:
        raise line.wrong("not-whole", value=cited(cell), field="count") from None


def _known_from(cell: str) -> str:
    word = cell.strip().lower()
    if word in KNOWN_FROM:
        return word
    return next((key for key, text in KNOWN_FROM.items() if text.lower() == word), "typed")


_MAKERS: dict[str, Callable[[RowInHand], UnderstoodRow]] = {
    "readings": _reading_rows,
    "target": _check_point_row,
    "vacuum": _vacuum_row,
    "tray": _spring_row,
}
