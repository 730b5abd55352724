"""A folder that does not answer: the window does, says what it waits for, and loses nothing."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QMessageBox

from bobweight.app.pages.findings import photographs as page_photographs
from bobweight.app.store import disk, photographs
from bobweight.app.store.photographs import Photographs
from bobweight.app.store.session import Settings
from bobweight.app.window import files
from bobweight.core.docket import file
from bobweight.core.docket.file import read_docket, write_docket
from bobweight.core.docket.photographs import Photograph
from bobweight.core.record import put
from bobweight.core.tables import source
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
    monkeypatch.setattr(disk, "AT_ONCE_S", 0.1)


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


# Whatever else is read and written ------------------------------------------------------------


def test_a_table_that_hangs_is_waited_for_beside_the_window(window, tmp_path, monkeypatch):
    table = tmp_path / "readings.csv"
    table.write_text("speed,angle\n1000,5\n2000,9\n", "utf-8")
    window.dialogs.open_table = lambda *_: table
    hanging = Hanging(monkeypatch, source, "read_source")
    watching = Watching(give_up)
    before = window.store.docket
    window.files.import_table("readings")
    watching.stop()
    assert watching.turns >= 4 and "readings.csv" in watching.said[0]
    assert window.store.docket is before
    hanging.gate.set()


def test_an_exported_table_that_hangs(window, opened, tmp_path, monkeypatch):
    window.dialogs.save_table = lambda *_: tmp_path / "out.csv"
    hanging = Hanging(monkeypatch, file.os, "fsync")
    watching = Watching(lambda _box: hanging.gate.set())
    window.files.export_table("curve")
    watching.stop()
    assert watching.turns >= 4 and (tmp_path / "out.csv").stat().st_size > 100


def test_a_sheet_that_hangs(window, opened, tmp_path, monkeypatch):
    window.show_page("sheet")
    page = window.page("sheet")
    page.ask_path = lambda *_: tmp_path / "sheet.csv"
    hanging = Hanging(monkeypatch, file.os, "fsync")
    watching = Watching(give_up)
    page.save("csv")
    watching.stop()
    assert watching.turns >= 4 and "does not answer" in page.said.text()
    hanging.gate.set()


def test_photographs_that_hang_are_brought_when_their_folder_answers(
    qtbot, window, opened, tmp_path, monkeypatch
):
    picture = tmp_path / "unit.png"
    image = QImage(40, 30, QImage.Format.Format_RGB32)
    image.fill(0xFF336699)
    image.save(str(picture))
    hanging = Hanging(monkeypatch, photographs, "copy_into")
    watching = Watching(lambda _box: hanging.gate.set())
    made = Photographs.of(window.store).attach(picture)
    watching.stop()
    assert watching.turns >= 4
    docket = window.store.docket
    looking = Hanging(monkeypatch, page_photographs, "found_in")
    window.show_page("findings")
    begun = time.monotonic()
    window.store.replace("p", put(docket, ("photographs",), (made, Photograph(file="gone.png"))))
    one, other = window.page("findings").photographs.cards
    assert time.monotonic() - begun < 1.5 and "not answered" in one.picture.text()
    looking.gate.set()
    qtbot.waitUntil(lambda: not one.picture.pixmap().isNull(), timeout=5000)
    assert one.missing.isHidden() and "is missing" in other.missing.text()


def test_recent_files_on_a_disk_that_hangs_do_not_hold_up_the_start(tmp_path, monkeypatch):
    settings = Settings(tmp_path)
    settings.remember(tmp_path / "mine.docket")
    hanging = Hanging(monkeypatch, Path, "exists")
    monkeypatch.setattr(Path, "exists", lambda path: hanging(path))
    assert settings.recent == [] and settings.folder_for("sheets") == Path.home()
    hanging.gate.set()
