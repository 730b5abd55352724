"""What is done at a start about the one before: it failed, or it was killed as it wrote."""

from __future__ import annotations

import os
import time

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent

from bobweight.app.editors.table import RecordTable
from bobweight.app.store.faults import Ended
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.file import write_docket
from tests.samples import sample


def test_a_start_that_failed_on_a_file_begins_empty_and_says_why(window, tmp_path):
    file = tmp_path / "bad.docket"
    write_docket(sample("small_four"), file)
    window.begin(file, [Ended(True, str(file), "")])
    assert window.store.docket == new_docket() and window.store.file_path is None
    (said,) = [text for text in window.notices.texts() if "bad.docket" in text]
    assert "ended while" in said and "begins empty" in said
    window.files._open_failed()
    assert window.store.docket == sample("small_four")


def test_a_start_that_failed_on_another_file_does_not_matter(window, tmp_path):
    file = tmp_path / "good.docket"
    write_docket(sample("small_four"), file)
    window.begin(file, [Ended(True, str(tmp_path / "other.docket"), "")])
    assert window.store.docket == sample("small_four")
    assert any("ended without warning" in text for text in window.notices.texts())


def test_what_was_being_written_when_killed_goes_at_the_next_start(
    window, own_home, tmp_path, qtbot
):
    file = tmp_path / "mine.docket"
    write_docket(new_docket(), file)
    places = [own_home, own_home / "photographs", own_home / "running", tmp_path,
              tmp_path / "mine.photos"]  # fmt: skip
    for place in places:
        place.mkdir(exist_ok=True)
        (place / ".bobweight-00aa.part").write_text("half")
        os.utime(place / ".bobweight-00aa.part", (time.time() - 600, time.time() - 600))
        (place / ".bobweight-00bb.part").write_text("at work")
        (place / "notes.part").write_text("another's")
    window.begin(file)
    last = places[-1] / ".bobweight-00aa.part"
    qtbot.waitUntil(lambda: not last.exists())  # back in its loop
    for place in places:
        left = sorted(path.name for path in place.glob("*.part")) + sorted(
            path.name for path in place.glob(".*.part")
        )
        assert set(left) == {".bobweight-00bb.part", "notes.part"}


def test_enter_in_a_table_without_a_chosen_cell_opens_the_first(window, qtbot):
    window.show_page("target")
    table = window.page("target").findChildren(RecordTable)[0]
    view = table.view
    view.setCurrentIndex(view.rows.index(-1, -1))
    assert not view.currentIndex().isValid()
    view.keyPressEvent(
        QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Return, Qt.KeyboardModifier.NoModifier)
    )
    assert (view.currentIndex().row(), view.currentIndex().column()) == (0, 0)
    assert view.state() == view.State.EditingState
