"""Curves laid over the board: shown in the frame shown, named, and gone when taken away."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QPointF
from PySide6.QtWidgets import QApplication

from bobweight.app.board.board import Board
from bobweight.app.board.capsule import CapsulePlot
from bobweight.app.board.paint import RING_PX
from bobweight.app.board.plots import PlotSheet
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.core.figure.overlay import Overlay, OverlayBand, OverlayCurve
from bobweight.core.figure.place import Asking, Ground, place_words
from bobweight.core.figure.vacuum import vacuum_figure
from bobweight.core.figure.view import view_of
from bobweight.core.judgement.outcome import outcome
from bobweight.core.record import put
from tests.board.dockets import docket, words_on

SPEED = np.array([0.0, 400.0, 900.0, 1500.0])
ADVANCE = np.array([0.0, 0.0, 6.0, 9.0])


@pytest.fixture
def board(qtbot):
    store, display = Store(docket()), Display()
    board = Board(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(board)
    board.resize(900, 700)
    board.show()
    qtbot.waitExposed(board)
    yield board
    store.release()


def picture(board):
    QApplication.processEvents()
    board.redraw()
    return board.curves.grab().toImage()


def labels(board) -> list[str]:
    return words_on(board.curves)


def test_shown_named_and_taken_away(board):
    bare = picture(board)
    curves = (OverlayCurve(SPEED, ADVANCE), OverlayCurve(SPEED, ADVANCE + 1, "A1 + B2", True))
    board._feed.show_overlay(Overlay(curves))
    assert picture(board) != bare
    assert "A1 + B2" in labels(board)
    board._feed.show_overlay(None)
    picture(board)
    assert board.curves.figure.trace("chosen") is None and "A1 + B2" not in labels(board)


def test_a_band_is_filled_and_named(board):
    bare = picture(board)
    band = OverlayBand(SPEED, ADVANCE - 1, ADVANCE + 1, "95 of 100")
    board._feed.show_overlay(Overlay(bands=(band,)))
    shown = picture(board)
    assert shown != bare and "95 of 100" in labels(board)
    scale = board.curves.main.scale()
    assert scale is not None


def test_the_band_of_falling_speed_beside_it_is_named_too(board):
    bands = (OverlayBand(SPEED, ADVANCE - 1, ADVANCE + 1, "95 of 100"),
             OverlayBand(SPEED, ADVANCE - 3, ADVANCE + 3))  # fmt: skip
    board._feed.show_overlay(Overlay(bands=bands))
    picture(board)
    assert {"95 of 100", "as many, falling"} <= set(labels(board))


def test_words_of_an_axis_stand_in_its_middle(qtbot):
    sheet = PlotSheet()
    qtbot.addWidget(sheet)
    view = sheet.add_view(0)
    sheet.resize(400, 260)
    sheet.show()
    qtbot.waitExposed(sheet)
    for words in ("Advance, distributor °", "Advance, crank ° before top dead centre"):
        view.set_labels(words)
        axis = view.axes["left"]
        label = axis.label.mapRectToParent(axis.label.boundingRect())
        assert label.center().y() == pytest.approx(axis.size().height() / 2, abs=2.0)


@pytest.fixture
def low_reading(qtbot):
    """A capsule plot without a curve, what it shows, and the ink about its first reading."""
    made = put(docket(), ("capsules", 0, "full_kpa"), 1.0)
    figure = vacuum_figure(outcome(made), view_of(made))
    assert not figure.traces and len(figure.marks())
    x, y = float(figure.marks().x[0]), float(figure.marks().y[0])
    plot = CapsulePlot()
    qtbot.addWidget(plot)
    plot.resize(360, 300)
    plot.show()
    qtbot.waitExposed(plot)

    def ink(shown, words: str) -> np.ndarray:
        plot.show_vacuum(shown, "kPa", words)
        QApplication.processEvents()
        image = plot.grab().toImage()
        spot = plot.mapFromScene(plot.main.box.mapToScene(
            QPointF(plot.main.scale().x(x), plot.main.scale().y(y))))  # fmt: skip
        return np.array([[image.pixel(spot.x() + i, spot.y() + j) for i in range(-7, 8)]
                         for j in range(-7, 8)])  # fmt: skip

    return figure, x, y, ink


def test_words_in_place_of_a_curve_hide_no_reading(low_reading):
    """The reading lies where the words stand, along the lower edge."""
    figure, _, y, ink = low_reading
    low = replace(figure, y=replace(figure.y, low=y - 2.0, high=y + 20.0))
    words = "The words that say why there is no curve. " * 3
    assert (ink(low, words) != ink(replace(low, dots=()), words)).sum() > 20


def test_words_in_place_of_a_curve_keep_off_a_reading_at_the_lower_edge(low_reading):
    """What is seen of a reading left of the middle is the same without words."""
    figure, x, y, ink = low_reading
    low = replace(figure, gates=(), x=replace(figure.x, low=x - 3.0, high=x + 7.0),
                  y=replace(figure.y, low=y - 2.0, high=y + 18.0))  # fmt: skip
    words = "The figures contradict each other: see Vacuum."
    assert np.array_equal(ink(low, words), ink(low, ""))


def test_a_long_name_is_in_two_lines_on_a_narrow_plot(qtbot):
    figure = vacuum_figure(outcome(docket()), view_of(docket()))
    plot = CapsulePlot()
    qtbot.addWidget(plot)
    for width, words in ((700, "predicted, rising"), (240, "predicted,\nrising")):
        plot.resize(width, 300)
        plot.show_vacuum(figure, "kPa")
        plot.show()
        qtbot.waitExposed(plot)
        QApplication.processEvents()
        assert words in words_on(plot)


def test_a_reading_beyond_the_plot_is_shown_at_its_border_and_can_be_taken(board):
    wild = put(docket(), ("sessions", 0, "readings", 0, "angle_deg"), 118.0)
    board._store.replace("wild", wild)
    picture(board)
    plot = board.curves
    marks = plot.figure.marks()
    i = int(np.argmax(marks.y))
    assert marks.y[i] > plot.figure.y.high
    at = QPointF(plot.main.scale().x(marks.x[i]), 7.0)
    grip = plot.grip_at(plot.main.box.mapToScene(at))
    assert (grip.kind, grip.index, grip.y) == ("reading", 0, pytest.approx(marks.y[i]))


def test_words_at_a_reading_stand_clear_of_its_ring(board):
    """They touched it, and its arc stood for a letter."""
    made = place_words([Asking("slip", (9.0, 1.0), np.array([(18.0, 9.0)]), (1.0, 0.0))],
                       Ground(36.0, 19.0, *[np.zeros((0, 2))] * 3))["slip"]  # fmt: skip
    away = np.hypot(max(made.x - 18.0, 0.0), max(made.y - 9.0, 9.0 - made.y - 1.0, 0.0))
    inks = board.curves.inks
    assert away * inks.line_px > RING_PX + 0.5 * inks.ring.widthF() + 1.0
