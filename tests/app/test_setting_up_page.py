"""The setting-up page: gap and dwell both ways, static and total, the card, the instruments."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication, QLabel

from bobweight.app.pages.setting_up import SettingUpPage
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.setting_up import LampSpeed
from bobweight.core.figure.total import total_figure
from bobweight.core.figure.view import View
from bobweight.core.record import put
from tests.waiting import PATIENCE_MS

pytestmark = pytest.mark.usefixtures("told_at_once")


@pytest.fixture
def page(qtbot, store):
    display = Display()
    page = SettingUpPage(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(page)
    page.resize(520, 900)
    page.show()
    return page


def enter(entry, text: str) -> bool:
    entry.edit.setText(text)
    return entry.commit()


def test_cautions_come_first_and_at_the_points(page):
    first = page.engine.box.said.text()
    order = [page.body.itemAt(i).widget() for i in range(page.body.count())]
    cards = [w for w in order if w is not None and w.property("role") == "card"]
    assert cards[0].isAncestorOf(page.engine.box)
    for word in ("destroys an engine", "emission", "local rules", "chocked", "piston stop"):
        assert word in first
    points = page.points.cautions.said.text()
    assert "burns the coil" in points and "Dwell first" in points
    assert "not modelled" in page.points.float_said.text()


def test_gap_dwell_and_opening_each_from_the_other(page, store):
    """The known pair comes back, and the opening is the rest of the sector of 90°."""
    entries = page.points.entries
    assert float(entries["dwell_deg"].edit.text()) == pytest.approx(60.0, abs=0.01)
    assert float(entries["open_deg"].edit.text()) == pytest.approx(30.0, abs=0.01)
    assert float(entries["dwell_percent"].edit.text()) == pytest.approx(60 / 0.9, abs=0.02)
    assert enter(entries["gap_mm"], "0.016 in")
    assert store.docket.points.set_gap_mm == pytest.approx(0.4064)
    assert float(entries["dwell_deg"].edit.text()) < 60.0, "dwell falls as the gap grows"
    assert enter(entries["dwell_deg"], "60")
    assert store.docket.points.set_gap_mm == pytest.approx(0.38, abs=1e-9)
    assert enter(entries["open_deg"], "33")
    assert float(entries["dwell_deg"].edit.text()) == pytest.approx(57.0)
    assert enter(entries["dwell_percent"], "66.6667")
    assert store.docket.points.set_gap_mm == pytest.approx(0.38, abs=1e-4)
    assert "for a dwell of" in store.undo_stack.undoText()
    for _ in range(store.undo_stack.count()):
        store.undo_stack.undo()
    assert float(entries["gap_mm"].edit.text()) == 0.38


def test_a_gap_that_cannot_be_is_told_at_the_entry(page, store):
    gap = page.points.entries["gap_mm"]
    assert not enter(gap, "2.9")
    assert "never close" in gap.said.text() and store.docket.points.set_gap_mm == 0.38
    assert not enter(page.points.entries["dwell_deg"], "95")
    assert "never open" in page.points.entries["dwell_deg"].said.text()


def test_shift_is_near_common_practice(page):
    """Common practice: +0.001 in of gap is 0.5 to 1.5 crank degrees earlier."""
    said = page.points.shift.text()
    thou = float(said.split("0.001\u00a0in), ")[1].split("°")[0])
    assert 0.5 <= thou <= 1.5
    assert "1° later at the crank" in said


def test_points_that_are_not_known_ask_for_sizes(page, store):
    store.edit("Flat", ("points", "flat_mm"), None)
    assert "still needed" in page.points.cam_said.text()
    assert not page.points.lines.isEnabled()
    store.open_docket(new_docket(), None)
    assert "calibrates" in page.points.cam_said.text()


def test_coil_falls_short_where_the_closed_form_says(page, store):
    """i = V/R (1 − e^(−tR/L)) solved by hand for 3 A: t = −L/R ln(1 − 3·3.2/13.5)."""
    from math import log

    closed_ms = -(8.0 / 3.2) * log(1 - 3.0 * 3.2 / 13.5)
    rpm = 2 * 60.0 / (6e-3 * closed_ms)
    assert f"{rpm:.0f} engine rev/min" in page.coil.said.text()
    store.edit("Current", ("coil", "wanted_a"), 4.0)
    column = [row[2] for row in page.coil.table.texts()]
    assert column[-1].startswith("▲ ") and not column[0].startswith("▲")
    store.edit("Current", ("coil", "wanted_a"), 5.0)
    assert "never reached" in page.coil.said.text()


def test_static_from_the_wanted_total_as_one_edit(page, store):
    assert not page.static.take_button.isVisibleTo(page), "already right"
    assert page.static.static.text() == "", "the total is told once"
    store.edit("Total", ("setting_up", "wanted_total_deg"), 30.0)
    assert "wants static 6.0°" in page.static.static.text()
    assert page.static.take_button.isVisibleTo(page)
    count = store.undo_stack.count()
    page.static.take_button.click()
    assert store.docket.setting_up.static_deg == pytest.approx(6.0)
    assert store.undo_stack.count() == count + 1
    assert "Static 6.0° gives 30.0°" in page.static.total.text()


def test_idle_above_the_start_is_warned_of(page, store):
    assert "not begun" in page.static.idle.text()
    store.edit("Idle", ("setting_up", "idle_rpm"), 1300.0)
    assert page.static.idle.text().startswith("△")


def test_card_has_off_on_rising_falling_and_the_band(page, store):
    rows = {row[0]: row for row in page.card.table.texts()}
    prediction = page.feed.outcome.prediction
    rising, falling = (float(prediction.advance_deg(750.0, d)) for d in ("rising", "falling"))
    row = rows["1500"]
    assert row[1:3] == [f"{8 + 2 * rising:.1f}°", f"{8 + 2 * falling:.1f}°"]
    assert row[3:5] == [f"{8 + 2 * (rising + 7):.1f}°", f"{8 + 2 * (falling + 7):.1f}°"]
    assert row[5] == "17.0 to 21.0°"
    store.edit("Capsule", ("capsules", 0, "given_as"), "none")
    assert page.card.table.isColumnHidden(3)
    speeds = (LampSpeed(engine_rpm=1000.0), LampSpeed(engine_rpm=2000.0))
    store.edit("Speeds", ("setting_up", "lamp_speeds"), speeds)
    assert [row[0] for row in page.card.table.texts()] == ["1000", "2000"]


def test_the_card_marks_what_lies_outside_the_band_beside_it(page, store, demo):
    assert not any("✗" in cell for row in page.card.table.texts() for cell in row)
    point, read = demo.target.points[2], []
    for key in ("least_deg", "most_deg"):
        store.edit("Band", ("target", "points", 2, key), getattr(point, key) + 30.0)
    for row in page.card.table.texts():
        if not row[5]:
            continue
        low, high = (float(edge) for edge in row[5].rstrip("°").split(" to "))
        for cell in row[1:3]:
            assert cell.startswith("✗ ") != (low <= float(cell.strip("✗° ")) <= high), row
            read.append(cell.startswith("✗ "))
    assert sum(read) == 2 < len(read), "rising and falling there, and nowhere else"


def test_states_against_the_ceiling_and_up_the_hill(page, store):
    assert page.states.said.text().startswith("✓")
    store.edit("Ceiling", ("setting_up", "ceiling_total_deg"), 38.0)
    assert "Light cruise passes the ceiling of 38.0° by" in page.states.said.text()
    assert any(row[0] == "▲ Light cruise" for row in page.states.table.texts())
    assert not page.states.table.isColumnHidden(3)
    store.edit("Altitude", ("setting_up", "altitude_m"), 0.0)
    assert page.states.table.isColumnHidden(3)
    assert page.states.height_said.text().startswith("Light cruise pulls the capsule most; above")


def test_mark_error_goes_into_the_session_as_one_edit(page, store):
    mark = page.mark
    for key, text in (("before_deg", "31"), ("after_deg", "28"), ("u_deg", "0.5")):
        assert enter(mark.entries[key], text)
    assert "+1.50°" in mark.answer.text()
    count = store.undo_stack.count()
    mark.button.click()
    instrument = store.docket.sessions[-1].instrument
    assert instrument.mark_error_deg == 1.5
    assert instrument.u["mark_error_deg"] == pytest.approx(0.5 / 2**0.5)
    assert store.undo_stack.count() == count + 1
    store.undo_stack.undo()
    assert store.docket.sessions[-1].instrument.mark_error_deg != 1.5


def test_parallax_of_the_mark(page):
    """Common practice: 1.5 mm on a 140 mm pulley is 1.2°."""
    assert enter(page.mark.entries["seen_mm"], "1.5")
    assert "1.23°" in page.mark.answer.text()


def test_tachometer_and_its_wrong_setting(page, store):
    sums = page.tachometer
    for key, text in (
        ("shown_1_rpm", "1000"),
        ("trusted_1_rpm", "970"),
        ("shown_2_rpm", "2000"),
        ("trusted_2_rpm", "1960"),
    ):
        assert enter(sums.entries[key], text)
    assert "0.9750" in sums.answer.text()
    sums.button.click()
    assert store.docket.sessions[-1].instrument.tachometer_scale == pytest.approx(0.975)
    assert enter(sums.entries["shown_1_rpm"], "2000") and enter(
        sums.entries["trusted_1_rpm"], "1000"
    )
    assert enter(sums.entries["shown_2_rpm"], "4000") and enter(
        sums.entries["trusted_2_rpm"], "2000"
    )
    assert "twice the speed" in sums.answer.text()


def test_delay_of_the_lamp_by_the_rate_of_degrees(page, store):
    """50 µs is 0.9° at 3000 rev/min (6 N degrees a second: Rajput, Ex. 5.1)."""
    sums = page.lag
    for key, text in (
        ("slower_rpm", "3000"),
        ("slower_deg", "32"),
        ("faster_rpm", "5000"),
        ("faster_deg", "31.4"),
    ):
        assert enter(sums.entries[key], text)
    assert "0.050 ms" in sums.answer.text() and "0.9° at 3000" in sums.answer.text()
    sums.button.click()
    assert store.docket.sessions[-1].instrument.lag_ms == pytest.approx(0.05)
    assert enter(sums.entries["slower_rpm"], "1500")
    assert "below full advance" in sums.answer.text()


def test_links_lead_to_the_sections(qtbot, page):
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    assert page.contents.text().count("<a ") == len(page._frames) >= 9
    page.contents.linkActivated.emit("1")
    assert page._frames[1].isAncestorOf(QApplication.focusWidget())


def test_ceiling_stands_on_the_map(page):
    assert total_figure(page.feed.outcome, View()).surface.ceiling == 42.0


def test_rotor_over_the_vacuum_travel(page, store):
    assert page.rotor.said.text().startswith("✓") and "−3.0°" in page.rotor.said.text()
    store.edit("Tip", ("setting_up", "rotor", "off_deg"), -14.0)
    assert page.rotor.said.text().startswith("▲ Tip and segment part")


def test_rotor_needs_the_travel_of_a_capsule_that_is_there(page, store):
    store.edit("Full", ("capsules", 0, "full_kpa"), 1.0)  # below the start
    said = page.rotor.said.text()
    assert "see Vacuum" in said and "✓" not in said


def test_a_unit_without_a_capsule_has_no_pipe(page, store):
    store.edit("Capsule", ("capsules", 0, "given_as"), "none")
    headings = [page.card.table.table_model.columns[c].heading for c in (1, 2, 5)]
    assert headings == ["Rising", "Falling", "Target"] and "pipe" not in page.card.said.text()
    assert not page.card.pipe.isVisibleTo(page)


def test_a_docket_with_nothing_in_it_leaves_the_page_empty(page, store):
    store.open_docket(Docket(), None)
    assert page.state() == "empty"


def test_not_done_while_no_curve_tells_the_total(page, store):
    assert page.state() == "done"
    store.edit("Stop", ("mechanism", "stop_deg"), None)
    assert page.state() == "begun"


def test_without_a_curve_the_page_says_what_it_needs(page, store):
    store.open_docket(new_docket(), None)
    assert page.state() == "empty"
    labels = [w.text() for w in page.findChildren(QLabel) if w.isVisibleTo(page)]
    assert sum("weights (mass of each weight" in text for text in labels) == 1
    assert "mass of each weight" in page.card.print_button.toolTip()
    asked: list[object] = []
    page.feed.decisions.path_asked.connect(asked.append)
    assert 'href="mechanism"' in page.lacking.text()
    page.lacking.linkActivated.emit("mechanism")
    assert asked == [("mechanism", "weights", "mass_g")]
    assert not page.card.table.isVisibleTo(page)
    assert page.lacking.property("role") == "faint"


def test_what_is_set_by_a_figure_that_cannot_be_right_is_told(page, store, demo, qtbot):
    """A pivot at 1 mm of the shaft: the table and the readings say that it is not."""
    decisions, pivot = page.feed.decisions, ("mechanism", "weights", "pivot_radius_mm")
    assert not page.lacking.isVisibleTo(page)
    store.open_docket(put(demo, pivot, 1.0), None)
    decisions.want("test")
    qtbot.waitUntil(lambda: decisions.current is not None, timeout=PATIENCE_MS)
    assert "doubted" in page.lacking.text() and page.lacking.isVisibleTo(page)
    asked: list[object] = []
    decisions.path_asked.connect(asked.append)
    page.lacking.linkActivated.emit("mechanism")
    assert asked == [decisions.current.decision.judgement.doubted[0]]
    assert page.lacking.property("role") == "advice", "there is a curve by it"
    bare = put(put(demo, pivot, 1.0), ("mechanism", "weights", "mass_g"), None)
    store.open_docket(bare, None)
    qtbot.waitUntil(lambda: "▲" in page.lacking.text(), timeout=PATIENCE_MS)
    assert page.lacking.property("role") == "wrong"
    store.open_docket(demo, None)
    page.feed.tell()
    assert not page.lacking.isVisibleTo(page)
    decisions.close()


def test_a_table_with_less_than_a_row_too_many_is_not_scrolled(page):
    page.sections.reveal(page.states.states)
    table, view = page.states.states, page.states.states.view
    table.hold_to(10_000)
    whole, row = view.height(), view.rowHeight(0)
    for cut, seen in ((row - 1, whole), (row, whole - row)):
        table.hold_to(whole - cut)
        QApplication.processEvents()
        assert view.height() == seen
        assert (view.verticalScrollBar().maximum() > 0) == (seen < whole)
