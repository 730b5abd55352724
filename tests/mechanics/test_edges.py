"""Mechanisms on the edge: take-ups at rest and stop, none at all, dead points, no friction."""

from types import SimpleNamespace

import numpy as np
import pytest

from bobweight.core.docket.mechanism import Linkage, Mechanism, SwingPoint, Weights
from bobweight.core.mechanics.balance import RPM_PER_RAD_S, Balance, balance_speeds
from bobweight.core.mechanics.branches import Curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.predict import predict
from bobweight.core.mechanics.turns import crossing_rad
from bobweight.core.problems import BobweightError
from bobweight.core.record import put

from .independent import Vectors
from .mechanisms import plain, spring


def length_mm(mechanism, index: int, cam_deg: float) -> float:
    """Distance post to peg at a cam angle, by the vector route."""
    vectors = Vectors(mechanism)
    return abs(vectors.span(mechanism.springs[index], vectors.state_at(np.radians(cam_deg))))


def taken_up_at(mechanism, index: int, cam_deg: float, nudge_mm: float = 0.0):
    """The mechanism with a spring's free length such that it is taken up at a cam angle."""
    slack = mechanism.springs[index].slack_taken_mm
    length = length_mm(mechanism, index, cam_deg) - slack + nudge_mm
    return put(mechanism, ("springs", index, "free_length_mm"), float(length))


def codes(mechanism) -> set[str]:
    return {problem.code for problem in mechanism_problems(mechanism)}


NUDGES = (0.0, 1e-14, -1e-14, 4e-15, -4e-15)


@pytest.mark.parametrize("nudge", NUDGES)
def test_spring_at_its_free_length_at_rest(nudge):
    """No preload and no drag: advance begins at once; with initial tension, at its own speed."""
    mechanism = taken_up_at(plain(springs=(spring(),)), 0, 0.0, nudge)
    prediction = predict(mechanism)
    assert prediction.start_rpm == pytest.approx(0.0, abs=1e-3)
    assert prediction.take_ups == () and prediction.jumps == ()
    assert 0 < prediction.advance_deg(100.0) < 1.5

    tense = put(mechanism, ("springs", 0, "initial_tension_n"), 3.0)
    at_tension = Vectors(taken_up_at(tense, 0, 0.0, -1e-9)).speed_rpm(0.0, 1.0)
    prediction = predict(tense)
    assert prediction.start_rpm == pytest.approx(at_tension, rel=1e-6)
    assert prediction.advance_deg(0.99 * at_tension) == 0.0
    assert prediction.advance_deg(1.01 * at_tension) > 0.0


@pytest.mark.parametrize("nudge", NUDGES)
def test_take_up_exactly_at_the_stop(nudge):
    """A spring that would be taken up at the stop does nothing below it, whatever its tension."""
    loose = plain(springs=(spring(15.0, rate_n_per_mm=0.9), spring(initial_tension_n=40.0)))
    mechanism = taken_up_at(loose, 1, loose.stop_deg, nudge)
    alone = predict(plain(springs=loose.springs[:1]))
    prediction = predict(mechanism)
    assert prediction.full_rpm == pytest.approx(alone.full_rpm, rel=1e-9)
    assert prediction.take_ups == () and prediction.plateaus == ()
    speeds = np.linspace(0, 1.2 * alone.full_rpm, 30)
    for way in ("rising", "falling"):
        assert prediction.advance_deg(speeds, way) == pytest.approx(alone.advance_deg(speeds, way))
    varied = Builds(mechanism, {("springs", 1, "slack_mm"): np.array([-0.5, 0.0, 0.5])})
    assert balance_speeds(varied).rising_rpm[1:, -1] == pytest.approx(alone.full_rpm, rel=1e-9)
    # Beside a build that does reach it, which has a segment more.
    varied = Builds(mechanism, {("stop_deg",): np.array([loose.stop_deg, loose.stop_deg + 1.0])})
    rising = balance_speeds(varied).rising_rpm
    assert rising[0].max() == pytest.approx(alone.full_rpm, rel=1e-9) and rising[1].max() > 1e3


def test_spring_never_taken_up():
    idle = plain(springs=(spring(15.0), spring(15.2, slack_mm=20.0, rate_n_per_mm=30.0)))
    assert codes(idle) >= {"spring-never-taken-up"}
    assert not any(problem.grave for problem in mechanism_problems(idle))
    one, other = predict(idle), predict(plain(springs=idle.springs[:1]))
    assert one.full_rpm == other.full_rpm and one.take_ups == ()


@pytest.mark.parametrize("tension_n", [0.0, 5.0])
def test_two_take_ups_at_one_angle(tension_n):
    """Two like springs are one of twice the rate and tension."""
    pair = [spring(15.0, rate_n_per_mm=0.8)]
    pair += [spring(15.2, rate_n_per_mm=2.0, slack_mm=1.4, initial_tension_n=tension_n)] * 2
    double = pair[1].with_changes(rate_n_per_mm=4.0, initial_tension_n=2 * tension_n)
    two, one = predict(plain(springs=tuple(pair))), predict(plain(springs=(pair[0], double)))
    assert [t.spring for t in two.take_ups] == [1, 2]
    assert len({t.advance_deg for t in two.take_ups}) == 1
    assert len(two.plateaus) == len(one.plateaus) == (1 if tension_n else 0)
    for a, b in zip(two.plateaus, one.plateaus, strict=True):
        assert (a.from_rpm, a.to_rpm) == pytest.approx((b.from_rpm, b.to_rpm), rel=1e-9)
    speeds = np.linspace(0, 1.1 * one.full_rpm, 60)
    assert two.advance_deg(speeds) == pytest.approx(one.advance_deg(speeds), abs=1e-9)
    knots = balance_speeds(Builds(plain(springs=tuple(pair))), 100).theta_rad[0]
    assert len(np.unique(knots)) == len(knots) - 1  # no knots are spent between the two


def test_slot_near_its_dead_point():
    """Up to where the ray only touches the pin's circle the curve stands; past it there is none."""
    mechanism = plain(linkage=Linkage(kind="slot", pin_radius_mm=9.0, pin_angle_deg=50.0))
    pivot, pin, turn = 17.0, 9.0, np.radians(110.0 + 50.0)
    at_rest = np.angle(pivot + pin * np.exp(1j * turn))
    reach_deg = float(np.degrees(np.arcsin(pin / pivot) - at_rest))  # tangent from the shaft
    assert 5.0 < reach_deg < 60.0
    near = put(mechanism, ("stop_deg",), reach_deg * (1 - 1e-6))
    prediction, vectors = predict(near), Vectors(near)
    for speed in np.linspace(0.3, 0.999, 9) * prediction.full_rpm:
        assert prediction.advance_deg(speed) == pytest.approx(vectors.advance_deg(speed), abs=1e-6)
    past = put(mechanism, ("stop_deg",), reach_deg * (1 + 1e-6))
    assert {p.code for p in mechanism_problems(past) if p.grave} == {"linkage-short-of-stop"}
    with pytest.raises(BobweightError):
        predict(past)


def test_without_friction_both_branches_are_one():
    prediction = predict(plain())
    assert np.array_equal(prediction.rising.speed_rpm, prediction.falling.speed_rpm)
    assert np.array_equal(prediction.rising.advance_deg, prediction.falling.advance_deg)


def test_grip_at_its_limit():
    """0.9, the most that is accepted: ω² ten times rising, and 1 / 1.9 falling."""
    free, gripped = predict(plain()), predict(plain(grip=0.9))
    assert gripped.start_rpm == pytest.approx(free.start_rpm * np.sqrt(10.0), rel=1e-9)
    falling = np.asarray(gripped.falling.speed_rpm)
    assert falling[1] == pytest.approx(free.start_rpm / np.sqrt(1.9), rel=1e-9)


def test_isochronous_spring():
    """One speed balances at every angle, so the weights fly right out there.

    With r² growing evenly with θ, J' = 2 n m r dr/dθ is constant, and so is the drag.
    """
    theta = np.linspace(0.0, 12.0, 13)
    radius = np.sqrt(12.0**2 + 6.0 * theta)
    swing_points = tuple(
        SwingPoint(cam_deg=float(t), radius_mm=float(r)) for t, r in zip(theta, radius, strict=True)
    )
    mechanism = Mechanism(
        weights=Weights(count=2, mass_g=30.0),
        linkage=Linkage(kind="measured", measured_as="radius", points=swing_points),
        springs=(spring(40.0, slack_mm=0.0),),
        stop_deg=12.0,
        heel_drag_nmm=20.0,
    )
    prediction = predict(mechanism)  # the spring idles: the drag alone holds back
    expected = np.sqrt(2 * 20.0e6 / (2 * 30.0 * np.degrees(6.0))) * 30 / np.pi
    assert prediction.start_rpm == pytest.approx(expected, rel=1e-3)  # PCHIP through 13 points
    assert prediction.full_rpm == pytest.approx(expected, rel=1e-3)
    assert prediction.advance_deg(0.998 * expected) == 0.0
    assert prediction.advance_deg(1.002 * expected) == pytest.approx(12.0)


def test_nothing_holds_back():
    idle = plain(springs=(spring(15.0, slack_mm=20.0),))
    assert "nothing-holds-back" in codes(idle)
    with pytest.raises(BobweightError) as caught:
        predict(idle)
    assert caught.value.problem.code == "nothing-holds-back"
    assert "no-springs" in codes(plain(springs=()))


@pytest.mark.parametrize("as_", ["swing", "radius"])
def test_measured_table_ends_exactly_at_the_stop(as_):
    rows = np.array([0.0, 3.1, 7.7, 12.3])
    alpha = np.radians(110.0 - rows / 0.6)
    values = rows / 0.6 if as_ == "swing" else abs(17.0 + 11.0 * np.exp(1j * alpha))
    key = "swing_deg" if as_ == "swing" else "radius_mm"
    points = tuple(
        SwingPoint(**{"cam_deg": float(c), key: float(v)})
        for c, v in zip(rows, values, strict=True)
    )
    mechanism = plain(
        linkage=Linkage(kind="measured", measured_as=as_, points=points), stop_deg=12.3
    )
    prediction = predict(mechanism)
    assert np.isfinite(prediction.full_rpm)
    expected = predict(plain(stop_deg=12.3))  # constant ratio 0.6 is what the rows came from
    tolerance = 1e-9 if as_ == "swing" else 2e-2
    assert prediction.full_rpm == pytest.approx(expected.full_rpm, rel=tolerance)
    speeds = np.append(np.linspace(0, 1, 50) * prediction.full_rpm, 1e5)
    advance = prediction.advance_deg(speeds)
    assert np.all(np.isfinite(advance)) and advance[-1] == pytest.approx(12.3)
    past = put(mechanism, ("stop_deg",), 12.31)
    assert "linkage-short-of-stop" in codes(past)


def test_jump_and_plateau_and_jump_are_three_things():
    """A jump that ends on a take-up, the step there, and a jump from the step: kept apart."""
    base = plain(
        weights=Weights(
            count=2, mass_g=28.0, pivot_radius_mm=17.0, cg_mm=11.0, rest_angle_deg=150.0
        ),
        springs=(spring(5.0, rate_n_per_mm=0.2), spring(rate_n_per_mm=0.05)),
    )
    stepped = put(base, ("springs", 1, "initial_tension_n"), 1.5)
    mechanism = taken_up_at(stepped, 1, 4.0)
    prediction = predict(mechanism)
    rising = [j for j in prediction.jumps if j.direction == "rising"]
    assert (rising[0].from_deg, rising[0].to_deg) == (0.0, pytest.approx(4.0))
    assert rising[1].from_deg == pytest.approx(4.0) and rising[1].to_deg > 5.0
    assert len(prediction.plateaus) == 1
    step = prediction.plateaus[0]
    assert (step.from_rpm, step.to_rpm) == pytest.approx(
        (rising[0].speed_rpm, rising[1].speed_rpm), rel=1e-9
    )
    between = 0.5 * (step.from_rpm + step.to_rpm)
    assert prediction.advance_deg(between) == pytest.approx(4.0, abs=1e-6)
    assert Vectors(mechanism).advance_deg(between) == pytest.approx(4.0, abs=1e-6)


def test_speed_asked_as_number_array_and_grid():
    prediction = predict(plain())
    assert prediction.advance_deg(500.0).shape == ()
    assert prediction.advance_deg(np.full((2, 3), 500.0)).shape == (2, 3)
    assert prediction.advance_deg([]).shape == (0,)
    assert np.isnan(prediction.advance_deg([np.nan, 500.0])).tolist() == [True, False]
    assert prediction.advance_deg(-5.0) == 0.0


def test_slack_at_the_pegs_path_turning_back():
    """A spring let go again before the stop: taken up once, reported once."""
    mechanism = plain(
        springs=(
            spring(15.0, rate_n_per_mm=0.9),
            spring(29.8, post_angle_deg=175.0, rate_n_per_mm=5.0),
        )
    )
    # Post at 175°, peg at 0°: farthest apart at −5°, so a spring stretched at rest lets go later.
    lets_go = taken_up_at(mechanism, 1, 6.0)
    balance = Balance(Builds(lets_go))
    assert balance.engaged_at(np.zeros((1, 1, 1)))[1].all()
    assert not balance.engaged_at(np.full((1, 1, 1), np.radians(7.0)))[1].any()
    assert predict(lets_go).take_ups == ()  # the primary is taken up at rest
    speed = 0.7 * predict(lets_go).full_rpm
    assert predict(lets_go).advance_deg(speed) == pytest.approx(
        Vectors(lets_go).advance_deg(speed), abs=1e-6
    )


def test_curves_below_the_first_knot_and_beyond_the_last():
    table = Curves(
        np.array([[0.0, 5.0, 5.0, 9.0]]),
        np.array([[300.0, 500.0, 700.0, 900.0]]),
        np.array([[250.0, 450.0, 650.0, 850.0]]),
    )
    # Between knots the square of speed is straight: half way in it is half way in advance.
    half, upper = np.hypot(300.0, 500.0) / np.sqrt(2), np.hypot(700.0, 900.0) / np.sqrt(2)
    speeds = np.array([0.0, 299.0, 300.0, half, 500.0, 600.0, upper, 900.0, 5000.0])
    assert table.at(speeds)[0] == pytest.approx([0, 0, 0, 2.5, 5, 5, 7, 9, 9])
    half, upper = np.hypot(250.0, 450.0) / np.sqrt(2), np.hypot(650.0, 850.0) / np.sqrt(2)
    speeds = np.array([0.0, 249.0, 250.0, half, 450.0, 550.0, upper, 850.0, 5000.0])
    assert table.at(speeds, "falling")[0] == pytest.approx([0, 0, 0, 2.5, 5, 5, 7, 9, 9])


def test_weights_that_may_not_return_are_told():
    """Stick that the springs cannot overcome, at rest or on the way, and a spring that helps."""
    assert "may-not-return" not in codes(plain())
    assert "may-not-return" not in codes(plain(stick_nmm=2.0))
    primary = spring(15.0, rate_n_per_mm=0.9)
    assert "may-not-return" in codes(plain(springs=(primary,), stick_nmm=60.0))
    # Taken up only at 3°: between rest and there nothing brings the cam back.
    late = taken_up_at(plain(springs=(spring(),)), 0, 3.0)
    assert "may-not-return" in codes(late)
    # A spring let go on the way in a mechanism that returns from rest by its preload alone.
    fading = plain(springs=(spring(15.0, rate_n_per_mm=0.9, post_angle_deg=-172.0),), stick_nmm=0.5)
    assert "may-not-return" in codes(fading)
    assert not any(problem.grave for problem in mechanism_problems(late))


def test_a_rubber_stop_lets_the_cam_on_by_its_stiffness():
    """Past the stop the weights stand where their moment is that of springs and rubber together;
    the speed there follows by hand from the curve without rubber."""
    hard = plain(stop_deg=13.0)
    soft = hard.with_changes(stop_give_deg=2.0, stop_rate_nmm_per_deg=40.0)
    longer = hard.with_changes(stop_deg=15.0)
    before, with_rubber = predict(longer), predict(soft)
    assert with_rubber.full_deg == pytest.approx(15.0)
    assert with_rubber.advance_deg(predict(hard).full_rpm) == pytest.approx(13.0, abs=1e-9)
    pull = Balance(Builds(longer)).motion
    theta = np.radians([[[14.0]]])
    slope = float(pull.inertia_slope(theta, pull.at(theta))[0, 0, 0])
    square = (40.0 * 1.0) * 2e6 / slope  # (rad/s)² for one degree into the rubber
    at = np.interp(14.0, before.rising.advance_deg, before.rising.speed_rpm)
    speed = np.sqrt(at**2 + square * (30 / np.pi) ** 2)
    assert with_rubber.advance_deg(speed) == pytest.approx(14.0, abs=0.01)


def test_a_crossing_at_the_very_end_of_a_segment_stays_inside_it():
    """Speed rises by a rev/min for each share of the segment, and drops beyond its end, where the
    next spring counts: the answer is the crossing, not that edge."""

    def squares(theta, _):
        return ((np.where(theta <= 1.0, 500.0 + theta, 400.0) / RPM_PER_RAD_S) ** 2,) * 2

    balance = SimpleNamespace(engaged_at=lambda theta: None, speed_squared=squares)
    wanted = np.array([500.9995, 500.5, 500.0005])
    ends = np.zeros(3), np.ones(3)
    for direction in ("rising", "falling"):
        found = crossing_rad(balance, wanted, *ends, direction, (ends[0] + 500, ends[1] + 500))
        assert found == pytest.approx(wanted - 500.0, abs=1e-6)


def test_each_crossing_is_found_as_closely_however_soon_others_are():
    """A straight stretch, where the first look is enough, and one that begins like a root."""

    def squares(theta, _):
        bent = np.maximum(theta - 0.5, 0.0) ** 0.125
        return (((500.0 + np.minimum(theta, 0.5) + bent) / RPM_PER_RAD_S) ** 2,) * 2

    balance = SimpleNamespace(engaged_at=lambda theta: None, speed_squared=squares)
    theta = np.array([0.25, 0.5 + 1e-4, 0.503])
    wanted = np.sqrt(squares(theta, None)[0]) * RPM_PER_RAD_S
    for direction in ("rising", "falling"):
        ends = np.zeros(3), np.ones(3)
        about = np.full(3, 500.0), np.full(3, 501.4)
        found = crossing_rad(balance, wanted, *ends, direction, about)
        assert found == pytest.approx(theta, abs=1e-7)
