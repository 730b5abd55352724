"""Timing tape: sizes from plane geometry, directions by turning a pulley in the test."""

from itertools import pairwise
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bobweight.core.bench import tape
from bobweight.core.bench.scale import Steps
from bobweight.core.problems import BobweightError


def test_degree_length():
    """Common practice (plane geometry): 0.96 mm a degree at 110 mm, 1.31 mm at 150 mm."""
    assert tape.mm_per_degree(110) == pytest.approx(0.96, abs=0.005)
    assert tape.mm_per_degree(150) == pytest.approx(1.31, abs=0.005)
    assert 360 * tape.mm_per_degree(150, 0.1) == pytest.approx(pi * 150.1)


def spec_of(diameter_mm: float | None, **more: object) -> tape.TapeSpec:
    """A tape on paper of no thickness, so that the sums are those of the rim."""
    return tape.TapeSpec(diameter_mm=diameter_mm, **{"thickness_mm": 0.0, **more})


def test_marks_of_a_plain_tape():
    got = tape.timing_tape(spec_of(360 / pi, span_deg=20, end_mm=5))  # 1 mm a degree
    assert got.length_mm == pytest.approx(30)
    assert [m.position_mm for m in got.marks] == pytest.approx([5 + k for k in range(21)])
    assert [m.angle_deg for m in got.marks] == list(range(21))
    assert [(m.angle_deg, m.label) for m in got.marks if m.label] == [
        (0, "0"),
        (10, "10"),
        (20, "20"),
    ]
    assert [m.angle_deg for m in got.marks if m.kind == "mid"] == [5, 15]
    assert [m.cylinders for m in got.marks if m.cylinders] == [(1,)]


def test_coarser_and_finer_steps():
    fine = tape.timing_tape(
        spec_of(150, span_deg=10, steps=Steps(minor_deg=0.5, mid_deg=1, major_deg=5))
    )
    assert len(fine.marks) == 21
    assert [m.label for m in fine.marks if m.kind == "major"] == ["0", "5", "10"]
    tenth = Steps(
        minor_deg=0.1, mid_deg=0.5, major_deg=1.0
    )  # not exact in binary: none may be lost or moved to another kind
    kinds = [kind for _, kind in tenth.marks(-3.0, 3.0)]
    assert (kinds.count("major"), kinds.count("mid"), kinds.count("minor")) == (7, 6, 48)


def under_pointer(spec, got, mark, crank_deg):
    """Degrees by which a mark is off a pointer at the top, seen from the front, when the crank
    stands crank_deg past the first cylinder's top dead centre.

    With its lower edge to the front, the tape's right is the right of someone who looks at the top
    of the pulley from the front: clockwise. The pulley has turned by crank_deg its own way.
    """
    zero = next(m for m in got.marks if 1 in m.cylinders)
    clockwise = (mark.position_mm - zero.position_mm) / (pi * spec.diameter_mm) * 360
    turned = crank_deg if spec.rotation == "clockwise" else -crank_deg
    return (clockwise + turned + 180) % 360 - 180


@pytest.mark.parametrize("rotation", tape.ROTATIONS)
@pytest.mark.parametrize("side", tape.SIDES)
def test_every_mark_passes_the_pointer_at_its_angle(rotation, side):
    spec = spec_of(140, rotation=rotation, side=side, span_deg=30)
    got = tape.timing_tape(spec)
    angles = sorted(m.angle_deg for m in got.marks)
    assert (angles[0], angles[-1]) == {"before": (0, 30), "after": (-30, 0), "both": (-30, 30)}[
        side
    ]
    for mark in got.marks:  # 10 before top dead centre: the crank stands at −10
        assert under_pointer(spec, got, mark, -mark.angle_deg) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("rotation", tape.ROTATIONS)
@pytest.mark.parametrize("cylinders", range(1, 13))
def test_every_cylinder_finds_its_own_zero_and_scale(cylinders, rotation):
    span = 12
    spec = spec_of(160, rotation=rotation, side="both", span_deg=span, cylinders=cylinders)
    got = tape.timing_tape(spec)
    for k in range(cylinders):
        fires_at = 720 / cylinders * k
        zeros = [m for m in got.marks if k + 1 in m.cylinders]
        assert len(zeros) == 1
        assert under_pointer(spec, got, zeros[0], fires_at) == pytest.approx(0, abs=1e-9)
        tens = [
            m
            for m in got.marks
            if m.angle_deg == 10 and abs(under_pointer(spec, got, m, fires_at - 10)) < 1e-6
        ]
        assert len(tens) == 1
    assert got.length_mm - 2 * spec.end_mm < pi * 160


def test_places_of_top_dead_centre():
    """By counting: six cylinders in pairs at 0, 120, 240; five at every 72; a narrow vee twin with
    firing at 0 and 405 degrees at 0 and 45."""
    assert tape.dead_centres(spec_of(150, cylinders=6)) == (
        (0, (1, 4)), (120, (2, 5)), (240, (3, 6)),
    )  # fmt: skip
    five = tape.dead_centres(spec_of(150, cylinders=5))
    assert [angle for angle, _ in five] == [0, 72, 144, 216, 288]
    assert five[2][1] == (2,)
    vee = spec_of(150, cylinders=2, firing="0; 405")
    assert tape.dead_centres(vee) == ((0, (1,)), (45, (2,)))
    two_stroke = spec_of(150, cylinders=3, two_stroke=True)
    assert [angle for angle, _ in tape.dead_centres(two_stroke)] == [0, 120, 240]


@given(st.floats(60, 300), st.integers(1, 8), st.floats(100, 300), st.floats(0, 40))
def test_strips_carry_the_whole_tape(diameter, cylinders, width, overlap):
    got = tape.timing_tape(spec_of(diameter, cylinders=cylinders, span_deg=30))
    strips = tape.split(got, width, overlap_mm=overlap)
    seen = {}
    for strip in strips:
        assert strip.length_mm <= width + 1e-9
        for mark in strip.marks:
            assert -1e-6 <= mark.position_mm <= strip.length_mm + 1e-6
            seen.setdefault(round(mark.position_mm + strip.start_mm, 6), mark)
    assert len(seen) == len({round(m.position_mm, 6) for m in got.marks})
    assert strips[-1].start_mm + strips[-1].length_mm == pytest.approx(got.length_mm)
    assert strips[0].start_mm == 0
    for left, right in pairwise(strips):
        assert left.start_mm + left.length_mm - right.start_mm == pytest.approx(overlap)
        assert left.start_mm + left.joins_mm[-1] == pytest.approx(
            right.start_mm + right.joins_mm[0]
        )
    assert sum(len(s.joins_mm) for s in strips) == 2 * (len(strips) - 1)


def test_a_short_tape_is_one_strip_and_a_long_one_is_not_more_than_needed():
    short = tape.timing_tape(spec_of(150, span_deg=40))
    assert [s.joins_mm for s in tape.split(short, 190)] == [()]
    long = tape.timing_tape(spec_of(150, cylinders=4, span_deg=40))
    # 220° × 1.309 mm + 20 mm = 308 mm; two strips of 190 with 15 in common carry 365
    assert long.length_mm == pytest.approx(308.0, abs=0.05)
    assert len(tape.split(long, 190)) == 2


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: spec_of(0).check(), "below-limit"),
        (lambda: spec_of(150, rotation="left").check(), "not-an-option"),
        (lambda: spec_of(150, side="up").check(), "not-an-option"),
        (lambda: spec_of(150, cylinders=0).check(), "below-limit"),
        (lambda: spec_of(None).check(), "missing"),
        (lambda: spec_of(150, cylinders=4, order="1-3").check(), "firing-order-length"),
        (lambda: spec_of(150, cylinders=4, order="1-3-3-2").check(), "firing-order-length"),
        (lambda: spec_of(150, cylinders=2, firing="0; x").check(), "not-a-number"),
        (
            lambda: spec_of(150, cylinders=2, firing="10 405").check(),
            "first-firing-not-zero",
        ),
        (lambda: spec_of(150, cylinders=3, firing="0; 405").check(), "unequal-columns"),
        (lambda: Steps(mid_deg=2.5).check(), "steps-not-multiple"),
        (lambda: Steps(minor_deg=2, mid_deg=1).check(), "steps-not-multiple"),
        (
            lambda: tape.timing_tape(spec_of(150, side="both", span_deg=60, cylinders=6)),
            "scales-overlap",
        ),
    ],
)
def test_refusals(call, code):
    with pytest.raises(BobweightError) as caught:
        call()
    assert caught.value.problem.code == code
