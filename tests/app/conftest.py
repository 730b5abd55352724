"""A window of one's own, with dialogs that a test answers."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from bobweight.app.editors.take_table import TableTaker
from bobweight.app.store import Store
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.widgets.dialogs import Dialogs
from bobweight.app.window.main_window import MainWindow
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import read_docket

SAMPLES = Path(__file__).resolve().parents[2] / "sample_curves"


class Answers(Dialogs):
    """Answers each question with what the test laid ready; remembers what was asked."""

    def __init__(self) -> None:
        self.path: Path | None = None
        self.leave = "cancel"
        self.asked: list[str] = []

    def open_docket(self, parent, folder):
        self.asked.append("open")
        return self.path

    def save_docket(self, parent, suggestion):
        self.asked.append("save")
        return self.path

    def open_table(self, parent, title, folder):
        self.asked.append(title)
        return self.path

    def save_table(self, parent, title, suggestion):
        self.asked.append(title)
        return self.path

    def unsaved(self, parent, title):
        self.asked.append("unsaved")
        return self.leave

    def refused(self, parent, words):
        self.asked.append("refused")
        return self.leave != "cancel"

    def about(self, parent, title, text):
        self.asked.append(title)


@pytest.fixture
def store(qapp, demo) -> Iterator[Store]:
    store = Store(demo)
    yield store
    store.release()


@pytest.fixture
def answers() -> Answers:
    return Answers()


@pytest.fixture
def window(qtbot, answers, judged_once) -> Iterator[MainWindow]:
    """The window, shown, on an empty docket."""
    window = MainWindow(dialogs=answers)
    window.show()
    window.activateWindow()
    qtbot.waitExposed(window)
    yield window
    answers.leave = "discard"
    window.close()
    window.deleteLater()


@pytest.fixture
def told_at_once(monkeypatch) -> None:
    """What follows from an edit is shown before the edit returns; the program does so once it is
    back in its loop (``test_strokes`` has that)."""
    soon = OutcomeFeed._tell_soon

    def at_once(feed: OutcomeFeed) -> None:
        soon(feed)
        feed.tell()

    monkeypatch.setattr(OutcomeFeed, "_tell_soon", at_once)


@pytest.fixture
def demo() -> Docket:
    return read_docket(SAMPLES / "weak_primary.docket")


@pytest.fixture
def tables_agreed(monkeypatch) -> None:
    """Whatever a table is understood to say is agreed to."""
    monkeypatch.setattr(TableTaker, "ask", staticmethod(lambda draft, _parent: draft.understood()))
