"""A docket measured off a sound unit, and off the unit as it was found: is it judged alike?

    python -m tests.studies.as_found [--units N] [--first SEED] [--processes N]

Units, faults and sessions are those of :mod:`tests.studies.simulator`, each with a fault of a part
that is measured, or none. Three dockets of each: with figures of the unit before the fault, of the
unit as it is, and of that with the docket saying so. Where a spring is to be fitted by its rate,
the rate stated is held against that of the sound spring.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from bobweight.core.judgement.decision import decide_docket
from tests.studies.asked import asked_units
from tests.studies.results import niced, section, share, table
from tests.studies.simulator.cases import NOTHING, rng_of
from tests.studies.simulator.dockets import docket_of
from tests.studies.simulator.faults import harmed
from tests.studies.simulator.opinion import SAID_INSIDE
from tests.studies.simulator.sessions import Manner, read, usual_bench, with_session
from tests.studies.simulator.units import draw_unit, inside

KINDS = ("careful", "caliper")
FAULTS = (
    "primary_weak", "primary_stretched", "primary_strong", "secondary_weak", "secondary_late",
    "stop_high", "stop_low", "weights_heavy", NOTHING,
)  # fmt: skip
FIGURES = {"of a sound unit": "unsaid", "as found": "unsaid", "as found, and said so": "found"}
"""What the figures are of, and what the docket says of them."""


@dataclass(frozen=True)
class Said:
    """What was said of one docket."""

    figures: str
    kind: str
    true: str
    first: str
    chance: float
    passed: bool
    all_inside: bool
    bare: bool
    off: float | None
    """Logarithm of the rate stated for a spring to be fitted, over that of the sound one."""


def _judged(task: tuple[str, str, int]) -> list[Said]:
    kind, true, seed = task
    rng = rng_of("as found", kind, true, seed)
    while True:
        try:
            unit = draw_unit(rng)
            bench = usual_bench(rng, unit.sound, unit.capsule)
            if true != NOTHING:
                bench = harmed(rng, bench, true)
            readings = read(rng, unit, bench, Manner())
            truth = all(inside(unit.target, bench.actual, bench.capsule).values())
            break
        except ValueError:
            continue
    found, state = [], rng.bit_generator.state
    for figures, says in FIGURES.items():
        rng.bit_generator.state = state  # measured as well or as badly
        of = unit if figures == "of a sound unit" else replace(unit, sound=bench.actual)
        docket = docket_of(rng, of, kind)
        mechanism = replace(docket.mechanism, measured_off=says)
        docket = with_session(docket.with_changes(mechanism=mechanism), unit, readings, Manner())
        j = decide_docket(docket).judgement
        off = [
            float(np.log(s.value / unit.sound.springs[s.spring].rate_n_per_mm))
            for s in j.alterations
            if s.key == "rate" and s.value and s.spring is not None
        ]
        found.append(Said(
            figures, kind, true, j.explanations[0].name, j.explanations[0].probability,
            j.decision in SAID_INSIDE, truth, j.bare, off[0] if off else None,
        ))  # fmt: skip
    return found


def _rows(cases: list[Said]) -> Iterator[list[object]]:
    for figures in FIGURES:
        mine = [c for c in cases if c.figures == figures]
        faulty = [c for c in mine if c.true != NOTHING]
        loud = [c for c in mine if c.chance > 0.9]
        sound = [c for c in mine if c.true == NOTHING]
        off = np.array([c.off for c in mine if c.off is not None])
        yield [
            figures, share(sum(c.first == c.true for c in faulty), len(faulty)),
            share(sum(c.first != c.true for c in loud), len(mine)),
            share(sum(c.passed for c in sound if c.all_inside), sum(c.all_inside for c in sound)),
            sum(c.bare for c in mine),
            f"{np.sqrt(np.mean(off**2)):.2f} ({len(off)})" if len(off) else "–",
        ]  # fmt: skip


def main() -> None:
    seeds, given = asked_units(__doc__, 8, "fault and kind of docket", 100)
    tasks = [(kind, true, seed) for seed in seeds for true in FAULTS for kind in KINDS]
    with section("as-found", "Figures of the unit as found", f"{seeds[0]}…{seeds[-1]}") as out:
        with ProcessPoolExecutor(given.processes, initializer=niced) as pool:
            cases = [each for several in pool.map(_judged, tasks) for each in several]
        for kind in KINDS:
            out(f"\n**{kind}**, {given.units} units of each of {len(FAULTS)} cases\n")
            out(table(
                ["figures", "right first", "stated above 0.9 and false", "sound: passed",
                 "doubted", "rate to fit: off, rms of the logarithm"],
                _rows([c for c in cases if c.kind == kind]),
            ))  # fmt: skip


if __name__ == "__main__":
    main()
