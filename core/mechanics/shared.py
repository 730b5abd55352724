"""Many builds of one geometry: what differs enters the balance linearly.

Builds that differ in rates, tensions, free lengths, slacks and friction only see the same lengths
and levers at the same angle. The torque of a spring is rate · lever + c · lever / length with
c = tension − rate · (free length + slack), so lengths, levers and the weights' pull are worked out
once for all builds. Where builds are taken up at different angles, two knots of each are moved to
its own take-up, just before it and just after.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bobweight.core.arrays import Floats
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.builds import Builds

_LINEAR = {"rate_n_per_mm", "initial_tension_n", "free_length_mm", "slack_mm"}
_FRICTION = {("stick_nmm",), ("grip",), ("heel_drag_nmm",)}


def shares_geometry(builds: Builds) -> bool:
    """Whether the builds differ only in what enters the balance linearly."""
    return builds.count > 1 and all(
        (path[0] == "springs" and path[-1] in _LINEAR) or path in _FRICTION
        for path, values in builds.varied.items()
        if len(values) > 1
    )


@frozen
class SharedSpring:
    """One spring at the shared knots.

    ``lever_mm`` (0 where it is not taken up in any build) and ``share`` = lever / length, shape
    (knots,); ``rate``, ``rest_n`` (tension − rate · taken-up length), shape (builds, 1);
    ``slack_of`` is None where the same knots are taken up in every build, else (length, taken-up
    length of each build).
    """

    lever_mm: Floats
    share: Floats
    rate: Floats
    rest_n: Floats
    slack_of: tuple[Floats, Floats] | None

    def add_torque(self, torque: Floats, piece: slice, scratch: Floats) -> None:
        """Add the spring's torque in the builds of a piece, in N·mm."""
        np.multiply(self.rate[piece], self.lever_mm, out=scratch)
        scratch += self.rest_n[piece] * self.share
        if self.slack_of is not None:
            length, taken_up = self.slack_of
            scratch *= length > taken_up[piece]
        torque += scratch


def knots_of_take_ups(
    take_ups_rad: Floats, theta_rad: Floats
) -> tuple[Floats, NDArray[np.int_], NDArray[np.bool_]]:
    """Which knots each build's take-ups are moved to.

    Parameters
    ----------
    take_ups_rad : array, shape (builds, n)
        NaN where there is none between rest and stop.
    theta_rad : array, shape (knots,)
        Rising, from rest to stop.

    Returns
    -------
    angle_rad, first, there : array, shape (builds, n)
        The take-ups in order; knot ``first`` stands just before one and the next just after it.
    """
    ordered = np.sort(take_ups_rad, axis=1)
    ordered = ordered[:, ~np.isnan(ordered).all(axis=0)]
    there = ~np.isnan(ordered)
    first = np.searchsorted(theta_rad, np.where(there, ordered, theta_rad[-1])) - 1
    count, last = ordered.shape[1], len(theta_rad) - 1
    for j in range(count):  # apart from rest, from each other, and from the stop
        first[:, j] = np.maximum(first[:, j], 1 if j == 0 else first[:, j - 1] + 2)
    for j in reversed(range(count)):
        after = np.where(there[:, j + 1], first[:, j + 1], last) if j + 1 < count else last
        first[:, j] = np.minimum(first[:, j], after - 2)
    return ordered, first, there
