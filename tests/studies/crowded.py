"""Windows opened, edited, undone, saved and closed while work goes on behind them.

python -m tests.studies.crowded [ROUNDS]
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

ROUNDS = 500


def main(count: int = ROUNDS) -> int:
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
    seed = int(os.environ.get("FIRST_SEED", "1"))
    closing, wrong, memory = [], [], []
    with section("crowded", "Windows closed in the midst of work", str(seed)) as out:
        for number, shown in enumerate(rounds(seed, count, home)):
            closing.append(shown.closing_s)
            memory.append(resident_mb())
            wrong += [f"round {number}: {each}" for each in (*shown.wrong, *told)]
            told.clear()
        middle = memory[len(memory) // 2]
        out(f"{count} rounds, {len(wrong)} with something wrong.")
        usual = sorted(closing)[count // 2]
        out(f"Closing took {max(closing):.2f} s at most, {usual:.2f} s in the middle.")
        out(f"Memory {middle:.0f} MB at half, {memory[-1]:.0f} MB at the end.")
        for each in wrong[:10]:
            out(f"- {each}")
    del application
    return len(wrong)


if __name__ == "__main__":
    status = min(main(*(int(word) for word in sys.argv[1:])), 1)
    sys.stdout.flush()
    os._exit(status)
