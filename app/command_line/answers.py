"""The answers of ``predict`` and ``verdict`` as plain values, with the field names of the JSON."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from bobweight.core.docket.docket import Docket
from bobweight.core.mechanics.capsule import plate_advance_deg, plate_curve
from bobweight.core.mechanics.predict import Branch, Prediction, predict
from bobweight.core.problems import BobweightError, path_text

if TYPE_CHECKING:  # predict need not load what judges readings
    from bobweight.core.judgement.answer import Help, Judgement
    from bobweight.core.judgement.decision import Decision
    from bobweight.core.judgement.expected import Expected
    from bobweight.core.judgement.outcome import Outcome

VERSIONS = {"predict": 1, "verdict": 1, "verdicts": 1, "springs": 1, "check": 1}
"""The version of the fields of each answer; its schema stands in the folder ``schemas``."""


def prediction_answer(
    docket: Docket, file: str, at: Sequence[float] | None = None
) -> dict[str, Any]:
    """What ``predict`` gives: distributor rev/min and degrees, kPa below ambient.

    Parameters
    ----------
    file : str
        Named in errors.
    at : sequence of float, optional
        Distributor speeds at which the advance is wanted, rev/min.

    Raises
    ------
    BobweightError
        If the mechanism is incomplete or impossible, with the first place.
    """
    from bobweight.core.judgement.assume import assume
    from bobweight.core.judgement.expected import expected_curve

    try:
        assumed = assume(docket)
        prediction = predict(assumed.mechanism, checked=bool(assumed.known))
    except BobweightError as error:
        problem = error.problem
        place = problem.path if problem.path[:1] == ("mechanism",) else ("mechanism", *problem.path)
        raise BobweightError(problem.code, place, **problem.facts).in_file(file) from None
    answer: dict[str, Any] = headed(
        "predict",
        {
            "rising": _branch(prediction.rising),
            "falling": _branch(prediction.falling),
            "start_rpm": _number(prediction.start_rpm),
            "full_rpm": _number(prediction.full_rpm),
            "full_deg": _number(prediction.full_deg),
            "jumps": [
                {
                    "direction": jump.direction,
                    "speed_rpm": _number(jump.speed_rpm),
                    "from_deg": _number(jump.from_deg),
                    "to_deg": _number(jump.to_deg),
                }
                for jump in prediction.jumps
            ],
            "plateaus": [
                {
                    "advance_deg": _number(plateau.advance_deg),
                    "from_rpm": _number(plateau.from_rpm),
                    "to_rpm": _number(plateau.to_rpm),
                }
                for plateau in prediction.plateaus
            ],
            "capsule": _capsule(docket),
        },
    )
    if at is not None:
        answer["at"] = _at(prediction, expected_curve(docket, at), at)
    answer["assumed"] = [path_text(path) for path in assumed.paths]
    return answer


def _branch(branch: Branch) -> dict[str, list[float | None]]:
    return {"speed_rpm": _numbers(branch.speed_rpm), "advance_deg": _numbers(branch.advance_deg)}


def _capsule(docket: Docket) -> dict[str, list[float | None]] | None:
    """The movement without the plate's friction; None without a capsule that can be computed."""
    curve = plate_curve(docket.capsules)
    if curve is None:
        return None
    mean = plate_advance_deg(docket.capsules, curve.depression_kpa)
    return {"depression_kpa": _numbers(curve.depression_kpa), "advance_deg": _numbers(mean)}


def _at(
    prediction: Prediction, expected: Expected, speeds: Sequence[float]
) -> list[dict[str, float | None]]:
    """The advance at speeds with its standard uncertainty, by what is known of the mechanism."""
    rising, falling = (
        prediction.advance_deg(expected.speed_rpm, way) for way in ("rising", "falling")
    )
    columns = zip(
        speeds, rising, falling, expected.u_rising_deg, expected.u_falling_deg, strict=True
    )
    return [
        {
            "speed_rpm": _number(s), "rising_deg": _number(r), "falling_deg": _number(f),
            "u_deg": _number(max(u, v)), "u_rising_deg": _number(u), "u_falling_deg": _number(v),
        }
        for s, r, f, u, v in columns
    ]  # fmt: skip


def headed(kind: str, fields: dict[str, Any]) -> dict[str, Any]:
    """An answer with what it is and in which version of its fields. A field that is added keeps
    the version; one that is taken away or means something else raises it."""
    return {"format": f"bobweight.{kind}", "version": VERSIONS[kind], **fields}


def several(found: list[dict[str, Any]]) -> dict[str, Any]:
    """The verdicts of several dockets."""
    return headed("verdicts", {"verdicts": found})


def decided(
    docket: Docket, file: str, session: int = -1, with_fit: bool = True
) -> tuple[Outcome, Decision]:
    """A session's outcome, and the decision on it by all that is known.

    Raises
    ------
    BobweightError
        If there is no such session, or the target cannot be judged as it stands, with the first
        place.
    """
    from bobweight.core import facade
    from bobweight.core.judgement.decision import decide_docket

    try:
        judged = facade.judged_session(docket, session)
    except BobweightError as error:
        raise error.in_file(file) from None
    return judged, decide_docket(docket, judged.session, known=judged, with_fit=with_fit)


def judged_answer(judged: Outcome, decision: Decision, file: str) -> dict[str, Any]:
    """What ``verdict`` gives: each check point of the target, distributor rev/min and degrees, its
    other points (start, ceiling, vacuum) likewise, and all that a session of readings, the figures
    and the table jointly say.

    ``fit`` is a map of parameter to value, standard uncertainty, unit and state, empty where it is
    not wanted; ``explanations`` is the most probable first; ``next_reading`` is None where there is
    none to choose between; ``problems`` says in sentences why something is lacking, and what is odd
    about the readings.
    """
    from bobweight.core import facade

    shown = {"file": file, "session": judged.session + 1 or None}
    points = {
        "check_points": facade.check_points(judged, decision.judgement),
        "other_points": facade.other_points(judged, decision.judgement),
    }
    said = {**_decision_answer(decision), "judgement": _judgement_answer(decision.judgement)}
    return headed("verdict", {**shown, **points, **said})


def _judgement_answer(judgement: Judgement) -> dict[str, Any]:
    """The one decision and what it rests on."""
    from bobweight.app.messages.judgement import (
        error_sentences,
        help_sentence,
        judgement_sentence,
        reason_sentence,
    )

    return {
        "decision": judgement.decision,
        "probability_inside": _number(judgement.probability_inside),
        "probability_at_even_odds": _number(judgement.probability_at_even_odds),
        "action": judgement.action,
        "sentence": judgement_sentence(judgement),
        "helps_most": [
            {
                "what": _what(h),
                "sentence": help_sentence(h, judgement),
                "gain": _number(h.gain),
                "speed_rpm": _number(h.speed_rpm),
                "direction": h.direction,
                "depression_kpa": _number(h.depression_kpa),
                "u": _number(h.u),
                "curve_deg": None if h.curve_deg is None else _numbers(h.curve_deg),
            }
            for h in judgement.helps_most
        ],
        "errors": [
            {
                "code": e.code,
                "amount_deg": plain(e.facts["amount"]),
                "speed_rpm": plain(e.facts.get("speed")),
                "sentence": said,
            }
            for e, said in zip(judgement.errors, error_sentences(judgement), strict=True)
        ],
        "reasons": [
            {"code": r.code, "sentence": reason_sentence(r, judgement)} for r in judgement.reasons
        ],
        "noise": _number(judgement.noise),
        "assumed": [path_text(path) for path in judgement.assumed],
        "also_read": [each + 1 for each in judgement.also_read],
    }


def _what(help_: Help) -> str:
    """What is to be read or measured, as a stable key."""
    return f"{help_.what} {path_text(help_.path)}" if help_.path else help_.what


def _decision_answer(decision: Decision) -> dict[str, Any]:
    from bobweight.app.messages import sentence
    from bobweight.app.messages.explanations import (
        explanation_sentence,
        next_reading_sentences,
        option_sentence,
        step_text,
    )
    from bobweight.app.messages.misreadings import slip_sentences
    from bobweight.app.words import lower_first

    docket, assumed = decision.judgement.described, decision.judgement.assumed
    answer: dict[str, Any] = decision.as_fields()
    for fields, explanation in zip(answer["explanations"], decision.explanations, strict=True):
        fields["sentence"] = explanation_sentence(explanation, docket, assumed=assumed)
    if decision.advice is not None:
        said = next_reading_sentences(decision.advice, docket, decision.session)
        answer["next_reading"]["sentence"] = " ".join(part for part in said if part)
    if decision.cure is not None and decision.to_alter:
        before = decision.cure.probability_before
        then = ""
        for fields, step in zip(answer["alterations"], decision.cure.steps, strict=True):
            after, what = option_sentence((step,), before), step_text(step, docket)
            fields["sentence"] = f"{then}{lower_first(what) if then else what}. {after}"
            then = "Then "
    answer["problems"] = [sentence(problem, docket) for problem in decision.problems]
    answer["problems"] += [said for said, _ in slip_sentences(decision.judgement.slips)]
    return plain(answer)


def plain(value: Any) -> Any:
    """Nested values with nothing in them that JSON has no word for."""
    if isinstance(value, dict):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [plain(inner) for inner in value]
    if isinstance(value, bool | int | str) or value is None:
        return value
    return _number(value)


def _numbers(values: Iterable[float]) -> list[float | None]:
    return [_number(value) for value in values]


def _number(value: float | None) -> float | None:
    """A plain float; None for what JSON has no number for."""
    if value is None or not math.isfinite(value):
        return None
    return float(value)


def json_text(answer: dict[str, Any]) -> str:
    """The answer as JSON text; a byte of a file's name that is no text stands escaped in it."""
    text = json.dumps(answer, indent=1, ensure_ascii=False, allow_nan=False)
    return re.sub("[\ud800-\udfff]", lambda match: f"\\u{ord(match[0]):04x}", text)
