"""The one sentence of a judgement, which headline, sheet, card and command line print alike; what
stands in the way of certainty, and what would help most."""

from __future__ import annotations

from collections.abc import Sequence

from bobweight.app.messages import SENTENCES, place_text
from bobweight.app.messages.explanation_table import (
    ACTIONS,
    CAPSULE_FIRST,
    DECISIONS,
    HELPS,
)
from bobweight.app.messages.explanations import (
    check_texts,
    direction_word,
    explanation_title,
    percent,
    steps_text,
)
from bobweight.app.messages.sizes import in_unit
from bobweight.app.words import lower_first, parameter_of, significant, translate, with_unit
from bobweight.core.figure.numbers import figure as rounded
from bobweight.core.figure.view import view_of
from bobweight.core.judgement.answer import Help, Judgement, PointJudgement
from bobweight.core.judgement.loss import LEFT_OUTSIDE
from bobweight.core.judgement.next_place import READINGS
from bobweight.core.problems import Problem

_STATIC = ("static-disagrees", "base-disagrees", "static-differs")
_OTHER_SHAFT = ("table-looks-crank", "table-looks-distributor")
_FIRST_SAID = (
    *_OTHER_SHAFT,
    *_STATIC,
    "static-in-table",
    "table-and-figures",
    "stretch-not-read",
    "ceiling-not-read",
)
_OUTSIDE = ("outside", "looks outside")
_MOST_PLACES = 3


def judgement_sentence(judgement: Judgement, frame: str = "") -> str:
    """Decision, cause and act: all that is said of a unit in one place, its speeds and angles at
    the shaft of a frame (:data:`core.figure.view.FRAMES`); without one, as the table has them."""
    if judgement.probability_inside is None:
        said = translate("explanations", ACTIONS[judgement.action])
        if judgement.action == "read-first" and _was_read(judgement):
            said = translate("explanations", "What was read cannot be judged yet.")
        if judgement.action == "read-first" and judgement.helps_most:
            return f"{said} {help_sentence(judgement.helps_most[0], judgement, frame)}"
        return said
    first = [r for r in judgement.reasons if r.code in _FIRST_SAID][:1]
    parts = [reason_sentence(r, judgement, frame) for r in first]
    parts.append(decision_text(judgement, frame))
    parts.append(_cause(judgement))
    parts.append(act_text(judgement, frame))
    return " ".join(part for part in parts if part)


def _was_read(judgement: Judgement) -> bool:
    sessions = judgement.docket.sessions
    return bool(sessions and sessions[judgement.session].readings)


def _static_first(judgement: Judgement) -> bool:
    """Whether the session's static is in doubt, which is told before any fault is accused."""
    return _has(judgement, *_STATIC)


def _leads(judgement: Judgement, fault: str) -> bool:
    """Whether a fault is part of the leading explanation."""
    first = judgement.explanations[0] if judgement.explanations else None
    return first is not None and fault in first.name.split("+")


def _static_was_told(judgement: Judgement) -> bool:
    """Whether readings go against a static that somebody typed, so that the mark may be it too."""
    stated = judgement.docket.sessions[judgement.session].instrument.static_deg
    return stated != 0.0 and _has(judgement, "base-disagrees")


def _has(judgement: Judgement, *codes: str) -> bool:
    return any(r.code in codes for r in judgement.reasons)


def decision_text(judgement: Judgement, frame: str = "") -> str:
    """The word of decision, with its chance and, if outside, where."""
    chance = judgement.probability_inside
    words = translate("explanations", DECISIONS[judgement.decision])
    return words.format(chance=percent(chance or 0.0), where=_where(judgement, frame))


def _where(judgement: Judgement, frame: str) -> str:
    """At which check points, in the order of the table: the surest of them."""
    if judgement.decision not in _OUTSIDE:
        return ""
    points = [[p for p in judgement.check_points if p.decision == word] for word in _OUTSIDE]
    outside = points[0] or points[1]  # what only looks it is told in the table
    worst = sorted(outside, key=lambda p: p.probability_inside or 0.0)[:_MOST_PLACES]
    if not worst:
        return ""
    worst = [p for p in outside if p in worst]
    names = [_point_name(judgement, p, frame) for p in worst]
    if all(p.kind in ("check", "start") for p in worst):  # one unit for all
        names = [name.split("\u00a0")[0] for name in names[:-1]] + names[-1:]
    joined = ", ".join(names[:-1])
    joined = translate("explanations", " and ").join([*([joined] if joined else []), names[-1]])
    if len(outside) > len(worst):
        joined = translate("explanations", "{points} and elsewhere").format(points=joined)
    if judgement.decision == "outside" and not points[0]:  # the whole is surer than any of them
        return translate("explanations", ", most likely at {points}").format(points=joined)
    return translate("explanations", " at {points}").format(points=joined)


def _point_name(judgement: Judgement, point: PointJudgement, frame: str) -> str:
    if point.kind == "ceiling":
        return translate("explanations", "the ceiling")
    if point.kind == "vacuum":
        return with_unit(f"{point.depression_kpa:.0f}", "kPa")
    return speed_text(judgement, point.speed_rpm or 0.0, frame)


def shaft_unit(at_crank: bool) -> str:
    """Unit of a speed with the shaft that turns so fast."""
    if at_crank:
        return translate("explanations", "engine rev/min")
    return translate("explanations", "distributor rev/min")


def speed_text(judgement: Judgement, rpm: float, frame: str = "") -> str:
    """A distributor speed, at the shaft of a frame; without one, of the table's."""
    view = view_of(judgement.docket, frame)
    return with_unit(f"{rpm * view.factor:.0f}", shaft_unit(view.frame != "distributor"))


def angle_text(judgement: Judgement, deg: float, frame: str = "", shaft: bool = True) -> str:
    """A difference of distributor degrees, at the shaft of a frame; without one, of the table's."""
    view = view_of(judgement.docket, frame)
    shown = rounded(deg * view.factor)
    if not shaft:
        return f"{shown}°"
    if view.frame != "distributor":
        return translate("explanations", "{angle}° crank").format(angle=shown)
    return translate("explanations", "{angle}° distributor").format(angle=shown)


def branches_sentence(branches: Sequence[str]) -> str:
    """What a value at a check point stands for, where some are of one branch, named as there."""
    words = translate("pages", "The middle of both branches; {branch} alone where that decides.")
    return words.format(branch=translate("pages", " or ").join(branches))


def _read_at_crank(judgement: Judgement) -> bool:
    """Whether the session's instruments show the crank."""
    sessions = judgement.docket.sessions
    return not sessions or sessions[judgement.session].instrument.kind_taken == "lamp"


def error_sentences(judgement: Judgement, frame: str = "") -> list[str]:
    """Where and how the curve errs, a sentence each."""
    return [reason_sentence(error, judgement, frame) for error in judgement.errors]


def _cause(judgement: Judgement) -> str:
    """The leading explanation, unless it is that nothing is wrong."""
    from bobweight.core.judgement.faults import MARK_OFFSET, NOTHING_WRONG, OTHER_TABLE

    first = judgement.explanations[0] if judgement.explanations else None
    if first is None or _has(judgement, *_OTHER_SHAFT):
        return ""
    if first.name == MARK_OFFSET and _static_first(judgement):
        return ""
    if first.name in (MARK_OFFSET, OTHER_TABLE) and _has(judgement, "static-in-table"):
        return ""
    if first.name == NOTHING_WRONG:
        if judgement.decision not in ("inside", "looks inside") or first.probability < 0.5:
            return ""
        words = translate("explanations", "Sound ({chance}).")
        return words.format(chance=percent(first.probability))
    words = translate("explanations", "Likeliest: {title} ({chance}).")
    title = lower_first(explanation_title(first.name))
    return words.format(title=title, chance=percent(first.probability))


def act_text(judgement: Judgement, frame: str = "") -> str:
    """What to do now."""
    if judgement.action == "alter" and judgement.alterations:
        words = translate("explanations", "{steps}: inside with {chance}.")
        steps = steps_text(judgement.alterations, judgement.described)
        at_capsule = any(s.key.startswith("capsule") for s in judgement.alterations)
        for fault, source in CAPSULE_FIRST.items():
            if at_capsule and _leads(judgement, fault):
                words, steps = translate("explanations", source), lower_first(steps)
        return words.format(steps=steps, chance=percent(judgement.probability_after or 0.0))
    said = translate("explanations", ACTIONS[judgement.action])
    if judgement.action == "measure-first" and _has(judgement, *_OTHER_SHAFT):
        return translate(
            "explanations", "See first whether the table’s figures are the crank’s or the "
            "distributor’s."
        )  # fmt: skip
    if judgement.action == "measure-first" and _static_was_told(judgement):
        return translate(
            "explanations", "Check the static and the mark before a spanner is taken to the unit."
        )
    if judgement.action == "measure-first" and _static_first(judgement):
        return translate(
            "explanations", "Put the session’s static right before a spanner is taken to the unit."
        )
    if judgement.action == "measure-first" and _has(judgement, "static-in-table"):
        return translate("explanations", "Look first whether the table holds the static.")
    if judgement.action == "measure-first":
        wrong = next((e for e in judgement.explanations if e.side in ("measurement", "both")), None)
        if wrong is None:
            return said
        checks = check_texts(wrong, judgement.docket)
        if wrong.side == "both":  # the unit's own comes first
            checks = checks[-1:]
        return f"{said} {_upper_first(checks[0])}." if checks else said
    if judgement.action == "nothing-helps" and judgement.explanations:
        checks = check_texts(judgement.explanations[0], judgement.docket)
        return f"{said} {_upper_first(checks[0])}." if checks else said
    if judgement.action == "read-more" and judgement.helps_most:
        return f"{said} {help_sentence(judgement.helps_most[0], judgement, frame)}"
    return said


def help_sentence(helps: Help, judgement: Judgement, frame: str = "") -> str:
    """What would help the decision, and by how much; a reading is named as its instrument shows it
    in any frame, and beside it at the shaft that is shown where that is the other."""
    facts = {"where": "", "u": "", "what": ""}
    if helps.what in READINGS and helps.speed_rpm is not None:
        lamp = _read_at_crank(judgement)
        step = 10.0 if lamp else 5.0
        speed = step * round(helps.speed_rpm / step)
        words = translate("explanations", "{speed} {unit}, {direction}")
        if frame and (frame != "distributor") != lamp:  # what the board shows is another shaft's
            words = (
                translate(
                    "explanations", "{speed} {unit} ({other} at the distributor), {direction}"
                )
                if lamp
                else translate(
                    "explanations", "{speed} {unit} ({other} at the engine), {direction}"
                )
            )
        ratio = judgement.docket.particulars.ratio_taken
        facts["where"] = words.format(
            speed=f"{speed:.0f}", unit=shaft_unit(lamp), direction=direction_word(helps.direction),
            other=f"{speed / ratio if lamp else speed * ratio:.0f}",
        )  # fmt: skip
    elif helps.path and helps.u is not None:
        parameter = parameter_of(helps.path)
        facts["what"] = place_text(helps.path, judgement.described)
        if helps.what == "check-tachometer":
            facts["u"] = percent(helps.u)
        elif parameter is not None:
            digits = 1 if helps.what == "measure" else 2
            facts["u"] = in_unit(float(significant(helps.u, digits)), parameter.quantity)
    said = translate("explanations", HELPS[helps.what]).format(**facts)
    if helps.curve_deg is not None:
        words = translate(
            "explanations", "{what}: the curve is then known to ±\u00a0{after}, not ±\u00a0{now}."
        )
        if helps.what == "prove-mark":  # which tells something once there is a reading
            words = translate(
                "explanations",
                "{what}: a reading then tells the curve to ±\u00a0{after}, not ±\u00a0{now}.",
            )
        now, after = (angle_text(judgement, deg, frame, shaft=False) for deg in helps.curve_deg)
        return words.format(what=said, after=after, now=now)
    spared = round(100.0 * helps.gain / LEFT_OUTSIDE)
    if spared < 1 or helps.what in ("read-stretch", "read-way"):
        return f"{said}."
    if spared == 1:
        words = translate("explanations", "{what}: it spares one wrong call in a hundred units.")
    else:
        words = translate(
            "explanations", "{what}: it spares about {count} wrong calls in a hundred units."
        )
    return words.format(what=said, count=spared)


def reason_sentence(reason: Problem, judgement: Judgement, frame: str = "") -> str:
    """What stands in the way of certainty, or contradicts something; where and how the curve
    errs."""
    facts: dict[str, str] = {}
    for key, value in reason.facts.items():
        if not isinstance(value, float):
            continue
        if key in ("amount", "usual"):
            facts[key] = angle_text(judgement, value, frame, shaft="speed" not in reason.facts)
        elif key in ("speed", "low", "high") and "unit" not in reason.facts:
            facts[key] = speed_text(judgement, value, frame)
        elif key == "chance":
            facts[key] = percent(value)
        elif key == "factor":
            facts[key] = significant(value, 2)
        elif reason.facts.get("unit") == "°":
            facts[key] = f"{rounded(value)}°"
        elif reason.facts.get("unit") == "rev/min":
            facts[key] = with_unit(f"{value:.0f}", shaft_unit(_read_at_crank(judgement)))
        else:
            facts[key] = with_unit(f"{value:.0f}", str(reason.facts.get("unit", "")))
    code = reason.code
    if code == "sessions-differ":
        facts["session"] = place_text(reason.path, judgement.docket)
        facts["name"] = lower_first(explanation_title(str(reason.facts["name"])))
    if code == "stretch-not-read" and facts["low"] == facts["high"]:
        code = "stretch-not-read-at"
    elif code == "stretch-not-read":  # one unit for both
        facts["low"] = facts["low"].split("\u00a0")[0]
    said = translate("messages", SENTENCES[code]).format(**facts)
    if code != "figures-doubted":
        return said
    if not judgement.doubted:
        first = translate("messages", "No single one would explain it: measure again first rates "
                          "and lengths of the springs, then the weights.")  # fmt: skip
        return f"{said} {first}"
    if len(judgement.doubted) == 1:
        again = translate("messages", "It may be this: {what}. Measure it again.")
    else:
        again = translate("messages", "It may be any one of these: {what}. Measure them again.")
    return f"{said} {again.format(what=_doubted(judgement))}"


def _doubted(judgement: Judgement, most: int | None = None) -> str:
    """The figures that the judgement doubts, the likeliest first."""
    paths = judgement.doubted[:most]
    return "; ".join(lower_first(place_text(path, judgement.docket)) for path in paths)


def reckoned_with_doubted(judgement: Judgement) -> str:
    """That what is worked out with the figures as typed has one in it that the judgement doubts,
    and which; empty where it doubts none."""
    if not judgement.bare:
        return ""
    if not judgement.doubted:
        said = translate("messages", "Worked out with figures of which one is wrong: see Verdict.")
    elif len(judgement.doubted) == 1:
        said = translate("messages", "Worked out with a figure that is doubted: {what}. Measure it "
                         "again.")  # fmt: skip
    else:
        said = translate("messages", "Worked out with a figure that is doubted, likeliest: {what}. "
                         "Others may be it: see Verdict.")  # fmt: skip
    return said.format(what=_doubted(judgement, 1))


def _upper_first(text: str) -> str:
    return text[:1].upper() + text[1:]
