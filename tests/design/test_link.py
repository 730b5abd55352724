"""The rigid-link linkage: circle–circle geometry, and the balance by vectors and moments."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from bobweight.core.docket.mechanism import Linkage, Mechanism, Weights
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.linkage import linkage_of
from bobweight.core.mechanics.linkage_kind import Angle
from bobweight.core.mechanics.pose import pose
from bobweight.core.mechanics.predict import predict
from tests.mechanics.independent import Vectors
from tests.mechanics.mechanisms import plain, spring


def linked(rng: np.random.Generator) -> Mechanism:
    """A mechanism with a link, drawn at random; its link closes at rest."""
    weights = Weights(
        count=2, mass_g=rng.uniform(15, 50), pivot_radius_mm=rng.uniform(13, 22),
        cg_mm=rng.uniform(7, 14), rest_angle_deg=rng.uniform(80, 130),
    )  # fmt: skip
    pin_radius, pin_angle = rng.uniform(4, 12), rng.uniform(-180, 180)
    foot_radius, foot_angle = rng.uniform(5, 14), rng.uniform(-math.pi, math.pi)
    turn = math.radians(weights.rest_angle_deg + pin_angle)
    pin = weights.pivot_radius_mm + pin_radius * cmath.exp(1j * turn)
    foot = foot_radius * cmath.exp(1j * foot_angle)
    side = "cg" if math.sin(foot_angle - cmath.phase(pin)) > 0 else "other"
    linkage = Linkage(
        kind="link", pin_radius_mm=pin_radius, pin_angle_deg=pin_angle, foot_radius_mm=foot_radius,
        link_mm=abs(pin - foot), foot_side=side,
    )  # fmt: skip
    return plain(weights=weights, linkage=linkage, stop_deg=rng.uniform(6, 15))


def swing_of(kind, theta: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Swing in radians and its slope."""
    swing, slope = kind.swing(Angle(rad=theta))
    return swing.rad, slope


def movable(count: int, seed: int = 5) -> list[Mechanism]:
    rng, found = np.random.default_rng(seed), []
    while len(found) < count:
        mechanism = linked(rng)
        if not any(p.grave for p in mechanism_problems(mechanism)):
            found.append(mechanism)
    return found


@pytest.mark.parametrize("mechanism", movable(12))
def test_swing_keeps_the_link_rigid_and_inverts(mechanism):
    kind = linkage_of(Builds(mechanism))
    theta = np.radians(np.linspace(0.0, mechanism.stop_deg, 41)).reshape(1, 1, -1)
    phi, slope = swing_of(kind, theta)
    assert np.allclose(kind.cam(phi), theta, atol=1e-10)
    assert phi[0, 0, 0] == pytest.approx(0.0, abs=1e-12)
    for degrees in np.linspace(0.0, mechanism.stop_deg, 7):
        shown = pose(mechanism, degrees).weights[0]
        apart = math.dist(shown.pin_xy, shown.foot_pin_xy)
        assert apart == pytest.approx(mechanism.linkage.link_mm, abs=1e-9)
        turned = math.atan2(*shown.foot_pin_xy[::-1])
        rest = math.atan2(*pose(mechanism, 0.0).weights[0].foot_pin_xy[::-1])
        assert math.remainder(turned - rest, math.tau) == pytest.approx(math.radians(degrees))
    h = 1e-6
    numeric = (swing_of(kind, theta + h)[0] - swing_of(kind, theta - h)[0]) / (2 * h)
    assert np.allclose(slope, numeric, rtol=1e-5, atol=1e-6)


@pytest.mark.parametrize("mechanism", movable(12, seed=9))
def test_advance_by_vector_moments(mechanism):
    vectors = Vectors(mechanism)
    prediction = predict(mechanism)
    low, high = prediction.start_rpm, prediction.full_rpm
    for share in (0.1, 0.35, 0.6, 0.85):
        speed = low + share * (high - low)
        for direction in ("rising", "falling"):
            found = float(prediction.advance_deg(speed, direction))
            assert found == pytest.approx(vectors.advance_deg(speed, direction), abs=1e-6)


def test_varied_builds_agree_with_single_ones():
    mechanism = movable(1)[0]
    lengths = mechanism.linkage.link_mm + np.array([-0.05, 0.0, 0.05])
    kind = linkage_of(Builds(mechanism, {("linkage", "link_mm"): lengths}))
    theta = np.radians(np.linspace(0.0, 5.0, 9)).reshape(1, 1, -1)
    phi, _ = swing_of(kind, theta)
    for row, length in enumerate(lengths):
        linkage = mechanism.linkage.with_changes(link_mm=float(length))
        one = linkage_of(Builds(mechanism.with_changes(linkage=linkage)))
        assert np.allclose(phi[row], swing_of(one, theta)[0][0], atol=1e-12)


def test_a_link_that_does_not_reach_is_told():
    mechanism = movable(1)[0]
    linkage = mechanism.linkage.with_changes(link_mm=200.0)
    problems = mechanism_problems(mechanism.with_changes(linkage=linkage))
    assert problems[0].code == "link-does-not-reach"
    assert problems[0].facts["most"] < 200.0


def test_a_link_in_line_with_its_pin_is_told():
    weights = Weights(count=2, mass_g=20.0, pivot_radius_mm=20.0, cg_mm=10.0, rest_angle_deg=90.0)
    # the link along the shaft's radius through the weight's pin: the foot is at its dead point
    turn = math.radians(90.0)
    pin = 20.0 + 8.0 * cmath.exp(1j * turn)
    linkage = Linkage(
        kind="link", pin_radius_mm=8.0, pin_angle_deg=0.0, foot_radius_mm=9.0,
        link_mm=abs(pin) - 9.0,
    )  # fmt: skip
    mechanism = Mechanism(weights=weights, linkage=linkage, springs=(spring(),), stop_deg=8.0)
    assert mechanism_problems(mechanism)[0].code in ("link-in-line", "link-does-not-reach")
