"""Two sessions of one unit: is it judged better by both than by the last alone?

    python -m tests.studies.two_sessions [--units N] [--first SEED]

Units, dockets, faults and sessions are those of :mod:`tests.studies.simulator`. *Read again*: the
same unit is read twice, on two days with instruments set up anew. *Cured*: the part at fault is
replaced by a sound one and entered as a new state; of a blank docket only a line of history says
so. *In vain*: another spring is replaced than the one at fault. The last session is judged with
and without the first. A chance stated is scored by Brier's rule (the less the better).
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.history import Alteration
from bobweight.core.docket.mechanism import Mechanism, Spring
from bobweight.core.docket.states import with_new_state
from bobweight.core.judgement import decision
from bobweight.core.judgement.others import others_told
from tests.studies.asked import asked_units
from tests.studies.results import niced, section, share, table
from tests.studies.simulator.cases import NOTHING, rng_of
from tests.studies.simulator.dockets import KINDS, as_measured, docket_of
from tests.studies.simulator.faults import harmed
from tests.studies.simulator.opinion import SAID_INSIDE, Opinion, opinion_of
from tests.studies.simulator.sessions import Manner, read, usual_bench, with_session
from tests.studies.simulator.units import draw_unit, inside

SCENES = ("read again", "cured", "in vain")
FAULTS = ("primary_weak", "primary_stretched", "primary_strong", "secondary_weak", "secondary_late")
"""Faults of a spring, each as often as the next; one unit in two that is read again is sound."""


@dataclass(frozen=True)
class Told:
    """What was said of one unit by the last session alone and by both."""

    scene: str
    kind: str
    true: str
    all_inside: bool
    alone: Opinion
    both: Opinion


def _renewed(rng: Generator, now: Spring, sound: Spring) -> Spring:
    """A sound spring in its place: a fresh one ± 3 %, ± 0.1 mm."""
    return replace(
        now, rate_n_per_mm=sound.rate_n_per_mm * float(np.exp(rng.normal(0, 0.03))),
        free_length_mm=sound.free_length_mm + rng.normal(0, 0.1),
        slack_mm=max(sound.slack_taken_mm + rng.normal(0, 0.1) * (sound.slack_taken_mm > 0), 0.0),
    )  # fmt: skip


def _entered(rng: Generator, docket: Docket, row: int, new: Spring, kind: str) -> Docket:
    """The docket with the new spring as it was measured, in a state of its own."""
    if kind == "blank":
        line = Alteration(what="Spring replaced", before_session=1, after_session=2)
        return docket.with_changes(history=(line,))
    old = docket.mechanism.springs[row]
    found = as_measured(rng, new, kind, bool(old.u))
    names = ("rate_n_per_mm", "free_length_mm", "slack_mm")
    spring = replace(old, **{k: getattr(found, k) for k in names},
                     u=dict(old.u) | {k: v for k, v in found.u.items() if k in names})  # fmt: skip
    springs = tuple(spring if i == row else s for i, s in enumerate(docket.mechanism.springs))
    altered = docket.with_changes(mechanism=replace(docket.mechanism, springs=springs))
    line = Alteration(what="Spring replaced", before_session=1, after_session=2)
    return with_new_state(docket, altered, "Spring replaced").with_changes(history=(line,))


def read_twice(scene: str, kind: str, seed: int) -> tuple[Docket, str, bool]:
    """A docket of two sessions, what is wrong at the second, and whether the unit is inside."""
    rng = rng_of("two sessions", scene, kind, seed)
    while True:
        try:
            unit = draw_unit(rng)
            bench = usual_bench(rng, unit.sound, unit.capsule)
            true = str(rng.choice(FAULTS))
            if scene == "read again" and seed % 2:
                true = NOTHING
            if true != NOTHING:
                bench = harmed(rng, bench, true)
            docket, manner = docket_of(rng, unit, kind), Manner()
            docket = with_session(docket, unit, read(rng, unit, bench, manner), manner)
            again = usual_bench(rng, bench.actual, unit.capsule)
            if scene != "read again":
                bad = 0 if true.startswith("primary") else 1
                row = bad if scene == "cured" else 1 - bad
                new = _renewed(rng, bench.actual.springs[row], unit.sound.springs[row])
                actual: Mechanism = replace(bench.actual, springs=tuple(
                    new if i == row else s for i, s in enumerate(bench.actual.springs)
                ))  # fmt: skip
                docket = _entered(rng, docket, row, new, kind)
                again = replace(again, actual=actual)
                true = NOTHING if scene == "cured" else true
            readings = read(rng, unit, again, manner)
            second = with_session(docket, unit, readings, manner).sessions[0]
            second = replace(second, title="After", state=len(docket.states))
            docket = docket.with_changes(sessions=(*docket.sessions, second))
            truth = inside(docket.target, again.actual, again.capsule)
            return docket, true, all(truth.values())
        except ValueError:
            continue


def _judged(task: tuple[str, str, int]) -> Told:
    scene, kind, seed = task
    docket, true, all_inside = read_twice(scene, kind, seed)
    both = opinion_of(docket)
    decision.others_told = lambda *_: None  # type: ignore[attr-defined]
    try:
        alone = opinion_of(docket)
    finally:
        decision.others_told = others_told  # type: ignore[attr-defined]
    return Told(scene, kind, true, all_inside, alone, both)


def _brier(cases: list[Told], which: str) -> float:
    """Mean over cases of the squared misses of all explanations' chances."""
    total = 0.0
    for c in cases:
        said: Opinion = getattr(c, which)
        met = sum((p - (n == c.true)) ** 2 for n, p, _ in said.explanations)
        total += met if said.place(c.true) < 99 else met + 1.0
    return total / len(cases)


def _rows(cases: list[Told]) -> Iterator[list[object]]:
    def of(chosen: list[Told], hit) -> str:
        return share(sum(bool(hit(c)) for c in chosen), len(chosen)) if chosen else "–"

    for which in ("alone", "both"):
        good = [c for c in cases if c.all_inside]
        loud = [c for c in cases if getattr(c, which).chance > 0.9]
        whole = [(getattr(c, which).whole, c.all_inside) for c in cases
                 if getattr(c, which).whole is not None]  # fmt: skip
        yield [
            which,
            of(cases, lambda c, w=which: getattr(c, w).place(c.true) == 1),
            f"{np.mean([getattr(c, which).chance for c in cases]):.2f}",
            of(loud, lambda c, w=which: getattr(c, w).first != c.true),
            f"{_brier(cases, which):.3f}",
            of(good, lambda c, w=which: getattr(c, w).decision in SAID_INSIDE),
            of([c for c in cases if not c.all_inside],
               lambda c, w=which: getattr(c, w).decision in SAID_INSIDE),
            f"{np.mean([(p - t) ** 2 for p, t in whole]):.3f}",
        ]  # fmt: skip


def main() -> None:
    seeds, given = asked_units(__doc__, 40, "scene and kind of docket", 0)
    tasks = [(scene, kind, seed) for seed in seeds for scene in SCENES for kind in KINDS]
    with section("two-sessions", "Two sessions of one unit", f"{seeds[0]}…{seeds[-1]}") as out:
        with ProcessPoolExecutor(given.processes, initializer=niced) as pool:
            cases = list(pool.map(_judged, tasks))
        for scene in SCENES:
            rows = []
            for kind in (*KINDS, "all"):
                mine = [c for c in cases if c.scene == scene and kind in (c.kind, "all")]
                rows += [[kind, *row] for row in _rows(mine)]
            out(f"\n**{scene}**, {given.units} units of each kind\n")
            out(table(
                ["docket", "judged by", "right first", "stated of it", "false of those above 0.9",
                 "Brier, explanations", "inside: passed", "outside: passed", "Brier, whole"], rows,
            ))  # fmt: skip


if __name__ == "__main__":
    main()
