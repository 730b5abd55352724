"""Usual figures for what is blank: every mounting of a spring then holds the cam back, however the
weights lie. Lengths are those of the drawn picture, not of the balance."""

from itertools import cycle, permutations

import numpy as np
import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import BODIES, Linkage, Mechanism, Spring, SwingPoint
from bobweight.core.judgement.assume import assume
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.pose import pose
from bobweight.core.mechanics.typical import can_be_drawn, completed, typical_mechanisms

MOUNTINGS = list(permutations(BODIES, 2))
TYPICAL = [(one.key, lies, one.mechanism) for one in typical_mechanisms()
           for lies in ("behind", "ahead")]  # fmt: skip


def mounted(mechanism: Mechanism, lies: str, post_on: str, peg_on: str, **changes) -> Mechanism:
    """A typical mechanism with each of its springs so, one to each weight, its places blank."""
    springs = tuple(
        spring.with_changes(post_on=post_on, peg_on=peg_on, weight=1 + i, **changes)
        for i, spring in enumerate(mechanism.springs)
    )
    return mechanism.with_changes(
        springs=springs, linkage=mechanism.linkage.with_changes(lies=lies)
    )


def growth_mm(mechanism: Mechanism) -> np.ndarray:
    """What each spring grows by at each step to the stop, shape (steps, springs)."""
    angles = np.linspace(0.0, mechanism.stop_deg, 7)
    lengths = [[s.length_mm for s in pose(mechanism, a).springs] for a in angles]
    return np.diff(np.array(lengths), axis=0)


@pytest.mark.parametrize(("post_on", "peg_on"), MOUNTINGS)
def test_a_spring_left_blank_pulls_back(post_on, peg_on):
    for key, lies, mechanism in TYPICAL:
        drawn = completed(mounted(mechanism, lies, post_on, peg_on)).mechanism
        assert growth_mm(drawn).min() > 0, (key, lies)
        assert not mechanism_problems(drawn), (key, lies)


def test_what_lacks_nothing_is_completed_as_it_is():
    for _, lies, mechanism in TYPICAL:
        whole = completed(mounted(mechanism, lies, "plate", "cam")).mechanism
        assert completed(whole).mechanism is whole


@pytest.mark.parametrize("free_mm", [None, 18.0])
def test_what_is_judged_from_blank_places_pulls_back(free_mm):
    for (post_on, peg_on), (key, lies, mechanism) in zip(MOUNTINGS, cycle(TYPICAL), strict=False):
        blank = mounted(mechanism, lies, post_on, peg_on, given_by="polar", free_length_mm=free_mm)
        judged = assume(Docket(mechanism=blank)).mechanism
        assert growth_mm(judged).min() > 0, (key, lies, post_on, peg_on)


@pytest.mark.parametrize(("rows", "kind"), [
    (((0.0, 0.0), (4.0, 6.0), (9.0, 15.0)), "measured"),
    (((0.0, 0.0), (4.0, None), (9.0, 15.0)), "constant"),
    (((0.0, 0.0), (None, 6.0), (9.0, 15.0)), "constant"),
    (((0.0, 0.0), (9.0, 15.0)), "constant"),
    (((0.0, 0.0), (9.0, 6.0), (4.0, 15.0)), "constant"),
])  # fmt: skip
def test_a_table_that_makes_no_curve_is_drawn_as_a_constant_ratio(rows, kind):
    points = tuple(SwingPoint(cam_deg=cam, swing_deg=swing) for cam, swing in rows)
    linkage = Linkage(kind="measured", measured_as="swing", points=points)
    assert completed(Mechanism(linkage=linkage)).mechanism.linkage.kind == kind


def test_a_link_left_blank_reaches_from_the_pin_to_its_foot():
    """Two triangles by the law of cosines: shaft, pivot and pin, whose angle at the pivot is what
    rest and pin angle leave of 180°; shaft, pin and foot, 40° apart at the shaft."""
    made = completed(Mechanism(linkage=Linkage(kind="link"))).mechanism
    weights, linkage = made.weights, made.linkage
    at_pivot = np.radians(180.0 - weights.rest_angle_deg - linkage.pin_angle_deg)
    pivot, pin, foot = weights.pivot_radius_mm, linkage.pin_radius_mm, linkage.foot_radius_mm
    out = np.sqrt(pivot**2 + pin**2 - 2 * pivot * pin * np.cos(at_pivot))
    link = np.sqrt(out**2 + foot**2 - 2 * out * foot * np.cos(np.radians(40.0)))
    assert linkage.link_mm == pytest.approx(link)


def test_a_spring_left_blank_just_hangs_at_rest():
    """Its free length and its slack together are what it has to reach over."""
    springs = Spring(role="primary"), Spring(role="secondary", slack_mm=1.4)
    made = completed(Mechanism(springs=springs)).mechanism
    for spring, posed in zip(made.springs, pose(made, 0.0).springs, strict=True):
        assert spring.free_length_mm + spring.slack_taken_mm == pytest.approx(posed.length_mm)


def test_distances_that_make_no_triangle_are_drawn_as_near_as_can_be_and_told():
    whole = completed(Mechanism()).mechanism
    springs = tuple(s.with_changes(rest_mm=200.0) for s in whole.springs)
    apart = whole.with_changes(springs=springs)
    assert completed(apart).clipped == {("springs", i, "rest_mm") for i in range(2)}
    assert can_be_drawn(completed(apart).mechanism) and not can_be_drawn(apart)
    one = whole.with_changes(springs=(whole.springs[0], springs[1]))
    assert not can_be_drawn(one)


@pytest.mark.parametrize("key", ["each-weight", "across"])
def test_of_springs_to_the_weights_each_weight_has_its_own(key):
    (mechanism,) = (one.mechanism for one in typical_mechanisms() if one.key == key)
    assert [s.weight for s in mechanism.springs] == [1, 2] and mechanism.weights.count == 2
