"""What the core says of a docket, brought to the few figures that the studies count."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.outcome import outcome
from bobweight.core.problems import Path
from bobweight.core.record import get, put
from tests.studies.simulator.cases import Case
from tests.studies.simulator.units import inside

SAID_INSIDE = ("inside", "looks-inside")


@dataclass(frozen=True)
class Step:
    """One alteration as stated: by an amount, or to values."""

    what: str
    path: Path
    amount: float
    to: tuple[tuple[Path, float], ...] = ()


@dataclass(frozen=True)
class Next:
    """The next reading as stated, and the chance that it changes what is first (or decided)."""

    speed_rpm: float
    way: str
    kpa: float | None
    change: float


@dataclass(frozen=True)
class Opinion:
    """What was said.

    ``explanations``: (name, probability, place), the first first; ``points`` by (kind, row).
    ``decision``: one of the five words, with hyphens; '' where none is said.
    """

    explanations: tuple[tuple[str, float, int], ...]
    points: dict[tuple[str, int | None], float]
    whole: float | None
    decision: str
    action: str
    steps: tuple[Step, ...]
    after: float | None
    next: Next | None
    failed: str = ""

    @property
    def first(self) -> str:
        """Name of the first explanation; '' where none is given."""
        return self.explanations[0][0] if self.explanations else ""

    @property
    def chance(self) -> float:
        """Its probability."""
        return self.explanations[0][1] if self.explanations else 0.0

    def place(self, name: str) -> int:
        """The place of an explanation, 99 where it is not among them."""
        return next((p for n, _, p in self.explanations if n == name), 99)


def opinion_of(docket: Docket) -> Opinion:
    """The core's judgement of the docket's last session."""
    found = decide_docket(docket)
    explanations = tuple((e.name, e.probability, e.place) for e in found.explanations)
    steps, after, whole = (), None, None
    if found.cure is not None:
        whole = found.cure.probability_before
        steps = tuple(
            Step(
                s.key, s.path, s.amount,
                tuple(e for e in found.cure.edits if s.key in ("swap", "clean")
                      and e[0][:3] == s.path[:3]),
            )
            for s in found.cure.steps
        )  # fmt: skip
        after = found.cure.steps[-1].probability_inside_after if steps else None
    best = None
    if found.advice is not None:
        b = found.advice.best
        best = Next(b.speed_rpm, b.direction, b.depression_kpa, b.change_probability)
    failed = next((p.code for p in found.problems if p.grave), "")
    compared = outcome(docket).comparison
    points = {
        (p.kind, p.index): p.probability_inside
        for p in compared.all_points
        if p.probability_inside is not None
    }
    decision = {"INSIDE": "inside", "OUTSIDE": "outside", "CANNOT_TELL": "cannot-be-told"}[
        compared.overall.name
    ]
    return Opinion(explanations, points, whole, decision, found.action, steps, after, best, failed)


def altered(rng: Generator, case: Case, steps: tuple[Step, ...]) -> tuple[Mechanism, Capsule]:
    """The true unit after the stated alterations by a hand: a fresh spring ± 3 % and ± 0.1 mm, a
    bend ± 0.1 mm, a stop ± 0.2°."""
    actual, capsule = case.bench.actual, case.bench.capsule
    sound = case.unit.sound
    if len(actual.springs) < len(sound.springs):  # one that was missing: fitted or not
        kept = {s.role for s in actual.springs}
        gone = {"rate_n_per_mm": 1e-3, "initial_tension_n": 0.0}
        springs = tuple(
            next(a for a in actual.springs if a.role == s.role) if s.role in kept
            else replace(s, **gone)
            for s in sound.springs
        )  # fmt: skip
        actual = replace(actual, springs=springs)
    for step in steps:
        if step.what == "clean":
            actual = replace(actual, stick_nmm=sound.stick_nmm, grip=sound.grip)
        elif step.path[0] == "capsule":
            capsule = _with_capsule(capsule, step)
        elif step.to:
            for path, value in step.to:
                noise = {
                    "rate_n_per_mm": value * rng.normal(0, 0.03),
                    "free_length_mm": rng.normal(0, 0.1),
                }.get(str(path[-1]), 0.0)
                actual = _put(actual, path[1:], max(value + noise, 0.0))
        else:
            noise = {"tang_mm": 0.1, "slack_mm": 0.1, "stop_deg": 0.2}.get(str(step.path[-1]), 0.0)
            now = float(get(actual, step.path[1:]))
            actual = _put(actual, step.path[1:], now + step.amount + rng.normal(0, noise))
    return actual, capsule


def _put(actual: Mechanism, path: Path, value: float) -> Mechanism:
    return put(actual, path, float(value))


def _with_capsule(c: Capsule, step: Step) -> Capsule:
    if c.given_as == "none":
        return c
    if step.path[-1] == "start_kpa":
        return replace(c, preload_n=c.preload_n + c.area_mm2 * 1e-3 * step.amount)
    full = c.full_deg + step.amount
    return replace(c, travel_mm=float(c.lever_mm * np.sin(np.radians(full))))


def inside_after(rng: Generator, case: Case, steps: tuple[Step, ...]) -> bool:
    """Whether the true unit is inside its whole table after the stated alterations."""
    try:
        actual, capsule = altered(rng, case, steps)
        return all(inside(case.docket.target, actual, capsule, case.bench.rest_deg).values())
    except Exception:  # an alteration that cannot be made is one that failed
        return False
