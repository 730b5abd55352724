"""One case: a docket with one session, what is true of it, and what may be said of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from zlib import crc32

import numpy as np

from bobweight.core.docket.docket import Docket
from tests.studies.simulator.dockets import docket_of
from tests.studies.simulator.faults import PUMPED, draw_fault, harmed, needs_capsule
from tests.studies.simulator.sessions import Bench, Manner, read, usual_bench, with_session
from tests.studies.simulator.units import Unit, draw_unit, inside

NOTHING = "nothing_wrong"
PUMPED_KPA = 10.0, 20.0, 30.0, 45.0
PROVED = {"static_deg": 0.25, "mark_error_deg": 0.25}


@dataclass(frozen=True)
class Case:
    """What a judge is shown, and the truth.

    ``true`` is the name of the fault; ``allowed`` are pieces of names that may be stated without
    being false; ``inside`` is the truth of each check point by (kind, row).
    """

    name: str
    kind: str
    seed: int
    docket: Docket
    unit: Unit
    bench: Bench
    manner: Manner
    true: str
    allowed: tuple[str, ...]
    inside: dict[tuple[str, int | None], bool]

    @property
    def all_inside(self) -> bool:
        """Whether the unit is inside its whole table."""
        return all(self.inside.values())

    @property
    def sound(self) -> bool:
        """Nothing is wrong with unit or instruments."""
        return self.true == NOTHING


def rng_of(*parts: object) -> np.random.Generator:
    """A generator that belongs to these parts, the same on every machine."""
    return np.random.default_rng([crc32(str(p).encode()) for p in parts])


def made(rng, name, kind, seed, unit, bench, manner, true, allowed=(), docket=None) -> Case:
    """The case of a unit on a bench, read in a manner."""
    docket = docket or docket_of(rng, unit, kind)
    docket = with_session(docket, unit, read(rng, unit, bench, manner), manner)
    truth = inside(docket.target, bench.actual, bench.capsule, bench.rest_deg)
    allowed = allowed or tuple(true.split("+"))
    return Case(name, kind, seed, docket, unit, bench, manner, true, allowed, truth)


def ordinary(kind: str, seed: int, true: str = "", manner: Manner | None = None) -> Case:
    """A unit of a kind of docket; sound, or with a fault (drawn where ``true`` is 'any')."""
    rng = rng_of("ordinary", kind, seed, true)
    with_capsule = kind != "blank" and rng.random() < 0.35
    if true == "any":
        true = draw_fault(rng, with_capsule)
    with_capsule = with_capsule or needs_capsule(true)
    true = true or NOTHING
    manner = manner or Manner()
    while True:
        try:
            unit = draw_unit(rng, with_capsule)
            bench = usual_bench(rng, unit.sound, unit.capsule)
            if true != NOTHING:
                bench = harmed(rng, bench, true)
            if true in PUMPED or (with_capsule and rng.random() < 0.4 and true != "pipe_left_on"):
                manner = replace(manner, pumped_kpa=PUMPED_KPA)
            elif with_capsule:  # what is not asked of the capsule need not be read
                unit = replace(unit, target=replace(unit.target, vacuum_points=()))
            return made(rng, true, kind, seed, unit, bench, manner, true)
        except ValueError:
            continue


def conscientious(kind: str, seed: int) -> Case:
    """A sound unit read with care: thirty readings, mark and static proved to a quarter degree."""
    proved = {"u": PROVED, "u_angle_deg": 0.5, "u_speed_rpm": 20.0}
    manner = Manner(count=30, u_angle_deg=0.5, u_speed_rpm=20.0, mistakes=0.0, stated=proved)
    rng = rng_of("conscientious", kind, seed)
    unit = draw_unit(rng)
    bench = usual_bench(rng, unit.sound, unit.capsule)
    bench = replace(bench, static_deg=rng.normal(0, 0.25), mark_deg=rng.normal(0, 0.25))
    return made(rng, "conscientious", kind, seed, unit, bench, manner, NOTHING)
