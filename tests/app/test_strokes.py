"""What follows from an edit is worked out once, after the edit and not inside it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

import bobweight.core.judgement.outcome as judged
from bobweight.app.editors.table import RecordTable
from bobweight.app.pages.page import Page
from bobweight.app.store import decision_feed
from bobweight.app.window.main_window import MainWindow
from bobweight.app.window.page_stack import PageStack
from tests.samples import sample


@pytest.fixture
def full(window, qtbot, monkeypatch) -> MainWindow:
    """The window with every page built and a docket that all of them show something of."""
    window.stack.load_all()
    window.store.open_docket(sample("straight_six"), None)
    for key in window.titles:
        window.show_page(key)
    decisions = window.feed.decisions
    qtbot.waitUntil(lambda: decisions.is_current and not decisions.busy, timeout=60_000)
    monkeypatch.setattr(decision_feed, "REST_MS", 10**6)  # no other one begins on a slow machine
    return window


@contextmanager
def counted(monkeypatch) -> Iterator[Counter[str]]:
    """How often an outcome is worked out, a page follows, the strip and the board are shown."""
    from bobweight.app.board.board import Board

    QTest.qWait(50)  # what was asked for before is drawn before, on a busy machine too
    count: Counter[str] = Counter()

    def count_calls(owner: object, name: str) -> None:
        done = getattr(owner, name)

        def counting(*arguments, **named):
            count[name] += 1
            return done(*arguments, **named)

        monkeypatch.setattr(owner, name, counting)

    with monkeypatch.context():
        count_calls(judged, "outcome")
        count_calls(Page, "follow")
        count_calls(PageStack, "tell_states")
        count_calls(Board, "redraw")
        yield count


def back_in_the_loop() -> None:
    for _ in range(5):
        QApplication.processEvents()


@pytest.mark.parametrize("key", ["target", "readings"])
def test_a_value_taken_in_a_table_is_worked_out_once_and_later(full, monkeypatch, key):
    full.show_page(key)
    back_in_the_loop()
    table = next(t for t in full.page(key).findChildren(RecordTable) if t.isVisible())
    index = table.model.index(0, 1)
    with counted(monkeypatch) as count:
        assert table.model.setData(index, "3.25", Qt.ItemDataRole.EditRole)
        assert count == Counter(), "nothing is worked out while the cell is taken"
        assert table.model.data(index) == "3.25"
        back_in_the_loop()
    assert count == {"outcome": 1, "follow": 1, "tell_states": 1, "redraw": 1}


def test_many_edits_of_one_turn_are_worked_out_once(full, monkeypatch):
    full.show_page("mechanism")
    back_in_the_loop()
    path = ("mechanism", "springs", 0, "rate_n_per_mm")
    with counted(monkeypatch) as count:
        for step in range(20):
            full.store.edit("Rate", path, 2.0 + 0.01 * step, gesture="drag")
        back_in_the_loop()
    assert count == {"outcome": 1, "follow": 1, "tell_states": 1, "redraw": 1}


def test_pages_out_of_sight_follow_when_they_are_shown(full, monkeypatch):
    view = full.page("readings").comparison.view
    before = view.texts()
    full.show_page("target")
    back_in_the_loop()
    with counted(monkeypatch) as count:
        full.store.edit("Angle", ("target", "points", 2, "least_deg"), 0.25)
        back_in_the_loop()
        assert count["follow"] == 1
        full.show_page("readings")
        back_in_the_loop()
    assert count["follow"] == 2 and count["outcome"] == 1
    assert [row[4] for row in view.texts()] != [row[4] for row in before]


def test_a_spring_taken_out_is_gone_for_the_keyboard_too(full):
    full.show_page("mechanism")
    back_in_the_loop()
    page = full.page("mechanism")
    springs = len(full.store.docket.mechanism.springs)
    page.remove_spring(springs - 1)
    back_in_the_loop()
    assert len(full.store.docket.mechanism.springs) == springs - 1
    page.add_spring()
    focus = full.focusWidget()
    assert focus is not None and page.isAncestorOf(focus)


def test_what_is_being_typed_stays_when_the_row_is_told_of(full, qtbot):
    full.show_page("target")
    back_in_the_loop()
    table = next(t for t in full.page("target").findChildren(RecordTable) if t.isVisible())
    table.view.edit_cell(0, 1)
    editor = table.view.findChild(QLineEdit)
    qtbot.keyClicks(editor, "7.5")
    table.model.show_again()
    assert editor.text().endswith("7.5")


def test_enter_twice_in_one_turn_takes_a_cell_once(full, qtbot, qtlog):
    full.files.may_leave = lambda: True
    full.files.new()
    full.show_page("readings")
    table = full.page("readings").findChildren(RecordTable)[0]
    table.view.edit_cell(0, 0)
    editor = table.view.findChild(QLineEdit)
    qtbot.keyClicks(editor, "700")
    for _ in range(2):  # Qt puts each off to its loop
        qtbot.keyClick(editor, Qt.Key.Key_Return)
    QApplication.processEvents()
    assert [r.speed_rpm for r in full.store.docket.sessions[0].readings] == [700.0]
    assert not [m for m in qtlog.records if "does not belong to this view" in m.message]
