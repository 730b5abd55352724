"""The whole main job by hand, once: typed, dragged, saved, reopened, printed.

A unit is typed into an empty window value by value with the keys a person would press; the docket
that results must be the one it was copied from, and the printed table must hold the core's numbers.
"""

from __future__ import annotations

import pypdf
import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QPlainTextEdit

from bobweight.app.window.main_window import MainWindow
from bobweight.app.words import option_text
from bobweight.core.docket.file import read_docket
from bobweight.core.mechanics.places import by_distances
from bobweight.core.record import get, parameter_at, parameters
from bobweight.core.units import shown

KEY = Qt.Key
LEFT = Qt.MouseButton.LeftButton


class Hand:
    """Types and drags in a window."""

    def __init__(self, window: MainWindow) -> None:
        self.window = window

    def settle(self) -> None:
        for _ in range(3):
            QApplication.processEvents()

    def key(self, key: Qt.Key, modifiers=Qt.KeyboardModifier.NoModifier) -> None:
        QTest.keyClick(QApplication.focusWidget() or self.window, key, modifiers)
        self.settle()

    def ctrl(self, key: Qt.Key) -> None:
        self.key(key, Qt.KeyboardModifier.ControlModifier)

    def page(self, number: int):
        """Ctrl and the number of the page; with Shift from the eleventh on."""
        held = Qt.KeyboardModifier.ControlModifier
        if number > 10:
            held |= Qt.KeyboardModifier.ShiftModifier
        self.key(Qt.Key(KEY.Key_0 + number % 10), held)
        return self.window.page(self.window.strip.current_key())

    def type(self, text: str) -> None:
        QTest.keyClicks(QApplication.focusWidget(), text)

    def fill(self, path, value) -> None:
        """Put a value into the field at a path, as the kind of field wants it."""
        parameter = parameter_at(self.window.store.docket, path)
        if value == get(self.window.store.docket, path):
            return
        assert self.window.page(self.window.strip.current_key()).focus_path(path), path
        editor = QApplication.focusWidget()
        if isinstance(editor, QComboBox):
            while editor.currentData() != value:
                before = editor.currentIndex()
                self.key(KEY.Key_Down if before < editor.findData(value) else KEY.Key_Up)
                assert editor.currentIndex() != before
        elif isinstance(editor, QPlainTextEdit):
            self.type(value)
            self.key(KEY.Key_Tab)
        else:
            text = value if parameter.kind == "text" else repr(value)
            self.ctrl(KEY.Key_A)
            self.type(text)
            self.key(KEY.Key_Return)

    def fill_record(self, path, wanted) -> None:
        """Fill every plain value of a record, choices first, as they decide what is shown."""
        plain = [p for p in parameters(wanted).values() if p.kind not in ("one", "many")]
        for parameter in sorted(plain, key=lambda p: p.kind != "choice"):
            self.fill((*path, parameter.key), getattr(wanted, parameter.key))
        for key, u in wanted.u.items():
            field = next(
                f for f in self.window.page(self.window.strip.current_key()).findChildren(
                    type(self._field((*path, key)))) if f.path == (*path, key)
            )  # fmt: skip
            field.u_edit.setFocus()
            self.type(repr(u))
            self.key(KEY.Key_Return)

    def _field(self, path):
        from bobweight.app.editors.number import NumberField

        page = self.window.page(self.window.strip.current_key())
        return next(f for f in page.findChildren(NumberField) if f.path == path)

    def rows(self, table, rows, columns: int) -> None:
        """Type rows into a table: Tab to the next cell, Enter to the next row."""
        model = table.model
        table.view.setFocus()
        table.view.edit_cell(0, 0)
        self.settle()
        for row in rows:
            for column, key in enumerate(model.keys[:columns]):
                editor = QApplication.focusWidget()
                assert isinstance(editor, QLineEdit), (row, key)
                parameter = model.parameter(column)
                value = getattr(row, key)
                if value is not None:
                    self.type(shown(value, parameter.quantity, model.symbol(parameter)))
                self.key(KEY.Key_Return if column == columns - 1 else KEY.Key_Tab)
        self.key(KEY.Key_Escape)

    def drag(self, widget, start: QPoint, end: QPoint) -> None:
        QTest.mousePress(widget, LEFT, pos=start)
        for i in range(1, 6):
            at = (QPointF(start) + (QPointF(end) - QPointF(start)) * (i / 5)).toPoint()
            move = QMouseEvent(QEvent.Type.MouseMove, QPointF(at), QPointF(widget.mapToGlobal(at)),
                               LEFT, LEFT, Qt.KeyboardModifier.NoModifier)  # fmt: skip
            QApplication.sendEvent(widget, move)
            self.settle()
        QTest.mouseRelease(widget, LEFT, pos=end)
        self.settle()

    def spot(self, plot, x: float, y: float) -> QPoint:
        """The pixel of shown values on the curve plot."""
        view = plot.main
        scale = view.scale()
        return plot.mapFromScene(view.box.mapToScene(QPointF(float(scale.x(x)), float(scale.y(y)))))


@pytest.mark.timeout(240)
def test_the_main_job_by_hand(qtbot, window, answers, demo, tmp_path):
    hand, store = Hand(window), window.store
    window.resize(1366, 768)
    hand.ctrl(KEY.Key_N)
    assert store.docket != demo

    hand.page(1)
    hand.fill_record(("particulars",), demo.particulars)

    page = hand.page(3)
    hand.fill_record(("mechanism", "weights"), demo.mechanism.weights)
    hand.fill_record(("mechanism", "linkage"), demo.mechanism.linkage)
    for index, spring in enumerate(demo.mechanism.springs):
        if index == len(store.docket.mechanism.springs):  # at first a primary and a secondary
            page.add_spring_button.setFocus()
            hand.key(KEY.Key_Space)
        if by_distances(store.docket.mechanism.springs[index]):  # the demo has radius and angle
            page._cards[index].places_button.setFocus()
            hand.key(KEY.Key_Space)
        hand.fill_record(("mechanism", "springs", index), spring)
    hand.fill_record(("mechanism",), demo.mechanism)
    assert window.strip.state_of("mechanism") == "done"
    assert store.docket.mechanism == demo.mechanism
    assert window.feed.outcome.prediction is not None

    hand.page(4)
    hand.fill_record(("capsules", 0), demo.capsules[0])
    assert store.docket.capsules[0] == demo.capsules[0]

    page = hand.page(5)
    hand.fill_record(("target",), demo.target)
    hand.rows(page.points, demo.target.points, 3)
    assert store.docket.target.points == demo.target.points
    hand.rows(page.vacuum_points, demo.target.vacuum_points, 3)
    assert store.docket.target.vacuum_points == demo.target.vacuum_points

    page = hand.page(6)
    session = demo.sessions[0]
    hand.fill(("sessions", 0, "date"), session.date)
    hand.fill_record(("sessions", 0, "instrument"), session.instrument)
    pipe_off = [r for r in session.readings if r.depression_kpa is None]
    hand.rows(page.table, pipe_off, 2)
    page.guess_button.setFocus()
    hand.key(KEY.Key_Space)
    for row, reading in enumerate(pipe_off):  # where the trend turns a guess can be wrong
        if store.docket.sessions[0].readings[row].direction != reading.direction:
            page.table.focus_row(row, "direction")
            hand.key(KEY.Key_F if reading.direction == "falling" else KEY.Key_R)
    typed = store.docket.sessions[0].readings
    assert [(r.speed_rpm, r.angle_deg, r.direction) for r in typed] == [
        (r.speed_rpm, r.angle_deg, r.direction) for r in pipe_off
    ]
    assert window.strip.state_of("readings") == "done"

    _drag_a_check_point_and_take_it_back(hand, window)

    answers.path = tmp_path / "job.docket"
    hand.ctrl(KEY.Key_S)
    assert answers.asked == ["save"] and not store.dirty
    assert read_docket(tmp_path / "job.docket") == store.docket
    _undo_everything_and_do_it_again(store)

    window.files.new()
    answers.path = tmp_path / "job.docket"
    hand.ctrl(KEY.Key_O)
    assert store.file_path == tmp_path / "job.docket"
    _print_and_compare(hand, window, qtbot, tmp_path)


def _drag_a_check_point_and_take_it_back(hand: Hand, window: MainWindow) -> None:
    store, curves = window.store, window.board.curves
    point = store.docket.target.points[4]
    count = store.undo_stack.count()
    start = hand.spot(curves, point.speed_rpm, point.most_deg)
    hand.drag(curves.viewport(), start, hand.spot(curves, point.speed_rpm, point.most_deg + 1.5))
    moved = store.docket.target.points[4]
    assert moved.most_deg == pytest.approx(point.most_deg + 1.5, abs=0.2)
    assert store.undo_stack.count() == count + 1
    table = window.page("target").points
    window.show_page("target")
    hand.settle()
    assert float(table.model.cell_text(4, 2)) == pytest.approx(moved.most_deg)
    window.menus.actions["undo"].trigger()
    assert store.docket.target.points[4] == point


def _undo_everything_and_do_it_again(store) -> None:
    done = store.docket
    while store.undo_stack.canUndo():
        store.undo_stack.undo()
    assert store.docket.mechanism.springs == () and store.dirty
    while store.undo_stack.canRedo() and store.docket != done:
        store.undo_stack.redo()
    assert store.docket == done


_SHOWN = {"cannot be told": "can’t tell", "looks inside": "looks in",
          "looks outside": "looks out"}  # fmt: skip


def _print_and_compare(hand: Hand, window: MainWindow, qtbot, folder) -> None:
    page = hand.page(11)
    page.ask_path = lambda *_: folder / "job.pdf"
    qtbot.waitUntil(page.save_buttons["pdf"].isEnabled, timeout=60_000)  # it is judged first
    page.save_buttons["pdf"].click()
    text = " ".join(pypdf.PdfReader(folder / "job.pdf").pages[0].extract_text().split())
    comparison = window.feed.decisions.judged.comparison
    assert len(comparison.check_points) == 5
    for point in comparison.check_points:
        assert f"{point.speed_rpm:.0f}" in text
        assert f"{point.low_deg:.1f} to {point.high_deg:.1f}" in text
        assert f"{point.estimate_deg:.1f} ± {point.u_deg:.1f}" in text
        assert _SHOWN.get(point.word, point.word) in text
    assert window.store.docket.particulars.title in text
    parameter = parameter_at(window.store.docket, ("particulars", "rotation"))
    assert option_text(parameter, window.store.docket.particulars.rotation) in text
