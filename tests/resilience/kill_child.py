"""A program that works on dockets through the real store and files, until it is killed.

It says on standard output what it has done, a line each, once it is done.
"""

from __future__ import annotations

import os
import random
import time
from pathlib import Path

from PySide6.QtWidgets import QApplication, QWidget

from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.journal import Typed
from bobweight.app.store.photographs import Photographs
from bobweight.app.store.session import Settings
from bobweight.app.store.tray_store import TrayStore
from bobweight.app.widgets.dialogs import Dialogs
from bobweight.app.window.files import FileDesk
from bobweight.app.window.notice import NoticeBar
from bobweight.core.design.tray import TraySpring
from bobweight.core.docket.docket import Docket
from bobweight.core.problems import BobweightError
from bobweight.core.record import put

TITLE = ("particulars", "title")
MARK = "/mark-of-the-kill-study"


def say(text: str) -> None:
    try:
        os.write(1, f"{text}\n".encode())
    except OSError:  # the call that was made to fail was this one
        os.write(1, f"{text}\n".encode())


class Chosen(Dialogs):
    """Saves where it is told."""

    def __init__(self) -> None:
        self.path: Path | None = None

    def save_docket(self, parent, suggestion):
        return self.path

    def unsaved(self, parent, title):
        return "discard"


class AtOnce:
    """Waits on the window's own thread, whose calls of the system are counted."""

    def __call__(self, work, path):
        return work()

    def at_once(self, work, otherwise):
        return work()


class Work:
    """One window's worth of store and files, without the pages."""

    def __init__(self, home: Path) -> None:
        self.home = home
        self.settings = Settings()
        self.store, self.dialogs, self.window = Store(), Chosen(), QWidget()
        self.notices = NoticeBar()
        self.files = FileDesk(
            self.window, self.store, Display(), self.settings, self.notices, self.dialogs
        )
        self.files.patiently = AtOnce()
        self.photographs = Photographs(self.store, self.settings.folder)
        self.tray = TrayStore()
        self.number = 0

    def edit(self) -> None:
        self.number += 1
        self.store.edit("x", TITLE, f"{self.number}")
        say(f"EDIT {self.number} {time.monotonic()}")

    def type(self) -> None:
        typed = [Typed(["particulars", "notes"], "Notes", f"typed {self.number}")]
        self.files.journal.typed = lambda: typed
        self.files.journal.poke()

    def photograph(self) -> None:
        try:
            picture = self.home / f"picture {self.number % 5}.png"
            if not picture.exists():
                picture.write_bytes(b"\x89PNG\r\n\x1a\n" + os.urandom(30_000))
            made = self.photographs.attach(picture)
        except (OSError, BobweightError) as error:
            say(f"NOT TAKEN {error}")  # a page says it
            return
        docket = self.store.docket
        self.store.replace("p", put(docket, ("photographs",), (*docket.photographs, made)))

    def save(self, name: str) -> bool:
        self.dialogs.path = self.home / name
        same = self.store.file_path == self.dialogs.path
        say(f"SAVING {name} {self.number}")
        done = self.files.save() if same else self.files.save_as()
        say(f"{'SAVED' if done else 'REFUSED'} {name} {self.number}")
        if not done:  # at once: a save that goes well takes the notice away again
            say("TOLD " + " / ".join(self.notices.texts()).replace("\n", " "))
        return done

    def tray_edit(self) -> None:
        spring = TraySpring(label=f"{self.number}", rate_n_per_mm=1.0)
        springs = (*self.tray.tray.springs, spring)[-20:]
        self.tray.replace("t", put(self.tray.tray, ("springs",), springs))

    def set(self) -> None:
        self.settings.set_text("theme", ("light", "dark")[self.number % 2])
        self.settings.sync()


def work_at_random(home: Path, seed: int) -> None:
    """Until it is killed."""
    application, rng, work = QApplication([]), random.Random(seed), Work(home)
    work.store.open_docket(Docket(), None)
    say("READY")
    while True:
        say(f"TURN {time.monotonic()}")
        kind = rng.choices(
            ["edit", "save", "photograph", "tray", "set", "type", "journal", "rest"],
            [30, 8, 3, 8, 3, 4, 8, 10],
        )[0]
        if kind == "save":
            work.save(rng.choice(["one.docket", "two.docket"]))
        elif kind == "tray":
            work.tray_edit()
        elif kind == "journal":
            work.files.journal.write()
            say(f"KEPT {work.number}")
        elif kind != "rest":
            getattr(work, kind)()
        end = time.monotonic() + (0.2 if kind == "rest" else 0.01)
        while time.monotonic() < end:
            application.processEvents()
            say(f"TURN {time.monotonic()}")
            time.sleep(0.002)


def save_once(home: Path) -> None:
    """Photograph, journal, save, save as, a journal that goes on, tray and settings, between two
    marks."""
    application, work = QApplication([]), Work(home)
    old = home / "old.docket"
    work.files.open_path(old)
    work.number = 1
    say("SAVING old.docket 1\nSAVED old.docket 1")
    os.path.exists(MARK)
    work.edit()
    work.photograph()
    work.files.journal.write()
    say("KEPT 2")
    work.save("old.docket")
    work.edit()
    work.save("new.docket")
    for _ in range(2):  # the second goes on with the journal that the first began
        work.edit()
        work.files.journal.write()
        say(f"KEPT {work.number}")
    work.photograph()
    work.save("new.docket")
    work.tray_edit()
    work.tray.write()
    work.set()
    os.path.exists(MARK)
    say("DONE")
    application.processEvents()
    os._exit(0)
