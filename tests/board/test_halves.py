"""How the board shares its height: both pictures of a large screen are large, and what has no room
is left out on purpose. The sizes are those of boards in windows of 1920 × 1080 and 1366 × 768."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication

from bobweight.app.board.board import Board
from bobweight.app.board.curves import STRIP_FROM_PX
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from tests.board.dockets import docket

LARGE, USUAL = (905, 990), (784, 673)


@pytest.fixture
def board(qtbot):
    store, display = Store(docket()), Display()
    made = Board(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(made)
    made.resize(*LARGE)
    made.show()
    qtbot.waitExposed(made)
    yield made
    store.release()


def resized(board: Board, size: tuple[int, int]) -> None:
    board.resize(*size)
    QApplication.processEvents()


@pytest.mark.parametrize("page_first", [True, False])
def test_beside_the_form_the_curve_of_a_large_screen_is_large_too(board, page_first):
    """It was 117 px high, under a drawing with empty paper over and under it."""
    if not page_first:
        resized(board, USUAL)
    board.follow_page("mechanism")
    resized(board, LARGE)
    assert board.curves.height() >= 400 and board.curves.strip.plot.isVisible()
    assert board.plan.height() >= 400
    assert abs(board.plan.height() - board.plan.width()) <= 2, "the drawing has its square"
    usual = board.halves.sizes()
    board.follow_page("target")
    assert board.halves.sizes() != usual


def test_a_low_curve_stands_alone_and_has_its_speeds_below(board):
    resized(board, USUAL)
    board.follow_page("mechanism")
    QApplication.processEvents()
    curves = board.curves
    assert curves.height() < STRIP_FROM_PX and not curves.strip.plot.isVisible()
    assert curves.main.box.height() > 0.7 * curves.height()
    assert "rev/min" in curves.main.axes["bottom"].labelText
    board.follow_page("target")
    QApplication.processEvents()
    assert curves.strip.plot.isVisible() and not curves.main.axes["bottom"].labelText


def test_what_a_hand_shared_out_stays(board):
    board.follow_page("mechanism")
    QApplication.processEvents()
    board.halves.moveSplitter(300, 1)
    resized(board, (LARGE[0], LARGE[1] - 40))
    assert board.halves.sizes()[0] < 330
