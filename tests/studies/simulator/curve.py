"""Advance by the vector route of the tests, at many speeds at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bobweight.core.docket.mechanism import Mechanism
from tests.mechanics.independent import RPM, Vectors

_SWINGS = 4000
_HALVINGS = 26


class VectorCurve(Vectors):
    """One mechanism; what a tester sees of it, rising and falling.

    A bracket is the first pair of scanned states between which the net moment turns against
    further motion; all speeds are halved together.
    """

    def __init__(self, mechanism: Mechanism, rest_deg: float = 0.0):
        super().__init__(mechanism)
        self.rest_deg = rest_deg

    def _state_at_stop(self) -> float:
        if self.kind not in ("slot", "link"):
            return super()._state_at_stop()
        swing = np.linspace(0.0, 1.5, _SWINGS)
        moved = self.ahead * self._foot_moves(swing)
        reached = np.flatnonzero(moved >= self.stop)
        if not len(reached):
            raise ValueError("the slot does not reach the stop")
        low, high = swing[reached[0] - 1], swing[reached[0]]
        for _ in range(50):
            middle = 0.5 * (low + high)
            if self.ahead * self._foot_moves(middle) < self.stop:
                low = middle
            else:
                high = middle
        return 0.5 * (low + high)

    def advances_deg(self, speed_rpm: ArrayLike, way: str) -> NDArray:
        """Advance in distributor degrees at distributor speeds of any shape."""
        speed = np.asarray(speed_rpm, dtype=float)
        omega = speed.reshape(-1) * RPM
        sense = 1.0 if way == "rising" else -1.0
        grid, (weights, springs) = self.scan_q, self.scan
        if way == "falling":
            grid, weights, springs = grid[::-1], weights[::-1], springs[::-1]

        def against(weights: NDArray, springs: NDArray, squared: NDArray) -> NDArray:
            resist = self.m.heel_drag_taken_nmm + sense * self.m.stick_taken_nmm
            return -sense * (
                weights * squared * (1.0 - sense * self.m.grip_taken) + springs - resist
            )

        held = against(weights[None], springs[None], omega[:, None] ** 2) > 0
        first = np.where(held.any(axis=1), held.argmax(axis=1), len(grid) - 1)
        before, after = grid[np.maximum(first - 1, 0)], grid[first].copy()
        inside = held.any(axis=1) & (first > 0)
        for _ in range(_HALVINGS):
            middle = 0.5 * (before + after)
            beyond = against(*self.moments(middle), omega**2) > 0
            after = np.where(beyond, middle, after)
            before = np.where(beyond, before, middle)
        state = np.where(inside, 0.5 * (before + after), grid[first])
        found = np.degrees(self.cam(state)) * np.ones(len(omega))
        return np.maximum(found, self.rest_deg).reshape(speed.shape)

    def start_rpm(self) -> float:
        """Speed at which the weights leave rest, rising."""
        return self.speed_rpm(0.0, 1.0)

    def full_rpm(self) -> float:
        """Speed at which the stop is reached, rising."""
        return max(self.speed_rpm(float(q), 1.0) for q in self.scan_q[::20])
