"""Cold start to a painted window, against the barest window of the same libraries.

Both are whole processes, started turn about: from the launch until the whole window has been
painted once, offscreen. Both find their modules compiled, as an installed program does: the first
round, which is not measured, compiles them. The bare one is PySide6 + pyqtgraph + numpy with as
many plots and curves.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile

from tests.studies.ratio import Ratio, of_ratios, turn_about
from tests.studies.results import section

BARE = """
import numpy as np, pyqtgraph as pg
from PySide6.QtWidgets import QApplication, QMainWindow, QSplitter
app = QApplication([])
window = QMainWindow()
zones = QSplitter()
window.setCentralWidget(zones)
x = np.linspace(0.0, 10.0, 200)
for plots in (6, 3, 4):
    plot = pg.PlotWidget()
    zones.addWidget(plot)
    for shift in range(plots):
        plot.plot(x, np.sin(x + shift))
window.resize(1366, 768)
window.show()
window.grab()
"""

OURS = """
from bobweight.app.window.start import open_window  # first, as the program does: the core before Qt
from PySide6.QtWidgets import QApplication
app = QApplication([])
window = open_window()
window.board.redraw()  # what the event loop would do first
window.grab()
"""

_END = """
import os, sys
sys.stdout.write("painted")
sys.stdout.flush()
os._exit(0)
"""


def _run(code: str, compiled: str) -> None:
    with tempfile.TemporaryDirectory() as home:
        environment = os.environ | {
            "QT_QPA_PLATFORM": "offscreen",
            "BOBWEIGHT_HOME": home,
            "PYTHONPYCACHEPREFIX": compiled,
        }
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        done = subprocess.run(
            [sys.executable, "-c", code + _END], env=environment, capture_output=True, check=True
        )
    assert done.stdout == b"painted", done.stderr


def cold_start() -> Ratio:
    """Our cold start to painted, as a multiple of the bare window's."""
    with tempfile.TemporaryDirectory() as compiled:
        ours, bare = turn_about(lambda: _run(OURS, compiled), lambda: _run(BARE, compiled), 9)
    note = f"{ours:.2f} s against {bare:.2f} s."
    return Ratio("cold start to painted window / bare window", ours / bare, 1.25, False, note)


BENCHMARKS = (cold_start,)

if __name__ == "__main__":
    with section("cold-start", "Cold start") as out:
        out(of_ratios(BENCHMARKS))
