"""Degree ring: chords, boxes and joins from plane geometry."""

from math import hypot, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bobweight.core.bench import ring
from bobweight.core.bench.scale import Steps
from bobweight.core.problems import BobweightError

A4 = (190.0, 277.0)


def spec_of(inner_mm: float, outer_mm: float, **more: object) -> ring.RingSpec:
    return ring.RingSpec(inner_radius_mm=inner_mm, outer_radius_mm=outer_mm, **more)


def test_marks_go_once_round():
    marks = ring.ring_marks(spec_of(50, 80))
    assert [m.angle_deg for m in marks] == list(range(360))
    assert [m.label for m in marks if m.label] == [str(d) for d in range(0, 360, 10)]
    assert {(m.kind, m.to_mm) for m in marks} == {("major", 80), ("mid", 80), ("minor", 80)}
    assert all(50 < m.from_mm < 80 for m in marks)
    inner = ring.ring_marks(spec_of(50, 80, edge="inner"))
    assert all(m.from_mm == 50 and m.to_mm < 80 for m in inner)


def test_numbering_runs_either_way():
    right = ring.ring_marks(spec_of(50, 80, numbering="clockwise"))
    left = ring.ring_marks(spec_of(50, 80, numbering="anticlockwise"))
    assert right[90].paper_deg == 90 and left[90].paper_deg == 270
    (sector,) = ring.ring_sectors(spec_of(50, 80), *A4)
    assert sector.point_mm(0, 80) == pytest.approx((80, 0))  # zero at twelve
    assert sector.point_mm(90, 80) == pytest.approx((160, 80))  # a quarter on is to the right


def test_a_ring_that_fits_is_one_piece():
    (sector,) = ring.ring_sectors(spec_of(50, 95), *A4)
    assert (sector.width_mm, sector.height_mm) == pytest.approx((190, 190))
    assert len(sector.marks) == 360 and sector.joins_deg == ()
    assert len(ring.ring_sectors(spec_of(50, 95.1), *A4)) > 1


sizes = st.tuples(st.floats(30, 250), st.floats(5, 60))


@given(sizes, st.floats(0, 25), st.sampled_from(sorted(ring.ROTATIONS)))
def test_sectors_carry_the_whole_ring_to_scale(size, overlap, numbering):
    inner, width = size
    spec = spec_of(inner, inner + width, numbering=numbering)
    sectors = ring.ring_sectors(spec, *A4, overlap_mm=overlap)
    across, up = A4[::-1] if sectors[0].landscape else A4
    seen = set()
    for sector in sectors:
        assert sector.width_mm <= across and sector.height_mm <= up
        for mark in sector.marks:
            seen.add(mark.angle_deg)
            for radius in (mark.from_mm, mark.to_mm):
                x, y = sector.point_mm(mark.paper_deg, radius)
                assert -1e-6 <= x <= sector.width_mm + 1e-6
                assert -1e-6 <= y <= sector.height_mm + 1e-6
        for first, other in zip(sector.marks, sector.marks[1:], strict=False):
            if other.angle_deg - first.angle_deg == 1:  # neighbours lie one chord apart
                a = sector.point_mm(first.paper_deg, spec.outer_radius_mm)
                b = sector.point_mm(other.paper_deg, spec.outer_radius_mm)
                chord = 2 * spec.outer_radius_mm * sin(radians(0.5))
                assert hypot(a[0] - b[0], a[1] - b[1]) == pytest.approx(chord)
    assert seen == set(range(360))


def test_corners_of_the_sector_touch_the_box():
    spec = spec_of(120, 150)
    sectors = ring.ring_sectors(spec, *A4, overlap_mm=10)
    for s in sectors:
        corners = [s.point_mm(e, r) for e in (s.start_deg, s.end_deg) for r in (120, 150)]
        assert min(x for x, _ in corners) == pytest.approx(0)
        assert max(x for x, _ in corners) == pytest.approx(s.width_mm)
        assert max(y for _, y in corners) == pytest.approx(s.height_mm)


def test_joins_are_printed_on_both_neighbours_in_the_middle_of_the_overlap():
    spec = spec_of(120, 150)
    sectors = ring.ring_sectors(spec, *A4, overlap_mm=10)
    n = len(sectors)
    assert n == 3  # two would need 300 mm, three need 2 × 150 × sin 62° = 265, turned
    assert sectors[0].landscape
    for k, sector in enumerate(sectors):
        after = sectors[(k + 1) % n]
        assert sector.joins_deg[1] == pytest.approx(after.joins_deg[0])
        common = radians((sector.end_deg - after.start_deg) % 360) * 150
        assert common == pytest.approx(10)
        to_join = [
            (edge - sector.joins_deg[1] + 180) % 360 - 180
            for edge in (sector.end_deg, after.start_deg)
        ]
        assert to_join[0] == pytest.approx(-to_join[1]) and to_join[0] > 0


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: spec_of(80, 80).check(), "ring-inside-out"),
        (lambda: spec_of(0, 80).check(), "below-limit"),
        (lambda: spec_of(50, 80, numbering="left").check(), "not-an-option"),
        (lambda: spec_of(50, 80, edge="both").check(), "not-an-option"),
        (
            lambda: spec_of(50, 80, steps=Steps(mid_deg=1, major_deg=7)).check(),
            "steps-not-multiple",
        ),
        (lambda: ring.ring_sectors(spec_of(3000, 3400), *A4), "ring-too-large"),
    ],
)
def test_refusals(call, code):
    with pytest.raises(BobweightError) as caught:
        call()
    assert caught.value.problem.code == code
