"""What stands where on the figures, against the core's own numbers."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from bobweight.app.messages.figure_words import said
from bobweight.core.docket.docket import new_docket
from bobweight.core.figure.decided import UNREAD, Decided
from bobweight.core.figure.description import Trace
from bobweight.core.figure.numbers import aligned, typed, with_u
from bobweight.core.figure.numbers import figure as rounded
from bobweight.core.figure.overlay import Overlay, OverlayCurve
from bobweight.core.figure.points import decision
from bobweight.core.figure.ranges import round_range
from bobweight.core.figure.speed import beyond, deviation_figure, speed_figure
from bobweight.core.figure.total import contour_levels, total_figure
from bobweight.core.figure.vacuum import vacuum_figure
from bobweight.core.figure.view import view_of
from bobweight.core.judgement.answer import NOT_READ
from bobweight.core.judgement.outcome import outcome
from bobweight.core.judgement.posterior import CurveBand
from bobweight.core.mechanics.total import total_crank_deg
from bobweight.core.record import put
from tests.board.dockets import docket


def shown(made, frame="distributor", **more):
    return speed_figure(outcome(made), view_of(made, frame), **more)


def vacuum(made, frame="distributor", unit="kPa"):
    return vacuum_figure(outcome(made), view_of(made, frame, unit))


def test_crank_shows_ratio_times_the_distributor():
    result = outcome(docket())
    plain, crank = shown(docket()), shown(docket(), "crank")
    n = len(result.prediction.rising.speed_rpm)
    one, two = plain.trace("rising"), crank.trace("rising")
    assert two.x[:n] == pytest.approx(2 * one.x[:n])
    assert two.y[:n] == pytest.approx(2 * one.y[:n])
    assert [g.low for g in crank.gates] == pytest.approx([2 * g.low for g in plain.gates])
    assert crank.marks().y == pytest.approx(2 * plain.marks().y)


def test_a_check_point_nobody_read_is_not_read_as_in_the_verdicts_table():
    made = docket()
    unread = made.with_changes(sessions=())
    assert {g.verdict for g in shown(unread).gates} == {NOT_READ}
    results = [p for p in outcome(made).comparison.check_points if p.estimate_deg is None]
    assert sum(g.verdict == NOT_READ for g in shown(made).gates) == len(results)
    assert said(decision(NOT_READ)) == "not read"


def test_static_lifts_what_stands_and_nothing_that_moves():
    """Static timing is added to the crank's advance (common practice: 8 static and 20 of advance
    are 28 before top dead centre), not to an uncertainty, a deviation or the plate's movement."""
    made = docket()
    static = made.setting_up.static_deg
    crank, both = shown(made, "crank"), shown(made, "crank-static")
    assert both.trace("rising").y == pytest.approx(crank.trace("rising").y + static)
    assert both.marks().y == pytest.approx(crank.marks().y + static)
    assert both.marks().u_y == pytest.approx(crank.marks().u_y)
    assert [g.high for g in both.gates] == pytest.approx([g.high + static for g in crank.gates])
    ceiling, without = (next(b.at for b in f.bounds if b.kind == "ceiling") for f in (both, crank))
    assert ceiling == pytest.approx(without + static)
    assert both.y.low <= 0.0
    result = outcome(made)
    for figure, frame in ((crank, "crank"), (both, "crank-static")):
        off = deviation_figure(result, view_of(made, frame), figure)
        known = np.isfinite(off.marks().y)
        assert off.marks().y[known] == pytest.approx(
            deviation_figure(result, view_of(made, "crank"), crank).marks().y[known], abs=1e-9
        )
    moved = vacuum(made, "crank-static")
    assert moved.trace("rising").y == pytest.approx(vacuum(made, "crank").trace("rising").y)


def test_without_static_there_is_no_crank_with_static():
    made = put(docket(), ("setting_up", "static_deg"), None)
    assert view_of(made, "crank-static").frame == "crank"


def test_where_nothing_is_predicted_readings_deviate_from_the_fitted_curve():
    result = replace(outcome(docket()), prediction=None)
    figure = speed_figure(result, view_of(docket()))
    assert not deviation_figure(result, view_of(docket()), figure).traces
    x, y = np.array([0.0, 500.0, 1500.0, 3000.0]), np.array([0.0, 1.0, 9.0, 12.0])
    fitted = replace(figure, traces=(Trace("fitted", x, y),))
    off = deviation_figure(result, view_of(docket()), fitted)
    marks, seen = off.marks(), figure.marks()
    assert marks.y == pytest.approx(seen.y - np.interp(seen.x, x, y), nan_ok=True)
    assert [(g.low, g.high) for g in off.gates] == [
        pytest.approx((g.low - np.interp(g.x, x, y), g.high - np.interp(g.x, x, y)))
        for g in figure.gates
    ]
    assert [t.role for t in off.traces] == ["fitted"]


def test_readings_without_noise_deviate_by_nothing():
    result, view = outcome(docket()), view_of(docket())
    marks = deviation_figure(result, view, speed_figure(result, view)).marks()
    known = (marks.kind != "unknown") & ~marks.left_out
    assert known.sum() == 16
    # The strip reads the drawn polyline of 200 knots, not the exact curve.
    assert np.abs(marks.y[known]).max() < 0.02


def test_pipe_on_readings_stand_on_the_capsule_plot_only():
    row = next(i for i, r in enumerate(docket().sessions[0].readings) if r.depression_kpa)
    assert row not in shown(docket()).marks().row
    marks = vacuum(docket()).marks()
    assert list(marks.row) == [row]
    assert marks.x[0] == pytest.approx(25.0)


def test_axes_hold_everything_in_use_in_round_numbers():
    made = docket(0.8)
    figure, full = shown(made, "crank"), outcome(made).prediction.full_rpm
    assert figure.x.low == 0.0 and figure.x.high % 100 == 0
    assert figure.x.high >= 2 * full
    assert max(g.high for g in figure.gates) <= figure.y.high
    marks = figure.marks()
    assert (marks.y[~marks.left_out] <= figure.y.high).all()


def test_one_wild_reading_does_not_squeeze_the_curve():
    wild = put(docket(), ("sessions", 0, "readings", 0, "angle_deg"), 118.0)
    assert shown(wild).y.high < 2 * shown(docket()).y.high
    assert beyond(shown(wild)) == 1


def test_open_ended_check_point_does_not_stretch_the_axis():
    open_ended = put(docket(), ("target", "points", 0, "most_deg"), None)
    result, view = outcome(open_ended), view_of(open_ended)
    figure = speed_figure(result, view)
    assert np.isinf(figure.gates[0].high)
    assert np.isfinite([figure.y.low, figure.y.high]).all()
    assert np.isfinite(deviation_figure(result, view, figure).y.high)


def test_a_spring_that_takes_up_is_told_once():
    assert [e.kind for e in shown(docket()).events] == ["plateau"]


def test_empty_docket_has_axes_and_nothing_else():
    figure = shown(new_docket())
    assert figure.bare and figure.gates == ()
    assert figure.x.high > 0 and figure.y.high > 0
    empty = vacuum(new_docket())
    assert empty.bare and empty.y.high > empty.y.low


def test_the_band_of_an_empty_docket_is_whole_on_the_plot():
    speed, flat = np.array([0.0, 1000.0, 2500.0]), np.array([0.0, 8.0, 10.0])
    band = CurveBand(speed, flat, flat - 9.0, 2 * flat)
    judgement = SimpleNamespace(action=UNREAD, assumed=("stop",), band=band)
    found = SimpleNamespace(decision=SimpleNamespace(judgement=judgement))
    figure = shown(new_docket(), decided=Decided(found))
    zone = next(zone for zone in figure.zones if zone.role == "expected")
    assert figure.y.low <= zone.low.min() and zone.high.max() <= figure.y.high


def test_retard_capsule_is_drawn_below_zero():
    figure = vacuum(put(docket(), ("capsules", 0, "acts"), "retard"))
    assert figure.y.low <= -7.0
    assert figure.trace("rising").y.min() == pytest.approx(-7.0)


def test_what_is_held_is_the_other_dockets_rising_curve():
    other = put(docket(), ("mechanism", "springs", 0, "rate_n_per_mm"), 1.2)
    before = outcome(other)
    held = shown(docket(), before=before).trace("before")
    n = len(before.prediction.rising.speed_rpm)
    assert held.x[:n] == pytest.approx(before.prediction.rising.speed_rpm)


def test_what_is_laid_over_is_in_the_frame_shown():
    speed, advance = np.array([0.0, 400.0, 900.0, 1500.0]), np.array([0.0, 0.0, 6.0, 9.0])
    overlay = Overlay((OverlayCurve(speed, advance, "x", True),))
    figure = shown(docket(), "crank", overlay=overlay)
    line = figure.trace("chosen")
    assert {label.key: label.words for label in figure.labels}["overlay"] == "x"
    assert line.x[-1] == figure.x.high, "drawn on flat to the end of the axis"
    assert np.array_equal(line.x[:4], 2 * speed) and np.array_equal(line.y[:4], 2 * advance)
    both = Overlay((OverlayCurve(speed, advance, "x", True), OverlayCurve(speed, advance + 1, "y")))
    said = [label.words for label in shown(docket(), overlay=both).labels]
    assert "x" in said and "y" in said
    unnamed = Overlay((OverlayCurve(speed, advance),))
    labels = shown(docket(), overlay=unnamed).labels
    assert "overlay" not in [label.key for label in labels]


def test_map_agrees_with_the_core_and_its_levels_are_round():
    result = outcome(docket())
    figure = total_figure(result, view_of(docket(), depression_unit="mmHg"))
    surface = figure.surface
    i, j = 40, 30
    kpa = surface.y[j] / 7.500617  # NIST SP 811 (2008), B.8: 1 mmHg = 0.1333224 kPa
    expected = total_crank_deg(
        8.0, 2.0, result.prediction, result.docket.capsules, surface.x[i], kpa
    )
    assert surface.height[i, j] == pytest.approx(float(expected), abs=1e-3)
    levels = contour_levels(surface.height)
    assert 3 <= len(levels) <= 12
    assert all(surface.height.min() < v < surface.height.max() for v in levels)


def test_a_range_holds_both_ends_and_spends_no_step_below_zero():
    assert round_range(0.0, 1810.0, (100.0, 200.0)) == (0.0, 2000.0)
    assert round_range(-0.4, 11.0, (1.0, 2.0)) == (-0.4, 11.0)
    assert round_range(-7.3, 1.0, (1.0, 2.0)) == (-8.0, 1.0)


@pytest.mark.parametrize(
    ("u", "said"), [(0.04, "6.2 ± 0.1"), (0.14, "6.2 ± 0.1"), (0.16, "6.2 ± 0.2"), (None, "6.2")]
)
def test_nothing_is_known_to_nought(u, said):
    """Rounded up where rounding would leave nothing: JCGM 100:2008, 7.2.6."""
    assert with_u(6.2, u) == said


def test_a_limit_is_written_as_its_table_has_it():
    """Crank degrees of a half halve to a quarter; a third of a degree is nobody's limit."""
    assert [typed(v) for v in (6.25, 8.25, 3.0, 10.5, -0.05)] == [
        "6.25", "8.25", "3.0", "10.5", "\N{MINUS SIGN}0.05",
    ]  # fmt: skip
    assert [typed(v) for v in (24.25, 10.35, 24.25 - 4e-15)] == ["24.25", "10.35", "24.25"]
    assert [rounded(v) for v in (24.25, 10.35, -0.04)] == ["24.3", "10.4", "0.0"]
    assert [typed(v) for v in (10 / 3, float("inf"), float("nan"), None)] == ["3.3", "", "", ""]


def test_numbers_of_a_column_have_their_points_below_each_other():
    assert aligned(["30.5", "44", "", "7.25"]) == ["30.50", "44.00", "", "7.25"]
    assert aligned(["30", "44"]) == ["30", "44"] and aligned([]) == []
