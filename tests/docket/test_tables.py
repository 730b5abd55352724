"""Pasted tables: every separator, decimal marks, units, headings; wrong lines told by number."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bobweight.core.docket.readings import Reading
from bobweight.core.docket.tables import (
    TEXT_LIMIT,
    check_points_csv,
    parse_check_points,
    parse_readings,
    parse_vacuum_points,
    readings_csv,
    vacuum_points_csv,
)
from bobweight.core.docket.target import CheckPoint, VacuumPoint
from bobweight.core.problems import BobweightError
from tests.strategies import records

INHG_KPA = 3.386389  # NIST SP 811 (2008), App. B.8, conventional inch of mercury


def figures(table):
    return [(r.speed_rpm, r.angle_deg, r.direction, r.depression_kpa, r.note) for r in table.rows]


def bands(table):
    return [(p.speed_rpm, p.least_deg, p.most_deg) for p in table.rows]


def told(table):
    return [(problem.facts["line"], problem.code) for problem in table.problems]


@pytest.mark.parametrize(
    "text",
    [
        "1200\t12.5\n1500\t14.25\n",
        "1200\t12,5\r\n1500\t14,25\r\n",
        "1200;12,5\n1500;14,25",
        "1200;12.5\n1500;14.25",
        "1200,12.5\n1500,14.25",
        "1200, 12.5\n1500, 14.25",
        '"1200","12.5"\n"1500","14.25"',
        '"1200","12,5"\n"1500","14,25"',
        "1200 12.5\n1500 14.25",
        "  1200   12,5  \n\n\n  1500   14,25",
        "1,200 12.5\n1,500 14.25",
        "1.200\t12,5\n1.500\t14,25",
        "1 200;12,5\n1 500;14,25",
        "1\u202f200\t12,5\n1\u202f500\t14,25",
        "\ufeffrpm;°\n1200;12,5\n1500;14,25",
        "# by hand\n1200 rpm 12.5 deg\n1500 rpm 14.25°",
        "20 rev/s\t12.5\n25 rev/s\t14.25",
        "rev/s\tdeg\n20\t12.5\n25\t14.25",
    ],
)
def test_speed_and_angle_in_any_dress(text: str):
    table = parse_readings(text)
    assert table.problems == ()
    assert [(r.speed_rpm, r.angle_deg) for r in table.rows] == [(1200.0, 12.5), (1500.0, 14.25)]


def test_what_follows_may_stand_in_any_order():
    table = parse_readings(
        "1200 12.5 rising\n1300 13 up 40\n1400 14 40 down pipe on\n1500 15 ragged"
    )
    assert table.problems == ()
    assert figures(table) == [
        (1200.0, 12.5, "rising", None, ""),
        (1300.0, 13.0, "rising", 40.0, ""),
        (1400.0, 14.0, "falling", 40.0, "pipe on"),
        (1500.0, 15.0, "unknown", None, "ragged"),
    ]


def test_a_heading_tells_columns_units_and_frame():
    table = parse_readings(
        "note\tvacuum inHg\tcrank °\tengine rpm\tdirection\nwarm\t5\t20\t1800\tup\n"
    )
    assert figures(table) == [(1800.0, 20.0, "rising", pytest.approx(5 * INHG_KPA), "warm")]
    assert (table.speed_frame, table.angle_frame) == ("crank", "crank")
    table = parse_readings("distributor rpm   degrees   mmHg\n900   10   100")
    assert (table.speed_frame, table.angle_frame) == ("distributor", None)
    assert table.rows[0].depression_kpa == pytest.approx(13.33224)  # NIST SP 811, 133.3224 Pa


def test_the_heading_may_take_two_lines():
    table = parse_readings("Speed;Angle;Vacuum\nrpm;°;mbar\n1200;12,5;100\n")
    assert figures(table) == [(1200.0, 12.5, "unknown", 10.0, "")]
    assert table.problems == ()


def test_a_unit_in_the_cell_is_before_the_heading_and_the_heading_before_the_display():
    text = "rpm\t°\tkPa\n1200\t12\t10 inHg\n1200\t12\t10"
    values = [r.depression_kpa for r in parse_readings(text, depression_unit="mmHg").rows]
    assert values == pytest.approx([10 * INHG_KPA, 10.0])
    bare = parse_readings("1200\t12\t10", depression_unit="inHg").rows[0]
    assert bare.depression_kpa == pytest.approx(10 * INHG_KPA)


def test_wrong_lines_are_told_by_number_and_good_ones_kept():
    text = "rpm\t°\n1200\t12.5\n\nabc\t13\n1400\t\n1500\t200\n-5\t3\n1600\t1e999\n1700\t14\n"
    table = parse_readings(text)
    assert [r.speed_rpm for r in table.rows] == [1200.0, 1700.0]
    assert table.lines == (2, 9)
    assert told(table) == [
        (4, "not-a-number"), (5, "missing"), (6, "above-limit"), (7, "below-limit"),
        (8, "not-a-number"),
    ]  # fmt: skip
    assert table.problems[2].facts["field"] == "angle_deg"
    assert table.problems[2].facts["limit"] == 120.0


def test_lines_are_counted_through_a_quoted_note_of_two_lines():
    table = parse_readings('rpm,deg,note\n1200,12,"warm,\nsecond run"\nx,13,\n1300,13,\n')
    assert [r.note for r in table.rows] == ["warm,\nsecond run", ""]
    assert table.lines == (2, 5)
    assert told(table) == [(4, "not-a-number")]


def test_a_single_quotation_mark_swallows_nothing():
    table = parse_readings('1200\t12\t5"Hg\n1300\t13\n"1400\t14\n1500\t15')
    assert [r.speed_rpm for r in table.rows] == [1200.0, 1300.0, 1500.0]
    assert table.rows[0].depression_kpa == pytest.approx(5 * INHG_KPA)
    assert told(table) == [(3, "not-a-number")]


def test_a_comma_that_may_mean_either_is_asked_about():
    assert told(parse_readings("1200,12,5")) == [(1, "comma-ambiguous")]
    assert told(parse_readings("1,200\t12")) == [(1, "comma-ambiguous")]
    assert figures(parse_readings("rpm,deg,kPa\n1200,12,5")) == [(1200.0, 12.0, "unknown", 5.0, "")]


@pytest.mark.parametrize(
    ("cell", "least", "most"),
    [("12.5–14", 12.5, 14), ("12,5–14", 12.5, 14), ("12.5-14", 12.5, 14), ("12.5 - 14", 12.5, 14),
     ("12.5 — 14°", 12.5, 14), ("12.5 to 14", 12.5, 14), ("12.5...14", 12.5, 14),
     ("12.5° to 14°", 12.5, 14), ("13 ± 1", 12, 14), ("13±1°", 12, 14), ("13 +/- 1", 12, 14),
     ("13 +- 0,5", 12.5, 13.5), ("-1–1", -1, 1), ("−1 ± 0.5", -1.5, -0.5)],
)  # fmt: skip
def test_least_and_most_in_one_cell(cell: str, least: float, most: float):
    for text in (f"1200\t{cell}", f"rpm;deg\n1200;{cell}", f"1200 {cell}"):
        table = parse_check_points(text)
        assert table.problems == ()
        assert bands(table) == [(1200.0, least, most)]


def test_least_and_most_in_two_cells():
    spaced = parse_check_points("1200 12 14\n1400,12 -3 4,5")
    assert bands(spaced) == [(1200, 12, 14), (1400.12, -3, 4.5)]
    assert bands(parse_check_points("max;min;rpm\n14,5;12,5;1200")) == [(1200, 12.5, 14.5)]
    assert bands(parse_check_points("engine rpm  least  most\n1200  12  14")) == [(1200, 12, 14)]
    assert bands(parse_check_points("1200,12,14")) == [(1200, 12, 14)]


def test_one_angle_alone_is_taken_with_advice():
    table = parse_check_points("920 7.8")
    assert bands(table) == [(920, 7.8, 7.8)]
    assert told(table) == [(1, "no-band")]
    assert not table.problems[0].grave


def test_bands_that_cannot_be_are_told():
    text = "1200\t14\t12\n1300\n1400\t1\t2\t3\n1500\t12,5\t14\tidle\n"
    table = parse_check_points(text)
    assert bands(table) == [(1500, 12.5, 14)]
    assert told(table) == [(1, "limits-crossed"), (2, "missing"), (3, "too-many-cells")]


def test_commas_between_decimal_commas_are_told():
    assert told(parse_check_points("1200,12,5,14,5")) == [(1, "too-many-cells")]


def test_vacuum_points_and_retard():
    table = parse_vacuum_points("inHg\tleast\tmost\n5\t2\t4\n10\t-3\t-5\n")
    found = [(p.depression_kpa, p.least_deg, p.most_deg) for p in table.rows]
    assert found == [(pytest.approx(5 * INHG_KPA), 2, 4), (pytest.approx(10 * INHG_KPA), -5, -3)]
    assert told(parse_vacuum_points("101.5 1 2")) == [(1, "above-limit")]


def test_nothing_and_too_much():
    assert parse_readings("").rows == ()
    assert parse_readings("\n \n\t\n").problems == ()
    assert [p.code for p in parse_readings("1" * (TEXT_LIMIT + 1)).problems] == ["table-too-large"]
    long = parse_readings("1200\t12\t" + "x" * 200_000)
    assert len(long.rows) == 1


@settings(max_examples=150, deadline=None)
@given(st.lists(records(Reading), max_size=6))
def test_readings_come_back_from_csv(readings: list[Reading]):
    table = parse_readings(readings_csv(readings))
    assert table.problems == ()
    assert list(table.rows) == readings


@settings(max_examples=50, deadline=None)
@given(st.lists(records(CheckPoint), max_size=6), st.lists(records(VacuumPoint), max_size=6))
def test_target_comes_back_from_csv(points: list[CheckPoint], vacuum: list[VacuumPoint]):
    assert list(parse_check_points(check_points_csv(points)).rows) == points
    assert list(parse_vacuum_points(vacuum_points_csv(vacuum)).rows) == vacuum


def test_the_csv_is_headed_by_field_names_and_units():
    text = readings_csv([Reading(speed_rpm=1200.0, angle_deg=12.5, u={"angle_deg": 0.5})])
    assert text.split("\r\n") == [
        "speed_rpm,angle_deg,direction,depression_kpa,left_out,note,"
        "u_speed_rpm,u_angle_deg,u_depression_kpa",
        "1200.0,12.5,unknown,,no,,,0.5,",
        "",
    ]


def test_the_csv_still_reads_after_a_spreadsheet_has_saved_it_its_own_way():
    heading = "speed_rpm;angle_deg;direction;depression_kpa;left_out;note"
    text = f"{heading}\r\n1200;12,5;rising;1,5;yes;x\r\n"
    row = parse_readings(text).rows[0]
    assert row == Reading(
        speed_rpm=1200.0, angle_deg=12.5, direction="rising", depression_kpa=1.5, left_out=True,
        note="x",
    )  # fmt: skip


def test_wrong_cells_of_the_own_csv_are_told():
    heading = "speed_rpm,angle_deg,direction,u_angle_deg,colour"
    lines = ("1200,x,rising,,", "1200,1,sideways,,", "1,2,rising,0,", "1,2,rising,1,red")
    text = "\n".join((heading, *lines))
    table = parse_readings(text)
    assert told(table) == [
        (1, "unknown-column"), (2, "not-a-number"), (3, "not-an-option"),
        (4, "uncertainty-not-positive"),
    ]  # fmt: skip
    assert len(table.rows) == 1


@settings(max_examples=300, deadline=None)
@given(
    st.text(
        st.sampled_from("0123456789.,;\t \n\r\"'-–±+eE°rpmHgindirection#x\u00a0\0"), max_size=60
    )
)
def test_no_text_raises(text: str):
    for parse in (parse_readings, parse_check_points, parse_vacuum_points):
        try:
            table = parse(text)
        except BobweightError as error:  # pragma: no cover
            pytest.fail(f"raised {error}")
        assert len(table.rows) == len(table.lines)
        assert all("line" in problem.facts for problem in table.problems)
