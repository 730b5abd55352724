"""``bobweight tape``, ``ring``, ``lamp-card``, ``session-sheet`` and ``check-list``: prints without
a window. Lengths and angles may be typed with their unit."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path

from bobweight.app.command_line.command import DONE, PAPERS, Command, add_output, check_output
from bobweight.core.bench.ring import EDGES, RingSpec
from bobweight.core.bench.scale import Steps
from bobweight.core.bench.tape import ROTATIONS, SIDES, TapeSpec
from bobweight.core.problems import BobweightError
from bobweight.core.units import ANGLE, LENGTH, Quantity, parse

_OF_A_DOCKET = {"lamp-card": "card", "session-sheet": "session", "check-list": "steps"}


def typed(quantity: Quantity, example: str) -> Callable[[str], float]:
    """Reads a number with or without a unit; without one it is in the stored unit."""

    def read(text: str) -> float:
        try:
            return parse(text, quantity)
        except BobweightError:
            raise argparse.ArgumentTypeError(
                f"“{text}” is not {'a length' if quantity is LENGTH else 'an angle'}, "
                f"such as {example}"
            ) from None

    return read


length = typed(LENGTH, "150, 150mm or 5.9in")
angle = typed(ANGLE, "40 or 40°")


def _docket_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE")
    _output_arguments(parser)


def _output_arguments(parser: argparse.ArgumentParser) -> None:
    add_output(parser, ".pdf", ".svg", ".png")
    parser.add_argument("--paper", choices=PAPERS, default="a4")


def _steps_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--minor", metavar="DEG", type=angle, default=1.0, help="smallest step")
    parser.add_argument("--mid", metavar="DEG", type=angle, default=5.0, help="longer marks every")
    parser.add_argument("--major", metavar="DEG", type=angle, default=10.0, help="figures every")
    parser.add_argument("--title", default="", help="what it is for")
    _output_arguments(parser)


def _tape_arguments(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("--diameter", metavar="LENGTH", type=length, help="of the rim, mm or with a unit")
    add("--docket", metavar="FILE", help="takes pulley and rotation from a docket")
    add("--rotation", choices=ROTATIONS, help="of the engine, seen from the front")
    add("--side", choices=SIDES, default="before", help="of dead centre, that is marked")
    add("--span", metavar="DEG", type=angle, default=40.0, help="degrees marked on each side")
    add("--cylinders", metavar="N", type=int, default=1, help="with a scale each; 1: the first")
    add("--order", metavar="1-3-4-2", default="", help="firing order, names the cylinders")
    add("--firing", metavar="DEG,DEG,…", type=_angles, default=(), help="uneven firing, from 0")
    add("--two-stroke", action="store_true", help="a cycle of 360 instead of 720 degrees")
    add("--width", metavar="LENGTH", type=length, default=14.0, help="of the tape")
    add("--thickness", metavar="LENGTH", type=length, default=0.0, help="of the paper")
    _steps_arguments(parser)


def _ring_arguments(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("--outer", metavar="LENGTH", type=length, required=True, help="outer radius")
    add("--inner", metavar="LENGTH", type=length, required=True, help="inner radius")
    add("--numbering", choices=ROTATIONS, default="clockwise", help="the way the figures grow")
    add("--edge", choices=EDGES, default="outer", help="where the pointer runs")
    _steps_arguments(parser)


def _angles(text: str) -> tuple[float, ...]:
    return tuple(angle(part) for part in text.split(","))


def _write(
    name: str, make: Callable[[argparse.Namespace], object]
) -> Callable[[argparse.Namespace], int]:
    """What writes the print that ``make`` describes."""

    def act(arguments: argparse.Namespace) -> int:
        from bobweight.app.command_line.screen import offscreen

        read = (getattr(arguments, key, None) for key in ("file", "docket"))
        output = check_output(arguments, [file for file in read if file])
        with offscreen():
            from bobweight.app.paper.output import write_description

            arguments.print_name = name
            write_description(make(arguments), output)
        return DONE

    return act


def _tape(arguments: argparse.Namespace) -> object:
    from bobweight.app.paper.type import FontRuler
    from bobweight.app.prints.forms import order_of
    from bobweight.app.store.workshop import workshop_at_hand
    from bobweight.core.docket.file import read_docket
    from bobweight.core.sheet.tape_sheet import tape_sheet

    diameter, rotation, title = arguments.diameter, arguments.rotation, arguments.title
    if arguments.docket:
        docket = read_docket(Path(arguments.docket))
        setting = docket.setting_up
        diameter = setting.pulley_mm if diameter is None else diameter
        rotation = rotation or setting.pulley_rotation
        title = title or docket.particulars.title
    if diameter is None:
        raise BobweightError("missing", ("diameter_mm",))
    spec = TapeSpec(
        diameter, rotation or "clockwise", arguments.side, arguments.span, arguments.cylinders,
        360 if arguments.two_stroke else 720, arguments.firing, _steps(arguments),
        thickness_mm=arguments.thickness,
    )  # fmt: skip
    return tape_sheet(
        spec, arguments.paper, FontRuler(), width_mm=arguments.width,
        order=order_of(arguments.order), subject=title, workshop=workshop_at_hand(),
    )  # fmt: skip


def _ring(arguments: argparse.Namespace) -> object:
    from bobweight.app.paper.type import FontRuler
    from bobweight.app.store.workshop import workshop_at_hand
    from bobweight.core.sheet.ring_sheet import ring_sheet

    spec = RingSpec(
        arguments.inner, arguments.outer, arguments.numbering, arguments.edge, _steps(arguments)
    )
    return ring_sheet(
        spec, arguments.paper, FontRuler(), subject=arguments.title, workshop=workshop_at_hand()
    )


def _steps(arguments: argparse.Namespace) -> Steps:
    return Steps(arguments.minor, arguments.mid, arguments.major)


def _of_a_docket(arguments: argparse.Namespace) -> object:
    from bobweight.app.prints.kinds import KINDS, Asked
    from bobweight.app.store.workshop import workshop_at_hand
    from bobweight.core.docket.file import read_docket
    from bobweight.core.judgement.outcome import outcome
    from bobweight.core.sheet.figures import View

    docket = read_docket(Path(arguments.file))
    view = View(drive_ratio=docket.particulars.drive_ratio)
    asked = Asked(outcome(docket), view, arguments.paper, workshop_at_hand())
    return KINDS[_OF_A_DOCKET[arguments.print_name]].describe(asked, None)


COMMANDS = (
    Command(
        "tape", "A timing tape for a pulley, at true size.", _tape_arguments,
        _write("tape", _tape),
    ),
    Command(
        "ring", "A degree ring for a rig, at true size.", _ring_arguments, _write("ring", _ring)
    ),
    Command(
        "lamp-card", "What the lamp must show at each speed, to take to the engine.",
        _docket_arguments, _write("lamp-card", _of_a_docket),
    ),
    Command(
        "session-sheet", "A blank sheet for readings, with the docket's speeds.",
        _docket_arguments, _write("session-sheet", _of_a_docket),
    ),
    Command(
        "check-list", "The reassembly list of this unit.",
        _docket_arguments, _write("check-list", _of_a_docket),
    ),
)  # fmt: skip
