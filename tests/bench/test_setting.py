"""Setting up: static and total, the lamp card, driving states, instruments, rotor."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.bench.lamp import LagEstimate, TachometerScale
from bobweight.core.bench.setting import (
    MarkError,
    advance_at_idle_deg,
    card_speeds,
    full_travel_height_m,
    full_travel_kpa,
    idle_timing,
    lamp_card,
    mark_error_from_stop,
    pulls_most,
    rotor_phasing,
    shown_reach_deg,
    state_totals,
    static_for_total,
    total_for_static,
    with_lag,
    with_mark_error,
    with_tachometer,
)
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Linkage, Mechanism, Spring, Weights
from bobweight.core.docket.readings import Instrument, Session
from bobweight.core.docket.setting_up import DrivingState, LampSpeed, RotorFit, SettingUp
from bobweight.core.docket.target import CheckPoint, Target
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import BobweightError
from bobweight.core.record import put

MECHANISM = Mechanism(
    weights=Weights(count=2, mass_g=25.0, pivot_radius_mm=17.0, cg_mm=10.0, rest_angle_deg=115.0),
    linkage=Linkage(kind="constant", ratio=0.8),
    stop_deg=12.0,
    stick_nmm=2.0,
    springs=tuple(
        Spring(
            role="primary", peg_on="weight", rate_n_per_mm=2.0, free_length_mm=13.0,
            post_radius_mm=14.0, post_angle_deg=90.0, peg_radius_mm=10.0, peg_angle_deg=-3.0,
        )
        for _ in range(2)
    ),
)  # fmt: skip
CAPSULE = Capsule(given_as="triple", start_kpa=20.0, full_kpa=50.0, full_deg=7.0)
PREDICTION = predict(MECHANISM)


def docket(**setting) -> Docket:
    setting.setdefault("static_deg", 8.0)
    return Docket(mechanism=MECHANISM, capsules=(CAPSULE,), setting_up=SettingUp(**setting))


RETARD = Capsule(
    given_as="triple", acts="retard", fed_from="manifold", start_kpa=20.0, full_kpa=40.0,
    full_deg=5.0,
)  # fmt: skip


@pytest.mark.parametrize(
    ("capsules", "moved", "felt"),
    [
        ((CAPSULE,), [0.0], [0.0]),  # from the edge of the throttle, which is shut
        ((CAPSULE.with_changes(fed_from="manifold"),), [14.0], [55.0]),
        ((RETARD,), [-10.0], [55.0]),
        ((CAPSULE, RETARD), [0.0, -10.0], [0.0, 55.0]),  # two on one plate
        ((CAPSULE.with_changes(fed_from="manifold"), RETARD), [14.0, -10.0], [55.0, 55.0]),
        ((CAPSULE.with_changes(fed_from="manifold", full_kpa=90.0),), [7.0], [55.0]),
    ],
)
def test_what_each_capsule_does_at_idle(capsules, moved, felt):
    """Full degrees doubled at the crank; (55 − 20)/(90 − 20) of them where full is at 90 kPa."""
    at = docket(idle_rpm=400.0).with_changes(capsules=capsules)
    lamp = Instrument(mark_error_deg=1.0, lag_ms=0.1)
    found = idle_timing(at, PREDICTION, lamp)
    slow = idle_timing(at, PREDICTION, lamp.with_changes(tachometer_scale=0.8))
    assert (slow.engine_rpm, slow.shown_rpm) == (400.0, 500.0)
    assert [c.moved_deg for c in found.capsules] == pytest.approx(moved, abs=0.1)
    assert [c.felt_kpa for c in found.capsules] == felt
    assert float(PREDICTION.advance_deg(200.0, "falling")) == 0.0  # no advance below
    assert found.shown_deg == pytest.approx(8.0 + 1.0 + sum(moved) - 6 * 400 * 0.1e-3, abs=0.1)


def test_idle_is_told_where_it_is_known():
    assert idle_timing(docket(idle_rpm=700.0).with_changes(capsules=()), PREDICTION) is None
    assert idle_timing(docket(), PREDICTION) is None
    states = (DrivingState(name="Slow", engine_rpm=650.0, depression_kpa=61.0, throttle="shut"),)
    found = idle_timing(docket(states=states), PREDICTION)
    assert (found.engine_rpm, found.depression_kpa) == (650.0, 61.0)


def test_static_and_total_are_inverse():
    at = docket(wanted_total_deg=30.0, wanted_rpm=2000.0, wanted_kpa=35.0)
    static = static_for_total(at, PREDICTION).static_deg
    back = total_for_static(at, PREDICTION, static)
    assert back.total_deg == pytest.approx(30.0, abs=1e-9)
    assert back.engine_rpm == 2000.0


def test_total_at_full_advance_is_static_and_twice_the_stop():
    """physics: total = static + ratio · θ; at full speed θ is the stop, so 8 + 2 · 12."""
    found = total_for_static(docket(), PREDICTION)
    assert found.total_deg == pytest.approx(8.0 + 2 * 12.0, abs=1e-6)
    assert found.engine_rpm == 2 * round(PREDICTION.full_rpm)  # as both are written
    full = total_for_static(docket(wanted_kpa=80.0), PREDICTION)
    assert full.total_deg == pytest.approx(8.0 + 2 * (12.0 + 7.0), abs=1e-6)


def test_what_is_missing_is_named():
    for call, key in ((static_for_total, "wanted_total_deg"), (total_for_static, "static_deg")):
        with pytest.raises(BobweightError) as caught:
            call(docket(static_deg=None), PREDICTION)
        assert caught.value.problem.path == ("setting_up", key)


def test_advance_that_has_begun_at_idle():
    start = 2 * PREDICTION.start_rpm
    assert advance_at_idle_deg(docket(), PREDICTION) is None
    assert advance_at_idle_deg(docket(idle_rpm=0.3 * start), PREDICTION) == 0.0
    assert advance_at_idle_deg(docket(idle_rpm=1.3 * start), PREDICTION) > 0.5


def test_speeds_of_the_card():
    speeds = card_speeds(docket(idle_rpm=750.0), PREDICTION, (1230.0, 2600.0))
    assert speeds[0] == 750.0 and {1230.0, 2600.0} <= set(speeds)
    assert np.all(np.diff(speeds) > 0) and np.max(np.diff(speeds)) <= 800.0
    assert speeds[-1] >= 2 * PREDICTION.full_rpm
    own = docket(lamp_speeds=(LampSpeed(engine_rpm=900.0), LampSpeed(engine_rpm=700.0)))
    assert card_speeds(own, PREDICTION).tolist() == [900.0, 700.0]


def test_card_shows_the_equation_of_a_reading():
    """y = static + ratio·θ + δ_marks − 6·N·t_lag·10⁻³ (6 N degrees a second: Rajput, A Textbook of
    Internal Combustion Engines, Ex. 5.1), written out here."""
    lamp = Instrument(kind="lamp", mark_error_deg=1.5, lag_ms=0.05, tachometer_scale=0.97)
    speeds = tuple(LampSpeed(engine_rpm=n) for n in (1000.0, 1600.0, 3000.0))
    card = lamp_card(docket(lamp_speeds=speeds), PREDICTION, lamp)
    n = np.array([1000.0, 1600.0, 3000.0])
    for shown, direction in (
        (card.off_rising_deg, "rising"), (card.off_falling_deg, "falling"),
    ):  # fmt: skip
        theta = PREDICTION.advance_deg(n / 2, direction)
        expected = 8.0 + 2 * theta + 1.5 - 6 * n * 0.05e-3
        assert shown == pytest.approx(expected, abs=1e-9)
    assert card.on_rising_deg - card.off_rising_deg == pytest.approx(2 * 7.0)
    assert card.depression_kpa == 50.0
    assert card.shown_rpm == pytest.approx(n / 0.97)


@pytest.mark.parametrize("read_as", ["either", "rising", "falling"])
def test_falling_shows_the_backlash_of_the_drive_besides(read_as):
    """Common practice: chain slack of 3–5 crank degrees lets the shaft run ahead while speed falls;
    a band read falling holds it too."""
    at = docket(idle_rpm=400.0).with_changes(target=Target(read_as=read_as))
    slack = put(at, ("particulars", "backlash_deg"), 4.0)
    bands = ((1200.0,), (2.0,), (4.0,))
    tight, loose = (lamp_card(d, PREDICTION, bands=bands) for d in (at, slack))
    more = (4.0 if way == "falling" else 0.0 for way in ("rising", "falling", "rising", "falling"))
    for key, ahead in zip(("off_rising_deg", "off_falling_deg", "on_rising_deg", "on_falling_deg"),
                          more, strict=True):  # fmt: skip
        assert getattr(loose, key) - getattr(tight, key) == pytest.approx(ahead)
    band = np.nanmax(loose.high_deg - tight.high_deg)
    assert band == pytest.approx(4.0 if read_as == "falling" else 0.0)
    idle = (idle_timing(d.with_changes(capsules=(RETARD,)), PREDICTION) for d in (slack, at))
    first, second = (found.shown_deg for found in idle)
    assert first - second == pytest.approx(4.0)


def test_card_without_capsule_and_with_a_held_depression():
    alone = put(docket(), ("capsules", 0), Capsule())
    card = lamp_card(alone, PREDICTION)
    assert card.on_rising_deg is None and card.depression_kpa is None
    held = lamp_card(docket(lamp_kpa=35.0), PREDICTION)
    step = held.on_falling_deg - held.off_falling_deg
    assert np.all((step > 2 * 2.0) & (step < 2 * 5.0)), "half way from start to full"


def test_card_has_the_band_at_check_points_only():
    bands = ((1200.0, 2400.0), (2.0, -np.inf), (4.0, 10.0))
    card = lamp_card(docket(), PREDICTION, bands=bands)
    at = {
        n: (lo, hi) for n, lo, hi in zip(card.engine_rpm, card.low_deg, card.high_deg, strict=True)
    }
    assert at[1200.0] == pytest.approx((8.0 + 4.0, 8.0 + 8.0))
    assert np.isnan(at[2400.0][0]) and at[2400.0][1] == pytest.approx(28.0)
    assert sum(np.isfinite(hi) for _, hi in at.values()) == 2


def test_driving_states_ceiling_and_altitude():
    """Altitude: US Standard Atmosphere 1976, 2000 m: 79501.4 Pa of 101325."""
    states = (
        DrivingState(name="Cruise", engine_rpm=6000.0, depression_kpa=60.0),
        DrivingState(name="Climb", engine_rpm=6000.0, depression_kpa=0.0),
        DrivingState(name="No speed"),
    )
    at = docket(states=states, ceiling_total_deg=40.0, altitude_m=2000.0)
    cruise, climb = state_totals(at, PREDICTION)
    assert climb.total_deg == pytest.approx(32.0) and climb.over_deg is None
    assert cruise.total_deg == pytest.approx(46.0) and cruise.over_deg == pytest.approx(6.0)
    assert cruise.altitude_kpa == pytest.approx(60.0 * 79501.4 / 101325.0, rel=1e-5)
    assert climb.altitude_total_deg <= climb.total_deg
    assert cruise.altitude_total_deg < cruise.total_deg


def test_a_pipe_from_the_edge_of_the_throttle_feels_nothing_at_idle():
    """Idle has the deepest manifold; only a pipe from there carries it (common practice)."""
    idle = DrivingState(name="Idle", engine_rpm=800.0, depression_kpa=55.0, throttle="shut")
    cruise = DrivingState(name="Light cruise", engine_rpm=2500.0, depression_kpa=50.0)
    d = put(docket(), ("setting_up", "states"), (idle, cruise))
    fed = {pipe: put(d, ("capsules", 0, "fed_from"), pipe) for pipe in ("edge", "manifold")}
    assert pulls_most(fed["edge"]).name == "Light cruise"
    assert pulls_most(fed["manifold"]).name == "Idle"
    assert pulls_most(put(fed["edge"], ("setting_up", "states"), (idle,))) is None
    assert pulls_most(put(d, ("capsules", 0), Capsule())) is None


def test_a_state_with_the_throttle_shut_is_that_of_idle():
    """An engine comes down to its idle (common practice): one state has one figure, that of falling
    speed, wherever it is told."""
    rpm = 2.2 * PREDICTION.start_rpm
    idle = DrivingState(name="Idle", engine_rpm=rpm, depression_kpa=55.0, throttle="shut")
    at = docket(states=(idle, idle.with_changes(throttle="open", depression_kpa=0.0)))
    shut, opened = state_totals(at, PREDICTION)
    up, down = (float(PREDICTION.advance_deg(rpm / 2, way)) for way in ("rising", "falling"))
    assert shut.total_deg == pytest.approx(8.0 + 2 * down, abs=1e-9)
    assert opened.total_deg == pytest.approx(8.0 + 2 * up, abs=1e-9)
    assert shut.total_deg > opened.total_deg + 0.1
    assert idle_timing(at, PREDICTION).shown_deg == pytest.approx(shut.total_deg, abs=1e-9)


def test_what_a_lamp_can_show_reaches_from_all_retard_to_all_advance():
    """Written out: static and mark error, with twice the stop of 12° and twice each capsule."""
    assert shown_reach_deg(Docket(capsules=(CAPSULE,))) is None
    assert shown_reach_deg(docket()) == pytest.approx((8.0, 8.0 + 2 * (12.0 + 7.0)))
    lamp = Session(instrument=Instrument(mark_error_deg=-1.5))
    both = docket().with_changes(capsules=(CAPSULE, RETARD), sessions=(lamp,))
    assert shown_reach_deg(both) == pytest.approx((6.5 - 2 * 5.0, 6.5 + 2 * (12.0 + 7.0)))
    for frame, limit in (("distributor", 13.0), ("crank", 26.0), ("crank-static", 34.0)):
        asked = Target(frame=frame, points=(CheckPoint(speed_rpm=1e3, most_deg=limit),))
        reach = shown_reach_deg(docket().with_changes(target=asked, capsules=()))
        assert reach == pytest.approx((8.0, 34.0))


def test_height_at_which_full_travel_is_lost():
    """54 · p/p₀ falls to 50 kPa where p is 93.82 kPa: between 500 m (95461 Pa) and 1000 m (89876
    Pa) of the US Standard Atmosphere 1976, by the line between them to 5 %."""
    height = full_travel_height_m(docket(), 54.0)
    between = 500.0 + 500.0 * (95.46129 - 101.325 * 50 / 54) / (95.46129 - 89.87628)
    assert height == pytest.approx(between, rel=0.05)
    assert full_travel_height_m(put(docket(), ("capsules", 0), Capsule()), 54.0) is None
    with pytest.raises(BobweightError):
        full_travel_height_m(docket(), 40.0)


def test_full_travel_by_dimensions_is_that_of_the_triple():
    capsule = Capsule(
        given_as="dimensions", area_mm2=1000.0, spring_rate_n_per_mm=8.0, preload_n=20.0,
        travel_mm=3.75,
    )  # fmt: skip
    assert full_travel_kpa((capsule,)) == pytest.approx((20.0 + 8.0 * 3.75) / 1000.0 * 1000.0)


def test_mark_error_from_a_piston_stop():
    """Geometry: the true angles are equal, so 32 shown before and 28 after is 2 too much."""
    found = mark_error_from_stop(32.0, 28.0, u_reading_deg=0.5)
    assert found.mark_error_deg == 2.0
    assert found.u_mark_error_deg == pytest.approx(0.5 / np.sqrt(2))
    assert mark_error_from_stop(28.0, 32.0).u_mark_error_deg is None


@pytest.mark.parametrize(
    ("put_in", "found", "key", "u"),
    [
        (with_mark_error, MarkError(1.5, 0.3), "mark_error_deg", 0.3),
        (with_lag, LagEstimate(0.06, 0.01), "lag_ms", 0.01),
        (with_tachometer, TachometerScale(0.97, 0.004, "right"), "tachometer_scale", 0.004),
        (with_mark_error, MarkError(-1.0, None), "mark_error_deg", None),
    ],
)
def test_found_values_go_into_the_session_with_their_uncertainty(put_in, found, key, u):
    before = put(docket(), ("sessions",), (Session(), Session()))
    after = put_in(before, 1, found)
    instrument = after.sessions[1].instrument
    assert getattr(instrument, key) in (1.5, 0.06, 0.97, -1.0)
    assert instrument.u.get(key) == u
    assert after.sessions[0] == before.sessions[0]


def test_rotor_over_the_vacuum_travel():
    """Arc over radius: reach (9 + 6) / (2 · 26) rad = 16.53°; 4° off and 4 − 7 = −3° on."""
    at = docket(rotor=RotorFit(tip_mm=9.0, post_mm=6.0, radius_mm=26.0, off_deg=4.0))
    found = rotor_phasing(at)
    assert (found.off_deg, found.on_deg) == (4.0, pytest.approx(-3.0))
    assert found.margin_deg == pytest.approx(np.degrees(15.0 / 52.0) - 4.0)
    with pytest.raises(BobweightError) as caught:
        rotor_phasing(docket())
    assert caught.value.problem.path == ("setting_up", "rotor", "tip_mm")
