"""Sentences for what is wrong: the field, the value, the limit, and what to do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from bobweight.app.messages.bench_table import BENCH_TABLE
from bobweight.app.messages.decision_table import DECISION_TABLE
from bobweight.app.messages.design_table import DESIGN_PLACES, DESIGN_TABLE
from bobweight.app.messages.file_table import FILE_TABLE
from bobweight.app.messages.import_table import IMPORT_TABLE
from bobweight.app.messages.picture_table import PICTURE_TABLE
from bobweight.app.messages.table import PLACES, TABLE
from bobweight.app.words import (
    QT_TRANSLATE_NOOP,
    amount,
    label,
    lower_first,
    parameter_of,
    significant,
    translate,
    with_unit,
)
from bobweight.core.docket.docket import Docket
from bobweight.core.problems import Path, Problem
from bobweight.core.record import Parameter, Record, get
from bobweight.core.units import DEPRESSION, SPEED

if TYPE_CHECKING:
    from bobweight.app.store.display import Display

TABLES = (
    BENCH_TABLE, DECISION_TABLE, DESIGN_TABLE, FILE_TABLE, IMPORT_TABLE, PICTURE_TABLE, TABLE,
)  # fmt: skip
SENTENCES = {code: said for table in TABLES for code, said in table.items()}
"""The sentence of each code, as source text."""

OF_ONE = {
    "learn-too-few-readings": QT_TRANSLATE_NOOP(
        "messages",
        "One reading lies between rest and the stop; at least {least} are needed to learn from. "
        "Take more between them.",
    ),
    "measured-too-few": QT_TRANSLATE_NOOP(
        "messages",
        "The measured linkage has one point; at least {least} are needed. Add points.",
    ),
    "outline-not-marked": QT_TRANSLATE_NOOP(
        "messages",
        "One point of the outline is marked. Mark its edge all round, point after point.",
    ),
    "softens-at-end": QT_TRANSLATE_NOOP(
        "messages",
        "From {load_n} on the spring gives more, as if it took a set; one reading was left out. "
        "Do not load it so far.",
    ),
    "stiffens-at-end": QT_TRANSLATE_NOOP(
        "messages",
        "From {load_n} on the spring is stiffer, as if bound; one reading was left out.",
    ),
    "too-few-points": QT_TRANSLATE_NOOP(
        "messages", "One point is too few; at least {needed} are needed. Add points."
    ),
    "too-few-readings": QT_TRANSLATE_NOOP(
        "messages",
        "One reading with the pipe off is too few to judge by; {needed} are the least, and twenty "
        "do well. Take more.",
    ),
}
"""The sentence of a code where what is counted is one."""

OF_NONE = {
    "too-few-readings": QT_TRANSLATE_NOOP(
        "messages",
        "No reading was taken with the pipe off; {needed} are the least to judge by, and twenty do "
        "well.",
    ),
}
"""Likewise where there is none of it."""

_SUFFIXES = {
    "deg": "°",
    "rpm": SPEED.stored.symbol,
    "mm": "mm",
    "kpa": DEPRESSION.stored.symbol,
    "n_per_mm": "N/mm",
    "nmm": "N·mm",
    "n": "N",
    "g": "g",
    "ms": "ms",
}


def sentence(problem: Problem, docket: Record | None = None, display: Display | None = None) -> str:
    """One sentence (or two) for a problem: where, what is there, the limit, what to do.

    With the docket a spring is called by its role; with the display numbers are in the units
    shown.
    """
    source = SENTENCES.get(problem.code, SENTENCES["unheard-of"])
    counts = problem.facts.get("count"), problem.facts.get("given")
    if 1 in counts:
        source = OF_ONE.get(problem.code, source)
    elif 0 in counts:
        source = OF_NONE.get(problem.code, source)
    facts = _facts(problem, docket, display)
    facts["place"] = place_text(problem.path, docket) or translate("messages", "The input")
    facts["code"] = problem.code
    return translate("messages", source).format_map(_Lenient(facts))


def place_text(path: Path, docket: Record | None = None) -> str:
    """Where a path leads, in words: "Primary spring, rate"."""
    parts: list[str] = []
    valued = tuple(step for step in path if step != "u")
    for depth, step in enumerate(valued, start=1):
        here = valued[:depth]
        if isinstance(step, int):
            parts.append(_row_text(here, docket))
            continue
        parameter = _described(here, docket)
        if parameter is None:
            parts.append(_plain_name(step))
        elif parameter.kind not in ("one", "many") or depth == len(valued):
            parts.append(label(parameter))
    if len(valued) < len(path):
        parts.append(translate("messages", "uncertainty"))
    parts = [part for part in parts if part]
    return ", ".join([*parts[:1], *(lower_first(part) for part in parts[1:])])


def _described(path: Path, root: Record | None) -> Parameter | None:
    """The description of the value at a path of a docket, or of another record such as a tray."""
    return parameter_of(path, Docket if root is None else type(root))


_UNITS_OF_KEYS = {"mm", "deg", "rpm", "kpa", "n", "nmm", "per", "g", "ms", "a", "s"}


def _plain_name(key: str) -> str:
    """A key that no record describes, readable: ``gap_mm`` gives "Gap"."""
    words = key.split("_")
    while len(words) > 1 and words[-1] in _UNITS_OF_KEYS:
        words.pop()
    return " ".join(words).capitalize()


def needs_text(
    problems: Iterable[Problem], docket: Record | None = None, assumed: bool = False
) -> str:
    """One sentence that lists everything still missing, or an empty text."""
    by_owner: dict[str, list[str]] = {}
    for problem in problems:
        if problem.code == "missing" and problem.path:
            owner, field = problem.path[:-1], problem.path[-1:]
            parameter = _described(problem.path, docket)
            name = label(parameter) if parameter else str(field[0])
            by_owner.setdefault(_owner_text(owner, docket), []).append(lower_first(name))
    groups = [
        translate("messages", "{owner} ({fields})").format(
            owner=lower_first(owner), fields=", ".join(fields)
        )
        for owner, fields in by_owner.items()
    ]
    if not groups:
        return ""
    if assumed:
        text = translate("messages", "Blank, so usual figures are assumed: {list}.")
    else:
        text = translate("messages", "Still needed: {list}.")
    return text.format(list="; ".join(groups))


def _owner_text(path: Path, docket: Record | None) -> str:
    text = place_text(path, docket)
    return text or translate("messages", "Docket")


def _row_text(path: Path, docket: Record | None) -> str:
    parameter = _described(path[:-1], docket)
    if parameter is None or parameter.record is None:
        return str(path[-1])
    kind, row = parameter.record.__name__, int(path[-1])
    if kind == "TraySpring" and docket is not None:
        return _tray_spring_name(docket, row)
    if kind == "Session":
        sessions = docket.sessions if isinstance(docket, Docket) else ()
        if len(sessions) < 2:
            return ""
        title = sessions[row].title if row < len(sessions) else ""
        if title:
            return translate("messages", "Session “{title}”").format(title=title)
    if isinstance(docket, Docket):
        if kind == "Capsule" and len(docket.capsules) < 2:
            return translate("messages", "Capsule")
        if kind == "Spring":
            return spring_name(docket, row)
    number = row + 1
    words = {**PLACES, **DESIGN_PLACES}.get(kind, "Row {number}")
    return translate("messages", words).format(number=number)


def spring_name(docket: Docket, index: int) -> str:
    """What a spring is called: "Primary spring", with its number where the role is not alone."""
    springs = docket.mechanism.springs
    if not 0 <= index < len(springs):
        return translate("messages", "Spring {number}").format(number=index + 1)
    role = springs[index].role
    name = {
        "primary": translate("messages", "Primary spring"),
        "secondary": translate("messages", "Secondary spring"),
    }.get(role, translate("messages", "Further spring"))
    alike = [i for i, spring in enumerate(springs) if spring.role == role]
    return name if len(alike) == 1 else f"{name} {alike.index(index) + 1}"


def _tray_spring_name(tray: Record, index: int) -> str:
    """What a spring of the tray is called: by its label, else by its row."""
    springs = get(tray, ("springs",))
    mark = springs[index].label.strip() if 0 <= index < len(springs) else ""
    if mark:
        return translate("messages", "Spring “{label}”").format(label=mark)
    return translate("messages", "Spring {number}").format(number=index + 1)


def parameter_value_text(parameter: Parameter, value: Any, display: Display | None = None) -> str:
    """A value of a parameter in words."""
    if value is None:
        return translate("messages", "not known")
    if parameter.kind == "choice":
        return lower_first(translate("parameters", parameter.options.get(value, str(value))))
    if parameter.kind == "flag":
        return translate("messages", "yes") if value else translate("messages", "no")
    if parameter.kind in ("number", "whole"):
        symbol = display.unit(parameter.quantity) if display else None
        return amount(value, parameter.quantity, symbol)
    text = " ".join(str(value).split())
    return f"“{text[:24]}…”" if len(text) > 25 else f"“{text}”"


def edit_name(path: Path, docket: Record, value: object, display: Display | None = None) -> str:
    """The name of an edit of one value: "Primary spring, rate 1.25 N/mm"."""
    parameter = _described(path, docket)
    place = place_text(path, docket)
    if parameter is None:
        return place
    return f"{place} {parameter_value_text(parameter, value, display)}"


def _facts(problem: Problem, docket: Record | None, display: Display | None) -> dict[str, str]:
    parameter = _described(problem.path, docket)
    stated = problem.facts.get("unit")
    return {
        key: _fact(key, value, stated, parameter, display)
        for key, value in problem.facts.items()
        if key != "place"
    }


def _fact(
    key: str, value: object, stated: object, parameter: Parameter | None, display: Display | None
) -> str:
    if isinstance(value, bool) or not isinstance(value, int | float):
        if isinstance(value, Mapping):
            return ", ".join(f"{k} {v}" for k, v in value.items())
        if isinstance(value, list | tuple):
            return ", ".join(str(item) for item in value)
        return str(value)
    if key in ("value", "limit", "low", "high") and isinstance(stated, str):
        if parameter is not None and stated == parameter.quantity.stored.symbol:
            symbol = display.unit(parameter.quantity) if display else None
            return amount(value, parameter.quantity, symbol)
        return with_unit(significant(value), stated)
    for suffix, symbol in _SUFFIXES.items():
        if key.endswith("_" + suffix):
            if suffix == "kpa" and display is not None:
                return amount(value, DEPRESSION, display.depression_unit)
            return with_unit(significant(value), symbol)
    return str(value) if isinstance(value, int) else significant(value)


class _Lenient(dict):
    """A fact that was not given leaves a gap in the sentence, never an error in its place."""

    def __missing__(self, key: str) -> str:
        return "…"
