"""From the balance speeds to the curve a tester sees: rising, falling, jumps, plateaux.

Rising, the weights stand at the largest θ whose running maximum of speed is not above the speed;
falling, at the smallest θ whose running minimum from the stop is not below it. Where the running
maximum (minimum) is flat the weights are not stable and the advance jumps; where the speed steps
up at one θ the advance stands still: a plateau.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from bobweight.core.mechanics.balance import Speeds


class Curves(NamedTuple):
    """The rising and falling curve of each build, as monotone polylines.

    Attributes
    ----------
    advance_deg : array, shape (builds, knots)
        Advance at the distributor, never falling along the knots.
    rising_rpm, falling_rpm : array, shape (builds, knots)
        Distributor speed at which each advance is reached; never falling along the knots.
    """

    advance_deg: np.ndarray
    rising_rpm: np.ndarray
    falling_rpm: np.ndarray

    def at(self, speed_rpm: np.ndarray, direction: str = "rising") -> np.ndarray:
        """Advance in degrees at speeds, shape (builds, speeds); between the knots the square of
        speed, which is torque over pull, is taken as straight.

        Parameters
        ----------
        speed_rpm : array, shape (speeds,) or (builds, speeds)
        direction : {'rising', 'falling'}
        """
        table = self.rising_rpm if direction == "rising" else self.falling_rpm
        speed = np.array(speed_rpm, dtype=float, ndmin=2, copy=None)
        rising = direction == "rising"
        count = len(table)
        if len(speed) != count:
            speed = np.broadcast_to(speed, (count, speed.shape[-1]))
        if speed.shape[1] >= _FEW_SPEEDS or count == 1:
            return _by_rows(self.advance_deg, table, speed, rising)
        return _by_halves(self.advance_deg, table, speed, rising)


_FEW_SPEEDS = 24  # so few are read for all builds together, more are read build by build


def _by_rows(theta: np.ndarray, table: np.ndarray, speed: np.ndarray, rising: bool) -> np.ndarray:
    """Advance at speeds, a build at a time."""
    result = np.empty(speed.shape)
    square, squares = table * table, speed * speed
    if not rising:  # where the falling curve jumps, the speed of the jump still belongs above
        squares = np.nextafter(squares, -np.inf)
    for row, wanted in enumerate(squares):
        result[row] = np.interp(wanted, square[row], theta[row], left=0.0)
    return result


def _by_halves(theta: np.ndarray, table: np.ndarray, speed: np.ndarray, rising: bool) -> np.ndarray:
    """Advance at speeds, the knots of all builds halved together."""
    count, knots = table.shape
    flat, angle = np.ascontiguousarray(table).ravel(), np.ascontiguousarray(theta).ravel()
    first = np.arange(count)[:, None] * knots
    reached = count_passed(flat, first, knots, speed, np.less_equal if rising else np.less)
    last = first + np.maximum(reached - 1, 0)
    following = first + np.minimum(reached, knots - 1)
    low, high = flat.take(last), flat.take(following)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        share = (speed**2 - low**2) / (high**2 - low**2)
    share = np.where((high > low) & np.isfinite(high), share, 0.0)
    start = angle.take(last)
    return np.where(reached == 0, 0.0, start + share * (angle.take(following) - start))


def count_passed(
    values: np.ndarray, begin: np.ndarray, count: int, limit: np.ndarray, passed: np.ufunc
) -> np.ndarray:
    """How many of never falling values are below limits, found by halving for all at once.

    Parameters
    ----------
    values : array, shape (any,)
        Looked at are ``count`` of them from ``begin``.
    begin : int array, broadcastable to the shape of ``limit``
    passed : ufunc
        ``numpy.less``, or ``numpy.less_equal`` where those that just reach it count.
    """
    at, left = begin + np.zeros(limit.shape, dtype=np.intp), count
    while left > 1:
        half = left // 2
        at += half * passed(values.take(at + (half - 1)), limit)
        left -= half
    at += passed(values.take(at), limit)
    return np.asarray(at - begin)


def curves(speeds: Speeds) -> Curves:
    """Running maximum from rest and running minimum from the stop."""
    rising = np.maximum.accumulate(speeds.rising_rpm, axis=1)
    falling = np.minimum.accumulate(speeds.falling_rpm[:, ::-1], axis=1)[:, ::-1]
    theta = speeds.theta_rad
    if theta.strides[0] == 0:  # one row for all builds
        return Curves(np.broadcast_to(np.degrees(theta[:1]), theta.shape), rising, falling)
    return Curves(np.degrees(theta), rising, falling)
