"""What the timing-light session says."""

from __future__ import annotations

from bobweight.app.messages.figure_words import said
from bobweight.app.theme import VERDICT_SIGNS
from bobweight.app.words import translate
from bobweight.core.figure.numbers import figure, span, typed
from bobweight.core.figure.points import decision
from bobweight.core.judgement.taking import REPEATS, Group, Planned, Suggestion

ARROWS = {"rising": "↑", "falling": "↓", "unknown": "·"}


def direction_text(direction: str) -> str:
    """A direction by arrow and word."""
    word = {
        "rising": translate("timing", "rising"),
        "falling": translate("timing", "falling"),
    }.get(direction, translate("timing", "not known"))
    return f"{ARROWS.get(direction, '·')} {word}"


def plain_degrees(value: float) -> str:
    """Degrees to a tenth."""
    return f"{figure(value)}°"


def suggestion_text(suggestion: Suggestion | None) -> str:
    """What to read next, large."""
    if suggestion is None:
        return translate("timing", "Every speed is read")
    return f"{suggestion.speed_rpm:.0f} {ARROWS.get(suggestion.direction, '')}"


def reason_text(suggestion: Suggestion | None) -> str:
    """Why, and how many times yet."""
    if suggestion is None:
        return translate("timing", "Type more where you doubt, V for the capsule, Esc to leave.")
    why = {
        "repeat": translate("timing", "the same again"),
        "check point": translate("timing", "a check point"),
    }.get(suggestion.reason, translate("timing", "to see how the curve runs"))
    return translate("timing", "rev/min, {direction}: {why}, reading {number} of {all}").format(
        direction=direction_text(suggestion.direction).split(" ", 1)[1], why=why,
        number=suggestion.repeat, all=max(REPEATS, suggestion.repeat),
    )  # fmt: skip


def group_text(group: Group) -> str:
    """The mean of repeats with its standard uncertainty."""
    return f"{plain_degrees(group.angle_deg)} ± {plain_degrees(group.u_deg)}"


def group_place(group: Group) -> str:
    """Where a group was read, how many times, and how far its repeats differ."""
    arrow = ARROWS[group.direction] if group.direction in ("rising", "falling") else ""
    place = translate("timing", "{speed} rev/min {arrow}").format(
        speed=f"{group.speed_rpm:.0f}", arrow=arrow
    ).strip()  # fmt: skip
    if group.depression_kpa is not None:
        place = translate("timing", "{place}, pipe on").format(place=place)
    if group.spread_deg is None:
        return translate("timing", "Last: {place}, one reading").format(place=place)
    return translate("timing", "Last: {place}, mean of {count}, spread {spread}").format(
        place=place, count=len(group.rows), spread=plain_degrees(group.spread_deg)
    )


def band_text(low_deg: float | None, high_deg: float | None) -> str:
    """A band as the instrument shows it."""
    return said(span(typed(low_deg), typed(high_deg), "°"))


def point_text(verdict: str) -> str:
    """What all that is known says of a check point, by sign and word."""
    return f"{VERDICT_SIGNS[verdict]} {said(decision(verdict))}"


def standing_text(point: Planned | None, verdict: str, held: str = "") -> str:
    """The check point at a group's speed: how it is judged, and what must show there; or that with
    the pipe on the depression ``held`` is what counts."""
    if held:
        text = translate("timing", "With the pipe on it tells of the capsule at {depression}.")
        return text.format(depression=held)
    if point is None:
        return translate("timing", "No check point at this speed.")
    return translate("timing", "{verdict}: must show {band}").format(
        verdict=point_text(verdict), band=band_text(point.low_deg, point.high_deg)
    )
