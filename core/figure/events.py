"""What happens on a curve and is told in words: jumps, plateaus, springs that take up."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from bobweight.core.docket.mechanism import SPRING_ROLES, Spring
from bobweight.core.figure.description import Content, Event, Figure, Label, Point, Word, word
from bobweight.core.figure.view import View

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome
    from bobweight.core.mechanics.predict import TakeUp

Events = tuple[tuple[Event, ...], list[Label]]
NOT_AT_AN_END = 0.02
"""A take-up nearer to rest or stop than this share of the full advance is not told."""


def spring_words(springs: Sequence[Spring], index: int) -> Content:
    """What a spring is called: its role, numbered where there are several of it."""
    roles = [spring.role for spring in springs]
    name = word("label", text=SPRING_ROLES[roles[index]])
    number = roles[: index + 1].count(roles[index])
    return name if roles.count(roles[index]) == 1 else word("numbered", name=name, number=number)


def curve_events(outcome: Outcome, view: View) -> Events:
    """Jumps, plateaus and take-ups with what is said of them; a spring that a plateau tells of is
    not told again, and like springs on several weights count once."""
    prediction = outcome.prediction
    if prediction is None:
        return (), []
    springs = outcome.unit.mechanism.springs
    events: list[Event] = []
    labels: list[Label] = []

    def add(event: Event, said: Content, toward: tuple[float, float], role: str) -> None:
        middle = 0.5 * (event.x + event.x_to), 0.5 * (event.y + event.y_to)
        key = f"{event.kind}{len(events)}"
        events.append(event)
        labels.append(Label(key, said, (middle,), role, toward, must=False))

    for jump in prediction.jumps:
        x, low, high = jump.speed_rpm * view.factor, jump.from_deg, jump.to_deg
        said = word(f"jump-{jump.direction}", low=view.at(low), high=view.at(high))
        side = -1.0 if jump.direction == "falling" else 1.0
        add(Event("jump", x, float(view.shown(low)), x, float(view.shown(high)), jump.direction),
            said, (side, -side), jump.direction)  # fmt: skip
    of_spring = {round(t.advance_deg, 6): t.spring for t in prediction.take_ups}
    told: set[tuple[str, float]] = set()
    for plateau in prediction.plateaus:
        spring = of_spring.get(round(plateau.advance_deg, 6))
        facts = {"advance": view.at(plateau.advance_deg), "low": view.speed(plateau.from_rpm),
                 "high": view.speed(plateau.to_rpm)}  # fmt: skip
        said = word("plateau", **facts)
        if spring is not None:
            said = word("takes-up-plateau", spring=spring_words(springs, spring), **facts)
            told.add((springs[spring].role, round(plateau.advance_deg, 3)))
        y = float(view.shown(plateau.advance_deg))
        add(Event("plateau", plateau.from_rpm * view.factor, y, plateau.to_rpm * view.factor, y),
            said, (1.0, -1.0), "rising")  # fmt: skip
    more = take_up_events(
        outcome, view, lambda t: (t.speed_rpm * view.factor, float(view.shown(t.advance_deg))), told
    )
    return (*events, *more[0]), [*labels, *more[1]]


def take_up_events(outcome: Outcome, view: View, at: Callable[[TakeUp], Point],
                   told: Container[tuple[str, float]] = ()) -> Events:  # fmt: skip
    """Where springs take up, marked at a place of the figure; not those ``told`` of already, by
    role and advance, nor those next to rest or stop."""
    prediction, springs = outcome.prediction, outcome.unit.mechanism.springs
    events: dict[tuple[str, float], Event] = {}
    labels: list[Label] = []
    for take_up in () if prediction is None else prediction.take_ups:
        key = springs[take_up.spring].role, round(take_up.advance_deg, 3)
        share = take_up.advance_deg / prediction.full_deg if prediction is not None else 0.0
        if key in told or key in events or not NOT_AT_AN_END < share < 1.0 - NOT_AT_AN_END:
            continue
        x, y = at(take_up)
        events[key] = Event("take-up", x, y, x, y)
        said = word("takes-up", spring=spring_words(springs, take_up.spring),
                    advance=view.at(take_up.advance_deg))  # fmt: skip
        labels.append(Label(f"take-up{len(events)}", said, ((x, y),), "faint", (1.0, -1.0),
                            must=False))  # fmt: skip
    return tuple(events.values()), labels


def without_told(shown: Figure, told: Iterable[Content]) -> Figure:
    """The figure without the words of plateaus that phrases beside it have ``told``; a spring that
    takes up there is still named."""
    keys = ("advance", "low", "high")
    standing = [[each.facts[key] for key in keys] for each in told
                if isinstance(each, Word) and each.code == "stands-still"]  # fmt: skip
    labels = []
    for label in shown.labels:
        words = label.words
        if isinstance(words, Word) and [words.facts.get(key) for key in keys] in standing:
            if "spring" not in words.facts:
                continue
            spring, advance = words.facts["spring"], words.facts["advance"]
            label = replace(label, words=word("takes-up", spring=spring, advance=advance))
        labels.append(label)
    return replace(shown, labels=tuple(labels))
