"""A few chains of edits; many more are ``python -m tests.studies.long_edited``."""

from __future__ import annotations

import pytest

from bobweight.app.window.main_window import MainWindow
from tests.app.conftest import Answers
from tests.resilience.long_edited import compared
from tests.samples import sample


@pytest.mark.timeout(300)
@pytest.mark.parametrize(("name", "seed"), [("small_four", 3), ("retard_capsule", 1)])
def test_a_window_long_worked_in_says_what_a_fresh_one_does(qtbot, window, name, seed):
    fresh = MainWindow(dialogs=Answers())
    qtbot.addWidget(fresh)
    fresh.show()
    wrong, done = compared(window, fresh, sample(name), seed, 15)
    assert not wrong, (wrong, done)
    fresh.dialogs.leave = "discard"
    fresh.close()
