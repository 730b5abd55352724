"""Where speed turns as the cam goes ahead, and where the curve is taken up again after a jump.

Balance speeds on a grid miss the top of a hump by a little, and a jump starts at that top. Both
searches lay ever finer knots over every place at once; the balance is explicit, so nothing is
solved for. A crossing has more knots about where the straight line through its ends has it.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.mechanics.balance import RPM_PER_RAD_S, Balance, Speeds

_FINER = 16  # parts into which each round divides what is left
_ROUNDS = 6  # together they divide a grid step by 16⁶: to 1e-8 degrees
_EVEN = np.linspace(0.0, 1.0, _FINER + 1)
_ABOUT = np.outer((-1, 1), 10.0 ** np.arange(-8, -1)).ravel()  # of what is left
_NARROW_RAD = 1e-10  # two rounds where the speed is nearly straight


def with_turns(balance: Balance, speeds: Speeds) -> Speeds:
    """The speeds of one build with knots added at humps and hollows, and at landings of jumps."""
    for direction in ("rising", "falling"):
        speeds = _with_knots(balance, speeds, _humps(balance, speeds, direction))
        speeds = _with_knots(balance, speeds, _landings(balance, speeds, direction))
    return speeds


def crossing_rad(
    balance: Balance, speed_rpm: np.ndarray, low: np.ndarray, high: np.ndarray, direction: str,
    ends_rpm: tuple[np.ndarray, np.ndarray],
) -> np.ndarray:  # fmt: skip
    """The angle in radians at which a speed balances between two angles of one segment.

    Parameters
    ----------
    speed_rpm, low, high : array, shape (n,)
        Rising, the speed of balance is above ``speed_rpm`` at ``high``; falling, below it at
        ``low``.
    direction : {'rising', 'falling'}
        Rising, the first crossing from ``low``; falling, the first from ``high``. The answer is on
        this side of it, so that a jump's landing never lies beyond the speed of the jump.
    ends_rpm : arrays, shape (n,)
        About the speeds at ``low`` and ``high``: where to look first.
    """
    rising = direction == "rising"
    wanted, rows = speed_rpm[:, None], np.arange(len(speed_rpm))
    engaged = balance.engaged_at(0.5 * (low + high)[None, :, None])  # of the whole segment
    shares = _closer(speed_rpm, *ends_rpm)
    for _ in range(_ROUNDS):
        theta, rpm = _finer(balance, low, high, direction, engaged, shares)
        last = theta.shape[1] - 2
        if rising:
            beyond = rpm[:, 1:] > wanted
            first = np.where(beyond.any(axis=1), beyond.argmax(axis=1), last)
        else:
            beyond = rpm[:, -2::-1] < wanted
            first = last - np.where(beyond.any(axis=1), beyond.argmax(axis=1), last)
        low, high = theta[rows, first], theta[rows, first + 1]
        if not (high - low > _NARROW_RAD).any():
            break
        shares = _closer(speed_rpm, rpm[rows, first], rpm[rows, first + 1])
    return low if rising else high


def _closer(wanted: np.ndarray, before: np.ndarray, after: np.ndarray) -> np.ndarray:
    """Shares of stretches with these speeds at their ends: even ones, and some ever closer about
    where a straight line has the wanted speed; shape (stretches, knots)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        straight = (wanted - before) / (after - before)
    about = np.nan_to_num(straight, nan=0.5)[:, None] + _ABOUT
    even = np.broadcast_to(_EVEN, (len(about), len(_EVEN)))
    return np.sort(np.clip(np.concatenate([about, even], axis=1), 0.0, 1.0), axis=1)


def _finer(
    balance: Balance, low: np.ndarray, high: np.ndarray, direction: str,
    engaged: list[np.ndarray], shares: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:  # fmt: skip
    """Knots at these shares between each pair of angles and the speeds there, both of shape
    (n, knots)."""
    theta = (low[:, None] + (high - low)[:, None] * shares)[None]
    squares = balance.speed_squared(theta, engaged)
    square = squares[0 if direction == "rising" else 1]
    return theta[0], np.sqrt(square[0]) * RPM_PER_RAD_S


def _humps(balance: Balance, speeds: Speeds, direction: str) -> np.ndarray:
    """Angles where speed has a smooth maximum (rising) or minimum (falling) between its knots."""
    theta, height = speeds.theta_rad[0], _height(speeds, direction)
    apart = np.diff(theta) > 0
    with np.errstate(invalid="ignore"):
        step = np.diff(height)
        inside = apart[:-1] & apart[1:] & (step[:-1] >= 0) & (step[1:] <= 0)
        inside &= (step[:-1] > 0) | (step[1:] < 0)
        # At the ends of a segment the parabola through three knots tells whether it turns.
        three = apart[:-1] & apart[1:]
        falls_to_end = three & (step[1:] > 0) & (3 * step[1:] < step[:-1])
        falls_from_start = three & (step[:-1] < 0) & (3 * step[:-1] > step[1:])
    before_edge = np.append(~apart[2:], True)
    after_edge = np.insert(~apart[:-2], 0, True)
    to_end = np.flatnonzero(falls_to_end & before_edge) + 1
    from_start = np.flatnonzero(falls_from_start & after_edge)
    first = np.concatenate([np.flatnonzero(inside), to_end, from_start])
    wide = np.zeros(len(first), dtype=int) + 1
    wide[: inside.sum()] = 2
    low, high = theta[first], theta[first + wide]
    if not len(first):
        return np.empty(0)
    rows, sign = np.arange(len(low)), 1.0 if direction == "rising" else -1.0
    engaged = balance.engaged_at(0.5 * (low + high)[None, :, None])
    for _ in range(_ROUNDS):
        knots, rpm = _finer(balance, low, high, direction, engaged, _EVEN)
        top = np.argmax(sign * rpm, axis=1)
        low, high = knots[rows, np.maximum(top - 1, 0)], knots[rows, np.minimum(top + 1, _FINER)]
    found: np.ndarray = knots[rows, top]
    return found


def _landings(balance: Balance, speeds: Speeds, direction: str) -> np.ndarray:
    """Angles where the curve goes on after each jump: the speed of the jump balances again."""
    theta, height = speeds.theta_rad[0], _height(speeds, direction)
    order = slice(None) if direction == "rising" else slice(None, None, -1)
    level = np.maximum.accumulate(height[order])[order]
    if direction == "rising":
        here, on = slice(None, -1), slice(1, None)  # the curve comes from here and goes on
    else:
        here, on = slice(1, None), slice(None, -1)
    lands = (height[here] < level[here]) & (height[on] > level[here]) & (np.diff(theta) > 0)
    lands &= np.isfinite(level[here])
    at = np.flatnonzero(lands)
    if not len(at):
        return np.empty(0)
    ends_rpm = abs(height[at]), abs(height[at + 1])
    return crossing_rad(
        balance, abs(level[here][at]), theta[at], theta[at + 1], direction, ends_rpm
    )


def _height(speeds: Speeds, direction: str) -> np.ndarray:
    """Speeds of the one build, turned over for falling: a jump leaves a top of it."""
    found: np.ndarray = speeds.rising_rpm[0] if direction == "rising" else -speeds.falling_rpm[0]
    return found


def _with_knots(balance: Balance, speeds: Speeds, angles_rad: np.ndarray) -> Speeds:
    """The speeds with further knots, none of them at a take-up."""
    if not len(angles_rad):
        return speeds
    angles = np.setdiff1d(angles_rad, speeds.theta_rad[0])
    points = angles[None, :, None]
    squares = balance.speed_squared(points, balance.engaged_at(points))
    place = np.searchsorted(speeds.theta_rad[0], angles)
    columns = (angles, *(np.sqrt(square[0, :, 0]) * RPM_PER_RAD_S for square in squares))
    old = (speeds.theta_rad, speeds.rising_rpm, speeds.falling_rpm)
    return Speeds(*(np.insert(a, place, b, axis=1) for a, b in zip(old, columns, strict=True)))
