"""What an edit does not alter is not painted anew; what it alters is."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pyqtgraph
import pytest
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QColor, QFont, QImage, QPainter, QPen
from PySide6.QtWidgets import QApplication, QWidget

from bobweight.app.board.board import Board
from bobweight.app.board.plots import NumberAxis, draw_line, polygon
from bobweight.app.editors.row_model import RowModel
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.widgets.table import Column, TableModel
from bobweight.core.docket.file import read_docket
from bobweight.core.figure.description import Axis, Figure, Trace, alike, word
from bobweight.core.record import get
from tests.app.conftest import SAMPLES


class Painted(QObject):
    """Counts what is painted."""

    def __init__(self, **widgets: QWidget) -> None:
        super().__init__()
        self.count: Counter[str] = Counter()
        self._names = {widget: name for name, widget in widgets.items()}
        for widget in widgets.values():
            widget.installEventFilter(self)

    def eventFilter(self, watched, event):
        if event.type() == QEvent.Type.Paint:
            self.count[self._names[watched]] += 1
        return False


@pytest.fixture
def board(qtbot):
    store = Store()
    store.open_docket(read_docket(SAMPLES / "weak_primary.docket"), None)
    display = Display()
    made = Board(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(made)
    made.resize(1000, 800)
    made.show()
    settle()
    yield made
    made.close_down()


def settle() -> None:
    for _ in range(4):
        QApplication.processEvents()


def painted_by(board, path, value) -> Counter[str]:
    seen = Painted(
        curves=board.curves.viewport(), plan=board.plan, capsule=board.capsule.viewport()
    )
    board._store.edit("try", path, value)
    settle()
    return seen.count


def test_an_edit_of_the_capsule_paints_neither_mechanism_nor_curve(board):
    assert painted_by(board, ("capsules", 0, "start_kpa"), 14.0) == {"capsule": 1}


def test_an_edit_of_a_check_point_leaves_mechanism_and_capsule(board):
    assert painted_by(board, ("target", "points", 1, "least_deg"), 4.3) == {"curves": 1}


def test_an_edit_of_a_spring_paints_the_curve_and_the_mechanism(board):
    rate = ("mechanism", "springs", 0, "rate_n_per_mm")
    assert painted_by(board, rate, get(board._store.docket, rate) * 1.1) == {"curves": 1, "plan": 1}


def test_the_way_round_paints_the_mechanism(board):
    turned = {"clockwise": "anticlockwise"}.get(board._store.docket.particulars.rotation)
    seen = painted_by(board, ("particulars", "rotation"), turned or "clockwise")
    assert seen["plan"] == 1


def test_only_the_springs_of_the_drawing_follow_a_rate_and_all_of_it_a_place(board):
    frame, posed = board.plan.frame, board.plan.posed
    board._store.edit("try", ("mechanism", "springs", 0, "rate_n_per_mm"), 3.4)
    settle()
    assert board.plan.frame is frame
    assert board.plan.posed.springs[0].force_n != posed.springs[0].force_n
    board._store.edit("try", ("mechanism", "springs", 0, "tang_mm"), 0.6)
    settle()
    assert board.plan.frame is not frame
    board._store.edit("try", ("mechanism", "weights", "mass_g"), 40.0)
    settle()
    assert board.plan.frame.weights[0] is not frame.weights[0]


def test_the_plate_of_the_drawing_is_painted_anew_for_what_alters_it_alone(board, monkeypatch):
    from bobweight.app.board import plan

    painted: list[float] = []
    was = plan.paint_plate
    monkeypatch.setattr(
        plan,
        "paint_plate",
        lambda painter, mm, *rest: painted.append(mm) or was(painter, mm, *rest),
    )

    def looks_as_made_anew() -> None:
        settle()
        shown = board.plan.grab().toImage()
        board.plan._plate = None, None
        assert shown == board.plan.grab().toImage()
        painted.clear()

    looks_as_made_anew()
    board._store.edit("try", ("mechanism", "springs", 0, "rate_n_per_mm"), 3.4)
    board._store.edit("try", ("mechanism", "weights", "mass_g"), 40.0)
    settle()
    assert not painted
    looks_as_made_anew()
    turned = {"clockwise": "anticlockwise"}.get(board._store.docket.particulars.rotation)
    board._store.edit("try", ("particulars", "rotation"), turned or "clockwise")
    settle()
    assert len(painted) == 1
    looks_as_made_anew()
    board.resize(board.width() - 150, board.height() - 90)
    settle()
    assert len(painted) == 1
    looks_as_made_anew()
    palette = board.plan.palette()
    palette.setColor(palette.ColorRole.Base, QColor("#202020"))
    palette.setColor(palette.ColorRole.Window, QColor("#202020"))
    board.plan.setPalette(palette)
    settle()
    assert len(painted) == 1
    looks_as_made_anew()


def test_figures_are_alike_if_all_of_them_is():
    x = np.array([0.0, 1.0, np.nan])
    axis = Axis(word("torque-axis"), 0.0, 1.0)
    one = Figure(axis, axis, traces=(Trace("rising", x, x),))
    assert alike(one, Figure(axis, axis, traces=(Trace("rising", x.copy(), x.copy()),)))
    assert not alike(one, Figure(axis, axis, traces=(Trace("falling", x, x),)))
    assert not alike(one, Figure(axis, axis, traces=(Trace("rising", x, x + 1e-9),)))
    assert not alike(one, replace(one, traces=()))
    assert not alike(one, None)


def axis_image(axis, paint) -> QImage:
    image = QImage(axis.boundingRect().size().toSize(), QImage.Format.Format_RGB32)
    image.fill(0xFFFFFFFF)
    painter = QPainter(image)
    painter.translate(-axis.boundingRect().topLeft())
    paint(axis, painter, None, None)
    painter.end()
    return image


def test_an_axis_is_drawn_as_pyqtgraph_draws_it_whatever_changes(board):
    view, sheet = board.curves.main, board.curves
    larger = QFont(sheet.inks.font)
    larger.setPointSizeF(1.6 * larger.pointSizeF())
    axes = [*view.axes.values(), *board.curves.strip.axes.values()]
    x0, x1, y0, y1 = view._range
    changes = {
        "nothing": lambda: None,
        "range": lambda: view.set_range((x0, 0.7 * x1), (y0, 0.3 * y1)),
        "colour": lambda: [axis.setTextPen("#ff0000") for axis in axes],
        "type": lambda: [axis.setStyle(tickFont=larger) for axis in axes],
        "size": lambda: board.resize(board.width() - 200, board.height() - 90),
    }
    before: list[QImage] = []
    for name, change in changes.items():
        change()
        settle()
        ours = [axis_image(axis, NumberAxis.paint) for axis in axes]
        assert ours == [axis_image(axis, NumberAxis.paint) for axis in axes]
        for axis in axes:
            axis.picture = None
        theirs = [axis_image(axis, pyqtgraph.AxisItem.paint) for axis in axes]
        assert ours == theirs, name
        assert ours != before, name
        for axis in axes:
            axis.picture = None
        before = [axis_image(axis, NumberAxis.paint) for axis in axes]


def told_by(model) -> list[tuple[int, int]]:
    told: list[tuple[int, int]] = []
    model.dataChanged.connect(lambda first, last, *_: told.append((first.row(), last.row())))
    model.headerDataChanged.connect(lambda *_: told.append((-1, -1)))
    return told


def test_a_table_tells_of_the_row_that_was_edited_alone(qapp):
    store, display = Store(read_docket(SAMPLES / "weak_primary.docket")), Display()
    keys = ("speed_rpm", "least_deg", "most_deg")
    hints: dict[int, str] = {}
    model = RowModel(
        store, ("target", "points"), keys, display,
        hint=lambda row, key: hints.get(row) if key == "most_deg" else None,
    )  # fmt: skip
    model.show_again()
    told = told_by(model)
    store.edit("try", ("target", "points", 1, "least_deg"), 4.3)
    assert told == [(1, 1)]
    model.show_again()
    assert told == [(1, 1)]
    hints[2] = "guessed"
    model.show_again()
    assert told == [(1, 1), (2, 2)]
    store.undo_stack.undo()
    assert told == [(1, 1), (2, 2), (1, 1)]
    told.clear()
    display.frame = "crank"  # every row may read differently
    assert (0, len(model.records())) in told


def test_a_table_to_read_tells_of_the_rows_written_otherwise(qapp):
    written = {1: "one", 2: "two", 3: "three"}
    colours = {1: "", 2: "", 3: ""}
    model = TableModel([Column("", written.get, colour=colours.get)])
    model.show_rows([1, 2, 3])
    model.show_again()
    told = told_by(model)
    model.show_rows([1, 2, 3])
    assert told == []
    written[2] = "deux"
    model.show_rows([1, 2, 3])
    colours[3] = "#ff0000"
    model.show_again()
    assert told == [(1, 1), (2, 2)]
    written.update(dict.fromkeys(range(500), ""))
    model.show_rows(range(500))
    model.show_rows(range(500))  # of so many the view asks for those seen
    assert told == [(1, 1), (2, 2), (0, 499)]


def test_on_a_small_screen_what_is_out_of_sight_waits_for_its_thumbnail(board):
    rate = ("mechanism", "springs", 0, "rate_n_per_mm")
    board.set_small(True)
    board.shelf.thumbnails["plan"]._timer.setInterval(60_000)  # drawn here by hand
    settle()
    board.shelf.thumbnails["plan"].draw()
    before = board.plan.posed
    board._store.edit("try", rate, 2.9)
    settle()
    assert board.plan.posed is before
    board.shelf.thumbnails["plan"].draw()
    assert board.plan.posed is not before
    before = board.plan.posed
    board._store.edit("try", rate, 2.4)
    settle()
    board.show_large("plan")
    assert board.plan.posed is not before


def test_on_a_small_screen_the_torques_in_small_are_those_of_now(board):
    board.set_small(True)
    board.follow_page("mechanism")
    settle()
    board.shelf.thumbnails["pane"].draw()
    before = board.pane.plot.shown
    board._store.edit("try", ("mechanism", "springs", 0, "rate_n_per_mm"), 2.9)
    settle()
    board.shelf.thumbnails["pane"].draw()
    assert board.pane.current == "torque" and not alike(board.pane.plot.shown, before)


def test_a_picture_drawn_in_small_takes_no_room_from_the_large_one(board):
    board.set_small(True)
    board.follow_page("mechanism")
    settle()
    board.caption.setText("Two lines of words.\nThey are laid out anew for the grab.")
    board.shelf.thumbnails["curves"].draw()
    settle()
    assert board.halves.sizes() == [0, board.halves.height()]


COIL_X = np.linspace(20.0, 280.0, 241)
COIL_Y = 60.0 + 40.0 * np.sin(COIL_X * 0.4)


def inked(draw, pen: QPen, opacity: float = 1.0) -> np.ndarray:
    image = QImage(300, 120, QImage.Format.Format_RGB32)
    image.fill(0xFFFFFFFF)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setOpacity(opacity)
    painter.setPen(pen)
    draw(painter)
    painter.end()
    return np.frombuffer(image.constBits(), np.uint8).reshape(120, 300, 4).astype(int)


@pytest.mark.parametrize("opacity", [1.0, 0.4])
@pytest.mark.parametrize("dashed", [False, True])
@pytest.mark.parametrize("colour", ["#224466", "#80224466"])
def test_a_long_line_by_pieces_looks_like_the_whole_of_it(qapp, dashed, opacity, colour):
    pen = QPen(QColor(colour), 5.0)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap if dashed else Qt.PenCapStyle.RoundCap)
    if dashed:
        pen.setDashPattern([3.0, 2.0])
    ours = inked(lambda painter: draw_line(painter, COIL_X, COIL_Y), pen, opacity)
    whole = inked(lambda painter: painter.drawPolyline(polygon(COIL_X, COIL_Y)), pen, opacity)
    away = np.abs(ours - whole).max(axis=-1)
    if dashed or opacity < 1.0 or colour.startswith("#80"):  # a joint would show
        assert not away.any()
    else:
        assert away.max() < 70 and (away > 0).sum() < 0.03 * (whole < 255).any(axis=-1).sum()


def test_a_long_line_is_drawn_by_pieces(qapp):
    image, drawn = QImage(10, 10, QImage.Format.Format_RGB32), []
    painter = QPainter(image)
    painter.setPen(QPen(QColor("#224466"), 5.0, c=Qt.PenCapStyle.RoundCap))

    class Counted:
        def __getattr__(self, name):
            return getattr(painter, name)

        def drawPolyline(self, points):
            drawn.append(points.size())

    draw_line(Counted(), COIL_X, COIL_Y)
    painter.end()
    assert max(drawn) < 32 and sum(drawn) == len(COIL_X) + len(drawn) - 1
