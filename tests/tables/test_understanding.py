"""Tables understood: bands in a cell, wrong lines, choices by hand, the program's own tables."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bobweight.core.docket.readings import Reading
from bobweight.core.docket.target import CheckPoint, VacuumPoint
from bobweight.core.problems import BobweightError
from bobweight.core.tables.frames import Place
from bobweight.core.tables.grid import TEXT_LIMIT
from bobweight.core.tables.own import (
    check_point_rows,
    csv_text,
    readings_rows,
    vacuum_point_rows,
)
from bobweight.core.tables.understanding import understand_text
from bobweight.core.tables.understood import Choice
from tests.strategies import records
from tests.tables.dialects import LAMP, RIG

INHG_KPA = 3.386389  # NIST SP 811 (2008), App. B.8, conventional inch of mercury


def told(understanding):
    return [(row.line, row.problem.code) for row in understanding.refused]


def bands(understanding):
    return [(p.speed_rpm, p.least_deg, p.most_deg) for p in understanding.stored]


def test_wrong_lines_are_told_by_number_and_good_ones_kept():
    text = "rpm\t°\n1200\t12.5\n\nabc\t13\n1400\t\n1500\t200\n-5\t3\n1600\t1e999\n1700\t14\n"
    table = understand_text(text, "readings", LAMP)
    assert [r.speed_rpm for r in table.stored] == [1200.0, 1700.0]
    assert [row.line for row in table.rows if row.stored] == [2, 9]
    assert told(table) == [
        (4, "not-a-number"), (5, "missing"), (6, "above-limit"), (7, "below-limit"),
        (8, "not-a-number"),
    ]  # fmt: skip
    assert table.refused[2].problem.facts["field"] == "angle_deg"
    assert table.refused[2].problem.facts["limit"] == 120.0


def test_lines_are_counted_through_a_quoted_note_of_two_lines():
    table = understand_text(
        'rpm,deg,note\n1200,12,"warm,\nsecond run"\nx,13,\n1300,13,\n', "readings", LAMP
    )
    assert [r.note for r in table.stored] == ["warm,\nsecond run", ""]
    assert told(table) == [(4, "not-a-number")]


def test_a_single_quotation_mark_swallows_nothing():
    text = 'rpm\tdeg\tvacuum inHg\n1200\t12\t5"Hg\n1300\t13\n"1400\t14\n1500\t15'
    table = understand_text(text, "readings", LAMP)
    assert [r.speed_rpm for r in table.stored] == [1200.0, 1300.0, 1500.0]
    assert table.stored[0].depression_kpa == pytest.approx(5 * INHG_KPA)
    assert told(table) == [(4, "not-a-number")]


@pytest.mark.parametrize(
    ("cell", "least", "most"),
    [("12.5–14", 12.5, 14), ("12,5–14", 12.5, 14), ("12.5-14", 12.5, 14), ("12.5 - 14", 12.5, 14),
     ("12.5 — 14°", 12.5, 14), ("12.5 to 14", 12.5, 14), ("12.5...14", 12.5, 14),
     ("12.5° to 14°", 12.5, 14), ("13 ± 1", 12, 14), ("13±1°", 12, 14), ("13 +/- 1", 12, 14),
     ("13 +- 0,5", 12.5, 13.5), ("-1–1", -1, 1), ("−1 ± 0.5", -1.5, -0.5)],
)  # fmt: skip
def test_least_and_most_in_one_cell(cell: str, least: float, most: float):
    for text in (f"1200\t{cell}", f"rpm;deg\n1200;{cell}", f"rpm deg\n1200 {cell}"):
        table = understand_text(text, "target")
        assert told(table) == []
        assert bands(table) == [(1200.0, least, most)]


def test_one_angle_alone_is_taken_with_advice():
    table = understand_text("rpm deg\n920 7.8", "target")
    assert bands(table) == [(920, 7.8, 7.8)]
    assert [(p.code, p.grave) for row in table.rows for p in row.advice] == [("no-band", False)]


def test_nothing_and_too_much():
    for text in ("", "\n \n\t\n", "#\n"):
        with pytest.raises(BobweightError, match="table-empty"):
            understand_text(text, "readings")
    with pytest.raises(BobweightError, match="table-too-large"):
        understand_text("1" * (TEXT_LIMIT + 1), "readings")
    assert len(understand_text("rpm\tdeg\tnote\n1\t2\t" + "x" * 200_000, "readings").stored) == 1


def test_a_choice_by_hand_makes_a_column_sure_and_may_name_unit_and_frame():
    text = "1200\t2\t5\n1500\t3\t6\n"
    chosen = {
        1: Choice("speed_rpm"),
        2: Choice("angle_deg", frame="distributor"),
        3: Choice("depression_kpa", "inHg"),
    }
    table = understand_text(text, "readings", LAMP, chosen)
    assert table.sure and [c.reason for c in table.columns] == ["chosen"] * 3
    assert [(r.angle_deg, round(r.depression_kpa, 3)) for r in table.stored] == [
        (12.0, round(5 * INHG_KPA, 3)),
        (14.0, round(6 * INHG_KPA, 3)),
    ]


def test_a_choice_keeps_the_unit_that_the_heading_names():
    table = understand_text("n (Hz),x\n20,12\n", "readings", LAMP,
                            {1: Choice("speed_rpm", "Hz"), 2: Choice("angle_deg")})  # fmt: skip
    assert table.stored[0].speed_rpm == 1200.0
    table = understand_text("speed (Hz),x\n20,12\n", "readings", LAMP,
                            {1: Choice("speed_rpm"), 2: Choice("angle_deg")})  # fmt: skip
    assert table.stored[0].speed_rpm == 1200.0


@pytest.mark.parametrize(
    ("chosen", "code"),
    [
        ({9: Choice("speed_rpm")}, "no-such-column"),
        ({1: Choice("speed_rpm", "km")}, "unknown-unit"),
    ],
)
def test_a_choice_that_cannot_be_is_told(chosen, code):
    with pytest.raises(BobweightError, match=code):
        understand_text("rpm,deg\n1,2\n", "readings", LAMP, chosen)


# The program's own tables ---------------------------------------------------------------------


@settings(max_examples=150, deadline=None)
@given(st.lists(records(Reading), max_size=6))
def test_readings_come_back_identically(readings: list[Reading]):
    table = understand_text(csv_text(readings_rows(readings, "lamp")), "readings", LAMP)
    assert table.sure and told(table) == []
    assert list(table.stored) == readings


def test_what_the_program_wrote_is_no_thousand():
    """A speed of its own with three places is to the letter, though another's would be asked."""
    points = [CheckPoint(speed_rpm=1.375, least_deg=1.5, most_deg=2.25)]
    text = csv_text(check_point_rows(points, "distributor"))
    assert list(understand_text(text, "target").stored) == points
    (refused,) = understand_text("rpm;deg\n1.375;1.5-2.25\n900;8-9\n", "target").refused
    assert refused.problem.code == "comma-ambiguous"


@settings(max_examples=50, deadline=None)
@given(st.lists(records(CheckPoint), max_size=6), st.lists(records(VacuumPoint), max_size=6))
def test_check_points_come_back_identically(points, vacuum):
    text = csv_text(check_point_rows(points, "distributor"))
    assert list(understand_text(text, "target").stored) == points
    text = csv_text(vacuum_point_rows(vacuum, "distributor"))
    for kind in ("vacuum", "target"):
        assert list(understand_text(text, kind).stored) == vacuum


def test_own_figures_go_to_another_frame_converted():
    readings = [Reading(speed_rpm=1200.0, angle_deg=12.0, u={"angle_deg": 1.0})]
    text = csv_text(readings_rows(readings, "lamp"))
    (row,) = understand_text(text, "readings", RIG).stored
    assert (row.speed_rpm, row.angle_deg, row.u["angle_deg"]) == (600.0, 2.0, 0.5)
    text = csv_text(check_point_rows([CheckPoint(speed_rpm=2400.0, least_deg=10.0)], "crank"))
    (point,) = understand_text(text, "target", Place()).stored
    assert (point.speed_rpm, point.least_deg, point.most_deg) == (1200.0, 5.0, None)


def test_the_csv_is_headed_by_field_names():
    text = csv_text(
        readings_rows([Reading(speed_rpm=1200.0, angle_deg=12.5, u={"angle_deg": 0.5})], "rig")
    )
    assert text.split("\r\n") == [
        "speed_rpm,angle_deg,direction,depression_kpa,left_out,note,"
        "u_speed_rpm,u_angle_deg,u_depression_kpa,read_with",
        "1200.0,12.5,unknown,,no,,,0.5,,rig",
        "",
    ]


@pytest.mark.parametrize("note", ["=1+1", "+1", "-1", "@sum(a1)", "\tx", "−3", "'=kept", "''=x"])
def test_a_cell_that_could_be_a_formula_goes_out_harmless_and_comes_back(note):
    text = csv_text(readings_rows([Reading(speed_rpm=1.0, angle_deg=-2.0, note=note)]))
    cells = text.split("\r\n")[1].split(",")
    assert cells[1] == "-2.0"  # a number is none
    assert cells[5].strip('"')[0] == "'"
    assert understand_text(text, "readings", RIG).stored[0].note == note


def test_the_csv_still_reads_after_a_spreadsheet_has_saved_it_its_own_way():
    heading = "speed_rpm;angle_deg;direction;depression_kpa;left_out;note"
    text = f"{heading}\r\n1200;12,5;rising;1,5;yes;x\r\n"
    (row,) = understand_text(text, "readings", LAMP).stored
    assert row == Reading(
        speed_rpm=1200.0, angle_deg=12.5, direction="rising", depression_kpa=1.5, left_out=True,
        note="x",
    )  # fmt: skip


def test_wrong_cells_of_the_own_csv_are_told():
    heading = "speed_rpm,angle_deg,direction,u_angle_deg,colour"
    lines = ("1200,x,rising,,", "1200,1,sideways,,", "1,2,rising,0,", "1,2,rising,1,red")
    table = understand_text("\n".join((heading, *lines)), "readings", LAMP)
    assert told(table) == [
        (2, "not-a-number"), (3, "not-an-option"), (4, "uncertainty-not-positive"),
    ]  # fmt: skip
    assert len(table.stored) == 1
    assert table.columns[4].meaning == "ignored"


@settings(max_examples=300, deadline=None)
@given(
    st.text(
        st.sampled_from("0123456789.,;|\t \n\r\"'-–±+eE°rpmHgindirection#x\u00a0\0=/½"),
        max_size=60,
    )
)
def test_no_text_raises_but_an_empty_one(text: str):
    for kind in ("readings", "target", "vacuum", "tray"):
        try:
            table = understand_text(text, kind)
        except BobweightError as error:
            assert error.problem.code == "table-empty"
            continue
        assert all("line" in row.problem.facts for row in table.refused)
        assert all(row.problem or row.stored or row.settings for row in table.rows)
