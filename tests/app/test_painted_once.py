"""What is altered on a page is painted once: Qt would lay a table's columns out later, and
paint them a second time."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, QObject

from tests.board.test_repaints import Painted
from tests.studies import room

MOST = ("target", "points", 4, "most_deg")


def test_a_table_whose_columns_change_their_width_is_painted_once(window, tmp_path):
    window.resize(1920, 1040)
    room.KINDS["demo"](window, tmp_path)
    window.stack.load_all()
    room._work_done(window)
    table = window.page("verdict").comparison.view
    seen, widths = Painted(table=table.viewport()), set()
    for n in (1, 2, 3, 4):
        window.store.edit("Most", MOST, (13.5, 113.25)[n % 2])
        room.settle()
        widths.add(table.width())
        assert seen.count["table"] == n
    assert len(widths) > 1, "no column became wider or narrower"


def test_of_the_strip_the_page_whose_state_is_another_is_painted_alone(window, tmp_path):
    window.resize(1920, 1040)
    room.KINDS["demo"](window, tmp_path)
    window.stack.load_all()
    room._work_done(window)
    strip, seen = window.strip.viewport(), Regions()
    before = window.strip.state_of("verdict")
    strip.installEventFilter(seen)
    window.store.edit("Least", ("target", "points", 1, "least_deg"), 4.4)
    room.settle()
    assert window.strip.state_of("verdict") != before
    assert seen.heights and max(seen.heights) < strip.height() // 2


def test_the_answer_is_painted_once_though_its_button_comes_and_its_words_have_less_room(
    window, tmp_path, qtbot
):
    window.resize(1920, 1040)
    room.KINDS["demo"](window, tmp_path)
    window.show_page("target")
    qtbot.waitUntil(lambda: window.feed.decisions.is_current, timeout=60_000)
    room._work_done(window)
    answer, widths = window.answer, set()
    seen = Painted(line=answer, said=answer.said)
    for n in (1, 2, 3, 4):  # what was decided before an edit is there again once it is undone
        window.store.edit("Least", ("target", "points", 1, "least_deg"), (4.5, 4.4)[n % 2])
        room.settle()
        widths.add(answer.said.width())
        assert seen.count == {"line": n, "said": n}
    assert len(widths) > 1, "the button neither came nor went"


def test_an_edit_whose_words_come_and_go_lays_out_what_is_about_them_alone(window, tmp_path, qtbot):
    window.resize(1920, 1040)
    room.KINDS["demo"](window, tmp_path)
    window.show_page("mechanism")
    qtbot.waitUntil(lambda: window.feed.decisions.is_current, timeout=60_000)
    room._work_done(window)
    asked, said = LaidOut(window.splitter, window.centralWidget(), window.board), set()
    for n in (1, 2, 3, 4):
        window.store.edit("Tang", ("mechanism", "springs", 0, "tang_mm"), (0.0, 0.1)[n % 2])
        room.settle()
        said.add((window.answer.done_button.isVisible(), window.board.caption.text()))
    assert len(said) > 1 and len({words for _, words in said}) > 1
    assert not asked.count
    for size in ((1920, 1040), (1024, 700), (1600, 900)):
        window.resize(*size)
        room.settle()
        seen = window.answer.said.visibleRegion().boundingRect()
        assert seen.height() == window.answer.height() - 8
    board = window.board
    before = board.halves.y()
    board.caption.show_words("Over two lines.\nThey need more room.")
    room.settle()
    assert board.halves.y() > before and board.caption.height() >= board.caption.sizeHint().height()
    board.caption.show_words("Over one line.")
    room.settle()
    assert board.halves.y() == before


def test_rows_of_tolerances_are_kept_for_when_they_matter_again(window, tmp_path):
    room.KINDS["demo"](window, tmp_path)
    window.show_page("springs")
    window.page("springs").show_part("tolerance")
    room._work_done(window)
    part = window.page("springs").part("tolerance")
    few = list(part._rows)
    part.all_button.click()
    room.settle()
    every = list(part._rows)
    assert len(every) > len(few) and not any(row.isHidden() for row in every)
    part.all_button.click()
    room.settle()
    assert part._rows == few and all(row.isHidden() for row in every if row not in few)
    part.all_button.click()
    room.settle()
    assert part._rows == every and not any(row.isHidden() for row in every)


STATIC = ("setting_up", "static_deg")


@pytest.fixture
def setting_up(window, tmp_path):
    window.resize(1350, 692)
    room.KINDS["demo"](window, tmp_path)
    window.show_page("setting_up")
    room._work_done(window)
    return window.page("setting_up")


def test_a_closed_part_of_setting_up_follows_before_it_is_opened(window, setting_up):
    page = setting_up
    card = page.card.group
    assert not card.is_open
    before = page.card.table.texts()
    window.store.edit("Static", STATIC, 12.5)
    room.settle()
    assert page.card.table.texts() == before, "worked out where nobody sees it"
    card.heading.click()
    assert card.is_open and page.card.table.texts() != before
    opened = page.card.table.texts()
    page.card.follow()
    assert page.card.table.texts() == opened


def test_a_field_that_comes_in_a_closed_part_is_found(window, setting_up):
    page = setting_up
    capsules = window.store.docket.capsules
    window.store.edit("Without", ("capsules",), ())
    room.settle()
    assert not page.focus_path(("setting_up", "lamp_kpa"))
    window.store.edit("With", ("capsules",), capsules)
    page.card.group.set_open(False)
    assert page.focus_path(("setting_up", "lamp_kpa")) and page.card.group.is_open


def test_what_setting_up_says_as_before_is_not_hidden_and_shown_again(window, setting_up):
    page, seen = setting_up, Hidden()
    page.sections.reveal(page.static.group.content)
    room.settle()
    page.static.idle.installEventFilter(seen)
    window.store.edit("Static", STATIC, 8.7)
    room.settle()
    assert "8.7°" in page.static.total.text() and page.static.idle.isVisible()
    assert not seen.count


class LaidOut(QObject):
    """Counts how often Qt is to lay out any of some widgets."""

    count = 0

    def __init__(self, *widgets) -> None:
        super().__init__()
        for widget in widgets:
            widget.installEventFilter(self)

    def eventFilter(self, watched, event):
        self.count += event.type() == QEvent.Type.LayoutRequest
        return False


class Hidden(QObject):
    """Counts how often something is hidden."""

    count = 0

    def eventFilter(self, watched, event):
        self.count += event.type() == QEvent.Type.HideToParent
        return False


class Regions(QObject):
    """How tall what was painted was."""

    def __init__(self) -> None:
        super().__init__()
        self.heights: list[int] = []

    def eventFilter(self, watched, event):
        if event.type() == QEvent.Type.Paint:
            self.heights += [rect.height() for rect in event.region()]
        return False
