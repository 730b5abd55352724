"""What must hold of every mechanism, whatever its numbers."""

import dataclasses

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from bobweight.core.mechanics.balance import Balance
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put

from .mechanisms import LINKAGES, random_mechanism

WAYS = ("rising", "falling")
TORQUES = ("heel_drag_nmm", "stick_nmm")
FORCES = ("rate_n_per_mm", "initial_tension_n")

checked = settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.filter_too_much]
)


def possible(mechanism) -> bool:
    return not any(problem.grave for problem in mechanism_problems(mechanism))


@st.composite
def mechanisms(draw, kinds=LINKAGES):
    kind = draw(st.sampled_from(kinds))
    seed = draw(st.integers(0, 2**31))
    mechanism = random_mechanism(np.random.default_rng(seed), kind, friction=draw(st.booleans()))
    assume(possible(mechanism))
    return mechanism


def speeds_of(prediction) -> np.ndarray:
    """Speeds from standstill past full, none so near a jump that rounding decides its side."""
    speeds = np.linspace(0.0, 1.2 * prediction.full_rpm + 1.0, 83)[1:]
    for jump in prediction.jumps:
        speeds = speeds[np.abs(speeds - jump.speed_rpm) > 1e-6 * jump.speed_rpm]
    return speeds


def same_curve(one, other, factor: float = 1.0) -> None:
    """The curves agree, speeds of the other multiplied by a factor."""
    speeds = speeds_of(one)
    for way in WAYS:
        assert other.advance_deg(factor * speeds, way) == pytest.approx(
            one.advance_deg(speeds, way), abs=1e-6
        )


def forces_scaled(mechanism, factor: float):
    springs = tuple(
        s.with_changes(**{key: factor * getattr(s, key) for key in FORCES})
        for s in mechanism.springs
    )
    changes = {key: factor * getattr(mechanism, key) for key in TORQUES}
    return mechanism.with_changes(springs=springs, **changes)


def pulls_back(mechanism) -> bool:
    """Whether every spring pulls against advance at every angle."""
    balance = Balance(Builds(mechanism))
    theta = np.linspace(0.0, float(balance.stop_rad), 101)[None, None]
    swing = balance.motion.at(theta)
    return all(
        (path.torque_nmm(theta, swing)[on] >= 0).all()
        for path, on in zip(balance.paths, balance.engaged_at(theta), strict=True)
    )


@checked
@given(mechanisms())
def test_curves_are_monotone_and_falling_is_never_below_rising(mechanism):
    prediction = predict(mechanism)
    for branch in (prediction.rising, prediction.falling):
        assert np.all(np.diff(branch.speed_rpm) >= 0) and np.all(np.diff(branch.advance_deg) >= 0)
        assert (branch.advance_deg[0], branch.advance_deg[-1]) == (0.0, prediction.full_deg)
    speeds = speeds_of(prediction)
    rising, falling = (prediction.advance_deg(speeds, way) for way in WAYS)
    assert np.all(np.diff(rising) >= -1e-9) and np.all(np.diff(falling) >= -1e-9)
    assert np.all(falling >= rising - 1e-9)
    assert np.all((rising >= 0) & (falling <= mechanism.stop_deg + 1e-9))


@checked
@given(mechanisms())
def test_marks_lie_on_the_curve(mechanism):
    """Start, full speed, take-ups, plateaus and jumps are places of the curve itself."""
    prediction = predict(mechanism)
    assert prediction.advance_deg(prediction.full_rpm * (1 + 1e-9)) == pytest.approx(
        mechanism.stop_deg, abs=1e-6
    )
    if prediction.start_rpm > 1:
        assert prediction.advance_deg(prediction.start_rpm * (1 - 1e-9)) == 0.0
    for mark in prediction.plateaus:
        inside = np.linspace(mark.from_rpm, mark.to_rpm, 7)[1:-1]
        assert prediction.advance_deg(inside) == pytest.approx(mark.advance_deg, abs=1e-7)
    for mark in prediction.take_ups:
        assert np.any(np.abs(prediction.rising.advance_deg - mark.advance_deg) < 1e-6)
    speed = np.concatenate([[j.speed_rpm] for j in prediction.jumps] or [np.empty(0)])
    for jump, rpm in zip(prediction.jumps, speed, strict=True):
        onward = 1 if jump.direction == "rising" else -1
        short, past = prediction.advance_deg(rpm * (1 + onward * np.array([-1e-8, 1e-8])),
                                             jump.direction)  # fmt: skip
        assert abs(short - jump.from_deg) < 0.02 and abs(past - jump.to_deg) < 0.02
        assert onward * (jump.to_deg - jump.from_deg) > 0


@checked
@given(mechanisms(), st.floats(0.2, 4.0))
def test_masses_and_torques_together_change_nothing(mechanism, factor):
    scaled = forces_scaled(mechanism, factor)
    scaled = put(scaled, ("weights", "mass_g"), mechanism.weights.mass_g * factor)
    same_curve(predict(mechanism), predict(scaled))


@checked
@given(mechanisms(), st.floats(0.3, 3.0))
def test_speed_goes_as_root_of_rate_over_mass(mechanism, factor):
    one = predict(mechanism)
    same_curve(one, predict(forces_scaled(mechanism, factor)), np.sqrt(factor))
    lighter = put(mechanism, ("weights", "mass_g"), mechanism.weights.mass_g / factor)
    same_curve(one, predict(lighter), np.sqrt(factor))


@checked
@given(mechanisms(), st.integers(1, 6))
def test_weights_count_as_their_mass(mechanism, count):
    """Two weights of a mass are one of twice the mass; springs are listed each for itself."""
    mass = mechanism.weights.mass_g * mechanism.weights.count / count
    other = mechanism.weights.with_changes(count=count, mass_g=mass)
    same_curve(predict(mechanism), predict(mechanism.with_changes(weights=other)))


@checked
@given(mechanisms(), st.floats(0.2, 3.0))
def test_lengths_scale(mechanism, factor):
    """Lengths × f with rates as they are: torques and inertia both × f², tension × f."""
    assume(factor * max(s.slack_taken_mm for s in mechanism.springs) < 30)
    scaled = mechanism

    def grown(record):
        keys = [f.name for f in dataclasses.fields(record) if f.name.endswith("_mm")]
        keys += [k for k in ("initial_tension_n",) if hasattr(record, k)]
        keys = [k for k in keys if k != "rate_n_per_mm" and getattr(record, k) is not None]
        return record.with_changes(**{k: factor * getattr(record, k) for k in keys})

    points = tuple(grown(p) for p in mechanism.linkage.points)
    scaled = scaled.with_changes(
        weights=grown(mechanism.weights),
        linkage=grown(mechanism.linkage).with_changes(points=points),
        springs=tuple(grown(s) for s in mechanism.springs),
        **{key: factor**2 * getattr(mechanism, key) for key in TORQUES},
    )
    assume(possible(scaled))
    same_curve(predict(mechanism), predict(scaled))


@checked
@given(mechanisms(), st.floats(-170.0, 170.0))
def test_turning_the_base_plate_under_a_cam_spring_changes_nothing(mechanism, turn_deg):
    springs = tuple(
        s.with_changes(
            post_angle_deg=s.post_angle_deg + turn_deg, peg_angle_deg=s.peg_angle_deg + turn_deg
        )
        if s.peg_on == "cam"
        else s
        for s in mechanism.springs
    )
    turned = mechanism.with_changes(springs=springs)
    assume(possible(turned))
    same_curve(predict(mechanism), predict(turned))


@checked
@given(mechanisms(), st.integers(0, 2))
def test_taking_a_spring_out_never_lowers_the_advance(mechanism, index):
    """For springs that pull against advance everywhere, as springs of the trade do."""
    assume(len(mechanism.springs) > 1 and index < len(mechanism.springs))
    assume(pulls_back(mechanism))
    springs = mechanism.springs[:index] + mechanism.springs[index + 1 :]
    without = mechanism.with_changes(springs=springs)
    assume(possible(without))
    one, other = predict(mechanism), predict(without)
    for way in WAYS:
        speeds = speeds_of(one)
        assert np.all(other.advance_deg(speeds, way) >= one.advance_deg(speeds, way) - 1e-7)


@checked
@given(mechanisms(), st.floats(1.001, 2.0))
def test_more_mass_never_lowers_the_advance(mechanism, factor):
    heavier = put(mechanism, ("weights", "mass_g"), mechanism.weights.mass_g * factor)
    one, other = predict(mechanism), predict(heavier)
    for way in WAYS:
        speeds = speeds_of(one)
        assert np.all(other.advance_deg(speeds, way) >= one.advance_deg(speeds, way) - 1e-7)


@checked
@given(mechanisms(), st.sampled_from(["heel_drag_nmm", "stick_nmm", "grip"]))
def test_drag_and_friction_never_raise_the_rising_curve(mechanism, key):
    more = put(mechanism, (key,), getattr(mechanism, key) + (0.05 if key == "grip" else 4.0))
    one, other = predict(mechanism), predict(more)
    speeds = speeds_of(one)
    assert np.all(other.advance_deg(speeds) <= one.advance_deg(speeds) + 1e-7)
    if key != "heel_drag_nmm":
        falling = (p.advance_deg(speeds, "falling") for p in (one, other))
        before, after = falling
        assert np.all(after >= before - 1e-7)


@checked
@given(mechanisms(), st.sampled_from([50, 83, 500, 2000]))
def test_number_of_knots_does_not_matter(mechanism, knots):
    one, other = predict(mechanism), predict(mechanism, knots)
    # the top of a hump just past rest may lie between two knots
    assert other.start_rpm == pytest.approx(one.start_rpm, rel=2e-5, abs=1e-6)
    assert other.full_rpm == pytest.approx(one.full_rpm, rel=1e-9)
    large = [[j for j in p.jumps if abs(j.to_deg - j.from_deg) > 0.5] for p in (one, other)]
    assert len(large[0]) == len(large[1])
    for a, b in zip(*large, strict=True):
        assert (a.direction, a.speed_rpm) == (b.direction, pytest.approx(b.speed_rpm, rel=1e-9))
        assert (a.from_deg, a.to_deg) == pytest.approx(
            (b.from_deg, b.to_deg), abs=5e-4
        )  # a flat hump has no sharp top
    same_curve(one, other)
