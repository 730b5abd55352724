"""The Readings page in a small window: what stands in its tables is read, and found."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtWidgets import QApplication

from bobweight.core.docket.history import Alteration
from bobweight.core.record import put
from tests.samples import sample

ALTERED = "Fit a primary spring of about 2.7 N/mm, 1.5 times the 1.8 N/mm that the readings show"


@pytest.fixture
def readings(window, qtbot):
    """The page of the demo, judged."""
    window.resize(1280, 720)
    window.store.open_docket(sample("weak_primary"), None)
    window.show_page("readings")
    page = window.page("readings")
    qtbot.waitUntil(page.slips.isVisible, timeout=60_000)
    return page


def test_a_misreading_is_seen_in_its_row_and_the_link_leads_to_it(readings):
    table = readings.table
    note = table.model.keys.index("note")
    assert table.is_tight
    said = table.model.display_text(8, note)
    assert "misread" in said
    font = table.model.data(table.model.index(8, note), Qt.ItemDataRole.FontRole)
    assert font.italic()
    assert table.fontMetrics().horizontalAdvance(said) < table.view.columnWidth(note)
    readings.slips.linkActivated.emit("8")
    index = table.view.currentIndex()
    assert (index.row(), table.model.keys[index.column()]) == (8, "angle_deg")
    assert QApplication.focusWidget() is table.view


def test_a_low_window_shows_a_dozen_rows_with_the_buttons_below_them(readings):
    readings.cautions.button.setChecked(False)  # they are read: the table has their room
    QApplication.processEvents()
    view = readings.table.view
    rows = view.viewport().height() / view.verticalHeader().defaultSectionSize()
    assert rows > 10
    area = readings.scroll_area()
    button, top = readings.table.delete_button, view.mapTo(readings, view.rect().topLeft()).y()
    seen_px = button.mapTo(readings, button.rect().bottomLeft()).y() - top
    assert seen_px < area.viewport().height(), "the table and its buttons are seen together"


def test_what_was_altered_is_read_whole(readings, window):
    altered = Alteration(date="2026-03-14", what=ALTERED, amount=1.5, unit="times")
    window.store.replace("Altered", put(window.store.docket, ("history",), (altered,)))
    view = readings.history.view
    readings.sections.reveal(view)
    QApplication.processEvents()
    column = readings.history.model.keys.index("what")
    room = QRect(0, 0, view.columnWidth(column) - 8, 1000)
    needed = view.fontMetrics().boundingRect(room, Qt.TextFlag.TextWordWrap, ALTERED)
    assert view.rowHeight(0) >= needed.height() > view.rowHeight(1)
    assert needed.height() < 5 * view.fontMetrics().lineSpacing(), "not a column of single words"
    assert needed.width() <= room.width()
