"""Facts of a mechanism that a hand works out from the figures: statics and plane geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bobweight.core.docket.mechanism import Linkage, OwnWeight, SwingPoint, Weights
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.capsule import plate_curve
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.linkage import linkage_of
from bobweight.core.mechanics.linkage_kind import Angle
from bobweight.core.mechanics.pose import pose
from bobweight.core.mechanics.predict import predict
from bobweight.core.mechanics.torques import torques
from tests.mechanics.independent import Vectors
from tests.mechanics.mechanisms import PAIRS, jumping, plain, spring


def problems_of(mechanism) -> dict[str, tuple]:
    return {p.code: (p.path, p.facts) for p in mechanism_problems(mechanism)}


def test_what_holds_at_the_stop_is_springs_drag_and_the_pressed_rubber():
    """4 N·mm of the heel, and a rubber of 50 N·mm a degree pressed by its 1.5 degrees: 79 N·mm."""
    mechanism = plain(heel_drag_nmm=4.0, stop_give_deg=1.5, stop_rate_nmm_per_deg=50.0)
    found = torques(mechanism)
    assert found.advance_deg[-1] == pytest.approx(14.5)
    springs = found.springs_nmm[:, -1].sum()
    assert found.held_nmm[-1] == pytest.approx(springs + 4.0 + 75.0)


def test_stick_of_one_newton_millimetre_parts_the_branches():
    """The speeds at one angle go as the roots of what is held with and without the friction."""
    mechanism = plain(stick_nmm=1.0)
    held = torques(mechanism).springs_nmm.sum(axis=0)[0]
    speeds = balance_speeds(Builds(mechanism), 8)
    ratio = speeds.rising_rpm[0, 0] / speeds.falling_rpm[0, 0]
    assert ratio == pytest.approx(np.sqrt((held + 1.0) / (held - 1.0)))


def test_unlike_masses_pull_as_their_sum():
    """J' is linear in the masses: 20 g and 36 g pull as 28 g twice."""
    own = tuple(OwnWeight(mass_g=mass) for mass in (20.0, 36.0))
    unlike = plain(weights=plain().weights.with_changes(each=own))
    assert predict(unlike).full_rpm == pytest.approx(predict(plain()).full_rpm, rel=1e-12)


@pytest.mark.parametrize("pair", PAIRS)
def test_a_spring_is_as_long_as_its_ends_are_apart(pair):
    hung = spring(8.0, post_on=pair[0], peg_on=pair[1], post_radius_mm=7.0, post_angle_deg=40.0)
    mechanism = plain(springs=(spring(15.0), hung))
    for angle in (0.0, 6.0, 13.0):
        drawn = pose(mechanism, angle).springs[1]
        apart = np.hypot(*np.subtract(drawn.post_xy, drawn.peg_xy))
        assert drawn.length_mm == pytest.approx(apart, rel=1e-9)


def test_weights_that_reach_straight_out_before_the_stop_are_told():
    """At rest 12 degrees short of straight out, swinging as fast as the cam: at 12 degrees the
    centre of gravity is furthest from the shaft."""
    weights = Weights(count=2, mass_g=28.0, pivot_radius_mm=17.0, cg_mm=11.0, rest_angle_deg=12.0)
    mechanism = plain(weights=weights, linkage=Linkage(kind="constant", ratio=1.0), stop_deg=20.0)
    path, facts = problems_of(mechanism)["weights-not-outward"]
    assert path == ("stop_deg",) and facts["limit"] == pytest.approx(12.0, abs=0.5)


def test_a_spring_that_hangs_loose_is_told_to_pull_forward_only_if_it_grows_shorter():
    behind, ahead = -40.0, 40.0
    for at, told in ((behind, False), (ahead, True)):
        loose = spring(40.0, post_angle_deg=at, role="secondary")
        found = problems_of(plain(springs=(spring(15.0), loose)))
        assert ("spring-pulls-forward" in found) is told
    weak = spring(15.0, rate_n_per_mm=0.001, role="secondary")
    assert "spring-pulls-forward" not in problems_of(plain(springs=(spring(15.0), weak)))


def test_a_link_too_short_for_one_weight_is_told_at_that_weight():
    weights = Weights(
        count=2, mass_g=28.0, pivot_radius_mm=17.0, cg_mm=11.0, rest_angle_deg=110.0,
        each=(OwnWeight(), OwnWeight(link_mm=1.0)),
    )  # fmt: skip
    linkage = Linkage(
        kind="link", pin_radius_mm=6.0, pin_angle_deg=0.0, foot_radius_mm=9.0, link_mm=9.0
    )
    path, _ = problems_of(plain(weights=weights, linkage=linkage))["link-does-not-reach"]
    assert path == ("weights", "each", 1, "link_mm")


def test_a_measured_radius_gives_the_cam_back_near_straight_out():
    """Law of cosines: R² = 17² + 11² + 2·17·11·cos α, from 40° short of straight out to 10°."""
    alpha = np.radians([40.0, 30.0, 20.0, 10.0])
    radius = np.sqrt(17.0**2 + 11.0**2 + 2 * 17.0 * 11.0 * np.cos(alpha))
    points = tuple(
        SwingPoint(cam_deg=c, radius_mm=float(r))
        for c, r in zip((0.0, 5.0, 10.0, 15.0), radius, strict=True)
    )
    linkage = Linkage(kind="measured", measured_as="radius", points=points)
    weights = plain().weights.with_changes(rest_angle_deg=40.0)
    kind = linkage_of(Builds(plain(weights=weights, linkage=linkage)))
    assert np.degrees(kind.cam(alpha[0] - alpha)) == pytest.approx([0.0, 5.0, 10.0, 15.0])


def test_the_pull_assumed_bends_by_legendre_s_polynomials():
    """The first is −1 at rest and +1 at the end of its range, 16 degrees: factors e^∓0.35."""
    flat, bent = (
        linkage_of(Builds(plain(linkage=Linkage(kind="assumed", ratio=0.6, shape_1=shape))))
        for shape in (0.0, 1.0)
    )
    theta = np.radians([[[0.0, 8.0, 16.0]]])
    cam = Angle(rad=theta)
    pulls = [kind.inertia_slope(theta, *kind.swing(cam)) for kind in (flat, bent)]
    expected = np.exp([-0.35, 0.0, 0.35])
    assert (pulls[1] / pulls[0]).ravel() == pytest.approx(expected, rel=1e-9)


def test_beyond_full_speed_two_builds_stand_at_the_stop():
    two = Builds(plain(), {("weights", "mass_g"): np.array([28.0, 40.0])})
    read = curves(balance_speeds(two, 30))
    assert read.at(np.array([9000.0])) == pytest.approx(np.full((2, 1), 13.0))


@pytest.mark.parametrize(("full_kpa", "end_kpa"), [(8.0, 13.0), (40.0, 50.0)])
def test_the_capsule_s_curve_goes_on_beyond_full_travel(full_kpa, end_kpa):
    """By a quarter, and by 5 kPa at least."""
    capsule = Capsule(given_as="triple", start_kpa=4.0, full_kpa=full_kpa, full_deg=8.0,
                      lever_mm=20.0)  # fmt: skip
    curve = plate_curve((capsule,))
    assert curve is not None and curve.depression_kpa[-1] == pytest.approx(end_kpa)


def test_a_falling_jump_lands_where_the_vectors_stand():
    mechanism = jumping()
    (jump,) = (j for j in predict(mechanism).jumps if j.direction == "falling")
    stands = Vectors(mechanism).advance_deg(jump.speed_rpm * (1 - 1e-9), "falling", jump.from_deg)
    assert jump.to_deg == pytest.approx(stands, abs=1e-4)


def test_an_angle_has_its_cosine_and_sine():
    """The machine's own, all round and beyond; of an angle that is not known neither is."""
    turns = np.concatenate([np.linspace(-20.0, 20.0, 2001), np.pi * np.arange(-4, 5) / 2])
    unit = Angle(rad=turns).unit
    assert unit.real == pytest.approx([math.cos(a) for a in turns], abs=1e-15)
    assert unit.imag == pytest.approx([math.sin(a) for a in turns], abs=1e-15)
    assert Angle(unit=unit[999:1003]).rad == pytest.approx(turns[999:1003], abs=1e-15)
    assert np.isnan(Angle(rad=np.array([np.nan])).unit).all()
