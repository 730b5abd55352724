"""Nothing typed is lost: the journal, and what is offered after the program ended."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest
from PySide6.QtCore import QDateTime
from PySide6.QtWidgets import QLineEdit, QPlainTextEdit

from bobweight.app.messages.recovery import leftover_words, unchanged
from bobweight.app.store import Store, journal
from bobweight.app.store.journal import (
    WRITE_AFTER_MS,
    Journal,
    Typed,
    delete_leftover,
    leftovers,
    read_leftover,
)
from bobweight.app.store.tray_store import TrayStore
from bobweight.app.window.main_window import MainWindow
from bobweight.core.design.tray import TraySpring
from bobweight.core.design.tray_file import read_tray
from bobweight.core.docket.changes import apply, changes
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.file import read_docket, write_docket
from bobweight.core.docket.plain import from_plain, to_plain
from bobweight.core.docket.readings import Reading
from bobweight.core.problems import BobweightError
from bobweight.core.record import put
from tests.app.conftest import Answers
from tests.samples import sample

TITLE = ("particulars", "title")
NOTES = ("particulars", "notes")


@pytest.fixture
def store(qapp):
    store = Store(sample("weak_primary"))
    yield store
    store.release()


@pytest.fixture
def kept(store, own_home):
    """A journal whose program is taken for dead at the end."""
    kept = Journal(store, own_home)
    yield kept
    kept.close()


def die(kept: Journal) -> None:
    """As when the process goes: nothing is tidied up, the system frees the lock."""
    kept._timer.stop()
    if kept._lock is not None:
        kept._lock.unlock()
        kept._lock = None


def only_left(home: Path):
    (path,) = leftovers(home)
    return read_leftover(path)


def test_it_is_written_soon_after_the_first_key_and_not_put_off(qtbot, kept, store):
    store.edit("x", TITLE, "0")
    begun = QDateTime.currentMSecsSinceEpoch()
    number = 0
    while kept.path is None:  # an edit every 50 ms for as long as it takes
        number += 1
        store.edit("x", TITLE, str(number))
        qtbot.wait(50)
        assert QDateTime.currentMSecsSinceEpoch() - begun < 4000
    assert WRITE_AFTER_MS < 2000


def test_what_was_done_comes_back_line_by_line(kept, store, own_home):
    rows = ("sessions", 0, "readings")
    made = [
        (TITLE, "Half done"), (NOTES, "two\r\nlines\u00a0here"),
        ((*rows, 3, "angle_deg"), 11.5),
        (rows, (*store.docket.sessions[0].readings, Reading(speed_rpm=900.0))),
        (rows, store.docket.sessions[0].readings[2:5]),
        (("mechanism", "springs"), ()), (TITLE, "x" * 100_000),
    ]  # fmt: skip
    for path, value in made:
        store.edit("x", path, value)
        kept.write()
    store.state_uncertainty("x", ("mechanism", "stop_deg"), 0.25)
    kept.write()
    size = kept.path.stat().st_size
    store.edit("x", ("particulars", "owner"), "a")
    kept.write()
    assert kept.path.stat().st_size - size < 300  # what changed, not the docket
    assert leftovers(own_home) == []  # it still runs
    die(kept)
    left = only_left(own_home)
    assert left.docket == store.docket and left.whole


def test_nothing_is_left_once_saved_or_undone(kept, store, own_home, tmp_path):
    store.edit("x", TITLE, "Half done")
    kept.write()
    store.undo_stack.undo()
    assert kept.path is None and not list((own_home / "journal").glob("*.journal"))
    store.edit("x", TITLE, "Half done")
    kept.write()
    store.mark_saved(tmp_path / "mine.docket")
    assert kept.path is None and not list((own_home / "journal").glob("*.journal"))


def test_what_stands_in_a_field_is_kept(kept, store, own_home):
    typed = [Typed(list(NOTES), "Notes", "half a sen"), Typed([], "Speed", "12,")]
    kept.typed = lambda: typed
    kept.write()
    assert not store.dirty and kept.path is not None
    die(kept)
    assert only_left(own_home).typed == tuple(typed)


def test_a_long_journal_is_begun_anew_and_nothing_is_lost(kept, store, own_home, monkeypatch):
    monkeypatch.setattr(journal, "_LONGEST_BYTES", 30_000)
    names = set()
    for number in range(40):
        store.edit("x", NOTES, f"{number} " * 900)
        kept.write()
        names.add(kept.path)
        assert len(list((own_home / "journal").glob("*.journal"))) == 1
    assert len(names) > 2
    die(kept)
    assert only_left(own_home).docket == store.docket


@pytest.mark.parametrize("cut", [1, 5, 60, 400])
def test_a_line_cut_off_at_the_end_costs_that_line_only(kept, store, own_home, cut):
    states = []
    for number in range(6):
        store.edit("x", TITLE, f"state {number}")
        kept.write()
        states.append(store.docket)
    data = kept.path.read_bytes()
    die(kept)
    kept.path.write_bytes(data[:-cut])
    left = only_left(own_home)
    assert left.docket in states and not left.whole
    assert "damaged" in leftover_words(left)


@pytest.mark.parametrize("data", [b"", b"\n", b"nonsense", b"00000000 {}\n", bytes(range(256)) * 9])
def test_a_damaged_journal_is_told_and_stays(qapp, own_home, data):
    folder = own_home / "journal"
    folder.mkdir()
    (folder / "0.journal").write_bytes(data)
    left = only_left(own_home)
    assert left.docket is None and not left.whole
    assert str(left.path) in leftover_words(left)
    assert left.path.exists()


def test_any_damaged_byte_is_noticed(kept, store, own_home):
    for number in range(4):
        store.edit("x", TITLE, f"state {number}")
        kept.write()
    whole = kept.path.read_bytes()
    die(kept)
    for place in range(0, len(whole), 97):
        hurt = bytearray(whole)
        hurt[place] ^= 0x01
        kept.path.write_bytes(bytes(hurt))
        left = read_leftover(kept.path)
        assert not left.whole


def test_the_order_is_that_of_numbers_not_of_clocks(qapp, own_home):
    written = []
    for number in range(3):
        store = Store(sample("weak_primary"))
        kept = Journal(store, own_home)
        store.edit("x", TITLE, f"{number}")
        kept.write()
        os.utime(kept.path, (2_000_000_000 - number * 10**8,) * 2)  # each with an older clock
        die(kept)
        written.append(kept.path)
        kept._path = None
        kept._store.changed.disconnect(kept._store_changed)
        store.release()
    found = sorted((read_leftover(path) for path in leftovers(own_home)), key=lambda x: x.number)
    assert [left.path for left in found] == written


def test_a_full_disk_is_told_once_and_when_it_is_over(kept, store, own_home, monkeypatch):
    said, over = [], []
    kept.failed.connect(said.append)
    kept.kept.connect(lambda: over.append(True))
    store.edit("x", TITLE, "one")
    kept.write()
    length, write = kept.path.stat().st_size, os.write

    def full(handle: int, data: bytes) -> int:
        if len(data) > 10:
            return write(handle, data[:10])
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(journal.os, "write", full)
    for number in range(3):
        store.edit("x", TITLE, f"two {number}")
        kept.write()
    assert [problem.code for problem in said] == ["journal-not-written"]
    assert kept.path.stat().st_size == length, "half a line is taken back"
    monkeypatch.undo()
    kept.write()
    assert over == [True]
    die(kept)
    left = only_left(own_home)
    assert left.docket == store.docket and left.whole


def test_a_folder_that_is_gone_is_told(kept, store, own_home, monkeypatch):
    said = []
    kept.failed.connect(said.append)
    monkeypatch.setattr(kept, "_folder", own_home / "settings.ini" / "x")
    (own_home / "settings.ini").write_text("")
    store.edit("x", TITLE, "one")
    kept.write()
    assert [problem.code for problem in said] == ["journal-not-written"]


def test_changes_turn_one_docket_into_another():
    docket = sample("weak_primary")
    rows = docket.sessions[0].readings
    for after in (
        put(docket, TITLE, "x"), put(docket, ("sessions", 0, "readings"), rows[1:]),
        put(docket, ("sessions", 0, "readings"), (*rows[:3], Reading(), *rows[3:])),
        put(docket, ("sessions",), ()), docket.with_changes(other={"a": [1]}), new_docket(),
        put(docket, ("particulars",), docket.particulars.with_changes(u={}, other={"b": 1})),
    ):  # fmt: skip
        plain = apply(to_plain(docket), changes(docket, after))
        assert from_plain(type(docket), plain) == after
    assert changes(docket, docket) == []
    with pytest.raises(BobweightError):
        apply(to_plain(docket), [{"at": ["nowhere", 3], "put": 1}])


# In the window ------------------------------------------------------------------------------


def another(qtbot, answers) -> MainWindow:
    window = MainWindow(dialogs=answers)
    qtbot.addWidget(window)
    window.show()
    return window


def leave_behind(own_home, docket, file=None, title="left", base=None) -> Path:
    store = Store()
    store.open_docket(docket, file)
    kept = Journal(store, own_home)
    kept.fingerprint = lambda: base
    store.edit("x", TITLE, title)
    kept.write()
    path = kept.path
    die(kept)
    kept._path = None
    kept._store.changed.disconnect(kept._store_changed)
    kept._store.file_changed.disconnect(kept._file_changed)
    kept._timer.stop()
    store.release()
    return path


def test_each_of_many_leftovers_is_opened_or_deleted_by_itself(qtbot, window, own_home):
    for number in range(100):
        leave_behind(own_home, new_docket(), title=f"work {number}")
    window.files.recovery.offer()
    assert "100 pieces of work" in window.notices.texts()[0]
    window.notices.notices[0].buttons[0].click()
    dialog = window.files.recovery.dialog
    assert dialog.list.count() == 100 and dialog.list.item(0).text().startswith("work 99\n")
    dialog.list.setCurrentRow(4)
    dialog.delete_button.click()
    assert len(leftovers(own_home)) == 99 and dialog.list.count() == 99
    dialog.list.setCurrentRow(50)
    chosen = dialog.list.item(50).text().split("\n")[0]
    dialog.open_button.click()
    assert window.store.docket.particulars.title == chosen
    assert len(leftovers(own_home)) == 98
    assert window.store.dirty and window.files.journal.path is not None


def test_recovered_work_older_than_a_later_save_does_not_overwrite_it(window, own_home, tmp_path):
    file = tmp_path / "mine.docket"
    write_docket(new_docket(), file)
    base = window.files.open_path(file) and window.files._fingerprint()
    path = leave_behind(own_home, new_docket(), file, base=base)
    write_docket(put(new_docket(), TITLE, "saved later"), file)
    left = read_leftover(path)
    assert "saved again since" in leftover_words(left) and "title" in leftover_words(left).lower()
    assert window.files.recovery.take(left)
    assert not window.files.save()
    assert read_docket(file).particulars.title == "saved later"
    assert any("changed on the disk" in text for text in window.notices.texts())


def test_work_that_the_file_holds_already_is_not_offered(window, own_home, tmp_path):
    file = tmp_path / "mine.docket"
    path = leave_behind(own_home, new_docket(), file)
    write_docket(read_leftover(path).docket, file)
    assert unchanged(read_leftover(path))
    window.files.recovery.offer()
    assert window.notices.texts() == [] and leftovers(own_home) == []


def test_a_leftover_stays_if_it_cannot_be_written_down_anew(window, own_home, monkeypatch):
    path = leave_behind(own_home, new_docket())

    def full(_handle, _data):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(journal.os, "write", full)
    assert not window.files.recovery.take(read_leftover(path))
    assert path.exists()
    assert any("not being written down" in text for text in window.notices.texts())


def test_notes_being_typed_outlive_a_crash(qtbot, window, own_home):
    window.show_page("particulars")
    notes = window.page("particulars").findChildren(QPlainTextEdit)[-1]
    notes.setFocus()
    assert window._watched is notes
    qtbot.keyClicks(notes, "the cam is scored")
    qtbot.waitUntil(lambda: window.files.journal.path is not None, timeout=4000)
    assert not window.store.dirty
    left = read_leftover(window.files.journal.path)
    assert [each.text for each in left.typed] == ["the cam is scored"]
    copy = own_home / "journal" / "copy.journal"
    copy.write_bytes(window.files.journal.path.read_bytes())
    notes.clear()
    assert window.files.recovery.take(read_leftover(copy))
    assert window.store.docket.particulars.notes == "the cam is scored"


def test_a_cell_being_typed_outlives_a_crash(qtbot, window):
    window.store.open_docket(sample("weak_primary"), None)
    window.show_page("readings")
    view = window.page("readings").table.view
    view.setFocus()
    view.setCurrentIndex(view.model().index(0, 0))
    view.edit(view.model().index(0, 0))
    editor = view.findChild(QLineEdit)
    qtbot.keyClicks(editor, "1234")
    qtbot.waitUntil(lambda: window.files.journal.path is not None, timeout=4000)
    left = read_leftover(window.files.journal.path)
    assert [each.text[-4:] for each in left.typed] == ["1234"]


def test_two_windows_on_one_docket(qtbot, window, answers, tmp_path):
    file = tmp_path / "mine.docket"
    write_docket(new_docket(), file)
    assert window.files.open_path(file) and window.notices.texts() == []
    second = another(qtbot, Answers())
    second.dialogs.leave = "discard"
    assert second.files.open_path(file)
    assert "open in another window" in second.notices.texts()[0]
    window.store.edit("x", TITLE, "first")
    second.store.edit("x", TITLE, "second")
    assert window.files.save() and not second.files.save()
    assert read_docket(file).particulars.title == "first"
    second.files._overwrite()
    assert not window.files.save() if window.store.dirty else True
    window.store.edit("x", TITLE, "first again")
    assert not window.files.save()
    assert read_docket(file).particulars.title == "second"
    second.close()
    assert window.files.open_path(file) or True


def test_deleting_takes_the_lock_along(qapp, own_home):
    path = leave_behind(own_home, new_docket())
    delete_leftover(path)
    assert list((own_home / "journal").glob(f"{path.stem}*")) == []


# The tray -----------------------------------------------------------------------------------


def test_a_tray_altered_elsewhere_loses_neither_even_if_nobody_decides(qapp, own_home):
    mine, theirs = TrayStore(), TrayStore()
    one, other = TraySpring(label="mine", rate_n_per_mm=1.0), TraySpring(label="theirs")
    theirs.replace("x", put(theirs.tray, ("springs",), (other,)))
    theirs.write()
    mine.replace("x", put(mine.tray, ("springs",), (one,)))
    mine.write()
    assert mine.trouble.code == "tray-changed-elsewhere"
    two = put(mine.tray, ("springs",), (one, TraySpring(label="later")))
    mine.replace("x", two)
    mine.close()
    theirs.close()
    later = TrayStore()
    assert later.tray == two and later.trouble.code == "tray-changed-elsewhere"
    assert read_tray(later.path).springs == (other,)
    third = TrayStore()  # while the other has it, it is not offered twice
    assert third.tray.springs == (other,) and third.trouble is None
    later.keep_this()
    assert read_tray(later.path) == two
    assert not list(own_home.glob("springs-aside-*.json"))
    later.close()
    third.close()


def test_a_tray_that_is_edited_without_rest_is_written(qtbot, own_home):
    tray = TrayStore()
    for number in range(30):
        tray.replace("x", put(tray.tray, ("springs",), (TraySpring(label=str(number)),)))
        qtbot.wait(40)
        if tray.path.exists():
            break
    assert tray.path.exists()
    tray.close()
