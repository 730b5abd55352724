"""The tray's own small file, kept with a docket's care, and the tray as a table in CSV.

The file is JSON in UTF-8 with a schema number, written whole or not at all. The table is RFC 4180,
headed by field names with their units; what comes in may have other headings, other units (named
in the heading or in the cell), decimal commas, and lines that are wrong: these are told by number.
"""

from __future__ import annotations

import csv
import io
import os
import re
from dataclasses import dataclass
from pathlib import Path as FilePath

from bobweight.core.design.tray import OWN_FIGURES, Tray, TraySpring
from bobweight.core.docket.cells import decimal_mark, number_of, split
from bobweight.core.docket.file import read_bytes, text_of, write_atomically
from bobweight.core.docket.plain import check_plain, from_plain, parse_json, to_json, to_plain
from bobweight.core.docket.spring_source import KNOWN_FROM, SpringSource
from bobweight.core.problems import BobweightError, Problem
from bobweight.core.record import parameters
from bobweight.core.units import Quantity

SCHEMA = 1
KIND = "tray"
_COLUMNS = ("label", "count", "rate", "u rate", "initial tension", "u initial tension",
            "free length", "u free length", "known from", "where from", "note")  # fmt: skip
_HEADINGS = (  # the first that fits names the column; of each, words in it
    ("note", r"\b(notes?|remarks?|comments?)\b"),
    ("where", r"\b(where|source|origin|supplier)\b"),
    ("known", r"\bknown\b"),
    ("count", r"\b(count|how many|number|qty|quantity|pieces)\b"),
    ("rate_n_per_mm", r"\b(rate|stiffness)\b"),
    ("initial_tension_n", r"\b(tension|preload)\b"),
    ("free_length_mm", r"\blength\b"),
    ("label", r"\b(label|spring|mark|name)\b"),
)
_UNCERTAIN = re.compile(r"^\s*(u\b|±|\+/-|standard uncertainty|uncertainty)", re.IGNORECASE)


def tray_from_text(text: str) -> Tray:
    """The tray that a JSON text describes.

    Raises
    ------
    BobweightError
        Those of :func:`core.docket.plain.parse_json` and :func:`core.docket.plain.from_plain`;
        ``not-a-tray``, ``bad-schema``, ``newer-schema``.
    """
    plain = parse_json(text)
    if not isinstance(plain, dict) or plain.get("kind") != KIND:
        raise BobweightError("not-a-tray")
    schema = plain.get("schema")
    if isinstance(schema, bool) or not isinstance(schema, int) or schema < 1:
        raise BobweightError("bad-schema", ("schema",), value=str(schema)[:40], known=SCHEMA)
    if schema > SCHEMA:
        raise BobweightError("newer-schema", ("schema",), value=schema, known=SCHEMA)
    return from_plain(Tray, {k: v for k, v in plain.items() if k not in ("kind", "schema")})


def tray_to_text(tray: Tray) -> str:
    """The tray as JSON text; it is read back before it is given out."""
    plain = {"kind": KIND, "schema": SCHEMA, **to_plain(tray)}
    check_plain(plain)
    text = to_json(plain)
    tray_from_text(text)
    return text


def read_tray(path: str | os.PathLike[str]) -> Tray:
    """The tray in a file; an empty one where there is no such file yet.

    Raises
    ------
    BobweightError
        As :func:`tray_from_text`, and ``file-is-folder``, ``file-not-readable``,
        ``file-too-large``, ``wrong-encoding``; the file in the fact ``file``.
    """
    if not FilePath(path).exists():
        return Tray()
    try:
        return tray_from_text(text_of(read_bytes(FilePath(path))))
    except BobweightError as error:
        problem = error.problem
        raise BobweightError(
            problem.code, problem.path, **{**problem.facts, "file": os.fspath(path)}
        ) from error


def write_tray(tray: Tray, path: str | os.PathLike[str]) -> None:
    """Save the tray whole or not at all; see :func:`core.docket.file.write_atomically`."""
    write_atomically(path, tray_to_text(tray).encode("utf-8"))


def tray_to_csv(tray: Tray) -> str:
    """The tray as CSV in stored units, its uncertainties beside the figures."""
    symbols = {key: parameters(TraySpring)[key].quantity.stored.symbol for key in OWN_FIGURES}
    heading = [
        f"{name} [{symbols[key]}]" if (key := _key_of(name)) in symbols else name
        for name in _COLUMNS
    ]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(heading)
    for spring in tray.springs:
        figures: list[str] = []
        for key in OWN_FIGURES:
            value, u = getattr(spring, key), spring.u.get(key)
            figures += ["" if v is None else repr(float(v)) for v in (value, u)]
        writer.writerow(
            [spring.label, spring.count, *figures, spring.source.known_from, spring.source.note,
             spring.note]
        )  # fmt: skip
    return out.getvalue()


@dataclass(frozen=True)
class TrayTable:
    """What was found in a CSV text.

    Attributes
    ----------
    springs : tuple of TraySpring
        The good lines.
    problems : tuple of Problem
        Lines that were not taken; ``facts["line"]`` is the line, from 1.
    """

    springs: tuple[TraySpring, ...]
    problems: tuple[Problem, ...]


def springs_from_csv(text: str) -> TrayTable:
    """Springs from a pasted table or a CSV file with a heading.

    Raises
    ------
    BobweightError
        ``table-empty``; ``table-needs-heading`` where no column for the rate is named.
    """
    lines, separator = split(text, ("label",))
    if not lines:
        raise BobweightError("table-empty")
    columns = [_column(cell) for cell in lines[0][1]]
    if not any(column and column[:2] == ("rate_n_per_mm", False) for column in columns):
        raise BobweightError("table-needs-heading", (), line=lines[0][0])
    numeric = [cell for _, cells in lines[1:] for cell in cells]
    mark = decimal_mark(numeric, separator)
    springs, problems = [], []
    for number, cells in lines[1:]:
        try:
            springs.append(_spring(cells, columns, mark))
        except BobweightError as error:
            problem = error.problem
            problems.append(Problem(problem.code, problem.path, {**problem.facts, "line": number}))
    return TrayTable(tuple(springs), tuple(problems))


def _key_of(name: str) -> str | None:
    return next((key for key, words in _HEADINGS if re.search(words, name)), None)


def _column(cell: str) -> tuple[str, bool, str | None] | None:
    """Key of a heading, whether it is an uncertainty, and the unit it names."""
    text = cell.replace("_", " ").lower()
    key = _key_of(text)
    if key is None:
        return None
    symbol = None
    if key in OWN_FIGURES:
        unit = re.search(r"[\[(]([^\])]+)[\])]", cell)
        if unit:
            symbol = _quantity(key).unit(unit.group(1).strip()).symbol
    return key, bool(_UNCERTAIN.match(text)), symbol


def _quantity(key: str) -> Quantity:
    return parameters(TraySpring)[key].quantity


def _spring(
    cells: list[str], columns: list[tuple[str, bool, str | None] | None], mark: str | None
) -> TraySpring:
    values: dict[str, object] = {}
    u: dict[str, float] = {}
    source: dict[str, str] = {}
    for cell, column in zip(cells, columns, strict=False):
        if column is None or not cell.strip():
            continue
        key, uncertain, symbol = column
        if key in OWN_FIGURES:
            number = number_of(cell, _quantity(key), symbol, mark)
            if not uncertain:
                values[key] = number
            elif number > 0:
                u[key] = number
            else:
                raise BobweightError("uncertainty-not-positive", (key,), value=number)
        elif key == "count":
            values["count"] = _count(cell)
        elif key == "known":
            source["known_from"] = _known_from(cell)
        elif key == "where":
            source["note"] = cell
        else:
            values[key] = cell
    if source:
        values["source"] = SpringSource(**source)
    if "rate_n_per_mm" not in values:
        raise BobweightError("missing", ("rate_n_per_mm",))
    for key, value in values.items():
        parameter = parameters(TraySpring)[key]
        problem = parameter.check(value) if parameter.kind != "one" else None
        if problem:
            raise BobweightError.of(problem)
    return TraySpring(**values, u=u)


def _count(cell: str) -> int:
    try:
        return int(cell.strip())
    except ValueError:
        raise BobweightError("not-whole", ("count",), value=cell.strip()[:40]) from None


def _known_from(cell: str) -> str:
    word = cell.strip().lower()
    if word in KNOWN_FROM:
        return word
    return next((key for key, text in KNOWN_FROM.items() if text.lower() == word), "typed")
