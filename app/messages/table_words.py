"""Words for a table that is taken in: what a column is understood to be, and why a row is not
taken."""

from __future__ import annotations

from bobweight.app.messages import sentence
from bobweight.app.store.display import Display
from bobweight.app.words import QT_TRANSLATE_NOOP, translate
from bobweight.core.problems import Problem
from bobweight.core.record import Record, parameters
from bobweight.core.tables.understanding import doubt
from bobweight.core.tables.understood import Understanding, UnderstoodColumn

_MESSAGES = "messages"

_MEANINGS = {
    "speed_rpm": QT_TRANSLATE_NOOP("messages", "speed"),
    "angle_deg": QT_TRANSLATE_NOOP("messages", "angle"),
    "rising_deg": QT_TRANSLATE_NOOP("messages", "angle, rising"),
    "falling_deg": QT_TRANSLATE_NOOP("messages", "angle, falling"),
    "direction": QT_TRANSLATE_NOOP("messages", "direction"),
    "depression_kpa": QT_TRANSLATE_NOOP("messages", "depression"),
    "left_out": QT_TRANSLATE_NOOP("messages", "left out"),
    "note": QT_TRANSLATE_NOOP("messages", "note"),
    "u_speed_rpm": QT_TRANSLATE_NOOP("messages", "uncertainty of the speed"),
    "u_angle_deg": QT_TRANSLATE_NOOP("messages", "uncertainty of the angle"),
    "u_depression_kpa": QT_TRANSLATE_NOOP("messages", "uncertainty of the depression"),
    "read_with": QT_TRANSLATE_NOOP("messages", "lamp or rig"),
    "frame": QT_TRANSLATE_NOOP("messages", "distributor or crank"),
    "band_deg": QT_TRANSLATE_NOOP("messages", "least and most"),
    "least_deg": QT_TRANSLATE_NOOP("messages", "least"),
    "most_deg": QT_TRANSLATE_NOOP("messages", "most"),
    "tolerance_deg": QT_TRANSLATE_NOOP("messages", "tolerance"),
    "label": QT_TRANSLATE_NOOP("messages", "label"),
    "count": QT_TRANSLATE_NOOP("messages", "how many"),
    "rate_n_per_mm": QT_TRANSLATE_NOOP("messages", "rate"),
    "u_rate_n_per_mm": QT_TRANSLATE_NOOP("messages", "uncertainty of the rate"),
    "initial_tension_n": QT_TRANSLATE_NOOP("messages", "initial tension"),
    "u_initial_tension_n": QT_TRANSLATE_NOOP("messages", "uncertainty of the tension"),
    "free_length_mm": QT_TRANSLATE_NOOP("messages", "free length"),
    "u_free_length_mm": QT_TRANSLATE_NOOP("messages", "uncertainty of the length"),
    "known_from": QT_TRANSLATE_NOOP("messages", "how it is known"),
    "where_from": QT_TRANSLATE_NOOP("messages", "where from"),
    "row_number": QT_TRANSLATE_NOOP("messages", "row number, not taken"),
    "ignored": QT_TRANSLATE_NOOP("messages", "not taken"),
    "unknown": QT_TRANSLATE_NOOP("messages", "not known, not taken"),
}


def meaning_text(meaning: str) -> str:
    """What a column is, in words."""
    return translate(_MESSAGES, _MEANINGS.get(meaning, meaning))


def column_reason(column: UnderstoodColumn) -> str:
    """Why a column is not sure; empty where it is."""
    return "" if column.sure or not column.matters else table_sentence(doubt(column))


def table_sentence(problem: Problem, display: Display | None = None) -> str:
    """A problem of a table or of one of its columns or rows, without the number of its line."""
    field = problem.facts.get("field")
    facts = dict(problem.facts)
    if isinstance(field, str) and field in _MEANINGS:
        facts["field"] = meaning_text(field)
    path = problem.path or ((str(field),) if field else ())
    return sentence(Problem(problem.code, path, facts, problem.grave), None, display)


def line_sentence(problem: Problem, display: Display | None = None) -> str:
    """A problem of a line: "Line 3. …"."""
    text, line = table_sentence(problem, display), problem.facts.get("line")
    if line is None:
        return text
    return translate("pages", "Line {line}. {text}").format(line=line, text=text)


def row_sentences(understanding: Understanding, display: Display | None = None) -> list[str]:
    """What is wrong with rows, and advice on those that are taken, in the order of the lines."""
    return [
        line_sentence(problem, display)
        for row in understanding.rows
        for problem in (*((row.problem,) if row.problem else ()), *row.advice)
    ]


def stored_text(record: Record) -> str:
    """What would be stored of a row, short: its numbers with their units, and its words."""
    parts = []
    for key, parameter in parameters(record).items():
        value = getattr(record, key)
        if parameter.kind == "number" and value is not None:
            symbol = parameter.quantity.stored.symbol
            parts.append(f"{value:.4g}{symbol if symbol == '°' else ' ' + symbol}")
        elif parameter.kind in ("text", "choice") and value and value != parameter.default:
            parts.append(str(value))
        elif key == "count":
            parts.append(f"{meaning_text(key)}: {value}")
    return ", ".join(parts)
