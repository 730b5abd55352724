"""Distances of readings right beside known points: by where their feet move.

To first order a distance changes by what its foot, kept at its place between rest, take-ups and
stop, moves along the normal. That needs the balance at one angle a reading, no curve and no search,
and does not hang on how the curves of a batch are divided into knots.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from bobweight.core.arrays import Flags, Floats, Indices
from bobweight.core.judgement.fit_curves import FLIPPED, Simulator, Values
from bobweight.core.judgement.fit_distance import FAR_RPM, Feet, feet
from bobweight.core.mechanics.balance import Balance, Speeds
from bobweight.core.mechanics.branches import Curves, curves

Added = Callable[[Floats], Floats]


class Beside:
    """The feet of a session's readings on the curves of some builds, followed as values change.

    Parameters
    ----------
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
        self.across, self.up = foot.across, foot.up
        stands, moves, after = _angles_rad(speeds, table, foot, self.falling)
        balance = Balance(simulator.builds(values))
        self.stands, self.moves = balance.stations(stands, after), balance.stations(moves, after)
        self.engaged = balance.engaged_beside(self.moves)

    def distances(
        self, values: Values, rows: Indices, added_deg: Added | None = None
    ) -> Floats:  # fmt: skip
        """Signed distances, shape (batch, readings), of values that are a little off those of the
        points named in ``rows``, shape (batch,): their differences are right to first order, and
        they themselves as near as the chords are to the curve."""
        x, y, u_x, u_y = self._readings(values, added_deg)
        balance = Balance(self.simulator.builds(values))
        rising, fallen = balance.at(self.moves.of(rows), [on[rows] for on in self.engaged])
        speed = np.fmin(np.where(self.falling[rows], fallen, rising), FAR_RPM)
        stands = np.degrees(balance.angles_rad(self.stands.of(rows)))
        advance = self.simulator.rested_deg(values, stands)
        return np.asarray(
            self.across[rows] * (x - speed) / u_x + self.up[rows] * (y - advance) / u_y
        )

    def _readings(self, values: Values, added_deg: Added | None) -> tuple[Floats, ...]:
        x, y, u_x, u_y = self.simulator.points(values)
        return x, y if added_deg is None else y - added_deg(x), u_x, u_y

    def _feet(
        self, values: Values, table: Curves, added_deg: Added | None
    ) -> tuple[Feet, Flags]:  # fmt: skip
        """The foot of each reading, and whether it lies on the falling branch."""
        simulator = self.simulator
        advance = simulator.rested_deg(values, table.advance_deg)
        tried, own = simulator.tried, len(simulator.rows)
        falling = np.broadcast_to(simulator.tried_branch == 1, (len(advance), len(tried)))
        if FLIPPED in values:
            falling = falling ^ (simulator.value(values, *FLIPPED) > 0.5)
        speed = np.where(falling[..., None], table.falling_rpm[:, None], table.rising_rpm[:, None])
        found = feet(advance, speed, *(a[:, tried] for a in self._readings(values, added_deg)))
        chosen, again = np.tile(np.arange(own), (len(advance), 1)), tried[own:]
        nearer = np.abs(found.distance[:, own:]) < np.abs(found.distance[:, again])
        chosen[:, again] = np.where(nearer, np.arange(own, len(tried)), again)
        return found.of(chosen), np.take_along_axis(falling, chosen, axis=1)


def _angles_rad(
    speeds: Speeds, table: Curves, foot: Feet, falling: Flags
) -> tuple[Floats, Floats, Flags]:  # fmt: skip
    """The cam angle at which each foot stands; that whose speed moves it, another one where the
    advance jumps; and whether what comes after that angle is meant, if it is an edge."""
    theta, last = speeds.theta_rad, speeds.theta_rad.shape[1] - 1
    first, following = np.maximum(foot.part - 1, 0), np.minimum(foot.part, last)

    def at(rows: Any, knot: Any) -> Any:
        return np.take_along_axis(np.broadcast_to(rows, theta.shape), knot, axis=1)

    def of_branch(rising: Any, fallen: Any, knot: Any) -> Any:
        return np.where(falling, at(fallen, knot), at(rising, knot))

    index = np.arange(last + 1)
    holds_rising = np.where(table.rising_rpm == speeds.rising_rpm, index, 0)
    holds_falling = np.where(table.falling_rpm == speeds.falling_rpm, index, last)
    holds = of_branch(
        np.maximum.accumulate(holds_rising, axis=1),
        np.minimum.accumulate(holds_falling[:, ::-1], axis=1)[:, ::-1],
        np.where(foot.share < 1, first, following),
    )
    inside = (foot.share > 0) & (foot.share < 1)
    low, high = (of_branch(table.rising_rpm, table.falling_rpm, k) for k in (first, following))
    on_slope = inside & (high > low)
    stands = at(theta, first) + foot.share * (at(theta, following) - at(theta, first))
    held = at(theta, holds)
    after = ~on_slope & (held <= at(theta, np.maximum(holds - 1, 0)))
    return stands, np.where(on_slope, stands, held), after
