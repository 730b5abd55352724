"""The board under a person's hands: drags, clicks, keys, menu, words, themes."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from bobweight.app.board.board import Board
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import DARK, LIGHT, palette_of
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.mechanics.pose import pose
from bobweight.core.record import put
from tests.board.dockets import docket

LEFT = Qt.MouseButton.LeftButton


def place(plan, path) -> QPointF:
    """The middle of a part in the widget's pixels."""
    part = next(part for part in plan.parts if part.path == path)
    return plan.transform().map(part.hit.boundingRect().center())


class Bench:
    """A board on a docket, and the hand."""

    def __init__(self, qtbot, made) -> None:
        self.store, self.display = Store(made), Display()
        self.feed = OutcomeFeed(self.store, self.display)
        self.board = Board(self.store, self.feed, self.display)
        qtbot.addWidget(self.board)
        self.board.resize(760, 760)
        self.board.show()
        qtbot.waitExposed(self.board)
        self.settle()

    def settle(self) -> None:
        for _ in range(3):
            QApplication.processEvents()

    def spot(self, plot, view, x: float, y: float) -> QPoint:
        """The pixel of shown values on a plot."""
        scale = view.scale()
        at = view.box.mapToScene(QPointF(float(scale.x(x)), float(scale.y(y))))
        return plot.mapFromScene(at)

    def drag(self, widget, start: QPoint, end: QPoint, steps: int = 5) -> None:
        QTest.mousePress(widget, LEFT, pos=start)
        for i in range(1, steps + 1):
            part = QPointF(start) + (QPointF(end) - QPointF(start)) * (i / steps)
            move(widget, part.toPoint())
            self.settle()
        QTest.mouseRelease(widget, LEFT, pos=end)
        self.settle()


def move(widget, to: QPoint) -> None:
    """A mouse move with the button as it is; QTest's own move loses the button."""
    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QMouseEvent

    event = QMouseEvent(QEvent.Type.MouseMove, QPointF(to), QPointF(widget.mapToGlobal(to)),
                        LEFT, LEFT, Qt.KeyboardModifier.NoModifier)  # fmt: skip
    QApplication.sendEvent(widget, event)


@pytest.fixture
def bench(qtbot):
    made = Bench(qtbot, docket())
    yield made
    made.store.release()


def test_check_point_is_dragged_as_one_undo_step(bench):
    curves, before = bench.board.curves, bench.store.docket
    start = bench.spot(curves, curves.main, 900.0, 7.0)
    end = bench.spot(curves, curves.main, 900.0, 8.5)
    bench.drag(curves.viewport(), start, end)
    point = bench.store.docket.target.points[1]
    assert point.most_deg == pytest.approx(8.5, abs=0.11)
    assert (point.most_deg * 10) == pytest.approx(round(point.most_deg * 10))
    assert (point.speed_rpm, point.least_deg) == (900.0, 5.0)
    assert bench.store.undo_stack.count() == 1
    bench.store.undo_stack.undo()
    assert bench.store.docket == before


def test_speed_of_a_check_point_is_dragged_by_its_body(bench):
    curves = bench.board.curves
    start = bench.spot(curves, curves.main, 1300.0, 10.8)
    bench.drag(curves.viewport(), start, bench.spot(curves, curves.main, 1350.0, 10.8))
    point = bench.store.docket.target.points[2]
    assert point.speed_rpm == pytest.approx(1350.0, abs=10.1)
    assert (point.least_deg, point.most_deg) == (9.5, 11.5)


def test_reading_is_dragged_in_crank_figures(bench):
    bench.display.frame = "crank"
    bench.settle()
    curves = bench.board.curves
    marks = curves.figure.marks()
    i = int(np.argmax(marks.x))
    start = bench.spot(curves, curves.main, marks.x[i], marks.y[i])
    end = bench.spot(curves, curves.main, marks.x[i], marks.y[i] - 4.0)
    bench.drag(curves.viewport(), start, end)
    both = zip(*(d.sessions[0].readings for d in (docket(), bench.store.docket)), strict=True)
    moved = [now.angle_deg - was.angle_deg for was, now in both if was != now]
    assert moved == [pytest.approx(-4.0, abs=0.3)]
    assert bench.store.undo_stack.count() == 1


def test_axes_stand_still_while_dragging_and_fit_after(bench):
    curves = bench.board.curves
    seen = []
    bench.board.curves.dragged.connect(lambda *_: seen.append(curves.main.box.viewRange()[1]))
    start = bench.spot(curves, curves.main, 1300.0, 11.5)
    bench.drag(curves.viewport(), start, QPoint(start.x(), start.y() - 60))
    assert len(seen) >= 4 and all(r == seen[0] for r in seen)
    assert curves.main.box.viewRange()[1][1] >= bench.store.docket.target.points[2].most_deg


def test_vacuum_check_point_is_dragged_in_another_unit(bench):
    bench.display.depression_unit = "inHg"
    bench.settle()
    capsule = bench.board.capsule
    bar = capsule.figure.gates[0]
    assert bar.x == pytest.approx(25.0 / 3.386389, rel=1e-6)  # NIST SP 811 (2008), B.8
    start = bench.spot(capsule, capsule.main, bar.x, 3.4)
    bench.drag(capsule.viewport(), start, bench.spot(capsule, capsule.main, bar.x + 2.0, 3.4))
    point = bench.store.docket.target.vacuum_points[0]
    assert point.depression_kpa == pytest.approx(25.0 + 2 * 3.386389, abs=0.6)
    assert point.most_deg == 4.5


def test_click_picks_without_an_edit(bench, qtbot):
    curves = bench.board.curves
    with qtbot.waitSignal(bench.board.picked) as caught:
        at = bench.spot(curves, curves.main, 900.0, 5.0)
        QTest.mouseClick(curves.viewport(), LEFT, pos=at)
    assert caught.args == [("target", "points", 1)]
    assert bench.store.undo_stack.count() == 0


def test_menu_leaves_a_reading_out_and_deletes_it(bench):
    board, curves = bench.board, bench.board.curves
    marks = curves.figure.marks()
    grip = curves.grip_at(
        curves.mapToScene(bench.spot(curves, curves.main, marks.x[8], marks.y[8]))
    )
    row = grip.index
    board.menu.fill(grip)
    assert board.menu.leave_out.isVisible() and not board.menu.leave_out.isChecked()
    board.menu.leave_out.trigger()
    bench.settle()
    assert bench.store.docket.sessions[0].readings[row].left_out
    assert curves.figure.marks().left_out[list(curves.figure.marks().row).index(row)]
    board.menu.delete.trigger()
    assert len(bench.store.docket.sessions[0].readings) == len(docket().sessions[0].readings) - 1
    bench.store.undo_stack.undo()
    bench.store.undo_stack.undo()
    assert bench.store.docket == docket()


def test_parts_are_picked_by_mouse_and_by_keys(bench, qtbot):
    plan = bench.board.plan
    path = ("mechanism", "springs", 1)
    with qtbot.waitSignal(bench.board.picked) as caught:
        QTest.mouseClick(plan, LEFT, pos=place(plan, path).toPoint())
    assert caught.args == [path]
    plan.setFocus(Qt.FocusReason.TabFocusReason)
    picked = []
    bench.board.picked.connect(picked.append)
    for _ in plan.parts:
        QTest.keyClick(plan, Qt.Key.Key_Right)
        assert plan.accessibleDescription()
        QTest.keyClick(plan, Qt.Key.Key_Return)
    assert set(picked) == {part.path for part in plan.parts}
    assert {("mechanism", "stop_deg"), ("mechanism", "weights"), path} <= set(picked)


@pytest.mark.parametrize("rotation", ["clockwise", "anticlockwise"])
def test_tang_is_dragged_outward(qtbot, rotation):
    bench = Bench(qtbot, put(docket(), ("particulars", "rotation"), rotation))
    plan, path = bench.board.plan, ("mechanism", "springs", 0, "tang_mm")
    post = plan._posed.springs[0].post
    transform = plan.transform()
    start = transform.map(QPointF(*post))
    end = transform.map(QPointF(*(post * (1 + 1.5 / np.hypot(*post)))))
    bench.drag(plan, start.toPoint(), end.toPoint())
    assert bench.store.docket.mechanism.springs[0].tang_mm == pytest.approx(1.5, abs=0.35)
    assert bench.store.undo_stack.count() == 1
    assert "primary" in bench.store.undo_stack.undoText()
    bench.store.release()
    del path


def test_stop_is_dragged_and_nudged(bench):
    plan = bench.board.plan
    frame = plan._frame
    start = place(plan, ("mechanism", "stop_deg"))
    turn = np.radians(frame.zero_deg + frame.stop_deg - 2.0)
    there = QPointF(frame.scale_mm * np.cos(turn), frame.scale_mm * np.sin(turn))
    bench.drag(plan, start.toPoint(), plan.transform().map(there).toPoint())
    stop = bench.store.docket.mechanism.stop_deg
    assert stop == pytest.approx(8.5, abs=0.5)
    QTest.keyClick(plan, Qt.Key.Key_Up)
    bench.settle()
    assert bench.store.docket.mechanism.stop_deg == pytest.approx(stop + 0.1)


def test_a_drag_beyond_the_limits_stops_there(bench):
    bench.board._stop_moved(500.0, object())
    bench.settle()
    assert bench.store.docket == docket()


def test_plan_is_mirrored_for_a_clockwise_unit(bench):
    """In the base plate's frame advance is counter-clockwise; a clockwise unit is its mirror."""
    plan = bench.board.plan
    spot = place(plan, ("mechanism", "springs", 0, "tang_mm"))
    bench.store.edit("turn", ("particulars", "rotation"), "anticlockwise")
    bench.settle()
    mirrored = place(plan, ("mechanism", "springs", 0, "tang_mm"))
    assert mirrored.x() == pytest.approx(plan.width() - spot.x(), abs=0.01)
    assert mirrored.y() == pytest.approx(spot.y(), abs=0.01)


def test_plan_is_to_scale_and_posed_by_the_speed(bench):
    board, plan = bench.board, bench.board.plan
    board.speed_bar.slider.setValue(1000)
    prediction = bench.feed.outcome.prediction
    advance = float(prediction.advance_deg(1000.0))
    expected = pose(docket().mechanism, advance)
    assert plan._posed.centres[0] == pytest.approx(expected.weights[0].cg_xy, abs=0.02)
    one, other = (plan.transform().map(QPointF(*p)) for p in ((0.0, 0.0), (10.0, 0.0)))
    assert abs(other.x() - one.x()) == pytest.approx(10 * plan.px_per_mm())
    assert f"{advance:.1f}°" in board.speed_bar.readout.text()
    board.speed_bar.falling.setChecked(True)
    bench.settle()
    falling = float(prediction.advance_deg(1000.0, "falling"))
    assert plan._posed.cam_deg == pytest.approx(falling, abs=0.02)


def test_pointer_on_the_curve_poses_the_plan(bench):
    curves = bench.board.curves
    at = bench.spot(curves, curves.main, 1100.0, 1.0)
    QTest.mouseMove(curves.viewport(), QPoint(at.x() - 8, at.y()))
    QTest.mouseMove(curves.viewport(), at)
    bench.settle()
    assert bench.board.speed_rpm == pytest.approx(1100.0, abs=6.0)
    QTest.keyClick(curves, Qt.Key.Key_Right)
    assert bench.board.speed_rpm == pytest.approx(1110.0, abs=6.0)


def test_empty_docket_says_what_is_needed(qtbot):
    bench = Bench(qtbot, new_docket())
    note = bench.board.curves.note
    assert note.isVisible() and "the trade’s usual one" in note.text()
    assert bench.board.pane.isHidden()
    assert bench.board.plan.parts == []
    bench.store.release()


def test_no_torque_of_another_docket_is_left_in_small(bench):
    board = bench.board
    board.set_small(True)
    board.follow_page("springs")
    bench.settle()
    assert board.pane.current == "torque" and not board.shelf.thumbnails["pane"].isHidden()
    bench.store.open_docket(new_docket(), None)
    board.redraw()  # what is decided has not been told yet
    assert board.shelf.thumbnails["pane"].isHidden()


def test_target_and_readings_show_without_a_mechanism(qtbot):
    bench = Bench(qtbot, put(docket(), ("mechanism",), Mechanism()))
    figure = bench.board.curves.figure
    assert not figure.traces and len(figure.gates) == 3 and len(figure.marks()) == 17
    assert not bench.board.curves.note.isVisible()
    assert "the trade’s usual one" in bench.board.caption.text()
    bench.board.grab()
    bench.store.release()


def test_frame_and_unit_show_on_the_axes_and_change_nothing_stored(bench):
    bench.display.frame = "crank"
    bench.display.depression_unit = "mmHg"
    bench.settle()
    board = bench.board
    assert "crank" in board.curves.main.axes["left"].labelText
    assert "Engine" in board.curves.strip.axes["bottom"].labelText
    assert "mmHg" in board.capsule.main.axes["bottom"].labelText
    assert bench.store.docket == docket()


def test_total_map_is_one_click_away(bench):
    board = bench.board
    QTest.mouseClick(board.map_button, LEFT)
    bench.settle()
    assert board.upper.currentWidget() is board.total
    assert "crank degrees, with 8.0° static" in board.caption.text()
    levels = board.total._contours
    assert len(levels) >= 3
    surface = board.total.figure.surface
    for level, path in levels:  # points of a contour lie where the core's total is its level
        for share in (0.1, 0.5, 0.9):
            at = path.pointAtPercent(share)
            i = np.interp(at.x(), surface.x, np.arange(len(surface.x)))
            j = np.interp(at.y(), surface.y, np.arange(len(surface.y)))
            near = surface.height[int(i) : int(i) + 2, int(j) : int(j) + 2]
            assert near.min() - 0.3 <= level <= near.max() + 0.3
    board.grab()
    QTest.mouseClick(board.map_button, LEFT)
    assert board.upper.currentWidget() is board.curves


def test_colours_follow_the_palette(bench):
    QApplication.instance().setStyleSheet("")  # a window before may have left its own
    board = bench.board
    for theme in (DARK, LIGHT):
        board.setPalette(palette_of(theme))
        bench.settle()
        assert board.curves.inks.theme is theme and board.plan.inks.theme is theme
        image = board.curves.grab().toImage()
        assert image.pixelColor(image.width() - 3, 3).name() == theme.paper


def test_no_menu_of_the_plot_library_is_reachable(bench):
    for plot in (bench.board.curves, bench.board.capsule, bench.board.total):
        for view in plot.views:
            assert not view.box.menuEnabled()
        assert not any(isinstance(item, pg.PlotItem) for item in plot.scene().items())


def test_ghost_is_drawn_when_it_is_set(bench):
    bench.store.set_ghost()
    bench.store.edit("weaken", ("mechanism", "springs", 0, "rate_n_per_mm"), 1.3)
    bench.settle()
    assert bench.board.curves.figure.trace("before") is not None
    bench.store.clear_ghost()
    bench.settle()
    assert bench.board.curves.figure.trace("before") is None


def test_many_edits_make_one_redraw(bench, monkeypatch):
    shown = []
    monkeypatch.setattr(bench.board.plan, "show_pose", lambda *a: shown.append(a))
    for n in range(5):
        bench.store.edit("bend", ("mechanism", "springs", 0, "tang_mm"), 0.1 * (n + 1))
    bench.settle()
    assert len(shown) == 1


def test_escape_gives_a_drag_up(bench):
    curves = bench.board.curves
    start = bench.spot(curves, curves.main, 900.0, 7.0)
    QTest.mousePress(curves.viewport(), LEFT, pos=start)
    for step in (10, 25, 40):
        move(curves.viewport(), QPoint(start.x(), start.y() - step))
        bench.settle()
    assert bench.store.docket != docket()
    QTest.keyClick(curves, Qt.Key.Key_Escape)
    bench.settle()
    assert bench.store.docket == docket()
    move(curves.viewport(), QPoint(start.x(), start.y() - 60))
    QTest.mouseRelease(curves.viewport(), LEFT, pos=start)
    bench.settle()
    assert bench.store.docket == docket()


def test_plan_speaks_in_the_frame_and_units_shown(bench):
    bench.board.set_speed(600.0)
    advance = bench.board.plan._posed.cam_deg
    stop, now, _, secondary = bench.board.plan._said
    assert (stop, now) == ("stop 10.5°", f"{advance:.1f}°")
    assert secondary.startswith("secondary, slack") and secondary.endswith("mm")
    bench.display.frame = "crank"
    bench.display.set_unit("length", "thou")
    bench.settle()
    stop, now, _, secondary = bench.board.plan._said
    assert (stop, now) == ("stop 21.0°", f"{2 * advance:.1f}°")
    assert secondary.endswith("thou")
