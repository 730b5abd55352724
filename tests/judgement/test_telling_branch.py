"""Which predicted advance is told at a check point: never one inside the band beside a cross."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.figure.view import View
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.outcome import outcome
from bobweight.core.record import put
from bobweight.core.sheet.blocks import check_point_rows
from tests.samples import sample
from tests.studies.simulator.cases import ordinary


def _told(point):
    return point.predicted_deg, point.predicted_branch


@pytest.fixture(scope="module")
def judged():
    """A falling branch that leaves the band at two points while the middle of both stays in it."""
    return outcome(sample("retard_capsule"))


def test_the_branch_that_is_outside_is_told_in_place_of_the_middle(judged) -> None:
    """Against straight lines between the knots of the curve, by numpy.interp."""
    told = {}
    for point in judged.comparison.check_points:
        value, direction = _told(point)
        told[point.speed_rpm] = direction
        ways = (direction,) if direction else ("rising", "falling")
        curves = [getattr(judged.prediction, way) for way in ways]
        expected = [np.interp(point.speed_rpm, c.speed_rpm, c.advance_deg) for c in curves]
        assert value == pytest.approx(np.mean(expected), abs=0.02)
        assert (point.low_deg <= value <= point.high_deg) is point.predicted_inside
    assert told == {600.0: "falling", 750.0: "falling", 1000.0: None, 1250.0: None, 1600.0: None}


def test_a_table_read_rising_names_no_branch(judged) -> None:
    rising = outcome(put(judged.docket, ("target", "read_as"), "rising"))
    for point in rising.comparison.check_points:
        curve = rising.prediction.rising
        value, direction = _told(point)
        assert direction is None
        expected = np.interp(point.speed_rpm, curve.speed_rpm, curve.advance_deg)
        assert value == pytest.approx(expected, abs=0.02)


def test_the_sheet_names_the_branch_and_its_distance_from_the_middle(judged) -> None:
    point = judged.comparison.check_points[0]
    value, _ = _told(point)
    row = check_point_rows(judged, View()).rows[1]
    assert row[2].text.code == "branch-falling"
    assert row[2].text.facts == {"value": f"{value:.1f}"}
    assert row[3].text == f"+{value - (point.low_deg + point.high_deg) / 2:.1f}"


@pytest.mark.parametrize("seed", [500])
def test_a_stiff_plate_is_told_by_its_branch_whatever_way_the_table_is_read(seed) -> None:
    """The simulator's own plate (forces on the rod) lags by more than the band allows; its points
    are looked at both ways though the table speaks of one."""
    case = ordinary("careful", seed, "plate_stiff")
    assert case.docket.target.read_as == "rising"
    judgement = decide_docket(case.docket).judgement
    points = [p for p in judgement.check_points if p.kind == "vacuum"]
    outside = [p for p in points if not case.inside["vacuum", p.index]]
    assert outside
    for point in outside:
        assert point.probability_inside < 0.5
        assert point.branch in (None, "rising", "falling")
        assert not point.low_deg <= point.advance_deg <= point.high_deg
    assert any(p.branch for p in outside)
