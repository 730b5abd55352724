"""Bounded nonlinear least squares for many starts, or many models, in step with one another.

The residuals are asked for whole batches: every finite difference of every member, and several
dampings of every step, are one call. That suits residuals whose cost is the call and not its size.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bobweight.core.arrays import Flags, Floats, Indices
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError
from bobweight.core.statistics.robust import median

Residuals = Callable[[Floats, Indices], Floats]
"""Residuals of points x, shape (batch, parameters), each of the member named in ``member``, shape
(batch,): an array of shape (batch, residuals)."""

ResidualsBeside = Callable[[Floats, Indices], Callable[[Floats, Indices], Floats]]
"""From points x and the member of each: a function that answers as :data:`Residuals` for points
right beside them, each told by the row of x that it lies beside."""

_DAMPINGS = np.array([0.03, 0.3, 3.0, 100.0])
_FORWARD, _CENTRAL = 1e-6, 1e-4
_MOST_DAMPING = 1e9
_FEW = 4  # members for whom a call costs more than what is asked for in vain
_HOPE = (np.inf, 4.0, 2.0, 2.0, 1.0)  # how many times as bad as is hopeless may be, step by step


class Cancelled(Exception):
    """The caller asked to stop. ``best`` is the best point so far, or None."""

    def __init__(self, best: Minimum | None = None):
        super().__init__("cancelled")
        self.best = best


@frozen(eq=False)
class Minimum:
    """Where each member came to rest.

    Attributes
    ----------
    x : array, shape (members, parameters)
    cost : array, shape (members,)
        Sum of squared residuals.
    """

    x: NDArray[np.float64]
    cost: NDArray[np.float64]

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
    tolerance: float = 1e-9,
    most_steps: int = 60,
    hopeless: float = np.inf,
    beside: ResidualsBeside | None = None,
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
    tolerance : float
        A member rests when a step lowers its cost by less than this share.
    hopeless : float
        After four steps, members whose cost exceeds the least of all by more are let be; after
        two, those by twice as much, after one, by four times.
    beside : callable, optional
        What slopes of more than a few members are taken by, where that is cheaper.
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
    return _Descent(residuals, starts, low, high, free, beside, cancelled).run(
        tolerance, most_steps, hopeless
    )


class _Descent:
    """One run of :func:`minimise`."""

    def __init__(
        self,
        residuals: Residuals,
        starts: ArrayLike,
        low: ArrayLike,
        high: ArrayLike,
        free: ArrayLike | None,
        beside: ResidualsBeside | None,
        cancelled: Callable[[], bool] | None,
    ) -> None:
        self.x = np.array(np.atleast_2d(starts), dtype=float)
        shape = self.x.shape
        self.low = np.broadcast_to(np.asarray(low, float), shape)
        self.high = np.broadcast_to(np.asarray(high, float), shape)
        self.free = np.broadcast_to(True if free is None else np.asarray(free, bool), shape)
        if not self.free.any():
            raise BobweightError("no-free-values")
        self.x = np.clip(self.x, self.low, self.high)
        # Slopes and steps are kept of what each may move alone, its columns side by side.
        most = int(self.free.sum(axis=1).max())
        self.columns = np.argsort(~self.free, axis=1, kind="stable")[:, :most]
        self.may = np.take_along_axis(self.free, self.columns, axis=1)
        self.place = np.cumsum(self.free, axis=1) - 1
        self.residuals, self.beside_of, self.cancelled = residuals, beside, cancelled
        self.cost = np.full(shape[0], np.inf)
        self.rest = np.zeros(shape[0], bool)

    def ask(self, x: Floats, member: Indices, of: Residuals | None = None) -> Floats:
        if self.cancelled is not None and self.cancelled():
            raise Cancelled(self.minimum() if np.isfinite(self.cost).any() else None)
        found = (of or self.residuals)(x, member)
        return np.where(np.isfinite(found), found, 1e6)

    def minimum(self) -> Minimum:
        return Minimum(self.x, self.cost)

    def run(self, tolerance: float, most_steps: int, hopeless: float) -> Minimum:
        count = len(self.x)
        self.r = self.ask(self.x, np.arange(count))
        self.cost = np.einsum("sm,sm->s", self.r, self.r)
        self.slopes = np.empty((*self.r.shape, self.columns.shape[1]))
        self.known = np.zeros(count, bool)  # whose slopes are up to date
        damping = np.full(count, 1e-2)
        likely = np.zeros(count, int)  # the damping that will probably be best
        left = np.zeros(count, bool)
        for step in range(most_steps):
            left |= self.cost > self.cost.min() + hopeless * _HOPE[min(step, len(_HOPE) - 1)]
            live = np.flatnonzero(~self.rest & ~left)
            if not len(live):
                break
            self._learn_slopes(live[~self.known[live]])
            steps, lams = self._steps(live, damping[live])
            low, high = self.low[live, None], self.high[live, None]
            tries = np.clip(self.x[live, None] + steps, low, high)
            chosen, costs = self._try(live, tries, likely[live])
            rows = np.arange(len(live))
            least = costs[rows, chosen]
            better = least < self.cost[live]
            gain = (self.cost[live] - least) / (self.cost[live] + 1e-300)
            size = np.abs(tries[rows, chosen] - self.x[live]).max(axis=1)
            self._move(live, tries, chosen, costs, better, likely[live])
            likely[live] = np.where(better, chosen, 0)
            damping[live] = np.where(better, np.maximum(lams[rows, chosen], 1e-9), lams[:, -1] * 10)
            still = ~better & ((damping[live] > _MOST_DAMPING) | (size == 0))
            self.rest[live] = (better & (gain < tolerance)) | still | (self.cost[live] < 1e-28)
        return self.minimum()

    def _learn_slopes(self, members: Indices) -> None:
        if len(members):
            x = self.x[members]
            beside = self._beside(x, members)
            # The points themselves again: residuals may hang on their batch in the last digits.
            points = np.concatenate([x, beside.points])
            rows = np.concatenate([np.arange(len(x)), beside.rows])
            if self.beside_of is not None and len(members) > _FEW:
                found = self.ask(points, rows, self.beside_of(x, members))
            else:
                found = self.ask(points, members[rows])
            slopes = beside.slopes(found[len(x) :], found[: len(x)])
            self._take_slopes(members, members[beside.rows], beside.columns, slopes)

    def _take_slopes(
        self, members: Indices, rows: Indices, columns: Indices, slopes: Floats
    ) -> None:  # fmt: skip
        """The slopes of members, told for one of them and one of its columns each, are known."""
        self.slopes[members] = 0.0
        self.slopes[rows, :, self.place[rows, columns]] = slopes
        self.known[members] = True

    def _beside(self, x: Floats, members: Indices) -> _Differences:
        return _Differences(
            x, self.low[members], self.high[members], self.free[members], np.ones(x.shape[1])
        )

    def _try(self, live: Indices, tries: Floats, likely: Indices) -> tuple[Indices, Floats]:
        """The best damping of each live member and the costs of all; of few members in the same
        batch the places that give the slopes at the likely one, which saves a call when it turns
        out the best."""
        flat = tries.reshape(-1, self.x.shape[1])
        ahead = np.arange(len(live) if len(live) <= _FEW else 0)
        self.ahead = self._beside(tries[ahead, likely[ahead]], live[ahead])
        found = self.ask(
            np.concatenate([flat, self.ahead.points]),
            np.concatenate([np.repeat(live, len(_DAMPINGS)), live[self.ahead.rows]]),
        )
        self.found = found[: len(flat)].reshape(len(live), len(_DAMPINGS), -1)
        self.beside = found[len(flat) :]
        costs = np.einsum("sdm,sdm->sd", self.found, self.found)
        return np.argmin(costs, axis=1), costs

    def _move(
        self,
        live: Indices,
        tries: Floats,
        chosen: Indices,
        costs: Floats,
        better: Flags,
        likely: Indices,
    ) -> None:
        """Members that found better go there; what the batch told of slopes is kept."""
        rows = np.arange(len(live))
        moved = live[better]
        self.x[moved] = tries[rows, chosen][better]
        self.r[moved] = self.found[rows, chosen][better]
        self.cost[moved] = costs[rows, chosen][better]
        self.known[moved] = False
        foreseen = better & (chosen == likely) & (len(live) <= _FEW)
        kept = foreseen[self.ahead.rows]
        slopes = self.ahead.slopes(self.beside, self.found[rows, likely])
        self._take_slopes(live[foreseen], live[self.ahead.rows[kept]], self.ahead.columns[kept],
                          slopes[kept])  # fmt: skip

    def _steps(self, live: Indices, damping: Floats) -> tuple[Floats, Floats]:
        """Steps of the live members for each damping: shape (live, dampings, parameters)."""
        steps = np.empty((len(live), len(_DAMPINGS), self.x.shape[1]))
        lams = damping[:, None] * _DAMPINGS
        may = self.may[live].sum(axis=1)
        few = may <= median(may)  # sums grow with the cube of the widest
        for rows in (np.flatnonzero(few), np.flatnonzero(~few)):
            if len(rows):
                steps[rows] = self._solved(live[rows], lams[rows], int(may[rows].max()))
        return steps, lams

    def _solved(self, live: Indices, lams: Floats, width: int) -> Floats:
        """Steps of members of which none may move more than ``width`` parameters."""
        jacobian, columns = self.slopes[live, :, :width], self.columns[live, :width]
        gradient = np.einsum("smp,sm->sp", jacobian, self.r[live])
        x, low, high = (
            np.take_along_axis(each[live], columns, axis=1)
            for each in (self.x, self.low, self.high)
        )
        held = ((x <= low) & (gradient > 0)) | ((x >= high) & (gradient < 0))
        keep = self.may[live, :width] & ~held
        jacobian = jacobian * keep[:, None, :]
        normal = np.swapaxes(jacobian, 1, 2) @ jacobian
        diagonal = np.einsum("spp->sp", normal)
        diagonal = np.where(keep & (diagonal > 0), diagonal, 1.0)
        added = lams[:, :, None] * diagonal[:, None, :] + np.where(keep, 0.0, 1.0)[:, None, :]
        matrix = np.repeat(normal[:, None], len(_DAMPINGS), axis=1)
        index = np.arange(columns.shape[1])
        matrix[:, :, index, index] += added
        right = np.repeat((-gradient * keep)[:, None, :, None], len(_DAMPINGS), axis=1)
        root = np.sqrt(matrix[:, :, index, index])  # scaled, so that the solution keeps its digits
        scaled = matrix / (root[..., :, None] * root[..., None, :])
        steps = np.zeros((*lams.shape, self.x.shape[1]))
        there = np.broadcast_to(columns[:, None], root.shape)
        found = np.linalg.solve(scaled, right / root[..., None])[..., 0] / root
        np.put_along_axis(steps, there, found, axis=2)
        return steps


class _Differences:
    """Places beside points x, one for each free value, and the slopes that they give."""

    def __init__(self, x: Floats, low: Floats, high: Floats, free: Flags, scale: Floats):
        self.rows, self.columns = np.nonzero(free)
        size = _FORWARD * scale[self.columns]
        here = x[self.rows, self.columns]
        over = here + size > high[self.rows, self.columns]
        under = np.maximum(here - size, low[self.rows, self.columns])
        there = np.where(over, under, here + size)
        self.width = np.where(there == here, 1.0, there - here)
        self.points = x[self.rows].copy()
        self.points[np.arange(len(self.rows)), self.columns] = there

    def slopes(self, found: Floats, r: Floats) -> Floats:
        """The slope at each place, shape (places, residuals), from the residuals found there and
        r at x."""
        slopes: Floats = (found - r[self.rows]) / self.width[:, None]
        return slopes


def difference_jacobian(
    residuals: Residuals,
    x: Floats,
    r: Floats,
    low: Floats,
    high: Floats,
    free: Flags,
    scale: Floats,
    member: Indices,
    central: bool = False,
) -> Floats:
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
    jacobian = np.zeros((len(x), r.shape[1], x.shape[1]))
    if not central:
        beside = _Differences(x, low, high, free, scale)
        found = residuals(beside.points, member[beside.rows])
        jacobian[beside.rows, :, beside.columns] = beside.slopes(found, r)
        return jacobian
    rows, columns = np.nonzero(free)
    size = _CENTRAL * scale[columns]
    here = x[rows, columns]
    above = np.minimum(here + size, high[rows, columns])
    below = np.maximum(here - size, low[rows, columns])
    index = np.arange(len(rows))
    points, other = x[rows].copy(), x[rows].copy()
    points[index, columns], other[index, columns] = above, below
    both = residuals(np.concatenate([points, other]), np.tile(member[rows], 2))
    width = np.where(above == below, 1.0, above - below)
    jacobian[rows, :, columns] = (both[: len(rows)] - both[len(rows) :]) / width[:, None]
    return jacobian
