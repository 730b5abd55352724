"""Ends the program at random moments, and at every system call of a save; fails every such call.

    python -m tests.studies.kill [RANDOM]

Needs ``strace`` for the calls. After each end: every docket on the disk is one of the states saved,
photographs, tray and settings are whole, and no edit older than two seconds is lost.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.resilience import killing
from tests.resilience.killing import Found
from tests.studies.results import section, table

RANDOM, AT_ONCE = 300, 3
FAILING = ("write", "openat", "fsync", "fdatasync", "rename", "mkdir", "linkat", "ftruncate",
           "chmod", "unlink")  # fmt: skip


def main(count: int = RANDOM) -> int:
    """Run all; the number of kills and failed calls after which something was wrong."""
    first = int(os.environ.get("FIRST_SEED", "1"))
    base = Path(tempfile.mkdtemp(prefix="kill-"))
    with ThreadPoolExecutor(AT_ONCE) as pool, section(
        "kill", "Ends at random moments and at every system call", f"{first} to {first + count - 1}"
    ) as out:  # fmt: skip

        def at_random(seed: int) -> Found:
            found = killing.kill_at_random(base / f"r{seed}", seed)
            if not found.wrong:
                shutil.rmtree(base / f"r{seed}", ignore_errors=True)
            else:
                print("seed", seed, found.wrong, flush=True)
            return found

        randomly = list(pool.map(at_random, range(first, first + count)))
        calls = killing.calls_of_a_save(base / "calls")
        begins, names = int(calls[0]), calls[1:]

        def at_call(case: tuple[int, str]) -> Found:
            number, how = case
            home = base / f"{number}{how}"
            found, call = killing.hit(home, begins + 1 + number, how)
            ours = "-packages/" not in call and ".py" not in call and "__pycache__" not in call
            if found.wrong and ours:
                print(case, call, found.wrong, flush=True)
            elif not ours:
                found.wrong.clear()  # a module being loaded, not a file of the user's
            shutil.rmtree(home, ignore_errors=True)
            return found

        killed = list(pool.map(at_call, [(n, "signal=KILL") for n in range(len(names))]))
        failing = [n for n, name in enumerate(names) if name in FAILING]
        errors = ("error=ENOSPC", "error=EACCES", "error=EIO")
        failed = list(pool.map(at_call, [(n, how) for how in errors for n in failing]))
        lost = max((found.lost_s for found in randomly), default=0.0)
        rows = [
            (what, len(each), sum(bool(found.wrong) for found in each))
            for what, each in (
                ("killed at a random moment", randomly),
                ("killed at a system call of a save", killed),
                ("a system call of a save fails (no space, no access, fault of the disk)", failed),
            )
        ]
        out(table(("what", "times", "something wrong"), rows))
        out(f"Oldest edit lost to a random kill: {lost:.2f} s before it.")
    return sum(row[2] for row in rows)


if __name__ == "__main__":
    sys.exit(min(main(*(int(word) for word in sys.argv[1:])), 1))
