"""Side play and lobe spacing as scatter, against the cam's own geometry solved numerically."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from bobweight.core.bench import play, points
from bobweight.core.problems import BobweightError

CAM = points.calibrated(4, 0.38, 60.0, flat_mm=7.5, lever_ratio=1.0)


def opening_rad(cam, gap_mm, shift_mm):
    """Angle at which a flat touches the heel when the shaft's axis is moved by a vector.

    The heel stands on the x axis, below the lobe by what the lever makes of the gap; the flat’s
    normal is at β from it.
    """
    heel = np.array([cam.lobe_mm - gap_mm / cam.lever_ratio, 0.0]) - shift_mm

    def apart(beta):
        return heel @ np.array([np.cos(beta), np.sin(beta)]) - cam.flat_mm

    return brentq(apart, 0.05, np.pi / cam.lobes + 0.3)


@given(st.integers(3, 8), st.floats(0.35, 0.8), st.floats(0.005, 0.02))
def test_play_in_line_with_the_heel(lobes, share, e_mm):
    cam = points.calibrated(lobes, 0.4, share * 360 / lobes, flat_mm=9.0, lever_ratio=1.1)
    ends = [opening_rad(cam, 0.4, np.array([x, 0.0])) for x in (-e_mm / 2, e_mm / 2)]
    solved = np.degrees(abs(ends[1] - ends[0]))
    assert play.side_play_scatter(cam, 0.4, e_mm).span_deg == pytest.approx(solved, rel=0.01)


def test_play_square_to_the_flat_is_worse_by_one_over_cos_beta():
    beta = np.radians(30.0)
    normal = np.array([np.cos(beta), np.sin(beta)])
    ends = [opening_rad(CAM, 0.38, s * 0.005 * normal) for s in (-1, 1)]
    in_line = play.side_play_scatter(CAM, 0.38, 0.01).span_deg
    assert np.degrees(abs(ends[1] - ends[0])) == pytest.approx(in_line / np.cos(beta), rel=1e-3)


def test_crank_figures_and_uncertainties():
    """Closed form: cos² 30° / (7.5 sin 30°) rad/mm = 0.2 rad/mm = 11.459 °/mm; a uniform law's
    standard deviation is its width over √12 (JCGM 100:2008, 4.3.7)."""
    got = play.side_play_scatter(CAM, 0.38, 0.10, u_play_mm=0.01)
    assert got.span_deg == pytest.approx(1.1459, abs=1e-4)
    assert got.crank_span_deg == pytest.approx(2.2918, abs=1e-4)
    assert got.crank_plus_minus_deg == pytest.approx(1.1459, abs=1e-4)
    assert got.standard_deg == pytest.approx(1.1459 / 3.4641, abs=1e-4)
    assert got.u_span_deg == pytest.approx(0.11459, abs=1e-5)


def test_usual_play_gives_the_usual_scatter():
    """Common practice: a new bush (0.01 to 0.04 mm) stays inside ± 1 crank degree; one at the
    reject limit (0.15 mm) does not, but inside the ± 3 at which scatter itself is rejected."""
    new, worn = (play.side_play_scatter(CAM, 0.38, e).crank_plus_minus_deg for e in (0.04, 0.15))
    assert new < 1 < worn < 3


def test_lobe_spacing_against_even_spacing():
    """By hand: 0, 91, 180, 269: the errors 0, +1, 0, −1 have mean 0 and standard deviation 1/√2."""
    got = play.lobe_spacing([0, 91, 180, 269], u_firing_deg=0.2)
    assert got.errors_deg == pytest.approx((0, 1, 0, -1))
    assert got.worst_deg == pytest.approx(1)
    assert got.scatter.span_deg == pytest.approx(2)
    assert got.scatter.crank_span_deg == pytest.approx(4)
    assert got.scatter.standard_deg == pytest.approx(0.5**0.5)
    assert got.scatter.u_span_deg == pytest.approx(0.2 * 2**0.5)
    assert got.u_error_deg == pytest.approx(0.2 * 0.75**0.5)


def test_an_error_is_a_reading_less_the_mean_that_holds_it():
    """JCGM 100:2008, 5.2.2, against 20 000 drawn sets: the spread of one error, to 2 %."""
    read = np.random.default_rng(5).normal(0, 0.3, (20_000, 2))
    drawn = (read - read.mean(axis=1, keepdims=True))[:, 0].std()
    assert play.lobe_spacing([0, 180], u_firing_deg=0.3).u_error_deg == pytest.approx(
        drawn, rel=0.02
    )


def test_published_spacing_is_even():
    """Lotus Europa workshop data, ignition section (seen): firing 0 / 90 / 180 / 270 ± 1°."""
    assert play.lobe_spacing([0, 90, 180, 270]).worst_deg == 0


@given(st.floats(0, 360), st.lists(st.floats(-3, 3), min_size=2, max_size=12))
def test_the_zero_of_the_ring_is_free(zero, errors):
    n = len(errors)
    angles = zero + 360 / n * np.arange(n) + errors
    got, wrapped = play.lobe_spacing(angles), play.lobe_spacing(angles % 360)
    assert got.errors_deg == pytest.approx(np.array(errors) - np.mean(errors), abs=1e-9)
    assert wrapped.errors_deg == pytest.approx(got.errors_deg, abs=1e-9)


def test_causes_together():
    bush = play.side_play_scatter(CAM, 0.38, 0.10, u_play_mm=0.01)
    lobes = play.lobe_spacing([0, 91, 180, 269], u_firing_deg=0.2).scatter
    both = play.combined([bush, lobes])
    assert both.span_deg == pytest.approx(1.1459 + 2, abs=1e-4)
    assert both.standard_deg == pytest.approx((0.33079**2 + 0.5) ** 0.5, abs=1e-4)
    assert both.u_span_deg == pytest.approx((0.11459**2 + 0.08) ** 0.5, abs=1e-4)
    assert play.combined([bush, play.lobe_spacing([0, 180]).scatter]).u_span_deg is None


def test_causes_together_against_a_drawn_sample():
    bush = play.side_play_scatter(CAM, 0.38, 0.10)
    spacing = play.lobe_spacing([0, 91, 180, 269])
    rng = np.random.default_rng(4)
    sparks = rng.choice(spacing.errors_deg, 200_000) + rng.uniform(-0.5, 0.5, 200_000) * (
        bush.span_deg
    )
    both = play.combined([bush, spacing.scatter])
    assert sparks.std() == pytest.approx(both.standard_deg, rel=0.01)
    assert np.ptp(sparks) == pytest.approx(both.span_deg, rel=0.01)


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: play.side_play_scatter(CAM, 0.38, -0.1), "below-limit"),
        (lambda: play.side_play_scatter(CAM, 0.38, 0.1, u_play_mm=0.0), "not-positive"),
        (lambda: play.lobe_spacing([0.0]), "below-limit"),
        (lambda: play.lobe_spacing([0, 180, 90, 270]), "lobes-out-of-order"),
    ],
)
def test_refusals(call, code):
    with pytest.raises(BobweightError) as caught:
        call()
    assert caught.value.problem.code == code
