"""Springs, at the length that the suite has no time for: ``python -m tests.studies.springs``.

Does a global optimiser find a better setting of a pair than the tray search? Do the intervals of a
hang test, and the bands of a mechanism learnt from one run, hold the truth as often as they say?
"""

from __future__ import annotations

import numpy as np

from tests.design.by_evolution import TWO_SPRINGS, compare_with_evolution
from tests.design.hung import interval_hits
from tests.design.known_runs import covered
from tests.studies.results import section, share, table

SEED = 23


def main() -> None:
    with section("springs", "Tray search, hang tests and learnt mechanisms", str(SEED)) as out:
        rows = []
        for name in TWO_SPRINGS:
            better = compare_with_evolution(name, 10, SEED)
            rows.append((name, len(better), f"{better.max():.3f}", f"{np.median(better):.3f}"))
        heads = ("docket", "pairs", "most that an optimiser is better, °", "median, °")
        out(table(heads, rows))

        rows, runs = [], 1000
        for words, u_mm, u_load in (("lengths' stated", 0.1, 0.0), ("loads' too", 0.1, 0.05),
                                    ("from the scatter", None, 0.0)):  # fmt: skip
            hits = interval_hits(runs, SEED, u_mm, u_load)
            rows.append((words, *(share(int(n), runs) for n in hits)))
        out("\n95 % intervals of a hang test that hold the truth:\n")
        out(table(("uncertainty", "rate", "tension", "free length", "force"), rows))

        rows = []
        known = {"exactly": None, "to 1 % and 0.03 mm": {"rate": 0.01, "length_mm": 0.03}}
        for words, doubt in known.items():
            shares = covered(SEED, 30, doubt=doubt)
            held, half = shares.mean(), np.mean(shares >= 0.5)
            rows.append((words, len(shares), f"{100 * held:.1f} %", f"{100 * half:.0f} %"))
        out("\nPlaces that the 95 % band of a learnt mechanism with other springs holds:\n")
        heads = ("springs of the run are known", "pairs", "places held", "pairs with half held")
        out(table(heads, rows))


if __name__ == "__main__":
    main()
