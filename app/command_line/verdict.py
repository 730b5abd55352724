"""``bobweight verdict``: what the readings say."""

from __future__ import annotations

import argparse
import sys

from bobweight.app.command_line.command import DONE, Command


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE")
    parser.add_argument("--json", action="store_true", help="as JSON")


def _act(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line import answers, plain_text
    from bobweight.core.docket.file import read_docket

    docket = read_docket(arguments.file)
    points = answers.verdict_answer(docket, arguments.file)
    decision = answers.decision_answer(docket)
    if arguments.json:
        print(answers.json_text(points | decision))
    else:
        print(plain_text.verdict_text(points), plain_text.decision_text(decision), sep="\n\n")
    sys.stdout.flush()
    return DONE


COMMANDS = (
    Command(
        "verdict",
        "What the readings say: each check point, what is wrong, what to do.",
        _arguments,
        _act,
    ),
)
