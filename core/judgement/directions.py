"""The directions in which sound units and their instruments differ so that readings or curve show.

A docket has many values, and most of what they may come to together moves nothing that anybody
reads. What moves something is a few directions, found by singular values of the slopes.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.docket.target import WAYS
from bobweight.core.frozen import frozen
from bobweight.core.judgement.fit_curves import BOTH_WAYS, Simulator, Values
from bobweight.core.judgement.fit_values import FreeValue, ValueTable
from bobweight.core.judgement.sound import SoundUnit
from bobweight.core.mechanics.branches import Curves
from bobweight.core.mechanics.capsule import full_travel_kpa
from bobweight.core.statistics.least_squares import difference_jacobian

_LEAST_DIRECTION = 0.08
_LEAST_ELSEWHERE = 1.0  # the same, away from the mode
_MOST_DIRECTIONS = 14
_DRAWN_PLACES, _SEED = 4, 3
_STEEPEST = 50.0  # slope beyond which a curve jumps
_CURVE_U_DEG = 0.3  # a direction counts if it moves the unit's curve by a tenth of this
_CURVE_PLACES, _PLATE_PLACES = 8, 16


@frozen(eq=False)
class Directions:
    """Directions z = centre + basis · q of the values; q is standard normal. One set for the unit
    by figures and table, one by its figures alone, which is the first again where the table can
    only be this unit's.

    Attributes
    ----------
    centre, basis : tuple of array, shape (values,), (values, directions)
        Of each set.
    kept : int
        How many directions, the first, are of a unit that keeps its table.
    root : array, shape (values, values)
        Root of the covariance of all values by figures and table.
    judging : float
        How many readings are left to judge the noise by, once the last set is placed.
    """

    centre: tuple[Floats, ...]
    basis: tuple[Floats, ...]
    kept: int
    root: Floats
    judging: float

    @property
    def count(self) -> int:
        """Number of directions."""
        return len(self.basis[0].T)

    def at(self, q: Floats, of_table: Indices) -> Floats:
        """Points of the values at directions q, shape (batch, values); by figures alone where
        ``of_table`` is 1."""
        z: Floats = q @ self.basis[0].T + self.centre[0]
        rows = np.flatnonzero(of_table == 1)
        if len(rows):
            z[rows] = q[rows] @ self.basis[1].T + self.centre[1]
        return z


def directions_of(
    unit: SoundUnit, values: tuple[FreeValue, ...], simulator: Simulator
) -> Directions:  # fmt: skip
    """Directions of a sound unit and its instruments.

    Parameters
    ----------
    unit : SoundUnit
    values : tuple of FreeValue
        Those of the unit, then those of its instruments and capsules.
    simulator : Simulator
        Of the readings.
    """
    known = [(unit.z, unit.root), unit.figures] if unit.other_table > 0 else [(unit.z, unit.root)]
    sets = [_with_others(*each, len(values)) for each in known]
    low, high = np.array([f.bounds for f in values]).T
    table = ValueTable(values)
    speed_rpm = _speeds_rpm(simulator.curves(table.at(_looked_at(*sets[0], low, high))))

    def told(z: Floats) -> Floats:
        at = table.at(z)
        now = simulator.curves(at)
        distances = simulator.distances(at, table=now)
        return np.concatenate([distances, _curve(simulator, at, now, speed_rpm)], axis=1)

    found = [_told_apart(told, len(simulator.rows), *each, low, high) for each in sets]
    most = max(basis.shape[1] for basis, _ in found)
    bases = [np.pad(basis, ((0, 0), (0, most - basis.shape[1]))) for basis, _ in found]
    return Directions(
        (sets[0][0], sets[-1][0]), (bases[0], bases[-1]), found[0][0].shape[1], sets[0][1],
        found[-1][1],
    )  # fmt: skip


def _with_others(own_z: Floats, own_root: Floats, count: int) -> tuple[Floats, Floats]:
    """Likeliest point and root of the covariance of so many values, those beyond the unit's own
    standard normal."""
    own, centre, root = len(own_z), np.zeros(count), np.eye(count)
    centre[:own], root[:own, :own] = own_z, own_root
    return centre, root


def _looked_at(centre: Floats, root: Floats, low: Floats, high: Floats) -> Floats:
    """The centre and places drawn: what nothing feels at one it may feel at another, as what moves
    the start of a curve that is flat there."""
    drawn = np.random.default_rng(_SEED).normal(size=(_DRAWN_PLACES, root.shape[1])) @ root.T
    at: Floats = np.clip(centre + np.concatenate([np.zeros((1, len(centre))), drawn]), low, high)
    return at


def _told_apart(
    told: Callable[[Floats], Floats], rows: int, centre: Floats, root: Floats, low: Floats,
    high: Floats,
) -> tuple[Floats, float]:  # fmt: skip
    """The directions of one set, and how many readings they leave to judge the noise by.

    Parameters
    ----------
    told : callable
        At points z the distances of the readings, of which there are ``rows``, then the curve.
    """
    at = _looked_at(centre, root, low, high)
    slopes = difference_jacobian(
        lambda z, member: told(z), at, told(at), np.broadcast_to(low, at.shape),
        np.broadcast_to(high, at.shape), np.ones(at.shape, bool), np.full(len(centre), 300.0),
        np.arange(len(at)), central=True,
    )  # fmt: skip
    slopes[:, rows:] /= _CURVE_U_DEG
    told_apart = np.linalg.svd(slopes[0, :rows] @ root, compute_uv=False) ** 2
    # Readings that are used up in placing the curve, and the zero, say nothing of the noise.
    judging = max(rows - 1.0 - float(np.sum(told_apart / (1 + told_apart))), 0.3 * rows)
    _, singular, right = np.linalg.svd(slopes[0] @ root, full_matrices=False)
    kept = right[:_MOST_DIRECTIONS][(singular > _LEAST_DIRECTION)[:_MOST_DIRECTIONS]]
    elsewhere = np.clip(slopes[1:], -_STEEPEST, _STEEPEST).reshape(-1, len(centre)) @ root
    elsewhere -= elsewhere @ kept.T @ kept
    _, singular, right = np.linalg.svd(elsewhere / _DRAWN_PLACES**0.5, full_matrices=False)
    more = right[singular > _LEAST_ELSEWHERE][: _MOST_DIRECTIONS - len(kept)]
    return np.asarray(root @ np.concatenate([kept, more]).T), judging


def _speeds_rpm(table: Curves) -> Floats:
    """A few distributor speeds over the curve of the first unit."""
    start, full = table.rising_rpm[0, 0], min(table.rising_rpm[0, -1], 6000.0)
    return np.linspace(0.9 * start, 1.05 * full, _CURVE_PLACES)


def _curve(simulator: Simulator, values: Values, table: Curves, speed_rpm: Floats) -> Floats:
    """Advance at a few speeds along both branches, and movement of a plate that was read at a few
    depressions: a table may ask for what no reading was taken of."""
    found = [table.at(speed_rpm, way) for way in WAYS]
    full_kpa = full_travel_kpa(simulator.docket.capsules)
    if simulator.capsules_read and full_kpa is not None:
        kpa = np.linspace(0.0, 1.1 * full_kpa, _PLATE_PLACES)
        for way in BOTH_WAYS:
            moved = simulator.vacuum_deg(values, kpa, np.full(_PLATE_PLACES, way))
            found.append(np.broadcast_to(moved, (len(found[0]), _PLATE_PLACES)))
    return np.concatenate(found, axis=1)
