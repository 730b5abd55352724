"""Broken files of every kind that is read: refused in our own words, or computed and kept.

    python -m tests.studies.mutation [COUNT] [--first SEED] [--minutes M] [--guided 0]

Guided by coverage: a file that takes a reader along a step between two lines that no file took
before is kept, and every second file is made from one of these. (So a seed gives the same file only
in the same run; a file that does harm is kept, and where is printed.)
"""

from __future__ import annotations

import contextlib
import resource
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path

from tests.resilience.mutation import Check, Material
from tests.resilience.reached import Reached
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
    reached = Reached()
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
                with reached.watching() if size.more.guided else contextlib.nullcontext():
                    check(data)
            except Exception as error:
                harmful[kind] += 1
                where = traceback.extract_tb(error.__traceback__)[-1]
                place = f"{type(error).__name__} {where.filename[-40:]}:{where.lineno}"
                seen[place] += 1
                if seen[place] <= 2:
                    print("seed", seed, kind, place, str(error)[:100], flush=True)
                    print(kept(seed, kind, data), flush=True)
            took = time.process_time() - begun
            if reached.news():
                material.learn(kind, data, check)
            if took > LONGEST_S and size.more.guided:  # again, without the watching
                took = timed(check, data)
            if took > LONGEST_S:
                slow[kind] += 1
                print("seed", seed, kind, f"{took:.1f} s", kept(seed, kind, data), flush=True)
            longest[kind] = max(longest.get(kind, 0.0), took)
            read[kind] += 1
        rows = [(k, read[k], harmful[k], slow[k], f"{longest[k]:.2f}") for k in sorted(read)]
        out(table(("kind", "files", "harm", f"above {LONGEST_S:.0f} s", "longest, s"), rows))
        out()
        if sum(read.values()) < count:
            out(size.reached(sum(read.values()), "files"))
        if size.more.guided:
            learnt = sum(len(files) for files in material.learnt.values())
            out(f"{learnt} files took a reader a step between two lines that none had taken; "
                f"{len(reached.steps)} steps, {reached.lines} lines.")  # fmt: skip
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
        out(f"Most memory of the process: {peak:.0f} MB.")
    return sum((harmful + slow).values())


def timed(check: Check, data: bytes) -> float:
    """Processor seconds of a check."""
    begun = time.process_time()
    with contextlib.suppress(Exception):
        check(data)
    return time.process_time() - begun


def kept(seed: int, kind: str, data: bytes) -> str:
    """Where a file that did harm is kept."""
    path = Path(tempfile.gettempdir()) / f"mutation-{seed}-{kind.replace(' ', '-')}"
    path.write_bytes(data)
    return str(path)


if __name__ == "__main__":
    sys.exit(min(main(asked(__doc__, COUNT, guided=(1, "by coverage"))), 1))
