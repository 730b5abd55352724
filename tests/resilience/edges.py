"""Pairs of values at, just within and just beyond their limits, through all calculations."""

from __future__ import annotations

import math
import random
import warnings
from collections.abc import Iterator
from functools import cache
from typing import Any

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.figure.plan import plan_frame, posed_plan
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.outcome import Outcome, outcome
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import Parameter, put, walk
from bobweight.core.sheet.docket_sheet import docket_sheet
from tests.samples import sample

NAMES = ("weak_primary", "small_four", "retard_capsule", "vee_eight", "tractor_four")
Edit = tuple[Path, Any]


@cache
def numbers_of(name: str) -> tuple[tuple[Path, Parameter], ...]:
    """The numbers of a sample; of a long list of readings or points the first two rows."""
    return tuple(
        (path, parameter)
        for path, parameter, _ in walk(sample(name))
        if parameter.kind in ("number", "whole")
        and all(not isinstance(step, int) or step < 2 for step in path)
    )


def edge_of(rng: random.Random, parameter: Parameter) -> Any:
    """A value at a limit, just within it, just beyond it, or blank where that may be."""
    low, high = parameter.hard
    limit = rng.choice((low, high))
    if parameter.kind == "whole":
        return int(limit) + rng.choice((0, 0, -1, 1))
    other = low + high - limit
    kinds = [
        limit,
        limit,
        math.nextafter(limit, other),
        math.nextafter(limit, limit + limit - other),
    ]
    kinds.append(limit + (other - limit) * 1e-3)
    if parameter.default is None:
        kinds.append(None)
    return rng.choice(kinds)


def pair(seed: int) -> tuple[str, list[Edit]]:
    """A sample, and two of its numbers at edges."""
    rng = random.Random(seed)
    name = rng.choice(NAMES)
    chosen = rng.sample(numbers_of(name), 2)
    return name, [(path, edge_of(rng, parameter)) for path, parameter in chosen]


def faults(seed: int, thoroughly: bool = False) -> list[str]:
    """What is wrong with what is made of a pair: nothing, if it is refused in our own words, or
    computed, finite and on paper."""
    name, edits = pair(seed)
    docket = sample(name)
    for path, value in edits:
        try:
            docket = put(docket, path, value)
        except BobweightError as error:
            if error.problem.path[: len(path)] != path[: len(error.problem.path)]:
                return [f"{name} {edits}: refused at {error.problem.path}"]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            found = list(_wrong(docket, thoroughly))
        except Exception as error:
            found = [f"{type(error).__name__}: {error}"]
    return [f"{name} {edits}: {each}" for each in found]


def _wrong(docket: Docket, thoroughly: bool) -> Iterator[str]:
    known = outcome(docket)
    if any(problem.code == "not-computed" for problem in known.problems):
        yield "not computed"
    if known.prediction is None and not any(problem.grave for problem in known.problems):
        yield "no curve and no reason"
    yield from _not_finite(known)
    if known.prediction is not None:
        frame = plan_frame(docket)
        posed = posed_plan(docket.mechanism, frame, 0.5 * frame.end_deg)
        if not all(np.isfinite(shape).all() for shape in (*frame.weights, *posed.weights)):
            yield "the plan is not finite"
    docket_sheet(known)
    if thoroughly:
        decision = decide_docket(docket, known=known)
        chance = decision.judgement.probability_inside
        if chance is not None and not 0.0 <= chance <= 1.0:
            yield f"probability {chance}"


def _not_finite(known: Outcome) -> Iterator[str]:
    made = known.prediction
    if made is not None:
        speeds = np.linspace(0.0, 3000.0, 61)
        if not np.isfinite(made.advance_deg(speeds)).all():
            yield "the curve is not finite"
        if not (math.isfinite(made.full_deg) and math.isfinite(made.start_rpm)):
            yield "start or full advance is not finite"
