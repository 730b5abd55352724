"""Windows opened, edited, undone, saved and closed while work goes on behind them."""

from __future__ import annotations

import gc
import random
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from PySide6.QtCore import QEvent, QThreadPool, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from bobweight.app.window.main_window import MainWindow
from bobweight.core.docket.file import read_docket
from bobweight.core.record import put
from tests.resilience.monkey import Answering
from tests.samples import FOLDER

TITLE = ("particulars", "title")
WORKING = ("verdict", "springs", "readings", "mechanism", "sheet")


@dataclass
class Round:
    """What one round showed: how long closing took, and what was wrong."""

    closing_s: float = 0.0
    closing_cpu_s: float = 0.0  # of the process, so that other work on the machine does not count
    wrong: list[str] = field(default_factory=list)


class Collector:
    """Forces the collector of cycles at random moments, on the window's thread."""

    def __init__(self, rng: random.Random) -> None:
        self.rng, self.times, self.timer = rng, 0, QTimer()
        self.timer.setSingleShot(True)
        self.timer.timeout.connect(self._collect)
        self.timer.start(1)

    def _collect(self) -> None:
        gc.collect(self.rng.choice((0, 1, 1, 2)))
        self.times += 1
        self.timer.start(self.rng.choice((1, 5, 20, 100, 300)))


def rounds(seed: int, count: int, folder: Path) -> Iterator[Round]:
    """Play rounds, one after the other, each with a window of its own."""
    rng = random.Random(seed)
    samples = sorted(FOLDER.glob("*.docket"))
    collector = Collector(random.Random(seed))
    for number in range(count):
        shown = Round()
        window = MainWindow(dialogs=Answering(folder))
        window.store.open_docket(read_docket(rng.choice(samples)), None)
        window.show()
        for step in range(rng.randrange(3, 9)):
            kind = rng.choice(("page", "edit", "undo", "open", "save", "wait", "collect", "wait"))
            if kind == "page":
                window.show_page(rng.choice(WORKING))
            elif kind == "edit":
                window.store.edit("x", ("mechanism", "stop_deg"), rng.uniform(8.0, 16.0))
            elif kind == "undo":
                window.store.undo_stack.undo()
            elif kind == "open":
                window.store.open_docket(read_docket(rng.choice(samples)), None)
            elif kind == "save":
                window.store.replace("t", put(window.store.docket, TITLE, f"{number} {step}"))
                window.files._write(folder / "mine.docket")
            elif kind == "collect":
                gc.collect(rng.randrange(3))
            else:
                QTest.qWait(rng.randrange(5, 500))
            decisions = window.feed.decisions
            current = decisions.current
            if current is not None and current.decision.docket != window.store.docket:
                docket, decided = window.store.docket, current.decision.docket
                if (docket.mechanism, docket.target) != (decided.mechanism, decided.target):
                    shown.wrong.append("a decision of another docket is shown as current")
        window.dialogs.unsaved = lambda *_: "discard"
        begun, cpu = time.monotonic(), time.process_time()
        if not window.close():
            shown.wrong.append("the window does not close")
        shown.closing_s, shown.closing_cpu_s = time.monotonic() - begun, time.process_time() - cpu
        window.deleteLater()
        del window
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        if QThreadPool.globalInstance().activeThreadCount():
            shown.wrong.append("a thread is left")
        yield shown
    collector.timer.stop()
