"""The findings record judged: limits by common practice, states, and what wear costs."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, stats

from bobweight.core.bench.findings import (
    GROUPS,
    contact_cam,
    judge_findings,
    limit_keys,
    limits_of,
    scatter_state,
    usual_dwell_deg,
)
from bobweight.core.bench.limits import State
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.findings import FindingLimits, Findings, LeakReading, LobeAngle
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.points import Points
from bobweight.core.problems import BobweightError
from bobweight.core.record import parameters, put

POINTS = Points(flat_mm=7.5, lever_ratio=1.1, known_gap_mm=0.38, known_dwell_deg=60.0)


def docket(lobes: int = 4, points: Points = POINTS, **findings) -> Docket:
    u = findings.pop("u", {})
    return Docket(
        particulars=Particulars(lobes=lobes), points=points, findings=Findings(u=u, **findings)
    )


def test_every_finding_has_a_row_and_every_limit_a_finding():
    rows = [key for _, keys in GROUPS for key in keys]
    known = parameters(Findings)
    inputs = {"u_lobe_deg", "u_leak_kpa", "limits", "notes"}
    assert sorted(rows) == sorted(set(known) - inputs)
    used = {key for row in rows for key in limit_keys(row)}
    assert used == set(parameters(FindingLimits))


def test_an_empty_record_is_not_measured():
    record = judge_findings(Docket())
    assert {row.state for row in record.rows} == {State.NOT_MEASURED}
    assert record.scatter is None


@pytest.mark.parametrize(
    ("lobes", "low", "high"), [(1, 150, 200), (4, 45, 63), (6, 33, 42), (8, 26, 32)]
)  # common practice: 150 to 200; 60 ± 3 and 45 to 52; 35 ± 2 and 38 to 42; 26 to 32
def test_usual_dwell(lobes, low, high):
    assert usual_dwell_deg(lobes) == (low, high)
    assert limits_of(docket(lobes), "dwell_deg") == (low, high, True)


@pytest.mark.parametrize(
    ("lobes", "dwell"), [(4, 50.0), (4, 60.0), (6, 35.0), (6, 40.0), (8, 29.0), (8, 31.0)]
)  # all ordinary (common practice)
def test_an_ordinary_setting_without_a_figure_of_its_own_is_shown_and_not_judged(lobes, dwell):
    record = judge_findings(docket(lobes, dwell_deg=dwell, gap_mm=0.55))
    for key in ("dwell_deg", "gap_mm"):
        row = record.row(key)
        assert row.state is State.SHOWN and row.usual and not row.unusual
        assert row.low < row.value < row.high
    assert {row.state for row in record.rows} == {State.SHOWN, State.NOT_MEASURED}


def test_what_is_far_from_usual_is_said_to_be_and_still_not_judged():
    row = judge_findings(docket(4, dwell_deg=75.0)).row("dwell_deg")
    assert row.state is State.SHOWN and row.unusual


@pytest.mark.parametrize(
    ("gap", "state"),
    [(0.375, State.PASS), (0.352, State.PASS), (0.41, State.BORDERLINE), (0.5, State.FAIL)],
)
def test_a_gap_is_judged_by_nominal_and_tolerance(gap, state):
    """Set inside 0.375 ± 0.025 it passes, though a feeler gauge is no surer than ± 0.03."""
    own = FindingLimits(gap_nominal_mm=0.375)
    row = judge_findings(docket(gap_mm=gap, limits=own)).row("gap_mm")
    assert (row.low, row.high) == pytest.approx((0.35, 0.40))
    assert row.state is state and not row.usual
    to_set = docket(gap_mm=gap, points=POINTS.with_changes(set_gap_mm=0.375))
    assert judge_findings(to_set).row("gap_mm").state is state


@pytest.mark.parametrize(
    ("dwell", "state"),
    [(60.0, State.PASS), (57.2, State.PASS), (64.0, State.BORDERLINE), (70.0, State.FAIL)],
)
def test_a_dwell_is_judged_by_nominal_and_tolerance(dwell, state):
    own = FindingLimits(dwell_nominal_deg=60.0)  # ± 3° (common practice)
    assert judge_findings(docket(dwell_deg=dwell, limits=own)).row("dwell_deg").state is state


def test_the_dwell_shift_of_the_plate_is_not_held_to_the_running_limit():
    record = judge_findings(docket(dwell_change_deg=5.0, dwell_vacuum_change_deg=5.0))
    assert record.row("dwell_change_deg").state is State.FAIL
    assert record.row("dwell_vacuum_change_deg").state is State.SHOWN
    # TM 9-4910-622-14&P: at most 2° on plates that turn about the shaft
    own = FindingLimits(dwell_vacuum_change_most_deg=2.0)
    row = judge_findings(docket(dwell_vacuum_change_deg=5.0, limits=own))
    assert row.row("dwell_vacuum_change_deg").state is State.FAIL


@pytest.mark.parametrize("lobes", range(1, 13))
def test_usual_dwell_fits_the_sector(lobes):
    low, high = usual_dwell_deg(lobes)
    assert 0 < low < high < 360 / lobes


@pytest.mark.parametrize(
    ("key", "good", "bad"),
    [
        ("side_play_mm", 0.03, 0.16),  # new 0.01 to 0.04, reject above 0.10 to 0.15
        ("condenser_uf", 0.22, 0.35),  # 0.18 to 0.25
        ("insulation_mohm", 100.0, 10.0),  # over 50
        ("earth_drop_v", 0.05, 0.3),  # up to 0.1
        ("rotor_kohm", 5.0, 9.0),  # 5 ± 1
        ("weight_difference_g", 0.4, 3.0),  # within 0.5 to 1
        ("pivot_clearance_mm", 0.05, 0.3),  # reject above 0.2 to 0.25
        ("dwell_change_deg", 0.5, 4.0),  # over 2 is wear
    ],
)  # all common practice
def test_common_practice_decides(key, good, bad):
    for value, state in ((good, State.PASS), (bad, State.FAIL)):
        u = 0.02 * value
        row = judge_findings(docket(**{key: value, "u": {key: u}})).row(key)
        assert row.state is state and row.usual
        assert row.scatter is not None or key != "side_play_mm"


def test_near_a_limit_it_is_borderline_with_the_probability():
    """JCGM 106:2012, 7.4, by scipy's normal law."""
    row = judge_findings(docket(side_play_mm=0.09, u={"side_play_mm": 0.01})).row("side_play_mm")
    assert row.state is State.BORDERLINE
    assert row.probability == pytest.approx(stats.norm.cdf(0.10, 0.09, 0.01), abs=1e-9)


def test_an_uncertainty_that_nobody_stated_is_the_trade_s_and_said_so():
    assumed = judge_findings(docket(side_play_mm=0.095)).row("side_play_mm")
    stated = judge_findings(docket(side_play_mm=0.095, u={"side_play_mm": 0.002}))
    assert assumed.state is State.BORDERLINE and not assumed.u_stated
    assert stated.row("side_play_mm").state is State.PASS and stated.row("side_play_mm").u_stated


def test_own_limits_count_and_are_told_from_common_practice():
    own = FindingLimits(side_play_most_mm=0.2, dwell_least_deg=48.0, dwell_most_deg=54.0)
    record = judge_findings(docket(side_play_mm=0.15, dwell_deg=51.0, limits=own))
    for key in ("side_play_mm", "dwell_deg"):
        row = record.row(key)
        assert row.state is State.PASS and not row.usual
    assert (record.row("dwell_deg").low, record.row("dwell_deg").high) == (48.0, 54.0)


def test_conditions():
    record = judge_findings(docket(cap="sound", rotor="doubtful", earth_lead="faulty"))
    states = {key: record.row(key).state for key in ("cap", "rotor", "earth_lead", "plate")}
    assert list(states.values()) == [
        State.PASS, State.BORDERLINE, State.FAIL, State.NOT_MEASURED,
    ]  # fmt: skip
    assert record.count(State.FAIL) and record.count(State.PASS) == 1


def test_side_play_costs_what_the_opening_of_a_flat_cam_moves():
    """Against a root found on the flat itself: the heel's radius is R_f / cos β, and play moves it
    by e, so the contacts part at another β. First order, so a small play."""
    play = 0.002
    row = judge_findings(docket(side_play_mm=play, gap_mm=0.38)).row("side_play_mm")
    cam = contact_cam(POINTS, 4)
    parting = cam.lobe_mm - 0.38 / cam.lever_ratio

    def opening(radius):
        return optimize.brentq(lambda b: cam.flat_mm / np.cos(b) - radius, 0.0, 1.2)

    shift = np.degrees(opening(parting + play / 2) - opening(parting - play / 2))
    assert row.scatter.crank_span_deg == pytest.approx(2 * shift, rel=1e-4)


def test_lobes_cost_their_spread_and_add_to_the_play():
    angles = tuple(LobeAngle(firing_deg=a) for a in (0.0, 90.5, 180.0, 269.5))
    record = judge_findings(docket(lobes_deg=angles, side_play_mm=0.05, gap_mm=0.38))
    lobes = record.row("lobes_deg")
    assert lobes.value == pytest.approx(0.5) and lobes.state is State.PASS
    assert lobes.scatter.crank_span_deg == pytest.approx(2.0)
    play = record.row("side_play_mm").scatter
    assert record.scatter.crank_span_deg == pytest.approx(2.0 + play.crank_span_deg)


@pytest.mark.parametrize(
    ("half", "state"), [(0.8, State.PASS), (2.0, State.BORDERLINE), (3.5, State.FAIL)]
)
def test_scatter_by_common_practice(half, state):
    assert scatter_state(half) is state  # ±1 good, ±2 tolerable, ±3 reject


def test_missing_and_misplaced_lobes_are_told_with_their_place():
    two = tuple(LobeAngle(firing_deg=a) for a in (0.0, 90.0))
    problem = judge_findings(docket(lobes_deg=two)).row("lobes_deg").problem
    assert (problem.code, problem.facts["given"], problem.facts["needed"]) == (
        "lobes-missing",
        2,
        4,
    )
    wild = tuple(LobeAngle(firing_deg=a) for a in (0.0, 150.0, 180.0, 270.0))
    problem = judge_findings(docket(lobes_deg=wild)).row("lobes_deg").problem
    assert problem.code == "lobes-out-of-order"
    assert problem.path == ("findings", "lobes_deg", 1, "firing_deg")


def test_leak_is_judged_over_the_test_time():
    """An exponential made here and read at 0, 20 and 40 s loses by 60 s what the law says."""
    tau = 500.0
    times = (0.0, 20.0, 40.0)
    leak = tuple(
        LeakReading(time_s=t, depression_kpa=float(54.0 * np.exp(-t / tau))) for t in times
    )
    row = judge_findings(docket(leak=leak, u_leak_kpa=0.1)).row("leak")
    assert row.value == pytest.approx(54.0 * (1 - np.exp(-60.0 / tau)), rel=1e-6)
    assert row.high == pytest.approx(3.386) and row.state is State.FAIL  # 1 inHg, common practice
    slow = tuple(LeakReading(time_s=t, depression_kpa=54.0 - 0.01 * t) for t in times)
    assert judge_findings(docket(leak=slow, u_leak_kpa=0.1)).row("leak").state is State.PASS


def test_one_leak_reading_is_too_few_and_said_so():
    row = judge_findings(docket(leak=(LeakReading(time_s=0.0, depression_kpa=50.0),))).row("leak")
    assert row.state is State.NOT_MEASURED and row.problem.code == "too-few-points"


def test_play_without_a_known_cam_has_no_cost():
    row = judge_findings(docket(points=Points(), side_play_mm=0.05)).row("side_play_mm")
    assert row.scatter is None and row.state is State.PASS


def test_the_cam_of_a_docket():
    assert contact_cam(POINTS, 4).lobe_mm > 7.5 / np.cos(np.radians(30))
    whole = Points(flat_mm=8.0, lobe_mm=9.5, lever_ratio=1.0)
    assert contact_cam(whole, 6).widest_gap_mm == pytest.approx(1.5)
    with pytest.raises(BobweightError) as caught:
        contact_cam(Points(flat_mm=8.0, lever_ratio=1.0, known_gap_mm=0.4), 4)
    assert caught.value.problem.code == "points-sizes-needed"
    assert caught.value.problem.path == ("known_dwell_deg",)


def test_angles_tell_how_many_lobes_there_are_where_nobody_entered_it():
    def lobes_of(*angles: float):
        held = docket(lobes_deg=tuple(LobeAngle(firing_deg=a) for a in angles))
        return judge_findings(put(held, ("particulars", "lobes"), None)).row("lobes_deg")

    six = lobes_of(0.0, 60.5, 120.0, 180.0, 239.5, 300.0)
    assert six.problem is None and six.value == pytest.approx(0.5)  # of even sixths of a turn
    for angles in ((0.0,), (0.0, 90.0), (0.0, 60.0, 120.0), (0.0, 0.0)):
        assert lobes_of(*angles).problem.code == "lobes-unknown"
