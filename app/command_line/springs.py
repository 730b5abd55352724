"""``bobweight springs``: the best pairs of a tray for a docket's target, without a window."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bobweight.app.command_line.arguments import add_values, option, with_values
from bobweight.app.command_line.command import DONE, Command, docket_from
from bobweight.core.design.asks import SearchAsk
from bobweight.core.problems import BobweightError

if TYPE_CHECKING:
    from bobweight.core.design.tray import Tray


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="a docket; - is standard input")
    parser.add_argument(
        "--tray", metavar="TRAY", help="a tray file or a table as CSV; else your own tray"
    )
    add_values(parser, SearchAsk)
    parser.add_argument("--json", action="store_true", help="as JSON")


def found(arguments: argparse.Namespace) -> dict[str, Any]:
    """The candidates, the best first, with the field names of the JSON; distributor degrees.

    Raises
    ------
    BobweightError
        Of the files, or where the docket's target or mechanism or the tray does not allow a
        search.
    """
    from bobweight.app.command_line.answers import headed
    from bobweight.core.facade import records, search
    from bobweight.core.judgement.decision import decide_docket

    asked = with_values(SearchAsk(), arguments)
    if not asked.stop_free:
        for key in ("stop_least_deg", "stop_most_deg"):
            if getattr(arguments, f"value_{key}") is not None:
                raise BobweightError("stop-not-free", (), argument=option((key,)))
    docket = docket_from(arguments.file)
    tray, decision = _tray(arguments.tray), None
    if any(session.readings for session in docket.sessions):
        decision = decide_docket(docket, with_fit=False)
    try:
        pairs = search(docket, tray, asked, decision)
    except BobweightError as error:
        file = (arguments.tray or "") if error.problem.code.startswith("tray-") else arguments.file
        raise (error.in_file(file) if file else error) from None
    return headed("springs", {"candidates": records(pairs)})


def _tray(name: str | None) -> Tray:
    from bobweight.core.design.tray import Tray
    from bobweight.core.design.tray_file import read_tray
    from bobweight.core.docket.file import read_bytes
    from bobweight.core.tables.source import SPREADSHEETS, read_source
    from bobweight.core.tables.understanding import understand_source

    if name is None:
        from bobweight.app.store.tray_store import FILE_NAME, home_folder

        return read_tray(home_folder() / FILE_NAME)
    path = Path(name)
    try:
        if path.suffix.lower() not in (".csv", ".tsv", ".txt", *SPREADSHEETS):
            read_bytes(path)  # a tray that is named must be there
            return read_tray(path)
        table = understand_source(read_source(path), "tray")
        for problem in (*table.problems, *(row.problem for row in table.refused)):
            if problem is not None:
                raise BobweightError.of(problem)
        return Tray(springs=table.stored)
    except BobweightError as error:
        raise error.in_file(name) from None


def text(answer: dict[str, Any]) -> str:
    """The candidates as a table."""
    from bobweight.app.command_line.plain_text import table_lines
    from bobweight.app.messages.figures import work_word
    from bobweight.core.figure.numbers import figure
    from bobweight.core.units import percent

    if not answer["candidates"]:
        return "No pair of the tray leaves the mechanism working."
    keys = (
        "primary_post_mm", "secondary_post_mm", "secondary_slack_mm", "stop_deg", "margin_deg",
    )  # fmt: skip
    rows = [["work", "primary", "secondary", "primary post mm", "secondary post mm", "slack mm",
             "stop °", "margin °", "inside"]]  # fmt: skip
    for c in answer["candidates"]:
        names = [c[key] or "(stays)" for key in ("primary", "secondary")]
        figures = [figure(c[key], 2) for key in keys]
        rows.append([work_word(c["work"]), *names, *figures, percent(c["probability_inside"])])
    lines = table_lines(rows, words=3)
    lines.append(
        "Posts are bent from where they were measured. Distributor degrees; the margin is to the "
        "nearest limit."
    )
    return "\n".join(lines)


def _act(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line import answers

    answer = found(arguments)
    print(answers.json_text(answer) if arguments.json else text(answer))
    sys.stdout.flush()
    return DONE


COMMANDS = (
    Command(
        "springs",
        "The springs in a tray that meet the target, the least work first.",
        _arguments,
        _act,
    ),
)
