"""A first look at every pair of springs: margins on a coarse grid of posts and slack, from tables.

Where the posts stand fixes length and lever of a spring at every cam angle, whatever spring is
hooked in; its torque is then lever · (tension + rate · stretch). So levers and lengths are worked
out once, the torque of every spring at every setting follows by multiplication, and those of two
springs add.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

import numpy as np

from bobweight.core.design.goal import Goal
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.balance import RPM_PER_RAD_S, Balance
from bobweight.core.mechanics.builds import Builds
from bobweight.core.problems import required
from bobweight.core.record import put

_KNOTS = 48
_NMM = 1e-6  # g·mm²/s² in N·mm
_SETTINGS = 8  # of a pair on either half of its ridge, apart from one another
_PAIRS_AT_ONCE = 32
_APART = 0.12  # of the range of the primary's post and of when the secondary is taken up


@frozen
class SpringFigures:
    """Figures of many springs; arrays of shape (springs,)."""

    rate_n_per_mm: np.ndarray
    initial_tension_n: np.ndarray
    free_length_mm: np.ndarray


@frozen
class SettingGrid:
    """Settings tried in the first look."""

    primary_tang_mm: np.ndarray
    secondary_tang_mm: np.ndarray
    secondary_slack_mm: np.ndarray


class TorqueTables:
    """Torque tables of every spring in both places at some angles, and what the goal asks there.

    Parameters
    ----------
    mechanism : Mechanism
        Its stop the highest that is allowed.
    primaries, secondaries : tuple of int
        Springs of the mechanism that are replaced.
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
        self.mechanism, self.secondaries = mechanism, secondaries
        self.goal, self.grid, self.stop_free = goal, grid, stop_free
        self.stop = required(mechanism.stop_deg, "stop_deg")
        theta = np.radians(self.angles_deg()).reshape(1, 1, -1)
        own = np.array([mechanism.springs[i].slack_taken_mm for i in primaries[:1]])
        self.primary = _torques(mechanism, primaries, figures, grid.primary_tang_mm, own, theta)
        self.secondary = _torques(
            mechanism, secondaries, figures, grid.secondary_tang_mm, grid.secondary_slack_mm, theta
        )
        self.needs = _needs(mechanism, goal, {*primaries, *secondaries}, theta).astype(np.float32)

    def angles_deg(self) -> np.ndarray:
        """The advances at which torques are asked."""
        raise NotImplementedError


class FirstLook(TorqueTables):
    """For every pair and setting, the angles counted at which the weights are held too little."""

    @property
    def step(self) -> float:
        """Degrees between two angles."""
        return self.stop / _KNOTS

    def angles_deg(self) -> np.ndarray:
        return (np.arange(_KNOTS) + 0.5) * self.step

    @cached_property
    def late(self) -> np.ndarray:
        """How late the secondary is taken up in each of its settings."""
        return _lateness(self.mechanism, self.secondaries[0], self.grid)

    def best(self, first: np.ndarray, second: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The best settings of each pair, shape (pairs, settings, 3): posts and slack in mm; and
        the largest margin seen in degrees, to about a step of the grid.

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
        settings, margins = zip(*found, strict=True)
        return np.concatenate(settings), np.concatenate(margins)

    def _margins(self, first: np.ndarray, second: np.ndarray) -> np.ndarray:
        """Margins in degrees at all settings, shape (pairs, those of the primary, those of the
        secondary)."""
        # Knots stand first, so that each is compared and counted for all pairs in one sweep.
        one, two = self.primary[:, first][..., None], self.secondary[:, second][:, :, None, :]
        shape = np.broadcast_shapes(one.shape, two.shape)[1:]
        held = np.zeros((len(self.needs), *shape), dtype=np.uint8)
        torque, within = np.empty(shape, dtype=np.float32), np.empty(shape, dtype=bool)
        for knot in range(len(one)):
            np.add(one[knot], two[knot], out=torque)
            for column, need in enumerate(self.needs[:, knot]):
                np.less_equal(torque, need, out=within)
                np.add(held[column], within.view(np.uint8), out=held[column])
        low, high = np.full(shape, np.inf), np.full(shape, np.inf)
        top = max(self.goal.low_deg.max(), 0.0)
        for column, count in enumerate(held):
            point = column % self.goal.count
            advance = count * self.step
            np.minimum(low, advance - self.goal.low_deg[point], out=low)
            above = self.goal.high_deg[point] - advance
            if self.stop_free:  # a lower stop cuts what is above
                np.maximum(above, 0.5 * (self.goal.high_deg[point] - top), out=above)
            np.minimum(high, above, out=high)
        found: np.ndarray = np.minimum(low, high)
        return found

    def _some(self, first: np.ndarray, second: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        margin = self._margins(first, second)
        pairs, a, b = margin.shape
        margin = margin.reshape(pairs, -1)
        largest = margin.max(axis=1)
        rows, chosen = np.arange(pairs), []
        tangs, slacks = len(self.grid.secondary_tang_mm), len(self.grid.secondary_slack_mm)
        place = np.stack(np.unravel_index(np.arange(a * b), (a, tangs, slacks)), axis=-1)
        spread = np.stack(
            [place[:, 0] / max(a - 1, 1), np.broadcast_to(self.late, (a, b)).ravel()], axis=-1
        )
        # Post and slack of the secondary nearly make up for each other: the best lies on a long
        # ridge, mostly at an end of it. So each place is taken twice, on either half of the ridge.
        upper = place[:, 1] > (tangs - 1) / 2
        for _ in range(_SETTINGS):
            best = margin.argmax(axis=1)
            near = np.abs(spread[None] - spread[best][:, None]).max(axis=-1) < _APART
            for half in (upper, ~upper):
                there = np.where(near & half, margin, -np.inf).argmax(axis=1)
                chosen.append(place[there])
            margin[near] -= 1e3
            margin[rows, best] -= 1e3
        at = np.stack(chosen, axis=1)
        grids = (
            self.grid.primary_tang_mm,
            self.grid.secondary_tang_mm,
            self.grid.secondary_slack_mm,
        )
        settings = np.stack([values[at[..., k]] for k, values in enumerate(grids)], axis=-1)
        return settings, largest


def _torques(
    mechanism: Mechanism,
    places: tuple[int, ...],
    figures: SpringFigures,
    tangs: np.ndarray,
    slacks: np.ndarray,
    theta: np.ndarray,
) -> np.ndarray:
    """Torque in N·mm of each spring in all its places, shape (knots, springs, tangs × slacks)."""
    springs = len(figures.rate_n_per_mm)
    total = np.zeros((springs, len(tangs), len(slacks), theta.shape[-1]))
    rate = figures.rate_n_per_mm[:, None, None, None]
    tension = figures.initial_tension_n[:, None, None, None]
    taken_up = figures.free_length_mm[:, None, None, None] + slacks[None, None, :, None]
    for index in places:
        unit = replace(mechanism.springs[index], rate_n_per_mm=0.0, initial_tension_n=1.0)
        place = ("springs", index)
        builds = Builds(put(mechanism, place, unit), {(*place, "tang_mm"): tangs})
        balance = Balance(builds)
        path, cam = balance.paths[index], np.broadcast_to(theta, (len(tangs), 1, theta.size))
        swing = balance.motion.at(cam)
        lever = np.asarray(path.torque_nmm(cam, swing))
        stretch = np.asarray(path.length_mm(cam, swing))[None] - taken_up
        total += np.where(stretch > 0, lever[None] * (tension + rate * stretch), 0.0)
    by_place = total.reshape(springs, -1, theta.shape[-1])
    return np.ascontiguousarray(by_place.transpose(2, 0, 1), dtype=np.float32)


def _lateness(mechanism: Mechanism, index: int, grid: SettingGrid) -> np.ndarray:
    """When each setting of the secondary has it taken up, 0 the earliest to 1 the latest: slack
    and post do nearly the same. Shape (tangs × slacks,)."""
    builds = Builds(mechanism, {("springs", index, "tang_mm"): grid.secondary_tang_mm})
    theta = np.full(
        (len(grid.secondary_tang_mm), 1, 1),
        np.radians(0.5 * required(mechanism.stop_deg, "stop_deg")),
    )
    balance = Balance(builds)
    swing = balance.motion.at(theta)
    length = np.reshape(balance.paths[index].length_mm(theta, swing), (-1, 1))
    late = (grid.secondary_slack_mm - length).ravel()
    found: np.ndarray = (late - late.min()) / max(np.ptp(late), 1e-9)
    return found


def _needs(mechanism: Mechanism, goal: Goal, replaced: set[int], theta: np.ndarray) -> np.ndarray:
    """Torque in N·mm that the replaced springs must give to hold each advance at each speed,
    shape (branches × points, knots)."""
    balance = Balance(Builds(mechanism))
    swing = balance.motion.at(theta)
    pull = np.broadcast_to(balance.motion.inertia_slope(theta, swing), theta.shape)[0, 0]
    other = np.full(theta.shape, mechanism.heel_drag_taken_nmm)
    engaged = balance.engaged_at(theta)
    for index, path in enumerate(balance.paths):
        if index not in replaced:
            other = other + path.torque_nmm(theta, swing) * engaged[index]
    rows = []
    for branch in goal.branches:
        sense = 1.0 if branch == "rising" else -1.0
        omega = goal.speed_rpm[:, None] / RPM_PER_RAD_S
        half = 0.5 * _NMM * pull * omega**2 * (1 - sense * mechanism.grip_taken)
        rows.append(half - other[0, 0] - sense * mechanism.stick_taken_nmm)
    return np.concatenate(rows)
