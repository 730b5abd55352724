"""All explanations as one parametric family, so that they are fitted in step with one another.

A point holds, side by side: the unit-to-unit scatter of a sound unit and of its instruments in a
few whitened directions, one column for each fault's amount, and the free deviation of "none of
these". A hypothesis says which columns may move. Every column is standard normal beforehand.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.faults import (
    NONE_OF_THESE,
    NOTHING_WRONG,
    PAIR_WEIGHT,
    PAIRS,
    WEIGHT_NONE,
    WEIGHT_NOTHING,
    faults_of,
)
from bobweight.core.judgement.fit_curves import Simulator, Values
from bobweight.core.judgement.fit_distance import signed_distances
from bobweight.core.judgement.fit_values import ValueTable, free_values
from bobweight.core.judgement.objective import robust
from bobweight.core.judgement.reduce import Reduced
from bobweight.core.mechanics.capsule import full_travel_kpa, plate_advance_deg
from bobweight.core.record import get
from bobweight.core.statistics.least_squares import difference_jacobian

SOUND_U_DEG = 0.35
SOUND_U_SPEED_SHARE = 0.015
"""How far a sound unit's curve lies from the docket's, beyond the readings' own uncertainty
(common practice: half the usual band of ±1 distributor degree holds two in three)."""
SOUND_RATE_SHARE = 0.05
NONE_U_DEG = 2.5
_NONE_NODES = 6
_SOUND_PLACES = 8
_LEAST_DIRECTION = 0.05
_PIPE_RAMP_RPM = 150.0
_LEAST_SHARE = 0.1  # of a value that a fault leaves
MOST_Z = 3.5


@dataclass(frozen=True)
class Hypothesis:
    """One explanation with its signs: the faults that act, and prior odds."""

    name: str
    faults: tuple[int, ...]
    signs: tuple[float, ...]
    weight: float
    free_form: bool = False


class Family:
    """Every explanation of one session's readings.

    Attributes
    ----------
    faults : tuple of Fault
    hypotheses : tuple of Hypothesis
    free : bool array, shape (hypotheses, columns)
        Which columns each may move.
    """

    def __init__(self, docket: Docket, session: int, reduced: Reduced):
        self.simulator = Simulator(docket, session, reduced)
        self.docket, self.session = self.simulator.docket, session
        self.sound = free_values(docket, session, reduced, SOUND_RATE_SHARE)
        self.table = ValueTable(self.sound)
        self.faults = faults_of(docket, session, bool(self.simulator.pipe_on.any()))
        self.basis = self._basis()
        self.first_fault = self.basis.shape[1]
        self.first_node = self.first_fault + len(self.faults)
        self.columns = self.first_node + _NONE_NODES
        self.nodes = self._nodes()
        self.hypotheses = tuple(self._hypotheses())
        self.free = np.array([self._columns_of(h) for h in self.hypotheses])
        self.sign = np.zeros((len(self.hypotheses), len(self.faults)))
        for row, h in enumerate(self.hypotheses):
            self.sign[row, list(h.faults)] = h.signs

    def values(self, x: NDArray, which: NDArray) -> Values:
        """Values of the docket at points x under hypotheses ``which``, shape (batch,)."""
        found = self.table.at(x[:, : self.first_fault] @ self.basis.T)
        for j, fault in enumerate(self.faults):
            sign = self.sign[which, j]
            if not sign.any():
                continue
            amount = sign * fault.amount(x[:, self.first_fault + j])
            for effect in fault.effects:
                value = found.get(effect.path)
                if value is None:
                    value = np.full(len(x), float(get(self.docket, effect.path)))
                found[effect.path] = _changed(value, effect.how, effect.sign * amount)
        return found

    def distances(self, x: NDArray, which: NDArray) -> NDArray:
        """Signed distances of the readings, shape (batch, readings)."""
        return self.simulator.distances(
            self.values(x, which), lambda speed: self.added(x, which, speed)
        )

    def added(self, x: NDArray, which: NDArray, speed_rpm: NDArray) -> NDArray:
        """Distributor degrees that a forgotten pipe or the free deviation adds, at distributor
        speeds of shape (batch or 1, places)."""
        total = np.zeros((len(x), speed_rpm.shape[1]))
        off = ~self.simulator.pipe_on if speed_rpm.shape[1] == len(self.simulator.rows) else True
        for j, fault in enumerate(self.faults):
            on = self.sign[which, j] != 0
            if fault.pipe and on.any():
                begins = fault.amount(x[:, self.first_fault + j])[:, None]
                share = np.clip((speed_rpm - begins) / _PIPE_RAMP_RPM, 0.0, 1.0)
                total += np.where(on[:, None] & off, share * self._plate_deg(), 0.0)
        free_form = x[:, self.first_node :]
        if free_form.any():
            places, root = self.nodes
            heights = NONE_U_DEG * free_form @ root.T
            hats = np.maximum(
                1 - np.abs(np.mean(speed_rpm, axis=0)[:, None] - places) / (places[1] - places[0]),
                0,
            )
            total += heights @ hats.T
        return total

    def residuals(self, x: NDArray, which: NDArray) -> NDArray:
        """Robust residuals of the readings, then the columns themselves."""
        return np.concatenate([robust(self.distances(x, which)), x], axis=1)

    def _plate_deg(self) -> float:
        full = full_travel_kpa(self.docket.capsules)
        return 0.0 if full is None else float(plate_advance_deg(self.docket.capsules, full))

    def _hypotheses(self) -> list[Hypothesis]:
        place = {f.key: i for i, f in enumerate(self.faults)}
        found = [
            Hypothesis(NOTHING_WRONG, (), (), WEIGHT_NOTHING),
            Hypothesis(NONE_OF_THESE, (), (), WEIGHT_NONE, free_form=True),
        ]
        for key, i in place.items():
            fault = self.faults[i]
            for sign in fault.signs:
                found.append(Hypothesis(key, (i,), (sign,), fault.weight / len(fault.signs)))
        for pair in PAIRS:
            if all(key in place for key in pair):
                one, two = (self.faults[place[key]] for key in pair)
                signs = [(a, b) for a in one.signs for b in two.signs]
                found += [
                    Hypothesis("+".join(pair), (place[pair[0]], place[pair[1]]), s,
                               PAIR_WEIGHT / len(signs))
                    for s in signs
                ]  # fmt: skip
        return found

    def _columns_of(self, h: Hypothesis) -> NDArray:
        free = np.zeros(self.columns, bool)
        free[: self.first_fault] = True
        for i in h.faults:
            free[self.first_fault + i] = self.faults[i].usual > 0
        free[self.first_node :] = h.free_form
        return free

    def _nodes(self) -> tuple[NDArray, NDArray]:
        """Speeds of the free deviation's nodes, and the root of its covariance between them."""
        s = self.simulator
        speed = s.shown_rpm[~s.pipe_on] / s.ratio
        places = np.linspace(speed.min() - 1.0, speed.max() + 1.0, _NONE_NODES)
        apart = (places[:, None] - places) / (1.5 * (places[1] - places[0]))
        return places, np.linalg.cholesky(np.exp(-0.5 * apart**2) + 1e-6 * np.eye(_NONE_NODES))

    def _basis(self) -> NDArray:
        """Directions z = basis · q in which a sound unit and its instruments differ from the
        docket, as far as the readings can show; q is standard normal.

        What is known of the parts is joined with what is known of the whole: the docket's curve
        holds for a sound unit within SOUND_U_DEG and SOUND_U_SPEED_SHARE.
        """
        shape = (1, len(self.sound))
        bounds = np.array([f.bounds for f in self.sound]).T

        def slopes(distances: Callable[[NDArray], NDArray]) -> NDArray:
            at = np.zeros(shape)
            return difference_jacobian(
                lambda z, member: distances(z), at, distances(at), bounds[:1], bounds[1:],
                np.ones(shape, bool), np.full(shape[1], 300.0), np.zeros(1, int), central=True,
            )[0]  # fmt: skip

        whole = slopes(self._curve_shift())
        covariance = np.linalg.inv(np.eye(shape[1]) + whole.T @ whole)
        root = np.linalg.cholesky(covariance)
        readings = slopes(lambda z: self.simulator.distances(self.table.at(z)))
        _, singular, right = np.linalg.svd(readings @ root, full_matrices=False)
        return root @ right[singular > _LEAST_DIRECTION].T

    def _curve_shift(self) -> Callable[[NDArray], NDArray]:
        """Distances of places on the docket's curve from the curve at z."""
        table = self.simulator.curves({})
        theta, rising = table.advance_deg, np.minimum(table.rising_rpm, 1e4)
        at = np.linspace(0.02, 0.98, _SOUND_PLACES) * theta[0, -1]
        speed = np.interp(at, theta[0], rising[0])[None]
        falling = np.interp(at, theta[0], table.falling_rpm[0])[None]
        # Half the weight each, as the branches share all but the friction.
        u_deg, u_share = np.sqrt(2.0) * SOUND_U_DEG, np.sqrt(2.0) * SOUND_U_SPEED_SHARE
        u_y = np.full((1, 2 * len(at)), u_deg)

        x = np.concatenate([speed, falling], axis=1)
        y = np.tile(at, 2)[None]
        u_x = u_share * x + 1.0
        branch = np.repeat([0, 1], len(at))

        def distances(z: NDArray) -> NDArray:
            now = self.simulator.curves(self.table.at(z))
            ways = np.stack([now.rising_rpm, now.falling_rpm], axis=1)
            return signed_distances(now.advance_deg, ways, branch, x, y, u_x, u_y)

        return distances


def _changed(value: NDArray, how: str, amount: NDArray) -> NDArray:
    if how == "add":
        return value + amount
    if how == "share":
        return value * np.maximum(1.0 + amount, _LEAST_SHARE)
    return np.where(amount != 0, 0.0, value)
