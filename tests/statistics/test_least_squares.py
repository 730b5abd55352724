"""Least squares against certified regression data and published straight lines."""

import numpy as np
import pytest

from bobweight.core.problems import BobweightError
from bobweight.core.statistics.least_squares import (
    Cancelled,
    covariance,
    difference_jacobian,
    fit_function,
    minimise,
)


def columns(text):
    return np.array(text.split(), float)


def exponential(x, p):
    return p[0] * (1 - np.exp(-p[1] * x))


def power(x, p):
    return p[0] * x ** p[1]


def line(x, p):
    return p[0] + p[1] * x


MISRA1A = (
    columns("77.6 114.9 141.1 190.8 239.9 289.0 332.8 378.4 434.8 477.3 536.8 593.1 689.1 760.0"),
    columns("10.07 14.73 17.94 23.93 29.61 35.18 40.02 44.82 50.76 55.05 61.01 66.40 75.47 81.78"),
)
DANWOOD = (
    columns("1.309 1.471 1.490 1.565 1.611 1.680"),
    columns("2.138 3.421 3.597 4.340 4.882 5.660"),
)


# NIST StRD, nonlinear regression, certified values and standard deviations; NIST's own two starts
# and the certified values themselves.
@pytest.mark.parametrize("start", [(500, 0.0001), (250, 0.0005), (238.9421, 5.5015643e-4)])
def test_misra1a(start):
    fit = fit_function(exponential, *MISRA1A, start)
    assert fit.values == pytest.approx([238.94212918, 5.5015643181e-4], rel=1e-7)
    assert fit.u == pytest.approx([2.7070075241, 7.2668688436e-6], rel=1e-6)
    assert fit.chi2 == pytest.approx(1.2455138894e-01, rel=1e-8)  # from memory of the data set


@pytest.mark.parametrize("start", [(1, 5), (0.7, 4)])
def test_danwood(start):
    fit = fit_function(power, *DANWOOD, start)
    assert fit.values == pytest.approx([0.76886226176, 3.8604055871], rel=1e-8)
    assert fit.u == pytest.approx([0.018281973860, 0.051726610913], rel=1e-6)


def test_norris():
    # NIST StRD, linear regression; data as shipped with scipy. Certified: -0.262323073774029
    # (0.232818234301152), 1.00211681802045 (0.000429796848199937), residual sd 0.884796396144373
    # (from memory of the data set's page).
    from importlib.resources import files

    path = files("scipy.stats") / "tests" / "data" / "nist_linregress" / "Norris.dat"
    if not path.is_file():
        pytest.skip("this scipy is installed without its test data")
    rows = [r.split() for r in path.read_text().splitlines()[60:] if len(r.split()) == 2]
    data = np.array(rows, float)
    fit = fit_function(line, data[:, 1], data[:, 0], (0.1, 1.0))
    assert fit.values == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-7)
    assert fit.u == pytest.approx([0.232818234301152, 0.000429796848199937], rel=1e-7)
    assert fit.scatter == pytest.approx(0.884796396144373, rel=1e-9)


def test_iso_28037_example_1_with_known_uncertainties():
    # ISO/TS 28037:2010, example 1: a 1.867 (0.465), b 1.757 (0.120), cov −0.050, chi2 1.665.
    y = columns("3.3 5.6 7.1 9.3 10.7 12.1")
    fit = fit_function(line, np.arange(1.0, 7.0), y, (1.0, 1.0), u_y=np.full(6, 0.5))
    assert fit.values == pytest.approx([1.867, 1.757], abs=5e-4)
    assert fit.u == pytest.approx([0.465, 0.120], abs=5e-4)
    assert fit.covariance[0, 1] == pytest.approx(-0.050, abs=5e-4)
    assert fit.chi2 == pytest.approx(1.665, abs=5e-4)


def test_york_line_by_orthogonal_residuals():
    # Pearson's data with York's weights (York 1966): a 5.47991022, b −0.480533407, chi2/8 1.4833;
    # standard errors by York 2004: 0.29497, 0.05799 (taken at the adjusted points, so that those
    # of the residuals' own slopes agree to a few percent only).
    x = columns("0 .9 1.8 2.6 3.3 4.4 5.2 6.1 6.5 7.4")
    y = columns("5.9 5.4 4.4 4.6 3.5 3.7 2.8 2.8 2.4 1.5")
    wx = columns("1000 1000 500 800 200 80 60 20 1.8 1")
    wy = columns("1 1.8 4 8 20 20 70 70 100 500")

    def residuals(p, member):
        a, b = p[:, :1], p[:, 1:]
        return (y - a - b * x) / np.sqrt(1 / wy + b**2 / wx)

    found = minimise(residuals, [[5.0, -0.5]], central=True, tolerance=1e-15)
    assert found.x[0] == pytest.approx([5.47991022, -0.480533407], rel=1e-7)
    assert found.cost[0] / 8 == pytest.approx(1.4833, abs=5e-5)
    far = np.full((1, 2), np.inf)
    one = np.zeros(1, int)
    slopes = difference_jacobian(
        residuals, found.x, residuals(found.x, one), -far, far, far > 0, np.ones(2), one, True
    )[0]
    assert np.sqrt(np.diag(covariance(slopes))) == pytest.approx([0.29497, 0.05799], rel=0.05)


def test_bounds_hold_and_the_rest_is_fitted():
    # y = 2 + 3 x with the slope held at most 1: the intercept is then the mean of y − x.
    x = np.arange(5.0)
    y = 2 + 3 * x

    def residuals(p, member):
        return p[:, :1] + p[:, 1:] * x - y

    found = minimise(residuals, [[0.0, 0.5], [9.0, -4.0]], [-np.inf, -5.0], [np.inf, 1.0])
    for at in found.x:
        assert at == pytest.approx([np.mean(y - x), 1.0], rel=1e-6)


def test_members_go_their_own_way_and_held_values_stay():
    # Two wells of (x² − 4)², and a second value that only the second member may move.
    def residuals(p, member):
        return np.stack([p[:, 0] ** 2 - 4, p[:, 1] - 7.0], axis=1)

    found = minimise(residuals, [[1.0, 0.0], [-1.0, 0.0]], free=[[True, False], [True, True]])
    assert found.x[0] == pytest.approx([2.0, 0.0], abs=1e-5)
    assert found.x[1] == pytest.approx([-2.0, 7.0], abs=1e-5)
    assert found.best == 1


def test_cancel_keeps_the_best_so_far():
    calls = []

    def residuals(p, member):
        calls.append(len(p))
        return np.concatenate([p**2 - 2, 10 * (p - 1)], axis=1)

    with pytest.raises(Cancelled) as stopped:
        minimise(residuals, [[50.0]], cancelled=lambda: len(calls) >= 4)
    assert stopped.value.best.cost[0] < residuals(np.array([[50.0]]), None)[0] @ np.ones(2) * 1e4
    with pytest.raises(Cancelled) as at_once:
        minimise(residuals, [[50.0]], cancelled=lambda: True)
    assert at_once.value.best is None


def test_hopeless_members_are_let_be():
    # The second member cannot come near: its own residual of 100 stays.
    def residuals(p, member):
        return np.stack([np.arctan(p[:, 0] - 3.0), 100.0 * member], axis=1)

    both = minimise(residuals, [[2.0], [2.0]])
    one = minimise(residuals, [[2.0], [1e6]], hopeless=50.0, most_steps=30)
    assert both.x[:, 0] == pytest.approx([3.0, 3.0], abs=1e-4)
    assert one.x[0, 0] == pytest.approx(3.0, abs=1e-4)
    assert not abs(one.x[1, 0] - 3.0) < 1e-4


def test_residuals_that_are_not_numbers_are_avoided():
    def residuals(p, member):
        with np.errstate(invalid="ignore"):
            return np.sqrt(p - 1.0) - 0.1

    assert minimise(residuals, [[9.0]]).x[0, 0] == pytest.approx(1.01, abs=1e-4)


def test_problems_are_named():
    with pytest.raises(BobweightError) as few:
        fit_function(line, [1.0, 2.0], [1.0, 2.0], (0.0, 1.0))
    assert few.value.problem.code == "too-few-points"
    with pytest.raises(BobweightError) as idle:
        minimise(lambda p, m: p, [[1.0]], free=False)
    assert idle.value.problem.code == "no-free-values"
    with pytest.raises(BobweightError) as vague:
        covariance(np.array([[1.0, 2.0], [2.0, 4.0], [3.0, 6.0]]))
    assert vague.value.problem.code == "not-determined"
