"""``bobweight picture``: the window as an image."""

from __future__ import annotations

import argparse
import math
import re
from pathlib import Path

from bobweight.app.command_line.command import (
    DONE,
    Command,
    add_frame,
    add_output,
    check_frame,
    check_output,
)


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE")
    parser.add_argument("--page", metavar="NAME", required=True)
    parser.add_argument("--size", metavar="WxH", type=size, default=(1366, 768))
    parser.add_argument("--scale", metavar="S", type=scale, default=1.0)
    parser.add_argument("--theme", choices=("light", "dark"), default="light")
    add_frame(parser)
    add_output(parser, ".png")


def size(text: str) -> tuple[int, int]:
    """Width and height of the window in logical pixels, such as ``1366x768``."""
    match = re.fullmatch(r"(\d{3,5})[xX×](\d{3,5})", text)
    width, height = (int(part) for part in match.groups()) if match else (0, 0)
    if not all(320 <= part <= 10_000 for part in (width, height)):
        raise argparse.ArgumentTypeError(f"“{text}” is not a size from 320x320 to 10000x10000")
    return width, height


def scale(text: str) -> float:
    """Device pixels per logical pixel."""
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not 0.5 <= found <= 4:
        raise argparse.ArgumentTypeError(f"“{text}” is not a scale from 0.5 to 4")
    return found


def _act(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line.screen import offscreen
    from bobweight.core.docket.file import read_docket

    output = check_output(arguments, [arguments.file])
    check_frame(arguments.frame, read_docket(arguments.file))
    with offscreen(arguments.scale):
        from bobweight.app.window.picture import take

        take(
            Path(arguments.file), arguments.page, arguments.size, arguments.scale,
            arguments.theme, output, arguments.frame,
        )  # fmt: skip
    return DONE


COMMANDS = (
    Command("picture", "The window as an image, without a screen.", _arguments, _act),
)  # fmt: skip
