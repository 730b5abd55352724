"""``bobweight tape``, ``ring``, ``lamp-card``, ``session-sheet``, ``check-list`` and
``measuring-card``: prints without a window. Lengths and angles may be typed with their unit."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from bobweight.app.command_line.arguments import add_values, with_values
from bobweight.app.command_line.command import (
    BAD_INPUT,
    DONE,
    PAPERS,
    Command,
    add_output,
    check_output,
    tell,
)
from bobweight.core.bench.ring import RingSpec
from bobweight.core.bench.tape import TapeSpec
from bobweight.core.problems import BobweightError
from bobweight.core.record import Record

if TYPE_CHECKING:
    from bobweight.app.prints.kinds import Asked


def _docket_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("docket", metavar="FILE")
    _output_arguments(parser)


def _output_arguments(parser: argparse.ArgumentParser) -> None:
    add_output(parser, ".pdf", ".svg", ".png")
    parser.add_argument("--paper", choices=PAPERS, default="a4")


def _bare_arguments(parser: argparse.ArgumentParser) -> None:
    parser.set_defaults(docket=None)
    _output_arguments(parser)


def _asking(record: type[Record]) -> Callable[[argparse.ArgumentParser], None]:
    """The arguments of a print that asks for more than a docket, or for none."""

    def arguments(parser: argparse.ArgumentParser) -> None:
        add_values(parser, record)
        parser.add_argument("--docket", metavar="FILE", help="what is known of it from a docket")
        _output_arguments(parser)

    return arguments


def _writes(key: str) -> Callable[[argparse.Namespace], int]:
    """What writes one of the prints of :data:`app.prints.kinds.KINDS`."""

    def act(arguments: argparse.Namespace) -> int:
        from bobweight.app.command_line.screen import offscreen

        file = arguments.docket
        output = check_output(arguments, [] if file is None else [file])
        with offscreen():
            from bobweight.app.messages.lacking import curve_needs
            from bobweight.app.paper.output import write_description
            from bobweight.app.prints.kinds import KINDS

            made, question = _asked(key, arguments)
            try:
                description = KINDS[key].describe(made, question)
            except BobweightError as error:
                if error.problem.code != "curve-needed":
                    raise
                tell(curve_needs(made.outcome))
                return BAD_INPUT
            write_description(description, output)
        return DONE

    return act


def _asked(key: str, arguments: argparse.Namespace) -> tuple[Asked, Record | None]:
    """What a print is made of, and the record of its own questions."""
    from bobweight.app.paper.output import with_judgement
    from bobweight.app.prints.kinds import CARD_FRAME, KINDS, Asked
    from bobweight.app.store.workshop import workshop_at_hand
    from bobweight.core.docket.docket import Docket
    from bobweight.core.docket.file import read_docket
    from bobweight.core.figure.view import view_of
    from bobweight.core.judgement.outcome import outcome

    docket = Docket() if arguments.docket is None else read_docket(arguments.docket)
    kind, view = KINDS[key], view_of(docket)
    asked = with_values(kind.asks(docket), arguments) if kind.asks else None
    known = outcome(docket)
    said = with_judgement(known, frame=CARD_FRAME).said if key == "card" else ""
    return Asked(known, view, arguments.paper, workshop_at_hand(), said), asked


COMMANDS = (
    Command(
        "tape", "A timing tape for a pulley, at true size.", _asking(TapeSpec), _writes("tape")
    ),
    Command("ring", "A degree ring for a rig, at true size.", _asking(RingSpec), _writes("ring")),
    Command(
        "lamp-card", "What the lamp must show at each speed, to take to the engine.",
        _docket_arguments, _writes("card"),
    ),
    Command(
        "session-sheet", "A blank sheet for readings, with the docket’s speeds.",
        _docket_arguments, _writes("session"),
    ),
    Command(
        "check-list", "The reassembly list of this unit.", _docket_arguments, _writes("steps")
    ),
    Command(
        "measuring-card", "The card to lay round a unit before it is photographed, at true size.",
        _bare_arguments, _writes("measuring"),
    ),
)  # fmt: skip
