"""Trays as tables: out and in again, other units, wrong lines."""

from __future__ import annotations

import pytest

from bobweight.core.design.tray import Tray, TraySpring
from bobweight.core.tables.own import csv_text, tray_rows
from bobweight.core.tables.understanding import understand_text
from tests.design.test_tray import HUNG


def test_the_table_goes_out_and_comes_in_again():
    other = TraySpring(label="b;c", rate_n_per_mm=7.5, free_length_mm=24.0, count=0,
                       u={"rate_n_per_mm": 0.1, "free_length_mm": 0.05})  # fmt: skip
    table = understand_text(csv_text(tray_rows(Tray(springs=(HUNG, other)))), "tray")
    assert table.sure and not table.refused
    first, second = table.stored
    assert second == other.with_changes(source=second.source)
    assert (first.label, first.count, first.rate_n_per_mm) == ("A, green paint", 3, 1.25)
    assert first.u == {"rate_n_per_mm": 0.02}
    assert first.note == HUNG.note and first.source.note == "bag 4"
    assert first.source.known_from == "hang"


def test_a_table_with_other_units_and_a_wrong_line():
    text = (
        "Label;Qty;Rate (lbf/in);Free length (in);Remarks\n"
        "light;2;7,14;0,85;thin wire\n"
        "bad;2;seven;0,85;\n"
        "heavy;x;60;22 mm;\n"
        "bent;1;40;22 mm;\n"
    )
    table = understand_text(text, "tray")
    # 1 lbf/in = 4.448222 N / 25.4 mm (NIST SP 811, App. B.8)
    assert table.stored[0].rate_n_per_mm == pytest.approx(7.14 * 4.448222 / 25.4, rel=1e-6)
    assert table.stored[0].free_length_mm == pytest.approx(0.85 * 25.4)
    assert [row.line for row in table.refused] == [3, 4]
    assert [row.problem.code for row in table.refused] == ["not-a-number", "not-whole"]
    assert table.stored[1].label == "bent" and table.stored[1].free_length_mm == 22.0
