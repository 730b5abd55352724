"""The whole centrifugal prediction for one mechanism."""

from __future__ import annotations

from dataclasses import field
from functools import cached_property
from typing import Literal

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.balance import Balance, balance_of, balance_speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.turns import crossing_rad, with_turns
from bobweight.core.problems import BobweightError

_SAME_SPEED = 1e-12  # relative; below this two speeds are one, as rounding makes them differ
_ONE_ANGLE_DEG = 1e-9  # a take-up so near to rest or stop is none
_LEAST_JUMP_DEG = 1e-4
_LEAST_RPM = 1e-3  # a jump below it is at standstill, a plateau shorter than it is rounding
_BEYOND_FULL = 1.3  # how far past full speed the printed curve goes on

_MOST_ANSWERS = 500
"""Of a curve asked of more speeds, as by a hand that sweeps over it, all are forgotten."""


@frozen
class Branch:
    """One polyline: distributor speed and advance, both never falling along it."""

    speed_rpm: np.ndarray
    advance_deg: np.ndarray


@frozen
class Jump:
    """The weights are not stable between two angles and fly (or fall) from one to the other."""

    direction: str
    speed_rpm: float
    from_deg: float
    to_deg: float


@frozen
class Plateau:
    """The advance stands still while the speed climbs: a spring takes up with initial tension."""

    advance_deg: float
    from_rpm: float
    to_rpm: float


@frozen
class TakeUp:
    """A spring is taken up after rest; ``spring`` is its index in the mechanism."""

    spring: int
    advance_deg: float
    speed_rpm: float


@frozen
class Prediction:
    """Everything the closed form says of one mechanism, in distributor degrees and rev/min.

    Attributes
    ----------
    rising, falling : Branch
        From standstill to beyond full speed.
    start_rpm : float
        No advance below this speed, rising.
    full_rpm, full_deg : float
        Speed at which the stop is reached, rising, and the advance there.
    jumps, plateaus, take_ups : tuples
        In order of advance. Plateaus and take-ups are those of the rising curve.
    """

    mechanism: Mechanism = field(repr=False)
    rising: Branch
    falling: Branch
    start_rpm: float
    full_rpm: float
    full_deg: float
    jumps: tuple[Jump, ...]
    plateaus: tuple[Plateau, ...]
    take_ups: tuple[TakeUp, ...]

    @cached_property
    def _balance(self) -> Balance:
        return balance_of(self.mechanism)

    @cached_property
    def _answers(self) -> dict[str, dict[float, float]]:
        return {"rising": {}, "falling": {}}

    def advance_deg(self, speed_rpm: np.ndarray | float, direction: str = "rising") -> np.ndarray:
        """Advance in degrees at distributor speeds, exact: the polyline only finds the place. A few
        speeds, such as the table's, are asked again and again, and their answers remembered.

        Parameters
        ----------
        speed_rpm : array_like, any shape
        direction : {'rising', 'falling'}
        """
        speed = np.asarray(speed_rpm, dtype=float)
        if speed.size > _MOST_ANSWERS:
            return self._advance_deg(speed, direction)
        asked, known = speed.ravel().tolist(), self._answers[direction]
        new = [rpm for rpm in asked if rpm not in known]
        if len(known) + len(new) > _MOST_ANSWERS:  # others may be reading the old ones meanwhile
            known = self._answers[direction] = {}
            new = asked
        if new:
            known.update(zip(new, self._advance_deg(np.array(new), direction), strict=True))
        return np.array([known[rpm] for rpm in asked]).reshape(speed.shape)

    def _advance_deg(self, speed: np.ndarray, direction: str) -> np.ndarray:
        branch = self.rising if direction == "rising" else self.falling
        side: Literal["left", "right"] = "right" if direction == "rising" else "left"
        flat = speed.reshape(-1)
        after = np.clip(
            np.searchsorted(branch.speed_rpm, flat, side=side), 1, len(branch.speed_rpm) - 1
        )
        low, high = np.radians(branch.advance_deg[after - 1]), np.radians(branch.advance_deg[after])
        ends_rpm = branch.speed_rpm[after - 1], branch.speed_rpm[after]
        result = crossing_rad(self._balance, flat, low, high, direction, ends_rpm)
        result = np.where(np.isnan(flat), np.nan, result)
        found: np.ndarray = np.degrees(result).reshape(speed.shape)
        return found


def predict(mechanism: Mechanism, knots: int = 200, checked: bool = False) -> Prediction:
    """The rising and falling curve of a mechanism, with what marks them, from its closed form.

    Parameters
    ----------
    knots : int
        Knots of the curve between rest and stop; turning points are added.
    checked : bool
        True if the caller has found no grave problem in the mechanism already.

    Raises
    ------
    BobweightError
        The first of :func:`core.mechanics.checks.mechanism_problems` that is grave.
    """
    for problem in () if checked else mechanism_problems(mechanism):
        if problem.grave:
            raise BobweightError.of(problem)
    balance = balance_of(mechanism)
    speeds = with_turns(balance, balance_speeds(balance.builds, knots))
    table = curves(speeds)
    theta, up, down = table.advance_deg[0], table.rising_rpm[0], table.falling_rpm[0]
    start, full = float(up[0]), float(up[-1])
    end = max(full * _BEYOND_FULL, full + 200.0)
    jumps = (*_jumps(theta, up, "rising"), *_jumps(theta, down, "falling"))
    return Prediction(
        mechanism=mechanism,
        rising=_branch(theta, up, end),
        falling=_branch(theta, down, end),
        start_rpm=start,
        full_rpm=full,
        full_deg=float(theta[-1]),
        jumps=tuple(sorted(jumps, key=lambda j: (j.direction != "rising", j.from_deg))),
        plateaus=tuple(_plateaus(theta, up)),
        take_ups=tuple(_take_ups(balance, theta, up)),
    )


def _branch(theta: np.ndarray, rpm: np.ndarray, end: float) -> Branch:
    speed = np.concatenate([[0.0], rpm, [end]])
    return Branch(speed, np.concatenate([[0.0], theta, [theta[-1]]]))


def _jumps(theta: np.ndarray, monotone: np.ndarray, direction: str) -> list[Jump]:
    """Runs of knots of the monotone curve over which the speed stays and the angle changes."""
    moves = np.flatnonzero(np.diff(monotone) > _SAME_SPEED * np.maximum(monotone[1:], 1.0))
    first, last = np.append(0, moves + 1), np.append(moves, len(theta) - 1)
    wide = theta[last] - theta[first] > _LEAST_JUMP_DEG
    found = []
    for low, high in zip(first[wide], last[wide], strict=True):
        if monotone[high] > _LEAST_RPM:
            ends = (low, high) if direction == "rising" else (high, low)
            found.append(Jump(direction, float(monotone[high]), *(float(theta[i]) for i in ends)))
    return found


def _plateaus(theta: np.ndarray, rising: np.ndarray) -> list[Plateau]:
    steps = (np.diff(theta) == 0) & (np.diff(rising) > _LEAST_RPM)
    return [
        Plateau(float(theta[i]), float(rising[i]), float(rising[i + 1]))
        for i in np.flatnonzero(steps)
    ]


def _take_ups(balance: Balance, theta: np.ndarray, rising: np.ndarray) -> list[TakeUp]:
    found = []
    pairs = np.degrees(balance.take_ups_rad()[0]).reshape(-1, 2)
    for spring, angles in enumerate(pairs):
        for angle in angles[(angles > _ONE_ANGLE_DEG) & (angles < theta[-1] - _ONE_ANGLE_DEG)]:
            around = np.radians([[[angle - 1e-6, angle + 1e-6]]])
            before, after = balance.engaged_at(around)[spring][0, 0]
            if after and not before:
                index = min(int(np.searchsorted(theta, angle - 1e-9)), len(theta) - 1)
                found.append(TakeUp(spring, float(angle), float(rising[index])))
    return sorted(found, key=lambda t: t.advance_deg)


def whole_rpm(rpm: float) -> float:
    """A predicted distributor speed as it is told: in whole turns. A crank speed is told as this
    times the drive, so that the one is twice the other as written, too."""
    return float(np.rint(rpm))
