"""Plain distances against radius and angle: one curve, both ways, and uncertainties by chance."""

import numpy as np
import pytest

from bobweight.core.docket.file import read_docket
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.places import as_distances, as_polar, mirrored, turned_deg
from bobweight.core.mechanics.pose import pose
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import BobweightError
from tests.mechanics.mechanisms import LINKAGES, plain, random_mechanism
from tests.samples import FOLDER, sample


def with_all(mechanism, change):
    springs = tuple(change(mechanism, index) for index in range(len(mechanism.springs)))
    return mechanism.with_changes(springs=springs)


def without_angles(mechanism, index):
    """The spring by distances, its angles forgotten."""
    spring = as_distances(mechanism, index)
    assert spring.given_by == "distances"
    return spring.with_changes(post_angle_deg=None, peg_angle_deg=None)


def assert_one_curve(one, other, tolerance_deg):
    first, second = predict(one), predict(other)
    speeds = np.linspace(0.3, 1.1, 60) * first.full_rpm
    for way in ("rising", "falling"):
        for jump in first.jumps:  # where a hair decides on which side of a jump a speed lies
            speeds = speeds[abs(speeds - jump.speed_rpm) > 1e-6 * jump.speed_rpm]
        apart = np.abs(first.advance_deg(speeds, way) - second.advance_deg(speeds, way))
        assert apart.max() < tolerance_deg


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.docket")), ids=lambda path: path.stem)
def test_distances_give_the_samples_curves(path):
    mechanism = read_docket(path).mechanism
    assert_one_curve(mechanism, with_all(mechanism, without_angles), 1e-9)


@pytest.mark.parametrize("kind", LINKAGES)
def test_distances_give_the_curves_of_random_mechanisms(kind):
    rng, found = np.random.default_rng(LINKAGES.index(kind)), 0
    while found < 4:
        mechanism = random_mechanism(rng, kind, friction=True)
        if any(problem.grave for problem in mechanism_problems(mechanism)):
            continue
        found += 1
        distances = with_all(mechanism, without_angles)
        assert_one_curve(mechanism, distances, 1e-6)
        assert_one_curve(mechanism, with_all(distances, as_polar), 1e-6)


@pytest.mark.parametrize("name", ["small_four", "tractor_four"])
def test_a_mirrored_peg_is_in_the_other_place_and_back(name):
    """On the cam foot and on a weight; by angles and by distances."""
    mechanism = sample(name).mechanism

    def with_first(spring):
        return mechanism.with_changes(springs=(spring, *mechanism.springs[1:]))

    for start in (mechanism, with_first(as_distances(mechanism, 0))):
        other = with_first(mirrored(start, 0))
        back = with_first(mirrored(other, 0))
        first, second, third = (pose(m, 0.0).springs[0] for m in (start, other, back))
        assert first.length_mm == pytest.approx(second.length_mm)
        spans = [np.subtract(s.peg_xy, s.post_xy) for s in (first, second)]
        assert np.hypot(*(spans[0] - spans[1])) > 1.0
        assert third.length_mm == pytest.approx(first.length_mm)
        assert np.hypot(*third.peg_xy) == pytest.approx(np.hypot(*first.peg_xy))


def test_a_spring_that_pulls_the_cam_forward_is_told_and_mending_it_is_one_step():
    mechanism = sample("small_four").mechanism
    wrong = mechanism.with_changes(springs=(mechanism.springs[0], mirrored(mechanism, 1)))
    (told,) = [p for p in mechanism_problems(wrong) if p.code == "spring-pulls-forward"]
    assert told.path[:2] == ("springs", 1) and not told.grave
    mended = wrong.with_changes(springs=(wrong.springs[0], mirrored(wrong, 1)))
    assert not [p for p in mechanism_problems(mended) if p.code == "spring-pulls-forward"]
    assert_one_curve(mended, mechanism, 1e-6)


def test_uncertainty_of_the_angle_is_that_of_chance():
    """Against 4000 draws of the three distances."""
    mechanism = plain()
    spring = as_distances(mechanism, 0)
    u = {"post_radius_mm": 0.1, "peg_radius_mm": 0.1, "rest_mm": 0.15}
    spring = spring.with_changes(post_angle_deg=-40.0, u=u)
    mechanism = mechanism.with_changes(springs=(spring, *mechanism.springs[1:]))
    rng = np.random.default_rng(5)
    a, b, c = (getattr(spring, k) + u[k] * rng.normal(size=4000) for k in u)
    angles = np.degrees(np.arccos((a**2 + b**2 - c**2) / (2 * a * b)))
    stated = as_polar(mechanism, 0).u["peg_angle_deg"]
    assert stated == pytest.approx(np.std(angles), rel=0.05)  # ± 3.4 % by 4000 draws


def test_distances_that_make_no_triangle_are_told():
    mechanism = plain()
    spring = as_distances(mechanism, 0).with_changes(rest_mm=60.0)
    mechanism = mechanism.with_changes(springs=(spring, *mechanism.springs[1:]))
    (problem,) = [p for p in mechanism_problems(mechanism) if p.grave]
    assert problem.code == "distances-no-triangle" and problem.path == ("springs", 0, "rest_mm")
    assert (problem.facts["least"], problem.facts["most"]) == (13.0, 31.0)


def test_the_distance_at_the_stop_is_a_check():
    mechanism = plain()
    follows = pose(mechanism, mechanism.stop_deg).springs[0].length_mm
    for measured, told in ((follows + 0.3, False), (follows + 2.0, True)):
        spring = mechanism.springs[0].with_changes(stop_mm=measured)
        checked = mechanism.with_changes(springs=(spring, *mechanism.springs[1:]))
        codes = {p.code for p in mechanism_problems(checked) if not p.grave}
        assert ("stop-distance-off" in codes) == told


def test_turn_from_a_distance_at_rest_and_out():
    """Two points 20 and 30 mm from the axis, 50° apart and then 62°."""
    rest, out = (abs(20.0 - 30.0 * np.exp(1j * np.radians(degrees))) for degrees in (50.0, 62.0))
    assert turned_deg(20.0, 30.0, rest, out) == pytest.approx(12.0, abs=1e-9)
    with pytest.raises(BobweightError, match="distances-no-triangle"):
        turned_deg(20.0, 30.0, 9.0, out)


def test_builds_vary_the_distances():
    mechanism = with_all(plain(), without_angles)
    lengths = np.array([mechanism.springs[0].rest_mm, mechanism.springs[0].rest_mm + 0.2])
    speeds = balance_speeds(Builds(mechanism, {("springs", 0, "rest_mm"): lengths}), 24)
    for row, length in enumerate(lengths):
        spring = mechanism.springs[0].with_changes(rest_mm=float(length))
        one = mechanism.with_changes(springs=(spring, *mechanism.springs[1:]))
        alone = balance_speeds(Builds(one), 24)
        assert speeds.rising_rpm[row, [0, -1]] == pytest.approx(alone.rising_rpm[0, [0, -1]])


def test_a_spring_that_is_by_distances_already_keeps_them():
    """Whatever angles it still has from before: those are not what was measured."""
    mechanism = sample("small_four").mechanism
    by_angles = mechanism.springs[0]
    spring = as_distances(mechanism, 0)
    spring = spring.with_changes(rest_mm=spring.rest_mm + 1.0)
    both = spring.with_changes(
        post_angle_deg=by_angles.post_angle_deg, peg_angle_deg=by_angles.peg_angle_deg
    )
    again = mechanism.with_changes(springs=(both, *mechanism.springs[1:]))
    assert as_distances(again, 0) == both
    hung = by_angles.with_changes(post_on="weight")  # between which only angles tell
    assert as_distances(mechanism.with_changes(springs=(hung,)), 0) == hung
