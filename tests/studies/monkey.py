"""Random hands on the real window, each seed in a process of its own; failures are shrunk.

    python -m tests.studies.monkey [EVENTS] [--seeds N] [--platform xcb] [--first N] [--minutes M]
    python -m tests.studies.monkey play SCRIPT.json

A process that ends by a signal, an exception, a message of Qt, or an undo that does not come back
is a failure. Of the events of a failure the fewest that still fail are sought and written to a
script, which the second command plays.
"""

from __future__ import annotations

import faulthandler
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.studies.asked import Asked, asked

EVENTS, SEEDS = 30_000, 20
_TRIES = 60  # in shrinking one failure
_PER_EVENT_S = 3.0


def child(script: Path, home: Path) -> int:
    """Play the events of a script on a window; the exit status."""
    faulthandler.enable()
    from PySide6.QtWidgets import QApplication

    from bobweight.app import guard
    from bobweight.app.window.main_window import MainWindow
    from tests.resilience.monkey import Answering, Monkey, resident_mb

    application = QApplication([])
    guard.install()
    folder = home / "files"
    folder.mkdir(exist_ok=True)
    window = MainWindow(dialogs=Answering(folder))
    window.begin()
    window.show()
    memory = []

    def told(number: int) -> None:
        if number % 500 == 0:
            memory.append(round(resident_mb()))
            print("MEMORY", number, memory[-1], flush=True)

    with Monkey(window, folder) as monkey:
        wrong = monkey.play(json.loads(script.read_text("utf-8")), told)
        wrong = wrong or monkey.undo_and_redo_all()
        window.dialogs.unsaved = lambda *_: "discard"
        begun = time.monotonic()
        if not wrong and not window.close():
            wrong.append("the window does not close")
        if not wrong and time.monotonic() - begun > 3:
            wrong.append(f"closing took {time.monotonic() - begun:.1f} s")
    del application
    for each in wrong:
        print("WRONG", json.dumps(each), flush=True)
    os._exit(1 if wrong else 0)


def play(events: list, platform: str) -> tuple[str, list[int]]:
    """What went wrong with these events in a process of its own, and its memory on the way."""
    with tempfile.TemporaryDirectory() as name:
        home = Path(name)
        script = home / "script.json"
        script.write_text(json.dumps(events), "utf-8")
        environment = os.environ | {
            "BOBWEIGHT_HOME": str(home / "home"), "QT_QPA_PLATFORM": platform,
            "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1",
        }  # fmt: skip
        command = [sys.executable, "-m", "tests.studies.monkey", "child", str(script), name]
        try:
            done = subprocess.run(
                command, env=environment, capture_output=True, text=True, errors="replace",
                timeout=120 + _PER_EVENT_S * len(events), check=False,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            return "hangs", []
    memory = [int(line.split()[2]) for line in done.stdout.splitlines() if line[:6] == "MEMORY"]
    said = [json.loads(line[6:]) for line in done.stdout.splitlines() if line[:6] == "WRONG "]
    if said:
        return said[0], memory
    if done.returncode:
        begins = max(done.stderr.find("Fatal Python error"), 0)
        account = done.stderr[begins : begins + 3000] if begins else done.stderr[-1500:]
        return f"ended with {done.returncode}: {account}", memory
    return "", memory


def shrink(events: list, platform: str) -> list:
    """The fewest events found that still fail."""
    tries, size = 0, max(len(events) // 2, 1)
    while size and tries < _TRIES:
        start = 0
        while start < len(events) and tries < _TRIES:
            fewer = events[:start] + events[start + size :]
            tries += 1
            if fewer and play(fewer, platform)[0]:
                events = fewer
            else:
                start += size
        size //= 2
    return events


def main(size: Asked) -> int:
    """Play; the number of failures."""
    from tests.resilience.monkey import draw
    from tests.studies.results import section, table

    first, seeds, platform = size.first, size.more.seeds, size.more.platform
    each, failures, rows = size.count // seeds, 0, []
    with section(
        f"monkey-{platform}", f"Random hands on the window ({platform})",
        seeds=f"{first} to {first + seeds - 1}",
        note="Exceptions, messages of Qt, ends by a signal, undo that does not come back.",
    ) as out:  # fmt: skip
        for seed in range(first, first + seeds):
            if size.over:
                break
            drawn = draw(seed, each)
            begun = time.monotonic()
            wrong, memory = play(drawn, platform)
            took = time.monotonic() - begun
            half = memory[len(memory) // 2] if memory else 0
            rows.append((seed, each, f"{took:.0f}", half, memory[-1] if memory else 0,
                         "failed" if wrong else "none"))  # fmt: skip
            print(*rows[-1], flush=True)
            if wrong:
                failures += 1
                print(wrong, flush=True)
                where = wrong.split(":")[0].removeprefix("event ")
                known = drawn[: int(where) + 1] if where.isdigit() else drawn
                script = Path(tempfile.gettempdir()) / f"monkey-{platform}-{seed}.json"
                script.write_text(json.dumps(shrink(known, platform)), "utf-8")
                print(f"fewest events: {script}", script.read_text("utf-8")[:3000], flush=True)
        heads = ("seed", "events", "s", "MB at half", "MB at the end", "failures")
        out(table(heads, rows))
        out()
        if len(rows) < seeds:
            out(size.reached(each * len(rows), "events"))
        out(f"{failures} of {len(rows)} runs failed.")
    return failures


if __name__ == "__main__":
    if sys.argv[1:2] == ["child"]:
        child(Path(sys.argv[2]), Path(sys.argv[3]))
    elif sys.argv[1:2] == ["play"]:
        print(play(json.loads(Path(sys.argv[2]).read_text("utf-8")), "offscreen"))
    else:
        ask = asked(
            __doc__, EVENTS, seeds=(SEEDS, "runs"), platform=("offscreen", "Qt's platform plug-in")
        )
        sys.exit(min(main(ask), 1))
