"""``bobweight manual``: the manual as a PDF file, or its pictures made anew from the window."""

from __future__ import annotations

import argparse
from pathlib import Path

from bobweight.app.command_line.command import DONE, Command, add_output, check_output


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_output(parser, ".pdf")


def _act(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line.screen import offscreen

    output = check_output(arguments)
    with offscreen():
        from bobweight.app.manual.view import write_manual

        write_manual(output)
    return DONE


def _picture_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="FOLDER", type=Path)


def _make_pictures(arguments: argparse.Namespace) -> int:
    """A picture of every page with the demonstration docket."""
    from bobweight.app.command_line.commands import run
    from bobweight.app.pages import PAGES
    from bobweight.app.store.places import sample_curve

    for page in PAGES:
        target = arguments.folder / f"{page.key}.png"
        status = run(
            ["picture", str(sample_curve("weak_primary.docket")), "--page", page.key, "--size",
             "1280x720", "--theme", "light", "--force", "-o", str(target)]
        )  # fmt: skip
        if status != DONE:
            return status
        fewer_colours(target)
    return DONE


def fewer_colours(picture: Path) -> None:
    """A window has few colours: a third of the bytes show the same. A rare one stays too, for
    what stands in few pixels (a sign, the words at a curve) is told apart by it."""
    from PIL import Image

    with Image.open(picture) as opened:
        rare = Image.Quantize.MAXCOVERAGE
        # The means put right what coverage alone shifts: the grounds, which are most of a window.
        plain = opened.convert("RGB").quantize(256, rare, kmeans=1, dither=Image.Dither.NONE)
    plain.save(picture, optimize=True)


COMMANDS = (
    Command("manual", "The manual as a PDF file.", _arguments, _act),
    Command(
        "manual-pictures", "The manual’s pictures, made from the window as it is.",
        _picture_arguments, _make_pictures,
    ),
)  # fmt: skip
