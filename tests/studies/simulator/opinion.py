"""What the core says of a docket, brought to the few figures that the studies count."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.judgement.alter import CureStep as StatedStep
from bobweight.core.judgement.answer import INSIDE, LOOKS_INSIDE
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.problems import Path
from bobweight.core.record import get, put
from tests.studies.simulator.cases import Case
from tests.studies.simulator.units import inside

SAID_INSIDE = (INSIDE, LOOKS_INSIDE)


@dataclass(frozen=True)
class Step:
    """One alteration as stated: by an amount or a factor, or to values."""

    what: str
    path: Path
    amount: float
    times: bool = False
    to: tuple[tuple[Path, float], ...] = ()


@dataclass(frozen=True)
class Next:
    """The next reading as stated, and what it is expected to gain."""

    speed_rpm: float
    way: str
    kpa: float | None
    gain: float


@dataclass(frozen=True)
class Opinion:
    """What was said.

    ``explanations``: (name, probability, place), the first first; ``points`` by (kind, row).
    ``decision``: one of the five words.
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
    found = decide_docket(docket).judgement
    whole = getattr(found, "filled", None) or docket  # blanks filled in, as steps speak of them
    steps = tuple(_step(whole, s) for s in found.alterations)
    best = next((h for h in found.helps_most if h.what.startswith("read") and h.speed_rpm), None)
    points = {
        (p.kind, p.index): p.probability_inside
        for p in found.check_points
        if p.probability_inside is not None
    }
    return Opinion(
        tuple((e.name, e.probability, e.place) for e in found.explanations), points,
        found.probability_inside, found.decision, found.action, steps, found.probability_after,
        best and Next(best.speed_rpm, best.direction, best.depression_kpa, best.gain),
        next((p.code for p in found.problems if p.grave), ""),
    )  # fmt: skip


def _step(docket: Docket, stated: StatedStep) -> Step:
    to: tuple[tuple[Path, float], ...] = ()
    if stated.key == "swap" and stated.unit == "":
        place = stated.path[:-1]
        keys = ("rate_n_per_mm", "free_length_mm", "initial_tension_n")
        to = tuple(((*place, k), float(get(docket, (*place, k)))) for k in keys)
    return Step(stated.key, stated.path, stated.amount, stated.unit == "times", to)


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
            actual = replace(actual, stick_nmm=sound.stick_taken_nmm, grip=sound.grip_taken)
        elif step.path[0] == "capsules":
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
            if step.times:
                aim = now * step.amount
                noise = 0.03 * aim
                length = (*step.path[1:-1], "free_length_mm")
                actual = _put(actual, length, float(get(actual, length)) + rng.normal(0, 0.1))
            else:
                aim = now + step.amount
            actual = _put(actual, step.path[1:], aim + rng.normal(0, noise))
    return actual, capsule


def _put(actual: Mechanism, path: Path, value: float) -> Mechanism:
    return put(actual, path, float(value))


def _with_capsule(c: Capsule, step: Step) -> Capsule:
    if c.given_as == "none":
        return c
    if step.path[-1] == "start_kpa":
        return replace(c, preload_n=c.preload_n + c.area_mm2 * 1e-3 * step.amount)
    full = c.full_deg + step.amount
    return replace(c, travel_mm=float(c.lever_taken_mm * np.sin(np.radians(full))))


def inside_after(rng: Generator, case: Case, steps: tuple[Step, ...]) -> bool:
    """Whether the true unit is inside its whole table after the stated alterations."""
    try:
        actual, capsule = altered(rng, case, steps)
        return all(inside(case.docket.target, actual, capsule, case.bench.rest_deg).values())
    except Exception:  # an alteration that cannot be made is one that failed
        return False
