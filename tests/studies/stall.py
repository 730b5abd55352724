"""How long the window stands still while a verdict is worked out behind it.

python -m tests.studies.stall

A timer asks for a turn of the event loop every few milliseconds; the longest it waits beyond that
is the stall. It is measured with nothing to do, and while verdicts run one after another, with the
speed slider moving all the time, so that every turn paints the plan view and the curves.
"""

from __future__ import annotations

import os
import tempfile
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtCore import QEventLoop, QObject, QTimer
from PySide6.QtWidgets import QApplication

from bobweight.app.store.session import Settings
from bobweight.app.window.main_window import MainWindow
from tests.studies.results import section, table

SAMPLE = Path(__file__).parents[2] / "sample_curves" / "weak_primary.docket"
EVERY_MS = 10
RUNS = 5


class Pulse(QObject):
    """Notes how late each turn of the event loop comes, while the speed slider moves."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__()
        self._window = window
        self._last = time.perf_counter()
        self._turns = 0
        self.late_ms: list[float] = []
        self._timer = QTimer(self)
        self._timer.setInterval(EVERY_MS)
        self._timer.timeout.connect(self._turn)
        self._timer.start()

    def _turn(self) -> None:
        now = time.perf_counter()
        self.late_ms.append(1e3 * (now - self._last) - EVERY_MS)
        self._last = now
        self._turns += 1
        self._window.board.set_speed(600.0 + 40.0 * (self._turns % 30))

    def stop(self) -> None:
        """No more turns."""
        self._timer.stop()


def spin(until, most_s: float = 60.0) -> None:
    """Let the event loop run."""
    ends = time.perf_counter() + most_s
    while not until() and time.perf_counter() < ends:
        QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, EVERY_MS)


def stalls(window: MainWindow, runs: int) -> np.ndarray:
    """Lateness of every turn in ms while so many verdicts are worked out."""
    pulse, decisions = Pulse(window), window.feed.decisions
    for run in range(runs):
        reading = ("sessions", 0, "readings", 0, "angle_deg")
        window.store.edit("Reading", reading, 7.0 + 0.1 * run)
        spin(lambda: not decisions.busy)
    pulse.stop()
    return np.array(pulse.late_ms[2:])


def rest(window: MainWindow, seconds: float) -> np.ndarray:
    """Lateness of every turn in ms with nothing behind the window."""
    pulse, ends = Pulse(window), time.perf_counter() + seconds
    spin(lambda: time.perf_counter() > ends)
    pulse.stop()
    return np.array(pulse.late_ms[2:])


def _first(window: MainWindow) -> np.ndarray:
    """Lateness of every turn in ms until the first verdict stands."""
    pulse = Pulse(window)
    window.feed.decisions.want("bench")
    spin(lambda: not window.feed.decisions.busy)
    pulse.stop()
    return np.array(pulse.late_ms[2:])


def main() -> None:
    app = QApplication.instance() or QApplication(["bobweight"])
    with tempfile.TemporaryDirectory() as folder:
        window = MainWindow(Settings(Path(folder)))
        window.begin(SAMPLE)
        window.resize(1366, 768)
        window.show()
        rest(window, 2.0)  # painted, and every page's file loaded
        first = _first(window)
        window.show_page("verdict")
        spin(lambda: not window.feed.decisions.busy)
        still, working = rest(window, 3.0), stalls(window, RUNS)
        window.store.undo_stack.setClean()
        window.store.open_docket(window.store.docket, None)
        window.close()
    cases = (("at rest", still), ("while the first verdict runs and its libraries load", first),
             ("while a verdict runs", working))  # fmt: skip
    with section("stall", "How long the window stands still") as out:
        out(table(["", "turns", "worst, ms", "99 % under, ms", "middle, ms"], [
            [name, len(late), f"{late.max():.0f}", f"{np.percentile(late, 99):.0f}",
             f"{np.median(late):.1f}"]
            for name, late in cases
        ]))  # fmt: skip
    del app


if __name__ == "__main__":
    main()
