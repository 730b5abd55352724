"""Deviation and conformity at check points, by JCGM 106:2012 and by drawing many."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.docket.target import CheckPoint, Target, VacuumPoint
from bobweight.core.judgement.compare import (
    NO_ADVANCE_DEG,
    compare,
    stretches,
    target_problems,
    weigh,
)
from bobweight.core.judgement.outcome import outcome
from bobweight.core.judgement.reduce import reduce_session
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put, put_uncertainty
from bobweight.core.statistics.conformity import Conformity
from tests.samples import sample


@pytest.fixture(scope="module")
def demo():
    return sample("weak_primary")


def test_probability_is_jcgm_106(demo):
    """Φ((T_U − y)/u) − Φ((T_L − y)/u) (JCGM 106:2012, 7.4; from memory), by scipy.stats."""
    for point in outcome(demo).comparison.all_points:
        expected = norm.cdf(point.high_deg, point.estimate_deg, point.u_deg) - norm.cdf(
            point.low_deg, point.estimate_deg, point.u_deg
        )
        assert point.probability_inside == pytest.approx(expected, abs=1e-12)


def test_the_story_of_the_demo(demo):
    """A weak primary: too much advance low down, right at the top."""
    points = {p.speed_rpm: p for p in outcome(demo).comparison.check_points}
    assert points[600.0].verdict is Conformity.OUTSIDE and points[600.0].deviation_deg > 1.0
    assert points[1600.0].verdict is Conformity.INSIDE
    assert outcome(demo).comparison.overall is Conformity.OUTSIDE


def test_same_table_in_another_frame_gives_the_same_decisions(demo):
    target, static = demo.target, demo.setting_up.static_deg
    crank = target.with_changes(
        frame="crank-static",
        no_advance_below_rpm=2 * target.no_advance_below_rpm,
        ceiling_deg=2 * target.ceiling_deg + static,
        points=tuple(
            CheckPoint(speed_rpm=2 * p.speed_rpm, least_deg=2 * p.least_deg + static,
                       most_deg=2 * p.most_deg + static)
            for p in target.points
        ),
    )  # fmt: skip
    ours = outcome(demo).comparison.all_points
    theirs = outcome(put(demo, ("target",), crank)).comparison.all_points
    for a, b in zip(ours, theirs, strict=True):
        assert (a.kind, a.verdict) == (b.kind, b.verdict)
        assert (a.low_deg, a.high_deg, a.probability_inside) == pytest.approx(
            (b.low_deg, b.high_deg, b.probability_inside)
        )


def test_start_and_ceiling(demo):
    comparison = outcome(demo).comparison
    assert comparison.start.high_deg == NO_ADVANCE_DEG and np.isinf(comparison.start.low_deg)
    assert comparison.ceiling.predicted_deg == pytest.approx(demo.mechanism.stop_deg)
    high = put(demo, ("mechanism", "stop_deg"), demo.target.ceiling_deg + 0.5)
    assert outcome(high).comparison.ceiling.predicted_inside is False


def test_no_readings_cannot_be_told(demo):
    empty = put(demo, ("sessions", 0, "readings"), ())
    comparison = outcome(empty).comparison
    assert {p.verdict for p in comparison.all_points} == {Conformity.CANNOT_TELL}
    assert all(p.estimate_deg is None and p.predicted_deg is not None
               for p in comparison.all_points)  # fmt: skip


def test_readings_are_not_stretched_beyond_their_reach(demo):
    far = put(demo, ("target", "points", 4, "speed_rpm"), 2600.0)
    assert outcome(far).comparison.check_points[4].estimate_deg is None


def test_left_out_readings_do_not_count(demo):
    out = put(demo, ("sessions", 0, "readings", 8, "left_out"), True)
    before, after = outcome(demo).comparison, outcome(out).comparison
    assert before.check_points[3].u_deg > after.check_points[3].u_deg, "the slip widened it"


def test_a_slipped_mark_shifts_every_centrifugal_estimate_alike(demo):
    shifted = put(demo, ("sessions", 0, "instrument", "mark_error_deg"), 2.0)
    pairs = zip(
        outcome(demo).comparison.check_points, outcome(shifted).comparison.check_points,
        strict=True,
    )  # fmt: skip
    assert [a.estimate_deg - b.estimate_deg for a, b in pairs] == pytest.approx([1.0] * 5, abs=1e-6)


def test_wrong_tables_are_told(demo):
    target = Target(
        frame="crank-static",
        points=(
            CheckPoint(speed_rpm=500.0, least_deg=3.0, most_deg=1.0),
            CheckPoint(speed_rpm=800.0),
            CheckPoint(speed_rpm=800.0, least_deg=2.0),
            CheckPoint(least_deg=2.0),
        ),
        vacuum_points=(VacuumPoint(depression_kpa=20.0, least_deg=3.0, most_deg=2.0),),
    )
    docket = put(put(demo, ("target",), target), ("setting_up", "static_deg"), None)
    found = {(p.code, p.path) for p in target_problems(docket)}
    assert found == {
        ("static-needed", ("frame",)),
        ("limits-crossed", ("points", 0, "most_deg")),
        ("missing", ("points", 1, "least_deg")),
        ("same-place-twice", ("points", 2, "speed_rpm")),
        ("missing", ("points", 3, "speed_rpm")),
        ("limits-crossed", ("vacuum_points", 0, "most_deg")),
    }
    assert outcome(docket).comparison.check_points == ()


def test_an_outcome_kept_while_a_hand_moves_is_the_outcome_made_anew(demo):
    edits = [
        (("mechanism", "springs", 0, "tang_mm"), 0.4), (("target", "points", 0, "most_deg"), 3.5),
        (("sessions", 0, "readings", 3, "angle_deg"), 17.0), (("capsules", 0, "full_deg"), 8.0),
        (("setting_up", "static_deg"), 9.0), (("particulars", "drive_ratio"), 1.0),
        (("mechanism", "weights", "mass_g"), None),
    ]  # fmt: skip
    docket, kept = demo, outcome(demo)
    for path, value in edits:
        docket = put(docket, path, value)
        kept, fresh = outcome(docket, -1, kept), outcome(docket)
        assert kept.problems == fresh.problems
        assert kept.comparison == fresh.comparison
        np.testing.assert_array_equal(kept.evidence.estimate_deg, fresh.evidence.estimate_deg)
        np.testing.assert_array_equal(kept.reduced.vacuum_deg, fresh.reduced.vacuum_deg)


def test_decisions_are_calibrated(demo):
    """Of points whose probability of being inside is stated as p, about p are inside: 300 sessions
    of the demo's true curve, drawn with the stated uncertainties (mean of p against the share)."""
    rng = np.random.default_rng(9)
    curve = predict(demo.mechanism)
    instrument = demo.sessions[0].instrument
    u_static, u_mark = instrument.u["static_deg"], instrument.u["mark_error_deg"]
    stated, true = [], []
    base = np.linspace(400.0, 1750.0, 20)
    for _ in range(300):
        edges = rng.uniform(-2.5, 2.5, size=len(demo.target.points))
        points = tuple(
            CheckPoint(speed_rpm=p.speed_rpm,
                       least_deg=float(curve.advance_deg(p.speed_rpm, "rising")) - 1.0 + e,
                       most_deg=float(curve.advance_deg(p.speed_rpm, "rising")) + 1.0 + e)
            for p, e in zip(demo.target.points, edges, strict=True)
        )  # fmt: skip
        shift = rng.normal(0, u_static) + rng.normal(0, u_mark)
        scale = 1 + rng.normal(0, 0.01)
        speed = base + rng.uniform(-20, 20, size=len(base))
        shown = 8.0 + shift + 2 * curve.advance_deg(speed)
        shown = shown + rng.normal(0, instrument.u_angle_taken_deg, len(speed))
        rows = tuple(
            Reading(speed_rpm=float(2 * s * scale + rng.normal(0, instrument.u_speed_taken_rpm)),
                    angle_deg=float(a), direction="rising")
            for s, a in zip(speed, shown, strict=True)
        )  # fmt: skip
        docket = put(demo, ("target",), demo.target.with_changes(points=points, read_as="rising"))
        reduced = reduce_session(Session(instrument=instrument, readings=rows), docket.particulars)
        for point in compare(docket, weigh(docket, reduced), None).check_points:
            inside = abs(point.middle_deg - float(curve.advance_deg(point.speed_rpm))) <= 1.0
            stated.append(point.probability_inside)
            true.append(inside)
    stated, true = np.array(stated), np.array(true)
    sure_in, sure_out = stated >= 0.95, stated <= 0.05
    assert sure_in.sum() > 200 and sure_out.sum() > 50
    # Points of one session share their marks, and knees bend: a little more than 5 % may be wrong.
    assert true[sure_in].mean() >= 0.93
    assert true[sure_out].mean() <= 0.08
    assert abs(stated.mean() - true.mean()) < 0.05


def test_a_band_is_drawn_along_neighbouring_points_alone():
    there = np.array([1, 1, 0, 1, 0, 0, 1, 1, 1], bool)
    assert stretches(there) == [slice(0, 2), slice(6, 9)]
    assert stretches(np.zeros(3, bool)) == []


def test_a_tachometer_off_by_a_share_moves_the_curve_by_its_slope():
    """JCGM 100:2008, 5.1.2: what a share of the speed adds is slope · speed · share."""
    readings = tuple(
        Reading(speed_rpm=float(s), angle_deg=float(s - 400.0) / 100.0, direction="rising")
        for s in np.linspace(500.0, 1500.0, 21)
    )
    points = tuple(CheckPoint(speed_rpm=s, least_deg=1.0, most_deg=9.0) for s in (700.0, 1300.0))
    rig = Instrument(kind="rig", u_speed_rpm=5.0, u_angle_deg=0.2)
    docket = Docket(sessions=(Session(instrument=rig, readings=readings),),
                    target=Target(frame="distributor", points=points))  # fmt: skip

    def u_deg(share):
        place = ("sessions", 0, "instrument", "tachometer_scale")
        made = put_uncertainty(docket, place, share)
        return weigh(made, reduce_session(made.sessions[0], made.particulars)).u_deg

    added = np.sqrt(u_deg(0.02) ** 2 - u_deg(1e-9) ** 2)
    assert added == pytest.approx([0.01 * 700.0 * 0.02, 0.01 * 1300.0 * 0.02], rel=1e-3)


def test_a_point_without_a_place_hinders_nothing(demo):
    points = (*demo.target.points, CheckPoint(least_deg=1.0, most_deg=2.0))
    found = target_problems(put(demo, ("target", "points"), points))
    assert [(p.code, p.grave) for p in found] == [("missing", False)]
