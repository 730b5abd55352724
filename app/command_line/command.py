"""What a command is, and the kinds of argument that several take."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from bobweight.core.problems import BobweightError

DONE, FAILED, BAD_INPUT = 0, 1, 2
PAPERS = ("a4", "letter")


@dataclass(frozen=True)
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
        ``output-is-input``; ``file-exists``.
    """
    output: Path = arguments.output
    if output.exists() and not output.is_dir():  # of a folder, writing has a word to say
        if any(os.path.exists(file) and os.path.samefile(file, output) for file in read):
            raise BobweightError("output-is-input", (), file=str(output))
        if not arguments.force:
            raise BobweightError("file-exists", (), file=str(output))
    return output
