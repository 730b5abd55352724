"""A spring that is hung on another part stays where it was at rest."""

from itertools import permutations, product

import numpy as np
import pytest

from bobweight.core.docket.mechanism import BODIES
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.pose import pose
from bobweight.core.mechanics.remount import remounted, turned_back
from bobweight.core.mechanics.typical import completed, typical_mechanisms
from bobweight.core.record import get, put

TYPICAL = {one.key: completed(one.mechanism).mechanism for one in typical_mechanisms()}


def ends(mechanism, cam_deg=0.0):
    return [(*s.post_xy, *s.peg_xy) for s in pose(mechanism, cam_deg).springs]


@pytest.mark.parametrize("key", TYPICAL)
def test_its_ends_stay_where_they_are_at_rest(key):
    for lies in ("behind", "ahead"):
        mechanism = put(TYPICAL[key], ("linkage", "lies"), lies)
        mechanism = put(mechanism, ("springs", 1, "tang_mm"), 0.7)
        mechanism = put(mechanism, ("springs", 1, "weight"), 2)
        for post_on, peg_on in permutations(BODIES, 2):
            made = remounted(mechanism, 1, post_on=post_on, peg_on=peg_on)
            assert (made.post_on, made.peg_on) == (post_on, peg_on)
            moved = put(mechanism, ("springs", 1), made.with_changes(tang_mm=0.0))
            still = put(mechanism, ("springs", 1, "tang_mm"), 0.0)
            assert np.allclose(ends(moved), ends(still), atol=0.06), (lies, post_on, peg_on)
            assert made.tang_mm == 0.7


def forward(mechanism):
    return [p.code for p in mechanism_problems(mechanism)].count("spring-pulls-forward")


@pytest.mark.parametrize(("post_on", "peg_on"), list(permutations(BODIES, 2)))
def test_whatever_it_runs_between_it_is_turned_back(post_on, peg_on):
    usual = next(one.mechanism for one in typical_mechanisms() if one.key == "rolling")
    blank = usual.springs[0].with_changes(post_on=post_on, peg_on=peg_on, given_by="polar")
    made = completed(usual.with_changes(springs=(blank,))).mechanism
    for key, value in (("rate_n_per_mm", 2.0), ("free_length_mm", 5.0)):
        made = put(made, ("springs", 0, key), value)
    turned = []
    for end, angle in product(("post", "peg"), range(0, 360, 60)):
        path = ("springs", 0, f"{end}_angle_deg")
        wrong = put(made, path, (get(made, path) + angle) % 360)
        if not forward(wrong):
            continue
        mended = turned_back(wrong, 0)
        turned.append(mended is not None)
        if mended is not None:
            held = put(wrong, ("springs", 0), mended)
            assert not forward(held)
            was, now = (pose(m, 0.0).springs[0].length_mm for m in (wrong, held))
            assert now == pytest.approx(was, abs=0.05)
    assert turned and turned.count(False) <= 2  # one that hangs straight cannot be turned


def test_what_has_no_place_yet_keeps_its_figures():
    mechanism = put(TYPICAL["slot"], ("springs", 0, "post_radius_mm"), None)
    made = remounted(mechanism, 0, post_on="weight")
    assert made == mechanism.springs[0].with_changes(post_on="weight")


def test_there_and_back_it_is_the_spring_it_was():
    mechanism = TYPICAL["slot"]
    spring = mechanism.springs[0].with_changes(
        given_by="polar", post_angle_deg=-75.0, peg_angle_deg=5.0
    )
    mechanism = put(mechanism, ("springs", 0), spring)
    away = remounted(mechanism, 0, peg_on="weight")
    assert away.peg_radius_mm != spring.peg_radius_mm
    assert away.post_radius_mm == spring.post_radius_mm
    back = remounted(put(mechanism, ("springs", 0), away), 0, peg_on="cam")
    for key in ("post_radius_mm", "post_angle_deg", "peg_radius_mm", "peg_angle_deg"):
        assert getattr(back, key) == pytest.approx(getattr(spring, key), abs=0.3), key
