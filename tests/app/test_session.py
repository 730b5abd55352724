"""Settings, recent files, autosave and recovery."""

from __future__ import annotations

import json

import pytest
from PySide6.QtCore import QByteArray

from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.session import Autosave, Settings, _lock_of, fingerprint


@pytest.fixture
def store(qapp, demo):
    store = Store(demo)
    yield store
    store.release()


def test_settings_last_with_their_types(qapp, own_home):
    settings = Settings()
    settings.theme = "dark"
    settings.set_flag("started", False)
    settings.set_bytes("place", QByteArray(b"\x00\x01"))
    display = Display()
    display.frame = "crank"
    display.depression_unit = "inHg"
    settings.save_display(display)
    settings.sync()
    again, other = Settings(), Display()
    again.load_display(other)
    assert again.theme == "dark"
    assert again.flag("started", True) is False
    assert again.bytes("place") == QByteArray(b"\x00\x01")
    assert (other.frame, other.depression_unit) == ("crank", "inHg")
    assert (own_home / "settings.ini").exists()


@pytest.mark.parametrize("text", ["", "[", '{"a": 1}', '["/no/such/file", 3]'])
def test_nonsense_in_the_settings_is_no_matter(qapp, text):
    settings = Settings()
    settings.set_text("recent", text)
    settings.set_text("theme", "plaid")
    settings.set_text("display/depression", "furlong")
    settings.set_text("display/frame", "sideways")
    settings.load_display(display := Display())
    assert settings.recent == [] and settings.theme == "system"
    assert (display.frame, display.depression_unit) == ("distributor", "kPa")


def test_recent_files_newest_first_without_doubles(qapp, tmp_path):
    settings = Settings()
    files = [tmp_path / name for name in ("a.docket", "b.docket", "a.docket")]
    for file in files:
        file.write_text("")
        settings.remember(file)
    assert settings.recent == [tmp_path / "a.docket", tmp_path / "b.docket"]
    (tmp_path / "a.docket").unlink()
    assert settings.recent == [tmp_path / "b.docket"]


def test_autosave_is_offered_after_a_crash(store, own_home, demo, tmp_path):
    crashed = Autosave(store, own_home)
    store.open_docket(demo, tmp_path / "mine.docket")
    store.edit("Title", ("particulars", "title"), "Half done")
    crashed.write()
    later = Autosave(Store(), own_home)
    assert later.recover() is None, "the program that wrote it still runs"
    crashed._timer.stop()
    crashed._lock.unlock()  # as the system does when a process dies
    left = later.recover()
    assert left.docket == store.docket and left.file_path == tmp_path / "mine.docket"
    assert later.recover() is not None, "it stays until it is forgotten"
    later.forget()
    assert later.recover() is None
    later.close()


def test_autosave_goes_when_saved_or_undone(store, own_home, tmp_path):
    autosave = Autosave(store, own_home)
    store.edit("Title", ("particulars", "title"), "Half done")
    autosave.write()
    assert len(list((own_home / "autosave").glob("*.json"))) == 1
    store.mark_saved(tmp_path / "mine.docket")
    assert not list((own_home / "autosave").glob("*.json"))
    autosave.close()


@pytest.mark.parametrize("text", ["", "{", "[]", '{"docket": 3}', '{"docket": {}, "file": 7}'])
def test_a_damaged_autosave_is_passed_over(store, own_home, text):
    autosave = Autosave(store, own_home)
    (own_home / "autosave" / "0123.json").write_text(text)
    assert autosave.recover() is None
    autosave.close()


def test_autosave_file_is_a_docket_inside(store, own_home):
    autosave = Autosave(store, own_home)
    store.edit("Title", ("particulars", "title"), "Half done")
    autosave.write()
    record = json.loads(autosave._own.read_text(encoding="utf-8"))
    assert record["docket"]["schema"] >= 1 and record["file"] is None
    autosave.close()


def test_lock_of_a_running_program_is_held(own_home, qapp):
    path = own_home / "x.json"
    lock = _lock_of(path)
    assert lock.tryLock(0) and not _lock_of(path).tryLock(0)
    lock.unlock()


def test_fingerprint(tmp_path):
    file = tmp_path / "a"
    assert fingerprint(file) is None
    file.write_text("one")
    first = fingerprint(file)
    file.write_text("two")
    assert fingerprint(file) != first
