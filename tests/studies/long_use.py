"""Eight hours of a restorer at one window, faster than life: does anything grow?

    python -m tests.studies.long_use [HOURS] [--first SEED] [--minutes M]

A hand does something every twenty seconds (180 acts an hour): dockets opened, figures typed,
readings added, judgements waited for, pages looked at, undone, saved, printed, tables written.
After each hour memory, open files, threads, files in the temporary folder and the settings, objects
alive, and the usual time that the window takes for each kind of act. The first hour loads what is
loaded late, so growth is counted from the second to the last.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from tests.studies.asked import Asked, asked

HOURS = 8
KINDS = ("open", "page", "edit", "reading", "undo", "save", "print", "table")
MOST_MB, MOST_SHARE = 25.0, 1.5
"""Growth from the second hour to the last that is still called flat: megabytes, and times."""


def main(size: Asked) -> int:
    """Work through the day; how many things grew."""
    home = Path(tempfile.mkdtemp(prefix="long-use-"))
    temporary = home / "tmp"
    temporary.mkdir()
    os.environ |= {
        "BOBWEIGHT_HOME": str(home / "home"), "TMPDIR": str(temporary),
        "QT_QPA_PLATFORM": os.environ.get("QT_QPA_PLATFORM", "offscreen"),
    }  # fmt: skip
    import faulthandler

    from PySide6.QtWidgets import QApplication

    from bobweight.app import guard
    from tests.resilience.long_use import Restorer
    from tests.studies.results import section, table

    faulthandler.enable()
    application, told = QApplication([]), []
    guard.install()
    guard.listen(lambda error, where: told.append(guard.account(error, where)))
    hours = []
    with section("long_use", "Eight hours at one window", str(size.first), note=_NOTE) as out:
        restorer = Restorer(home, size.first)
        for hour in restorer.day(size.count):
            hours.append(hour)
            print(hour.number + 1, f"{hour.memory_mb:.0f} MB", hour.handles, hour.files, flush=True)
            if size.over:
                break
        units, closed = restorer.done, restorer.close()
        heads = ("hour", "MB", "handles", "threads", "files", "objects", *KINDS)
        rows = [
            (h.number + 1, f"{h.memory_mb:.0f}", h.handles, h.threads, h.files, h.objects,
             *(f"{h.latency_ms(kind):.0f}" for kind in KINDS))
            for h in hours
        ]  # fmt: skip
        out(table(heads, rows))
        out()
        if len(hours) < size.count:
            out(size.reached(len(hours), "hours"))
        grown = growth(hours) if len(hours) > 1 else []
        acts = sum(len(times) for hour in hours for times in hour.acts.values())
        out(f"{units} units, {acts} acts; {len(told)} faults told.")
        out("Grown: " + ("; ".join(grown) if grown else "nothing") + ".")
    del application
    return len(grown) + len(told) + (not closed)


def growth(hours: list) -> list[str]:
    """What is larger in the last hour than in the second by more than is called flat."""
    early, late = hours[min(1, len(hours) - 1)], hours[-1]
    grown = []
    if late.memory_mb - early.memory_mb > MOST_MB:
        grown.append(f"memory by {late.memory_mb - early.memory_mb:.0f} MB")
    for what in ("handles", "threads", "files"):
        if getattr(late, what) > getattr(early, what) + 2:
            grown.append(f"{what} from {getattr(early, what)} to {getattr(late, what)}")
    for kind in KINDS:
        before, after = early.latency_ms(kind), late.latency_ms(kind)
        if after > MOST_SHARE * before + 5.0:
            grown.append(f"time of “{kind}” from {before:.0f} to {after:.0f} ms")
    return grown


_NOTE = (
    "After each hour: memory, open files, threads, files (temporary and of the program), objects; "
    "and the median milliseconds of the window's thread for each kind of act."
)

if __name__ == "__main__":
    status = min(main(asked(__doc__, HOURS)), 1)
    sys.stdout.flush()
    os._exit(status)
