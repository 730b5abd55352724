"""A folder that does not answer: the window does, says what it waits for, and loses nothing."""

from __future__ import annotations

import threading

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMessageBox

from bobweight.app.window import files, patience
from bobweight.core.docket import file
from bobweight.core.docket.file import read_docket, write_docket
from bobweight.core.record import put
from tests.samples import sample

TITLE = ("particulars", "title")


class Hanging:
    """Holds a call up until it is let go; on the window's own thread only the journal's are made,
    whose disk answers."""

    def __init__(self, monkeypatch, module, name: str) -> None:
        self.gate = threading.Event()
        self.calls = 0
        self.function = getattr(module, name)
        monkeypatch.setattr(module, name, self)

    def __call__(self, *arguments, **named):
        if threading.current_thread() is threading.main_thread():
            return self.function(*arguments, **named)
        self.calls += 1
        assert self.gate.wait(20)
        return self.function(*arguments, **named)


class Watching:
    """Notes whether the window goes on, and what it says; does something once it says it."""

    def __init__(self, then) -> None:
        self.turns, self.said, self._then = 0, [], then
        self._timer = QTimer()
        self._timer.timeout.connect(self._look)
        self._timer.start(20)

    def _look(self) -> None:
        boxes = [w for w in QApplication.topLevelWidgets() if isinstance(w, QMessageBox)]
        shown = [box for box in boxes if box.isVisible()]
        if not shown:
            return
        self.turns += 1
        if self.turns == 1:
            self.said.append(shown[0].text())
        if self.turns == 4:  # the loop of the window has turned while the disk did not answer
            self._then(shown[0])

    def stop(self) -> None:
        self._timer.stop()


@pytest.fixture(autouse=True)
def soon(monkeypatch):
    monkeypatch.setattr(patience, "AT_ONCE_S", 0.1)


def give_up(box: QMessageBox) -> None:
    box.buttons()[-1].click()


@pytest.fixture
def opened(window, tmp_path):
    path = tmp_path / "mine.docket"
    write_docket(sample("small_four"), path)
    assert window.files.open_path(path)
    window.store.replace("x", put(window.store.docket, TITLE, "new"))
    return path


@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_save_that_hangs_keeps_the_window_alive_and_ends_well(window, opened, monkeypatch, call):
    hanging = Hanging(monkeypatch, file.os, call)
    watching = Watching(lambda _box: hanging.gate.set())
    assert window.files.save()
    watching.stop()
    assert watching.turns >= 4 and "does not answer" in watching.said[0]
    assert "mine.docket" in watching.said[0]
    assert read_docket(opened).particulars.title == "new" and not window.store.dirty


def test_a_save_may_be_given_up_and_nothing_is_lost(window, opened, monkeypatch):
    hanging = Hanging(monkeypatch, file.os, "replace")
    watching = Watching(give_up)
    assert not window.files.save()
    watching.stop()
    assert window.store.dirty and window.store.docket.particulars.title == "new"
    assert any("does not answer" in text for text in window.notices.texts())
    assert read_docket(opened) == sample("small_four")
    hanging.gate.set()


def test_a_docket_that_cannot_be_read_in_time_leaves_what_is_open(window, opened, monkeypatch):
    hanging = Hanging(monkeypatch, files, "read_docket")
    watching = Watching(give_up)
    before = window.store.docket
    assert not window.files.open_path(opened.with_name("other.docket"))
    watching.stop()
    assert window.store.docket is before and watching.turns >= 4
    hanging.gate.set()


def test_a_look_at_the_file_does_not_wait(window, opened, monkeypatch):
    hanging = Hanging(monkeypatch, files, "fingerprint")
    assert not window.files.changed_on_disk()
    assert not window.files.changed_on_disk() and hanging.calls == 1  # none is begun meanwhile
    hanging.gate.set()
