"""Many small linear programs at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_ITERATIONS = 25
_SHARE_OF_STEP = 0.995  # of the way to the nearest bound, so that slacks stay positive


def solve_many(
    cost: NDArray, rows: NDArray, limits: NDArray, start: NDArray, gap: float = 1e-7
) -> NDArray[np.float64]:
    """Minimiser of cost · x under rows · x ≤ limits, for every problem of a batch.

    Parameters
    ----------
    cost : ndarray, shape (n,)
    rows : ndarray, shape (problems, m, n)
    limits : ndarray, shape (problems, m)
    start : ndarray, shape (problems, n)
        Any point; the closer to the limits' inside the better.
    gap : float
        Ends when no problem's mean complementarity exceeds it. Costs and limits should be of the
        order of one.

    Notes
    -----
    Primal-dual interior point with Mehrotra's predictor and corrector: Nocedal and Wright,
    Numerical Optimization, 2nd ed., section 14.2, written for inequalities alone.
    """
    x = start.copy()
    lying = rows.transpose(0, 2, 1)
    slack = np.maximum(limits - _times(rows, x), 1e-2)
    price = np.full_like(slack, 1.0 / slack.shape[1])
    tiny = 1e-13 * np.eye(x.shape[1])
    for _ in range(_ITERATIONS):
        lacking = _times(rows, x) + slack - limits
        unbalanced = cost + _times(lying, price)
        mean = np.mean(slack * price, axis=1, keepdims=True)
        if mean.max() < gap and np.abs(lacking).max() < 1e-6:
            break
        weight = price / slack
        matrix = lying @ (weight[..., None] * rows)
        inverse = np.linalg.inv(matrix + tiny * np.trace(matrix, axis1=1, axis2=2)[:, None, None])

        def step(
            products: NDArray,
            weight: NDArray = weight,
            inverse: NDArray = inverse,
            lacking: NDArray = lacking,
            unbalanced: NDArray = unbalanced,
            slack: NDArray = slack,
        ) -> tuple[NDArray, NDArray, NDArray]:
            known = weight * lacking - products / slack
            dx = -_times(inverse, unbalanced + _times(lying, known))
            ahead = _times(rows, dx)
            return dx, -lacking - ahead, known + weight * ahead

        _, d_slack, d_price = step(slack * price)
        reach = _reach(slack, d_slack), _reach(price, d_price)
        after = np.mean(
            (slack + reach[0] * d_slack) * (price + reach[1] * d_price), axis=1, keepdims=True
        )
        centre = mean * np.clip(after / np.maximum(mean, 1e-300), 0.0, 1.0) ** 3
        dx, d_slack, d_price = step(slack * price + d_slack * d_price - centre)
        near, dual = _reach(slack, d_slack), _reach(price, d_price)
        x = x + _SHARE_OF_STEP * near * dx
        slack = np.maximum(slack + _SHARE_OF_STEP * near * d_slack, 1e-300)
        price = np.maximum(price + _SHARE_OF_STEP * dual * d_price, 1e-300)
    return x


def _times(matrices: NDArray, vectors: NDArray) -> NDArray:
    return (matrices @ vectors[..., None])[..., 0]


def _reach(values: NDArray, changes: NDArray) -> NDArray:
    """How far along the changes, at most 1, all values of a problem stay positive."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = np.where(changes < 0, -values / changes, np.inf)
    return np.minimum(ends.min(axis=1, keepdims=True), 1.0)
