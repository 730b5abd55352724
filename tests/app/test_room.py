"""Nothing overlaps and no word is clipped: a short look at every page.

The whole grid of pages, sizes, themes and dockets is ``python -m tests.studies.room``.
"""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from bobweight.app.board.speed_bar import SpeedBar
from bobweight.app.widgets.table import Column, ReadTable
from bobweight.app.widgets.words import words
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


def test_a_table_fits_its_columns_to_other_words_and_to_type_of_another_size(qtbot):
    told = {0: "short", 1: "also short"}
    columns = [Column("Name", told.get), Column("Also", lambda _: "x"), Column("Last", str)]
    table = ReadTable("Names", columns, 5)
    qtbot.addWidget(table)
    table.resize(900, 200)
    table.show()
    table.show_rows([0, 1])
    narrow = table.columnWidth(0)
    told[0] = "a good deal longer than the others"
    table.show_rows([0, 1])
    wide = table.columnWidth(0)
    assert wide > narrow
    font = table.font()
    font.setPointSizeF(1.5 * font.pointSizeF())
    table.setFont(font)
    table.show_rows([0, 1])
    assert table.columnWidth(0) > wide
    heading = table.text_widths()[1]
    table.table_model.set_columns([columns[0], Column("Also a heading", lambda _: "x"), columns[2]])
    assert table.text_widths()[1] > heading


def test_words_tell_the_height_of_what_they_say_now(qtbot):
    said = words("One line.")
    qtbot.addWidget(said)
    said.show()
    one = said.heightForWidth(200)
    said.setText("Many words. " * 20)
    many = said.heightForWidth(200)
    assert many > 2 * one
    said.setText("Many words. " * 20)
    assert said.heightForWidth(200) == many
    font = said.font()
    font.setPointSizeF(2.0 * font.pointSizeF())
    said.setFont(font)
    assert said.heightForWidth(200) > many


def test_the_readout_of_the_speed_keeps_its_room_and_never_cuts_a_word(qtbot):
    bar = SpeedBar()
    qtbot.addWidget(bar)
    bar.keep_room("1234 rev/min, 12.3°")
    bar.resize(600, 60)
    bar.show()
    bar.show_speed(900.0, 2500.0, "900 rev/min")
    room = bar.readout.width()
    bar.show_speed(950.0, 2500.0, "950 rev/min, 9.9°")
    assert bar.readout.width() == room
    bar.show_speed(950.0, 2500.0, "950 rev/min and a good deal more to say of it")
    assert bar.readout.width() >= bar.readout.sizeHint().width() > room
