"""Outlines of drawn parts against closed forms of plane geometry."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bobweight.core.figure import plan_shapes as shapes
from bobweight.core.figure import ranges


def area_and_centroid(outline):
    """Surveyor's formula (Bronshtein, Handbook of Mathematics, plane polygons; from memory)."""
    x, y = outline[:, 0], outline[:, 1]
    x1, y1 = np.roll(x, -1), np.roll(y, -1)
    cross = x * y1 - x1 * y
    area = cross.sum() / 2
    centroid = np.array([((x + x1) * cross).sum(), ((y + y1) * cross).sum()]) / (6 * area)
    return abs(area), centroid


def test_stadium_area_is_rectangle_and_circle():
    outline = shapes.stadium([1.0, 2.0], [1.0, 12.0], 3.0)
    area, centroid = area_and_centroid(outline)
    assert area == pytest.approx(10 * 6 + np.pi * 9, rel=1e-3)
    assert centroid == pytest.approx([1.0, 7.0], abs=1e-6)


@settings(deadline=None)
@given(
    angle=st.floats(30, 150), arm=st.floats(7, 16), radius=st.floats(12, 30), mass=st.floats(8, 60)
)
def test_weight_holds_pivot_and_balances_near_its_centre_of_gravity(angle, arm, radius, mass):
    pivot = np.array([radius, 0.0])
    cg = pivot + shapes.polar(arm, angle)
    outline = shapes.weight_outline(pivot, cg, mass)
    _, centroid = area_and_centroid(outline)
    assert np.hypot(*(centroid - cg)) < 0.03 * arm
    assert _inside(outline, pivot) and _inside(outline, cg)


def test_heavier_weight_is_drawn_larger_as_steel_plate():
    pivot, cg = np.array([20.0, 0.0]), np.array([20.0, 12.0])
    light, heavy = (area_and_centroid(shapes.weight_outline(pivot, cg, m))[0] for m in (12, 18))
    assert heavy > 1.3 * light
    # Density of steel 7850 kg/m³ (common handbook value): area = mass / (density × thickness).
    assert heavy == pytest.approx(18 / (0.00785 * shapes.PLATE_MM), rel=0.05)


def _inside(outline, point):
    """Even number of crossings means outside."""
    x, y = outline[:, 0], outline[:, 1]
    x1, y1 = np.roll(x, -1), np.roll(y, -1)
    spans = (y > point[1]) != (y1 > point[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        at = x + (point[1] - y) * (x1 - x) / (y1 - y)
    return bool((spans & (at > point[0])).sum() % 2)


@pytest.mark.parametrize("lobes", [1, 2, 3, 4, 6, 8, 12])
def test_cam_repeats_once_a_lobe_between_its_two_radii(lobes):
    outline = shapes.cam_outline(lobes, 6.0, 7.5)
    radius = np.hypot(*outline.T)[:-1]
    assert radius.min() == pytest.approx(6.0, abs=0.05)
    assert radius.max() <= 7.5 + 1e-9
    shift = len(radius) // lobes
    if len(radius) % lobes == 0:
        assert radius == pytest.approx(np.roll(radius, shift), abs=1e-9)


@settings(deadline=None)
@given(span=st.floats(12, 40), free=st.floats(10, 30), slack=st.floats(0, 5))
def test_spring_runs_from_post_and_its_loop_shows_the_slack(span, free, slack):
    post, peg = np.array([0.0, 0.0]), np.array([span, 0.0])
    coils, loop = shapes.spring_shape(post, peg, free, slack, 2.0)
    half = 0.42 * 2.0 + 0.5
    end_of_loop = loop[:, 0].max() - half
    hook = np.hypot(*(coils[:19] - post).T)
    assert hook == pytest.approx(np.full(19, hook[0])) and hook[0] <= shapes.HOOK_MM
    if span >= free + slack:  # taken up: the loop ends on the peg
        assert end_of_loop == pytest.approx(span, abs=0.01)
    elif span >= free:  # slack: the loop reaches past the peg by what is left
        assert end_of_loop - span == pytest.approx(free + slack - span, abs=0.01)
    assert end_of_loop >= span - 1e-6


def test_coils_stretch_with_the_spring():
    short, _ = shapes.spring_shape(np.zeros(2), np.array([20.0, 0.0]), 20.0, 0.0, 2.0)
    long, _ = shapes.spring_shape(np.zeros(2), np.array([26.0, 0.0]), 20.0, 0.0, 2.0)
    assert len(short) == len(long)
    body_s, body_l = (np.ptp(shape[19:-19, 0]) for shape in (short, long))
    assert body_l == pytest.approx(26 / 20 * body_s, rel=0.02)
    assert np.ptp(long[:, 1]) == pytest.approx(np.ptp(short[:, 1]))


def test_snapped_leaves_no_binary_dust():
    assert repr(ranges.snapped(0.30000000000000004, 0.1)) == "0.3"
    assert ranges.snapped(1234.0, 10.0) == 1230.0


def test_scale_bar_is_round_and_about_a_third():
    assert ranges.scale_bar_mm(80.0) == 20.0
    assert ranges.scale_bar_mm(31.0) == 10.0


def test_freest_direction_is_away_from_all_taken():
    assert shapes.freest_direction([0.0, 90.0, 180.0]) == pytest.approx(270.0)
    assert shapes.freest_direction([]) == 90.0
