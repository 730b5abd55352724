"""The descent by itself. Certified regression data are in ``tests/judgement/test_certified.py``, by
the route that the product's own uncertainties come from."""

import numpy as np
import pytest

from bobweight.core.problems import BobweightError
from bobweight.core.statistics.least_squares import (
    Cancelled,
    minimise,
)


def columns(text):
    return np.array(text.split(), float)


def test_york_line_by_orthogonal_residuals():
    # Pearson's data with York's weights (York 1966): a 5.47991022, b −0.480533407, chi2/8 1.4833.
    x = columns("0 .9 1.8 2.6 3.3 4.4 5.2 6.1 6.5 7.4")
    y = columns("5.9 5.4 4.4 4.6 3.5 3.7 2.8 2.8 2.4 1.5")
    wx = columns("1000 1000 500 800 200 80 60 20 1.8 1")
    wy = columns("1 1.8 4 8 20 20 70 70 100 500")

    def residuals(p, member):
        a, b = p[:, :1], p[:, 1:]
        return (y - a - b * x) / np.sqrt(1 / wy + b**2 / wx)

    found = minimise(residuals, [[5.0, -0.5]], tolerance=1e-15)
    assert found.x[0] == pytest.approx([5.47991022, -0.480533407], rel=1e-7)
    assert found.cost[0] / 8 == pytest.approx(1.4833, abs=5e-5)


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


def test_nothing_free_is_named():
    with pytest.raises(BobweightError) as idle:
        minimise(lambda p, m: p, [[1.0]], free=False)
    assert idle.value.problem.code == "no-free-values"


def test_residuals_that_hang_on_their_batch_in_the_last_digits_give_sure_slopes():
    """The least of (x − 3)² + (y + 1)² by hand; each batch is off by a little of its own."""

    def residuals(p, member):
        return p - [3.0, -1.0] + 1e-4 * (len(p) % 7)

    starts = [[50.0 - 8.0 * k, 9.0 + k] for k in range(5)]  # more than are few
    found = minimise(residuals, starts, most_steps=6)
    assert found.x == pytest.approx(np.tile([3.0, -1.0], (5, 1)), abs=1e-3)


def test_slopes_may_be_taken_of_something_cheaper_that_is_alike_beside_a_point():
    """Rosenbrock's valley (1960), least at (1, 1), its slopes by calculus."""

    def residuals(p, member):
        return np.stack([10.0 * (p[:, 1] - p[:, 0] ** 2), 1.0 - p[:, 0]], axis=1)

    def beside(x, member):
        slopes = np.zeros((len(x), 2, 2))
        slopes[:, 0, 0], slopes[:, 0, 1], slopes[:, 1, 0] = -20.0 * x[:, 0], 10.0, -1.0
        return lambda points, rows: np.einsum("prc,pc->pr", slopes[rows], points - x[rows])

    starts = [[-1.2, 1.0 + k] for k in range(6)]  # more than are few
    found = minimise(residuals, starts, beside=beside, tolerance=1e-14)
    assert found.x == pytest.approx(np.ones((6, 2)), abs=1e-6)
