"""Gap, dwell and opening angle against a numeric contact solver and published figures."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from bobweight.core.bench import points
from bobweight.core.problems import BobweightError

# A cam of a small four-cylinder unit: sizes invented, of the usual order.
FOUR = points.ContactCam(4, 7.0, 8.6, 1.15)


def flat_radius(cam, beta):
    """Radius of the ground cam at any angle (radians) from the middle of a flat."""
    sector = 2 * np.pi / cam.lobes
    beta = (np.asarray(beta) + sector / 2) % sector - sector / 2
    cosine = np.cos(beta)
    with np.errstate(divide="ignore", invalid="ignore"):
        flat = np.where(cosine > 0, cam.flat_mm / cosine, np.inf)
    return np.minimum(flat, cam.lobe_mm)


def solved_dwell_deg(cam, gap_mm):
    """Dwell by the road of the fitter: fix the contact so that it stands the gap open on the lobe,
    then turn the cam and look for the angle at which it closes."""
    on_lobe = flat_radius(cam, np.pi / cam.lobes)
    contact_at = cam.lever_ratio * on_lobe - gap_mm

    def opening(beta):
        return float(cam.lever_ratio * flat_radius(cam, beta) - contact_at)

    half = brentq(opening, 0.0, np.pi / cam.lobes, xtol=1e-14)
    return 2 * np.degrees(half)


def real_cams(lobes):
    """A cam that can be ground: the lobe at a share of the way from flat to corner."""
    corner = 1 / np.cos(np.pi / lobes) if lobes > 2 else 2.0
    return st.builds(
        lambda flat, share, lever: points.ContactCam(
            lobes, flat, flat * (1 + (min(corner, 2.0) - 1) * share), lever
        ),
        st.floats(4, 15),
        st.floats(0.2, 1.0),
        st.floats(0.7, 1.6),
    )


cams = st.integers(1, 12).flatmap(real_cams)
shares = st.floats(0.02, 0.98)


@given(cams, shares)
def test_dwell_agrees_with_the_numeric_contact_solver(cam, share):
    gap = share * cam.widest_gap_mm
    assert points.at_gap(cam, gap).dwell_deg == pytest.approx(solved_dwell_deg(cam, gap), abs=1e-6)


@pytest.mark.parametrize("lobes", [1, 2, 3, 4, 6, 8, 12])
def test_dwell_is_what_a_dwell_meter_counts_over_a_turn(lobes):
    cam = points.ContactCam(lobes, 8.0, 8.0 * (1 + 0.9 * (1 / np.cos(np.pi / max(lobes, 4)) - 1)))
    gap = 0.4 * cam.widest_gap_mm
    turn = np.linspace(0, 2 * np.pi, 720_001)[:-1]
    closed = flat_radius(cam, turn) < cam.lobe_mm - gap / cam.lever_ratio
    setting = points.at_gap(cam, gap)
    assert setting.dwell_percent == pytest.approx(100 * closed.mean(), abs=0.01)
    assert setting.dwell_deg + setting.open_deg == pytest.approx(360 / lobes)


@given(cams, shares)
def test_gap_and_dwell_round_trip(cam, share):
    there = points.at_gap(cam, share * cam.widest_gap_mm)
    back = points.at_dwell(cam, there.dwell_deg)
    assert back.gap_mm == pytest.approx(there.gap_mm, rel=1e-6, abs=1e-9)
    opened = points.at_open_angle(cam, there.open_deg)
    assert opened.gap_mm == pytest.approx(there.gap_mm, rel=1e-6, abs=1e-9)
    percent = points.at_percent(cam, there.dwell_percent)
    assert percent.gap_mm == pytest.approx(there.gap_mm, rel=1e-6, abs=1e-9)


@given(cams)
def test_dwell_falls_as_the_gap_grows(cam):
    gaps = np.linspace(0.02, 0.98, 50) * cam.widest_gap_mm
    assert np.all(np.diff(points.at_gap(cam, gaps).dwell_deg) < 0)


@given(cams, st.floats(0.1, 0.9))
def test_timing_shift_is_the_slope_of_the_solved_opening(cam, share):
    gap = share * cam.widest_gap_mm
    step = 1e-5 * cam.widest_gap_mm
    # half a degree less dwell on each side of the flat: the contacts part that much sooner
    slope = (solved_dwell_deg(cam, gap - step) - solved_dwell_deg(cam, gap + step)) / (4 * step)
    shift = points.timing_shift(cam, gap, drive_ratio=2.0)
    assert shift.crank_deg_per_mm == pytest.approx(2 * slope, rel=1e-4)
    assert shift.crank_deg_per_thou == pytest.approx(2 * slope * 0.0254, rel=1e-4)
    assert shift.dwell_deg_per_mm == pytest.approx(-2 * slope, rel=1e-4)


@given(st.integers(1, 12), st.floats(0.2, 0.8), st.floats(0.25, 0.65), st.floats(0.8, 1.5))
def test_one_known_pair_gives_back_any_missing_size(lobes, share, gap, lever):
    dwell = share * min(360 / lobes, 180)
    cam = points.calibrated(lobes, gap, dwell, flat_mm=9.0, lever_ratio=lever)
    assert points.at_gap(cam, gap).dwell_deg == pytest.approx(dwell, rel=1e-9)
    for known in (
        {"lobe_mm": cam.lobe_mm, "lever_ratio": lever},
        {"flat_mm": 9.0, "lobe_mm": cam.lobe_mm},
    ):
        other = points.calibrated(lobes, gap, dwell, **known)
        assert other.flat_mm == pytest.approx(9.0)
        assert other.lobe_mm == pytest.approx(cam.lobe_mm)
        assert other.lever_ratio == pytest.approx(lever, rel=1e-6)


def test_published_dwell_of_61_degrees():
    """Lotus Europa workshop data, ignition section (seen): dwell 61 ± 3° = 67.8 ± 3.3 %, four
    lobes, gap 0.40 to 0.50 mm."""
    assert points.dwell_from_percent(67.8, 4) == pytest.approx(61.0, abs=0.05)
    assert points.dwell_time_ms(61.0, 1500.0) == pytest.approx(6.78, abs=0.005)


@pytest.mark.parametrize("flat_mm", [6.0, 7.0, 8.0, 9.0])
def test_published_gap_range_keeps_the_published_dwell_range(flat_mm):
    """Same source: the middle of the gap gives the middle of the dwell; both ends of the gap stay
    inside ± 3°, the wide gap at the short dwell."""
    cam = points.calibrated(4, 0.45, 61.0, flat_mm=flat_mm, lever_ratio=1.0)
    narrow, wide = points.at_gap(cam, np.array([0.40, 0.50])).dwell_deg
    assert 58 < wide < 61 < narrow < 64


@pytest.mark.parametrize(
    ("lobes", "gap_mm", "dwell_deg"), [(4, 0.38, 60.0), (4, 0.38, 50.0), (6, 0.38, 35.0)]
)
def test_a_thou_of_gap_is_about_a_crank_degree(lobes, gap_mm, dwell_deg):
    """Common practice: +0.001 in is about 1 crank degree of advance (0.5 to 1.5)."""
    cam = points.calibrated(lobes, gap_mm, dwell_deg, flat_mm=7.5, lever_ratio=1.0)
    assert 0.5 < points.timing_shift(cam, gap_mm).crank_deg_per_thou < 1.5


def test_shapes_are_kept_and_single_numbers_are_plain():
    gaps = np.full((2, 3), 0.4)
    assert points.at_gap(FOUR, gaps).dwell_deg.shape == (2, 3)
    assert type(points.at_gap(FOUR, 0.4).dwell_deg) is float
    assert type(points.timing_shift(FOUR, 0.4).crank_deg_per_mm) is float


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: points.at_gap(FOUR, 0.0), "not-positive"),
        (lambda: points.at_gap(FOUR, FOUR.widest_gap_mm), "contacts-never-close"),
        (lambda: points.at_dwell(FOUR, FOUR.longest_dwell_deg), "contacts-never-open"),
        (lambda: points.at_dwell(FOUR, -1.0), "not-positive"),
        (lambda: points.at_percent(FOUR, 101.0), "above-limit"),
        (lambda: points.at_gap(FOUR, float("nan")), "not-finite"),
        (lambda: points.at_gap(FOUR, "wide"), "not-a-number"),
        (lambda: points.ContactCam(4, 8.0, 8.0), "lobe-not-above-flat"),
        (lambda: points.ContactCam(13, 7.0, 8.0), "above-limit"),
        (lambda: points.ContactCam(4.5, 7.0, 8.0), "not-whole"),
        (
            lambda: points.calibrated(4, 0.4, 85.0, flat_mm=7.0, lobe_mm=8.6),
            "pair-not-possible",
        ),
        (
            lambda: points.calibrated(4, 9.0, 60.0, lobe_mm=8.6, lever_ratio=1.0),
            "pair-not-possible",
        ),
    ],
)
def test_what_cannot_be_solved_is_refused(call, code):
    with pytest.raises(BobweightError) as caught:
        call()
    assert caught.value.problem.code == code


def test_the_refusal_tells_the_limit():
    with pytest.raises(BobweightError) as caught:
        points.at_gap(FOUR, np.array([0.4, 2.5]))
    facts = caught.value.problem.facts
    assert facts["gap_mm"] == 2.5
    assert facts["limit_mm"] == pytest.approx(1.15 * 1.6)


def test_a_lobe_beyond_the_corner_is_advice_and_leaves_the_sector_as_the_limit():
    """Two flats of an octagon at 8 mm meet at 8 / cos 22.5° = 8.659 mm."""
    cam = points.ContactCam(8, 8.0, 8.7)
    (problem,) = points.advice(cam)
    assert (problem.code, problem.grave) == ("lobe-beyond-corner", False)
    assert problem.facts["corner_mm"] == pytest.approx(8.659, abs=0.001)
    assert cam.longest_dwell_deg == 45.0
    with pytest.raises(BobweightError, match="contacts-never-open"):
        points.at_gap(cam, 0.03)
    assert points.advice(points.ContactCam(8, 8.0, 8.6)) == ()
    assert points.advice(points.ContactCam(2, 8.0, 12.0)) == ()
