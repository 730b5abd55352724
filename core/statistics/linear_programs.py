"""Many small linear programs at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bobweight.core.arrays import Floats

_ITERATIONS = 25
_SHARE_OF_STEP = 0.995  # of the way to the nearest bound, so that slacks stay positive


def solve_many(
    cost: Floats, rows: Floats, limits: Floats, start: Floats, gap: float = 1e-7
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
    answer = start.copy()
    slack = np.maximum(limits - _times(rows, start), 1e-2)
    price = np.full_like(slack, 1.0 / slack.shape[1])
    tiny = 1e-13 * np.eye(start.shape[1])
    # Problems that are solved drop out; further steps would only wear their digits down.
    at, x = np.arange(len(start)), start
    for _ in range(_ITERATIONS):
        lying = rows.transpose(0, 2, 1)
        lacking = _times(rows, x) + slack - limits
        unbalanced = cost + _times(lying, price)
        mean = np.mean(slack * price, axis=1, keepdims=True)
        going = (mean[:, 0] >= gap) | (np.abs(lacking).max(axis=1) >= 1e-6)
        if not going.all():
            at, x, slack, price, rows, limits = (
                values[going] for values in (at, x, slack, price, rows, limits)
            )
            lying, lacking, unbalanced, mean = (
                values[going] for values in (lying, lacking, unbalanced, mean)
            )
        if not len(at):
            break
        weight = price / slack
        matrix = lying @ (weight[..., None] * rows)
        inverse = np.linalg.inv(matrix + tiny * np.trace(matrix, axis1=1, axis2=2)[:, None, None])
        frame = rows, lying, inverse, weight, lacking, unbalanced, slack
        _, d_slack, d_price = _newton(*frame, slack * price)
        reach = _reach(slack, d_slack), _reach(price, d_price)
        after = np.mean(
            (slack + reach[0] * d_slack) * (price + reach[1] * d_price), axis=1, keepdims=True
        )
        centre = mean * np.clip(after / mean, 0.0, 1.0) ** 3
        dx, d_slack, d_price = _newton(*frame, slack * price + d_slack * d_price - centre)
        near, dual = _reach(slack, d_slack), _reach(price, d_price)
        x = x + _SHARE_OF_STEP * near * dx
        slack = slack + _SHARE_OF_STEP * near * d_slack
        price = price + _SHARE_OF_STEP * dual * d_price
        answer[at] = x
    return answer


def _newton(
    rows: Floats,
    lying: Floats,
    inverse: Floats,
    weight: Floats,
    lacking: Floats,
    unbalanced: Floats,
    slack: Floats,
    products: Floats,
) -> tuple[Floats, Floats, Floats]:
    """Steps of x, slack and price that would make the products of the last two vanish."""
    known = weight * lacking - products / slack
    dx = -_times(inverse, unbalanced + _times(lying, known))
    ahead = _times(rows, dx)
    return dx, -lacking - ahead, known + weight * ahead


def _times(matrices: Floats, vectors: Floats) -> Floats:
    return (matrices @ vectors[..., None])[..., 0]


def _reach(values: Floats, changes: Floats) -> Floats:
    """How far along the changes, at most 1, all values of a problem stay positive."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = np.where(changes < 0, -values / changes, np.inf)
    found: Floats = np.minimum(ends.min(axis=1, keepdims=True), 1.0)
    return found
