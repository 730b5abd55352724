"""Labels stand off the curves, off one another and inside the plot."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from bobweight.app.board.place import Wanted, place, resampled


def box(label, spot):
    return spot.x, spot.y, spot.x + label.width, spot.y + label.height


def overlap(a, b):
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


@settings(deadline=None)
@given(st.lists(st.tuples(st.floats(60, 540), st.floats(40, 260)), min_size=1, max_size=5))
def test_labels_do_not_overlap_and_stay_inside(spots):
    labels = [Wanted(str(i), 90.0, 16.0, x, y) for i, (x, y) in enumerate(spots)]
    found = place(labels, np.zeros((0, 2)), 600.0, 300.0)
    boxes = [box(label, found[label.key]) for label in labels]
    for i, one in enumerate(boxes):
        assert one[0] >= 0 and one[2] <= 600 and one[1] >= 0 and one[3] <= 300
        assert not any(overlap(one, other) for other in boxes[:i])


def test_label_leaves_its_curve_free():
    x = np.linspace(0, 600, 200)
    curve = resampled(x, 300 - 0.5 * x)
    label = Wanted("rising", 60.0, 16.0, 300.0, 150.0, (1.0, 1.0))
    left, top, right, bottom = box(label, place([label], curve, 600.0, 300.0)["rising"])
    covered = (curve[:, 0] > left) & (curve[:, 0] < right)
    covered &= (curve[:, 1] > top) & (curve[:, 1] < bottom)
    assert not covered.any()


def test_label_keeps_its_place_when_little_changes():
    kept: dict[str, int] = {}
    x = np.linspace(0, 600, 200)
    choices = set()
    for shift in np.linspace(0, 3, 12):
        label = Wanted("rising", 60.0, 16.0, 300.0, 150.0 + shift, (1.0, 1.0))
        curve = resampled(x, 300 + shift - 0.5 * x)
        choices.add(place([label], curve, 600.0, 300.0, kept)["rising"].choice)
    assert len(choices) == 1


def test_far_label_has_a_leader_that_ends_on_its_edge():
    crowd = np.array([[x, y] for x in range(270, 332, 4) for y in range(120, 182, 4)], float)
    label = Wanted("far", 40.0, 16.0, 300.0, 150.0)
    spot = place([label], crowd, 600.0, 300.0)["far"]
    assert spot.leader is not None
    left, top, right, bottom = box(label, spot)
    assert left <= spot.leader[0] <= right and top <= spot.leader[1] <= bottom


def test_resampled_follows_a_vertical_jump():
    points = resampled(np.array([0.0, 100.0, 100.0, 200.0]), np.array([0.0, 0.0, 90.0, 90.0]))
    assert (np.abs(points[:, 0] - 100.0) < 1e-9).sum() >= 10
