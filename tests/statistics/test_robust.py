"""Repeats and local lines: closed forms, and coverage by simulation."""

import numpy as np
import pytest
from scipy import integrate, optimize, stats

from bobweight.core.problems import BobweightError
from bobweight.core.statistics.lines import weighted_line
from bobweight.core.statistics.robust import (
    _STUDENT_CHI2,
    local_line,
    mean_of_repeats,
    median,
    student_weights,
)


def efficiency(weights):
    """Of the location estimate with ψ = w z on normal data: E[ψ']² / E[ψ²]."""

    def mean(f):
        return integrate.quad(lambda z: f(z) * stats.norm.pdf(z), -12, 12, limit=400)[0]

    # E[ψ'] = E[z ψ] for the normal law (Stein).
    return mean(lambda z: weights(z) * z * z) ** 2 / mean(lambda z: (weights(z) * z) ** 2)


def test_student_weights():
    assert student_weights([0.0, 1.0, 4.0]) == pytest.approx([1.25, 1.0, 0.25])
    assert efficiency(student_weights) > 0.9


def test_the_expected_chi2_of_student_weights():
    def mean(f):
        return integrate.quad(lambda z: f(z) * stats.norm.pdf(z), -12, 12)[0]

    share = mean(lambda z: student_weights(z) * z * z) / mean(student_weights)
    assert share == pytest.approx(_STUDENT_CHI2, abs=1e-4)


def test_agreeing_repeats_are_a_weighted_mean():
    y, u = np.array([10.1, 9.9, 10.0]), np.array([0.2, 0.3, 0.2])
    w = u**-2.0
    assert mean_of_repeats(y, u) == pytest.approx((np.sum(w * y) / w.sum(), w.sum() ** -0.5))


def test_scattered_repeats_have_a_spread_between_them():
    # Equal stated u: the variance added is s² − u², and u(mean) becomes s/√n (closed form).
    y = np.array([8.0, 10.5, 9.0, 12.0])
    assert mean_of_repeats(y, 0.5) == pytest.approx((y.mean(), y.std(ddof=1) / 2))


def test_unequal_repeats_satisfy_paule_and_mandel():
    y, u = np.array([8.0, 10.5, 9.0, 12.0, 9.5]), np.array([0.2, 0.5, 0.3, 1.0, 0.4])
    mean, u_mean = mean_of_repeats(y, u)

    def of_weights(between):
        return np.sum(1 / (u**2 + between)) ** -0.5 - u_mean

    w = 1 / (u**2 + optimize.brentq(of_weights, 0.0, 100.0))  # the variance between, by u alone
    assert np.sum(w * (y - mean) ** 2) == pytest.approx(4)


def test_one_repeat_is_itself():
    assert mean_of_repeats(7.5, 0.3) == (7.5, pytest.approx(0.3))


@pytest.mark.parametrize(("code", "y", "u"), [
    ("too-few-points", [], 1), ("unequal-columns", [1, 2, 3], [1, 2]),
    ("not-finite", [1, np.nan], 1), ("uncertainty-not-positive", [1, 2], 0),
])  # fmt: skip
def test_bad_repeats_are_refused(code, y, u):
    with pytest.raises(BobweightError) as caught:
        mean_of_repeats(y, u)
    assert caught.value.problem.code == code


X = np.arange(500, 3200, 300.0)
AT = np.array([800, 1100, 1520, 1900, 2300, 2700.0])


def straight(x):
    return 3 + 0.005 * x


def bent(x):  # the shape of an advance curve without its corners
    return 12 / (1 + np.exp(-(x - 1300) / 400))


def test_exact_straight_readings_are_reproduced():
    e = local_line(X, straight(X), 10, 0.4, AT)
    assert e.y == pytest.approx(straight(AT))
    assert e.slope == pytest.approx(0.005)
    assert e.inflation == pytest.approx(1)


def test_a_wide_window_is_the_weighted_line():
    """With all readings within a far wider window both are the same straight line."""
    rng = np.random.default_rng(2)
    y = straight(X) + rng.normal(0, 0.1, X.size)
    e = local_line(X, y, 0, 0.4, 1700.0, places=X.size)
    line = weighted_line(X, y, 0.4)
    assert float(e.y) == pytest.approx(float(line.y_at(1700.0)[0]), abs=0.05)
    assert float(e.u) == pytest.approx(float(line.y_at(1700.0)[1]), rel=0.25)


def coverage(curve, x, *, runs=400, u_x=10.0, u_y=0.4, slip=0.0, worse=1.0):
    """Share of 95 % intervals that hold the truth, and the root mean square error."""
    rng = np.random.default_rng(13)
    hits, square = 0, 0.0
    for _ in range(runs):
        y = curve(x) + rng.normal(0, u_y * worse, x.size)
        if slip:
            y[rng.integers(x.size)] += slip * rng.choice([-1, 1])
        e = local_line(x + rng.normal(0, u_x * worse, x.size), y, u_x, u_y, AT)
        hits += np.count_nonzero(np.abs(e.y - curve(AT)) <= 1.96 * e.u)
        square += np.sum((e.y - curve(AT)) ** 2)
    return hits / (runs * AT.size), np.sqrt(square / (runs * AT.size))


# 400 runs at 6 places; places far apart share no readings, near ones do, so the band is taken for
# the 400 independent runs, not for 2400: 99.9 % of a binomial about 0.95.
LOW = stats.binom.ppf(0.0005, 400, 0.95) / 400


@pytest.mark.slow
@pytest.mark.parametrize("curve", [straight, bent])
@pytest.mark.parametrize("x", [X, np.repeat(X, 3), np.repeat(np.arange(500, 3200, 150.0), 2)])
def test_intervals_cover_the_truth(curve, x):
    share, _ = coverage(curve, x)
    # Uncertainties are raised where the scatter exceeds them, never lowered: more is right too.
    assert LOW <= share <= 0.985


@pytest.mark.slow
@pytest.mark.parametrize("x", [np.repeat(X, 3), np.repeat(np.arange(500, 3200, 150.0), 2)])
def test_one_slip_among_repeats_upsets_nothing(x):
    """A slip of 4 degrees, ten times the stated uncertainty."""
    share, error = coverage(straight, x, slip=4.0)
    _, clean = coverage(straight, x)
    assert share >= LOW
    assert error < 1.8 * clean


def test_one_slip_among_single_readings_is_covered():
    share, _ = coverage(straight, X, slip=4.0)
    assert share >= 0.90


def test_understated_uncertainties_are_made_good_in_part():
    """True scatter 2.5 × what is stated. Without inflation a 95 % interval would hold 57 %; from
    windows of a few readings it cannot be made good wholly."""
    share, _ = coverage(straight, np.repeat(X, 3), worse=2.5)
    assert 2 * stats.norm.cdf(1.96 / 2.5) - 1 == pytest.approx(0.567, abs=0.001)
    assert share >= 0.80


def test_uncertainty_of_x_counts_by_the_slope():
    flat = local_line(X, np.full(X.size, 5.0), 50, 0.1, 1700.0)
    none = local_line(X, np.full(X.size, 5.0), 0, 0.1, 1700.0)
    assert float(flat.u) == pytest.approx(float(none.u))
    steep = local_line(X, 0.02 * X, 50, 0.1, 1700.0)
    exact = local_line(X, 0.02 * X, 0, 0.1, 1700.0)
    assert float(steep.u / exact.u) == pytest.approx(np.hypot(0.1, 1.0) / 0.1, rel=0.01)


def test_no_extrapolation():
    at = np.array([400, 430, 500, 2900, 2970, 3000.0])
    e = local_line(X, straight(X), 1, 0.4, at)  # readings 500…2900, 300 apart, reach ¼ of that
    assert np.isnan(e.y).tolist() == [True, False, False, False, False, True]
    assert np.isnan(e.u).tolist() == np.isnan(e.y).tolist()
    assert e.used[0] == 0
    assert np.isnan(local_line(X, straight(X), 1, 0.4, 2970, reach=0.1).y)


def test_the_nearest_on_both_sides_have_part():
    x = np.array([1000, 1010, 1020, 1030, 2000.0])
    e = local_line(x, straight(x), 0.5, 0.4, 1500.0)
    assert int(e.used) == 5


def test_repeats_at_one_place_do_not_make_a_slope():
    x = np.array([990, 1000, 1010, 1500, 2000.0])
    y = np.array([9.0, 8.0, 7.0, 10.5, 13.0])
    e = local_line(x, y, 10, 0.5, 1000.0)
    assert float(e.slope) > 0  # the three alone would fall by 0.1 a step


@pytest.mark.parametrize("x", [[1000, 2000], [1000, 1005, 1010, 1001]])
def test_too_little_gives_no_estimate(x):
    e = local_line(x, np.ones(len(x)), 10, 0.4, [1000.0, 1500.0])
    assert np.isnan(e.y).all()
    assert np.isnan(e.u).all()


def test_shape_follows_the_question():
    assert local_line(X, straight(X), 10, 0.4, 1000.0).y.shape == ()
    assert local_line(X, straight(X), 10, 0.4, np.full((2, 3), 1000.0)).u.shape == (2, 3)
    assert local_line(X, straight(X), 10, 0.4, []).y.shape == (0,)


@pytest.mark.parametrize(("code", "arguments"), [
    ("unequal-columns", ([1, 2, 3], [1, 2], 1, 1, 1)),
    ("not-finite", ([1, 2, np.nan], [1, 2, 3], 1, 1, 1)),
    ("uncertainty-not-positive", ([1, 2, 3], [1, 2, 3], 1, 0, 1)),
    ("uncertainty-not-positive", ([1, 2, 3], [1, 2, 3], -1, 1, 1)),
])  # fmt: skip
def test_bad_readings_are_refused(code, arguments):
    with pytest.raises(BobweightError) as caught:
        local_line(*arguments)
    assert caught.value.problem.code == code


def test_the_window_holds_four_readings_where_three_places_would_do():
    x = np.array([0.0, 10.0, 20.0, 100.0, 400.0, 900.0])
    assert local_line(x, straight(x), 0, 0.4, 10.0).used == 4


def test_the_smallest_window_and_the_fewest_readings():
    two = local_line(X, straight(X), 10, 0.4, AT, places=2, fewest=3)
    assert two.y == pytest.approx(straight(AT))
    assert local_line(X[:3], straight(X[:3]), 10, 0.4, 800.0).y == pytest.approx(straight(800.0))


def slow_local_line(x, y, u_x, u_y, at, width):
    """Value, slope and uncertainty of one local line as the literature writes it, by polyfit and
    whole matrices: tricube weights (Cleveland 1979) times Student's of four degrees, the scale by
    the median absolute deviation (1.4826: of a normal law), from least absolute deviations."""
    d = x - at
    tricube = np.clip(1 - (np.abs(d) / (1.15 * width)) ** 3, 0, None) ** 3
    inside = tricube > 0
    d, y, tricube = d[inside], y[inside], tricube[inside]
    design = np.column_stack([np.ones(d.size), d])
    rho, variance = np.ones(d.size), np.full(d.size, u_y**2)
    for step in range(24):
        w = tricube * rho / variance
        slope, value = np.polyfit(d, y, 1, w=np.sqrt(w))
        inverse = np.linalg.inv(design.T @ (w[:, None] * design))
        variance = u_y**2 + max(slope**2 - inverse[1, 1], 0) * np.full(d.size, u_x**2)
        z = (y - value - slope * d) / np.sqrt(variance)
        if step < 8:
            rho = 1 / np.maximum(np.abs(z), 0.05)
        else:
            scale = max(1.0, np.median(np.abs(z)) / stats.norm.ppf(0.75))
            rho = 5 / (4 + (z / scale) ** 2)
    weight = tricube * rho
    w = weight / variance
    slope, value = np.polyfit(d, y, 1, w=np.sqrt(w))
    take = np.linalg.inv(design.T @ (w[:, None] * design)) @ design.T * w  # value, slope of y
    u = np.sqrt(take[0] ** 2 @ variance)
    left = np.eye(d.size) - design @ take  # residuals of y
    expected = weight / variance @ (left**2 @ variance)  # of the weighted sum of squares
    chi2 = weight / variance @ (y - value - slope * d) ** 2
    factor = np.sqrt(max(1.0, chi2 / (_STUDENT_CHI2 * expected)))
    return value, slope, u * factor, factor


@pytest.mark.parametrize("scatter", [0.1, 0.4, 2.0])
def test_the_local_line_is_that_of_the_literature(scatter):
    rng = np.random.default_rng(6)
    x = np.sort(rng.uniform(500, 3200, 30))
    y = bent(x) + rng.normal(0, scatter, x.size)
    y[11] += 5.0
    e = local_line(x, y, 20.0, 0.4, AT, fewest=9)
    for k, at in enumerate(AT):
        value, slope, u, factor = slow_local_line(
            x, y, 20.0, 0.4, at, np.sort(np.abs(x - at))[8]
        )  # fmt: skip
        found = e.y[k], e.slope[k], e.u[k], e.inflation[k]
        assert found == pytest.approx((value, slope, u, factor), rel=1e-5)
    assert e.inflation.max() > 1.0


def test_the_median_is_that_of_numpy():
    rng = np.random.default_rng(3)
    for count in (1, 2, 7, 8):
        values = rng.normal(size=(5, count))
        values[1, 0], values[2, -1] = np.nan, np.inf
        np.testing.assert_array_equal(median(values), np.median(values, axis=-1))
        assert median(values[0].tolist()) == np.median(values[0])
