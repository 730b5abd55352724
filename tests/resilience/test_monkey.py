"""A short run of random hands; the long ones are ``python -m tests.studies.monkey``."""

from __future__ import annotations

import pytest

from bobweight.app.window.main_window import MainWindow
from tests.resilience.monkey import Answering, Monkey, draw


@pytest.mark.parametrize("seed", [1])
def test_random_hands_do_no_harm(qtbot, tmp_path, seed):
    window = MainWindow(dialogs=Answering(tmp_path))
    window.begin()
    window.show()
    with Monkey(window, tmp_path) as monkey:
        assert monkey.play(draw(seed, 90)) == []
        assert monkey.undo_and_redo_all() == []
    window.dialogs.unsaved = lambda *_: "discard"
    assert window.close()
    window.deleteLater()


def test_events_are_the_same_for_the_same_seed():
    assert draw(3, 50) == draw(3, 50) != draw(4, 50)
