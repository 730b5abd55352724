"""The whole centrifugal prediction for one mechanism."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from core.docket.mechanism import Mechanism
from core.mechanics.balance import RPM_PER_RAD_S, Balance, Speeds, balance_speeds
from core.mechanics.branches import curves
from core.mechanics.builds import Builds
from core.mechanics.checks import mechanism_problems
from core.problems import BobweightError

_SAME_SPEED = 1e-9  # relative; below this two speeds are one, as rounding makes them differ
_LEAST_JUMP_DEG = 1e-4
_BEYOND_FULL = 1.3  # how far past full speed the printed curve goes on


@dataclass(frozen=True)
class Branch:
    """One polyline: distributor speed and advance, both never falling along it."""

    speed_rpm: np.ndarray
    advance_deg: np.ndarray


@dataclass(frozen=True)
class Jump:
    """The weights are not stable between two angles and fly (or fall) from one to the other."""

    direction: str
    speed_rpm: float
    from_deg: float
    to_deg: float


@dataclass(frozen=True)
class Plateau:
    """The advance stands still while the speed climbs: a spring takes up with initial tension."""

    advance_deg: float
    from_rpm: float
    to_rpm: float


@dataclass(frozen=True)
class TakeUp:
    """A spring is taken up after rest; ``spring`` is its index in the mechanism."""

    spring: int
    advance_deg: float
    speed_rpm: float


@dataclass(frozen=True)
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
        return Balance(Builds(self.mechanism))

    def advance_deg(self, speed_rpm: np.ndarray | float, direction: str = "rising") -> np.ndarray:
        """Advance in degrees at distributor speeds, exact: the polyline only finds the place.

        Parameters
        ----------
        speed_rpm : array_like, any shape
        direction : {'rising', 'falling'}
        """
        speed = np.asarray(speed_rpm, dtype=float)
        branch = self.rising if direction == "rising" else self.falling
        side = "right" if direction == "rising" else "left"
        flat = speed.reshape(-1)
        after = np.clip(
            np.searchsorted(branch.speed_rpm, flat, side=side), 1, len(branch.speed_rpm) - 1
        )
        low, high = np.radians(branch.advance_deg[after - 1]), np.radians(branch.advance_deg[after])
        result = self._zoom(flat, low, high, direction)
        result = np.where(flat < branch.speed_rpm[0], 0.0, result)
        return np.degrees(result).reshape(speed.shape)

    def _zoom(
        self, speed: np.ndarray, low: np.ndarray, high: np.ndarray, direction: str
    ) -> np.ndarray:
        """The angle of each speed between two neighbouring knots, by ever finer knots."""
        rising = direction == "rising"
        share = np.linspace(0.0, 1.0, 17)
        wanted = speed[:, None, None]
        rows = np.arange(len(speed))
        for _ in range(8):  # 16⁸ finer than the knots: to rounding
            theta = (low[:, None] + (high - low)[:, None] * share)[:, None, :]
            middle = 0.5 * (low + high)[:, None, None]
            engaged = self._balance.engaged_at(middle)
            squares = self._balance.speed_squared(theta, engaged)
            rpm = np.sqrt(squares[0 if rising else 1]) * RPM_PER_RAD_S
            if rising:  # first knot above the speed
                beyond = (rpm > wanted)[:, 0, 1:]
                first = np.where(beyond.any(axis=1), beyond.argmax(axis=1), 15)
                new_low, new_high = theta[rows, 0, first], theta[rows, 0, first + 1]
            else:  # going down from the stop, first knot below the speed
                below = (rpm < wanted)[:, 0, :-1]
                last = np.where(below.any(axis=1), 15 - below[:, ::-1].argmax(axis=1), 0)
                new_low, new_high = theta[rows, 0, last], theta[rows, 0, last + 1]
            low, high = new_low, new_high
        return 0.5 * (low + high)


def predict(mechanism: Mechanism, knots: int = 200) -> Prediction:
    """The rising and falling curve of a mechanism, with what marks them, from its closed form.

    Parameters
    ----------
    mechanism : Mechanism
    knots : int
        Knots of the curve between rest and stop; turning points are added.

    Raises
    ------
    BobweightError
        The first of :func:`core.mechanics.checks.mechanism_problems` that is grave.
    """
    for problem in mechanism_problems(mechanism):
        if problem.grave:
            raise BobweightError.of(problem)
    builds = Builds(mechanism)
    speeds = balance_speeds(builds, knots)
    extra = _turning_angles(Balance(builds), speeds)
    if len(extra):
        speeds = balance_speeds(builds, knots, extra)
    table = curves(speeds)
    theta, up, down = table.advance_deg[0], table.rising_rpm[0], table.falling_rpm[0]
    raw_up, raw_down = speeds.rising_rpm[0], speeds.falling_rpm[0]
    start, full = float(up[0]), float(up[-1])
    end = max(full * _BEYOND_FULL, full + 200.0)
    jumps = (*_jumps(theta, up, raw_up, "rising"), *_jumps(theta, down, raw_down, "falling"))
    return Prediction(
        mechanism=mechanism,
        rising=_branch(theta, up, end),
        falling=_branch(theta, down, end),
        start_rpm=start,
        full_rpm=full,
        full_deg=float(theta[-1]),
        jumps=tuple(sorted(jumps, key=lambda j: (j.direction != "rising", j.from_deg))),
        plateaus=tuple(_plateaus(theta, up)),
        take_ups=tuple(_take_ups(Balance(builds), theta, up)),
    )


def _branch(theta: np.ndarray, rpm: np.ndarray, end: float) -> Branch:
    speed = np.concatenate([[0.0], rpm, [end]])
    return Branch(speed, np.concatenate([[0.0], theta, [theta[-1]]]))


def _turning_angles(balance: Balance, speeds: Speeds) -> np.ndarray:
    """Angles of every maximum and minimum of speed, and where the curve lands after a jump."""
    theta = speeds.theta_rad[0]
    angles: list[float] = []
    for which, rpm in enumerate((speeds.rising_rpm[0], speeds.falling_rpm[0])):
        if np.all(np.diff(rpm) >= 0):
            continue
        rising = which == 0

        def speed_at(angle: float, which: int = which) -> float:
            point = np.array([[[angle]]])
            square = balance.speed_squared(point, balance.engaged_at(point))[which]
            return float(np.sqrt(square[0, 0, 0]) * RPM_PER_RAD_S)

        peaks = _peaks(theta, rpm, speed_at, rising)
        for angle, speed in peaks:
            angles += [angle, *_landings(theta, rpm, speed_at, angle, speed, rising)]
    return np.array(angles)


def _peaks(theta: np.ndarray, rpm: np.ndarray, speed_at: Callable[[float], float], rising: bool):
    """Maxima (rising) or minima (falling) of speed: pairs of angle and speed."""
    sign = -1.0 if rising else 1.0
    found = []
    for i in range(len(theta)):
        low, high = max(i - 1, 0), min(i + 1, len(theta) - 1)
        turns = sign * rpm[i] <= min(sign * rpm[low], sign * rpm[high])
        flat = rpm[i] == rpm[low] == rpm[high]
        if not turns or flat or not np.isfinite(rpm[i]):
            continue
        best = (float(theta[i]), float(rpm[i]))
        if theta[low] < theta[i] < theta[high] and np.isfinite(rpm[low] + rpm[high]):
            peak = minimize_scalar(
                lambda a: sign * speed_at(a),
                bounds=(theta[low], theta[high]),
                method="bounded",
                options={"xatol": 1e-10},
            )
            if peak.fun < sign * rpm[i]:
                best = (float(peak.x), float(sign * peak.fun))
        found.append(best)
    return found


def _landings(
    theta: np.ndarray,
    rpm: np.ndarray,
    speed_at: Callable[[float], float],
    angle: float,
    speed: float,
    rising: bool,
) -> list[float]:
    """Where the curve is taken up again after leaving a peak: the crossing of the same speed."""
    order = range(len(theta) - 1) if rising else range(len(theta) - 2, -1, -1)
    for i in order:
        low, high = theta[i], theta[i + 1]
        past = low > angle if rising else high < angle
        if not past or low == high or not np.isfinite(rpm[i] + rpm[i + 1]):
            continue
        if min(rpm[i], rpm[i + 1]) < speed < max(rpm[i], rpm[i + 1]):
            crossing = brentq(lambda a: speed_at(a) - speed, low, high, xtol=1e-13)
            return [float(crossing)]
    return []


def _jumps(theta: np.ndarray, monotone: np.ndarray, raw: np.ndarray, direction: str) -> list[Jump]:
    """Runs of the monotone curve where the speed does not change while the angle does."""
    found = []
    same = np.diff(monotone) <= _SAME_SPEED * np.maximum(monotone[1:], 1.0)
    same &= np.diff(theta) > 0
    steps = np.flatnonzero(~same & (np.diff(theta) > 0))  # steps of ordinary advance
    start = 0
    while start < len(same):
        if not same[start]:
            start += 1
            continue
        later = steps[steps >= start]
        end = int(later[0]) if len(later) else len(theta) - 1
        low, high = float(theta[start]), float(theta[end])
        speed = float(monotone[end])
        if high - low > _LEAST_JUMP_DEG and speed > 0:
            ends = (low, high) if direction == "rising" else (high, low)
            found.append(Jump(direction, speed, *ends))
        start = max(end, start + 1)
    return found


def _plateaus(theta: np.ndarray, rising: np.ndarray) -> list[Plateau]:
    steps = (np.diff(theta) == 0) & (np.diff(rising) > _SAME_SPEED * np.maximum(rising[1:], 1.0))
    return [
        Plateau(float(theta[i]), float(rising[i]), float(rising[i + 1]))
        for i in np.flatnonzero(steps)
    ]


def _take_ups(balance: Balance, theta: np.ndarray, rising: np.ndarray) -> list[TakeUp]:
    found = []
    pairs = np.degrees(balance.take_ups_rad()[0]).reshape(-1, 2)
    for spring, angles in enumerate(pairs):
        for angle in angles[(angles > 0) & (angles < theta[-1])]:
            just_after = np.radians([[[angle + 1e-6]]])
            if balance.engaged_at(just_after)[spring].all():
                index = min(int(np.searchsorted(theta, angle - 1e-9)), len(theta) - 1)
                found.append(TakeUp(spring, float(angle), float(rising[index])))
    return sorted(found, key=lambda t: t.advance_deg)
