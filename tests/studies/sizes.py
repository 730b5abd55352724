"""The largest sizes in the real window: time and memory of what a hand does with them.

    python -m tests.studies.sizes [--only NAME]

Each size in a process of its own, offscreen. Processor time of the process (so that other work on
the machine does not count) and the longest that the window did not answer, by the same clock; work
behind the window (a judgement, a search) is waited for and counted apart.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from tests.studies.asked import asked

if TYPE_CHECKING:
    from bobweight.app.window.main_window import MainWindow
    from bobweight.core.docket.docket import Docket

SIZES = (
    "10,000 readings", "50 sessions of 200", "1,000 check points", "500 tray springs",
    "20 springs", "100 springs", "300 photographs",
)  # fmt: skip
STEPS = ("open", "edit", "page", "behind", "save")
LONGEST_WAIT_S = 120.0


def docket_of(size: str, folder: Path) -> Docket:
    """A docket of that size, made from the demo."""
    from bobweight.core.docket.photographs import Photograph
    from bobweight.core.docket.target import CheckPoint
    from bobweight.core.record import put
    from tests.samples import sample
    from tests.studies.long_logs import rig_session

    docket = sample("weak_primary")
    if size == "10,000 readings":
        return put(docket, ("sessions",), (rig_session(10_000),))
    if size == "50 sessions of 200":
        sessions = tuple(rig_session(200, seed) for seed in range(50))
        return put(docket, ("sessions",), sessions)
    if size == "1,000 check points":
        points = tuple(
            CheckPoint(
                speed_rpm=200.0 + 2.0 * n,
                least_deg=max(0.0, n / 90.0 - 1.0),
                most_deg=n / 90.0 + 2.0,
            )
            for n in range(1000)
        )
        return put(docket, ("target", "points"), points)
    if size in ("20 springs", "100 springs"):
        count, own = int(size.split()[0]), docket.mechanism.springs
        springs = tuple(
            own[n % len(own)].with_changes(
                rate_n_per_mm=own[n % len(own)].rate_n_per_mm * len(own) / count
            )
            for n in range(count)
        )
        return put(docket, ("mechanism", "springs"), springs)
    if size == "300 photographs":
        from PIL import Image

        beside = folder / "large.photos"
        beside.mkdir()
        made = []
        for n in range(300):
            name = f"picture-{n}.jpg"
            Image.effect_noise((1600, 1200), 40 + n % 9).convert("RGB").save(beside / name)
            made.append(Photograph(file=name, caption=f"Picture {n}"))
        return put(docket, ("photographs",), tuple(made))
    return docket


def fill_tray(home: Path) -> None:
    """500 springs in the tray."""
    from bobweight.core.design.tray import Tray, TraySpring
    from bobweight.core.design.tray_file import write_tray

    springs = tuple(
        TraySpring(label=f"S{n}", count=2, rate_n_per_mm=0.4 * 1.01**n, free_length_mm=16 + n % 12)
        for n in range(500)
    )
    home.mkdir(parents=True, exist_ok=True)
    write_tray(Tray(springs=springs), home / "springs.tray")


class Clock:
    """Times steps by the processor time of this process, and the longest turn of Qt's loop."""

    def __init__(self) -> None:
        self.took: dict[str, float] = {}
        self.stalled: dict[str, float] = {}

    def step(self, name: str, act: Callable[[], object], until: Callable[[], bool]) -> None:
        """Do it, and turn the loop until it is done; a turn longer than any before is noted."""
        from PySide6.QtWidgets import QApplication

        begun = time.process_time()  # waited for by it too: the clock's seconds are the machine's
        ends = begun + LONGEST_WAIT_S
        longest, first = 0.0, True
        while first or (not until() and time.process_time() < ends):
            # The window's own thread: what works behind it does not count as standing still.
            turn = time.thread_time()
            if first:
                act()
            QApplication.processEvents()
            longest = max(longest, time.thread_time() - turn)
            first = False
            time.sleep(0.002)
        self.took[name] = time.process_time() - begun if until() else math.inf
        self.stalled[name] = longest


def _turns(count: int) -> Callable[[], bool]:
    left = [count]

    def over() -> bool:
        left[0] -= 1
        return left[0] <= 0

    return over


def child(size: str, folder: Path) -> None:
    """Open, edit, look at the page it is about, wait for what works behind, save; print it."""
    home = folder / "home"
    os.environ["BOBWEIGHT_HOME"] = str(home)
    from PySide6.QtWidgets import QApplication

    from bobweight.app.window.main_window import MainWindow
    from bobweight.core.docket.file import write_docket
    from tests.resilience.monkey import Answering, resident_mb

    application = QApplication([])
    path = folder / "large.docket"
    write_docket(docket_of(size, folder), path)
    if size == "500 tray springs":
        fill_tray(home)
    window = MainWindow(dialogs=Answering(folder))
    window.begin(path if size == "nothing" else None)
    window.show()
    clock, before = Clock(), resident_mb()
    clock.step("open", lambda: window.files.open_path(path), _turns(10))
    page, edit, wait, done = _acts(window, size)
    clock.step("page", page, _turns(10))
    clock.step("edit", edit, _turns(10))
    clock.step("behind", wait, done)
    clock.step("save", window.files.save, _turns(3))
    memory = resident_mb()
    window.dialogs.unsaved = lambda *_: "discard"
    window.close()
    window.deleteLater()
    found = {"took": clock.took, "stalled": clock.stalled, "mb": memory, "more_mb": memory - before}
    print("FOUND " + json.dumps(found), flush=True)
    del application
    os._exit(0)


def _acts(window: MainWindow, size: str) -> tuple[Callable[[], object], ...]:
    """Which page, which edit, what works behind, and whether that is done."""
    store, feed = window.store, window.feed

    def spring_page() -> None:
        window.show_page("springs")

    if size == "500 tray springs":

        def edit() -> None:
            page = window.page("springs")
            springs = page.tray.tray.springs
            changed = springs[250].with_changes(rate_n_per_mm=1.23)
            page.tray.edit("Rate", ("springs", 250), changed)

        def search() -> None:
            part = window.page("springs").part("search")
            window.page("springs").show_part("search")
            part.start()

        def searched() -> bool:
            return not window.page("springs").part("search").runner.busy

        return spring_page, edit, search, searched
    place = {
        "1,000 check points": "target", "20 springs": "mechanism", "100 springs": "mechanism",
        "300 photographs": "findings",
    }.get(size, "readings")  # fmt: skip

    def edit_stop() -> None:
        store.edit("Stop", ("mechanism", "stop_deg"), 11.75)

    def decided() -> bool:
        return not feed.decisions.busy

    return (
        lambda: window.show_page(place),
        edit_stop,
        lambda: window.show_page("verdict"),
        decided,
    )


def measured(size: str) -> dict:
    """One size in a process of its own."""
    with tempfile.TemporaryDirectory() as name:
        environment = os.environ | {
            "QT_QPA_PLATFORM": "offscreen", "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1",
        }  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-m", "tests.studies.sizes", "child", size, name],
            env=environment, capture_output=True, text=True, check=False,
        )  # fmt: skip
    said = [line for line in done.stdout.splitlines() if line.startswith("FOUND ")]
    if not said:
        print(done.stderr[-3000:], flush=True)
        return {}
    return json.loads(said[-1][6:])


def _seconds(took: float) -> str:
    return f"not in {LONGEST_WAIT_S:.0f} s" if math.isinf(took) else f"{took:.2f}"


def main(only: str = "") -> int:
    """Measure; the number of sizes that could not be."""
    from tests.studies.results import section, table

    rows, failed = [], 0
    key = "-".join(["sizes", *only.split()])
    with section(key, "Largest sizes in the window") as out:
        for size in ("as it comes", *SIZES):
            if only and only not in size:
                continue
            found = measured(size)
            if not found:
                failed += 1
                rows.append((size, *["failed"] * (len(STEPS) + 1)))
                continue
            cells = [
                f"{_seconds(found['took'][step])} ({found['stalled'][step]:.2f})" for step in STEPS
            ]
            rows.append((size, *cells, f"{found['mb']:.0f} ({found['more_mb']:.0f})"))
            print(*rows[-1], flush=True)
        out("Processor seconds; in brackets the longest that the window did not answer. “Behind” "
            "is the judgement (of the tray: the search) behind the window.")  # fmt: skip
        out()
        out(table(("size", *STEPS, "MB (more than empty)"), rows))
    return failed


if __name__ == "__main__":
    if sys.argv[1:2] == ["child"]:
        child(sys.argv[2], Path(sys.argv[3]))
    else:
        sys.exit(min(main(asked(__doc__, 0, only=("", "a size by its words")).more.only), 1))
