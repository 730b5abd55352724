"""At the engine: what is taken back too often does not lead into another session."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from bobweight.core.docket.docket import Docket
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
