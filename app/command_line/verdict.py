"""``bobweight verdict``: what the readings of one docket or several say."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from bobweight.app.command_line.command import (
    BAD_INPUT,
    DONE,
    FAILED,
    Command,
    docket_from,
    tell,
    told,
    whole_from_1,
)
from bobweight.core.problems import BobweightError


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("files", metavar="FILE", nargs="+", help="dockets; - is standard input")
    parser.add_argument("--session", metavar="N", type=whole_from_1,
                        help="session of readings, counted from 1; else the last")  # fmt: skip
    parser.add_argument("--json", action="store_true", help="as JSON")
    parser.add_argument(
        "--exit-code", action="store_true",
        help="status 1 where a unit is outside or looks it, or cannot be told",
    )  # fmt: skip


def _act(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line import answers, plain_text
    from bobweight.app.messages.figures import judged_by
    from bobweight.core.figure.view import view_of
    from bobweight.core.judgement.judged import judged_outcome

    session = -1 if arguments.session is None else arguments.session - 1
    several, found, status = len(arguments.files) > 1, [], DONE
    for name in arguments.files:
        try:
            docket = docket_from(name)
            known, decision = answers.decided(docket, name, session, with_fit=arguments.json)
        except BobweightError as error:
            if not several:
                raise
            tell(told(error))  # the others are answered all the same
            status = BAD_INPUT
            continue
        answer = answers.judged_answer(known, decision, name)
        found.append(answer)
        if not arguments.json:
            heading = f"{name}\n\n" if several else ""
            points = judged_outcome(known, decision.judgement).comparison.all_points
            text = plain_text.verdict_text(points, view_of(docket))
            if len(docket.sessions) > 1:  # else nobody asks which
                text += f"\n{judged_by(known, decision.judgement.also_read)}"
            print(f"{heading}{text}\n\n{plain_text.decision_text(answer)}")
            if several and name != arguments.files[-1]:
                print()
    if arguments.json:
        print(answers.json_text(answers.several(found) if several else found[0]))
    sys.stdout.flush()
    if status == DONE and arguments.exit_code and not all(map(_passes, found)):
        return FAILED
    return status


def _passes(answer: dict[str, Any]) -> bool:
    """True if the whole is inside, or looks it."""
    return answer["judgement"]["decision"] in ("inside", "looks inside")


COMMANDS = (
    Command(
        "verdict",
        "What the readings say: each check point, what is wrong, what to do.",
        _arguments,
        _act,
    ),
)
