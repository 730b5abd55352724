"""A restorer's day at one window, faster than life: opened, worked on, judged, printed, saved.

A hand does something every twenty seconds; what it does is drawn from a seed, unit after unit. What
a day must not let grow is taken down on the way: memory, open files, threads, temporary files, and
how long the window takes for each kind of act.
"""

from __future__ import annotations

import gc
import os
import random
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median

from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication

from bobweight.app.editors.number import NumberField
from bobweight.app.window.main_window import MainWindow
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.readings import Reading
from bobweight.core.record import put
from tests.resilience.monkey import Answering, resident_mb

ACT_EVERY_S = 20.0
ACTS_AN_HOUR = round(3600 / ACT_EVERY_S)
LONGEST_JUDGEMENT_S = 60.0
NUMBERS = (
    ("stop_deg", 8.0, 15.0), ("weights.mass_g", 20.0, 60.0), ("springs.0.rate_n_per_mm", 0.3, 3.0),
    ("springs.0.slack_mm", 0.0, 1.5), ("springs.1.free_length_mm", 14.0, 22.0),
)  # fmt: skip


@dataclass
class Hour:
    """What an hour (or a part of one) of the day left behind, and the median time of each act.

    Attributes
    ----------
    objects : int
        Objects of Qt below the window and Python's own that the collector knows, together.
    acts : dict
        Milliseconds of the window's thread, by kind of act, of each time it was done.
    """

    number: int
    memory_mb: float = 0.0
    handles: int = 0
    threads: int = 0
    files: int = 0
    objects: int = 0
    acts: dict[str, list[float]] = field(default_factory=dict)

    def latency_ms(self, kind: str) -> float:
        """The usual time of a kind of act."""
        return median(self.acts[kind]) if self.acts.get(kind) else 0.0


class Restorer:
    """Works on one unit after the other in a window that stays open."""

    def __init__(self, folder: Path, seed: int, judged: bool = True) -> None:
        self.rng, self.judged = random.Random(seed), judged
        self.folder, self.done = folder, 0
        self.dialogs = Answering(folder)
        self.window = MainWindow(dialogs=self.dialogs)
        self.window.begin()
        self.window.show()
        self.hour = Hour(0)

    def day(self, hours: int, acts_an_hour: int = ACTS_AN_HOUR) -> Iterator[Hour]:
        """Work, and tell after each hour."""
        acts = self._acts()
        for number in range(hours):
            self.hour = Hour(number)
            for _ in range(acts_an_hour):
                next(acts)
            self._take_down()
            yield self.hour

    def close(self) -> bool:
        """The day is over."""
        self.dialogs.unsaved = lambda *_: "discard"
        closed = self.window.close()
        self.window.deleteLater()
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        return closed

    def _take_down(self) -> None:
        self._settle()
        self.window.files.journal.write()  # open in every hour, however quick the hand was
        gc.collect()
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        hour = self.hour
        hour.memory_mb = resident_mb()
        handles = Path("/proc/self/fd")
        hour.handles = len(list(handles.iterdir())) if handles.exists() else 0
        hour.threads = threading.active_count()
        places = [Path(os.environ["BOBWEIGHT_HOME"]), Path(os.environ.get("TMPDIR", "/nowhere"))]
        hour.files = sum(len(list(place.rglob("*"))) for place in places if place.exists())
        hour.objects = len(self.window.findChildren(QObject)) + len(gc.get_objects())

    # What a hand does -----------------------------------------------------------------------

    def _acts(self) -> Iterator[None]:
        """One act after the other, without end: units as they come over the bench."""
        while True:
            self.done += 1
            yield from self._one_unit()

    def _one_unit(self) -> Iterator[None]:
        rng, window = self.rng, self.window
        if self.done % 4 == 0:
            yield self._timed("new", lambda: window.files._take(new_docket(), None))
        else:
            path = rng.choice(self.dialogs.samples)
            yield self._timed("open", lambda: window.files.open_path(path))
        for key in ("mechanism", "target", "readings"):
            yield self._page(key)
            for _ in range(rng.randrange(2, 5)):
                yield self._edit()
        for _ in range(rng.randrange(3, 9)):
            yield self._timed("reading", self._add_reading)
        yield self._judge()
        for _ in range(rng.randrange(2, 6)):
            yield self._timed("undo", window.store.undo_stack.undo)
        for key in ("springs", "findings", "sheet", "verdict", "setting_up"):
            yield self._page(key)
        yield self._timed("save", self._save)
        yield self._timed("print", self._print)
        yield self._timed("table", lambda: window.files.export_table("readings"))

    def _page(self, key: str) -> None:
        self._timed("page", lambda: self.window.show_page(key))

    def _edit(self) -> None:
        """Type into a field of the page, or straight into the docket where it has none."""
        words, low, high = self.rng.choice(NUMBERS)
        path = ("mechanism", *(int(w) if w.isdecimal() else w for w in words.split(".")))
        value = round(self.rng.uniform(low, high), 2)
        fields = self.window.findChildren(NumberField)
        found = next((each for each in fields if each.path == path and each.is_there), None)

        def type_it() -> None:
            if found is not None:
                found.edit.setText(str(value))
                found.commit()

        self._timed("edit", type_it)

    def _add_reading(self) -> None:
        store = self.window.store
        index = self.window.display.session_index(store.docket)
        if index < 0:
            self.window.page("readings").add_session()
            return
        path = ("sessions", index, "readings")
        rows = store.docket.sessions[index].readings
        speed = 400.0 + 50.0 * (len(rows) % 60)
        reading = Reading(speed_rpm=speed, angle_deg=round(self.rng.uniform(0.0, 15.0), 1))
        store.replace("Reading", put(store.docket, path, (*rows, reading)))

    def _judge(self) -> None:
        if not self.judged:
            return
        self._timed("page", lambda: self.window.show_page("verdict"))
        ends = time.monotonic() + LONGEST_JUDGEMENT_S
        decisions = self.window.feed.decisions
        while decisions.busy and time.monotonic() < ends:
            QApplication.processEvents()
            time.sleep(0.005)

    def _save(self) -> None:
        self.window.files._write(self.folder / f"unit {self.done % 12}.docket")

    def _print(self) -> None:
        page = self.window.page("sheet")
        page.ask_path = lambda *_: self.folder / "sheet.pdf"
        page.save("pdf")

    def _timed(self, kind: str, act) -> None:
        begun = time.thread_time()
        act()
        self._settle()
        self.hour.acts.setdefault(kind, []).append(1e3 * (time.thread_time() - begun))

    def _settle(self) -> None:
        for _ in range(3):
            QApplication.processEvents()
