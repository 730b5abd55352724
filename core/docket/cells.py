"""Cells of a pasted table: separators, decimal marks, units, headings, directions."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from bobweight.core.problems import BobweightError
from bobweight.core.units import DEPRESSION, SPEED, Quantity, parse

_SIGN = r"(?:±|\+/-|\+-|–|—|\.\.\.?|…|to|-)"
_PLAIN = r"[+\-−]?(?:\d+(?:[.,]\d+)*|[.,]\d+)(?:[eE][+\-]?\d+)?"
RANGE = re.compile(rf"({_PLAIN})\s*°?\s*({_SIGN})\s*({_PLAIN}\s*(?:°|deg(?:rees)?)?)")
"""Least and most, or a middle and its tolerance, in one cell."""

_DIRECTIONS = {
    "rising": {"rising", "rise", "up", "r", "+", "↑", "accelerating", "increasing"},
    "falling": {"falling", "fall", "down", "f", "↓", "decelerating", "decreasing"},
    "unknown": {"unknown", "?"},
}
_SPEED_UNIT = r"rpm|(?:rev|r|u|tr|1)\s*/\s*min|min-1|rev/s|rps"
_HEADINGS = (  # the first that fits names the column
    ("direction", r"\b(direction|trend|way)\b"),
    ("note", r"\b(notes?|remarks?|comments?)\b"),
    ("least", r"\b(least|low|lower|lowest|min|minimum|from)\b"),
    ("most", r"\b(most|high|higher|highest|max|maximum|to|upper)\b"),
    ("speed", rf"\bspeed|\brevs\b|{_SPEED_UNIT}"),
    ("angle", r"°|\bdeg|\badvance|\bangle|\btiming|\bbtdc"),
    ("depression", r"\bdepression|\bvacuum|\bsuction|hg|\btorr\b|bar\b|pa\b|psi|h2o"),
)
_FRAMES = (
    ("crank-static", r"with static|incl|total"),
    ("crank", r"\bengine|\bcrank|\bflywheel|\bbtdc"),
    ("distributor", r"\bdistributor|\bdist\b|\bdistr\b"),
)


@dataclass
class Columns:
    """Where the columns stand, their units and frames, as far as a heading has told."""

    places: dict[str, int] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    frames: dict[str, str] = field(default_factory=dict)


def split(text: str, own_keys: tuple[str, ...] = ()) -> tuple[list[tuple[int, list[str]]], str]:
    """The filled lines of a table as (line number from 1, cells), and the separator.

    Parameters
    ----------
    text : str
    own_keys : tuple of str
        First field names of the program's own CSV, whose cells are taken to the letter.
    """
    text = text.removeprefix("\ufeff")
    own = re.match(rf"(?:{'|'.join(own_keys)})([,;\t])", text) if own_keys else None
    separator = own.group(1) if own else _separator(text)
    if separator == " ":
        lines = [(n, _spaced(line)) for n, line in _numbered(text)]
    else:
        lines = _separated(text, separator, skip_spaces=own is None)
    if not own:
        lines = [
            (number, cells)
            for number, cells in lines
            if any(cell.strip() for cell in cells) and not cells[0].startswith("#")
        ]
    return lines, separator


def _numbered(text: str) -> list[tuple[int, str]]:
    return list(enumerate(re.split(r"\r\n|\r|\n", text), 1))


def _separator(text: str) -> str:
    lines = [line for _, line in _numbered(text) if re.search(r"\d", line)]
    for mark in ("\t", ";"):
        if lines and 2 * sum(mark in line for line in lines) >= len(lines):
            return mark
    # "800,5 8" is a decimal comma between spaces: the second cell would hold two numbers
    number = re.compile(r'\s*"?[+\-−]?[\d.]+"?[^\d,]*,\s*"?[+\-−]?[\d.]+(?![\d.]|\s+[+\-−]?\d).*')
    if lines and 2 * sum(bool(number.fullmatch(line)) for line in lines) >= len(lines):
        return ","
    return " "


def _separated(text: str, separator: str, skip_spaces: bool) -> list[tuple[int, list[str]]]:
    try:
        return _quoted(text, separator, skip_spaces and separator != "\t")
    except csv.Error:  # an inch mark where a quotation would begin, or a cell without end
        return [(number, line.split(separator)) for number, line in _numbered(text) if line]


def _quoted(text: str, separator: str, skip_spaces: bool) -> list[tuple[int, list[str]]]:
    reader = csv.reader(
        io.StringIO(text, newline=""),
        delimiter=separator,
        skipinitialspace=skip_spaces,
        strict=True,
    )
    lines, number = [], 1
    for cells in reader:
        if cells:
            lines.append((number, cells))
        number = reader.line_num + 1
    return lines


def _spaced(line: str) -> list[str]:
    """Cells separated by spaces; a range and a number with its unit stay together."""
    line = re.sub(rf"(?<=[\d°])\s*({_SIGN.replace('|-', '')})\s*(?=[\d.,+\-−])", r"\1", line)
    line = re.sub(r"(?<=[\d°]) - (?=[\d.])", "–", line)
    cells: list[str] = []
    for word in line.split(" "):
        if word and cells and _is_unit_after(cells[-1], word):
            cells[-1] += " " + word
        elif word:
            cells.append(word)
    return cells


def _is_unit_after(cell: str, word: str) -> bool:
    if not re.match(r"[+\-−]?[\d.,]", cell):
        return False
    unit = re.sub(r"^\S+\s*", "", cell)
    wanted = (unit + word).lower()
    return wanted in _UNIT_WORDS


_UNIT_WORDS = {
    name.lower().replace(" ", "")
    for quantity in (SPEED, DEPRESSION)
    for unit in quantity.units
    for name in (unit.symbol, *unit.also)
} | {"°", "deg", "degrees", "in", "mm", "cm"}


def decimal_mark(cells: Iterable[str], separator: str) -> str | None:
    """``"."`` or ``","`` where the cells tell which is the decimal mark, else None.

    Three digits behind a mark tell nothing: they may be thousands.
    """
    if separator == ",":
        return "."
    seen = {
        match.group(1)
        for cell in cells
        for match in re.finditer(r"\b(?:\d+([.,])(?:\d\d?|\d{4,})|0([.,])\d+)\b", cell)
        if match.group(1)
    }
    return seen.pop() if len(seen) == 1 else None


def number_of(cell: str, quantity: Quantity, symbol: str | None, mark: str | None) -> float:
    """The stored value of a cell: a number with or without a unit.

    Parameters
    ----------
    cell : str
    quantity : Quantity
    symbol : str or None
        Unit of a bare number; None for the stored one.
    mark : str or None
        The table's decimal mark, as :func:`decimal_mark` gives.

    Raises
    ------
    BobweightError
        As :func:`core.units.parse`.
    """
    text = re.sub(r"(?<=\d)[\u00a0\u202f\u2009 '](?=\d{3}(?!\d))", "", cell.strip())
    if re.search(r"\d\s+[\d.,]", text):
        raise BobweightError("not-a-number", (), value=cell.strip()[:40])
    if mark:
        other = "," if mark == "." else "."
        grouped = rf"([+\-−]?\d{{1,3}}(?:\{other}\d{{3}})+)(?![\d{other}])"
        text = re.sub(rf"^{grouped}", lambda match: match.group(1).replace(other, ""), text)
        text = re.sub(r"(?<=\d),(?=\d)|^,(?=\d)", ".", text, count=1)
    try:
        return parse(text, quantity, symbol)
    except BobweightError as error:
        facts = {**error.problem.facts, "value": cell.strip()[:40]}
        raise BobweightError(error.problem.code, (), **facts) from None


def direction(cell: str) -> str | None:
    """``rising``, ``falling`` or ``unknown`` for a word that means it, else None."""
    word = cell.strip().lower()
    return next((name for name, words in _DIRECTIONS.items() if word in words), None)


def yes_or_no(cell: str) -> bool:
    """True for a cell that says yes."""
    return cell.strip().lower() in {"yes", "true", "1", "x"}


def columns_of_heading(cells: list[str], columns: Columns, separator: str) -> bool:
    """Take what a heading line tells into ``columns``; False if the line is no heading."""
    if any(re.match(r"[+\-−]?[.,]?\d", cell) for cell in cells):
        return False
    if separator == " ":
        cells = _joined_heading(cells)
    kinds = [_kind(cell) for cell in cells]
    if not any(kinds):
        return False
    for index, (cell, kind) in enumerate(zip(cells, kinds, strict=True)):
        if kind:
            columns.places.setdefault(kind, index)
            _take_unit_and_frame(cell.lower(), kind, columns)
    return True


def _kind(cell: str) -> str | None:
    text = re.sub(r"[_()\[\],;:]", " ", cell.lower())
    bare = re.sub(_SPEED_UNIT, " ", text)  # the "min" of rev/min is no minimum
    for name, pattern in _HEADINGS:
        if re.search(pattern, text if name == "speed" else bare):
            return name
    return None


def _take_unit_and_frame(cell: str, kind: str, columns: Columns) -> None:
    quantity = {"speed": SPEED, "depression": DEPRESSION}.get(kind)
    if quantity:
        squeezed = re.sub(r"\s", "", cell)
        names = [(n.lower().replace(" ", ""), unit.symbol) for unit in quantity.units
                 for n in (unit.symbol, *unit.also)]  # fmt: skip
        # longest first, so that the "bar" of mbar is not taken for bar
        for name, symbol in sorted(names, key=lambda pair: -len(pair[0])):
            if name in squeezed:
                columns.units[quantity.key] = symbol
                break
    for frame, pattern in _FRAMES:
        if re.search(pattern, cell):
            columns.frames.setdefault("speed" if kind == "speed" else "angle", frame)
            break


def _joined_heading(words: list[str]) -> list[str]:
    """Words of a heading separated by spaces, joined to one cell for each column."""
    cells: list[str] = []
    kind: str | None = None
    for word in words:
        found = _kind(word)
        opens = any(re.search(pattern, word.lower()) for _, pattern in _FRAMES)
        same = found == kind or (kind == "angle" and found in ("least", "most"))
        if cells and (kind is None or (found is None and not opens) or (found and same)):
            cells[-1] += " " + word
            kind = found or kind
        else:
            cells.append(word)
            kind = found
    return cells
