"""Screen and paper show one figure: what it holds is decided once."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from bobweight.app.board.board import Board
from bobweight.app.paper.output import describe
from bobweight.app.paper.words import worded
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import read_docket
from bobweight.core.judgement.outcome import outcome
from bobweight.core.record import put
from bobweight.core.sheet.description import Text
from tests.board.dockets import words_on

SAMPLES = Path(__file__).parents[2] / "sample_curves"


def said_on_paper(docket: Docket) -> set[str]:
    page, *_overleaf = describe(outcome(docket)).pages
    return {worded(e.text) for e in page.elements if isinstance(e, Text)}


def said_on_the_board(docket: Docket, qtbot) -> set[str]:
    store, display = Store(docket), Display()
    board = Board(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(board)
    board.resize(900, 800)
    board.show()
    qtbot.waitExposed(board)
    QApplication.processEvents()
    store.release()
    assert board.curves.figure is not None
    return {words.replace("\n", " ") for words in words_on(board.curves)}


@pytest.mark.parametrize(("stick_nmm", "one"), [(0.05, True), (6.0, False)])
def test_one_curve_or_two_is_the_same_on_screen_and_paper(qtbot, stick_nmm: float, one: bool):
    """Friction too small to be seen parts the two branches by a thousandth of a degree."""
    docket = read_docket(SAMPLES / "weak_primary.docket")
    docket = put(put(docket, ("mechanism", "grip"), 0.0), ("mechanism", "stick_nmm"), stick_nmm)
    for said in (said_on_paper(docket), said_on_the_board(docket, qtbot)):
        assert ("predicted, rising" in said) == (not one)
        assert ("predicted, falling" in said) == (not one)
