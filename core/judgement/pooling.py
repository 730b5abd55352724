"""Readings in columns, and long logs of them pooled: one entry a speed, direction and depression.

A rig writes thousands of readings. Pooled, a session of any length comes to a few hundred entries
that hold the same: the mean of what was read near one speed, how far the single readings scatter
about it, and how well that makes the mean known. What is stored stays as it was read.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from bobweight.core.arrays import Floats
from bobweight.core.docket.readings import DIRECTIONS, Session
from bobweight.core.frozen import frozen
from bobweight.core.record import taken
from bobweight.core.statistics.robust import student_weights

POOL_FROM = 200
"""A session of more readings than this is pooled."""
MOST_POOLS = 300
"""Pools are made wider until there are no more than so many."""

POOL_CLOSELY_FROM = 60
"""So many readings are judged one by one, but for repeats."""
FEWEST_REPEATS = 3
SHARED = 0.12
"""Share of a reading's variance that repeats of one place have in common (common practice)."""
_FEW_CELLS = 24
_PRIOR_DOF = 4.0  # readings' worth of trust in the stated uncertainty
_CELLS = 80  # pools over the whole range of speed, where the readings are finer
_WAYS = tuple(DIRECTIONS)
_MAD = 1.4826
"""Standard deviation per median absolute deviation of normal data; of n of them n/(n − 0.8) more
(Croux, Rousseeuw, Computational Statistics 1 (1992) 411)."""
_ENOUGH_FOR_SLOPE = 8


@frozen(eq=False)
class Shown:
    """Readings as the instruments showed them, or pools of them; arrays of shape (readings,).

    Attributes
    ----------
    index : int array
        Row in ``session.readings``; of a pool, the first of its rows.
    speed_rpm, angle_deg, depression_kpa : array
        Depression NaN with the pipe off.
    u_speed_rpm, u_angle_deg, u_depression_kpa : array
        Standard uncertainties.
    direction : str array
    left_out : bool array
    count : int array
        Readings in each entry, 1 where nothing was pooled.
    scatter_deg : array
        Standard deviation of the single readings about their pool; NaN for one.
    members : tuple of int array
        Rows of each pool, in order; empty where nothing was pooled.
    """

    index: NDArray[np.int_]
    speed_rpm: Floats
    angle_deg: Floats
    depression_kpa: Floats
    u_speed_rpm: Floats
    u_angle_deg: Floats
    u_depression_kpa: Floats
    direction: NDArray[np.object_]
    left_out: NDArray[np.bool_]
    count: NDArray[np.int_]
    scatter_deg: Floats
    members: tuple[NDArray[np.int_], ...] = ()


def shown_readings(session: Session) -> Shown:
    """The readings of a session in columns, unpooled; half typed rows are passed over."""
    instrument = session.instrument
    half_typed = any(r.speed_rpm is None or r.angle_deg is None for r in session.readings)
    index = np.array(
        [
            i
            for i, r in enumerate(session.readings)
            if not half_typed or None not in (r.speed_rpm, r.angle_deg)
        ],
        dtype=int,
    )
    rows = [session.readings[i] for i in index] if half_typed else session.readings
    columns = list(zip(*map(_COLUMNS, rows), strict=True)) or [()] * 6
    speed, angle, depressions, directions, left_out, stated = columns
    depression = np.array(depressions, dtype=float)  # None becomes NaN
    u = {
        key: np.full(len(rows), taken(instrument, f"u_{key}"), dtype=float)
        for key in ("speed_rpm", "angle_deg", "depression_kpa")
    }
    for row, own in enumerate(stated):
        for key in own:
            u[key][row] = own[key]
    return Shown(
        index=index,
        speed_rpm=np.array(speed, dtype=float),
        angle_deg=np.array(angle, dtype=float),
        depression_kpa=depression,
        u_speed_rpm=u["speed_rpm"],
        u_angle_deg=u["angle_deg"],
        u_depression_kpa=np.where(np.isnan(depression), np.nan, u["depression_kpa"]),
        direction=np.array(directions, dtype=object),
        left_out=np.array(left_out, dtype=bool),
        count=np.ones(len(rows), dtype=int),
        scatter_deg=np.full(len(rows), np.nan),
    )


_COLUMNS = attrgetter("speed_rpm", "angle_deg", "depression_kpa", "direction", "left_out", "u")


def pooled(shown: Shown, longest: int = POOL_FROM, cells: int | None = _CELLS) -> Shown:
    """The readings pooled by direction, speed and depression, if there are more than ``longest``,
    over so many cells of speed.

    Notes
    -----
    A pool's angle is that of a line through its readings at their mean speed (of the mean alone
    where they are few), by Student weights started from the median, so that a slip does not move
    it. Its uncertainty is the greater of the stated one and the scatter, over the root of the
    readings' effective number: readings are taken to err independently of each other, while what
    they share (mark, static, tachometer) is reckoned elsewhere and does not average out. Readings
    that are left out are pooled with their like only.
    """
    if len(shown.index) <= longest:
        return shown
    pool, first = _pools(shown, cells)
    count = np.bincount(pool)
    ordered = np.argsort(pool, kind="stable")
    starts = np.concatenate([[0], np.cumsum(count)[:-1]])
    angle, speed, depression, scatter, effective = _means(shown, pool, count, starts)
    mean_u2 = np.bincount(pool, shown.u_angle_deg**2) / count
    root = np.sqrt(effective)
    u_depression = np.sqrt(np.bincount(pool, shown.u_depression_kpa**2) / count) / root
    return replace(
        shown,
        index=shown.index[first],
        speed_rpm=speed,
        angle_deg=angle,
        depression_kpa=depression,
        u_speed_rpm=np.sqrt(np.bincount(pool, shown.u_speed_rpm**2) / count) / root,
        u_angle_deg=np.sqrt(np.maximum(mean_u2, np.nan_to_num(scatter) ** 2)) / root,
        u_depression_kpa=u_depression,
        direction=shown.direction[first],
        left_out=shown.left_out[first],
        count=count,
        scatter_deg=scatter,
        members=tuple(np.split(shown.index[ordered], starts[1:])),
    )


def pooled_closely(shown: Shown) -> Shown:
    """Readings as they are judged: repeats of one place as one entry, and many close together.

    Notes
    -----
    Repeats share what the eye does at a place: rounding, parallax, the width of the mark. So an
    entry is never surer than :data:`SHARED` of one reading's variance allows, and where repeats
    agree better than stated, what they do not show counts as shared.
    """
    many = len(shown.index) > POOL_CLOSELY_FROM
    if not many and not _repeated(shown):
        return shown
    found = pooled(shown, 0, _FEW_CELLS if many else None)
    own = np.bincount(_member_of(found), shown.u_angle_deg**2) / found.count
    scatter = np.nan_to_num(found.scatter_deg) ** 2 * np.maximum(found.count - 1, 0)
    each = (_PRIOR_DOF * own + scatter) / (_PRIOR_DOF + found.count - 1)
    shared = np.maximum(SHARED * own, own - each)
    u = np.where(found.count > 1, np.sqrt(each / found.count + shared), found.u_angle_deg)
    return replace(found, u_angle_deg=u)


def _member_of(found: Shown) -> NDArray[np.int_]:
    """The pool of each reading, in the readings' order."""
    rows = np.concatenate(found.members)
    pool = np.repeat(np.arange(len(found.members)), [len(m) for m in found.members])
    return pool[np.argsort(rows, kind="stable")]


def _repeated(shown: Shown) -> bool:
    """Whether a place was read three times, or places again as a rule: seven readings, three to
    every two of them."""
    depression = np.nan_to_num(shown.depression_kpa, nan=-1.0)
    columns = (shown.speed_rpm.tolist(), shown.direction, depression.tolist())
    places = Counter(zip(*columns, strict=True))
    if max(places.values(), default=0) >= FEWEST_REPEATS:
        return True
    return len(shown.index) >= 3 * FEWEST_REPEATS - 2 and (
        len(shown.index) >= FEWEST_REPEATS * len(places) / 2
    )


def _pools(shown: Shown, cells: int | None = _CELLS) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
    """The pool of each reading, numbered as they first appear, and each pool's first reading; with
    no number of cells, repeats of one shown speed only."""
    way = np.select([shown.direction == name for name in _WAYS], range(len(_WAYS)))
    pipe_on = ~np.isnan(shown.depression_kpa)
    depression = np.where(pipe_on, shown.depression_kpa, 0.0)
    width_rpm = 1e-3
    if cells is not None:
        width_rpm = max(float(np.ptp(shown.speed_rpm)) / cells, _middle(shown.u_speed_rpm))
    width_kpa = 1.0
    if pipe_on.any():
        width_kpa = max(
            float(np.ptp(depression[pipe_on])) / _CELLS, _middle(shown.u_depression_kpa[pipe_on])
        )
    state = way * 4 + shown.left_out * 2 + pipe_on
    while True:
        fast, deep = np.rint(shown.speed_rpm / width_rpm), np.rint(depression / width_kpa)
        key = (state * (deep.max() + 1) + deep) * (fast.max() + 1) + fast
        _, first, pool = np.unique(key, return_index=True, return_inverse=True)
        if len(first) <= MOST_POOLS:
            break
        width_rpm, width_kpa = 1.5 * width_rpm, 1.5 * width_kpa
    order = np.argsort(first)
    number = np.empty_like(order)
    number[order] = np.arange(len(order))
    return number[pool], first[order]


def _middle(values: Floats) -> float:
    """The upper median; numpy's own loads masked arrays first."""
    return float(np.sort(values)[len(values) // 2])


def _means(
    shown: Shown,
    pool: NDArray[np.int_],
    count: NDArray[np.int_],
    starts: NDArray[np.int_],
) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Angle, speed, depression, scatter and effective number of readings of each pool."""

    def total(values: Floats) -> Floats:
        return np.bincount(pool, values, minlength=len(count)).astype(float)

    x, y = shown.speed_rpm, shown.angle_deg
    rest = y - _medians(y, pool, count, starts)[pool]
    scatter = _scatter(rest, pool, count, starts)
    for _ in range(4):
        scale = np.maximum(shown.u_angle_deg, np.nan_to_num(scatter)[pool])
        weight = student_weights(rest / scale) / shown.u_angle_deg**2
        sums = total(weight)
        speed, angle = total(weight * x) / sums, total(weight * y) / sums
        dx = x - speed[pool]
        spread2 = total(weight * dx**2)
        with np.errstate(invalid="ignore", divide="ignore"):
            slope = total(weight * dx * y) / spread2
        slope = np.where((count >= _ENOUGH_FOR_SLOPE) & (spread2 > 0), slope, 0.0)
        rest = y - angle[pool] - slope[pool] * dx
        scatter = _scatter(rest, pool, count, starts)
    depression = total(weight * shown.depression_kpa) / sums
    return angle, speed, depression, scatter, sums**2 / total(weight**2)


def _scatter(
    rest: Floats,
    pool: NDArray[np.int_],
    count: NDArray[np.int_],
    starts: NDArray[np.int_],
) -> Floats:
    robust = _MAD * _medians(np.abs(rest), pool, count, starts)
    few = count < _ENOUGH_FOR_SLOPE
    free = np.maximum(count - np.where(few, 1, 2), 1)
    plain2 = np.bincount(pool, rest**2, minlength=len(count)) / free
    away = np.where(few, np.sqrt(plain2), robust * np.sqrt(count / free) * count / (count - 0.8))
    return np.where(count > 1, away, np.nan)


def _medians(
    values: Floats,
    pool: NDArray[np.int_],
    count: NDArray[np.int_],
    starts: NDArray[np.int_],
) -> Floats:
    """The median of each pool's values."""
    low, high = values.min(), values.max()
    place = (values - low) / ((high - low) or 1.0)  # within a pool, below the next one
    rising = values[np.argsort(pool + 0.5 * place)]
    middle: Floats = 0.5 * (rising[starts + (count - 1) // 2] + rising[starts + count // 2])
    return middle
