"""``bobweight completion``: what a shell needs to complete the commands."""

from __future__ import annotations

import argparse

from bobweight.app.command_line.command import DONE, Command

SHELLS = ("bash", "zsh")


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("shell", choices=SHELLS)


def script(shell: str) -> str:
    """The script for a shell."""
    import shtab

    from bobweight.app.command_line.commands import manual

    made: str = shtab.complete(manual(), shell)
    return made


def _act(arguments: argparse.Namespace) -> int:
    print(script(arguments.shell))
    return DONE


COMMANDS = (
    Command(
        "completion",
        "What a shell needs to complete the commands; see its manual for where it goes.",
        _arguments,
        _act,
    ),
)
