"""The user's springs in a tray: what is known of each, and how one is hooked into a mechanism."""

from __future__ import annotations

from bobweight.core.docket.mechanism import Spring
from bobweight.core.docket.spring_source import SpringSource
from bobweight.core.problems import Problem
from bobweight.core.record import (
    Record,
    Taken,
    many,
    one,
    same_as,
    stored,
    text,
    value_problems,
    whole,
)

OWN_FIGURES = ("rate_n_per_mm", "initial_tension_n", "free_length_mm")
"""What belongs to a spring itself, wherever it is hooked in."""


def own_figures(spring: Spring | TraySpring) -> tuple[float | None, ...]:
    """What belongs to this spring itself."""
    return tuple(getattr(spring, key) for key in OWN_FIGURES)


@stored
class TraySpring(Record):
    """One kind of spring in the tray."""

    label: str = text("Label", help="Your own mark on it or on its bag.")
    count: int = whole("How many", 1, (0, 9999))
    rate_n_per_mm: float | None = same_as(Spring, "rate_n_per_mm")
    initial_tension_n: float | None = same_as(Spring, "initial_tension_n")
    free_length_mm: float | None = same_as(Spring, "free_length_mm")
    note: str = text("Note")
    source: SpringSource = one("How it is known", SpringSource)
    tension_taken_n = Taken("initial_tension_n")


@stored
class Tray(Record):
    """The user's springs."""

    springs: tuple[TraySpring, ...] = many("Springs", TraySpring, most=5000)


def tray_problems(tray: Tray) -> list[Problem]:
    """What is wrong with the tray: values out of range, figures missing, labels used twice."""
    found = value_problems(tray)
    seen: dict[str, int] = {}
    for row, spring in enumerate(tray.springs):
        for key in ("rate_n_per_mm", "free_length_mm"):
            if getattr(spring, key) is None:
                found.append(Problem("missing", ("springs", row, key), grave=False))
        label = spring.label.strip()
        if label and label in seen:
            facts = {"value": label, "row": seen[label] + 1}
            found.append(Problem("label-twice", ("springs", row, "label"), facts, grave=False))
        seen.setdefault(label, row)
    return found


def usable_rows(tray: Tray) -> list[int]:
    """Rows of springs that are there and known well enough to be tried."""
    return [
        row
        for row, spring in enumerate(tray.springs)
        if spring.count > 0 and spring.rate_n_per_mm is not None and spring.free_length_mm
    ]


def hooked_in(spring: Spring, tray_spring: TraySpring, **settings: float) -> Spring:
    """A docket's spring with the tray spring's own figures, their uncertainties and source; posts,
    peg and slack stay, unless ``settings`` (tang_mm, slack_mm) say otherwise."""
    u = {key: value for key, value in spring.u.items() if key not in (*OWN_FIGURES, *settings)}
    u |= {key: tray_spring.u[key] for key in OWN_FIGURES if key in tray_spring.u}
    figures = {key: getattr(tray_spring, key) for key in OWN_FIGURES}
    return spring.with_changes(
        **figures, **settings, label=tray_spring.label, source=tray_spring.source, u=u
    )


def from_docket(spring: Spring) -> TraySpring:
    """A tray entry for a docket's spring."""
    return TraySpring(
        label=spring.label,
        source=spring.source,
        u={key: spring.u[key] for key in OWN_FIGURES if key in spring.u},
        **{key: getattr(spring, key) for key in OWN_FIGURES},
    )
