"""Windows opened, edited, undone, saved and closed while work goes on behind them.

The collector of cycles is forced at random moments meanwhile, in waits and while work runs.

    python -m tests.studies.crowded [ROUNDS] [--first SEED] [--minutes M]
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from tests.studies.asked import Asked, asked

ROUNDS = 500


def main(size: Asked) -> int:
    """Run; the number of rounds with something wrong."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    home = Path(tempfile.mkdtemp(prefix="crowded-"))
    os.environ["BOBWEIGHT_HOME"] = str(home)
    import faulthandler

    from PySide6.QtWidgets import QApplication

    from bobweight.app import guard
    from tests.resilience.crowded import rounds
    from tests.resilience.monkey import resident_mb
    from tests.studies.results import section

    faulthandler.enable()
    application = QApplication([])
    told: list[str] = []
    guard.install()
    guard.listen(lambda error, where: told.append(guard.account(error, where)))
    closing, wrong, memory, worked = [], [], [], 0.0
    with section("crowded", "Windows closed in the midst of work", str(size.first)) as out:
        for number, shown in enumerate(rounds(size.first, size.count, home)):
            closing.append(shown.closing_s)
            worked = max(worked, shown.closing_cpu_s)
            memory.append(resident_mb())
            wrong += [f"round {number}: {each}" for each in (*shown.wrong, *told)]
            told.clear()
            if size.over:
                break
        middle = memory[len(memory) // 2]
        if len(closing) < size.count:
            out(size.reached(len(closing), "rounds"))
        out(f"{len(closing)} rounds, {len(wrong)} with something wrong.")
        usual = sorted(closing)[len(closing) // 2]
        out(
            f"Closing took {max(closing):.2f} s at most, {usual:.2f} s in the middle; "
            f"{worked:.2f} s at most of the processor."
        )
        out(f"Memory {middle:.0f} MB at half, {memory[-1]:.0f} MB at the end.")
        for each in wrong[:10]:
            out(f"- {each}")
    del application
    return len(wrong)


if __name__ == "__main__":
    status = min(main(asked(__doc__, ROUNDS)), 1)
    sys.stdout.flush()
    os._exit(status)
