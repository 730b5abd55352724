"""From an edit to the painted window, on every page and part of Springs, against bare pyqtgraph.

    python -m tests.studies.edits                    # the demo, in a small window and a large one
    python -m tests.studies.edits --profile Target   # where the time of one page goes

An edit of a value that the page shows is made on the docket, and the program's loop run until
nothing is left to paint; what is worked out behind the window is not waited for, and pictures in
small, which are drawn later by design, are not in it. Told are the time of the window's own thread
(the processor's, so that others on the machine do not count) and by the clock. The bare one sets
the data of as many items as the board has and paints them.
"""

from __future__ import annotations

import argparse
import cProfile
import os
import pstats
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import bobweight.core.judgement.outcome  # noqa: F401  (before Qt)

# isort: split
from PySide6.QtWidgets import QApplication

from bobweight.app.store.session import Settings
from bobweight.app.window.main_window import MainWindow
from bobweight.core.record import get
from tests.studies import room
from tests.studies.drag import _bare_step
from tests.studies.results import section, table

GOAL_MS = 25.0
ROUNDS = 21
SIZES = ((1350, 692), (1920, 1040))
EDITED: dict[str, tuple[tuple[str | int, ...], object, object]] = {
    "particulars": (("particulars", "drive_ratio"), 2.0, 2.01),
    "findings": (("findings", "side_play_mm"), 0.09, 0.08),
    "mechanism": (("mechanism", "springs", 0, "tang_mm"), 0.0, 0.1),
    "vacuum": (("capsules", 0, "start_kpa"), 13.5, 14.0),
    "target": (("target", "points", 1, "least_deg"), 4.5, 4.4),
    "readings": (("sessions", 0, "readings", 4, "angle_deg"), 20.5, 20.0),
    "springs": (("mechanism", "springs", 0, "rate_n_per_mm"), 2.6, 2.62),
    "verdict": (("mechanism", "springs", 0, "rate_n_per_mm"), 2.6, 2.62),
    "reassembly": (("reassembly", "cam_way_round"), False, True),
    "setting_up": (("setting_up", "static_deg"), 8.0, 8.5),
    "sheet": (("particulars", "title"), "Harbour launch", "Harbour launch, four"),
}
"""By page: a value that it shows, and two figures for it in turn."""


def _drained() -> None:
    for _ in range(3):
        QApplication.processEvents()


def steps(window: MainWindow, only: str = "") -> Iterator[tuple[str, Callable[[], None]]]:
    """Each page shown, with what makes an edit on it and runs the loop; or only that of a title."""
    for key, title in window.titles.items():
        if not only.startswith(title) and only:
            continue
        window.show_page(key)
        for part in room.PARTS if key == "springs" else [None]:
            if part is not None:
                window.page("springs").show_part(part.key)
            room._work_done(window)
            path, *values = EDITED[key]
            get(window.store.docket, path)  # else the study speaks of nothing
            turn = iter(range(10**9))

            def step(path=path, values=values, turn=turn) -> None:
                window.store.edit("study", path, values[(next(turn) + 1) % 2])
                _drained()

            yield title if part is None else f"{title}, {part.title}", step


def measured(step: Callable[[], None]) -> tuple[float, float]:
    """Median time of the thread and by the clock, ms."""
    step()
    step()
    own, clock = [], []
    for _ in range(ROUNDS):
        begun = time.thread_time(), time.perf_counter()
        step()
        own.append(1e3 * (time.thread_time() - begun[0]))
        clock.append(1e3 * (time.perf_counter() - begun[1]))
        time.sleep(0.005)
    return statistics.median(own), statistics.median(clock)


def opened(size: tuple[int, int], folder: Path) -> MainWindow:
    """The window on the demo, everything worked out."""
    window = MainWindow(Settings(folder))
    window.resize(*size)
    room.KINDS["demo"](window, folder)
    window.show()
    window.stack.load_all()
    room._work_done(window)
    return window


def closed(window: MainWindow) -> None:
    """Close it without a question."""
    window.files.may_leave = lambda: True  # type: ignore[method-assign]
    window.close()
    window.deleteLater()
    room.settle()


def main() -> None:
    """Measure, and write the section; or say where the time of one page goes."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--profile", metavar="PAGE", help="profile one page, by its title")
    given = asked.parse_args()
    application = QApplication.instance() or QApplication([])
    found: dict[tuple[int, int], dict[str, tuple[float, float]]] = {}
    for size in SIZES[:1] if given.profile else SIZES:
        with tempfile.TemporaryDirectory() as folder:
            window = opened(size, Path(folder))
            for title, step in steps(window, given.profile or ""):
                if given.profile is None:
                    found.setdefault(size, {})[title] = measured(step)
                elif given.profile == title:
                    step()
                    profile = cProfile.Profile()
                    profile.enable()
                    for _ in range(ROUNDS):
                        step()
                    profile.disable()
                    pstats.Stats(profile).sort_stats("cumulative").print_stats(45)
            closed(window)
    if given.profile:
        return
    bare, _ = measured(_bare_step())
    rows = []
    for title in found[SIZES[0]]:
        cells: list[object] = [title]
        for size in SIZES:
            own, clock = found[size][title]
            cells.append(f"{own:.1f} ({clock:.1f}), {own / bare:.2f}")
        rows.append(cells)
    heads = [f"{w} × {h}: ms of the thread (by the clock), ratio" for w, h in SIZES]
    slow = sum(cells[0] > GOAL_MS for size in SIZES for cells in found[size].values())
    note = (
        f"Bare pyqtgraph: {bare:.1f} ms. Goal {GOAL_MS:g} ms of the thread: {slow} places miss it."
    )
    with section("edits", "From an edit to the painted window, medians", note=note) as out:
        out(table(["page", *heads], rows))
    application.processEvents()


if __name__ == "__main__":
    main()
