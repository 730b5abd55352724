"""What a hand expects of any window: the answer, sizes, sections, finding, copying, dropping."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QMimeData, QSize, Qt, QUrl
from PySide6.QtGui import QAction, QGuiApplication
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit

from bobweight.app.messages.judgement import judgement_sentence
from bobweight.app.theme import LIGHT, theme_for
from bobweight.app.window.habits import dropped_docket
from bobweight.app.window.room import first_size
from bobweight.core.docket.file import write_docket
from bobweight.core.record import get, put

MASS = ("mechanism", "weights", "mass_g")


def act(window, key: str) -> None:
    window.menus.actions[key].trigger()


def test_the_first_start_opens_on_the_verdict_with_its_answer(qtbot, window):
    window.begin()
    assert window.strip.current_key() == "verdict"
    qtbot.waitUntil(lambda: window.answer.answer.done, timeout=60000)
    said = window.answer.said.text()
    judgement = window.feed.decisions.found.decision.judgement
    assert said == f"✗ {judgement_sentence(judgement)}" and "600" in said
    window.display.frame = "crank"  # of a distributor that turns at half the engine's speed
    qtbot.waitUntil(lambda: "at 1200\u00a0engine rev/min" in window.answer.said.text())
    window.display.frame = ""
    assert window.answer.height() >= 56 and window.answer.done_button.isVisible()
    sessions = len(window.store.docket.sessions)
    window.answer.done_button.click()
    assert len(window.store.docket.sessions) == sessions + 1
    assert window.strip.current_key() == "readings"
    window.store.undo_stack.undo()
    assert len(window.store.docket.sessions) == sessions


def test_the_answer_of_an_empty_docket_says_what_to_do(window):
    window.files.new()
    window.feed.tell()
    assert window.answer.answer.text and not window.answer.answer.done
    window.answer.show_button.click()
    assert window.strip.current_key() == window.answer.answer.page


@pytest.mark.parametrize(
    ("screen", "least"),
    [((1366, 728), (1340, 680)), ((1280, 680), (1270, 640)), ((3840, 2100), (3400, 1800))],
)
def test_the_first_size_leaves_room_for_frame_and_taskbar(screen, least):
    size = first_size(QSize(*screen))
    assert size.width() <= screen[0] - 4 and size.height() <= screen[1] - 32
    assert size.width() >= least[0] and size.height() >= least[1]


def test_a_small_window_has_a_rail_and_one_large_picture(qtbot, window):
    window.begin()
    window.resize(1280, 680)
    board = window.board
    qtbot.waitUntil(lambda: board.is_small and board.curves.isVisible())
    assert (window.width(), window.height()) == (1280, 680)
    assert window.strip.width() < 120 and not board.plan.isVisible()
    assert board.curves.height() >= 400
    board.shelf.thumbnails["plan"].click()
    assert board.plan.isVisible() and not board.curves.isVisible()
    window.show_page("vacuum")
    qtbot.waitUntil(lambda: board.capsule.isVisible() and not board.plan.isVisible())
    window.resize(1500, 900)
    qtbot.waitUntil(lambda: not board.is_small and board.curves.isVisible())
    assert board.plan.isVisible()


def test_no_page_is_longer_than_two_screens(qtbot, window):
    window.begin()
    window.resize(1350, 692)
    qtbot.waitUntil(lambda: not window.feed.decisions.busy, timeout=60_000)  # it is told on pages
    for key in window.titles:
        window.show_page(key)
        page, area = window.page(key), window.stack.currentWidget()
        page.sections.fit()
        QApplication.processEvents()
        QApplication.processEvents()  # a table gave way
        bar = area.verticalScrollBar()
        assert bar.maximum() <= area.viewport().height() + 30, key


def test_a_part_opened_stays_open_and_one_shut_stays_shut(qtbot, window):
    window.begin()
    window.resize(1350, 692)
    window.show_page("setting_up")
    page = window.page("setting_up")
    QApplication.processEvents()
    closed = next(s for s in reversed(page.sections.all()) if not s.is_open)
    qtbot.mouseClick(closed.heading, Qt.MouseButton.LeftButton)
    QApplication.processEvents()
    assert closed.is_open
    qtbot.mouseClick(closed.heading, Qt.MouseButton.LeftButton)
    page.sections.fit()
    assert not closed.is_open


def test_a_field_is_found_by_its_name(qtbot, window):
    window.begin()
    finder = window.habits.find()
    qtbot.keyClicks(finder.edit, "secondary rate")
    assert "Secondary spring" in finder.list.item(0).text()
    qtbot.keyClick(finder.edit, Qt.Key.Key_Return)
    assert QApplication.focusWidget().accessibleName().startswith("Secondary spring, rate")


def test_a_docket_may_be_dropped(window, demo, tmp_path):
    path = tmp_path / "dropped.docket"
    write_docket(demo, path)
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(tmp_path / "x.txt")), QUrl.fromLocalFile(str(path))])
    assert dropped_docket(data) == path
    data.setUrls([QUrl("https://example.org/a.docket")])
    assert dropped_docket(data) is None


def test_a_new_docket_has_the_cursor_in_its_first_field(window):
    window.begin()
    act(window, "new")
    assert window.strip.current_key() == "particulars"
    assert QApplication.focusWidget().accessibleName().startswith("Title")


def test_the_keys_of_a_page_give_its_first_field_the_keyboard(window):
    """Not a heading, where letters go nowhere and the space folds the card; on the first visit and
    on the next."""
    window.begin()
    window.resize(1400, 900)
    QApplication.processEvents()
    for key in 2 * ("particulars", "findings", "target", "readings", "setting_up"):
        action = next(a for a in window.findChildren(QAction) if a.objectName() == f"page_{key}")
        action.trigger()
        taken = QApplication.focusWidget()
        assert isinstance(taken, QLineEdit | QComboBox) and window.page(key).isAncestorOf(taken)


def test_the_curve_is_copied_as_picture_vectors_and_table(window):
    window.begin()
    window.board.redraw()
    act(window, "copy_picture")
    assert QGuiApplication.clipboard().mimeData().hasImage()
    act(window, "copy_vectors")
    text = QGuiApplication.clipboard().text()
    assert "<svg" in text and "<path" in text and "<image" not in text
    act(window, "copy_table")
    rows = [line.split("\t") for line in QGuiApplication.clipboard().text().splitlines()]
    assert len(rows) > 5 and len({len(row) for row in rows}) == 1


def test_type_is_made_larger_and_kept(window):
    window.begin()
    window.show_page("mechanism")
    act(window, "larger")
    assert window.settings.zoom == 110
    assert theme_for("light").text_pt == pytest.approx(LIGHT.text_pt * 1.1, rel=0.01)
    assert QApplication.font().pointSizeF() == pytest.approx(theme_for("light").text_pt, abs=0.1)
    act(window, "usual")
    assert window.settings.zoom == 100


def test_preferences_take_effect_at_once(window):
    window.begin()
    dialog = window.habits.preferences()
    box = dialog.boxes["depression"]
    box.setCurrentIndex(box.findData("inHg"))
    box.activated.emit(box.currentIndex())
    assert window.display.depression_unit == "inHg"
    dialog.tab_box.click()
    assert window.display.tab_to_uncertainty
    dialog.reject()


def test_a_value_and_its_uncertainty_are_typed_in_one_go(qtbot, window):
    window.begin()
    window.show_page("mechanism")
    window.page("mechanism").focus_path(MASS)
    edit = QApplication.focusWidget()
    qtbot.keyClicks(edit, "25 ± 0.5")
    qtbot.keyClick(edit, Qt.Key.Key_Return)
    docket = window.store.docket
    assert get(docket, MASS) == 25.0 and docket.mechanism.weights.u["mass_g"] == 0.5
    assert window.store.undo_stack.count() == 1


def test_a_remark_does_not_draw_the_board_anew(window):
    window.begin()
    window.board.redraw()
    drawn = []
    window.board._due.connect(lambda: drawn.append(1))
    store = window.store
    store.edit("Notes", ("findings", "notes"), "a groove")
    window.feed.tell()
    store.edit("Owner", ("particulars", "owner"), "somebody")
    window.feed.tell()
    assert drawn == []
    store.replace("Mass", put(store.docket, MASS, 26.0))
    window.feed.tell()
    assert drawn == [1]


def test_the_springs_page_begins_at_its_parts(window, demo):
    """Not at its first field, which is one of paper, far below."""
    window.store.open_docket(demo, None)
    ask = window.menus.actions["page_springs"]
    ask.trigger()
    assert QApplication.focusWidget() is window.page("springs").buttons["tray"]
