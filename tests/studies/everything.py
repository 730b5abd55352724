"""Dockets with odd values that load all the same: do they survive all that is made of a docket?

    python -m tests.studies.everything [COUNT] [--first SEED] [--minutes M]

Each is predicted, judged, searched for springs, ordered for, run through tolerance, put on every
print on both papers, and shown on every page and part of Springs in the real window.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
import warnings
from itertools import islice
from pathlib import Path

from tests.studies.asked import Asked, asked
from tests.studies.results import section

COUNT = 300


def main(size: Asked) -> int:
    """Run; the number of dockets that did harm."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from PySide6.QtWidgets import QApplication

    from bobweight.app import guard
    from bobweight.app.window.main_window import MainWindow
    from tests.resilience.everything import faults, odd_dockets
    from tests.resilience.monkey import Answering
    from tests.resilience.mutation import Material

    warnings.simplefilter("ignore")
    application = QApplication.instance() or QApplication([])
    guard.install()
    folder = Path(tempfile.mkdtemp(prefix="everything-"))
    window = MainWindow(dialogs=Answering(folder))
    window.dialogs.unsaved = lambda *_: "discard"
    window.show()
    done = harmful = 0
    longest = 0.0
    with section(
        "everything", "Odd dockets through all that is made of one", f"{size.first} on",
        "Values replaced, swapped, doubled or taken out; what loads is predicted, judged, searched "
        "for springs, run through tolerance, put on every print on two papers and shown on "
        "every page. Harm: an error that is not told in our words.",
    ) as out:  # fmt: skip
        for seed, docket in islice(odd_dockets(Material(folder), size.first), size.count):
            if size.over:
                break
            begun = time.process_time()
            found = faults(docket, window)
            longest = max(longest, time.process_time() - begun)
            done += 1
            harmful += bool(found)
            for each in found:
                print("seed", seed, each, flush=True)
        out(f"{done} dockets; {harmful} did harm. Longest: {longest:.1f} s of processor time.")
        if done < size.count:
            out(size.reached(done, "dockets"))
    window.close()
    del application
    return harmful


if __name__ == "__main__":
    sys.exit(min(main(asked(__doc__, COUNT)), 1))
