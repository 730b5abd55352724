"""The one sentence of a judgement, which headline, sheet, card and command line print alike; what
stands in the way of certainty, and what would help most."""

from __future__ import annotations

from bobweight.app.messages import SENTENCES, place_text
from bobweight.app.messages.explanation_table import (
    ACTIONS,
    CHECKS,
    DECISIONS,
    HELPS,
)
from bobweight.app.messages.explanations import (
    direction_word,
    explanation_title,
    in_unit,
    lower_first,
    percent,
    steps_text,
)
from bobweight.app.words import parameter_of, significant, translate, with_unit
from bobweight.core.judgement.answer import Help, Judgement, PointJudgement
from bobweight.core.judgement.faults import NOTHING_WRONG
from bobweight.core.problems import Problem

_FIRST_SAID = ("static-disagrees", "base-disagrees", "table-and-figures", "stretch-not-read")
_OUTSIDE = ("outside", "looks outside")


def judgement_sentence(judgement: Judgement) -> str:
    """Decision, cause and act: all that is said of a unit in one place."""
    if judgement.probability_inside is None:
        return translate("explanations", ACTIONS[judgement.action])
    parts = [reason_sentence(r, judgement) for r in judgement.reasons if r.code in _FIRST_SAID][:1]
    parts.append(decision_text(judgement))
    parts.append(_cause(judgement))
    parts.append(act_text(judgement))
    return " ".join(part for part in parts if part)


def decision_text(judgement: Judgement) -> str:
    """The word of decision, with its chance and, if outside, where."""
    chance = judgement.probability_inside
    words = translate("explanations", DECISIONS[judgement.decision])
    return words.format(chance=percent(chance or 0.0), where=_where(judgement))


def _where(judgement: Judgement) -> str:
    """At which check points, worst first, as the table writes them."""
    if judgement.decision not in _OUTSIDE:
        return ""
    worst = sorted(
        (p for p in judgement.check_points if p.decision in _OUTSIDE),
        key=lambda p: p.probability_inside or 0.0,
    )
    names = [_point_name(judgement, p) for p in worst[:2]]
    if not names:
        return ""
    joined = translate("explanations", " and ").join(names)
    return translate("explanations", " at {points}").format(points=joined)


def _point_name(judgement: Judgement, point: PointJudgement) -> str:
    target = judgement.docket.target
    if point.kind == "ceiling":
        return translate("explanations", "the ceiling")
    if point.kind == "vacuum":
        return with_unit(f"{point.depression_kpa:.0f}", "kPa")
    speed = target.no_advance_below_rpm if point.index is None else None
    if point.index is not None:
        speed = target.points[point.index].speed_rpm
    return with_unit(f"{speed or 0.0:.0f}", "rev/min")


def _cause(judgement: Judgement) -> str:
    """The leading explanation, unless it is that nothing is wrong."""
    first = judgement.explanations[0] if judgement.explanations else None
    if first is None:
        return ""
    if first.name == NOTHING_WRONG:
        if judgement.decision not in ("inside", "looks inside") or first.probability < 0.5:
            return ""
        words = translate("explanations", "Sound ({chance}).")
        return words.format(chance=percent(first.probability))
    words = translate("explanations", "Likeliest: {title} ({chance}).")
    title = lower_first(explanation_title(first.name))
    return words.format(title=title, chance=percent(first.probability))


def act_text(judgement: Judgement) -> str:
    """What to do now."""
    if judgement.action == "alter" and judgement.alterations:
        words = translate("explanations", "{steps}: inside with {chance}.")
        steps = steps_text(judgement.alterations, judgement.described)
        return words.format(steps=steps, chance=percent(judgement.probability_after or 0.0))
    said = translate("explanations", ACTIONS[judgement.action])
    if judgement.action == "measure-first":
        checks = next(
            (e.check_first for e in judgement.explanations if e.side in ("measurement", "both")), ()
        )
        first = [translate("explanations", CHECKS[c]) for c in checks if c in CHECKS]
        return f"{said} {_upper_first(first[-1])}." if first else said
    if judgement.action == "read-more" and judgement.helps_most:
        return f"{said} {help_sentence(judgement.helps_most[0], judgement)}"
    return said


def help_sentence(helps: Help, judgement: Judgement) -> str:
    """What would help the decision, and by how much."""
    facts = {"where": "", "u": "", "what": ""}
    if helps.what == "read" and helps.speed_rpm is not None:
        lamp = judgement.docket.sessions[judgement.session].instrument.kind == "lamp"
        shaft = (
            translate("explanations", "{speed} engine rev/min, {direction}")
            if lamp
            else translate("explanations", "{speed} distributor rev/min, {direction}")
        )
        step = 10.0 if lamp else 5.0
        facts["where"] = shaft.format(
            speed=f"{step * round(helps.speed_rpm / step):.0f}",
            direction=direction_word(helps.direction),
        )
    elif helps.path and helps.u is not None:
        parameter = parameter_of(helps.path)
        facts["what"] = place_text(helps.path, judgement.described)
        if helps.what == "check-tachometer":
            facts["u"] = percent(helps.u)
        elif parameter is not None:
            facts["u"] = in_unit(float(significant(helps.u, 2)), parameter.quantity)
    said = translate("explanations", HELPS[helps.what]).format(**facts)
    share = helps.gain / 10.0
    if share < 0.005:
        return f"{said}."
    words = translate("explanations", "{what}: it saves {share} of a wrong decision.")
    return words.format(what=said, share=percent(share))


def reason_sentence(reason: Problem, judgement: Judgement) -> str:
    """What stands in the way of certainty, or contradicts something."""
    facts: dict[str, str] = {}
    for key, value in reason.facts.items():
        if not isinstance(value, float):
            continue
        if key == "chance":
            facts[key] = percent(value)
        elif key == "factor":
            facts[key] = significant(value, 2)
        elif reason.facts.get("unit") == "°":
            facts[key] = f"{value:.1f}°".replace("-", "−")
        else:
            facts[key] = with_unit(f"{value:.0f}", str(reason.facts.get("unit", "")))
    return translate("messages", SENTENCES[reason.code]).format(**facts)


def _upper_first(text: str) -> str:
    return text[:1].upper() + text[1:]
