"""Does a window that was long worked in say the same as one just opened on the same docket?

    python -m tests.studies.long_edited [CHAINS] [--acts N] [--first SEED] [--minutes M]

Each chain is a sample, and acts drawn from its seed: edits, undo and redo, sessions, alterations,
units, with judgements running. Failures are printed with what the hand did.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from tests.studies.asked import Asked, asked

CHAINS, ACTS = 300, 40


def main(size: Asked) -> int:
    """Work through the chains; how many failed."""
    home = Path(tempfile.mkdtemp(prefix="long-edited-"))
    os.environ |= {
        "BOBWEIGHT_HOME": str(home), "LC_ALL": "C.UTF-8",
        "QT_QPA_PLATFORM": os.environ.get("QT_QPA_PLATFORM", "offscreen"),
    }  # fmt: skip
    import bobweight.core.judgement.outcome  # noqa: F401  (before Qt)

    # isort: split
    from PySide6.QtCore import QEvent
    from PySide6.QtWidgets import QApplication

    from bobweight.app import guard
    from bobweight.app.window.main_window import MainWindow
    from tests.resilience.long_edited import compared
    from tests.resilience.monkey import Answering
    from tests.samples import FOLDER, sample
    from tests.studies.results import section

    application, told = QApplication([]), []
    guard.install()
    guard.listen(lambda error, where: told.append(guard.account(error, where)))
    names = sorted(path.stem for path in FOLDER.glob("*.docket"))
    done = failed = 0
    with section(
        "long_edited", "A window long worked in, and one just opened", str(size.first),
        note="Every visible word, the curves, and the file byte for byte.",
    ) as out:  # fmt: skip
        for seed in range(size.first, size.first + size.count):
            if size.over:
                break
            windows = [MainWindow(dialogs=Answering(home)) for _ in range(2)]
            for window in windows:
                window.show()
            told.clear()
            name = names[seed % len(names)]
            wrong, acts = compared(*windows, sample(name), seed, size.more.acts)
            done += 1
            failed += bool(wrong or told)
            print(seed, name, len(wrong), len(told), flush=True)
            for line in (*wrong, *told, acts) if wrong or told else ():
                print("  ", line, flush=True)
            for window in windows:
                window.dialogs.unsaved = lambda *_: "discard"
                window.close()
                window.deleteLater()
            QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        out(f"{done} chains of {size.more.acts} acts; {failed} failed.")
    del application
    return failed


if __name__ == "__main__":
    status = min(main(asked(__doc__, CHAINS, acts=(ACTS, "acts in a chain"))), 1)
    sys.stdout.flush()
    os._exit(status)
