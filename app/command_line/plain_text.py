"""The answers of the command line as text for reading."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from bobweight.app.messages.figure_words import said
from bobweight.core.docket.docket import Docket
from bobweight.core.figure import points
from bobweight.core.figure.numbers import figure
from bobweight.core.figure.view import View
from bobweight.core.problems import Problem

if TYPE_CHECKING:
    from bobweight.core.judgement.compare import PointResult

_WORTH_SAYING = 0.01


def prediction_text(answer: dict[str, Any], docket: Docket) -> str:
    """Start, full advance, jumps, plateaux and the curve at some speeds; blanks are named as parts
    of the docket."""
    from bobweight.app.messages import needs_text
    from bobweight.core.docket.states import path_of

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
        keys = (("speed_rpm", 0), ("rising_deg", 2), ("falling_deg", 2), ("u_deg", 2))
        rows = [[_figure(row[key], digits) for key, digits in keys] for row in answer["at"]]
        lines += ["", *table_lines([["rev/min", "rising °", "falling °", "± °"], *rows])]
    uncertain = "; ± is one standard uncertainty" if "at" in answer else ""
    lines.append(f"Distributor speed and degrees{uncertain}.")
    blank = [Problem("missing", path_of(path)) for path in answer["assumed"]]
    if blank:
        lines.append(needs_text(blank, docket, assumed=True))
    return "\n".join(lines)


def verdict_text(results: Sequence[PointResult], view: View) -> str:
    """All that the target asks as a table, at the shaft of a view, as the sentences have it."""
    from bobweight.app.messages.judgement import branches_sentence

    if not results:
        return "The target has no check points."
    heading = ["rev/min", "band °", "found °", "inside", "predicted °", "decision"]
    lines = table_lines([heading, *(_point_cells(point, view) for point in results)])
    shaft = {
        "distributor": "Distributor speed and degrees",
        "crank": "Engine speed and crank degrees without static",
        "crank-static": "Engine speed and crank degrees with static",
    }[view.frame]
    capsule = any(point.kind == "vacuum" for point in results)
    added = "; at a depression those of the capsule alone" if capsule else ""
    lines.append(f"{shaft}{added}; ± is one standard uncertainty.")
    if branches := points.branches(results):
        lines.append(branches_sentence(branches))
    return "\n".join(lines)


def _point_cells(point: PointResult, view: View) -> list[str]:
    """A row of that table; a value of one branch alone says which."""
    predicted = said(points.predicted(point, view, spelt=True))
    if point.predicted_inside is False:
        predicted = f"✗ {predicted}"
    return [
        said(points.place(point, view)), said(points.band(point, view)) or "–",
        said(points.found(point, view, spelt=True)) or "–", points.chance(point) or "–",
        predicted or "–", said(points.decision(point.told)),
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


def table_lines(rows: Sequence[Sequence[str]], words: int = 0) -> list[str]:
    """Rows of cells, the heading first, in columns as wide as they need; the first ``words``
    columns begin at the left."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        cells = zip(row, widths, strict=True)
        sides = (c.ljust(w) if i < words else c.rjust(w) for i, (c, w) in enumerate(cells))
        lines.append("   ".join(sides).rstrip())
    return lines


def _figure(value: float | None, digits: int) -> str:
    return "–" if value is None else figure(value, digits)
