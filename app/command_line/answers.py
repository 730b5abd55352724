"""The answers of ``predict`` and ``verdict`` as plain values, with the field names of the JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from bobweight.app.command_line.command import with_file
from bobweight.core.docket.docket import Docket
from bobweight.core.mechanics.capsule import plate_advance_deg, plate_curve
from bobweight.core.mechanics.predict import Branch, Prediction, predict
from bobweight.core.problems import BobweightError

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome

VERSIONS = {"predict": 1, "verdict": 1, "verdicts": 1, "springs": 1, "check": 1}
"""The version of the fields of each answer; its schema stands in the folder ``schemas``."""


def prediction_answer(
    docket: Docket, file: str, at: Sequence[float] | None = None
) -> dict[str, Any]:
    """What ``predict`` gives: distributor rev/min and degrees, kPa below ambient.

    Parameters
    ----------
    docket : Docket
    file : str
        Named in errors.
    at : sequence of float, optional
        Distributor speeds at which the advance is wanted, rev/min.

    Raises
    ------
    BobweightError
        If the mechanism is incomplete or impossible, with the first place.
    """
    try:
        prediction = predict(docket.mechanism)
    except BobweightError as error:
        problem = error.problem
        place = problem.path if problem.path[:1] == ("mechanism",) else ("mechanism", *problem.path)
        raise with_file(BobweightError(problem.code, place, **problem.facts), file) from None
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
        answer["at"] = _at(prediction, at)
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


def _at(prediction: Prediction, speeds: Sequence[float]) -> list[dict[str, float | None]]:
    rising = prediction.advance_deg(speeds, "rising")
    falling = prediction.advance_deg(speeds, "falling")
    return [
        {"speed_rpm": _number(s), "rising_deg": _number(r), "falling_deg": _number(f)}
        for s, r, f in zip(speeds, rising, falling, strict=True)
    ]


def headed(kind: str, fields: dict[str, Any]) -> dict[str, Any]:
    """An answer with what it is and in which version of its fields. A field that is added keeps
    the version; one that is taken away or means something else raises it."""
    return {"format": f"bobweight.{kind}", "version": VERSIONS[kind], **fields}


def several(found: list[dict[str, Any]]) -> dict[str, Any]:
    """The verdicts of several dockets."""
    return headed("verdicts", {"verdicts": found})


def verdict_answer(docket: Docket, file: str, session: int = -1) -> dict[str, Any]:
    """What ``verdict`` gives: each check point of the target, distributor rev/min and degrees, and
    what :func:`decision_answer` says of the same session of readings.

    Raises
    ------
    BobweightError
        If there is no such session, or the target cannot be judged as it stands, with the first
        place.
    """
    from bobweight.core import facade

    try:
        judged = facade.judged_session(docket, session)
    except BobweightError as error:
        raise with_file(error, file) from None
    shown = {"file": file, "session": judged.session + 1 or None}
    points = {"check_points": facade.check_points(judged)}
    return headed("verdict", {**shown, **points, **decision_answer(docket, judged)})


def decision_answer(docket: Docket, judged: Outcome) -> dict[str, Any]:
    """What ``verdict`` gives besides the check points: what a session of readings says.

    ``fit`` is a map of parameter to value, standard uncertainty, unit and state; ``explanations``
    is the most probable first; ``next_reading`` is None where there is none to choose between;
    ``problems`` says in sentences why something is lacking, and what is odd about the readings.
    """
    from bobweight.app.messages import sentence
    from bobweight.app.messages.explanations import (
        explanation_sentence,
        next_reading_sentences,
        option_sentence,
        step_text,
    )
    from bobweight.core.judgement.decision import decide_docket

    decision = decide_docket(docket, judged.session, known=judged)
    answer = decision.as_fields()
    for fields, explanation in zip(answer["explanations"], decision.explanations, strict=True):
        fields["sentence"] = explanation_sentence(explanation, docket)
    if decision.advice is not None:
        said = next_reading_sentences(decision.advice, docket, decision.session)
        answer["next_reading"]["sentence"] = " ".join(part for part in said if part)
    cure = decision.cure
    for fields, step in zip(answer["alterations"], cure.steps if cure else (), strict=True):
        after = option_sentence((step,), cure.probability_before)
        fields["sentence"] = f"{step_text(step, docket)}. {after}"
    answer["problems"] = [sentence(problem, docket) for problem in decision.problems]
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


def _numbers(values: Sequence[float]) -> list[float | None]:
    return [_number(value) for value in values]


def _number(value: float | None) -> float | None:
    """A plain float; None for what JSON has no number for."""
    if value is None or not math.isfinite(value):
        return None
    return float(value)


def json_text(answer: dict[str, Any]) -> str:
    """The answer as JSON text."""
    return json.dumps(answer, indent=1, ensure_ascii=False, allow_nan=False)
