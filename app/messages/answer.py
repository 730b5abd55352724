"""The one sentence of a decision: where the unit stands, why, and what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bobweight.app.messages.explanations import (
    action_sentence,
    explanation_title,
    lower_first,
    percent,
    steps_text,
)
from bobweight.app.words import translate
from bobweight.core.statistics.conformity import Decision as Conforms

if TYPE_CHECKING:
    from bobweight.core.judgement.consequences import Consequences
    from bobweight.core.judgement.outcome import Outcome


def decided_sentence(found: Consequences, outcome: Outcome) -> tuple[str, str]:
    """The sentence, and ``inside``, ``outside`` or ``cannot tell`` for its sign and colour."""
    decision = found.decision
    verdict = str(outcome.comparison.overall.value)
    parts = []
    if outcome.comparison.all_points:
        parts.append(_stands(outcome))
    if decision.explanations and decision.action != "leave-alone":
        first = decision.explanations[0]
        words = translate("explanations", "Likeliest: {title} ({chance}).")
        title = lower_first(explanation_title(first.name))
        parts.append(words.format(title=title, chance=percent(first.probability)))
    if decision.action == "alter" and found.options:
        option = found.options[0]
        words = translate("explanations", "{steps}: inside with {chance}.")
        steps = steps_text(option.steps, decision.docket)
        parts.append(words.format(steps=steps, chance=percent(option.probability)))
    else:
        parts.append(action_sentence(decision.action))
    return " ".join(parts), verdict


def _stands(outcome: Outcome) -> str:
    points = outcome.comparison.all_points
    outside = [p for p in points if p.verdict is Conforms.OUTSIDE]
    if not outside:
        if all(p.verdict is Conforms.INSIDE for p in points):
            return translate("explanations", "Inside at every check point.")
        return translate("explanations", "Not certain at every check point.")
    speeds = [f"{p.speed_rpm:.0f}" for p in outside if p.speed_rpm is not None][:2]
    if not speeds:
        return translate("explanations", "Outside its band.")
    words = translate("explanations", "Outside at {speeds}\u00a0rev/min.")
    return words.format(speeds=translate("explanations", " and ").join(speeds))
