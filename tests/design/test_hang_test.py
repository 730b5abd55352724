"""Hang tests: against a published calibration line, against known springs, and in simulation."""

import numpy as np
import pytest
from scipy import stats

from bobweight.core.design.hang_test import PointKind, Separation, hang_test
from bobweight.core.problems import BobweightError
from tests.design.hung import FREE, RATE, TENSION, interval_hits, lengths

LOADS = np.array([0, 0.5, 1, 1.5, 2.5, 3, 4, 5, 6, 7.0])


def test_published_line():
    # ISO/TS 28037:2010, example 1 (seen): a 1.867 (0.465), b 1.757 (0.120), cov −0.050.
    # Read as loads and lengths of an open-wound spring, the rate is 1/b, the free length a.
    t = hang_test(range(1, 7), [3.3, 5.6, 7.1, 9.3, 10.7, 12.1], 0.5, open_wound=True)
    assert t.rate_n_per_mm == pytest.approx(1 / 1.757, rel=0.002)
    assert t.u_rate_n_per_mm == pytest.approx(0.120 / 1.757**2, rel=0.005)
    assert t.free_length_mm == pytest.approx(1.867, abs=0.001)
    assert t.u_free_length_mm == pytest.approx(0.465, abs=0.001)
    assert t.covariance[0, 2] == pytest.approx(0.050 / 1.757**2, rel=0.01)
    assert (t.initial_tension_n, t.u_initial_tension_n) == (0.0, None)
    assert t.scatter**2 * t.dof == pytest.approx(1.665, abs=0.001)


def test_a_close_wound_spring_is_found_exactly():
    t = hang_test(LOADS, lengths(LOADS), 0.05)
    assert t.separation is Separation.MEASURED
    found = (t.rate_n_per_mm, t.initial_tension_n, t.free_length_mm, t.offset_n)
    assert found == pytest.approx((RATE, TENSION, FREE, RATE * FREE - TENSION))
    assert t.kinds == (PointKind.CLOSED,) * 4 + (PointKind.ON_LINE,) * 6
    assert not t.problems
    assert not t.flagged.any()


def test_order_of_readings_does_not_matter():
    rng = np.random.default_rng(3)
    y = lengths(LOADS) + rng.normal(0, 0.05, LOADS.size)
    mixed = rng.permutation(LOADS.size)
    a, b = hang_test(LOADS, y, 0.05), hang_test(LOADS[mixed], y[mixed], 0.05)
    assert b.rate_n_per_mm == pytest.approx(a.rate_n_per_mm)
    assert b.initial_tension_n == pytest.approx(a.initial_tension_n)
    assert [a.kinds[i] for i in mixed] == list(b.kinds)
    assert a.residuals_mm[mixed] == pytest.approx(b.residuals_mm)


def test_on_the_line_alone_tension_and_length_cannot_be_told_apart():
    loads = LOADS[4:]
    t = hang_test(loads, lengths(loads), 0.05)
    assert t.separation is Separation.NOT_SEPARATED
    assert (t.initial_tension_n, t.free_length_mm, t.covariance) == (None, None, None)
    assert t.rate_n_per_mm == pytest.approx(RATE)
    assert t.offset_n == pytest.approx(RATE * FREE - TENSION)
    assert t.initial_tension_limits_n[0] <= TENSION <= t.initial_tension_limits_n[1]
    assert t.free_length_limits_mm[0] <= FREE <= t.free_length_limits_mm[1]
    assert [p.code for p in t.problems] == ["tension-not-separated"]
    assert float(t.force_at(30)[0]) == pytest.approx(TENSION + RATE * (30 - FREE))


def test_closed_coils_are_seen_without_an_unloaded_reading():
    loads = LOADS[1:]
    rng = np.random.default_rng(5)
    t = hang_test(loads, lengths(loads) + rng.normal(0, 0.03, loads.size), 0.03)
    assert t.separation is Separation.MEASURED
    assert t.kinds[:3] == (PointKind.CLOSED,) * 3
    assert t.initial_tension_n == pytest.approx(TENSION, abs=3 * t.u_initial_tension_n)


def test_a_spring_without_tension_is_called_open_wound():
    loads = np.arange(0, 6.0)
    y = lengths(loads, tension=0) + np.array([-0.03, 0.02, 0.01, 0.0, -0.02, 0.01])
    t = hang_test(loads, y, 0.05)
    assert (t.separation, t.initial_tension_n) == (Separation.OPEN_WOUND, 0.0)
    assert t.kinds == (PointKind.ON_LINE,) * 6


def test_an_unloaded_length_short_of_the_line_is_told():
    loads = np.arange(0, 6.0)
    y = lengths(loads, tension=0)
    y[0] -= 0.6  # a hook that settles under load
    t = hang_test(loads, y, 0.05)
    assert t.separation is Separation.OPEN_WOUND
    assert "unloaded-length-too-short" in [p.code for p in t.problems]


@pytest.mark.parametrize("u", [0.05, None])
@pytest.mark.parametrize(("slope", "kind", "code"), [
    (0.02, PointKind.STIFFENED, "stiffens-at-end"),
    (2.0, PointKind.SOFTENED, "softens-at-end"),
])  # fmt: skip
@pytest.mark.parametrize("out", [1, 2, 3])
def test_a_bend_at_the_end_is_left_out_and_told(u, slope, kind, code, out):
    rng = np.random.default_rng(11)
    loads = np.arange(0, 11.0)
    y = lengths(loads)
    y[-out:] = y[-out - 1] + slope * np.arange(1, out + 1)
    t = hang_test(loads, y + rng.normal(0, 0.04, y.size), u)
    assert t.kinds[-out:] == (kind,) * out
    assert t.kinds[-out - 1] is PointKind.ON_LINE
    assert t.rate_n_per_mm == pytest.approx(RATE, abs=4 * t.u_rate_n_per_mm)
    told = {p.code: p for p in t.problems}
    assert told[code].path == ("readings", 11 - out)
    assert told[code].facts["count"] == out


def test_a_misread_length_is_flagged_with_its_place():
    y = lengths(LOADS) + np.random.default_rng(2).normal(0, 0.05, LOADS.size)
    y[6] += 1.0
    t = hang_test(LOADS, y, 0.05)
    assert np.flatnonzero(t.flagged).tolist() == [6]
    assert ("outlying-reading", ("readings", 6)) in [(p.code, p.path) for p in t.problems]
    assert all(not p.grave for p in t.problems)


def test_flags_and_bends_are_rare_on_clean_data():
    rng = np.random.default_rng(21)
    runs = 300
    tests = [
        hang_test(LOADS, lengths(LOADS) + rng.normal(0, 0.1, LOADS.size), 0.1) for _ in range(runs)
    ]
    flagged = sum(bool(t.flagged.any()) for t in tests)
    bent = sum(any("-at-end" in p.code for p in t.problems) for t in tests)
    # At most one in twenty by construction; the bound is the 99.9 % point of that binomial.
    assert flagged <= stats.binom.ppf(0.999, runs, 0.05)
    assert bent <= stats.binom.ppf(0.999, runs, 0.05)


def test_a_take_up_is_not_called_a_bend_at_the_end():
    """Most readings closed, then the line: seen from the closed part it bends upwards."""
    rng = np.random.default_rng(17)
    loads = np.array([0, 0.3, 0.6, 0.9, 1.2, 1.5, 1.8, 3, 4, 5.0])
    for _ in range(100):
        t = hang_test(loads, lengths(loads) + rng.normal(0, 0.1, loads.size), 0.1)
        assert t.kinds[-3:] == (PointKind.ON_LINE,) * 3


@pytest.mark.parametrize(("stated", "u_load"), [(True, 0.0), (True, 0.05), (False, 0.0)])
def test_intervals_cover_the_truth(stated, u_load):
    """95 % intervals, 99.9 % binomial band about 0.95; more runs: ``tests.studies.springs``."""
    runs = 100
    hits = interval_hits(runs, 7, 0.1 if stated else None, u_load)
    low, high = stats.binom.ppf([0.0005, 0.9995], runs, 0.95)
    assert np.all(hits >= low)
    # Stated uncertainties are only ever raised to the scatter seen, so coverage may be larger.
    assert np.all(hits <= (stats.binom.ppf(0.9995, runs, 0.98) if stated else high + runs * 0.01))


def test_uncertainty_from_scatter_is_the_published_one():
    # GUM H.3 (seen): residual s 0.00349756, u(y1) 0.0028776 and u(y2) 0.00066793877. Shifted and
    # turned to rise from a positive length, its points are a spring's; u(slope) stays.
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010,
                  26.511]) - 20  # fmt: skip
    b = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161,
                  -0.160])  # fmt: skip
    spring = hang_test(t, b + 10, open_wound=True)
    assert spring.scatter == pytest.approx(0.00349756, rel=1e-5)
    assert spring.u_free_length_mm == pytest.approx(0.0028776, rel=1e-4)
    assert spring.u_rate_n_per_mm == pytest.approx(0.00066793877 / 0.0021826977**2, rel=1e-6)
    assert [p.code for p in spring.problems] == ["rate-uncertain"]


@pytest.mark.parametrize(("code", "load", "length", "u"), [
    ("too-few-points", [1.0], [20.0], 0.1),
    ("too-few-points", [], [], 0.1),
    ("too-few-points", [0.0, 3.0], [20.0, 21.0], 0.1),  # the one loaded reading gives no rate
    ("too-few-points", [0.0, 3.0, 4.0], [20.0, 21.0, 22.0], None),
    ("unequal-columns", [1.0, 2.0], [20.0], 0.1),
    ("not-finite", [1.0, np.nan], [20.0, 21.0], 0.1),
    ("load-negative", [-1.0, 2.0, 3.0], [20.0, 21.0, 22.0], 0.1),
    ("all-same-load", [2.0, 2.0, 2.0], [20.0, 21.0, 22.0], 0.1),
    ("length-not-positive", [0.0, 2.0, 3.0], [-1.0, 21.0, 22.0], 0.1),
    ("length-does-not-change", [1.0, 2.0, 3.0], [20.0, 20.0, 20.0], 0.1),
    ("length-falls-with-load", [1.0, 2.0, 3.0], [20.0, 19.0, 18.0], 0.1),
    ("uncertainty-not-positive", [1.0, 2.0, 3.0], [20.0, 21.0, 22.0], 0.0),
    ("columns-swapped", lengths(LOADS), LOADS, 0.1),
    ("columns-swapped", lengths(LOADS), LOADS + 0.5, 0.1),
    ("columns-swapped", lengths(LOADS[4:]), LOADS[4:], None),
])  # fmt: skip
def test_bad_tests_are_refused(code, load, length, u):
    with pytest.raises(BobweightError) as caught:
        hang_test(load, length, u)
    assert caught.value.problem.code == code


def test_a_negative_load_is_named():
    with pytest.raises(BobweightError) as caught:
        hang_test([0.0, 1.0, -2.0], [20.0, 21.0, 22.0], 0.1)
    assert caught.value.problem.path == ("load_n", 2)


def test_two_readings_are_enough_when_their_uncertainty_is_stated():
    t = hang_test([3.0, 6.0], lengths([3.0, 6.0]), 0.1)
    # Differences of two lengths: u(slope) = √2 · 0.1/3.
    assert t.u_rate_n_per_mm == pytest.approx(np.sqrt(2) * 0.1 / 3 * RATE**2)
    assert np.isnan(t.scatter)
    assert "line-from-two-readings" in [p.code for p in t.problems]


def test_exact_lengths_without_stated_uncertainty_are_not_called_exact():
    t = hang_test(LOADS, lengths(LOADS))
    assert "no-scatter" in [p.code for p in t.problems]
    assert t.initial_tension_n == pytest.approx(TENSION)
