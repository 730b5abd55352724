"""What stands where on the board, against the core's own numbers."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.app.board.series import capsule_series, curve_series
from bobweight.app.board.total import contour_levels, total_series
from bobweight.core.docket.docket import new_docket
from bobweight.core.judgement.outcome import outcome
from bobweight.core.mechanics.total import total_crank_deg
from bobweight.core.record import put
from tests.board.dockets import docket


def same(value):
    return value


def test_crank_shows_ratio_times_the_distributor():
    result = outcome(docket())
    plain, crank = curve_series(result, None, 1.0), curve_series(result, None, 2.0)
    assert crank.full == pytest.approx(2 * plain.full)
    assert crank.start == pytest.approx(2 * plain.start)
    n = len(result.prediction.rising.speed_rpm)
    assert crank.rising.x[:n] == pytest.approx(2 * plain.rising.x[:n])
    assert [b.low for b in crank.bars] == pytest.approx([2 * b.low for b in plain.bars])
    assert crank.marks.y == pytest.approx(2 * plain.marks.y)


def test_readings_without_noise_deviate_by_nothing():
    marks = curve_series(outcome(docket()), None, 1.0).marks
    known = (marks.direction != "unknown") & ~marks.left_out
    assert known.sum() == 16
    # The strip reads the drawn polyline of 200 knots, not the exact curve.
    assert np.abs(marks.deviation[known]).max() < 0.02


def test_pipe_on_readings_stand_on_the_capsule_plot_only():
    result = outcome(docket())
    speed = curve_series(result, None, 1.0)
    vacuum = capsule_series(result, None, 1.0, same, 1.0)
    row = next(i for i, r in enumerate(docket().sessions[0].readings) if r.depression_kpa)
    assert row not in speed.marks.row
    assert list(vacuum.marks.row) == [row]
    assert vacuum.marks.x[0] == pytest.approx(25.0)


def test_axes_hold_everything_in_use_in_round_numbers():
    series = curve_series(outcome(docket(0.8)), None, 2.0)
    assert series.x_range[0] == 0.0 and series.x_range[1] % 100 == 0
    assert series.x_range[1] >= series.full_at
    assert max(b.high for b in series.bars) <= series.y_range[1]
    assert (series.marks.y[~series.marks.left_out] <= series.y_range[1]).all()


def test_open_ended_check_point_does_not_stretch_the_axis():
    open_ended = put(docket(), ("target", "points", 0, "most_deg"), None)
    series = curve_series(outcome(open_ended), None, 1.0)
    assert np.isinf(series.bars[0].high)
    assert np.isfinite(series.y_range).all() and np.isfinite(series.deviation_range)


def test_a_spring_that_takes_up_is_told_once():
    events = curve_series(outcome(docket()), None, 1.0).events
    assert [(e.kind, e.spring) for e in events] == [("plateau", 1)]


def test_empty_docket_has_axes_and_nothing_else():
    series = curve_series(outcome(new_docket()), None, 1.0)
    assert series.rising is None and series.bars == () and not len(series.marks.row)
    assert series.x_range[1] > 0 and series.y_range[1] > 0
    vacuum = capsule_series(outcome(new_docket()), None, 1.0, same, 1.0)
    assert vacuum.rising is None and vacuum.y_range[1] > vacuum.y_range[0]


def test_retard_capsule_is_drawn_below_zero():
    retard = put(docket(), ("capsule", "acts"), "retard")
    series = capsule_series(outcome(retard), None, 1.0, same, 1.0)
    assert series.y_range[0] <= -7.0
    assert series.rising.y.min() == pytest.approx(-7.0)


def test_ghost_is_the_other_dockets_rising_curve():
    other = put(docket(), ("mechanism", "springs", 0, "rate_n_per_mm"), 1.2)
    before = outcome(other)
    series = curve_series(outcome(docket()), before, 1.0)
    n = len(before.prediction.rising.speed_rpm)
    assert series.ghost.x[:n] == pytest.approx(before.prediction.rising.speed_rpm)


def test_map_agrees_with_the_core_and_its_levels_are_round():
    result = outcome(docket())
    series = total_series(result, same, same, "rising")
    i, j = 40, 30
    expected = total_crank_deg(
        8.0, 2.0, result.prediction, result.docket.capsule, series.engine_rpm[i],
        series.depression[j],
    )  # fmt: skip
    assert series.total_deg[i, j] == pytest.approx(float(expected))
    levels = contour_levels(series.total_deg)
    assert 3 <= len(levels) <= 12
    assert all(series.total_deg.min() < v < series.total_deg.max() for v in levels)
