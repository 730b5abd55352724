"""What a workbook says of its cells beside their values: percentages, formulas without a result,
hidden rows and columns.

The library that reads values does not tell these. They are read from the parts of the zip itself:
ECMA-376, part 1 (5th edition), sections 18.3.1 and 18.8.30; OpenDocument 1.3, part 3, section 9 and
sections 19.684 and 19.740. What is no zip (xls) or not XML (xlsb) says nothing.
"""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from xml.parsers import expat

from bobweight.core.problems import BobweightError

PART_LIMIT = 64_000_000
"""Bytes of one part, unpacked: more is no table of a bench."""
_MOST_ROWS, _MOST_COLUMNS = 2_000, 256  # of a cell that is repeated
_BUILT_IN_PERCENT = (9, 10)
_QUOTED = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]')

Attributes = Mapping[str, str]


@dataclass
class CellMarks:
    """Cells as (row, column) and hidden stretches as (first, last), all counted from 1."""

    percent: set[tuple[int, int]] = field(default_factory=set)
    unreckoned: set[tuple[int, int]] = field(default_factory=set)
    hidden_rows: list[tuple[int, int]] = field(default_factory=list)
    hidden_columns: list[tuple[int, int]] = field(default_factory=list)


def marks_of(data: bytes, sheet: str) -> CellMarks:
    """What a workbook says of the cells of one sheet.

    Raises
    ------
    BobweightError
        ``table-too-large``.
    ValueError, LookupError, expat.ExpatError, zipfile.BadZipFile, OSError, zlib.error
        Of a file that is damaged.
    """
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        names = set(parts.namelist())
        if "content.xml" in names:
            reader = _OpenDocument(sheet)
            walk(parts, "content.xml", reader.begin, reader.end)
            return reader.marks
        if "xl/workbook.xml" in names:
            return _office_open(parts, names, sheet)
    return CellMarks()


def walk(
    parts: zipfile.ZipFile, name: str, begin: Callable[[str, Attributes], None] | None = None,
    end: Callable[[str, str], None] | None = None,
) -> None:  # fmt: skip
    """Read a part as XML; names come without their namespace, ends with the text within.

    Raises
    ------
    BobweightError
        ``table-too-large``.
    ValueError
        Where the part declares entities: no spreadsheet does.
    """
    if parts.getinfo(name).file_size > PART_LIMIT:
        raise BobweightError("table-too-large", (), value=name, limit=PART_LIMIT)
    parser = expat.ParserCreate()
    text: list[str] = []

    def declared(*_: object) -> None:
        raise ValueError("entities declared")

    def on_begin(tag: str, attributes: dict[str, str]) -> None:
        text.clear()
        assert begin is not None
        begin(_local(tag), {_local(key): value for key, value in attributes.items()})

    def on_end(tag: str) -> None:
        if end is not None:
            end(_local(tag), "".join(text))
        text.clear()

    parser.EntityDeclHandler = declared
    if begin is not None:
        parser.StartElementHandler, parser.EndElementHandler = on_begin, on_end
        parser.CharacterDataHandler = text.append
    with parts.open(name) as part:
        parser.ParseFile(part)


def _local(name: str) -> str:
    return name.rpartition(":")[2]


# Office Open XML ----------------------------------------------------------------------------------


def _office_open(parts: zipfile.ZipFile, names: set[str], sheet: str) -> CellMarks:
    found: dict[str, str] = {}  # of the sheet its relation, and whether all is to be reckoned
    targets: dict[str, str] = {}

    def book(tag: str, of: Attributes) -> None:
        if tag == "sheet" and of.get("name") == sheet:
            found["id"] = of.get("id", "")
        elif tag == "calcPr":
            found["reckon"] = of.get("fullCalcOnLoad", "")

    def relation(tag: str, of: Attributes) -> None:
        if tag == "Relationship":
            targets[of.get("Id", "")] = of.get("Target", "")

    walk(parts, "xl/workbook.xml", book)
    walk(parts, "xl/_rels/workbook.xml.rels", relation)
    target = targets.get(found.get("id", ""), "")
    path = posixpath.normpath(posixpath.join("/xl", target)).strip("/")
    styles = _Styles()
    if "xl/styles.xml" in names:
        walk(parts, "xl/styles.xml", styles.begin, styles.end)
    if path not in names or path.endswith(".bin"):
        return CellMarks()
    reader = _OfficeSheet(styles.percent, found.get("reckon") in ("1", "true"))
    walk(parts, path, reader.begin, reader.end)
    return reader.marks


class _Styles:
    """Which cell formats show a percentage."""

    def __init__(self) -> None:
        self.percent: set[int] = set()
        self._formats = set(_BUILT_IN_PERCENT)
        self._count, self._inside = 0, False

    def begin(self, tag: str, of: Attributes) -> None:
        if tag == "numFmt" and "%" in _QUOTED.sub("", of.get("formatCode", "")):
            self._formats.add(int(of.get("numFmtId", "0")))
        elif tag == "cellXfs":
            self._inside = True
        elif tag == "xf" and self._inside:
            if int(of.get("numFmtId", "0")) in self._formats:
                self.percent.add(self._count)
            self._count += 1

    def end(self, tag: str, _text: str) -> None:
        self._inside = self._inside and tag != "cellXfs"


class _OfficeSheet:
    def __init__(self, percent: set[int], all_to_be_reckoned: bool) -> None:
        self.marks = CellMarks()
        self._percent, self._all = percent, all_to_be_reckoned
        self._row = self._column = 0
        self._style, self._number, self._formula, self._value = 0, True, False, ""

    def begin(self, tag: str, of: Attributes) -> None:
        if tag == "col" and _yes(of.get("hidden")):
            self.marks.hidden_columns.append((int(of["min"]), int(of["max"])))
        elif tag == "row":
            self._row = int(of.get("r", self._row + 1))
            self._column = 0
            if _yes(of.get("hidden")):
                self.marks.hidden_rows.append((self._row, self._row))
        elif tag == "c":
            self._column = _column_of(of["r"]) if "r" in of else self._column + 1
            self._style, self._number = int(of.get("s", "0")), of.get("t", "n") == "n"
            self._formula, self._value = False, ""
        elif tag == "f":
            self._formula = True

    def end(self, tag: str, text: str) -> None:
        if tag == "v":
            self._value = text.strip()
        elif tag == "c" and self._number:
            at = (self._row, self._column)
            # a program that cannot reckon leaves nothing or 0 and has all reckoned on opening
            if self._formula and (not self._value or (self._all and self._value == "0")):
                self.marks.unreckoned.add(at)
            elif self._value and self._style in self._percent:
                self.marks.percent.add(at)


def _yes(text: str | None) -> bool:
    return text in ("1", "true")


def _column_of(reference: str) -> int:
    number = 0
    for letter in reference.rstrip("0123456789").upper():
        number = number * 26 + ord(letter) - 64
    return number


# OpenDocument -------------------------------------------------------------------------------------


class _OpenDocument:
    def __init__(self, sheet: str) -> None:
        self.marks = CellMarks()
        self._sheet, self._inside = sheet, False
        self._row = self._column = self._columns = 0
        self._repeats = 1

    def begin(self, tag: str, of: Attributes) -> None:
        if tag == "table":
            self._inside = of.get("name") == self._sheet
        elif not self._inside:
            return
        elif tag == "table-column":
            repeats = int(of.get("number-columns-repeated", "1"))
            if _collapsed(of):
                self.marks.hidden_columns.append((self._columns + 1, self._columns + repeats))
            self._columns += repeats
        elif tag == "table-row":
            self._repeats = int(of.get("number-rows-repeated", "1"))
            self._column = 0
            if _collapsed(of):
                self.marks.hidden_rows.append((self._row + 1, self._row + self._repeats))
        elif tag in ("table-cell", "covered-table-cell"):
            self._cell(of)

    def _cell(self, of: Attributes) -> None:
        repeats = int(of.get("number-columns-repeated", "1"))
        kind = of.get("value-type")
        marked = None
        if kind == "percentage":
            marked = self.marks.percent
        elif of.get("formula") and (kind is None or (kind == "float" and not of.get("value"))):
            marked = self.marks.unreckoned
        if marked is not None:
            marked.update(
                (self._row + row, self._column + column)
                for row in range(1, min(self._repeats, _MOST_ROWS) + 1)
                for column in range(1, min(repeats, _MOST_COLUMNS) + 1)
            )
        self._column += repeats

    def end(self, tag: str, _text: str) -> None:
        if tag == "table":
            self._inside = False
        elif tag == "table-row" and self._inside:
            self._row += self._repeats


def _collapsed(of: Attributes) -> bool:
    return of.get("visibility") in ("collapse", "filter")
