"""The Verdict page: what it says of samples whose truth is known, and its acts as single edits.

The truth of each sample is what ``sample_curves/make.py`` read it from: the demo's primary spring
has 0.7 of the rate written down, and its ninth reading is 5° off.
"""

from __future__ import annotations

import dataclasses
import re

import pytest
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QTextLayout
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLabel, QTableView, QWidget

from bobweight.app.messages.explanations import steps_text
from bobweight.app.pages.comparison import PointWords
from bobweight.app.widgets.bars import ProbabilityBar
from bobweight.app.widgets.table import ReadTable
from bobweight.app.widgets.words import words
from bobweight.app.words import weighing
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.file import read_docket
from bobweight.core.docket.readings import Reading
from bobweight.core.figure.view import View
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.record import get, put
from tests.app.conftest import SAMPLES
from tests.waiting import PATIENCE_MS

pytestmark = pytest.mark.usefixtures("told_at_once")

READINGS = ("sessions", 0, "readings")


_DECIDED: list[tuple[object, int, object]] = []


@pytest.fixture(autouse=True)
def decided_once(monkeypatch):
    """The same docket is decided once for all tests here; the feed has tests of its own."""

    def decide(docket, session, progress, cancelled, known):
        for docket_, session_, decision in _DECIDED:
            if session_ == session and docket_ == docket:
                return dataclasses.replace(decision, docket=docket)
        decision = decide_docket(docket, session, progress, cancelled, known)
        if decision.complete:
            _DECIDED.append((docket, session, decision))
        return decision

    monkeypatch.setattr("bobweight.core.judgement.decision.decide_docket", decide)


@pytest.fixture
def judge(qtbot, window):
    """Open a docket on the page and wait for its decision."""

    def judge(docket):
        window.store.open_docket(docket, None)
        window.show_page("verdict")
        qtbot.waitUntil(lambda: not window.feed.decisions.busy, timeout=PATIENCE_MS)
        return window.page("verdict")

    return judge


def part(page, name: str) -> QWidget:
    return next(p for p in page.parts if type(p).__name__ == name)


def shown(widget: QWidget) -> str:
    """All words in sight."""
    return "\n".join(w.text() for w in widget.findChildren(QLabel) if w.isVisible())


def test_the_demo_is_explained_by_its_weak_primary(judge, demo):
    page = judge(demo)
    assert page.overall.text().startswith("✗ Outside at 600")
    row = part(page, "ExplanationPart").rows[0]
    assert row.title.text() == "Primary spring weak" and row.place.text() == "1"
    assert re.fullmatch(r"(>99|9\d)\s%, (almost certain|very likely)", row.number.text())
    assert row.number.text() in row.bar.accessibleName()
    assert row.side.text() == "fault of the unit"
    weak, u = re.search(r"about (\d+)\s±\s(\d+)\s% weak", row.said.text()).groups()
    assert abs(int(weak) - 30) < 2 * int(u)
    assert row.said.text().endswith("hang a known load on the primary and measure it.")


def test_what_is_folded_away_is_said_by_number_and_every_shared_place_is_marked(
    judge, window, demo
):
    """What stands at one in a hundred is called unlikely too, outside the fold. The first of those
    that share a place had no equals sign, so that it seemed to be before the others."""
    explained = part(judge(demo), "ExplanationPart")
    folded = [row for row in explained._folded if not row.isHidden()]
    assert explained.fold.text() == f"Less than 1\u00a0% each ({len(folded)})"
    assert all(row.number.text().startswith("<1") for row in folded)
    places = [e.place for e in window.feed.decisions.current.decision.explanations]
    said = [row.place.text() for row in (*explained.rows, *folded) if not row.isHidden()]
    shared = {f"={place}" for place in places if places.count(place) > 1}
    assert shared and {text for text in said if text.startswith("=")} <= shared
    assert {text for text in said if not text.startswith("=")} <= {
        str(place) for place in places if places.count(place) == 1
    }


def test_what_the_one_sentence_says_is_not_said_again_below_it(judge, demo):
    """A static that nobody set, which its sentence begins with."""
    page = judge(put(demo, ("sessions", 0, "instrument", "static_deg"), 20.0))
    assert "static is 20.0°" in page.overall.text()
    assert shown(page).count("static is 20.0°") == 1


def test_a_slip_is_told_on_page_table_and_board_and_stays(qtbot, judge, window, demo):
    page = judge(demo)
    assert "Reading 9 looks like a misreading" in part(page, "NextPart").slips.text()
    readings = window.board.curves.figure.marks()
    assert list(readings.row[readings.mistaken]) == [8]
    assert not demo.sessions[0].readings[8].left_out
    part(page, "NextPart").slips.linkActivated.emit("8")
    assert window.strip.current_key() == "readings"
    readings = window.page("readings")
    qtbot.waitUntil(readings.slips.isVisible)
    model = readings.table.model
    texts = [model.data(model.index(8, column)) for column in range(model.columnCount())]
    assert any("misread" in str(text) for text in texts)
    assert model.cell_text(8, model.keys.index("note")) == demo.sessions[0].readings[8].note
    QApplication.processEvents()
    stood = readings.table.view.geometry(), readings.guess_button.pos()
    window.store.edit("try", ("sessions", 0, "readings", 4, "angle_deg"), 5.0)
    window.feed.tell()
    QApplication.processEvents()
    assert window.feed.decisions.current is None and not readings.slips.isVisible()
    assert stood == (readings.table.view.geometry(), readings.guess_button.pos())


def test_the_board_shows_layers_only_where_they_are_wanted(judge, window, demo):
    judge(demo)
    figure = window.board.curves.figure
    assert figure.trace("fitted") is not None and figure.trace("altered") is not None
    (band,) = figure.zones
    assert (band.low <= band.high + 1e-9).all()
    window.show_page("target")
    figure = window.board.curves.figure
    assert figure.trace("fitted") is None and figure.trace("altered") is None
    assert not figure.zones and not figure.marks().mistaken.any()


class LaidOver(QObject):
    """Whether the alteration is on the board, at every paint of a widget."""

    def __init__(self, widget: QWidget, board) -> None:
        super().__init__(widget)
        self._board, self.seen = board, []
        widget.installEventFilter(self)

    def eventFilter(self, _watched, event):
        if event.type() == QEvent.Type.Paint:
            self.seen.append(self._board.curves.figure.trace("altered") is not None)
        return False


def test_no_page_is_painted_beside_a_board_that_shows_what_was(qtbot, judge, window, demo):
    page = judge(demo)
    preview = part(page, "AlterPart").preview
    page.sections.reveal(preview)
    page.bring_into_view(preview)
    qtbot.wait(50)
    seen = LaidOver(preview, window.board).seen
    for shown in (False, True):
        seen.clear()
        preview.click()
        qtbot.waitUntil(lambda: bool(seen))
        assert set(seen) == {shown}
    target = window.page("target")
    seen = LaidOver(target, window.board).seen
    window.show_page("target")
    qtbot.waitUntil(lambda: bool(seen))
    assert set(seen) == {False}


def test_the_next_reading_stands_where_the_sentence_says(judge, window):
    page = judge(read_docket(SAMPLES / "vee_eight.docket"))
    said = part(page, "NextPart").said.text()
    mark = window.board.curves.figure.next
    if mark is None:
        assert said == "Another reading would not change the decision."
        return
    engine = float(re.search(r"at (\d+) engine rev/min", said).group(1))
    assert mark.x == pytest.approx(engine / 2, abs=10) and mark.direction in said
    heights = dict(mark.expected)
    assert len(heights) == 2 and min(heights.values()) < mark.middle < max(heights.values())


def test_choosing_previews_and_taking_is_one_edit(qtbot, judge, window, demo):
    page = judge(demo)
    alter, decisions, store = part(page, "AlterPart"), window.feed.decisions, window.store
    options = decisions.current.options
    assert options and len(options) >= 2
    alter.rows[1].button.click()
    assert decisions.chosen == 1
    alter.preview.click()
    QApplication.processEvents()
    assert decisions.chosen == -1 and window.board.curves.figure.trace("altered") is None
    alter.preview.click()
    alter.rows[0].button.click()
    assert decisions.chosen == 0
    count = store.undo_stack.count()
    alter.take_button.click()
    docket = store.docket
    assert store.undo_stack.count() == count + 1
    assert store.undo_stack.undoText() == steps_text(options[0].steps, demo)
    for path, value in options[0].edits:
        assert get(docket, path) == value
    assert docket.sessions[:-1] == demo.sessions and not docket.sessions[-1].readings
    assert [line.before_session for line in docket.history] == [1] * len(options[0].steps)
    assert {line.after_session for line in docket.history} == {2}
    assert window.display.session_index(docket) == 1 and window.display.compared_index(docket) == 0
    assert store.ghost == demo
    assert page.state() == "empty" and "Take readings first" in page.action.text()
    store.undo_stack.undo()
    assert store.docket == demo


def test_the_fitted_figures_are_taken_as_one_edit(judge, window, demo):
    page = judge(demo)
    fit = part(page, "FitPart")
    fit.take_button.click()
    rate = window.store.docket.mechanism.springs[0].rate_n_per_mm
    assert rate == pytest.approx(0.7 * 2.6, abs=0.3)
    assert window.store.undo_stack.undoText() == "Take the fitted figures"
    window.store.undo_stack.undo()
    assert window.store.docket == demo


@pytest.mark.parametrize("name", ["AlterPart", "FitPart"])
def test_taking_keeps_what_was_entered_since(judge, window, demo, name):
    """The decision does not hang on a note, so it is still current, and the note must stay."""
    page = judge(demo)
    window.store.edit("Notes", ("reassembly", "notes"), "Shim under the cam.")
    assert window.feed.decisions.is_current
    part(page, name).take()
    assert window.store.docket.reassembly.notes == "Shim under the cam."
    assert window.store.docket.mechanism != demo.mechanism


def test_what_is_not_determined_is_said(judge, demo):
    fit = part(judge(demo), "FitPart")
    fit.set_open(True)
    known = {row[0]: row[1] for row in fit.known.texts()}
    assert "Primary spring, rate" in known and "±" in known["Primary spring, rate"]
    assert "Not determined by these readings" in fit.fold.text()
    assert not fit.rest.isVisible()
    fit.fold.click()
    assert fit.rest.isVisible() and len(fit.rest.texts()) > 5


def test_no_verdict_of_readings_alone_stands_there_while_all_are_weighed(qtbot, window, demo):
    window.show_page("verdict")
    window.store.open_docket(demo, None)
    window.feed.tell()
    qtbot.waitUntil(lambda: window.feed.decisions.busy)
    page = window.page("verdict")
    page.follow()
    assert page.overall.text() == weighing()


def test_the_page_may_be_built_while_a_verdict_is_worked_out(qtbot, window, demo):
    window.show_page("particulars")
    window.store.open_docket(demo, None)
    window.feed.decisions.want("somebody")
    window.feed.tell()
    qtbot.waitUntil(lambda: window.feed.decisions.busy)
    window.stack.built.pop("verdict", None)
    page = window.page("verdict")  # built anew, and told at once how far the work is
    assert page.progress.value() == 0 and page.status.text()
    window.feed.decisions.leave("somebody")


@pytest.mark.parametrize("size", [(1350, 692), (1920, 1040)])
def test_an_edit_moves_nothing_while_the_next_decision_is_worked_out(
    qtbot, judge, window, demo, size
):
    """What is read or about to be pressed stays under the eye and the hand (common practice)."""
    window.resize(*size)
    page = judge(demo)
    QApplication.processEvents()
    held = [page.comparison, *page.parts]

    def places() -> list[tuple[int, int]]:
        return [(w.mapTo(page, w.rect().topLeft()).y(), w.height()) for w in held]

    before, said = places(), page.overall.text()
    window.store.edit("edit", ("mechanism", "springs", 0, "rate_n_per_mm"), 2.62)
    QApplication.processEvents()
    assert window.feed.decisions.busy and page.overall.text() != said
    assert places() == before
    qtbot.waitUntil(lambda: not window.feed.decisions.busy, timeout=PATIENCE_MS)
    QApplication.processEvents()
    assert page.told.minimumHeight() == page.comparison.said.minimumHeight() == 0


def test_a_docket_edited_since_is_told_and_cannot_be_taken(qtbot, judge, window, demo):
    page = judge(demo)
    window.store.edit("Angle", (*READINGS, 0, "angle_deg"), 9.0)
    assert "before the last edit" in page.status.text() and page.stop_button.isVisible()
    assert not part(page, "AlterPart").take_button.isEnabled()
    qtbot.waitUntil(lambda: window.board.curves.figure.trace("fitted") is None)
    page.stop_button.click()
    qtbot.waitUntil(lambda: not window.feed.decisions.busy, timeout=PATIENCE_MS)
    assert page.again_button.isVisible()
    page.again_button.click()
    qtbot.waitUntil(lambda: not window.feed.decisions.busy, timeout=PATIENCE_MS)
    assert not page.status.text() and not page.stop_button.isVisible()
    assert part(page, "AlterPart").take_button.isEnabled()


def rows(pairs, direction="rising"):
    return tuple(Reading(speed_rpm=x, angle_deg=y, direction=direction) for x, y in pairs)


NONSENSE = {
    "one speed": rows((1500 + 5 * k, 20 + k % 3) for k in range(12)),
    "two": rows([(900, 8), (1500, 18)]),
    "below start": rows((100 + 25 * k, 6 + k % 2) for k in range(15)),
    "falls": rows(((4000 - 200 * k, 2 + 2.5 * k) for k in range(17)), "falling"),
}


@pytest.mark.parametrize("name", NONSENSE)
def test_nonsense_is_told_in_a_sentence(judge, demo, name):
    page = judge(put(demo, READINGS, NONSENSE[name]))
    assert page.problem_box.isVisible()
    said = re.sub("<.*?>", "", page.problem_box.text())
    assert re.search(r"[A-Z0-9].*\.", said) and "Traceback" not in said
    assert page.action.text().endswith(".")


def test_without_readings_or_mechanism_the_page_says_what_to_do(judge, demo):
    page = judge(new_docket())
    assert page.state() == "empty"
    assert "Enter the table for the unit’s number" in page.overall.text()
    assert not page.action.text()  # the answer says what comes first, and says it once
    assert "no readings yet" in page.judged.text() or "no session" in page.judged.text()
    assert not any(p.isVisible() for p in page.parts)
    # A value left blank is unknown, not missing: the unit is judged all the same.
    page = judge(put(demo, ("mechanism", "springs", 0, "rate_n_per_mm"), None))
    assert part(page, "ExplanationPart").isVisible() and page.action.text().endswith(".")


@pytest.fixture
def two_sessions(demo):
    first = demo.sessions[0]
    second = first.with_changes(title="After", readings=first.readings[::2])
    return put(demo, ("sessions",), (first, second))


def test_any_two_sessions_are_compared(judge, window, two_sessions):
    page = judge(two_sessions)
    assert page.compare.isVisible() and not page.compare.table.isVisible()
    box = page.compare.box
    box.setCurrentIndex(1)
    box.activated.emit(1)
    assert window.display.compared_index(two_sessions) == 0
    window.board.redraw()
    other = window.board.curves.figure.marks("other")
    pipe_off = [r for r in two_sessions.sessions[0].readings if r.depression_kpa is None]
    assert len(other.row) == len(pipe_off)
    assert len(page.compare.table.texts()) == len(window.feed.outcome.comparison.all_points)
    window.display.session = 0
    window.display.compared = 1
    half = [r for r in two_sessions.sessions[1].readings if r.depression_kpa is None]
    window.board.redraw()
    assert len(window.board.curves.figure.marks("other")) == len(half)


def test_later_alterations_are_told_at_earlier_readings(qtbot, judge, window, demo):
    page = judge(demo)
    part(page, "AlterPart").take()
    window.display.session = 0
    qtbot.waitUntil(lambda: not window.feed.decisions.busy, timeout=PATIENCE_MS)
    assert "These readings were taken before “" in page.stale.text()


def test_everything_has_a_name_for_the_ear_and_a_key(judge, two_sessions):
    page = judge(two_sessions)
    for section in page.sections.all():  # as many are open as two screens hold
        section.set_open(True)
    kinds = QAbstractButton | QComboBox | QTableView | ProbabilityBar
    named = [w for w in page.findChildren(QWidget) if isinstance(w, kinds) and w.isVisible()]
    assert len(named) > 10
    for widget in named:
        text = widget.text() if isinstance(widget, QAbstractButton) else ""
        if widget.objectName().startswith("qt_") or type(widget) is QAbstractButton:
            continue  # parts of Qt's own tables
        assert widget.accessibleName() or text, widget
        if not isinstance(widget, ProbabilityBar):
            assert widget.focusPolicy().value & 1, widget


@pytest.mark.parametrize("size", [(1366, 768), (2560, 1440)])
def test_no_sideways_scrolling(qtbot, judge, window, two_sessions, size):
    window.resize(*size)
    window.display.compared = 0
    page = judge(two_sessions)
    area = page.parentWidget().parentWidget()
    for name in ("ExplanationPart", "FitPart"):
        page.sections.reveal(part(page, name).fold)
        part(page, name).fold.setChecked(True)
    qtbot.waitUntil(part(page, "FitPart").rest.isVisible)
    assert area.horizontalScrollBar().maximum() == 0


def test_a_unit_stays_whole_where_a_sentence_wraps(qtbot):
    """A line may end after a stroke but not before a word joiner (UAX #14, LB11 and LB13)."""
    made = words("of 2.60 N/mm.")
    qtbot.addWidget(made)
    broken = made.fontMetrics().horizontalAdvance("of 2.60 N/") + 2  # no room for "mm."
    assert made.text() == "of 2.60 N/mm."
    layout = QTextLayout(QLabel.text(made), made.font())
    layout.beginLayout()
    starts = []
    while (line := layout.createLine()).isValid():
        line.setLineWidth(broken)
        starts.append(layout.text()[line.textStart() :])
    layout.endLayout()
    assert len(starts) > 1, starts
    assert not any(start.startswith(("mm", "\u2060")) for start in starts)


def test_a_heading_is_short_only_where_it_has_no_room(qtbot):
    table = ReadTable("Check points", PointWords(View()).columns(), None)
    qtbot.addWidget(table)
    heads = []
    for width in (300, 900):
        table.resize(width, 200)
        table.show()
        heads.append(table.model().headerData(5, Qt.Orientation.Horizontal))
    assert heads == ["Pred.\n°", "Predicted\n°"]


def test_a_reading_that_would_help_is_told_at_the_shaft_shown_too(window, qtbot):
    """A lamp shows the engine, twice as fast as the distributor that the board is drawn for."""
    window.store.open_docket(new_docket(), None)
    window.show_page("verdict")
    page = window.page("verdict")
    qtbot.waitUntil(lambda: "Read at" in page._helps_text(), timeout=60_000)
    found = re.search(
        r"Read at (\d+) engine rev/min \((\d+) at the distributor\)", page._helps_text()
    )
    assert int(found[1]) == 2 * int(found[2])
    window.display.frame = "crank"
    assert "engine rev/min, rising" in page._helps_text()
