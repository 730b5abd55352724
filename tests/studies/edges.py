"""Pairs of values at the edge of what may be entered, through outcome, plan, sheet and judgement.

python -m tests.studies.edges [COUNT] [--every N] [--first SEED] [--minutes M]
"""

from __future__ import annotations

import sys
import time

from tests.resilience.edges import faults
from tests.studies.asked import Asked, asked
from tests.studies.results import section

COUNT = 3000


def main(size: Asked) -> int:
    """Run; how many pairs had something wrong."""
    done = wrong = judged = 0
    longest = 0.0
    with section(
        "edges", "Values at the edge, in pairs", f"{size.first} to {size.first + size.count - 1}",
        "Two numbers of a sample at, just within or just beyond a limit, or blank: refused in our "
        "own words, or curve, plan and sheet are finite; of some the judgement too.",
    ) as out:  # fmt: skip
        for seed in range(size.first, size.first + size.count):
            if size.over:
                break
            thoroughly = seed % size.more.every == 0
            begun = time.process_time()
            found = faults(seed, thoroughly)
            longest = max(longest, time.process_time() - begun)
            done, judged, wrong = done + 1, judged + thoroughly, wrong + bool(found)
            for each in found[:1]:
                out(f"- seed {seed}: {each}")
        if done < size.count:
            out(size.reached(done, "pairs"))
        out(f"{done} pairs, {judged} of them judged too; {wrong} with something wrong.")
        out(f"Longest: {longest:.2f} s of processor time.")
    return wrong


if __name__ == "__main__":
    sys.exit(min(main(asked(__doc__, COUNT, every=(20, "of so many pairs one is judged"))), 1))
