"""``bobweight predict``: the curves that the mechanism gives."""

from __future__ import annotations

import argparse
import re
import sys

from bobweight.app.command_line.command import DONE, Command, docket_from


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="a docket; - is standard input")
    parser.add_argument("--json", action="store_true", help="as JSON")
    parser.add_argument(
        "--at",
        metavar="RPM,RPM,…",
        type=speeds,
        help="distributor rev/min, or another unit of speed",
    )


def speeds(text: str) -> list[float]:
    """Distributor speeds, separated by commas or semicolons; in rev/min where no unit is typed."""
    from bobweight.app.command_line.arguments import reader
    from bobweight.core.units import SPEED

    if ";" not in text and (doubtful := re.search(r"(?<![\d.])[1-9],\d{3}(?!\d)", text)):
        raise argparse.ArgumentTypeError(
            f"“{doubtful[0]}” could be one speed or two; type {doubtful[0].replace(',', '')} or "
            f"“{doubtful[0].replace(',', ';')}”"
        )
    found = list(map(reader(SPEED), text.split(";" if ";" in text else ",")))
    if min(found) < 0:
        raise argparse.ArgumentTypeError(f"“{text}” has a speed below 0, and the least is 0")
    return found


def _act(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line import answers, plain_text

    docket = docket_from(arguments.file)
    answer = answers.prediction_answer(docket, arguments.file, arguments.at)
    if arguments.json:
        print(answers.json_text(answer))
    else:
        from bobweight.core.judgement.assume import assume

        described = docket.with_changes(mechanism=assume(docket).mechanism)
        print(plain_text.prediction_text(answer, described))
    sys.stdout.flush()
    return DONE


COMMANDS = (Command("predict", "The curves that the mechanism gives.", _arguments, _act),)
