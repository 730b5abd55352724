"""Outlines against closed forms of plane figures (rectangle, circle, ring, half disc, triangle)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bobweight.core.design.outline import (
    Scale,
    cg_by_two_lines,
    flat_weight,
    from_picture,
    scale_from_two_points,
)
from bobweight.core.problems import BobweightError

SQUARE = [(0, 0), (4, 0), (4, 3), (0, 3)]


def circle(radius, centre=(0.0, 0.0), n=900, start=0.0, stop=2 * np.pi, end=False):
    t = np.linspace(start, stop, n, endpoint=end)
    return np.column_stack([centre[0] + radius * np.cos(t), centre[1] + radius * np.sin(t)])


def section_of(outline, holes=()):
    return flat_weight(outline, (0, 0), 1.0, 1.0, holes=holes).section


def test_rectangle_closed_form():
    s = section_of(SQUARE)  # b = 4, h = 3
    assert (s.area_mm2, s.x_mm, s.y_mm) == pytest.approx((12, 2, 1.5))


def test_direction_of_the_outline_does_not_matter():
    assert section_of(SQUARE[::-1]) == section_of(SQUARE)


def test_triangle_closed_form():
    b, h, a = 6.0, 4.0, 1.5  # base on x, apex at (a, h): centroid (a + b)/3, h/3
    s = section_of([(0, 0), (b, 0), (a, h)])
    assert s.area_mm2 == pytest.approx(b * h / 2)
    assert (s.x_mm, s.y_mm) == pytest.approx(((a + b) / 3, h / 3))


def test_ring_closed_form():
    s = section_of(circle(10, (50, 20)), [circle(4, (50, 20))[::-1]])
    assert s.area_mm2 == pytest.approx(np.pi * (100 - 16), rel=1e-5)
    assert (s.x_mm, s.y_mm) == pytest.approx((50, 20))


def test_half_disc_closed_form():
    s = section_of(circle(9, stop=np.pi, end=True))
    assert s.y_mm == pytest.approx(4 * 9 / (3 * np.pi), rel=1e-5)


def test_off_centre_hole_shifts_the_centroid():
    s = section_of(circle(10), [circle(3, (5, 0))])  # −r²e/(R² − r²)
    assert s.x_mm == pytest.approx(-9 * 5 / (100 - 9), rel=1e-5)


@given(st.floats(-180, 180), st.floats(-300, 300), st.floats(-300, 300))
def test_turning_and_shifting_changes_no_inner_measure(angle, dx, dy):
    points = np.array([(0, 0), (30, 2), (34, 11), (18, 9), (16, 22), (3, 14)], float)
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    turn = np.array([[c, -s], [s, c]])
    before, after = section_of(points), section_of(points @ turn.T + (dx, dy))
    assert after.area_mm2 == pytest.approx(before.area_mm2)
    moved = turn @ (before.x_mm, before.y_mm) + (dx, dy)
    assert (after.x_mm, after.y_mm) == pytest.approx(tuple(moved), abs=1e-9)


def test_mass_distance_and_angles():
    # A 20 × 10 × 3 mm plate of steel 7.85 g/cm³ is 4.71 g; 7850 kg/m³ · 6e-7 m³.
    plate = [(0, -5), (20, -5), (20, 5), (0, 5)]
    w = flat_weight(plate, (0, 0), 3, 7.85, shaft=(0, -12))
    assert w.mass_g == pytest.approx(4.71)
    assert (w.cg_from_pivot_mm, w.cg_angle_deg) == pytest.approx((10, 0))
    assert (w.pivot_radius_mm, w.rest_angle_deg) == pytest.approx((12, -90))


def test_scale_and_picture():
    scale = scale_from_two_points((100, 40), (400, 440), 50, 0.5, 1.0)
    assert scale.mm_per_unit == pytest.approx(0.1)
    # relative: 1 % from the distance, √2/500 from the clicks
    assert scale.u_mm_per_unit / 0.1 == pytest.approx(np.hypot(0.01, np.sqrt(2) / 500))
    assert from_picture([(10, 20)], Scale(0.1, 0)).tolist() == [[1.0, -2.0]]


def test_uncertainty_agrees_with_random_clicks():
    rng = np.random.default_rng(4)
    points = np.array([(0, 0), (30, 2), (34, 11), (18, 9), (16, 22), (3, 14)], float)
    hole = circle(2, (5, 6), 12)
    u = 0.15
    w = flat_weight(points, (5, 6), 4, 7.85, holes=[hole], u_point_mm=u)
    runs = [
        flat_weight(
            points + rng.normal(0, u, points.shape),
            rng.normal((5, 6), u),
            4, 7.85, holes=[hole + rng.normal(0, u, hole.shape)],
        )
        for _ in range(1500)
    ]  # fmt: skip
    seen = [np.std([getattr(r, key) for r in runs]) for key in
            ("mass_g", "cg_from_pivot_mm", "cg_angle_deg")]  # fmt: skip
    # A standard deviation of 1500 runs is itself known to 1/√3000 = 1.8 %; four of those.
    assert seen == pytest.approx(
        [w.u_mass_g, w.u_cg_from_pivot_mm, w.u_cg_angle_deg], rel=4 / np.sqrt(3000)
    )


@pytest.mark.parametrize(
    ("code", "outline", "holes"),
    [
        ("too-few-points", [(0, 0), (1, 0)], []),
        ("too-few-points", [(0, 0), (1, 0), (1, 0), (0, 0)], []),
        ("not-finite", [(0, 0), (1, 0), (np.nan, 1)], []),
        ("outline-without-area", [(0, 0), (1, 1), (2, 2)], []),
        ("outline-without-area", [(0, 0), (2, 2), (2, 0), (0, 2)], []),  # an even figure of eight
        ("outline-crosses-itself", [(0, 0), (5, 5), (5, 0), (0, 3)], []),
        ("outline-crosses-itself", [(0, 0), (4, 0), (4, 3), (4, 5), (4, 3), (0, 3)], []),  # a spike
        ("hole-outside", SQUARE, [[(10, 10), (11, 10), (11, 11)]]),
        ("hole-outside", SQUARE, [[(3, 1), (5, 1), (5, 2)]]),
        ("holes-overlap", SQUARE, [[(1, 1), (2, 1), (2, 2)], [(1.2, 0.9), (2, 0.8), (1.8, 2)]]),
        ("holes-overlap", SQUARE, [[(1, 1), (2, 1), (2, 2)], [(1.8, 1.4), (1.9, 1.4), (1.9, 1.5)]]),
    ],
)
def test_bad_outlines_are_refused(code, outline, holes):
    with pytest.raises(BobweightError) as caught:
        section_of(outline, holes)
    assert caught.value.problem.code == code


def test_a_closing_point_given_twice_is_harmless():
    assert section_of([*SQUARE, SQUARE[0]]) == section_of(SQUARE)


@pytest.mark.parametrize(
    ("t", "rho", "key"), [(0, 7.8, "thickness_mm"), (3, -1, "density_g_per_cm3")]
)
def test_bad_plate_is_refused(t, rho, key):
    with pytest.raises(BobweightError) as caught:
        flat_weight(SQUARE, (0, 0), t, rho)
    assert (caught.value.problem.code, caught.value.problem.path) == ("not-positive", (key,))


def test_bad_scale_is_refused():
    with pytest.raises(BobweightError, match="same-point"):
        scale_from_two_points((1, 1), (1, 1), 10)
    with pytest.raises(BobweightError, match="not-positive"):
        scale_from_two_points((1, 1), (2, 1), 0)


def test_centre_by_hanging_twice_and_its_uncertainty_by_chance():
    """Lines through a known centre; 3000 draws of every point."""
    centre, pivot, shaft = np.array([15.0, 10.0]), np.array([5.0, 10.0]), np.array([5.0, -15.0])
    lines = [[centre - 12 * way, centre + 8 * way]
             for way in (np.array([0.6, 0.8]), np.array([1.0, 0.1]))]  # fmt: skip
    found = cg_by_two_lines(*lines, pivot, shaft, u_point_mm=0.2)
    assert found.cg_from_pivot_mm == pytest.approx(10.0)
    assert found.rest_angle_deg == pytest.approx(90.0)
    rng = np.random.default_rng(4)
    drawn = [
        cg_by_two_lines(*(np.array(line) + rng.normal(0, 0.2, (2, 2)) for line in lines),
                        pivot + rng.normal(0, 0.2, 2), shaft + rng.normal(0, 0.2, 2))
        for _ in range(3000)
    ]  # fmt: skip
    spread = np.std([(d.cg_from_pivot_mm, d.rest_angle_deg) for d in drawn], axis=0)
    assert (found.u_cg_from_pivot_mm, found.u_rest_angle_deg) == pytest.approx(spread, rel=0.08)
    with pytest.raises(BobweightError, match="lines-parallel"):
        cg_by_two_lines(lines[0], [p + 3.0 for p in lines[0]], pivot)
