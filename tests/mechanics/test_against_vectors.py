"""The closed form against the vector route: same advance to 1e-6 degrees on random mechanisms.

Two derivations of one balance (energy against force) share no code; see ``independent``.
"""

from collections import Counter

import numpy as np
import pytest

from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.predict import predict

from .independent import Vectors
from .mechanisms import LINKAGES, VARIANTS, random_mechanism, varied_mechanisms

EACH = 30  # mechanisms a kind of linkage
WAYS = ("rising", "falling")


def drawn(kind: str, count: int, seed: int):
    """Random mechanisms that can be predicted."""
    rng = np.random.default_rng(seed)
    while count:
        mechanism = random_mechanism(rng, kind, friction=count % 3 > 0)
        if not any(problem.grave for problem in mechanism_problems(mechanism)):
            count -= 1
            yield mechanism


def disagreements(mechanism, prediction, vectors, rng) -> list:
    """Speeds at which the two routes differ, among random ones and those beside every jump."""
    found = []
    for way in WAYS:
        places = [
            (s, _nearest_jump(prediction, way, s))
            for s in rng.uniform(0.02, 1.1, 5) * prediction.full_rpm
        ]
        for jump in prediction.jumps:
            if jump.direction == way:
                places += [(jump.speed_rpm * (1 + e), jump.from_deg) for e in (-1e-6, 1e-6)]
        for speed, close_to in places:
            ours = float(prediction.advance_deg(speed, way))
            theirs = vectors.advance_deg(speed, way, close_to)
            if not abs(ours - theirs) < 1e-6:
                found.append((way, speed, ours, theirs, mechanism))
    return found


def _nearest_jump(prediction, way, speed_rpm):
    """Where the vectors look closely: a hump may be narrower than their even grid."""
    jumps = [jump for jump in prediction.jumps if jump.direction == way]
    near = min(jumps, key=lambda jump: abs(jump.speed_rpm - speed_rpm), default=None)
    return None if near is None else near.from_deg


@pytest.mark.parametrize("kind", LINKAGES)
def test_advance_agrees(kind):
    rng = np.random.default_rng(1)
    seen = Counter()
    for mechanism in drawn(kind, EACH, seed=LINKAGES.index(kind)):
        prediction, vectors = predict(mechanism), Vectors(mechanism)
        assert disagreements(mechanism, prediction, vectors, rng) == []
        seen["mechanisms"] += 1
        seen["friction"] += mechanism.stick_taken_nmm > 0
        seen["grip"] += mechanism.grip_taken > 0
        seen["drag"] += mechanism.heel_drag_taken_nmm > 0
        seen["jumps"] += len(prediction.jumps) > 0
        seen["plateaus"] += len(prediction.plateaus) > 0
        for spring in mechanism.springs:
            seen[spring.peg_on] += 1
            seen["slack"] += spring.slack_taken_mm > 0
            seen["tension"] += spring.tension_taken_n > 0
            seen["tang " + spring.tang_way] += spring.tang_mm != 0
        seen["take-ups"] += len(prediction.take_ups)
    assert seen["mechanisms"] == EACH
    assert min(seen.values()) >= EACH // 10, seen  # nothing that matters was left out


@pytest.mark.parametrize("variant", VARIANTS)
def test_every_mounting_unlike_weights_and_rubber_agree(variant):
    """A few of each; ``python -m tests.studies.vectors`` tries 500 of each."""
    rng = np.random.default_rng(3)
    count = 2 if variant == "all together" else 5  # the vectors take seconds each there
    for mechanism in varied_mechanisms(variant, count, seed=list(VARIANTS).index(variant)):
        assert disagreements(mechanism, predict(mechanism), Vectors(mechanism), rng) == []


@pytest.mark.parametrize("variant", VARIANTS)
def test_mirror_image_of_every_mounting_agrees(variant):
    rng = np.random.default_rng(4)
    for mechanism in varied_mechanisms(variant, 2, seed=60 + list(VARIANTS).index(variant)):
        vectors = Vectors(mechanism, mirrored=True)
        assert disagreements(mechanism, predict(mechanism), vectors, rng) == []


@pytest.mark.parametrize("kind", LINKAGES)
def test_speed_at_every_knot_agrees(kind):
    """The knots themselves: the speed at which the net moment vanishes at each angle."""
    checked = 0
    for mechanism in drawn(kind, EACH, seed=40 + LINKAGES.index(kind)):
        vectors = Vectors(mechanism)
        speeds = balance_speeds(Builds(mechanism), 24)
        theta = speeds.theta_rad[0]
        alone = np.min(np.abs(theta[:, None] - theta[None]) + np.eye(len(theta)), axis=1) > 1e-9
        for i in np.flatnonzero(alone):  # at a take-up the speed has two values
            state = vectors.state_at(float(theta[i]))
            for sense, rpm in ((1.0, speeds.rising_rpm[0, i]), (-1.0, speeds.falling_rpm[0, i])):
                assert rpm == pytest.approx(vectors.speed_rpm(state, sense), rel=1e-7, abs=1e-3)
                checked += 1
    assert checked > 20 * EACH


@pytest.mark.parametrize("kind", LINKAGES)
def test_mirror_image_agrees(kind):
    """A unit that turns the other way is the mirror image and has the same curve."""
    rng = np.random.default_rng(2)
    for mechanism in drawn(kind, 15, seed=80 + LINKAGES.index(kind)):
        vectors = Vectors(mechanism, mirrored=True)
        assert disagreements(mechanism, predict(mechanism), vectors, rng) == []


@pytest.mark.parametrize("kind", LINKAGES)
def test_jumps_are_where_the_vectors_are_unstable(kind):
    """Just short of a jump the weights still stand before it, just past it they stand beyond."""
    jumps = 0
    for mechanism in drawn(kind, 40, seed=120 + LINKAGES.index(kind)):
        prediction, vectors = predict(mechanism), Vectors(mechanism)
        for jump in prediction.jumps:
            onward = 1.0 if jump.direction == "rising" else -1.0
            short, past = (
                vectors.advance_deg(
                    jump.speed_rpm * (1 + onward * e), jump.direction, jump.from_deg
                )
                for e in (-1e-9, 1e-9)
            )
            assert short == pytest.approx(jump.from_deg, abs=0.02)  # steep: θ goes as √(1 − e)
            assert past == pytest.approx(jump.to_deg, abs=0.02)
            jumps += 1
    assert jumps > 10
