"""Whatever cannot be used says why: prints, measuring, preferences, the timing-light session."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton, QWidget

from bobweight.app.prints.kinds import KINDS
from bobweight.core.docket.docket import new_docket
from tests.app.reasons import unexplained


@pytest.fixture(params=["demo", "empty"])
def filled(request, window, demo):
    """The window with the demo, and with an empty docket."""
    window.store.open_docket(demo if request.param == "demo" else new_docket(), None)
    window.feed.tell()
    return window


def test_a_tip_that_tells_what_it_would_do_is_no_reason(qtbot):
    holder = QWidget()
    qtbot.addWidget(holder)
    made = QPushButton("Weigh", holder)
    made.setToolTip("Weighs it.")
    made.setEnabled(False)
    holder.show()
    assert unexplained(holder) == ["Weigh"]


@pytest.mark.parametrize("key", KINDS)
def test_of_a_print(key, filled, qtbot):
    dialog = filled.show_print(key)
    qtbot.waitUntil(lambda: dialog.preview.description is not None or dialog.said.text() != "")
    assert not unexplained(dialog)
    dialog.close()


@pytest.mark.parametrize("asked", ["open_typical", "open_outline", "open_turn", "open_picture"])
def test_of_measuring(asked, filled):
    page = filled.page("mechanism")
    dialog = getattr(page, asked)()
    assert dialog.isVisible() and not unexplained(dialog)
    dialog.close()


def test_of_the_window_and_its_bar(filled):
    assert not unexplained(filled)


@pytest.mark.parametrize("asked", ["preferences", "find"])
def test_of_what_the_menus_open(asked, filled):
    dialog = getattr(filled.habits, asked)()
    assert dialog.isVisible() and not unexplained(dialog)
    dialog.close()


def test_of_the_timing_light_session(filled, qtbot):
    """Before its cautions are seen to, and after; the bar over it too, whose frame is held."""
    qtbot.waitUntil(filled.isActiveWindow)
    filled.begin_timing()
    assert not unexplained(filled)
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
    assert filled.timing.acknowledged and not unexplained(filled)
    assert "what the instrument shows" in filled.timing.title.text()
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Escape)
    assert filled.display_bar.frame_box.isEnabled()
