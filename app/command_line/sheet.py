"""``bobweight sheet``: the sheet of one docket or several."""

from __future__ import annotations

import argparse

from bobweight.app.command_line.command import (
    DONE,
    PAPERS,
    Command,
    add_frame,
    add_output,
    check_frame,
    check_output,
)
from bobweight.core.problems import BobweightError


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("files", metavar="FILE", nargs="+")
    add_output(parser, ".pdf", ".svg", ".png", ".csv")
    parser.add_argument("--paper", choices=PAPERS, default="a4")
    add_frame(parser)
    parser.add_argument("--pages", type=int, choices=(1, 2), default=1,
                        help="2: the record of the work at length as well")  # fmt: skip
    parser.add_argument("--before", metavar="N|none", type=session_number, default=-1,
                        help="session to compare with, counted from 1; else the first")  # fmt: skip


def session_number(text: str) -> int | None:
    """The index of a session counted from 1; None for none."""
    if text == "none":
        return None
    if not text.isascii() or not text.isdigit() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"“{text}” is neither a number of a session nor none")
    return int(text) - 1


def _act(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line.screen import offscreen
    from bobweight.core.docket.file import read_docket

    files = arguments.files
    output = check_output(arguments, files)
    dockets = [read_docket(file) for file in files]
    for file, docket in zip(files, dockets, strict=True):
        check_frame(arguments.frame, docket)
        count, before = len(docket.sessions), arguments.before
        if before is not None and before >= count:
            raise BobweightError("no-such-session", (), file=file, value=before + 1, count=count)
    if len(files) > 1 and output.suffix.lower() == ".csv":
        raise BobweightError("several-pages", (), file=output.name, count=len(files))
    with offscreen():
        from bobweight.app.paper.output import write_sheets
        from bobweight.app.store.workshop import workshop_at_hand
        from bobweight.core.sheet.options import SheetOptions

        options = SheetOptions(arguments.pages, arguments.before, workshop_at_hand())
        write_sheets(dockets, output, arguments.paper, options, arguments.frame)
    return DONE


COMMANDS = (
    Command(
        "sheet", "The sheet, on one page; several dockets go to one PDF.", _arguments, _act
    ),
)  # fmt: skip
