"""The answers of the command line as text for reading."""

from __future__ import annotations

from typing import Any

from bobweight.core.figure.numbers import figure, limit
from bobweight.core.figure.view import View

_WORTH_SAYING = 0.01


def prediction_text(answer: dict[str, Any]) -> str:
    """Start, full advance, jumps, plateaux and the curve at some speeds."""
    lines = [
        f"Start       {_figure(answer['start_rpm'], 0)} rev/min",
        f"Full        {_figure(answer['full_deg'], 1)}° at "
        f"{_figure(answer['full_rpm'], 0)} rev/min",
    ]
    for jump in answer["jumps"]:
        lines.append(
            f"Jump        {jump['direction']}, at {_figure(jump['speed_rpm'], 0)} rev/min from "
            f"{_figure(jump['from_deg'], 1)}° to {_figure(jump['to_deg'], 1)}°"
        )
    for plateau in answer["plateaus"]:
        lines.append(
            f"Plateau     {_figure(plateau['advance_deg'], 1)}° from "
            f"{_figure(plateau['from_rpm'], 0)} to {_figure(plateau['to_rpm'], 0)} rev/min"
        )
    if "at" in answer:
        rows = [
            (row["speed_rpm"], 0, row["rising_deg"], 2, row["falling_deg"], 2, row["u_deg"], 2)
            for row in answer["at"]
        ]
        lines += ["", *_table(("rev/min", "rising °", "falling °", "± °"), rows)]
    lines.append("Distributor speed and degrees.")
    if answer["assumed"]:
        lines += ["Blank, and taken as usual in the trade:", *answer["assumed"]]
    return "\n".join(lines)


def verdict_text(answer: dict[str, Any], view: View) -> str:
    """All that the target asks as a table, at the shaft of a view, as the sentences have it."""
    from bobweight.app.messages.judgement import branches_sentence

    others: dict[str, list[dict[str, Any]]] = {"start": [], "ceiling": [], "vacuum": []}
    for point in answer["other_points"]:
        others[point["kind"]].append(point)
    starts, points, vacuum = others["start"], answer["check_points"], others["vacuum"]
    points = [*starts, *points, *others["ceiling"], *vacuum]
    if not points:
        return "The target has no check points."
    heading = ("rev/min", "least °", "most °", "found °", "± °", "inside", "verdict")
    lines = ["".join(f"{name:>16}" for name in heading)]
    lines += ["".join(f"{cell:>16}" for cell in _point_cells(p, view)) for p in points]
    shaft = {
        "distributor": "Distributor speed and degrees",
        "crank": "Engine speed and crank degrees without static",
        "crank-static": "Engine speed and crank degrees with static",
    }[view.frame]
    added = "; at a depression those of the capsule alone" if vacuum else ""
    lines.append(f"{shaft}{added}; ± is one standard uncertainty.")
    told = {p["branch"] for p in points}
    branches = [branch for branch in ("rising", "falling") if branch in told]
    if branches:
        lines.append(branches_sentence(branches))
    return "\n".join(lines)


def _point_cells(point: dict[str, Any], view: View) -> list[str]:
    """A row of that table; a value of one branch alone says which."""
    from bobweight.app.messages.explanations import percent

    kind, chance, u = point.get("kind", "check"), point["probability_inside"], point["u_deg"]
    where = {
        "start": f"< {view.speed(point['speed_rpm'])}",
        "ceiling": "ceiling",
        "vacuum": f"{view.depression(point.get('depression_kpa'))} {view.depression_unit}",
    }.get(kind, view.speed(point["speed_rpm"]))
    stands = view.moving if kind == "vacuum" else view
    low, high = (limit(None if (v := point[k]) is None else stands.shown(v))
                 for k in ("low_deg", "high_deg"))  # fmt: skip
    found = stands.at(point["estimate_deg"])
    unread = point["decision"] == "cannot be told" and not point["read_around"]
    return [
        where, low or "–", high or "–",
        f"{point['branch']} {found}" if point["branch"] else found or "–",
        "–" if u is None else figure(max(u * view.factor, 0.1)),  # nothing is known to ± 0.0
        "–" if chance is None else percent(chance),
        "not read" if unread else point["decision"],
    ]  # fmt: skip


def decision_text(decision: dict[str, Any]) -> str:
    """The explanations that count, the next reading and the alterations, a sentence each."""
    from bobweight.app.messages.explanations import alterations_text, percent

    judgement = decision["judgement"]
    lines = [*decision["problems"], judgement["sentence"]]
    said = [each["sentence"] for each in (*judgement["errors"], *judgement["reasons"])]
    lines += [each for each in said if each not in judgement["sentence"]]
    helps = [h["sentence"] for h in judgement["helps_most"]]
    helps = [said for said in helps if said not in judgement["sentence"]]
    if helps:
        lines += ["", "What would help most:", *(f"  {said}" for said in helps)]
    likely = [e for e in decision["explanations"] if e["probability"] >= _WORTH_SAYING]
    if likely:
        lines.append("")
        lines += [
            f"{e['place']:>3}  {percent(e['probability']):>5}  {e['sentence']}" for e in likely
        ]
    reading = decision["next_reading"]
    if reading is not None:
        lines += ["", reading["sentence"]]
    if decision["alterations"]:
        lines.append("")
        when = alterations_text(decision["action"], several=False)
        lines += [when] if when else []
        lines += [step["sentence"] for step in decision["alterations"]]
    return "\n".join(lines)


def _table(heading: tuple[str, ...], rows: list[tuple]) -> list[str]:
    lines = ["".join(f"{name:>11}" for name in heading)]
    for row in rows:
        pairs = zip(row[::2], row[1::2], strict=True)
        lines.append("".join(f"{_figure(value, digits):>11}" for value, digits in pairs))
    return lines


def _figure(value: float | None, digits: int) -> str:
    return "–" if value is None else f"{value:.{digits}f}"
