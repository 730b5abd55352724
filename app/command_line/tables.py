"""``bobweight import`` and ``export``: tables into a docket or a tray, and out."""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bobweight.app.command_line.command import (
    BAD_INPUT,
    DONE,
    FRAMES,
    Command,
    add_output,
    check_output,
)
from bobweight.core.problems import BobweightError, Problem

if TYPE_CHECKING:
    from bobweight.core.docket.docket import Docket
    from bobweight.core.tables.frames import Place
    from bobweight.core.tables.understood import Choice, Understanding

FORMAT, VERSION = "bobweight.import", 1
_KINDS = ("readings", "target", "tray")


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="DOCKET", help="for a tray: a docket or a tray file")
    parser.add_argument("table", metavar="TABLE", help="csv, tsv, txt, xlsx, xls or ods")
    parser.add_argument("--as", dest="kind", choices=_KINDS, required=True, help="what it holds")
    parser.add_argument(
        "--columns", metavar="KEY=N,…", type=columns, default={},
        help="what columns are, counted from 1, with unit and frame where the table does not say: "
        "speed_rpm=1:Hz,angle_deg=2:crank",
    )  # fmt: skip
    parser.add_argument("--session", metavar="N", type=int,
                        help="which session, counted from 1; else the last")  # fmt: skip
    parser.add_argument("--sheet", metavar="NAME", help="which sheet of a spreadsheet")
    parser.add_argument("-o", "--output", metavar="OUT", type=Path,
                        help="write the docket or the tray with them")  # fmt: skip
    parser.add_argument("--force", action="store_true",
                        help="write over a file that is there already")  # fmt: skip
    parser.add_argument("--json", action="store_true", help="as JSON")


def columns(text: str) -> dict[int, Choice]:
    """What columns are, as ``KEY=N[:UNIT][:FRAME]`` with commas between."""
    from bobweight.core.tables.headings import MEANINGS
    from bobweight.core.tables.understood import Choice

    known = dict.fromkeys(key for keys in MEANINGS.values() for key in keys) | {"ignored": None}
    found: dict[int, Choice] = {}
    for part in filter(None, text.split(",")):
        match = re.fullmatch(r"\s*([a-z_]+)\s*=\s*(\d+)((?::[^:]*)*)\s*", part)
        if not match:
            raise argparse.ArgumentTypeError(
                f"“{part}” is not KEY=N, such as speed_rpm=1 or depression_kpa=3:inHg"
            )
        key, index = match[1], int(match[2])
        if key not in known:
            raise argparse.ArgumentTypeError(f"“{key}” is none of {', '.join(known)}")
        if index in found:
            raise argparse.ArgumentTypeError(f"column {index} is named twice")
        unit = frame = None
        for word in filter(None, match[3].split(":")):
            if word in FRAMES and frame is None:
                frame = word
            elif word not in FRAMES and unit is None:
                unit = word
            else:
                raise argparse.ArgumentTypeError(f"“{part}” names two units or two frames")
        found[index] = Choice(key, unit, frame)
    return found


def _act(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line.answers import json_text
    from bobweight.core.tables.source import read_source
    from bobweight.core.tables.understanding import understand_source

    inputs = (arguments.file, arguments.table)
    if arguments.output is not None:
        suffix = ".tray" if arguments.kind == "tray" else ".docket"
        if arguments.output.suffix.lower() != suffix:
            raise BobweightError("table-suffix-unknown", (), file=str(arguments.output),
                                 known=suffix)  # fmt: skip
        check_output(arguments, inputs)
    into = _Into(arguments)
    source = read_source(arguments.table, arguments.sheet)
    try:
        found = understand_source(source, arguments.kind, into.place(), arguments.columns)
        into.kind = found.kind
        if found.kind == "vacuum":  # the table tells: its advances are in the vacuum's frame
            found = understand_source(source, "vacuum", into.place(), arguments.columns)
    except BobweightError as error:
        raise error.in_file(arguments.table) from None
    trouble = found.problems[0] if found.problems else None
    if trouble is None and not found.stored and not found.settings:
        trouble = Problem("nothing-to-take")
    written = None
    if trouble is None and arguments.output is not None:
        into.write(found, arguments.output)
        written = str(arguments.output)
    answer = import_answer(found, arguments.table, source.sheet, written)
    print(json_text(answer) if arguments.json else text(answer))
    sys.stdout.flush()
    if trouble is None:
        return DONE
    from bobweight.app.command_line.commands import tell
    from bobweight.app.messages.table_words import table_sentence

    tell(f"{arguments.table}: {table_sentence(trouble)}")
    return BAD_INPUT


class _Into:
    """Where the table goes."""

    def __init__(self, arguments: argparse.Namespace) -> None:
        from bobweight.core.docket.file import read_docket

        self.kind = arguments.kind
        self.file = arguments.file
        self.docket: Docket | None = None
        self.session = -1
        if arguments.kind == "tray" and Path(self.file).suffix.lower() != ".docket":
            from bobweight.core.docket.file import read_bytes

            try:
                read_bytes(Path(self.file))  # a tray that is named must be there
            except BobweightError as error:
                raise error.in_file(self.file) from None
            return
        self.docket = read_docket(self.file)
        if arguments.kind == "readings":
            try:
                self.session = session_index(self.docket, arguments.session)
            except BobweightError as error:
                raise error.in_file(self.file) from None

    def place(self) -> Place:
        """How figures are kept there."""
        from bobweight.core.tables.frames import Place, place_of_readings, place_of_target

        if self.docket is None or self.kind == "tray":
            return Place()
        if self.kind == "readings":
            return place_of_readings(self.docket, self.session)
        return place_of_target(self.docket, self.kind == "vacuum")

    def write(self, found: Understanding, output: Path) -> None:
        """Write the docket or the tray with what is taken."""
        from bobweight.core.docket.file import write_docket
        from bobweight.core.tables.taking import docket_with, tray_with

        if found.kind == "tray":
            from bobweight.core.design.tray import Tray
            from bobweight.core.design.tray_file import read_tray, write_tray

            tray = Tray() if self.docket is not None else read_tray(self.file)
            write_tray(tray_with(tray, found), output)
            return
        assert self.docket is not None
        write_docket(docket_with(self.docket, found, self.session), output)


def session_index(docket: Docket, number: int | None) -> int:
    """The index of a session counted from 1; of the last for None.

    Raises
    ------
    BobweightError
        ``no-such-session``.
    """
    count = len(docket.sessions)
    if not count or (number is not None and not 1 <= number <= count):
        value = 1 if number is None else number
        raise BobweightError("no-such-session", (), value=value, count=count)
    return count - 1 if number is None else number - 1


def import_answer(
    found: Understanding, table: str, sheet: str = "", written: str | None = None
) -> dict[str, Any]:
    """What was understood, with the field names of the JSON."""
    from bobweight.core.docket.plain import to_plain

    rows: list[dict[str, Any]] = []
    for row in found.rows:
        if row.problem is not None:
            rows.append({"row": row.line, "problem": _told(row.problem)})
        rows += [
            {"row": row.line, "stored": {k: v for k, v in to_plain(record).items() if v != {}}}
            for record in row.stored
        ]
        if row.settings:
            rows.append({"row": row.line, "settings": dict(row.settings)})
        for advice in row.advice:
            rows[-1].setdefault("advice", []).append(_told(advice))
    return {
        "format": FORMAT,
        "version": VERSION,
        "table": table,
        "sheet": sheet or None,
        "encoding": found.encoding or "utf-8",
        "as": found.kind,
        "sure": found.sure,
        "columns": [
            {
                "index": c.index, "heading": c.heading, "meaning": c.meaning, "frame": c.frame,
                "unit": c.unit, "sure": c.sure, "reason": c.reason,
            }
            for c in found.columns
        ],
        "rows": rows,
        "passed_over": list(found.passed_over),
        "problems": [_told(problem) for problem in found.problems],
        "written": written,
    }  # fmt: skip


def _told(problem: Problem) -> dict[str, Any]:
    from bobweight.app.messages.table_words import table_sentence

    return {"code": problem.code, "sentence": table_sentence(problem)}


def text(answer: dict[str, Any]) -> str:
    """What was understood, for reading."""
    from bobweight.app.messages.table_words import meaning_text

    lines = ["column  heading             meaning                 frame         unit      sure"]
    for c in answer["columns"]:
        known = c["sure"] or c["meaning"] in ("ignored", "unknown", "row_number")
        lines.append(
            f"{c['index']:>6}  {c['heading'][:18]:<18}  {meaning_text(c['meaning'])[:22]:<22}  "
            f"{c['frame'] or '':<12}  {c['unit'] or '':<8}  {'yes' if known else 'no'}"
        )
    lines.append("")
    for row in answer["rows"]:
        if "problem" in row:
            lines.append(f"row {row['row']}: not taken. {row['problem']['sentence']}")
        else:
            values = row.get("stored") or row.get("settings") or {}
            said = ", ".join(f"{k} {v}" for k, v in values.items() if v not in (None, "", False))
            lines.append(f"row {row['row']}: {said}")
            lines += [f"    {advice['sentence']}" for advice in row.get("advice", ())]
    lines += ["", *(problem["sentence"] for problem in answer["problems"])]
    if answer["encoding"] != "utf-8":
        lines.append(f"The file is not UTF-8; it was read as {answer['encoding']}.")
    if answer["written"]:
        lines.append(f"Written to {answer['written']}.")
    return "\n".join(lines).rstrip()


def _export_arguments(parser: argparse.ArgumentParser) -> None:
    from bobweight.core.tables.export import SUFFIXES, TABLES

    parser.add_argument("file", metavar="FILE")
    parser.add_argument("--what", choices=TABLES, required=True, help="which table")
    parser.add_argument("--session", metavar="N", type=int,
                        help="which session, counted from 1; else the last")  # fmt: skip
    add_output(parser, *SUFFIXES)


def _export(arguments: argparse.Namespace) -> int:
    from bobweight.core.docket.file import read_docket
    from bobweight.core.tables.export import OF_A_SESSION, table_rows, write_table

    output = check_output(arguments, (arguments.file,))
    docket = read_docket(arguments.file)
    try:
        session = -1
        if arguments.what in OF_A_SESSION or arguments.session is not None:
            session = session_index(docket, arguments.session)
        rows = table_rows(docket, arguments.what, session)
    except BobweightError as error:
        raise error.in_file(arguments.file) from None
    write_table(rows, output, arguments.what)
    return DONE


COMMANDS = (
    Command(
        "import",
        "What a table is understood to say; with -o the docket with its rows.",
        _arguments,
        _act,
    ),
    Command("export", "A table of a docket as CSV or xlsx.", _export_arguments, _export),
)
