"""How far does what is stated hang on the samples that happened to be drawn?

    python -m tests.studies.draws [--units N] [--first SEED] [--draws N]

Dockets of :mod:`tests.studies.simulator`, as many sound as faulty, each judged several times with
nothing changed but the seed of the samples.
"""

from __future__ import annotations

import argparse

import numpy as np

from bobweight.core.judgement import sampling
from tests.studies.results import niced, section, table
from tests.studies.simulator.cases import ordinary
from tests.studies.simulator.dockets import KINDS
from tests.studies.simulator.opinion import Opinion, opinion_of


def _judged(kind: str, seed: int, faults: str, draws: int) -> list[Opinion]:
    docket = ordinary(kind, seed, faults).docket
    usual, found = sampling._SEED, []
    for k in range(draws):
        sampling._SEED = usual + 1000 * k
        found.append(opinion_of(docket))
    sampling._SEED = usual
    return found


def _spread(values: list[float]) -> float:
    return float(np.std(values, ddof=1))


def main() -> None:
    """Judge and write the section."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--units", type=int, default=8)
    parser.add_argument("--first", type=int, default=700)
    parser.add_argument("--draws", type=int, default=6)
    given = parser.parse_args()
    niced()
    seeds = range(given.first, given.first + given.units)
    rows, names = [], ("the whole inside", "what is first", "a point inside")
    for kind in KINDS:
        spreads: dict[str, list[float]] = {name: [] for name in names}
        words = firsts = 0
        for seed in seeds:
            for faults in ("", "any"):
                said = _judged(kind, seed, faults, given.draws)
                if any(s.whole is None for s in said):
                    continue
                first = said[0].first
                spreads[names[0]].append(_spread([s.whole or 0.0 for s in said]))
                spreads[names[1]].append(
                    _spread([sum(p for n, p, _ in s.explanations if n == first) for s in said])
                )
                spreads[names[2]] += [_spread([s.points[p] for s in said]) for p in said[0].points]
                words += len({s.decision for s in said}) > 1
                firsts += len({s.first for s in said}) > 1
        count = len(spreads[names[0]])
        cells = [
            f"{np.sqrt(np.mean(np.square(each))):.3f} ({max(each):.3f})"
            for each in spreads.values()
        ]  # fmt: skip
        rows.append([kind, count, *cells, f"{words}", f"{firsts}"])
    with section("draws", "What a stated chance owes to what was drawn",
                 f"{seeds[0]}…{seeds[-1]}") as out:  # fmt: skip
        out("Standard deviation of a chance between seeds: root mean square (worst). Dockets where "
            "the word of decision, or what is first, is not the same by all seeds.\n")  # fmt: skip
        heads = ["docket", "dockets", *names, "another word", "another first"]
        out(table(heads, rows))


if __name__ == "__main__":
    main()
