"""Cells of a table: numbers with units, bands, decimal marks, directions."""

from __future__ import annotations

import re
from collections.abc import Iterable

from bobweight.core.problems import BobweightError
from bobweight.core.units import ANGLE, DEPRESSION, SPEED, Quantity, parse

_LONGEST = 40  # of what is cited of a cell
_BETWEEN = r"±|\+/-|\+-|–|—|\.\.\.?|…|to|bis|à"
_SIGN = rf"(?:{_BETWEEN}|−|-)"
_PLAIN = r"[+\-−]?(?:\d+(?:[.,]\d+)*|[.,]\d+)(?:[eE][+\-]?\d+)?"
_DEGREES = r"\s*(?:°|deg(?:ree)?s?\.?)?"
RANGE = re.compile(rf"({_PLAIN}){_DEGREES}\s*({_SIGN})\s*({_PLAIN}{_DEGREES})")
"""Least and most, or a middle and its tolerance, in one cell."""
_AT_MOST = re.compile(
    r"(?:≤|<=?|max(?:imum)?\.?|up to|not (?:more than|over)|at most)\s*(.+)", re.I
)
_AT_LEAST = re.compile(r"(?:≥|>=?|min(?:imum)?\.?|not less than|at least|from)\s*(.+)", re.I)
NONE = re.compile(r"(?:nil|none|no advance|zero advance)\.?", re.I)
"""No advance at all, in words."""
BLANK = re.compile(r"(?:[-–—.]+|n/?a|#n/?a|nan|null)?", re.I)
"""A cell in which nothing was read."""
UNRECKONED = "=?"
"""A formula whose result was not saved."""
NUMERIC = re.compile(r"[<>≤≥±]?\s*[+\-−]?\s*[.,]?\d")
"""How a cell with a number begins."""
_CENTRE = r"(?:t\.?d\.?c\b\.?|top dead cent\w+)"
BEFORE = (
    rf"\b(?:btdc\b|b\.t\.d\.c\b\.?|before {_CENTRE}|v(?:\. ?| )?ot\b|vor ot\b"
    r"|av(?:\.|ant) (?:le )?pmh\b)"
)
AFTER = (
    rf"\b(?:atdc\b|a\.t\.d\.c\b\.?|(?:after|past) {_CENTRE}|n(?:\. ?| )ot\b|nach ot\b"
    r"|apr[èe]s (?:le )?pmh\b)"
)
"""Words for before and after top dead centre."""
WAYS = {
    "rising": r"\b(rising|up|accel\w*|increasing|going up|ascending|steigend\w*|mont[ée]e"
    r"|croissante?)\b|↑",
    "falling": r"\b(falling|down|decel\w*|decreasing|going down|descending|(?:ab)?fallend\w*"
    r"|descente|d[ée]croissante?)\b|↓",
}
"""Words for a direction, in a heading, a title or a cell."""

_SIMPLE = re.compile(r"[+\-]?\d{1,12}(?:\.\d{1,12})?", re.ASCII)
_FRACTIONS = {"¼": 0.25, "½": 0.5, "¾": 0.75, "⅛": 0.125, "⅜": 0.375, "⅝": 0.625, "⅞": 0.875,
              "⅓": 1 / 3, "⅔": 2 / 3}  # fmt: skip
_VULGAR = re.compile(rf"(\d*)\s*([{''.join(_FRACTIONS)}])")
_WRITTEN = re.compile(r"(?<![\d.,/])(?:(\d+)\s+)?([1357])/(2|4|8|16)(?![\d/])")
_PAIR = re.compile(rf"(\d+)\s*/\s*(\d+){_DEGREES}")
_THOUSANDS = re.compile(r"[1-9]\d{0,2}\.\d{3}(?![\d.,])")
_MINUTES = re.compile(r"(\d+)\s*°\s*(\d+)\s*['′]")

_DIRECTIONS = {
    "rising": {"rise", "r", "auf"},
    "falling": {"fall", "f", "ab"},
    "unknown": {"unknown", "?"},
}
_DATE = re.compile(
    r"\d{4}-\d\d-\d\d.*|\d{1,2}[-/. ](?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*.*"
    r"|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[-/. ]\d{1,4}"
    r"|\d{1,2}([/.])\d{1,2}\1\d{2,4}",
    re.I,
)


def spaced(line: str) -> list[str]:
    """Cells separated by spaces; a range and a number with its unit stay together."""
    line = re.sub(rf"(?<=[\d°])\s*({_BETWEEN})\s*(?=[\d.,+\-−])", r"\1", line)
    line = re.sub(r"(?<=[\d°]) - (?=[\d.])", "–", line)
    cells: list[str] = []
    for word in line.split():
        if cells and _is_unit_after(cells[-1], word):
            cells[-1] += " " + word
        else:
            cells.append(word)
    return cells


def _is_unit_after(cell: str, word: str) -> bool:
    if not re.match(r"[+\-−]?[\d.,]", cell):
        return False
    unit = re.sub(r"^\S+\s*", "", cell)
    return (unit + word).lower() in _UNIT_WORDS


_UNIT_WORDS = {
    name.lower().replace(" ", "")
    for quantity in (SPEED, DEPRESSION)
    for unit in quantity.units
    for name in (unit.symbol, *unit.also)
} | {"°", "deg", "degrees", "in", "mm", "cm", "btdc", "atdc"}


def decimal_mark(cells: Iterable[str], separator: str) -> str | None:
    """``"."`` or ``","`` where the cells tell which is the decimal mark, else None.

    Three digits behind a mark tell nothing, unless four or more stand before it: they may be
    thousands.
    """
    seen = {
        mark
        for cell in cells
        for match in re.finditer(
            r"(?<![\d.,])(?:\d+([.,])(?:\d\d?|\d{4,})|0([.,])\d+|\d{4,}([.,])\d+)(?![\d.,]*\d)",
            cell,
        )
        for mark in match.groups()
        if mark
    }
    if separator == "," and seen != {","}:  # a decimal comma stands there between quotes
        return "."
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
        As :func:`core.units.parse`; ``cell-is-date``; ``fraction-or-band``;
        ``formula-without-result``.
    """
    if _SIMPLE.fullmatch(cell) and (mark == "." or quantity is not SPEED or "." not in cell):
        unit = quantity.unit(symbol) if symbol else quantity.stored
        return float(cell) * unit.factor
    if _DATE.fullmatch(cell.strip()):
        raise BobweightError("cell-is-date", (), value=cited(cell))
    if cell.strip().startswith("="):
        raise BobweightError("formula-without-result", (), value=cited(cell))
    text = re.sub(r"(?<=\d)[\u00a0\u2007\u202f\u2009 '’](?=\d{3}(?!\d))", "", cell.strip())
    if quantity is ANGLE and not re.match(r"(?:1/2|[13]/4)(?!\d)", text):
        refuse_pair(text)
    text = _without_fractions(text)
    no_number = r"\d\s+[\d.,]|\d[.,]\s+\d"
    if quantity in (SPEED, ANGLE, DEPRESSION):
        no_number += r"|\d\s*/\s*\d"
    if quantity is ANGLE:
        no_number += r"|\d\s*min\b"  # at least, not minutes
    if re.search(no_number, text, re.I):
        raise BobweightError("not-a-number", (), value=cited(cell))
    if mark:
        other = "," if mark == "." else "."
        grouped = rf"([+\-−]?\d{{1,3}}(?:\{other}\d{{3}})+)(?![\d{other}])"
        text = re.sub(rf"^{grouped}", lambda match: match.group(1).replace(other, ""), text)
        text = re.sub(r"(?<=\d),(?=\d)|^,(?=\d)", ".", text, count=1)
    elif quantity is SPEED and symbol != "krpm" and _THOUSANDS.match(text):
        digits = text[: text.index(".") + 4]
        raise BobweightError("comma-ambiguous", (), value=cited(cell),
                             whole=digits.replace(".", ""), broken=digits)  # fmt: skip
    try:
        return parse(text, quantity, symbol)
    except BobweightError as error:
        code, facts = error.problem.code, {**error.problem.facts}
        named = code in ("unknown-unit", "no-unit-here")
        if named and re.match(r"[^\w°′″'\"%]", str(facts["value"])):  # no name of a unit: 5-7, 5?
            code, named = "not-a-number", False
        facts["value"] = cited(str(facts["value"]) if named else cell)
        raise BobweightError(code, (), **facts) from None


def cited(cell: str) -> str:
    """A cell as a sentence names it: not too long, and told where it was cut."""
    text = cell.strip()
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1].rstrip() + "…"


def refuse_pair(cell: str) -> None:
    """Refuse ``5/8``, which may be five eighths or a band from 5 to 8.

    Raises
    ------
    BobweightError
        ``fraction-or-band``.
    """
    match = _PAIR.fullmatch(cell.strip())
    if match:
        raise BobweightError("fraction-or-band", (), value=cell.strip(), low=match[1],
                             high=match[2])  # fmt: skip


def _without_fractions(text: str) -> str:
    """``5¼``, ``5 1/4`` and ``12°30′`` as decimal numbers."""
    if not re.search(rf"[{''.join(_FRACTIONS)}/°]", text):
        return text
    text = _VULGAR.sub(lambda m: f"{int(m[1] or 0) + _FRACTIONS[m[2]]:.10g}", text)
    text = _WRITTEN.sub(lambda m: f"{int(m[1] or 0) + int(m[2]) / int(m[3]):.10g}", text)
    return _MINUTES.sub(lambda m: f"{int(m[1]) + int(m[2]) / 60:.10g}", text)


def angle_text(cell: str) -> tuple[str, bool]:
    """An angle without the words for before and after dead centre, and whether it was one before;
    after dead centre is below zero."""
    if cell[-1:].isdigit():  # most are bare numbers
        return cell, False
    match = re.fullmatch(rf"(.*?)\s*(?:{BEFORE}|({AFTER}))", cell.strip(), re.I)
    if not match:
        return cell, False
    return ("-" + match[1] if match[2] else match[1]), True


def band_of(cell: str) -> tuple[str | None, str | None, bool]:
    """Least and most in one cell as they are written, and whether the second is a tolerance about
    the first. One angle alone is both; of ``max 7`` and ``≥ 5`` the other side is None."""
    text = _without_fractions(cell.strip())
    match = RANGE.fullmatch(text)
    if match:
        return match[1], match[3], match[2][0] in "±+"
    for pattern, most in ((_AT_MOST, True), (_AT_LEAST, False)):
        match = pattern.fullmatch(text)
        if match:
            return (None, match[1], False) if most else (match[1], None, False)
    match = re.fullmatch(r"(.*\d.*?)\s*(max|min)(?:imum)?\.?", text, re.I)
    if match:
        return (None, match[1], False) if match[2].lower() == "max" else (match[1], None, False)
    return text, text, False


def direction(cell: str) -> str | None:
    """``rising``, ``falling`` or ``unknown`` for a word that means it, else None."""
    word = cell.strip().lower()
    plain = next((name for name, words in _DIRECTIONS.items() if word in words), None)
    return plain or next((way for way, words in WAYS.items() if re.fullmatch(words, word)), None)


def yes_or_no(cell: str) -> bool | None:
    """True for a cell that says yes, False for one that says no or nothing, else None."""
    word = cell.strip().lower()
    if word in {"yes", "y", "true", "1", "x", "ja", "oui"}:
        return True
    return False if word in {"", "no", "n", "false", "0", "nein", "non"} else None
