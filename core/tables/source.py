"""From a file to a table: text in any encoding that tables come in, and spreadsheets."""

from __future__ import annotations

import datetime
import os
import sys
import zipfile
import zlib
from bisect import bisect
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from xml.parsers import expat

from bobweight.core.docket.file import read_bytes
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError
from bobweight.core.tables.cells import UNRECKONED
from bobweight.core.tables.grid import Grid, grid_of_cells
from bobweight.core.tables.workbook import CellMarks, marks_of, walk

SPREADSHEETS = (".xlsx", ".xlsm", ".xlsb", ".xls", ".ods")
_CODE_PAGES = ("cp1252", "mac_roman", "cp850", "cp437")
_SIGNS = set("°±–—−µ×²³½¼¾′″’‘“”…·§ºª€£äöüßéèêëàâáåæçñòóôøùúûîïíÄÖÜÉÈÅÆØÇÑ\u00a0\u2026")
_DAMAGE = (expat.ExpatError, zipfile.BadZipFile, OSError, EOFError, ValueError, LookupError,
           zlib.error, NotImplementedError, RuntimeError)  # fmt: skip
_ZIPPED, _COMPOUND = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"


@frozen
class Source:
    """A file read: its text, or the cells of one sheet of a spreadsheet.

    ``encoding`` is empty for UTF-8 and for spreadsheets; ``sheet`` names the one that is read.
    """

    text: str = ""
    grid: Grid | None = None
    encoding: str = ""
    sheet: str = ""


def read_source(path: str | os.PathLike[str], sheet: str | None = None) -> Source:
    """The table in a file.

    Parameters
    ----------
    path : path
    sheet : str, optional
        Which sheet of a spreadsheet; the only one with cells if not given.

    Raises
    ------
    BobweightError
        ``file-missing``, ``file-is-folder``, ``file-not-readable``, ``file-too-large``,
        ``not-a-table``, ``table-empty``, ``several-sheets``, ``no-such-sheet``; with the file.
    """
    try:
        data = read_bytes(Path(path))
        if data[:4] in (_ZIPPED, _COMPOUND):
            return _spreadsheet(data, sheet)
        text, encoding = decoded(data)
        return Source(text, encoding=encoding)
    except BobweightError as error:
        raise error.in_file(path) from None


def decoded(data: bytes) -> tuple[str, str]:
    """The text in some bytes, and its encoding where that is not UTF-8.

    UTF-8 and UTF-16 tell themselves. In a short table no statistics of letters tell one code page
    from another (of a lone degree sign they make a katakana); but a wrong one makes signs that no
    table holds, so the first of the usual ones that gives only signs of the trade is right. Other
    scripts are left to charset-normalizer.

    Raises
    ------
    BobweightError
        ``not-a-table`` for what is no text.
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace"), "utf-16"
    sample = data[:4000]
    if sample.count(0) > len(sample) // 5:
        low = sample[1::2].count(0) > sample[::2].count(0)
        encoding = "utf-16-le" if low else "utf-16-be"
        text = data.decode(encoding, errors="replace")
        if not _is_text(text):
            raise BobweightError("not-a-table")
        return text, encoding
    if 0 in sample:
        raise BobweightError("not-a-table")
    try:
        return data.decode("utf-8-sig"), ""
    except UnicodeDecodeError:
        pass
    for encoding in _CODE_PAGES:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if all(c.isascii() or c in _SIGNS for c in text) and _is_text(text):
            return text, encoding
    from charset_normalizer import from_bytes  # only for a file that nothing else explains

    best = from_bytes(data[:200_000]).best()
    if best is None or not _is_text(str(best)[:4000]):
        raise BobweightError("not-a-table")
    return data.decode(best.encoding, errors="replace"), best.encoding


def _is_text(text: str) -> bool:
    return not any(ord(c) < 32 and c not in "\t\n\r\f" for c in text[:4000])


def _spreadsheet(data: bytes, sheet: str | None) -> Source:
    import io

    from python_calamine import CalamineError, CalamineWorkbook

    _check_open_document(data)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        filled = {}
        for name in book.sheet_names:
            rows = book.get_sheet_by_name(name).to_python(skip_empty_area=False)
            if any(cell not in ("", None) for row in rows for cell in row):
                filled[name] = rows
    except (CalamineError, OSError, ValueError, KeyError) as error:
        raise BobweightError("not-a-table", (), reason=str(error)[:80]) from None
    if not filled:
        raise BobweightError("table-empty")
    names = tuple(filled)
    if sheet is None and len(names) > 1:
        raise BobweightError("several-sheets", (), known=", ".join(names), sheets=names)
    if sheet is not None and sheet not in filled:
        raise BobweightError("no-such-sheet", (), value=sheet, known=", ".join(names))
    name = sheet or names[0]
    marks = _marks(data, name)
    texts = [
        (n, [_marked_text(cell, (n, i), marks) for i, cell in enumerate(row, 1)])
        for n, row in enumerate(filled[name], 1)
    ]
    width = max((i + 1 for _, row in texts for i, cell in enumerate(row) if cell), default=0)
    grid = grid_of_cells([(n, row[:width]) for n, row in texts], "\t")
    grid = replace(grid, hidden=_within(marks.hidden_rows, [n for n, _ in grid.lines]),
                   hidden_columns=_within(marks.hidden_columns, range(1, width + 1)))  # fmt: skip
    return Source(grid=grid, sheet=name)


def _marks(data: bytes, sheet: str) -> CellMarks:
    if data[:4] != _ZIPPED:
        return CellMarks()
    try:
        return marks_of(data, sheet)
    except _DAMAGE as error:
        raise BobweightError("not-a-table", (), reason=str(error)[:80]) from None


def _within(stretches: Iterable[tuple[int, int]], numbers: Iterable[int]) -> frozenset[int]:
    ends = sorted(stretches)
    return frozenset(
        n for n in numbers if (at := bisect(ends, (n, sys.maxsize))) and n <= ends[at - 1][1]
    )


def _marked_text(cell: object, at: tuple[int, int], marks: CellMarks) -> str:
    """The text of a cell as a spreadsheet shows it: a percentage with its sign."""
    if at in marks.unreckoned:
        return UNRECKONED
    if at in marks.percent and isinstance(cell, float):
        return f"{100 * cell:.12g}%"
    return _cell_text(cell)


def _check_open_document(data: bytes) -> None:
    """Refuse an OpenDocument sheet whose text breaks off or is not XML: of one, calamine never
    comes back from looking for the end of a cell."""
    import io

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            if "content.xml" not in parts.namelist():
                return  # of another kind
            walk(parts, "content.xml")
    except _DAMAGE as error:
        if data[:4] == _ZIPPED:
            raise BobweightError("not-a-table", (), reason=str(error)[:80]) from None


def _cell_text(cell: object) -> str:
    """A cell of a spreadsheet as its text: numbers with a decimal point, dates as dates."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return repr(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, datetime.datetime | datetime.date | datetime.time):
        return cell.isoformat()
    return str(cell)
