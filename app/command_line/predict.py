"""``bobweight predict``: the curves that the mechanism gives."""

from __future__ import annotations

import argparse
import math
import sys

from bobweight.app.command_line.command import DONE, Command, docket_from


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="a docket; - is standard input")
    parser.add_argument("--json", action="store_true", help="as JSON")
    parser.add_argument("--at", metavar="RPM,RPM,…", type=speeds, help="distributor rev/min")


def speeds(text: str) -> list[float]:
    """Distributor speeds in rev/min, separated by commas."""
    try:
        found = [float(part) for part in text.split(",")]
    except ValueError:
        found = []
    if not found or not all(math.isfinite(speed) and speed >= 0 for speed in found):
        raise argparse.ArgumentTypeError(
            f"“{text}” is not a list of speeds in rev/min, such as 600,1200.5"
        )
    return found


def _act(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line import answers, plain_text

    docket = docket_from(arguments.file)
    answer = answers.prediction_answer(docket, arguments.file, arguments.at)
    print(answers.json_text(answer) if arguments.json else plain_text.prediction_text(answer))
    sys.stdout.flush()
    return DONE


COMMANDS = (Command("predict", "The curves that the mechanism gives.", _arguments, _act),)
