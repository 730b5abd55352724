"""Bounded nonlinear least squares for many starts, or many models, in step with one another.

The residuals are asked for whole batches: every finite difference of every member, and several
dampings of every step, are one call. That suits residuals whose cost is the call and not its size.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.problems import BobweightError

Residuals = Callable[[NDArray, NDArray], NDArray]
"""Residuals of points x, shape (batch, parameters), each of the member named in ``member``, shape
(batch,): an array of shape (batch, residuals)."""

_DAMPINGS = np.array([0.03, 0.3, 3.0, 100.0])
_FORWARD, _CENTRAL = 1e-6, 1e-4
_MOST_DAMPING = 1e9


class Cancelled(Exception):
    """The caller asked to stop. ``best`` is the best point so far, or None."""

    def __init__(self, best: Minimum | None = None):
        super().__init__("cancelled")
        self.best = best


@dataclass(frozen=True, eq=False)
class Minimum:
    """Where each member came to rest.

    Attributes
    ----------
    x : array, shape (members, parameters)
    cost : array, shape (members,)
        Sum of squared residuals.
    converged : bool array, shape (members,)
    calls, points : int
        Batches asked for, and points in them.
    """

    x: NDArray[np.float64]
    cost: NDArray[np.float64]
    converged: NDArray[np.bool_]
    calls: int
    points: int

    @property
    def best(self) -> int:
        """The member of least cost."""
        return int(np.argmin(self.cost))


def minimise(
    residuals: Residuals,
    starts: ArrayLike,
    low: ArrayLike = -np.inf,
    high: ArrayLike = np.inf,
    *,
    free: ArrayLike | None = None,
    scale: ArrayLike = 1.0,
    tolerance: float = 1e-9,
    most_steps: int = 60,
    central: bool = False,
    cancelled: Callable[[], bool] | None = None,
) -> Minimum:
    """The least sum of squares reached from each start, by Levenberg and Marquardt's method.

    Parameters
    ----------
    residuals : callable
        See :data:`Residuals`. Values that are not finite count as very large.
    starts : array_like, shape (members, parameters)
    low, high : array_like, broadcastable to (members, parameters)
        Bounds; a start outside is moved onto them.
    free : bool array, broadcastable to (members, parameters), optional
        Which parameters each member may move. All by default.
    scale : array_like, shape (parameters,)
        Size of a change that matters, for the steps of the differences.
    tolerance : float
        A member rests when a step lowers its cost by less than this share.
    central : bool
        Central differences throughout, for the last digits.
    cancelled : callable, optional
        Polled before every batch.

    Raises
    ------
    Cancelled
        With the best so far.
    BobweightError
        ``no-free-values`` if nothing may move.

    Notes
    -----
    Marquardt, J. SIAM 11 (1963) 431, the damping chosen from several tried at once. A parameter at
    a bound whose gradient points outwards is held for the step.
    """
    return _Descent(residuals, starts, low, high, free, scale, central, cancelled).run(
        tolerance, most_steps
    )


class _Descent:
    """One run of :func:`minimise`."""

    def __init__(self, residuals, starts, low, high, free, scale, central, cancelled):
        self.x = np.array(np.atleast_2d(starts), dtype=float)
        shape = self.x.shape
        self.low = np.broadcast_to(np.asarray(low, float), shape)
        self.high = np.broadcast_to(np.asarray(high, float), shape)
        self.free = np.broadcast_to(True if free is None else np.asarray(free, bool), shape)
        if not self.free.any():
            raise BobweightError("no-free-values")
        self.x = np.clip(self.x, self.low, self.high)
        self.scale = np.broadcast_to(np.asarray(scale, float), shape[1:])
        self.residuals, self.central, self.cancelled = residuals, central, cancelled
        self.calls = self.points = 0
        self.cost = np.full(shape[0], np.inf)
        self.rest = np.zeros(shape[0], bool)

    def ask(self, x: NDArray, member: NDArray) -> NDArray:
        if self.cancelled is not None and self.cancelled():
            raise Cancelled(self.minimum() if np.isfinite(self.cost).any() else None)
        self.calls += 1
        self.points += len(x)
        found = self.residuals(x, member)
        return np.where(np.isfinite(found), found, 1e6)

    def minimum(self) -> Minimum:
        return Minimum(self.x, self.cost, self.rest, self.calls, self.points)

    def run(self, tolerance: float, most_steps: int) -> Minimum:
        members = np.arange(len(self.x))
        r = self.ask(self.x, members)
        self.cost = np.einsum("sm,sm->s", r, r)
        damping = np.full(len(self.x), 1e-2)
        for _ in range(most_steps):
            live = np.flatnonzero(~self.rest)
            if not len(live):
                break
            steps, lams = self._steps(live, r[live], damping[live])
            tries = np.clip(
                self.x[live, None, :] + steps, self.low[live, None], self.high[live, None]
            )
            flat = tries.reshape(-1, self.x.shape[1])
            found = self.ask(flat, np.repeat(live, len(_DAMPINGS)))
            costs = np.einsum("sm,sm->s", found, found).reshape(len(live), -1)
            chosen = np.argmin(costs, axis=1)
            rows = np.arange(len(live))
            least = costs[rows, chosen]
            better = least < self.cost[live]
            gain = (self.cost[live] - least) / (self.cost[live] + 1e-300)
            moved = live[better]
            self.x[moved] = tries[rows, chosen][better]
            r[moved] = found.reshape(len(live), len(_DAMPINGS), -1)[rows, chosen][better]
            self.cost[moved] = least[better]
            damping[live] = np.where(better, np.maximum(lams[rows, chosen], 1e-9), lams[:, -1] * 10)
            size = np.abs(tries[rows, chosen] - self.x[live]).max(axis=1)
            still = ~better & ((damping[live] > _MOST_DAMPING) | (size == 0))
            self.rest[live] = (better & (gain < tolerance)) | still | (self.cost[live] < 1e-28)
        return self.minimum()

    def _steps(self, live: NDArray, r: NDArray, damping: NDArray) -> tuple[NDArray, NDArray]:
        """Steps of the live members for each damping: shape (live, dampings, parameters)."""
        jacobian = self.jacobian(live, r)
        gradient = np.einsum("smp,sm->sp", jacobian, r)
        x = self.x[live]
        held = ((x <= self.low[live]) & (gradient > 0)) | ((x >= self.high[live]) & (gradient < 0))
        keep = self.free[live] & ~held
        jacobian = jacobian * keep[:, None, :]
        normal = np.swapaxes(jacobian, 1, 2) @ jacobian
        diagonal = np.einsum("spp->sp", normal)
        diagonal = np.where(keep & (diagonal > 0), diagonal, 1.0)
        lams = damping[:, None] * _DAMPINGS
        added = lams[:, :, None] * diagonal[:, None, :] + np.where(keep, 0.0, 1.0)[:, None, :]
        matrix = np.repeat(normal[:, None], len(_DAMPINGS), axis=1)
        index = np.arange(x.shape[1])
        matrix[:, :, index, index] += added
        right = np.repeat((-gradient * keep)[:, None, :, None], len(_DAMPINGS), axis=1)
        root = np.sqrt(matrix[:, :, index, index])  # scaled, so that the solution keeps its digits
        scaled = matrix / (root[..., :, None] * root[..., None, :])
        steps = np.linalg.solve(scaled, right / root[..., None])[..., 0] / root
        return steps, lams

    def jacobian(self, live: NDArray, r: NDArray) -> NDArray:
        """Slopes of the residuals of the live members, shape (live, residuals, parameters)."""
        ask = self.ask
        return difference_jacobian(
            ask, self.x[live], r, self.low[live], self.high[live],
            self.free[live], self.scale, live, self.central,
        )  # fmt: skip


def difference_jacobian(
    residuals: Residuals,
    x: NDArray,
    r: NDArray,
    low: NDArray,
    high: NDArray,
    free: NDArray,
    scale: NDArray,
    member: NDArray,
    central: bool = False,
) -> NDArray:
    """Slopes of the residuals at points x by finite differences, in one batch.

    Parameters
    ----------
    x, low, high, free : arrays, shape (members, parameters)
    r : array, shape (members, residuals)
        Residuals at x.
    scale : array, shape (parameters,)
    member : int array, shape (members,)
    central : bool
        Central differences, one-sided at a bound.

    Returns
    -------
    array, shape (members, residuals, parameters)
    """
    rows, columns = np.nonzero(free)
    size = (_CENTRAL if central else _FORWARD) * scale[columns]
    here = x[rows, columns]
    above = np.minimum(here + size, high[rows, columns])
    below = np.maximum(here - size, low[rows, columns])
    if not central:
        above = np.where(here + size <= high[rows, columns], above, below)
    points = x[rows].copy()
    index = np.arange(len(rows))
    points[index, columns] = above
    if central:
        other = x[rows].copy()
        other[index, columns] = below
        both = residuals(np.concatenate([points, other]), np.tile(member[rows], 2))
        change = both[: len(rows)] - both[len(rows) :]
        width = above - below
    else:
        change = residuals(points, member[rows]) - r[rows]
        width = above - here
    slopes = change / np.where(width == 0, 1.0, width)[:, None]
    jacobian = np.zeros((len(x), r.shape[1], x.shape[1]))
    jacobian[rows, :, columns] = slopes
    return jacobian


def covariance(jacobian: NDArray) -> NDArray:
    """Covariance of the parameters, (JᵀJ)⁻¹, for residuals in units of their uncertainty.

    Parameters
    ----------
    jacobian : array, shape (residuals, parameters)

    Raises
    ------
    BobweightError
        ``not-determined`` if the columns do not determine every parameter.
    """
    norm = np.linalg.norm(jacobian, axis=0)
    if np.any(norm == 0):
        raise BobweightError("not-determined", (), count=int(np.sum(norm == 0)))
    _, singular, right = np.linalg.svd(jacobian / norm, full_matrices=False)
    if len(singular) < len(norm) or singular[-1] < 1e-12 * singular[0]:
        raise BobweightError("not-determined", (), count=1)
    root = (right.T / singular) / norm[:, None]
    return root @ root.T


@dataclass(frozen=True, eq=False)
class CurveFit:
    """Parameters of a curve y = f(x) by least squares, with standard uncertainties.

    ``scatter`` is √(chi2/dof); ``u`` includes it where the uncertainties were not known.
    """

    values: NDArray[np.float64]
    u: NDArray[np.float64]
    covariance: NDArray[np.float64]
    chi2: float
    dof: int
    scatter: float


def fit_function(
    function: Callable[[NDArray, NDArray], NDArray],
    x: ArrayLike,
    y: ArrayLike,
    start: ArrayLike,
    u_y: ArrayLike | None = None,
) -> CurveFit:
    """A curve fitted to points by least squares: values and standard uncertainties.

    Parameters
    ----------
    function : callable
        ``function(x, p)`` with p of shape (parameters, batch, 1) gives values of shape
        (batch, points).
    x, y : array_like, shape (points,)
    start : array_like, shape (parameters,)
        Not zero where a size matters.
    u_y : array_like, optional
        Known standard uncertainties; without them the scatter gives one for all.

    Raises
    ------
    BobweightError
        ``too-few-points``, or ``not-determined``.
    """
    x, y, start = (np.asarray(a, float) for a in (x, y, start))
    if len(x) <= len(start):
        raise BobweightError("too-few-points", (), given=len(x), needed=len(start) + 1)
    weight = 1.0 if u_y is None else 1.0 / np.asarray(u_y, float)

    def residuals(p: NDArray, member: NDArray) -> NDArray:
        return (function(x, p.T[:, :, None]) - y) * weight

    found = minimise(
        residuals, start, scale=np.maximum(np.abs(start), 1e-12), central=True, tolerance=1e-16,
        most_steps=300,
    )  # fmt: skip
    at, one = found.x, np.zeros(1, int)
    far = np.full_like(at, np.inf)
    slopes = difference_jacobian(
        residuals, at, residuals(at, one), -far, far, far > 0, np.abs(at[0]), one, central=True
    )[0]
    dof = len(x) - len(start)
    chi2 = float(found.cost[0])
    scatter = float(np.sqrt(chi2 / dof))
    matrix = covariance(slopes) * (scatter**2 if u_y is None else 1.0)
    return CurveFit(at[0], np.sqrt(np.diag(matrix)), matrix, chi2, dof, scatter)
