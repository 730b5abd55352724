"""Broken files of every kind that is read: refused in our own words, or computed and kept.

python -m tests.studies.mutation [COUNT] [--first SEED] [--minutes M]
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path

from tests.resilience.mutation import Material
from tests.studies.asked import Asked, asked
from tests.studies.results import section, table

COUNT, LONGEST_S = 20_000, 1.0


def main(size: Asked) -> int:
    """Run; the number of broken files that did harm."""
    warnings.simplefilter("ignore")
    first, count, material = (
        size.first,
        size.count,
        Material(Path(tempfile.mkdtemp(prefix="mutation-"))),
    )
    read: Counter[str] = Counter()
    harmful: Counter[str] = Counter()
    longest: dict[str, float] = {}
    slow: Counter[str] = Counter()
    seen: Counter[str] = Counter()
    with section(
        "mutation", "Broken files", f"{first} to {first + count - 1}",
        "Values replaced, swapped, doubled or taken out, and bytes likewise; what loads is judged, "
        "written and read again. Harm: an error that is not told in our words, or a value changed.",
    ) as out:  # fmt: skip
        for seed in range(first, first + count):
            if size.over:
                break
            kind, data, check = material.case(seed)
            begun = time.process_time()
            try:
                check(data)
            except Exception as error:
                harmful[kind] += 1
                where = traceback.extract_tb(error.__traceback__)[-1]
                place = f"{type(error).__name__} {where.filename[-40:]}:{where.lineno}"
                seen[place] += 1
                if seen[place] <= 2:
                    print("seed", seed, kind, place, str(error)[:100], flush=True)
            took = time.process_time() - begun
            if took > LONGEST_S:
                slow[kind] += 1
                print("seed", seed, kind, f"{took:.1f} s", flush=True)
            longest[kind] = max(longest.get(kind, 0.0), took)
            read[kind] += 1
        rows = [(k, read[k], harmful[k], slow[k], f"{longest[k]:.2f}") for k in sorted(read)]
        out(table(("kind", "files", "harm", f"above {LONGEST_S:.0f} s", "longest, s"), rows))
        out()
        if sum(read.values()) < count:
            out(size.reached(sum(read.values()), "files"))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
        out(f"Most memory of the process: {peak:.0f} MB.")
    return sum((harmful + slow).values())


if __name__ == "__main__":
    sys.exit(min(main(asked(__doc__, COUNT)), 1))
