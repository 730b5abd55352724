"""A glance at a great many pairs of springs: which are worth the first look.

The first look (:mod:`core.design.coarse`) counts, for every pair and setting, the angles at which
the springs hold the weights back too little. Here each check point is asked two angles only, the
edges of its band: the straight line between what the springs hold there and what they must hold
says where the curve would pass. That is thirty times quicker, and near the band as good.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.design.coarse import TorqueTables
from bobweight.core.frozen import frozen

_PAIRS_AT_ONCE = 128
_OPEN_BAND_DEG = 2.0  # stands for a band with one edge only
_FIRST_ANGLE, _LAST_ANGLE, _LEAST_BAND = 0.02, 0.9, 0.05  # of the stop
_LEAST_SLOPE = 0.02  # of the largest torque needed, over the whole travel: where the curve jumps


@frozen
class _Edge:
    """One check point: the angles asked, and what the two springs must hold there on the branch
    that comes nearest to each edge; degrees and N·mm."""

    below_deg: np.float32
    above_deg: np.float32
    rising_below: np.float32
    rising_above: np.float32
    falling_above: np.float32
    low_deg: np.float32
    high_deg: np.float32


class Glance(TorqueTables):
    """What every pair promises, from torques at the edges of the band."""

    @cached_property
    def _asked_deg(self) -> tuple[np.ndarray, np.ndarray]:
        """The angles that each check point is asked, below and above."""
        goal, stop = self.goal, np.float32(self.stop)
        low = np.where(np.isfinite(goal.low_deg), goal.low_deg, goal.high_deg - _OPEN_BAND_DEG)
        high = np.where(np.isfinite(goal.high_deg), goal.high_deg, low + _OPEN_BAND_DEG)
        below = np.clip(low, _FIRST_ANGLE * stop, _LAST_ANGLE * stop)
        return below, np.clip(high, below + _LEAST_BAND * stop, stop)

    def angles_deg(self) -> np.ndarray:
        return np.stack(self._asked_deg, axis=-1)

    @cached_property
    def edges(self) -> list[_Edge]:
        """What each check point asks."""
        goal, (below, above) = self.goal, self._asked_deg
        # Stick and grip make the rising curve the lower one, the falling one the higher.
        rising, falling = self.needs[: goal.count], self.needs[-goal.count :]
        return [
            _Edge(*(np.float32(value) for value in (
                below[j], above[j], rising[j, 2 * j], rising[j, 2 * j + 1],
                falling[j, 2 * j + 1], goal.low_deg[j], goal.high_deg[j],
            )))
            for j in range(goal.count)
        ]  # fmt: skip

    @cached_property
    def least_slope(self) -> np.float32:
        """Of torque against advance, N·mm per degree."""
        return np.float32(_LEAST_SLOPE * self.needs.max() / np.float32(self.stop))

    @cached_property
    def least_above(self) -> np.ndarray:
        """What is left below each upper edge at least: a lower stop cuts what is above."""
        goal = self.goal
        if not self.stop_free:
            return np.full(goal.count, -np.inf, dtype=np.float32)
        top = max(goal.low_deg.max(), 0.0)
        return np.asarray(0.5 * (goal.high_deg - top), dtype=np.float32)

    def margins(self, first: np.ndarray, second: np.ndarray) -> Floats:
        """About the largest margin of each pair over the grid, in degrees, shape (pairs,).

        Parameters
        ----------
        first, second : int array, shape (pairs,)
            Which spring is primary and which secondary.
        """
        pieces = range(0, len(first), _PAIRS_AT_ONCE)
        found = [
            self._some(first[k : k + _PAIRS_AT_ONCE], second[k : k + _PAIRS_AT_ONCE])
            for k in pieces
        ]
        return np.concatenate(found)

    def _some(self, first: np.ndarray, second: np.ndarray) -> np.ndarray:
        # Angles stand first, and each step writes over the last: nothing leaves the core's cache.
        one, two = self.primary[:, first][..., None], self.secondary[:, second][:, :, None, :]
        shape = np.broadcast_shapes(one.shape, two.shape)[1:]
        margin = np.full(shape, np.inf, dtype=np.float32)
        below, above, per_torque, advance = (np.empty(shape, dtype=np.float32) for _ in range(4))
        for j, edge in enumerate(self.edges):
            np.add(one[2 * j], two[2 * j], out=below)
            np.add(one[2 * j + 1], two[2 * j + 1], out=above)
            np.subtract(above, below, out=per_torque)
            per_torque -= edge.rising_above - edge.rising_below
            per_torque /= edge.above_deg - edge.below_deg
            np.maximum(per_torque, self.least_slope, out=per_torque)
            np.reciprocal(per_torque, out=per_torque)

            np.subtract(edge.rising_below, below, out=advance)
            self._carried_on(advance, per_torque, edge.below_deg)
            advance -= edge.low_deg
            np.minimum(margin, advance, out=margin)

            np.subtract(edge.falling_above, above, out=advance)
            self._carried_on(advance, per_torque, edge.above_deg)
            np.subtract(edge.high_deg, advance, out=advance)
            np.maximum(advance, self.least_above[j], out=advance)
            np.minimum(margin, advance, out=margin)
        largest: np.ndarray = margin.max(axis=(1, 2))
        return largest

    def _carried_on(self, lack: np.ndarray, per_torque: np.ndarray, angle_deg: np.float32) -> None:
        """What the springs lack at an angle made into the advance in degrees, in its place."""
        lack *= per_torque
        lack += angle_deg
        np.clip(lack, np.float32(0.0), np.float32(self.stop), out=lack)
