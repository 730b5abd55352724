"""What a command is, and the kinds of argument that several take."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError

if TYPE_CHECKING:
    from bobweight.core.docket.docket import Docket

NAME = "bobweight"
DONE, FAILED, BAD_INPUT = 0, 1, 2
PAPERS = ("a4", "letter")
FRAMES = ("distributor", "crank", "crank-static")


@frozen
class Command:
    """One word behind ``bobweight``.

    Parameters
    ----------
    name, about : str
        The word, and what it does in one sentence.
    arguments : callable
        ``arguments(parser)`` says what it takes.
    act : callable
        ``act(arguments)`` does it and gives the exit status; it may raise a BobweightError.
    """

    name: str
    about: str
    arguments: Callable[[argparse.ArgumentParser], None]
    act: Callable[[argparse.Namespace], int]


def add_output(parser: argparse.ArgumentParser, *suffixes: str) -> None:
    """``-o``, whose name must end in one of the suffixes, and ``--force``."""
    parser.add_argument("-o", "--output", metavar=f"OUT{'|'.join(suffixes)}", required=True,
                        type=_with_suffix(suffixes))  # fmt: skip
    parser.add_argument(
        "--force", action="store_true", help="write over a file that is there already"
    )


def add_frame(parser: argparse.ArgumentParser) -> None:
    """``--frame``: at which shaft the figures are shown."""
    parser.add_argument(
        "--frame", choices=FRAMES, default="",
        help="where figures are shown, if not as the table has them; crank-static counts the "
        "static timing in",
    )  # fmt: skip


def check_frame(frame: str, docket: Docket) -> None:
    """Refuse figures with a static timing that nobody entered.

    Raises
    ------
    BobweightError
        ``static-needed``.
    """
    if frame == "crank-static" and docket.setting_up.static_deg is None:
        raise BobweightError("static-needed", ("setting_up", "static_deg"))


def _with_suffix(suffixes: tuple[str, ...]) -> Callable[[str], Path]:
    def path(text: str) -> Path:
        if Path(text).suffix.lower() not in suffixes:
            known = ", ".join(suffixes)
            raise argparse.ArgumentTypeError(f"the name of “{text}” must end with {known}")
        return Path(text)

    return path


def check_output(arguments: argparse.Namespace, read: Iterable[str | Path] = ()) -> Path:
    """Where the result goes, once it is sure that nothing is lost there.

    Parameters
    ----------
    arguments : argparse.Namespace
        With ``output`` and ``force`` as :func:`add_output` makes them.
    read : iterable of path
        The files that the result is made of: never written over, whatever is asked.

    Raises
    ------
    BobweightError
        ``file-is-folder``; ``output-is-input``; ``file-exists``.
    """
    output: Path = arguments.output
    if os.path.isdir(output):
        raise BobweightError("file-is-folder", (), file=str(output))
    if os.path.lexists(output):
        there = [file for file in read if os.path.exists(file)]
        if os.path.exists(output) and any(os.path.samefile(file, output) for file in there):
            raise BobweightError("output-is-input", (), file=str(output))
        if not arguments.force:
            raise BobweightError("file-exists", (), file=str(output))
    return output


def tell(text: str) -> None:
    """One line on standard error."""
    print(f"{NAME}: {' '.join(text.split())}", file=sys.stderr)


def told(error: BobweightError) -> str:
    """What is wrong, in words, with the file first."""
    from bobweight.app.messages import sentence

    problem = error.problem
    text = sentence(problem)
    file = problem.facts.get("file")
    return f"{file}: {text}" if file else text


def docket_from(name: str) -> Docket:
    """The docket in a file, or on standard input where the name is ``-``.

    Raises
    ------
    BobweightError
        As :func:`core.docket.file.read_docket`.
    """
    return docket_and_text(name)[0]


def docket_and_text(name: str) -> tuple[Docket, str]:
    """The same, and the text that it was read from."""
    from bobweight.core.docket.entry import SIZE_LIMIT
    from bobweight.core.docket.file import docket_from_text, read_bytes, text_of

    try:
        data = sys.stdin.buffer.read(SIZE_LIMIT + 1) if name == "-" else read_bytes(Path(name))
        if len(data) > SIZE_LIMIT:
            raise BobweightError("file-too-large", (), limit=SIZE_LIMIT)
        text = text_of(data)
        return docket_from_text(text), text
    except BobweightError as error:
        raise error.in_file("standard input" if name == "-" else name) from None


def whole_from_1(text: str) -> int:
    """A whole number from 1, as arguments count."""
    if not text.isascii() or not text.isdigit() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"“{text}” is not a whole number from 1")
    return int(text)
