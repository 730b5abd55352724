"""Distances of readings right beside known points: by where their feet move.

To first order a distance changes by what its foot, kept at its place between rest, take-ups and
stop, moves along the normal. That needs the balance at one angle a reading, no curve and no search.
Both ends of a difference are worked out alike, so that slopes do not hang on the other curves of a
batch and how all of them are divided into knots.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from bobweight.core.arrays import Flags, Floats, Indices
from bobweight.core.judgement.fit_curves import FLIPPED, REST, Simulator, Values
from bobweight.core.judgement.fit_distance import FAR_RPM, Feet, feet
from bobweight.core.mechanics.balance import Balance, Speeds
from bobweight.core.mechanics.branches import Curves, curves

Added = Callable[[Floats], Floats]


class Beside:
    """The feet of a session's readings on the curves of some builds, followed as values change.

    Parameters
    ----------
    simulator : Simulator
    values : Values
        Of the points, each of shape (points,).
    added_deg : callable, optional
        See :meth:`Simulator.distances`.
    """

    def __init__(self, simulator: Simulator, values: Values, added_deg: Added | None = None):
        self.simulator = simulator
        speeds = simulator.speeds(values)
        table = curves(speeds)
        foot, self.falling = self._feet(values, table, added_deg)
        self.distance, self.across, self.up = foot.distance, foot.across, foot.up
        balance = Balance(simulator.builds(values))
        stands, moves, after = _angles_rad(speeds, table, foot, self.falling)
        self.stands, self.moves = balance.stations(stands, after), balance.stations(moves, after)
        self.here = self._along(values, np.arange(len(self.distance)), added_deg)

    def distances(
        self, values: Values, rows: Indices, added_deg: Added | None = None
    ) -> Floats:  # fmt: skip
        """Signed distances, shape (batch, readings), of values that are a little off those of the
        points named in ``rows``, shape (batch,)."""
        change = self._along(values, rows, added_deg) - self.here[rows]
        return np.asarray(self.distance[rows] + change)

    def _along(self, values: Values, rows: Indices, added_deg: Added | None) -> Floats:
        """Along each normal, how far the reading lies beyond its foot."""
        x, y, u_x, u_y = self.simulator.points(values)
        if added_deg is not None:
            y = y - added_deg(x)
        balance = Balance(self.simulator.builds(values))
        speeds = balance.at(self.moves.of(rows))
        speed = np.where(self.falling[rows], speeds.falling_rpm, speeds.rising_rpm)
        speed = np.fmin(speed, FAR_RPM)
        advance = np.degrees(balance.angles_rad(self.stands.of(rows)))
        if REST in values:
            advance = np.maximum(advance, self.simulator.value(values, *REST))
        return np.asarray(
            self.across[rows] * (x - speed) / u_x + self.up[rows] * (y - advance) / u_y
        )

    def _feet(
        self, values: Values, table: Curves, added_deg: Added | None
    ) -> tuple[Feet, Flags]:  # fmt: skip
        """The foot of each reading, and whether it lies on the falling branch."""
        simulator, advance = self.simulator, table.advance_deg
        if REST in values:
            advance = np.maximum(advance, simulator.value(values, *REST))
        x, y, u_x, u_y = simulator.points(values)
        if added_deg is not None:
            y = y - added_deg(x)
        tried = simulator.tried
        count = len(advance)
        falling = np.broadcast_to(simulator.tried_branch == 1, (count, len(tried)))
        if FLIPPED in values:
            falling = falling ^ (simulator.value(values, *FLIPPED) > 0.5)
        speed = np.where(falling[..., None], table.falling_rpm[:, None], table.rising_rpm[:, None])
        foot = feet(advance, speed, *(a[:, tried] for a in (x, y, u_x, u_y)))
        own = len(simulator.rows)
        chosen = np.tile(np.arange(own), (count, 1))
        again = tried[own:]
        other = np.abs(foot.distance[:, own:]) < np.abs(foot.distance[:, again])
        chosen[:, again] = np.where(other, np.arange(own, len(tried)), again)
        columns: Iterator[Any] = (
            np.take_along_axis(each, chosen, axis=1)
            for each in (foot.distance, foot.part, foot.share, foot.across, foot.up)
        )
        return Feet(*columns), np.take_along_axis(falling, chosen, axis=1)


def _angles_rad(
    speeds: Speeds, table: Curves, foot: Feet, falling: Flags
) -> tuple[Floats, Floats, Flags]:
    """The cam angle at which each foot stands; that whose speed moves it, another one where the
    advance jumps; and whether what comes after that angle is meant, if it is an edge."""
    theta, last = speeds.theta_rad, speeds.theta_rad.shape[1] - 1
    first, following = np.maximum(foot.part - 1, 0), np.minimum(foot.part, last)

    def at(rows: Floats | Indices, knot: Any) -> Any:
        return np.take_along_axis(np.broadcast_to(rows, theta.shape), knot, axis=1)

    def of_branch(rising: Floats | Indices, fallen: Floats | Indices, knot: Any) -> Any:
        return np.where(falling, at(fallen, knot), at(rising, knot))

    stands = at(theta, first) + foot.share * (at(theta, following) - at(theta, first))
    inside = (foot.share > 0) & (foot.share < 1)
    climb = of_branch(table.rising_rpm, table.falling_rpm, following) - of_branch(
        table.rising_rpm, table.falling_rpm, first
    )
    index = np.arange(last + 1)
    holds_rising = np.where(table.rising_rpm == speeds.rising_rpm, index, 0)
    holds_falling = np.where(table.falling_rpm == speeds.falling_rpm, index, last)
    holds = of_branch(
        np.maximum.accumulate(holds_rising, axis=1),
        np.minimum.accumulate(holds_falling[:, ::-1], axis=1)[:, ::-1],
        np.where(foot.share < 1, first, following),
    )
    on_slope = inside & (climb > 0)
    moves = np.where(on_slope, stands, at(theta, holds))
    return stands, moves, ~on_slope & (moves <= at(theta, np.maximum(holds - 1, 0)))
