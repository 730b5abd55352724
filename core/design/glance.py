"""A glance at a great many pairs of springs: which are worth the first look.

The first look (:mod:`core.design.coarse`) counts, for every pair and setting, the angles at which
the springs hold the weights back too little. Here each check point is asked two angles only, the
edges of its band: the straight line between what the springs hold there and what they must hold
says where the curve would pass. That is thirty times quicker, and near the band as good.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.design.coarse import SettingGrid, SpringFigures, needs, torques
from bobweight.core.design.goal import Goal
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.problems import required

_PAIRS_AT_ONCE = 128
_OPEN_BAND_DEG = 2.0  # stands for a band with one edge only
_FIRST_ANGLE, _LAST_ANGLE, _LEAST_BAND = 0.02, 0.9, 0.05  # of the stop
_LEAST_SLOPE = 0.02  # of the largest torque needed, over the whole travel: where the curve jumps


@dataclass(frozen=True)
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


class Glance:
    """What every pair promises, from torques at the edges of the band.

    Parameters
    ----------
    mechanism : Mechanism
        Its stop the highest that is allowed.
    goal : Goal
    primaries, secondaries : tuple of int
        Springs of the mechanism that are replaced.
    figures : SpringFigures
    grid : SettingGrid
    stop_free : bool
    """

    def __init__(
        self,
        mechanism: Mechanism,
        goal: Goal,
        primaries: tuple[int, ...],
        secondaries: tuple[int, ...],
        figures: SpringFigures,
        grid: SettingGrid,
        stop_free: bool,
    ):
        self.stop = stop = np.float32(required(mechanism.stop_deg, "stop_deg"))
        low = np.where(np.isfinite(goal.low_deg), goal.low_deg, goal.high_deg - _OPEN_BAND_DEG)
        high = np.where(np.isfinite(goal.high_deg), goal.high_deg, low + _OPEN_BAND_DEG)
        below = np.clip(low, _FIRST_ANGLE * stop, _LAST_ANGLE * stop)
        above = np.clip(high, below + _LEAST_BAND * stop, stop)
        theta = np.radians(np.stack([below, above], axis=-1)).reshape(1, 1, -1)
        own = np.array([mechanism.springs[i].slack_mm for i in primaries[:1]])
        self.primary = torques(mechanism, primaries, figures, grid.primary_tang_mm, own, theta)
        self.secondary = torques(
            mechanism, secondaries, figures, grid.secondary_tang_mm, grid.secondary_slack_mm, theta
        )
        needed = needs(mechanism, goal, {*primaries, *secondaries}, theta).astype(np.float32)
        self.least_slope = np.float32(_LEAST_SLOPE * needed.max() / stop)
        # Stick and grip make the rising curve the lower one, the falling one the higher.
        rising, falling = needed[: goal.count], needed[-goal.count :]
        top = max(goal.low_deg.max(), 0.0)
        least_above = 0.5 * (goal.high_deg - top) if stop_free else np.full(goal.count, -np.inf)
        self.least_above = least_above.astype(np.float32)
        self.edges = [
            _Edge(*(np.float32(value) for value in (
                below[j], above[j], rising[j, 2 * j], rising[j, 2 * j + 1],
                falling[j, 2 * j + 1], goal.low_deg[j], goal.high_deg[j],
            )))
            for j in range(goal.count)
        ]  # fmt: skip

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
        np.clip(lack, np.float32(0.0), self.stop, out=lack)
