"""Ends the program at random moments, and at every system call of a save; fails every such call.

    python -m tests.studies.kill [RANDOM] [--every N] [--at-once N] [--first SEED] [--minutes M]

Needs ``strace`` for the calls. After each end: every docket on the disk is one of the states saved,
photographs, tray and settings are whole, and no edit older than two seconds is lost.
"""

from __future__ import annotations

import multiprocessing
import shutil
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

from tests.resilience import killing
from tests.resilience.killing import Call, Found
from tests.studies.asked import Asked, asked
from tests.studies.results import section, table

RANDOM = 300
FAILING = ("write", "openat", "fsync", "fdatasync", "rename", "mkdir", "linkat", "ftruncate",
           "chmod", "unlink")  # fmt: skip
LOADING = ("-packages/", ".py", "/encodings")  # a module read late, not a file of the user's
ERRORS = ("error=ENOSPC", "error=EACCES", "error=EIO")


def at_random(base: Path, size: Asked, seed: int) -> Found | None:
    """One kill at a random moment; None once the time is up."""
    if size.over:
        return None
    found = killing.kill_at_random(base / f"r{seed}", seed)
    print("random", seed, f"{found.lost_s:.2f} s", found.wrong or "", flush=True)
    shutil.rmtree(base / f"r{seed}", ignore_errors=True)
    return found


def at_call(base: Path, size: Asked, case: tuple[Call, str]) -> Found | None:
    """One kill at a system call, or one call that fails; None once the time is up."""
    if size.over:
        return None
    call, how = case
    home = base / f"{call.name}{call.nth}{how}"
    found, struck = killing.hit(home, call, how)
    loading = "error" in how and any(each in struck for each in LOADING)
    if loading:
        found.wrong.clear()  # a module being loaded, not a file of the user's
    elif found.wrong:
        print(*call, how, struck, found.wrong, flush=True)
    shutil.rmtree(home, ignore_errors=True)
    return found


def main(size: Asked) -> int:
    """Run all (or of the calls every n-th); after how many ends something was wrong."""
    first, every = size.first, size.more.every
    base = Path(tempfile.mkdtemp(prefix="kill-"))
    own = multiprocessing.get_context("spawn")  # Qt's locks do not outlive a fork with threads
    with ProcessPoolExecutor(size.more.at_once, own) as pool, section(
        "kill", "Ends at random moments and at every system call",
        f"{first} to {first + size.count - 1}",
    ) as out:  # fmt: skip
        calls = killing.calls_of_a_save(base / "calls")
        hit = partial(at_call, base, size)
        killed = list(pool.map(hit, [(call, "signal=KILL") for call in calls[::every]]))
        failing = [call for call in calls if call.name in FAILING][::every]
        failed = list(pool.map(hit, [(call, how) for how in ERRORS for call in failing]))
        print(len(killed), "killed", len(failed), "failed", flush=True)
        seeds = range(first, first + size.count)
        randomly = list(pool.map(partial(at_random, base, size), seeds))
        rows, lost, harmed = [], 0.0, 0
        for what, each in (
            ("killed at a random moment", randomly),
            ("killed at a system call of a save", killed),
            ("a system call of a save fails (no space, no access, fault of the disk)", failed),
        ):
            done = [found for found in each if found is not None]
            wrong = sum(bool(found.wrong) for found in done)
            rows.append((what, len(done), len(each), wrong))
            harmed += wrong
            if each is randomly:
                lost = max((found.lost_s for found in done), default=0.0)
        out(table(("what", "times", "of", "something wrong"), rows))
        out()
        out(f"Oldest edit lost to a random kill: {lost:.2f} s before the last turn of its loop.")
        if every > 1:
            out(f"Of the {len(calls)} calls one in {every}.")
        if size.over:
            out(
                f"Not begun after {size.minutes:.0f} minutes: what is missing of the second number."
            )
    shutil.rmtree(base, ignore_errors=True)
    return harmed


if __name__ == "__main__":
    sys.exit(
        min(
            main(
                asked(
                    __doc__,
                    RANDOM,
                    every=(1, "of the system calls one in so many"),
                    at_once=(1, "processes at once"),
                )
            ),
            1,
        )
    )
