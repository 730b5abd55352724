"""Curves laid over the board: shown in the frame shown, named, and gone when taken away."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QPointF
from PySide6.QtWidgets import QApplication

from bobweight.app.board.board import Board
from bobweight.app.board.capsule import CapsulePlot
from bobweight.app.board.overlays import strong_line
from bobweight.app.board.plots import PlotSheet
from bobweight.app.board.series import NO_MARKS, capsule_series
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.store.overlay import Overlay, OverlayBand, OverlayCurve
from bobweight.core.judgement.outcome import outcome
from bobweight.core.record import put
from tests.board.dockets import docket

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
    return [label.words for label in board.curves._wanted_labels(board.curves.series)]


def test_shown_named_and_taken_away(board):
    bare = picture(board)
    curves = (OverlayCurve(SPEED, ADVANCE), OverlayCurve(SPEED, ADVANCE + 1, "A1 + B2", True))
    board._feed.show_overlay(Overlay(curves))
    assert picture(board) != bare
    assert "A1 + B2" in labels(board)
    board._feed.show_overlay(None)
    assert picture(board) == bare and "A1 + B2" not in labels(board)


def test_a_band_is_filled_and_named(board):
    bare = picture(board)
    band = OverlayBand(SPEED, ADVANCE - 1, ADVANCE + 1, "95 of 100")
    board._feed.show_overlay(Overlay(bands=(band,)))
    shown = picture(board)
    assert shown != bare and "95 of 100" in labels(board)
    scale = board.curves.main.scale()
    assert scale is not None


def test_crank_figures_are_twice_the_distributors():
    overlay = Overlay((OverlayCurve(SPEED, ADVANCE, "x", True),))
    words, line = strong_line(overlay, 2.0, 4000.0)
    assert words == "x"
    assert line.x[-1] == 4000.0, "drawn on flat to the end of the axis"
    assert np.array_equal(line.x[:-1], 2 * SPEED)
    assert np.array_equal(line.y, 2 * np.append(ADVANCE, ADVANCE[-1]))
    assert strong_line(Overlay((OverlayCurve(SPEED, ADVANCE),)), 1.0, 100.0) is None


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
    made = outcome(put(docket(), ("capsule", "full_kpa"), 1.0))
    series = capsule_series(made, None, 1.0, lambda kpa: kpa, 1.0)
    assert series.rising is None and series.marks.x.size
    x, y = float(series.marks.x[0]), float(series.marks.y[0])
    plot = CapsulePlot()
    qtbot.addWidget(plot)
    plot.resize(360, 300)
    plot.show()
    qtbot.waitExposed(plot)

    def ink(shown, words: str) -> np.ndarray:
        plot.show_series(shown, words)
        QApplication.processEvents()
        image = plot.grab().toImage()
        spot = plot.mapFromScene(plot.view.box.mapToScene(
            QPointF(plot.view.scale().x(x), plot.view.scale().y(y))))  # fmt: skip
        return np.array([[image.pixel(spot.x() + i, spot.y() + j) for i in range(-7, 8)]
                         for j in range(-7, 8)])  # fmt: skip

    return series, x, y, ink


def test_words_in_place_of_a_curve_hide_no_reading(low_reading):
    """The reading lies where the words stand, along the lower edge."""
    series, _, y, ink = low_reading
    low = replace(series, y_range=(y - 2.0, y + 20.0))
    words = "The words that say why there is no curve. " * 3
    assert (ink(low, words) != ink(replace(low, marks=NO_MARKS), words)).sum() > 20


def test_words_in_place_of_a_curve_keep_off_a_reading_at_the_lower_edge(low_reading):
    """What is seen of a reading left of the middle is the same without words."""
    series, x, y, ink = low_reading
    low = replace(series, bars=(), x_range=(x - 3.0, x + 7.0), y_range=(y - 2.0, y + 18.0))
    words = "The figures contradict each other: see Vacuum."
    assert np.array_equal(ink(low, words), ink(low, ""))


def test_a_long_name_is_in_two_lines_beside_the_curve_of_a_narrow_plot(qtbot):
    series = capsule_series(outcome(docket()), None, 1.0, lambda kpa: kpa, 1.0)
    series = replace(series, same=True)
    plot = CapsulePlot()
    qtbot.addWidget(plot)
    for width, words in ((700, "rising and falling"), (240, "rising and\nfalling")):
        plot.resize(width, 300)
        plot.show_series(series)
        plot.show()
        qtbot.waitExposed(plot)
        QApplication.processEvents()
        (label,), places = plot._label_places(plot.view.scale())
        assert label.words == words and set(places) == {"rising"}


def test_words_of_no_advance_stand_off_its_line_and_off_the_readings(board):
    picture(board)
    plot, series = board.curves, board.curves.series
    scale = plot.main.scale()
    labels, places = plot._label_places(scale)
    label = next(label for label in labels if label.key == "below")
    (_, width, height), place = plot.inks.text(label.words), places["below"]
    line = float(scale.x(series.no_advance_below))
    foot, top = float(scale.y(0.0)), float(scale.y(label.y))
    beside = place.x + width < line - 7 or place.x > line
    assert beside or place.y + height <= top or place.y >= foot
    x, y = scale.x(series.marks.x), scale.y(series.marks.y)
    across = (x + 6 > place.x) & (x - 6 < place.x + width)
    assert not (across & (y > place.y) & (y < place.y + height)).any()
