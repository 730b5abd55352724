"""From the balance speeds to the curve a tester sees: rising, falling, jumps, plateaux.

Rising, the weights stand at the largest θ whose running maximum of speed is not above the speed;
falling, at the smallest θ whose running minimum from the stop is not below it. Where the running
maximum (minimum) is flat the weights are not stable and the advance jumps; where the speed steps
up at one θ the advance stands still: a plateau.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bobweight.core.mechanics.balance import Speeds


@dataclass(frozen=True)
class Curves:
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
        count, knots = table.shape
        speed = np.broadcast_to(np.atleast_2d(speed_rpm), (count, np.shape(speed_rpm)[-1]))
        result = np.empty(speed.shape)
        rows = np.arange(count)
        for column in range(speed.shape[1]):
            wanted = speed[:, column, None]
            reached = table <= wanted if direction == "rising" else table < wanted
            below = reached.sum(axis=1) - 1
            last = np.clip(below, 0, knots - 1)
            following = np.clip(below + 1, 0, knots - 1)
            low, high = table[rows, last], table[rows, following]
            theta, theta_next = self.advance_deg[rows, last], self.advance_deg[rows, following]
            with np.errstate(invalid="ignore", divide="ignore"):
                share = (speed[:, column] ** 2 - low**2) / (high**2 - low**2)
            share = np.where((high > low) & np.isfinite(high), share, 0.0)
            result[:, column] = np.where(below < 0, 0.0, theta + share * (theta_next - theta))
        return result


def curves(speeds: Speeds) -> Curves:
    """Running maximum from rest and running minimum from the stop."""
    rising = np.maximum.accumulate(speeds.rising_rpm, axis=1)
    falling = np.minimum.accumulate(speeds.falling_rpm[:, ::-1], axis=1)[:, ::-1]
    return Curves(np.degrees(speeds.theta_rad), rising, falling)
