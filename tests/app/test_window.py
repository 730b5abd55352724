"""The window: first start, files, notices, zones, keys, closing."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QKeySequence
from PySide6.QtWidgets import QAbstractItemView, QApplication

from bobweight.app.messages.judgement import judgement_sentence
from bobweight.app.pages import PAGES
from bobweight.app.paper.words import worded
from bobweight.app.prints.kinds import CARD_FRAME
from bobweight.app.store.session import Settings
from bobweight.app.window.main_window import MainWindow
from bobweight.app.window.strip import page_keys
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.file import docket_to_text, read_docket, write_docket
from bobweight.core.record import get, put
from tests.app.conftest import SAMPLES

TITLE = ("particulars", "title")


@pytest.fixture
def saved(tmp_path, demo):
    path = tmp_path / "mine.docket"
    write_docket(demo, path)
    return path


def act(window, key: str) -> None:
    window.menus.actions[key].trigger()


def test_first_start_shows_the_demo_untitled(window, demo, qtbot):
    window.begin()
    window.stack.load_all()
    assert window.store.docket == demo
    assert window.store.file_path is None and not window.store.dirty
    states = {page.key: window.strip.state_of(page.key) for page in PAGES}
    assert {key for key, state in states.items() if state == "begun"} == {
        "findings", "springs", "reassembly", "verdict",
    }  # fmt: skip
    del states["verdict"]  # its primary is weak, once that is judged
    qtbot.waitUntil(lambda: window.strip.state_of("verdict") == "wrong", timeout=60_000)
    assert set(states.values()) == {"done", "begun"}
    assert demo.particulars.title in window.windowTitle()


def test_later_start_shows_the_last_file(window, saved, demo):
    window.begin()
    assert window.files.open_path(saved)
    window.begin()
    assert window.store.file_path == saved


def test_saving_the_demo_asks_for_a_name(window, answers, tmp_path):
    window.begin()
    original = (SAMPLES / "weak_primary.docket").read_bytes()
    window.store.edit("Title", TITLE, "Mine")
    answers.path = tmp_path / "mine.docket"
    act(window, "save")
    assert answers.asked == ["save"]
    assert read_docket(tmp_path / "mine.docket") == window.store.docket
    assert not window.store.dirty and window.windowTitle().startswith("mine.docket")
    assert (SAMPLES / "weak_primary.docket").read_bytes() == original


def test_dirty_mark_follows_undo(window, saved):
    window.files.open_path(saved)
    window.store.edit("Title", TITLE, "Other")
    assert window.isWindowModified()
    assert window.menus.actions["undo"].text() == "&Undo Title"
    act(window, "undo")
    assert not window.isWindowModified()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("{", "damaged"),
        ('{"schema": 9999}', "newer version"),
        ("just a note", "not JSON"),
    ],
)
def test_a_bad_file_is_a_sentence_and_nothing_is_lost(window, saved, tmp_path, text, said):
    window.files.open_path(saved)
    window.store.edit("Title", TITLE, "Unsaved")
    before = window.store.docket
    bad = tmp_path / "bad.docket"
    bad.write_text(text)
    assert not window.files.open_path(bad)
    assert window.store.docket is before and window.store.file_path == saved
    assert said in " ".join(window.notices.texts())
    assert window.store.dirty


def test_value_out_of_range_in_a_file_names_the_place(window, tmp_path, demo):
    bad = tmp_path / "bad.docket"
    bad.write_text(docket_to_text(demo).replace('"stop_deg": 12.0', '"stop_deg": 1200.0'))
    assert not window.files.open_path(bad)
    assert "Stop cannot be 1200°: the most is 60°" in " ".join(window.notices.texts())


def test_file_changed_meanwhile_is_not_overwritten(window, answers, saved, tmp_path):
    window.files.open_path(saved)
    window.store.edit("Title", TITLE, "Mine")
    theirs = put(read_docket(saved), TITLE, "Theirs")
    write_docket(theirs, saved)
    act(window, "save")
    assert read_docket(saved) == theirs
    notice = window.notices.notices[0]
    names = [button.text() for button in notice.buttons]
    assert names == ["Keep mine under another name", "Read theirs", "Overwrite theirs"]
    answers.path = tmp_path / "other.docket"
    notice.buttons[0].click()
    assert get(read_docket(tmp_path / "other.docket"), TITLE) == "Mine"
    assert read_docket(saved) == theirs and not window.notices.notices


def test_reading_theirs_can_be_undone(window, saved):
    window.files.open_path(saved)
    window.store.edit("Title", TITLE, "Mine")
    write_docket(put(read_docket(saved), TITLE, "Theirs"), saved)
    window.files.look_at_disk()
    window.notices.notices[0].buttons[1].click()
    assert get(window.store.docket, TITLE) == "Theirs" and not window.store.dirty
    act(window, "undo")
    assert get(window.store.docket, TITLE) == "Mine" and window.store.dirty


def test_overwriting_theirs_is_their_last_choice(window, saved):
    window.files.open_path(saved)
    window.store.edit("Title", TITLE, "Mine")
    write_docket(put(read_docket(saved), TITLE, "Theirs"), saved)
    act(window, "save")
    window.notices.notices[0].buttons[2].click()
    assert get(read_docket(saved), TITLE) == "Mine" and not window.store.dirty


def test_save_where_nothing_can_be_written(window, answers, tmp_path):
    window.begin()
    answers.path = tmp_path / "no such folder" / "x.docket"
    act(window, "save_as")
    assert "folder" in " ".join(window.notices.texts())
    assert window.store.file_path is None


@pytest.mark.parametrize(("answer", "closed"), [("cancel", False), ("discard", True)])
def test_closing_with_unsaved_work_asks_once(qtbot, answers, answer, closed):
    window = MainWindow(dialogs=answers)
    window.begin()
    window.show()
    window.store.edit("Title", TITLE, "Unsaved")
    answers.leave = answer
    assert window.close() is closed
    assert answers.asked == ["unsaved"]
    answers.leave = "discard"
    window.close()
    window.deleteLater()


def test_closing_can_save(qtbot, answers, saved):
    window = MainWindow(dialogs=answers)
    window.begin(saved)
    window.show()
    window.store.edit("Title", TITLE, "Kept")
    answers.leave = "save"
    assert window.close()
    assert get(read_docket(saved), TITLE) == "Kept"
    window.deleteLater()


def test_crash_is_recovered_at_the_next_start(window, own_home, demo, saved):
    window.begin(saved)
    window.store.edit("Title", TITLE, "Half done")
    window.files.journal.write()
    window.files.journal._lock.unlock()  # as the system does when a process dies
    later = MainWindow(Settings(own_home), window.dialogs)
    later.begin()
    assert "was not saved" in " ".join(later.notices.texts())
    notice = next(n for n in later.notices.notices if n.topic == "recovery")
    notice.buttons[0].click()
    later.files.recovery.dialog.open_button.click()
    assert get(later.store.docket, TITLE) == "Half done"
    assert later.store.dirty and later.store.file_path == saved
    window.dialogs.leave = "discard"
    later.close()
    later.deleteLater()


def test_tables_in_and_out(window, answers, tmp_path, demo, tables_agreed):
    window.begin()
    answers.path = tmp_path / "readings.csv"
    act(window, "export_readings")
    window.files.new()
    act(window, "import_readings")
    assert window.store.docket.sessions[0].readings == demo.sessions[0].readings
    assert "30 rows taken" in window.notices.texts()[0]
    act(window, "undo")
    assert window.store.docket == new_docket()
    answers.path = tmp_path / "points.csv"
    answers.path.write_text("speed;least;most\n1000;6;8\n1500;nine;11\n")
    act(window, "import_target")
    assert len(window.store.docket.target.points) == 1
    assert "Line 3" in window.notices.texts()[0]


def test_pages_by_key_and_zones_by_f6(qtbot, window):
    window.begin()
    for number, page in enumerate(PAGES, start=1):
        shortcut = window.menus.actions[f"page_{page.key}"].shortcut()
        assert shortcut == QKeySequence(page_keys(number))
        act(window, f"page_{page.key}")
        assert window.strip.current_key() == page.key
        assert window.stack.isAncestorOf(QApplication.focusWidget())
    seen = []
    for _ in range(4):
        act(window, "next_zone")
        zones = {"strip": window.strip, "page": window.stack, "bar": window.display_bar,
                 "board": window.board}  # fmt: skip
        focus = QApplication.focusWidget()
        seen += [name for name, zone in zones.items() if zone is focus or zone.isAncestorOf(focus)]
    assert seen == ["bar", "board", "strip", "page"]


@pytest.mark.parametrize(
    "path",
    [
        ("mechanism", "grip"),
        ("sessions", 0, "instrument", "kind"),
        ("sessions", 0, "readings", 17, "angle_deg"),
        ("target", "points", 4, "most_deg"),
        ("setting_up", "altitude_m"),
    ],
)
def test_a_value_asked_for_is_scrolled_to(qtbot, window, path):
    window.begin()
    window.resize(1366, 768)
    window.show()
    qtbot.waitUntil(window.isActiveWindow)
    window.open_path_on_page(path)
    area = window.stack.currentWidget()
    part = QApplication.focusWidget()
    assert area.isAncestorOf(part)
    rect = part.rect()
    if isinstance(part, QAbstractItemView):
        rect, part = part.visualRect(part.currentIndex()), part.viewport()
    assert part.visibleRegion().contains(rect)  # before the first paint
    QApplication.processEvents()
    assert part.visibleRegion().contains(rect)


def test_undo_key_reaches_through_an_untouched_field(qtbot, window):
    window.begin()
    window.show_page("particulars")
    window.page("particulars").focus_path(TITLE)
    edit = QApplication.focusWidget()
    qtbot.keyClicks(edit, "New")
    qtbot.keyClick(edit, Qt.Key.Key_Return)
    assert get(window.store.docket, TITLE) == "New"
    qtbot.keyClick(edit, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert get(window.store.docket, TITLE) != "New"
    assert edit.text() == get(window.store.docket, TITLE)


def test_saving_takes_what_is_being_typed(qtbot, window, saved):
    window.files.open_path(saved)
    window.show_page("particulars")
    window.page("particulars").focus_path(TITLE)
    qtbot.keyClicks(QApplication.focusWidget(), "Typed")
    act(window, "save")
    assert get(read_docket(saved), TITLE) == "Typed"


def test_saving_takes_the_cell_being_typed(qtbot, window, saved):
    window.files.open_path(saved)
    window.show_page("target")
    table = window.page("target").points
    table.view.edit_cell(0, 0)
    QApplication.focusWidget().selectAll()
    qtbot.keyClicks(QApplication.focusWidget(), "650")
    act(window, "save")
    assert read_docket(saved).target.points[0].speed_rpm == 650


def test_a_part_picked_on_the_board_opens_its_field(window):
    window.begin()
    path = ("mechanism", "springs", 1)
    window.board.picked.emit(path)
    assert window.strip.current_key() == "mechanism"
    assert QApplication.focusWidget().accessibleName().startswith("Secondary spring, rate")


def test_paste_from_the_menu(window, tables_agreed):
    window.files.new()
    window.show_page("readings")
    QGuiApplication.clipboard().setText("1000\t12\n1500\t16\n")
    act(window, "paste")
    assert len(window.store.docket.sessions[0].readings) == 2


def test_ghost_from_menu_and_bar(window):
    window.begin()
    act(window, "ghost")
    assert window.store.ghost is window.store.docket
    assert window.display_bar.ghost_button.text() == "Drop what is held"
    window.display_bar.ghost_button.click()
    assert window.store.ghost is None


def test_a_docket_is_shown_at_the_shaft_of_its_table(qtbot, window):
    """In which the judgement speaks: what it names is found on the axis and in the rows."""
    window.begin()
    window.show()
    box = window.display_bar.frame_box
    assert box.currentData() == "distributor"
    window.files.open_path(SAMPLES / "straight_six.docket")
    assert box.currentData() == "crank"
    window.show_page("verdict")
    rows = window.page("verdict").comparison.view.table_model
    qtbot.waitUntil(lambda: rows.rowCount() > 0)
    at = [rows.texts(row)[0] for row in range(rows.rowCount())]
    points = window.store.docket.target.points
    assert [f"{point.speed_rpm:.0f}" for point in points] == at[1 : 1 + len(points)]
    box.setCurrentIndex(box.findData("distributor"))
    box.activated.emit(box.currentIndex())
    assert window.display.frame == "distributor", "a choice stays"
    box.setCurrentIndex(box.findData("crank"))
    box.activated.emit(box.currentIndex())
    assert window.display.frame == "", "that of the table is none"
    window.files.open_path(SAMPLES / "weak_primary.docket")
    assert box.currentData() == "distributor"


def test_the_strip_says_of_the_verdict_what_was_decided(qtbot, window):
    """Each sample by its sentence: outside and inside though its check points alone do not say."""
    window.begin()
    window.show()
    window.stack.load_all()
    for name, state in (("vee_eight", "wrong"), ("tractor_four", "done")):
        window.files.open_path(SAMPLES / f"{name}.docket")
        qtbot.waitUntil(lambda: window.feed.decisions.current is not None, timeout=60_000)
        assert window.strip.state_of("verdict") == state


def test_what_is_shown_of_the_sheet_is_what_is_printed_once_it_is_judged(qtbot, window):
    window.begin()
    window.show_page("sheet")
    window.show()
    lamp = window.show_print("card")
    for print_ in (window.page("sheet"), lamp):
        assert print_.preview.description is not None
    qtbot.waitUntil(lambda: window.feed.decisions.current is not None, timeout=60_000)
    judgement = window.feed.decisions.current.decision.judgement

    def heads(page, frame: str) -> bool:
        shown = [e.text for e in page.preview.description.pages[0].elements if hasattr(e, "text")]
        said = judgement_sentence(judgement, frame)
        return said[1:] in " ".join(map(worded, shown))  # on the card within a sentence

    qtbot.waitUntil(lambda: heads(window.page("sheet"), "") and heads(lamp, CARD_FRAME))
    lamp.close()


def test_the_strip_has_the_keyboard_at_first(qtbot, window):
    """Not the list of frames, which the next arrow would alter."""
    window.begin()
    window.show()
    assert window.focusWidget() is window.strip


def test_frame_and_units_at_one_place(window):
    window.begin()
    act(window, "toggle_frame")
    assert window.display.frame == "crank"
    assert window.display_bar.frame_box.currentData() == "crank"
    window.display.depression_unit = "inHg"
    assert window.display_bar.depression_box.currentData() == "inHg"
    before = window.store.docket
    window.show_page("vacuum")
    assert window.store.docket is before and not window.store.dirty


def test_theme_is_kept_and_painted(window):
    window.set_theme("dark")
    assert window.palette().window().color().lightnessF() < 0.3
    window.set_theme("light")
    assert window.palette().window().color().lightnessF() > 0.7
    assert window.settings.theme == "light"


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_text_can_be_read_on_its_ground(theme):
    """Contrast of at least 4.5 : 1, WCAG 2.2, success criterion 1.4.3."""
    from bobweight.app.theme import theme_for

    def luminance(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    chosen = theme_for(theme)
    for ground in (chosen.desk, chosen.paper, chosen.raised):
        for ink in (chosen.ink, chosen.faint, chosen.accent, chosen.wrong, chosen.advice,
                    chosen.good):  # fmt: skip
            dark, light = sorted((luminance(ink), luminance(ground)))
            assert (light + 0.05) / (dark + 0.05) >= 4.5, (ink, ground)


def test_the_three_zones_fit_a_small_screen(window):
    window.begin()
    window.resize(1366, 768)
    QApplication.processEvents()
    assert window.width() <= 1366 and window.height() <= 768
    sizes = window.splitter.sizes()
    assert sizes[2] > sizes[1] > sizes[0]
    for page in PAGES:
        window.show_page(page.key)
        QApplication.processEvents()
        area = window.stack.currentWidget()
        assert area.horizontalScrollBar().maximum() == 0, page.key


def test_cautions_are_whole_once_in_every_docket(window, answers, saved, demo, tmp_path):
    """Read in one docket they are one line there, at the next start too, and whole in another."""
    another = tmp_path / "another.docket"
    write_docket(demo, another)
    window.files.open_path(saved)
    window.display.cautions_seen.add("engine")
    window.files.open_path(another)
    assert not window.display.cautions_seen
    answers.path = tmp_path / "a copy.docket"
    window.files.open_path(saved)
    assert window.display.cautions_seen == {"engine"} and window.files.save_as()
    window.files.new()
    assert not window.display.cautions_seen
    window.close()
    for path, seen in ((saved, {"engine"}), (answers.path, {"engine"}), (another, set())):
        assert Settings(window.settings.folder).cautions_seen(path) == seen
