"""What the readings say, in sentences: explanations, what to do, the next reading, alterations.

One sentence an explanation, with its numbers and what a hand would check first. The core gives
codes and numbers; nothing is worked out here.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from bobweight.app.messages import place_text, spring_name
from bobweight.app.messages.explanation_table import (
    ACTIONS,
    CHECKS,
    DEAD_CAPSULE,
    EXPLANATIONS,
    NOT_ENTERED,
    OPPOSITES,
    RELATIVE,
    RING,
    SIDES,
    SLIGHT,
    TITLES,
    UNTOLD,
)
from bobweight.app.messages.sizes import (
    in_unit,
    is_as_stated,
    is_entered,
    pm,
    quantity_of,
    size_facts,
)
from bobweight.app.words import (
    QT_TRANSLATE_NOOP,
    lower_first,
    significant,
    translate,
    with_unit,
)
from bobweight.core import units
from bobweight.core.docket.docket import Docket
from bobweight.core.problems import Path, required
from bobweight.core.units import DEPRESSION, LENGTH, SPRING_RATE

if TYPE_CHECKING:  # the window shows these words, but has no need of fit and diagnosis to begin
    from bobweight.app.store.display import Display
    from bobweight.core.judgement.advise import Advice
    from bobweight.core.judgement.alter import CureStep, Sensitivity
    from bobweight.core.judgement.diagnosis import Explanation, FaultSize
    from bobweight.core.judgement.fit import Alike, Estimate

_NO_ENGINE_KPA = 90.0  # a depression that no engine and no hand pump reaches
_HAND = {"mm": 0.05, "deg": 0.1, "kPa": 0.5, "g": 0.1}
"""How finely a hand is told what to alter, in stored units."""
_CERTAINTY = (
    (0.99, QT_TRANSLATE_NOOP("explanations", "almost certain")),
    (0.90, QT_TRANSLATE_NOOP("explanations", "very likely")),
    (0.60, QT_TRANSLATE_NOOP("explanations", "likely")),
    (0.30, QT_TRANSLATE_NOOP("explanations", "possible")),
    (0.10, QT_TRANSLATE_NOOP("explanations", "doubtful")),
    (0.01, QT_TRANSLATE_NOOP("explanations", "unlikely")),
    (-1.0, QT_TRANSLATE_NOOP("explanations", "very unlikely")),
)


def probability_word(probability: float) -> str:
    """A probability as a word."""
    words = next(words for least, words in _CERTAINTY if probability >= least)
    return translate("explanations", words)


def percent(probability: float) -> str:
    """A probability in whole percent, never rounded to certainty, for a sentence that wraps."""
    return units.percent(probability).replace(" ", "\u00a0")


def explanation_title(name: str) -> str:
    """What an explanation is called: "Primary spring weak"; of a pair both."""
    titles = [translate("explanations", TITLES.get(part, part)) for part in name.split("+")]
    return " + ".join([titles[0], *(lower_first(t) for t in titles[1:])])


def side_word(side: str) -> str:
    """Whether an explanation is a fault of the unit or of the measurement."""
    return translate("explanations", SIDES[side]) if side in SIDES else ""


def explanation_sentence(
    explanation: Explanation, docket: Docket, display: Display | None = None,
    assumed: Collection[Path] = (),
) -> str:  # fmt: skip
    """One sentence: what, how much, and what a hand would check first; of values that are only
    ``assumed`` by how much they differ, and not what they are."""
    parts = [
        _fault_text(fault, explanation.sizes, docket, display, assumed)
        for fault in explanation.name.split("+")
    ]
    said = translate("explanations", "{one}, and {other}").format(
        one=parts[0], other=lower_first(parts[1])
    ) if len(parts) > 1 else parts[0]  # fmt: skip
    checks = check_texts(explanation, docket)
    if not checks:
        return f"{said}."
    then = translate("explanations", ", then ").join(checks)
    return translate("explanations", "{what}: {check}.").format(what=said, check=then)


def check_texts(explanation: Explanation, docket: Docket) -> list[str]:
    """What a hand checks first, a clause each; on a rig there is no dead centre to be proved."""
    codes = explanation.check_first
    if any(_on_ring(size, docket) for size in explanation.sizes):
        codes = tuple("ring-zero" if code == "prove-mark" else code for code in codes)
    return [translate("explanations", CHECKS[code]) for code in codes if code in CHECKS]


def _on_ring(size: FaultSize, docket: Docket) -> bool:
    """Whether it is the zero of a rig's degree ring."""
    if size.fault != "mark_offset" or size.path[:1] != ("sessions",):
        return False
    return docket.sessions[int(size.path[1])].instrument.kind_taken == "rig"


def alike_sentence(explanation: Explanation) -> str:
    """Which others of its place the readings cannot tell it from; empty for none."""
    if not explanation.alike:
        return ""
    names = [f"“{lower_first(explanation_title(name))}”" for name in explanation.alike]
    words = translate(
        "explanations",
        "These readings cannot tell it from {others}: the more usual stands first.",
    )
    return words.format(others=_listed(names))


def action_sentence(action: str) -> str:
    """What to do now."""
    return translate("explanations", ACTIONS.get(action, ACTIONS["not-judged"]))


def next_reading_sentences(
    advice: Advice, docket: Docket, session: int, display: Display | None = None
) -> tuple[str, str]:
    """Where to take the next reading, and why; or that none is worth taking, and what is left."""
    best = advice.best
    if not has_table(docket):
        said = translate("explanations", "Without a table no reading can decide anything.")
        return said, ""
    where = _where(advice, docket.sessions[session].instrument.kind_taken == "lamp", display)
    why = _why(advice, docket.sessions[session].instrument.u_angle_taken_deg)
    if not advice.worth_taking:
        said = translate("explanations", "Another reading would not change the decision.")
        if best.gain_bits < 0.005:
            return said, ""
        more = translate("explanations", "If you take one, this tells most: {where}.").format(
            where=where
        )
        return said, f"{more} {why}".strip()
    said = translate("explanations", "Take the next reading at {where}.").format(where=where)
    if best.change_probability < 0.01:  # it is taken for the decision, not to tell them apart
        return said, why
    chance = translate(
        "explanations", "The chance that it puts another explanation first is {chance}."
    ).format(chance=percent(best.change_probability))
    return said, f"{why} {chance}".strip()


def has_table(docket: Docket) -> bool:
    """Whether there is any row to be judged by."""
    target = docket.target
    limits = (target.no_advance_below_rpm, target.ceiling_deg)
    return bool(target.points or target.vacuum_points) or any(v is not None for v in limits)


def _where(advice: Advice, lamp: bool, display: Display | None) -> str:
    """Speed, direction and pipe of the best reading."""
    best, step = advice.best, 10.0 if lamp else 5.0
    speed = f"{step * round(best.speed_rpm / step):.0f}"
    facts = {"speed": speed, "direction": direction_word(best.direction)}
    if lamp:
        where = translate("explanations", "{speed} engine rev/min, {direction}")
    else:
        where = translate("explanations", "{speed} distributor rev/min, {direction}")
    where = where.format(**facts)
    if best.depression_kpa is None:
        return translate("explanations", "{where}, pipe off and plugged").format(where=where)
    words = translate("explanations", "{where}, with {depression} at the capsule")
    return words.format(where=where, depression=in_unit(best.depression_kpa, DEPRESSION, display))


def _why(advice: Advice, u_angle_deg: float) -> str:
    """What the two explanations that the best reading parts expect there; nothing where no reading
    would tell them apart."""
    expected = dict(advice.best.expected_deg)
    names = [name for name in advice.apart if name in expected]
    if len(names) != 2 or abs(expected[names[0]] - expected[names[1]]) < 0.5 * u_angle_deg:
        return ""
    words = translate(
        "explanations",
        "There “{one}” would show {first} on the instrument, “{other}” {second}.",
    )
    first, second = (f"{expected[name]:.1f}°".replace("-", "−") for name in names)
    one, other = (lower_first(explanation_title(name)) for name in names)
    return words.format(one=one, first=first, other=other, second=second)


def direction_word(direction: str) -> str:
    """Rising or falling."""
    return {
        "rising": translate("explanations", "rising"),
        "falling": translate("explanations", "falling"),
    }.get(direction, direction)


# Alterations --------------------------------------------------------------------------------


def step_text(step: CureStep, docket: Docket, display: Display | None = None) -> str:
    """One alteration as an order to a hand: "Bend the primary post 0.4 mm outward"."""
    more = step.amount > 0
    quantity = quantity_of(step.path)
    least = _HAND.get(step.unit, 0.01)
    amount = round(max(round(abs(step.amount) / least), 1) * least, 2)
    size = in_unit(amount, quantity, display) if step.unit else ""
    if step.unit == "times":
        size = significant(step.amount, 3)
    if step.key == "swap" and step.spring is not None:
        rate = required(docket.mechanism.springs[step.spring].rate_n_per_mm)
        size = in_unit(rate, SPRING_RATE, display)
    name = "" if step.spring is None else lower_first(spring_name(docket, step.spring))
    value = "" if step.value is None else in_unit(float(f"{step.value:.2g}"), SPRING_RATE, display)
    text = {
        "clean": translate("explanations", "Clean and oil cam and pivots until nothing sticks"),
        "stop": translate("explanations", "Let the stop out by {size} distributor")
        if more
        else translate("explanations", "Bring the stop in by {size} distributor"),
        "tang": _tang_text(docket, step.spring, more),
        "swap": translate("explanations", "Fit a sound {name} of {size}"),
        "rate": translate(
            "explanations", "Hang a load on the present {name} and fit one {size} times as stiff"
        )
        if step.value is None
        else translate(
            "explanations", "Fit a {name} of {value}, {size} times as stiff as the present one"
        ),
        "loop": translate("explanations", "Give the {name} {size} more slack")
        if more
        else translate("explanations", "Give the {name} {size} less slack"),
        "mass": translate("explanations", "Add {size} to each weight")
        if more
        else translate("explanations", "File {size} off each weight"),
        "static": translate("explanations", "Alter static by {size}"),
        "capsule_start": translate("explanations", "Have the capsule start {size} later")
        if more
        else translate("explanations", "Have the capsule start {size} sooner"),
        "capsule_travel": translate(
            "explanations", "Give the capsule {size} more travel at the distributor"
        )
        if more
        else translate("explanations", "Give the capsule {size} less travel at the distributor"),
    }.get(step.key, step.key)
    return text.format(name=name, size=size, value=value)


def _tang_text(docket: Docket, spring: int | None, more: bool) -> str:
    way = docket.mechanism.springs[spring].tang_way if spring is not None else "outward"
    if way == "round":
        if more:
            return translate("explanations", "Bend the post of the {name} {size} towards advance")
        return translate("explanations", "Bend the post of the {name} {size} towards retard")
    if more:
        return translate("explanations", "Bend the post of the {name} {size} outward")
    return translate("explanations", "Bend the post of the {name} {size} inward")


def bent_text(post_mm: float, tang_way: str, display: Display | None = None) -> str:
    """How far a post is bent and which way: "0.4 mm inward"."""
    size = in_unit(round(abs(post_mm), 2), LENGTH, display)
    if round(post_mm, 2) == 0.0:
        return size
    if tang_way == "round":
        if post_mm > 0:
            return translate("explanations", "{size} towards advance").format(size=size)
        return translate("explanations", "{size} towards retard").format(size=size)
    if post_mm > 0:
        return translate("explanations", "{size} outward").format(size=size)
    return translate("explanations", "{size} inward").format(size=size)


def steps_text(steps: Sequence[CureStep], docket: Docket, display: Display | None = None) -> str:
    """A list of alterations in one line."""
    texts = [step_text(step, docket, display) for step in steps]
    joined = translate("explanations", ", then ")
    return joined.join([texts[0], *(lower_first(t) for t in texts[1:])])


def session_after(steps: Sequence[CureStep], docket: Docket) -> str:
    """What the session of readings after a list of alterations is called."""
    names = []
    for step in steps:
        name = "" if step.spring is None else lower_first(_short_name(docket, step.spring))
        what = {
            "clean": translate("explanations", "cleaning"),
            "stop": translate("explanations", "stop moved"),
            "tang": translate("explanations", "{name} post bent"),
            "swap": translate("explanations", "other {name} spring"),
            "rate": translate("explanations", "other {name} spring"),
            "loop": translate("explanations", "{name} loop altered"),
            "mass": translate("explanations", "weights altered"),
            "static": translate("explanations", "static altered"),
        }.get(step.key, translate("explanations", "capsule altered"))
        names.append(what.format(name=name))
    return translate("explanations", "After {what}").format(what=", ".join(names))


def alterations_text(action: str, several: bool) -> str:
    """What an alteration, or several of which one will do, is to what is to be done now; empty
    where that is it."""
    one, more = {
        "measure-first": (
            translate("explanations", "Prove the measurement first; if it is sound, this."),
            translate("explanations", "Prove the measurement first; if it is sound, one of these."),
        ),
        "free-first": (
            translate("explanations", "Free it first and read again; only then think of this."),
            translate(
                "explanations", "Free it first and read again; only then think of one of these."
            ),
        ),
        "read-more": (
            translate("explanations", "Read more first; if it bears this out, do this."),
            translate("explanations", "Read more first; if it bears this out, one of these."),
        ),
        "nothing-helps": (
            translate("explanations", "It is not likely enough to help to be advised."),
            translate("explanations", "None of these is likely enough to help to be advised."),
        ),
    }.get(
        action,
        (
            "",
            translate(
                "explanations",
                "The first is advised; any of the others may be done instead, the likeliest first.",
            ),
        ),
    )
    return more if several else one


def shares_sentence(options: Collection[Sequence[CureStep]]) -> str:
    """Why a spring so many times as stiff promises another chance than one by its rate, where both
    are offered; else empty."""
    keys = {(step.key, step.spring) for steps in options for step in steps}
    if not any(key == "swap" and ("rate", spring) in keys for key, spring in keys):
        return ""
    return translate(
        "explanations",
        "How many times as stiff a spring must be, the readings tell more surely than its rate.",
    )


def option_sentence(steps: Sequence[CureStep], before: float) -> str:
    """What a list of alterations does to the probability of the band."""
    words = translate("explanations", "Inside the whole band: {word}, {after}; as it is, {before}.")
    after = steps[-1].probability_inside_after
    return words.format(after=percent(after), before=percent(before), word=probability_word(after))


def sensitivity_name(row: Sensitivity, docket: Docket) -> str:
    """What is altered by how much, as the heading of a row: "Primary: tang 1 mm"."""
    name = "" if row.spring is None else _short_name(docket, row.spring)
    unit = with_unit("1", {"deg": "°"}.get(row.unit, row.unit)) if row.unit else ""
    what = {
        "clean": translate("explanations", "Clean and oil"),
        "stop": translate("explanations", "Stop {unit} dist."),
        "tang": translate("explanations", "{name}: tang {unit}"),
        "swap": translate("explanations", "{name}: new"),
        "rate": translate("explanations", "{name}: 10\u00a0% stiffer"),
        "loop": translate("explanations", "{name}: slack {unit}"),
        "mass": translate("explanations", "Weights {unit} each"),
        "static": translate("explanations", "Static {unit} crank"),
        "capsule_start": translate("explanations", "Capsule start {unit}"),
        "capsule_travel": translate("explanations", "Capsule travel {unit}"),
    }.get(row.key, row.key)
    return what.format(name=name, unit=unit)


def _short_name(docket: Docket, spring: int) -> str:
    """“Primary”, with its number where there are several."""
    springs = docket.mechanism.springs
    role = springs[spring].role
    name = {
        "primary": translate("explanations", "Primary"),
        "secondary": translate("explanations", "Secondary"),
    }.get(role, translate("explanations", "Further"))
    alike = [i for i, each in enumerate(springs) if each.role == role]
    return name if len(alike) == 1 else f"{name} {alike.index(spring) + 1}"


# The fit ------------------------------------------------------------------------------------


def estimate_text(estimate: Estimate, display: Display | None = None) -> str:
    """Value ± standard uncertainty with its unit, or that the readings do not determine it."""
    if estimate.state == "not-determined":
        return translate("explanations", "not settled by these readings")
    text = pm(estimate.value, estimate.u, quantity_of(estimate.path), display)
    if estimate.state == "at-limit":
        return translate("explanations", "{value}, at its limit").format(value=text)
    return text


def before_text(estimate: Estimate, display: Display) -> str:
    """What was known of a value without the readings."""
    quantity = quantity_of(estimate.path)
    return pm(estimate.before, estimate.u_before, quantity, display)


def correlation_sentence(alike: Alike, docket: Docket) -> str:
    """That the readings cannot tell two values apart, and how they go together."""
    words = (
        translate(
            "explanations",
            "“{first}” and “{second}” cannot be told apart by these readings: more of the one "
            "looks like less of the other.",
        )
        if alike.correlation > 0
        else translate(
            "explanations",
            "“{first}” and “{second}” cannot be told apart by these readings: more of the one "
            "looks like more of the other.",
        )
    )
    first, second = (place_text(p, docket) for p in (alike.first, alike.second))
    return words.format(first=first, second=lower_first(second))


# Numbers in sentences -----------------------------------------------------------------------


def _fault_text(
    fault: str, sizes: Sequence[FaultSize], docket: Docket, display: Display | None,
    assumed: Collection[Path],
) -> str:  # fmt: skip
    mine = [s for s in sizes if s.fault == fault]
    source = EXPLANATIONS.get(fault, fault)
    size = mine[-1] if fault.startswith("capsule") and mine else mine[0] if mine else None
    if size is not None and size.path in assumed:
        source = RELATIVE.get(fault, source)
    if size is None and assumed and fault in RELATIVE:
        source = RELATIVE[fault]
    if size is not None and size.amount < 0 and fault in OPPOSITES:
        source = OPPOSITES[fault]
    if size is not None and _on_ring(size, docket):
        source = RING[size.amount < 0]
    if fault == "mark_offset" and size is not None and abs(size.amount) < size.u:
        source = SLIGHT[_on_ring(size, docket)]
    if fault == "nothing_wrong" and source != EXPLANATIONS[fault] and not has_table(docket):
        source = UNTOLD
    if fault == "capsule_leaking" and size is not None and (size.fitted or 0.0) > _NO_ENGINE_KPA:
        source = DEAD_CAPSULE
    entered = size is None or is_entered(size, docket)
    if size is not None and not entered and is_as_stated(size):
        source = NOT_ENTERED.get(fault, source)
    said = translate("explanations", source)
    facts = {} if size is None else size_facts(size, said, display, entered)
    facts["springs"] = _springs_word(mine, docket)
    said = said.format(**facts)
    if size is None or size.measured:
        return said
    unmeasured = translate("explanations", "{what}; the size is the usual one, not measured")
    return unmeasured.format(what=said)


def _springs_word(sizes: Sequence[FaultSize], docket: Docket) -> str:
    """“Primary spring”, or “Primary springs” where the fault is of several."""
    springs = list(dict.fromkeys(
        int(s.path[2]) for s in sizes if s.path[:2] == ("mechanism", "springs")
    ))  # fmt: skip
    if len(springs) == 1:
        return spring_name(docket, springs[0])
    roles = {docket.mechanism.springs[i].role for i in springs}
    if roles == {"primary"}:
        return translate("explanations", "Primary springs")
    return translate("explanations", "Secondary springs")


def _listed(names: Sequence[str]) -> str:
    if len(names) < 2:
        return "".join(names)
    words = translate("explanations", "{most} or {last}")
    return words.format(most=", ".join(names[:-1]), last=names[-1])
