"""Tables out: read again by an independent reader, formulas made harmless."""

from __future__ import annotations

import csv
import io
import math

import pytest
from python_calamine import CalamineWorkbook

from bobweight.core.docket.readings import Reading
from bobweight.core.facade import judge
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import BobweightError
from bobweight.core.tables.export import TABLES, table_rows, write_table
from bobweight.core.tables.own import readings_rows
from bobweight.core.tables.source import read_source
from bobweight.core.tables.understanding import understand_source
from tests.samples import sample
from tests.tables.dialects import LAMP

EVIL = ("=1+2", "+1", "-1", "@x", "\t=1", "−1")


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
@pytest.mark.parametrize("what", TABLES)
def test_every_table_goes_out(what, suffix, tmp_path):
    path = tmp_path / f"t{suffix}"
    rows = table_rows(sample("weak_primary"), what)
    write_table(rows, path, what)
    if suffix == ".csv":
        found = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))
    else:
        found = CalamineWorkbook.from_path(path).get_sheet_by_index(0).to_python()
    assert len(found) == len(rows) > 1
    assert found[0] == rows[0]
    for cell, wanted in zip(found[1], rows[1], strict=False):
        if isinstance(wanted, float):  # a workbook holds sixteen digits
            assert float(cell) == pytest.approx(wanted, rel=1e-14)
        else:
            assert cell == wanted


def test_the_curve_is_the_predicted_one():
    docket = sample("small_four")
    rows = table_rows(docket, "curve")
    rising = [(s, a) for way, s, a in rows[1:] if way == "rising"]
    prediction = predict(docket.mechanism)
    assert rising == list(
        zip(prediction.rising.speed_rpm, prediction.rising.advance_deg, strict=True)
    )


def test_the_verdict_is_what_is_judged():
    """Of eight lobes the readings alone cannot tell at 550 rev/min, but all that is known can."""
    docket = sample("vee_eight")
    rows = table_rows(docket, "verdict")
    known = judge(docket)["check_points"]
    for key in ("speed_rpm", "verdict", "probability_inside"):
        column = rows[0].index("distributor_speed_rpm" if key == "speed_rpm" else key)
        told = [row[column] for row in rows[1:] if row[0] == "check"]
        assert told == pytest.approx(known[key]) if key != "verdict" else told == known[key]


def test_the_verdict_says_what_is_said_and_no_infinity():
    rows = table_rows(sample("weak_primary"), "verdict")
    verdict = rows[0].index("verdict")
    assert {row[verdict] for row in rows[1:]} <= {"inside", "outside", "cannot-tell", "cannot tell"}
    assert not any(isinstance(v, float) and not math.isfinite(v) for row in rows for v in row)


@pytest.mark.parametrize("note", EVIL)
def test_no_text_becomes_a_formula(note, tmp_path):
    rows = readings_rows([Reading(speed_rpm=1000.0, angle_deg=-3.0, note=note)], "lamp")
    write_table(rows, tmp_path / "t.csv")
    cells = next(
        csv.DictReader(io.StringIO((tmp_path / "t.csv").read_bytes().decode(), newline=""))
    )
    assert cells["note"] == "'" + note and cells["angle_deg"] == "-3.0"
    write_table(rows, tmp_path / "t.xlsx")
    sheet = (tmp_path / "t.xlsx").read_bytes()
    assert b"<f>" not in sheet
    for name in ("t.csv", "t.xlsx"):
        table = understand_source(read_source(tmp_path / name), "readings", LAMP)
        assert table.stored[0].note.strip() == note.strip()
        assert table.stored[0].angle_deg == -3.0


def test_another_ending_is_told(tmp_path):
    with pytest.raises(BobweightError, match="table-suffix-unknown"):
        write_table([["a"]], tmp_path / "t.doc")
