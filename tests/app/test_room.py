"""Nothing overlaps and no word is clipped: a short look at every page.

The whole grid of pages, sizes, themes and dockets is ``python -m tests.studies.room``.
"""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from bobweight.app.widgets.table import Column, ReadTable
from tests.studies.room import KINDS, faults_in, faults_of_window, fill_tray, settle


@pytest.mark.parametrize("kind", ["empty", "wrong", "longest words", "most columns"])
def test_nothing_overlaps_and_no_word_is_clipped(qtbot, window, kind, tmp_path):
    KINDS[kind](window, tmp_path)
    fill_tray(window, kind)
    opened = kind in ("longest words", "most columns")
    assert faults_of_window(window, (1350, 692), wait=False, opened=opened) == []


def test_larger_type_keeps_its_words_whole(qtbot, window, tmp_path):
    KINDS["demo"](window, tmp_path)
    window.show()
    window.resize(1350, 692)
    try:
        window.set_zoom(150)
        settle()
        assert list(faults_in(window.centralWidget())) == []
        bar = window.board.speed_bar
        assert bar.falling.geometry().right() < bar.width() and bar.tallest_px() <= bar.height()
    finally:
        window.set_zoom(100)


def test_the_measure_itself_finds_what_is_wrong(qtbot):
    holder = QWidget()
    qtbot.addWidget(holder)
    row = QHBoxLayout(holder)
    clipped, over = QPushButton("Take the guessed directions"), QPushButton("Done")
    row.addWidget(clipped)
    row.addWidget(over)
    holder.show()
    assert list(faults_in(holder)) == []
    clipped.setGeometry(10, 10, 60, 32)
    over.setGeometry(40, 10, 60, 32)
    said = " ".join(faults_in(holder))
    assert "needs" in said and "lies over" in said


def test_the_measure_sees_a_table_that_scrolls_sideways_or_cuts_a_heading(qtbot):
    table = ReadTable("Narrow", [Column(f"A heading {n}", str, True) for n in range(3)], 5)
    qtbot.addWidget(table)
    table.show_rows(range(4))
    table.resize(120, 200)
    table.show()
    assert "sideways" in " ".join(faults_in(table))
    table.resize(900, 200)
    assert list(faults_in(table)) == []
    table.setColumnWidth(0, 20)
    assert "cuts the headings A heading 0" in " ".join(faults_in(table))
