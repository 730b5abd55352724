"""Ways that save a hand keys and clicks: parts of a page, whole rows, a click that selects."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from bobweight.app.editors.field import Field
from bobweight.app.editors.table import RecordTable
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.target import CheckPoint
from bobweight.core.judgement.blanks import Blank
from tests.samples import sample

POINTS = ("target", "points")
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def table(qtbot) -> RecordTable:
    """The empty table of check points, shown."""
    made = RecordTable(Store(new_docket()), POINTS, ("speed_rpm", "least_deg", "most_deg"),
                       Display())  # fmt: skip
    qtbot.addWidget(made)
    made.resize(500, 400)
    made.show()
    made.activateWindow()
    return made


def click(table: RecordTable, row: int, column: int = 0) -> None:
    place = table.view.visualRect(table.model.index(row, column)).center()
    QTest.mouseClick(table.view.viewport(), LEFT, Qt.KeyboardModifier.NoModifier, place)
    QApplication.processEvents()


def type_text(text: str) -> None:
    for letter in text:  # the first opens the editor that takes the others
        QTest.keyClicks(QApplication.focusWidget(), letter)


def test_rows_are_typed_with_a_click_each_and_undone_a_row_at_a_time(table):
    for row, text in enumerate(("600;1;3", "1000; 4,5; 6.5", "1500 rev/min;8;10")):
        click(table, row)
        type_text(text)
        QApplication.processEvents()
        assert table.model.rowCount() == row + 2
    click(table, 0)
    points = tuple(
        CheckPoint(speed_rpm=speed, least_deg=least, most_deg=most)
        for speed, least, most in ((600.0, 1.0, 3.0), (1000.0, 4.5, 6.5), (1500.0, 8.0, 10.0))
    )
    store = table.model.store
    assert store.docket.target.points == points and table.model.rowCount() == 4
    store.undo_stack.undo()
    assert store.docket.target.points == points[:2]


def test_a_row_is_deleted_only_where_there_is_one(table):
    assert not table.delete_button.isEnabled() and "no row" in table.delete_button.toolTip()
    click(table, 0)
    type_text("600;1;3")
    click(table, 1)
    assert table.delete_button.isEnabled()
    table.model.store.undo_stack.undo()
    assert not table.delete_button.isEnabled()


def test_a_row_begun_and_dropped_leaves_one_blank_row(table):
    click(table, 0)
    type_text("60")
    assert table.model.rowCount() == 2
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Escape)
    QApplication.processEvents()
    assert table.model.rowCount() == 1 and not table.model.store.docket.target.points


@pytest.mark.parametrize("text", ["600;1;3;5", "600;x", "600;;900", "-5e9;3"])
def test_what_is_no_row_stays_in_its_cell_with_the_reason(table, text):
    cell = table.model.index(0, 0)
    taken = table.model.setData(cell, text)
    if text == "600;;900":  # a figure left out, and one beyond its limits
        assert not taken
    assert table.model.cell_text(0, 0) == text and table.model.draft_sentences()
    assert not table.model.store.docket.target.points


def test_the_first_click_in_a_figure_selects_it_and_the_next_places_the_cursor(window, demo):
    window.store.open_docket(demo, None)
    window.show_page("mechanism")
    page = window.page("mechanism")
    field = next(f for f in page.findChildren(Field) if f.path[-1] == "mass_g")
    page.setFocus()
    QTest.mouseClick(field.edit, LEFT)
    assert field.edit.selectedText() == field.edit.text() != ""
    QTest.mouseClick(field.edit, LEFT)
    assert not field.edit.selectedText()


def test_a_figure_that_comes_after_the_click_is_typed_over(window):
    """The click takes what was typed into another field, and what that says of this one follows."""
    window.store.open_docket(new_docket(), None)
    window.show_page("mechanism")
    page = window.page("mechanism")
    page.add_spring()
    QApplication.processEvents()
    field = next(f for f in page._cards[0].numbers() if f.path[-1] == "slack_mm")
    QTest.mouseClick(field.edit, LEFT)
    assert field.edit.text() == ""
    window.store.edit("Slack", field.path, 1.0)
    assert field.edit.selectedText() == field.edit.text() == "1"
    QTest.mouseClick(field.edit, LEFT)  # the cursor in it
    window.store.edit("Slack", field.path, None)
    field.show_blank(Blank(1.0, 0.5))
    type_text("1.5")
    field.show_blank(None)
    assert field.commit() and window.store.docket.mechanism.springs[0].slack_mm == 1.5


def test_f8_walks_the_parts_of_a_page_and_opens_them(window):
    window.store.open_docket(sample("weak_primary"), None)
    for key in ("mechanism", "readings", "particulars"):
        window.show_page(key)
        window._focus_page()
        page = window.page(key)
        QApplication.processEvents()
        parts = page.parts_of_page()
        seen = []
        for _ in parts:
            window.menus.actions["next_part"].trigger()
            focus = QApplication.focusWidget()
            part = next(s for s in parts if s.isAncestorOf(focus))
            assert part.is_open
            if isinstance(focus, QLineEdit):
                assert focus.selectedText() == focus.text()
            seen.append(part)
        at = parts.index(seen[0])  # the keyboard may have begun in the first
        assert seen == [*parts[at:], *parts[:at]]
        window.menus.actions["previous_part"].trigger()
        assert seen[-2].isAncestorOf(QApplication.focusWidget())


def test_another_spring_has_its_places_as_the_one_before_and_the_keyboard(window):
    window.store.open_docket(new_docket(), None)
    window.show_page("mechanism")
    page = window.page("mechanism")
    for number in (0, 2):  # the two that are assumed are entered together
        window.menus.actions["another"].trigger()
        QApplication.processEvents()
        assert QApplication.focusWidget().parent().path[-2:] == (number, "rate_n_per_mm")
        if not number:
            assert [s.given_by for s in window.store.docket.mechanism.springs] == ["distances"] * 2
            page._cards[1].places_button.click()
            QApplication.processEvents()
            assert QApplication.focusWidget().parent().path[-1] == "post_radius_mm"
    given_by = [s.given_by for s in window.store.docket.mechanism.springs]
    assert given_by == ["polar"] * 3, "one way of measuring while no place is known"
    window.store.edit("Peg", ("mechanism", "springs", 0, "peg_radius_mm"), 9.0)
    page.change_places(2)
    given_by = [s.given_by for s in window.store.docket.mechanism.springs]
    assert given_by == ["polar", "distances", "distances"], "what is measured stays"
    window.store.undo_stack.undo()
    assert [s.given_by for s in window.store.docket.mechanism.springs] == ["polar"] * 3
    window.show_page("readings")
    sessions = len(window.store.docket.sessions)
    window.menus.actions["another"].trigger()
    assert len(window.store.docket.sessions) == sessions + 1


def test_it_is_done_takes_the_alteration_in_only_where_there_is_one(window, qtbot):
    window.store.open_docket(sample("weak_primary"), None)
    done = window.menus.actions["done"]
    before = window.store.docket
    done.trigger()  # nothing is judged yet
    assert window.store.docket is before
    qtbot.waitUntil(lambda: window.answer.answer.done, timeout=60000)
    done.trigger()
    assert len(window.store.docket.sessions) == len(before.sessions) + 1
