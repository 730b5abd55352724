"""``bobweight check``: whether dockets and trays can be read, and what is odd or lacking there."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from bobweight.app.command_line.command import (
    BAD_INPUT,
    DONE,
    FAILED,
    Command,
    docket_and_text,
    tell,
    told,
)
from bobweight.core.problems import BobweightError, Problem, path_text
from bobweight.core.record import Record, unknown_keys

_MOST = 8  # left-out values that are named


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "files",
        metavar="FILE",
        nargs="+",
        help="dockets and trays; - is standard input",
    )
    parser.add_argument("--json", action="store_true", help="as JSON")


def _problems(name: str) -> tuple[Record, tuple[Problem, ...]]:
    if Path(name).suffix.lower() == ".tray":
        from bobweight.core.design.tray import tray_problems
        from bobweight.core.design.tray_file import read_tray
        from bobweight.core.docket.file import read_bytes

        read_bytes(Path(name))  # a tray that is named must be there
        tray = read_tray(name)
        return tray, tuple(tray_problems(tray))
    from bobweight.core.docket.docket import Docket
    from bobweight.core.docket.migrations import migrate
    from bobweight.core.docket.plain import left_out, parse_json
    from bobweight.core.judgement.outcome import outcome

    docket, text = docket_and_text(name)
    missed = [f"{path_text(p)} ({d})" for p, d in left_out(Docket, migrate(parse_json(text)))]
    if not missed:
        return docket, outcome(docket).problems
    shown = missed[:_MOST] + ["…"] * (len(missed) > _MOST)
    unsaid = Problem("keys-left-out", (), {"keys": shown}, grave=False)
    return docket, (*outcome(docket).problems, unsaid)


def _act(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line import answers
    from bobweight.app.messages import sentence

    found: list[dict[str, Any]] = []
    unread = grave = False
    for name in arguments.files:
        try:
            record, problems = _problems(name)
        except BobweightError as error:
            tell(told(error))
            unread = True
            continue
        problems += tuple(
            Problem("key-not-known", path, {"key": path_text(path)}, grave=False)
            for path in unknown_keys(record)
        )
        grave |= any(problem.grave for problem in problems)
        said = [{"code": p.code, "path": path_text(p.path), "grave": p.grave,
                 "sentence": sentence(p, record)} for p in problems]  # fmt: skip
        found.append({"file": name, "problems": said})
        if not arguments.json:
            for problem in said:
                print(f"{name}: {'▲' if problem['grave'] else '△'} {problem['sentence']}")
            if not said:
                print(f"{name}: ✓")
    if arguments.json:
        print(answers.json_text(answers.headed("check", {"files": found})))
    sys.stdout.flush()
    return BAD_INPUT if unread else FAILED if grave else DONE


COMMANDS = (
    Command(
        "check",
        "Whether files can be read, and what is lacking or odd in them: status 2 where one cannot "
        "be read, 1 where something hinders a curve or a verdict.",
        _arguments,
        _act,
    ),
)
