"""What one would make of the judgement study's cases who knew how they are drawn.

The program judges as ever, but for its odds: no explanation that the simulator does not draw, each
fault as often as it draws it, about as big as it draws it, and a sound unit as often as a faulty
one. What is not told apart here is not told for want of readings, whatever the odds; that is what
the shares of the judgement study are to be held against.

    python -m tests.studies.knowing [--units N] [--first SEED] [--processes N]
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

import numpy as np
from scipy.stats import halfnorm

from bobweight.core.judgement import family
from bobweight.core.judgement.faults import NOTHING_WRONG, Fault
from bobweight.core.judgement.hypotheses import Hypothesis
from tests.studies.judgement import GOALS, Scored, judged, rows_of
from tests.studies.results import niced, section, share, table
from tests.studies.simulator.dockets import KINDS
from tests.studies.simulator.faults import FAULTS, MOST_SPREADS, PAIR_ODDS, PAIRS

_NEVER = 1e-6
_ASKED = ("right fault first", "right fault in two", "sound unit accused")
_Z = np.minimum(halfnorm.ppf((np.arange(2000) + 0.5) / 2000), MOST_SPREADS)
"""Sizes of drawn faults, in spreads above the usual one."""
_ODDS = {name: odds for name, (odds, _) in FAULTS.items()} | dict.fromkeys(PAIRS, PAIR_ODDS)


def know() -> None:
    """Give the judgement of this process the simulator's odds and sizes."""
    niced()
    faults_of, hypotheses_of = family.faults_of, family.hypotheses_of

    def sized(*asked: object) -> tuple[Fault, ...]:
        found = faults_of(*asked)
        return tuple(f.narrowed(_Z.mean(), _Z.std()) if f.usual else f for f in found)

    def weighed(*asked: object) -> list[Hypothesis]:
        found = hypotheses_of(*asked)
        names = [h.name for h in found]
        odds = {n: o / names.count(n) for n, o in _ODDS.items() if n in names}
        odds[NOTHING_WRONG] = sum(o for n, o in _ODDS.items() if n in names)
        return [replace(h, weight=odds.get(h.name, _NEVER)) for h in found]

    family.faults_of, family.hypotheses_of = sized, weighed


def _report(out, cases: Iterable[Scored]) -> None:
    held = list(cases)
    found = {kind: rows_of(kind, held) for kind in KINDS}
    rows = [
        [name, *(f"{share(*found[kind][name])} [{goal}]"
                 for kind, goal in zip(KINDS, GOALS[name], strict=True))]
        for name in _ASKED
    ]  # fmt: skip
    out(table(["share of cases ± standard error (counts) [goal]", *KINDS], rows))


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--units", type=int, default=100)
    asked.add_argument("--first", type=int, default=200, help="first seed")
    asked.add_argument("--processes", type=int, default=1)
    given = asked.parse_args()
    seeds = range(given.first, given.first + given.units)
    tasks = [(group, kind, "", seed, False) for seed in seeds for kind in KINDS
             for group in ("sound", "faulty")]  # fmt: skip
    told = f"{seeds[0]}…{seeds[-1]}"
    title = "Judgement by one who knows how the cases are drawn"
    with (
        section("knowing", title, told) as out,
        ProcessPoolExecutor(given.processes, initializer=know) as pool,
    ):
        _report(out, pool.map(judged, tasks))


if __name__ == "__main__":
    main()
