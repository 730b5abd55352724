"""At the engine: what is taken back too often does not lead into another session."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.readings import Reading
from bobweight.core.record import put


def type_reading(timing, speed: str, angle: str) -> None:
    for key, text in (("speed", speed), ("angle", angle)):
        QTest.keyClicks(timing.edits[key], text)
        QTest.keyClick(timing.edits[key], Qt.Key.Key_Return)


def test_a_session_taken_back_ends_the_taking(qtbot, window, demo):
    window.store.open_docket(demo, None)
    before: Docket = window.store.docket
    window.page("readings").add_session()
    window.begin_timing()
    timing = window.timing
    timing.acknowledge()
    type_reading(timing, "1000", "12")
    assert len(window.store.docket.sessions[1].readings) == 1
    for _ in range(2):
        window.store.undo_stack.undo()
    assert window.store.docket == before
    assert window.timing is None, "the next reading would be taken into “As found”"


def test_a_session_that_taking_began_may_be_taken_back_with_its_readings(qtbot, window, demo):
    window.store.open_docket(put(demo, ("sessions",), ()), None)
    window.begin_timing()
    timing = window.timing
    timing.acknowledge()
    type_reading(timing, "1000", "12")
    for _ in range(2):
        window.store.undo_stack.undo()
    assert window.timing is timing and not window.store.docket.sessions
    type_reading(timing, "1100", "13")
    assert window.store.docket.sessions[0].readings[0].speed_rpm == 1100.0


def test_a_session_just_taken_back_is_not_removed_again(window, demo):
    window.store.open_docket(demo, None)
    window.show_page("readings")
    page = window.page("readings")
    page.add_session()
    window.feed.tell()
    window.store.undo_stack.undo()
    page.remove_session()
    assert window.store.docket == demo


def test_rows_of_a_session_just_taken_back_are_not_edited(window, demo):
    window.store.open_docket(demo, None)
    window.show_page("readings")
    page = window.page("readings")
    page.add_session()
    window.feed.tell()
    table = page.table
    rows, slot = table.model, table.model.index(0, 0)
    acts = (
        table.insert_row, table.delete_rows, page.take_guesses,
        lambda: table.paste("1000\t4\n2000\t9"), lambda: rows.setData(slot, "1200"),
        lambda: rows.setData(slot, "1200; 6.5"), lambda: rows.add_rows("x", (Reading(),)),
        lambda: rows.clear_cells([(0, 0)]), lambda: page.state_box.activated.emit(0),
        lambda: page.session_box.activated.emit(len(demo.sessions)), page.add_session,
    )  # fmt: skip
    for act in acts[:-1]:
        window.store.undo_stack.undo()
        act()
        assert window.store.docket == demo and not rows.drafts
        window.store.undo_stack.redo()
        window.feed.tell()
    window.store.undo_stack.undo()
    acts[-1]()  # another one is begun
    assert len(window.store.docket.sessions) == len(demo.sessions) + 1
