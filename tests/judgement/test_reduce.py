"""Readings reduced to the distributor, against the reading equation and by drawing many."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.judgement.frames import from_distributor, to_distributor
from bobweight.core.judgement.outcome import outcome
from bobweight.core.judgement.reduce import _U_PREDICTED_DEG, reduce_session, session_problems
from bobweight.core.mechanics.capsule import capsule_advance_deg
from tests.samples import sample

PARTICULARS = Particulars(drive_ratio=2.0)


def _session(instrument, *readings):
    return Session(instrument=instrument, readings=tuple(readings))


def test_one_reading_by_hand():
    """Degree rate 6 N (Rajput, A Textbook of Internal Combustion Engines, Ex. 5.1: 1200 rev/min is
    7200 °/s): at 3000 rev/min a delay of 0.05 ms hides 0.9° (common practice gives the same)."""
    instrument = Instrument(static_deg=8.0, mark_error_deg=1.0, tachometer_scale=1.0, lag_ms=0.05)
    reduced = reduce_session(
        _session(instrument, Reading(speed_rpm=3000.0, angle_deg=28.1)), PARTICULARS
    )
    assert reduced.speed_rpm[0] == pytest.approx(1500.0)
    assert reduced.advance_deg[0] == pytest.approx((28.1 - 8.0 - 1.0 + 0.9) / 2)


@pytest.mark.parametrize(("kind", "ratio"), [("lamp", 2.0), ("lamp", 1.0), ("rig", 2.0)])
def test_reading_equation_there_and_back(kind, ratio):
    """The reading as physics writes it, y = static + r θ + δ − 6 N t 10⁻³, is reduced to θ."""
    rng = np.random.default_rng(3)
    own = ratio if kind == "lamp" else 1.0
    for _ in range(50):
        static, mark, lag = rng.uniform(-5, 15), rng.uniform(-3, 3), rng.uniform(0, 0.2)
        scale, theta, speed = rng.uniform(0.9, 1.1), rng.uniform(0, 15), rng.uniform(200, 3000)
        true = own * speed
        shown = static + own * theta + mark - 6 * true * lag * 1e-3
        instrument = Instrument(kind=kind, static_deg=static, mark_error_deg=mark, lag_ms=lag,
                                tachometer_scale=scale)  # fmt: skip
        reading = Reading(speed_rpm=true / scale, angle_deg=shown)
        reduced = reduce_session(_session(instrument, reading), Particulars(drive_ratio=ratio))
        assert reduced.speed_rpm[0] == pytest.approx(speed)
        assert reduced.advance_deg[0] == pytest.approx(theta)


def test_uncertainties_by_drawing():
    """Propagation of distributions (JCGM 101): the spread of 40 000 drawn readings is what the
    reduction states, the shared part and the single one apart."""
    rng = np.random.default_rng(5)
    u_angle, u_speed, u_static, u_mark, u_lag = 1.0, 30.0, 0.5, 0.7, 0.02
    instrument = Instrument(
        static_deg=8.0,
        lag_ms=0.1,
        u_angle_deg=u_angle,
        u_speed_rpm=u_speed,
        u={"static_deg": u_static, "mark_error_deg": u_mark, "lag_ms": u_lag},
    )
    speed, angle = 3000.0, 26.0
    reduced = reduce_session(
        _session(instrument, Reading(speed_rpm=speed, angle_deg=angle)), PARTICULARS
    )
    count = 40_000
    drawn_speed = speed + rng.normal(0, u_speed, count)
    single = (angle + rng.normal(0, u_angle, count) - 8.0 + 6e-3 * drawn_speed * 0.1) / 2
    lag = 0.1 + rng.normal(0, u_lag, count)
    shared = (
        rng.normal(0, u_static, count) + rng.normal(0, u_mark, count) + 6e-3 * speed * lag
    ) / 2
    assert reduced.u_advance_deg[0] == pytest.approx(single.std(), rel=0.02)
    assert reduced.u_common_deg[0] == pytest.approx(shared.std(), rel=0.02)
    assert reduced.u_speed_rpm[0] == pytest.approx(drawn_speed.std() / 2, rel=0.02)


def test_own_uncertainty_of_a_reading_wins():
    reading = Reading(speed_rpm=2000.0, angle_deg=20.0, u={"angle_deg": 0.25, "speed_rpm": 5.0})
    reduced = reduce_session(_session(Instrument(), reading), PARTICULARS)
    assert reduced.u_advance_deg[0] == pytest.approx(0.125)
    assert reduced.u_speed_rpm[0] == pytest.approx(2.5)


def test_half_typed_rows_are_passed_over_and_told():
    session = _session(
        Instrument(), Reading(speed_rpm=2000.0), Reading(speed_rpm=2000.0, angle_deg=20.0),
        Reading(angle_deg=3.0),
    )  # fmt: skip
    reduced = reduce_session(session, PARTICULARS)
    assert reduced.index.tolist() == [1]
    places = {p.path for p in session_problems(session) if p.code == "reading-incomplete"}
    assert places == {("readings", 0, "angle_deg"), ("readings", 2, "speed_rpm")}


def test_nothing_read():
    reduced = reduce_session(Session(), PARTICULARS)
    assert len(reduced.index) == 0 and not reduced.leans_on_prediction


def test_plate_on_a_standing_shaft():
    """A hand pump with the engine stopped: the centrifugal part is nought."""
    capsule = Capsule(given_as="triple", start_kpa=10.0, full_kpa=40.0, full_deg=8.0)
    depressions = [5.0, 15.0, 25.0, 35.0, 45.0]
    rows = [
        Reading(speed_rpm=0.0, depression_kpa=d,
                angle_deg=2.0 * float(capsule_advance_deg(capsule, d)))
        for d in depressions
    ]  # fmt: skip
    reduced = reduce_session(_session(Instrument(), *rows), PARTICULARS, None, (capsule,))
    assert reduced.vacuum_deg == pytest.approx(capsule_advance_deg(capsule, depressions))
    assert np.isnan(reduced.advance_deg).all() and not reduced.leans_on_prediction


def test_pipe_on_at_speed_takes_the_centrifugal_part_off():
    docket = sample("weak_primary")
    reduced = outcome(docket).reduced
    on = reduced.pipe_on
    assert on.sum() == 7
    expected = capsule_advance_deg(docket.capsules[0], reduced.depression_kpa[on])
    pull = (reduced.vacuum_deg[on] - expected) / np.hypot(
        reduced.u_vacuum_deg[on], reduced.u_common_deg[on]
    )
    assert np.abs(pull).max() < 3.0


@pytest.mark.parametrize("frame", ["distributor", "crank", "crank-static"])
def test_frames_there_and_back(frame):
    speed, angle = to_distributor(*from_distributor(750.0, 6.0, frame, 2.0, 8.0), frame, 2.0, 8.0)
    assert (speed, angle) == pytest.approx((750.0, 6.0))


def test_published_table_in_both_frames():
    """Rootes workshop manual WSM 143, section B, p. 72: at 3200 engine rev/min, 1600 at the
    distributor, 6 distributor degrees; with 6° static a total of 18° at the crank."""
    assert from_distributor(1600.0, 6.0, "crank-static", 2.0, 6.0) == (3200.0, 18.0)
    assert to_distributor(3200.0, 18.0, "crank-static", 2.0, 6.0) == (1600.0, 6.0)
    assert to_distributor(3200.0, 12.0, "crank", 2.0) == (1600.0, 6.0)


def test_backlash_of_the_drive_is_taken_off_what_falls_on_an_engine():
    particulars = PARTICULARS.with_changes(backlash_deg=3.0, u={"backlash_deg": 0.8})
    rows = [Reading(speed_rpm=1500.0, angle_deg=20.0, direction=d)
            for d in ("rising", "falling", "unknown")]  # fmt: skip
    for instrument, lost in ((Instrument(), (0.0, 3.0, 1.5)), (Instrument(kind="rig"), (0, 0, 0))):
        plain = reduce_session(_session(instrument, *rows), PARTICULARS)
        slack = reduce_session(_session(instrument, *rows), particulars)
        ratio = PARTICULARS.ratio_taken
        assert plain.advance_deg - slack.advance_deg == pytest.approx(np.array(lost) / ratio)
    slack = reduce_session(_session(Instrument(u_angle_deg=1.0), *rows), particulars)
    expected = np.hypot(1.0, [0.0, 0.8, 1.5]) / PARTICULARS.ratio_taken
    assert slack.u_advance_deg == pytest.approx(expected)


def test_a_standing_shaft_tells_the_plate_by_angle_and_gauge_alone():
    """JCGM 100:2008, 5.1.2: u² = u_angle² + (slope · u_depression)²."""
    capsule = Capsule(given_as="triple", start_kpa=10.0, full_kpa=30.0, full_deg=8.0)
    rig = Instrument(kind="rig", u_angle_deg=0.3, u_depression_kpa=2.0)
    reading = Reading(speed_rpm=0.0, angle_deg=4.0, depression_kpa=20.0)
    reduced = reduce_session(_session(rig, reading), PARTICULARS, None, (capsule,))
    step = 1e-3
    above, below = (capsule_advance_deg(capsule, 20.0 + s) for s in (step, -step))
    slope = float(above - below) / (2 * step)
    assert slope == pytest.approx(0.4, abs=0.1)
    assert reduced.u_vacuum_deg[0] == pytest.approx(np.hypot(0.3, slope * 2.0), rel=0.02)
    turning = reading.with_changes(speed_rpm=1000.0)  # its own advance is only predicted
    curve = SimpleNamespace(advance_deg=lambda speed: np.full(len(speed), 3.0))
    reduced = reduce_session(_session(rig, turning), PARTICULARS, curve, (capsule,))
    assert reduced.vacuum_deg[0] == pytest.approx(1.0) and reduced.leans_on_prediction
    u = np.hypot(np.hypot(0.3, slope * 2.0), _U_PREDICTED_DEG)
    assert reduced.u_vacuum_deg[0] == pytest.approx(u, rel=0.02)


def test_half_typed_rows_hinder_nothing():
    found = session_problems(_session(Instrument(), Reading(speed_rpm=900.0)))
    assert [(p.code, p.grave) for p in found] == [("reading-incomplete", False)]
