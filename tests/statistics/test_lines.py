"""Straight lines against certified data and published examples."""

from pathlib import Path

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from bobweight.core.problems import BobweightError
from bobweight.core.statistics.lines import FLAG_LEVEL, line_in_both, outlying, weighted_line

# JCGM 100:2008 (GUM), H.3, Table H.6 (seen, recomputed to 1e-6).
GUM_T = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010,
                  26.511])  # fmt: skip
GUM_B = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161,
                  -0.160])  # fmt: skip

# Pearson's data (Phil. Mag. 1901) with York's weights (Can. J. Phys. 44 (1966) 1079) (seen).
PEARSON_X = np.array([0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
PEARSON_Y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
PEARSON_UX = np.array([1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1]) ** -0.5
PEARSON_UY = np.array([1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500]) ** -0.5


def flags(line):
    """Outlying points by the line's own residuals, their common factor divided out."""
    return outlying(line.standardised / line.scatter, line.dof)[1]


def test_gum_h3():
    line = weighted_line(GUM_T - 20, GUM_B, 1.0)  # their uncertainty is then the scatter
    assert line.intercept == pytest.approx(-0.17120379, abs=1e-8)
    assert line.u_intercept * line.scatter == pytest.approx(0.0028776, abs=1e-7)
    assert line.slope == pytest.approx(0.0021826977, abs=1e-10)
    assert line.u_slope * line.scatter == pytest.approx(0.00066793877, abs=1e-10)
    correlation = line.covariance / (line.u_intercept * line.u_slope)
    assert correlation == pytest.approx(-0.93043, abs=1e-5)
    assert line.scatter == pytest.approx(0.00349756, abs=1e-8)
    b, u = line.y_at(30 - 20)
    assert float(b) == pytest.approx(-0.1493768, abs=1e-6)
    assert float(u) * line.scatter == pytest.approx(0.0041386, abs=1e-6)


def test_iso_28037_example_1():
    # ISO/TS 28037:2010, example 1 (seen), to the digits printed.
    line = weighted_line(range(1, 7), [3.3, 5.6, 7.1, 9.3, 10.7, 12.1], 0.5)
    assert (line.intercept, line.u_intercept) == pytest.approx((1.867, 0.465), abs=5e-4)
    assert (line.slope, line.u_slope) == pytest.approx((1.757, 0.120), abs=5e-4)
    assert line.covariance == pytest.approx(-0.050, abs=5e-4)
    assert line.covariance_matrix[0, 1] == line.covariance
    assert (line.chi2, line.dof) == (pytest.approx(1.665, abs=5e-4), 4)
    x, u = line.x_at(10.5, 0.5)
    assert (float(x), float(u)) == pytest.approx((4.913, 0.322), abs=5e-4)


def test_pearson_with_york_weights():
    line = line_in_both(PEARSON_X, PEARSON_Y, PEARSON_UX, PEARSON_UY)
    assert line.intercept == pytest.approx(5.47991022, abs=1e-8)
    assert line.slope == pytest.approx(-0.480533407, abs=1e-9)
    assert line.chi2 / 8 == pytest.approx(1.4833, abs=5e-5)
    # Standard errors by York and others, Am. J. Phys. 72 (2004) 367.
    assert line.u_intercept == pytest.approx(0.29497, abs=1e-5)
    assert line.u_slope == pytest.approx(0.05799, abs=1e-5)


def test_nist_norris():
    """NIST StRD, Norris: certified to 15 digits; the file ships with scipy."""
    path = Path(scipy.stats.__file__).parent / "tests/data/nist_linregress/Norris.dat"
    if not path.exists():
        pytest.skip("this build of scipy comes without its test data")
    y, x = np.loadtxt(path, skiprows=60).T
    line = weighted_line(x, y, 1.0)
    assert len(x) == 36
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-10)
    assert line.u_intercept * line.scatter == pytest.approx(0.232818234301152, rel=1e-11)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-13)
    assert line.u_slope * line.scatter == pytest.approx(0.429796848199937e-3, rel=1e-11)
    assert line.scatter == pytest.approx(0.884796396144373, rel=1e-11)


def test_errors_of_both_against_odrpack():
    """Errors of x and y of another size at each point, against the reference code for such fits."""
    odrpack = pytest.importorskip("odrpack")
    rng = np.random.default_rng(12)
    n = 12
    ux, uy = rng.uniform(0.05, 0.3, n), rng.uniform(0.1, 0.5, n)
    truth = np.linspace(1, 10, n)
    e, f = rng.normal(size=(2, n))
    x, y = truth + ux * e, 2 + 0.7 * truth + uy * f
    line = line_in_both(x, y, ux, uy)
    fit = odrpack.odr_fit(
        lambda v, b: b[0] + b[1] * v, x, y, beta0=np.array([1.0, 1.0]),
        weight_x=1 / ux**2, weight_y=1 / uy**2, sstol=1e-14, partol=1e-14, maxit=200,
    )  # fmt: skip
    assert (line.intercept, line.slope) == pytest.approx(tuple(fit.beta), rel=1e-6)
    assert line.chi2 == pytest.approx(fit.sum_square, rel=1e-6)
    # odrpack scales by √(residual variance), which known uncertainties take out again.
    known = fit.sd_beta / np.sqrt(fit.res_var)
    assert (line.u_intercept, line.u_slope) == pytest.approx(tuple(known), rel=0.02)


def test_exact_x_makes_both_fits_one():
    y, u = [3.3, 5.6, 7.1, 9.3, 10.7, 12.1], [0.4, 0.5, 0.6, 0.3, 0.5, 0.7]
    a, b = weighted_line(range(1, 7), y, u), line_in_both(range(1, 7), y, 0, u)
    assert (b.intercept, b.slope, b.u_intercept, b.u_slope, b.chi2) == pytest.approx(
        (a.intercept, a.slope, a.u_intercept, a.u_slope, a.chi2)
    )
    assert b.standardised == pytest.approx(a.standardised)


def test_exchanging_the_axes_gives_the_same_line():
    line = line_in_both(PEARSON_X, PEARSON_Y, PEARSON_UX, PEARSON_UY)
    other = line_in_both(PEARSON_Y, PEARSON_X, PEARSON_UY, PEARSON_UX)
    assert other.slope == pytest.approx(1 / line.slope, rel=1e-9)
    assert other.chi2 == pytest.approx(line.chi2, rel=1e-9)


@given(st.floats(-1e4, 1e4), st.floats(0.1, 100))
def test_reading_back_inverts_predicting(shift, stretch):
    line = weighted_line(np.arange(6) * stretch + shift, [3.3, 5.6, 7.1, 9.3, 10.7, 12.1], 0.5)
    x = shift + np.array([-1.0, 2.2, 9.0]) * stretch
    y, _ = line.y_at(x)
    assert line.x_at(y)[0] == pytest.approx(x, rel=1e-9, abs=1e-9 * stretch)


def test_intervals_cover_the_truth_in_both_variables():
    """2000 runs of a line with errors in both, 95 % intervals, 99.9 % binomial band."""
    rng = np.random.default_rng(5)
    runs, hits = 2000, 0
    truth = np.linspace(0, 10, 9)
    for _ in range(runs):
        x, y = truth + rng.normal(0, 0.2, 9), 1 + 2 * truth + rng.normal(0, 0.3, 9)
        value, u = line_in_both(x, y, 0.2, 0.3).y_at(7.0)
        hits += abs(value - 15) < 1.96 * u
    low, high = scipy.stats.binom.ppf([0.0005, 0.9995], runs, 0.95)
    assert low <= hits <= high


def test_studentised_residuals_are_those_of_the_line_without_the_point():
    """By definition: leave a point out, predict it (Weisberg, Applied Linear Regression)."""
    line = weighted_line(GUM_T, GUM_B, 1.0)
    studentised, _ = outlying(line.standardised / line.scatter, line.dof)
    for i in range(len(GUM_T)):
        rest = weighted_line(np.delete(GUM_T, i), np.delete(GUM_B, i), 1.0)
        y, u = rest.y_at(GUM_T[i])
        t = (GUM_B[i] - y) / (rest.scatter * np.hypot(1.0, u))
        assert studentised[i] == pytest.approx(float(t), rel=1e-6)


def test_a_slip_is_flagged_and_only_it():
    rng = np.random.default_rng(1)
    x = np.arange(10.0)
    y = 1 + 0.5 * x + rng.normal(0, 0.1, 10)
    y[4] += 1.5
    for line in (weighted_line(x, y, 0.1), line_in_both(x, y, 0.02, 0.1)):
        assert np.flatnonzero(flags(line)).tolist() == [4]


def test_flags_on_clean_data_are_as_rare_as_stated():
    rng = np.random.default_rng(9)
    x, runs = np.arange(8.0), 2000
    hits = sum(flags(weighted_line(x, rng.normal(size=8), 1e-6)).any() for _ in range(runs))
    # Bonferroni's bound is all but exact here.
    low, high = scipy.stats.binom.ppf([0.0005, 0.9995], runs, FLAG_LEVEL)
    assert 0.8 * low <= hits <= high


def test_exact_points_lie_on_the_line():
    assert not weighted_line(range(9), 0.1 + 0.3 * np.arange(9), 1e-30).standardised.any()


def test_two_points():
    line = weighted_line([0, 2], [1, 5], 0.1)
    assert (line.intercept, line.slope, line.dof) == (pytest.approx(1), pytest.approx(2), 0)
    assert np.isnan(line.scatter)


@pytest.mark.parametrize(("code", "call"), [
    ("too-few-points", lambda: weighted_line([1], [1], 1)),
    ("unequal-columns", lambda: weighted_line([1, 2, 3], [1, 2], 1)),
    ("unequal-columns", lambda: weighted_line([1, 2, 3], 1, 1)),
    ("unequal-columns", lambda: weighted_line([1, 2, 3], [1, 2, 3], [1, 1])),
    ("not-finite", lambda: weighted_line([1, 2, np.inf], [1, 2, 3], 1)),
    ("uncertainty-not-positive", lambda: weighted_line([1, 2], [1, 2], [1, 0])),
    ("uncertainty-not-positive", lambda: line_in_both([1, 2], [1, 2], [1, 0], [1, 0])),
    ("uncertainty-not-positive", lambda: line_in_both([1, 2], [1, 2], [-1, 1], [1, 1])),
    ("uncertainty-not-positive", lambda: line_in_both([1, 2], [1, 2], [1, 1], [-1, 1])),
    ("all-same-x", lambda: weighted_line([2, 2], [1, 2], 1)),
    ("all-same-x", lambda: line_in_both([2, 2, 2], [1, 2, 3], 1, 1)),
    ("line-level", lambda: weighted_line([1, 2], [3, 3], 1).x_at(3)),
])  # fmt: skip
def test_bad_points_are_refused(code, call):
    with pytest.raises(BobweightError) as caught:
        call()
    assert caught.value.problem.code == code


def test_a_flag_stands_from_the_quantile_of_student_on():
    """Bonferroni by scipy's own law: ν − 1 degrees of freedom, FLAG_LEVEL shared by n points."""
    dof, count = 6, 8
    t = scipy.stats.t.ppf(1 - FLAG_LEVEL / (2 * count), dof - 1)
    for wider, flagged in ((1.001, True), (0.999, False)):
        square = (wider * t) ** 2
        residuals = np.zeros(count)
        residuals[3] = np.sqrt(dof * square / (dof - 1 + square))  # t² = r² (ν − 1)/(ν − r²)
        studentised, flags = outlying(residuals, dof)
        assert studentised[3] == pytest.approx(wider * t)
        assert flags.tolist() == [flagged and i == 3 for i in range(count)]
