"""The timing-light session, driven by key presses alone."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from bobweight.app.theme import VERDICT_SIGNS
from bobweight.core.docket.readings import Instrument, Session
from bobweight.core.judgement.taking import Suggestion
from bobweight.core.record import put

KEYS = Qt.Key


def press(key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    """A key, to whatever has the keyboard, as a person's would go."""
    QTest.keyClick(QApplication.focusWidget(), key, modifier)


def type_text(text: str) -> None:
    QTest.keyClicks(QApplication.focusWidget(), text)


def read(speed: str, angle: str) -> None:
    """One reading as at the engine: speed, Tab, angle, Enter."""
    type_text(speed)
    press(KEYS.Key_Tab)
    type_text(angle)
    press(KEYS.Key_Return)


@pytest.fixture
def session(qtbot, window, demo):
    """The window on the demo with an empty session, covered by the timing-light session."""
    instrument = Instrument(kind="lamp", static_deg=8.0, u_speed_rpm=30.0, u_angle_deg=1.0)
    docket = put(demo, ("sessions",), (Session(title="As found", instrument=instrument),))
    window.store.open_docket(docket, None)
    qtbot.waitUntil(window.isActiveWindow)
    QTest.keyClick(window, KEYS.Key_F9)
    qtbot.waitUntil(lambda: window.timing is not None and window.timing.isVisible())
    qtbot.waitUntil(lambda: QApplication.focusWidget() is window.timing)
    return window.timing


def readings(window):
    return window.store.docket.sessions[0].readings


def test_cautions_come_first_and_are_acknowledged_by_a_key(window, session):
    said = " ".join(label.text() for label in session.cautions)
    assert "chocked" in said and "burns the coil" in said and "local rules" in said
    type_text("1500")
    press(KEYS.Key_Tab)
    assert not session.acknowledged and not readings(window), "nothing is taken before"
    press(KEYS.Key_Return)
    assert session.acknowledged
    assert QApplication.focusWidget() is session.edits["speed"]


def test_twenty_readings_by_keys_alone(window, session):
    press(KEYS.Key_Return)
    typed = []
    up = (600, 1000, 1200, 1500)
    for speed in (*up, 1800, 1600, 1200):
        for repeat in range(3):
            typed.append((speed + 10 * repeat, 10.0 + repeat, speed))
    typed = typed[:20]
    for speed, angle, _ in typed:
        read(str(speed), f"{angle:g}")
    taken = readings(window)
    assert len(taken) == 20
    assert [(r.speed_rpm, r.angle_deg) for r in taken] == [(s, a) for s, a, _ in typed]
    assert window.store.undo_stack.count() == 20, "each reading is an edit of its own"
    assert [r.direction for r in taken] == ["rising"] * 15 + ["falling"] * 5
    for _ in range(20):
        press(KEYS.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert readings(window) == ()


def test_three_repeats_are_averaged_with_their_spread(window, session):
    """Mean and standard deviation checked against numpy's own."""
    press(KEYS.Key_Return)
    angles = (23.0, 24.0, 24.5)
    for angle in angles:
        read("2000", f"{angle}")
    place = session.results.place.text()
    assert session.results.last.text().startswith(f"{np.mean(angles):.1f}° ± ")
    assert f"mean of 3, spread {np.std(angles, ddof=1):.1f}°" in place
    assert "must show 20.0 to 24.0" in session.results.verdict.text().replace("\u00a0", " ")
    row = next(r for r in session.results.table.texts() if r[0].endswith("2000"))
    assert row[2].startswith(f"{np.mean(angles):.1f}°") and row[3] == "–"


def test_an_empty_speed_takes_the_suggested_one(window, session):
    press(KEYS.Key_Return)
    suggested = session.taking.suggestion()
    assert suggested.direction == "rising" and suggested.repeat == 1
    for repeat in (1, 2, 3):
        assert session.taking.suggestion().repeat == repeat
        press(KEYS.Key_Return)
        assert QApplication.focusWidget() is session.edits["angle"]
        type_text("8")
        press(KEYS.Key_Return)
    assert {r.speed_rpm for r in readings(window)} == {suggested.speed_rpm}
    assert session.taking.suggestion().speed_rpm > suggested.speed_rpm, "on after three"


def test_n_goes_on_without_more_repeats(window, session):
    press(KEYS.Key_Return)
    read("500", "8")
    assert session.taking.suggestion().reason == "repeat"
    press(KEYS.Key_N)
    assert session.taking.suggestion().speed_rpm > 500 and session.edits["speed"].text() == ""


def test_direction_is_guessed_shown_and_changed(window, session):
    press(KEYS.Key_Return)
    read("1500", "18")
    type_text("1200")
    assert "falling" in session.direction.text() and "guess" in session.direction.text()
    press(KEYS.Key_R)
    assert "rising" in session.direction.text() and "by hand" in session.direction.text()
    assert session.edits["speed"].text() == "1200", "the letter is no part of the number"
    press(KEYS.Key_Tab)
    type_text("12")
    press(KEYS.Key_Return)
    assert readings(window)[-1].direction == "rising"
    read("1200", "12")
    assert readings(window)[-1].direction == "rising", "a repeat goes the way of the last"


def test_what_cannot_be_is_told_in_place(window, session):
    press(KEYS.Key_Return)
    type_text("fast")
    press(KEYS.Key_Return)
    assert "fast" not in session.said.text() or "not a number" in session.said.text()
    assert session.said.text().startswith("▲")
    assert QApplication.focusWidget() is session.edits["speed"] and not readings(window)
    type_text("1500")
    press(KEYS.Key_Return)
    press(KEYS.Key_Return)
    assert "Angle" in session.said.text() and not readings(window)
    type_text("400")
    press(KEYS.Key_Return)
    assert "400" in session.said.text() and not readings(window)
    type_text("18,5")
    press(KEYS.Key_Return)
    assert readings(window)[0].angle_deg == 18.5 and session.said.text() == ""


def test_pipe_on_asks_for_the_depression(window, session):
    press(KEYS.Key_Return)
    press(KEYS.Key_V)
    assert session.edits["depression"].isVisible()
    for text in ("2500", "36"):
        type_text(text)
        press(KEYS.Key_Return)
    type_text("10 inHg")
    press(KEYS.Key_Return)
    assert readings(window)[0].depression_kpa == pytest.approx(33.86389)  # NIST SP 811
    press(KEYS.Key_V)
    assert not session.edits["depression"].isVisible()
    # and not that no check point is there
    assert "capsule at 33.9" in session.results.verdict.text()


def test_a_static_that_nobody_entered_is_told_as_such(window, session):
    path, own = ("sessions", 0, "instrument"), Instrument(kind="lamp")
    assert "static 8°," in session.title.text()
    window.store.edit("Instrument", path, own)
    assert "static 0° (assumed)," in session.title.text()
    window.store.edit("Instrument", path, put(own, ("static_deg",), 0.0))
    assert "static 0°," in session.title.text()


def test_esc_leaves_and_the_readings_page_has_the_keyboard(qtbot, window, session):
    press(KEYS.Key_Return)
    read("1500", "18")
    frames = window.display_bar.frame_box
    assert frames.currentData() == "crank-static" and not frames.isEnabled(), "as a lamp shows it"
    press(KEYS.Key_Escape)
    assert (
        frames.currentData() == window.display.view(window.store.docket).frame
        and frames.isEnabled()
    )
    assert window.timing is None and window.strip.current_key() == "readings"
    assert window.stack.isAncestorOf(QApplication.focusWidget())
    assert len(readings(window)) == 1
    window.begin_timing()
    assert window.timing is not None and not window.timing.acknowledged, "cautions every time"


def test_tab_never_leads_out(window, session):
    press(KEYS.Key_Return)
    for _ in range(5):
        press(KEYS.Key_Tab)
        assert session.isAncestorOf(QApplication.focusWidget())
    window.strip.setFocus()
    assert session.isAncestorOf(QApplication.focusWidget())


def test_other_advice_can_be_put_in(window, session):
    def advice(docket, index, repeats):
        return Suggestion(1234.0, "falling", "gap", 1)

    session.taking.suggest = advice
    press(KEYS.Key_Return)
    session.follow()
    assert "1234" in session.next_label.text()


def test_a_docket_without_sessions_gets_one(qtbot, window, demo):
    window.store.open_docket(put(demo, ("sessions",), ()), None)
    window.begin_timing()
    qtbot.waitUntil(lambda: QApplication.focusWidget() is window.timing)
    press(KEYS.Key_Return)
    read("1000", "10")
    assert len(window.store.docket.sessions) == 1 and len(readings(window)) == 1


def click(session, words: str) -> None:
    button = next(b for b in session.buttons if words in b.text() and b.isVisible())
    assert button.height() >= 44 and button.width() >= 44, "with a glove on"
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def test_every_act_has_a_large_button_and_the_keyboard_stays_in_the_field(window, session):
    click(session, "seen to")
    assert session.acknowledged
    read("500", "8")
    assert session.taking.suggestion().reason == "repeat"
    click(session, "Next speed")
    assert session.taking.suggestion().speed_rpm > 500
    click(session, "Take back")
    assert not readings(window)
    type_text("1500")
    click(session, "Falling")
    assert session.taking.forced == "falling"
    click(session, "Take  ")
    assert not readings(window) and "Angle" in session.said.text()
    assert QApplication.focusWidget() is session.edits["speed"]
    session.edits["angle"].setFocus()
    type_text("17")
    click(session, "Take  ")
    assert [(r.speed_rpm, r.angle_deg, r.direction) for r in readings(window)] == [
        (1500.0, 17.0, "falling")
    ]
    click(session, "Take back")
    assert not readings(window)
    click(session, "Pipe")
    assert session.edits["depression"].isVisible()
    click(session, "Leave")
    assert window.timing is None


def test_a_check_point_has_the_one_verdict_of_the_window(qtbot, window, demo):
    """Its sign was worked out by the reading alone, and contradicted that of every other page."""
    window.store.open_docket(demo, None)
    window.show()
    decisions = window.feed.decisions
    qtbot.waitUntil(lambda: decisions.current is not None, timeout=60_000)
    window.begin_timing()
    shown = {row[0].lstrip("▸ "): row[4] for row in window.timing.results.table.texts()}
    judged = decisions.judged.comparison.check_points
    words = {f"{2 * r.speed_rpm:.0f}": "not read" if r.not_read else r.word for r in judged
             if r.index is not None}  # fmt: skip
    assert "looks outside" in words.values() and set(shown) == set(words)
    assert {k: VERDICT_SIGNS[word] for k, word in words.items()} == {
        speed: said[0] for speed, said in shown.items()
    }
    window.timing.leave()


def test_the_pipe_and_the_band_are_named(window, session):
    press(KEYS.Key_Return)
    assert session.pipe.text().startswith("pipe off")
    press(KEYS.Key_V)
    assert session.pipe.text().startswith("pipe on")
    plot = session.results.plot
    assert {"band", "rising"} <= set(plot.label_places(plot.main.scale()))
