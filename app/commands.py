"""The command line: the window, and the job without a screen.

Exit status: 0 done; 2 bad usage or a bad file, told in one line on standard error; 1 anything
else, told likewise (no display, a result that cannot be written). Qt is imported only by the
commands that paint.
"""

from __future__ import annotations

import argparse
import math
import os
import re
import sys
from pathlib import Path
from typing import NoReturn

from bobweight.core.problems import BobweightError

DONE, FAILED, BAD_INPUT = 0, 1, 2
_NAME = "bobweight"
_WRITING = {"file-not-writable", "folder-missing", "cannot-paint", "cannot-print"}
PRINTS = ("tape", "ring", "lamp-card", "session-sheet", "check-list")
COMMANDS = ("predict", "verdict", "springs", "sheet", *PRINTS, "picture")
PAPERS = ("a4", "letter")
SHEET_SUFFIXES = (".pdf", ".svg", ".png", ".csv")
PRINT_SUFFIXES = (".pdf", ".svg", ".png")


def run(argv: list[str]) -> int:
    """Do what the arguments say; the exit status."""
    try:
        if not argv or (len(argv) == 1 and _is_docket(argv[0])):
            return _window(Path(argv[0]) if argv else None)
        arguments = _parser().parse_args(argv)
        return arguments.act(arguments)
    except SystemExit as end:  # argparse: after --help, --version or bad usage
        return int(end.code or 0)
    except BobweightError as error:
        tell(_words(error))
        return FAILED if error.problem.code in _WRITING else BAD_INPUT
    except BrokenPipeError:  # whoever read the output has had enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FAILED
    except KeyboardInterrupt:
        return FAILED
    except Exception as error:
        tell(f"{type(error).__name__}: {error}")
        return FAILED


def tell(text: str) -> None:
    """One line on standard error."""
    print(f"{_NAME}: {' '.join(text.split())}", file=sys.stderr)


def _words(error: BobweightError) -> str:
    from bobweight.app.messages import (
        sentence,  # imports Qt's core, so only when something is wrong
    )

    problem = error.problem
    text = sentence(problem)
    file = problem.facts.get("file")
    return f"{file}: {text}" if file else text


class _Parser(argparse.ArgumentParser):
    """A parser that tells bad usage in one line."""

    def error(self, message: str) -> NoReturn:
        tell(f"{message} (see {self.prog} --help)")
        raise SystemExit(BAD_INPUT)


def _is_docket(name: str) -> bool:
    if name.startswith("-") or name in COMMANDS:
        return False
    return name.endswith(".docket") or os.path.exists(name)


def _parser() -> _Parser:
    parser = _Parser(
        prog=_NAME,
        usage=f"{_NAME} [FILE] | {_NAME} COMMAND … (COMMAND --help tells more)",
        description="Advance curves of contact-breaker ignition distributors. Without a command "
        "the window opens, on FILE if one is named.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=_version())
    commands = parser.add_subparsers(metavar="COMMAND", required=True)

    def command(name: str, act: object, about: str) -> argparse.ArgumentParser:
        made = commands.add_parser(
            name, prog=f"{_NAME} {name}", help=about, description=about, allow_abbrev=False
        )
        made.set_defaults(act=act)
        return made

    predict = command("predict", _predict, "The curves that the mechanism gives.")
    predict.add_argument("file", metavar="FILE")
    predict.add_argument("--json", action="store_true", help="as JSON")
    predict.add_argument("--at", metavar="RPM,RPM,…", type=speeds, help="distributor rev/min")

    verdict = command(
        "verdict", _verdict, "What the readings say: each check point, what is wrong, what to do."
    )
    verdict.add_argument("file", metavar="FILE")
    verdict.add_argument("--json", action="store_true", help="as JSON")

    from bobweight.app import spring_command

    spring_command.add_arguments(command("springs", _springs, spring_command.ABOUT))

    sheet = command("sheet", _sheet, "The sheet, on one page; several dockets go to one PDF.")
    sheet.add_argument("files", metavar="FILE", nargs="+")
    sheet.add_argument("-o", "--output", metavar="OUT.pdf|.svg|.png|.csv", required=True,
                       type=_with_suffix(SHEET_SUFFIXES))  # fmt: skip
    sheet.add_argument("--paper", choices=PAPERS, default="a4")
    sheet.add_argument("--pages", type=int, choices=(1, 2), default=1,
                       help="2: the record of the work at length as well")  # fmt: skip
    sheet.add_argument("--before", metavar="N|none", type=session_number, default=-1,
                       help="session to compare with, counted from 1; else the first")  # fmt: skip

    from bobweight.app import print_commands

    for name in PRINTS:
        made = command(name, _print, print_commands.ABOUT[name])
        print_commands.add_arguments(name, made, _with_suffix(PRINT_SUFFIXES), PAPERS)

    picture = command("picture", _picture, "The window as an image, without a screen.")
    picture.add_argument("file", metavar="FILE")
    picture.add_argument("--page", metavar="NAME", required=True)
    picture.add_argument("--size", metavar="WxH", type=size, default=(1366, 768))
    picture.add_argument("--scale", metavar="S", type=scale, default=1.0)
    picture.add_argument("--theme", choices=("light", "dark"), default="light")
    picture.add_argument("-o", "--output", metavar="OUT.png", required=True,
                         type=_with_suffix((".png",)))  # fmt: skip
    return parser


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return f"{_NAME} {version(_NAME)}"
    except PackageNotFoundError:
        return f"{_NAME} (not installed)"


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


def size(text: str) -> tuple[int, int]:
    """Width and height of the window in logical pixels, such as ``1366x768``."""
    match = re.fullmatch(r"(\d{3,5})[xX×](\d{3,5})", text)
    found = tuple(int(part) for part in match.groups()) if match else (0, 0)
    if not all(320 <= part <= 10_000 for part in found):
        raise argparse.ArgumentTypeError(f"“{text}” is not a size from 320x320 to 10000x10000")
    return found


def scale(text: str) -> float:
    """Device pixels per logical pixel."""
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not 0.5 <= found <= 4:
        raise argparse.ArgumentTypeError(f"“{text}” is not a scale from 0.5 to 4")
    return found


def _with_suffix(suffixes: tuple[str, ...]) -> object:
    def path(text: str) -> Path:
        if Path(text).suffix.lower() not in suffixes:
            known = ", ".join(suffixes)
            raise argparse.ArgumentTypeError(f"the name of “{text}” must end with {known}")
        return Path(text)

    return path


def _window(file: Path | None) -> int:
    from bobweight.app.command_line.screen import has_screen

    if file is not None:
        from bobweight.core.docket.file import read_docket

        read_docket(file)  # told here, where it was named
    if not has_screen():
        tell(f"no display to open the window on; without one use {', '.join(COMMANDS)}")
        return FAILED
    from bobweight.app.start import start

    return start(file)


def _predict(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line import answers, plain_text
    from bobweight.core.docket.file import read_docket

    docket = read_docket(arguments.file)
    answer = answers.prediction_answer(docket, arguments.file, arguments.at)
    print(answers.json_text(answer) if arguments.json else plain_text.prediction_text(answer))
    sys.stdout.flush()
    return DONE


def _verdict(arguments: argparse.Namespace) -> int:
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


def _springs(arguments: argparse.Namespace) -> int:
    from bobweight.app import spring_command
    from bobweight.app.command_line import answers

    answer = spring_command.run(arguments)
    print(answers.json_text(answer) if arguments.json else spring_command.text(answer))
    sys.stdout.flush()
    return DONE


def _sheet(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line.screen import offscreen
    from bobweight.core.docket.file import read_docket

    files, output = arguments.files, arguments.output
    dockets = [read_docket(file) for file in files]
    if len(files) > 1 and output.suffix.lower() == ".csv":
        raise BobweightError("several-pages", (), file=output.name, count=len(files))
    with offscreen():
        from bobweight.app.paper.output import write_sheets
        from bobweight.app.workshop import workshop_at_hand
        from bobweight.core.sheet.docket_sheet import SheetOptions

        options = SheetOptions(arguments.pages, arguments.before, workshop_at_hand())
        write_sheets(dockets, output, arguments.paper, options)
    return DONE


def session_number(text: str) -> int | None:
    """The index of a session counted from 1; None for none."""
    if text == "none":
        return None
    if not text.isascii() or not text.isdigit() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"“{text}” is neither a number of a session nor none")
    return int(text) - 1


def _print(arguments: argparse.Namespace) -> int:
    from bobweight.app import print_commands

    print_commands.run(arguments)
    return DONE


def _picture(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line.screen import offscreen
    from bobweight.core.docket.file import read_docket

    read_docket(arguments.file)
    with offscreen(arguments.scale):
        from bobweight.app.picture import take

        take(
            Path(arguments.file), arguments.page, arguments.size, arguments.scale,
            arguments.theme, arguments.output,
        )  # fmt: skip
    return DONE
