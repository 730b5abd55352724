"""The command line: the window, and the job without a screen.

Exit status: 0 done; 2 bad usage or a bad file, told in one line on standard error; 1 anything
else, told likewise (no display, a result that cannot be written). Qt is imported only by the
commands that paint.
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import NoReturn

from bobweight.app.command_line import MODULES, find_command
from bobweight.app.command_line.command import BAD_INPUT, FAILED, NAME, tell, told
from bobweight.core.problems import BobweightError

_TRIM_THRESHOLD, _MMAP_THRESHOLD = -1, -3  # of malloc.h
_WRITING = {
    "file-not-writable", "folder-missing", "file-exists", "output-is-input", "cannot-paint",
    "cannot-print", "no-such-desktop",
}  # fmt: skip


def run(argv: list[str]) -> int:
    """Do what the arguments say; the exit status."""
    try:
        if not argv or (len(argv) == 1 and _is_docket(argv[0])):
            return _window(Path(argv[0]) if argv else None)
        named = [argv[0]] if argv[0] in MODULES else list(MODULES)
        arguments = parser(named).parse_args(argv)
        _keep_memory()
        status: int = arguments.act(arguments)
        return status
    except SystemExit as end:  # argparse: after --help, --version or bad usage
        return int(end.code or 0)
    except BobweightError as error:
        tell(told(error))
        return FAILED if error.problem.code in _WRITING else BAD_INPUT
    except BrokenPipeError:  # whoever read the output has had enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FAILED
    except KeyboardInterrupt:
        return FAILED
    except Exception as error:
        if isinstance(error, OSError) and error.strerror:
            tell(f"{error.filename or 'standard output'}: {error.strerror}")
        else:
            tell(f"{type(error).__name__}: {error}")
        return BAD_INPUT if "--exit-code" in argv else FAILED  # there 1 is an answer


def _keep_memory() -> None:
    """Keep what is freed for what is asked for next, where the C library is glibc: it would give
    the arrays of each batch back, and have them mapped and cleared anew hundreds of times."""
    import ctypes  # as numpy does

    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (AttributeError, OSError, TypeError):  # another library
        return
    mallopt(_MMAP_THRESHOLD, 32 << 20)
    mallopt(_TRIM_THRESHOLD, 256 << 20)


class _Parser(argparse.ArgumentParser):
    """A parser that tells bad usage in one line."""

    def error(self, message: str) -> NoReturn:
        tell(f"{message} (see {self.prog} --help)")
        raise SystemExit(BAD_INPUT)


def _is_docket(name: str) -> bool:
    if name.startswith("-") or name in MODULES:
        return False
    return name.endswith(".docket") or os.path.exists(name)


def parser(names: list[str]) -> argparse.ArgumentParser:
    """The parser of these commands."""
    made = _Parser(
        prog=NAME,
        usage=f"{NAME} [FILE] | {NAME} COMMAND … (COMMAND --help tells more)",
        description="Advance curves of contact-breaker ignition distributors. Without a command "
        "the window opens, on FILE if one is named.",
        allow_abbrev=False,
    )
    made.add_argument("--version", action=_Version)
    commands = made.add_subparsers(metavar="COMMAND", required=True)
    for found in map(find_command, names):
        one = commands.add_parser(
            found.name, prog=f"{NAME} {found.name}", help=found.about, description=found.about,
            allow_abbrev=False,
        )  # fmt: skip
        found.arguments(one)
        one.set_defaults(act=found.act)
    return made


def manual() -> argparse.ArgumentParser:
    """The parser of all commands, for what is made of it: the manual page, completion."""
    return parser(list(MODULES))


class _Version(argparse.Action):
    """Reads the version only where it is asked for."""

    def __init__(self, option_strings: list[str], dest: str) -> None:
        super().__init__(option_strings, dest, nargs=0, help="show the version and exit")

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> NoReturn:
        from bobweight.app.words import version

        print(NAME, version())
        parser.exit()


def _window(file: Path | None) -> int:
    from bobweight.app.command_line.screen import has_screen

    if file is not None:
        from bobweight.core.docket.file import read_docket

        read_docket(file)  # told here, where it was named
    if not has_screen():
        tell(f"no display to open the window on; without one use {', '.join(MODULES)}")
        return FAILED
    from bobweight.app.window.start import start

    return start(file)
