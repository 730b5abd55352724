"""The sound unit: what figures, trade and table jointly say it is, before any reading.

Figures are taken as :mod:`core.judgement.fit_values` knows them. The table enters as a few more
rows of residuals: at each check point the sound curve lies about the band's middle with a spread
of half its half-width, neighbouring points going together; a limit on one side only pushes from
that side. Of a table of hundreds of points, which is a drawn curve read off, every so many enter:
those between say nothing new. The joint distribution is taken as normal about its mode. It is made
once for given figures and table.
"""

from __future__ import annotations

from copy import copy
from dataclasses import field
from functools import cached_property, lru_cache

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.setting_up import SettingUp
from bobweight.core.docket.target import WAYS, Target
from bobweight.core.frozen import frozen
from bobweight.core.judgement.assume import LEAST_HALF_DEG, SPREAD_SHARE, Assumed, assume
from bobweight.core.judgement.compare import bands
from bobweight.core.judgement.fit_curves import Values
from bobweight.core.judgement.fit_distance import signed_distances
from bobweight.core.judgement.fit_values import FreeValue, ValueTable, mechanism_values
from bobweight.core.judgement.told import Told
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.branches import Curves, curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.problems import required
from bobweight.core.statistics.least_squares import difference_jacobian, minimise

KNOTS = 40
_ONE_SIDED_DEG = 0.5  # how far inside a lone limit a sound unit usually stays
_TOGETHER = 0.8  # share of the variance that neighbouring points have together
_REACH = 0.35  # over which share of the table's logarithmic range they go together
_MOST_ROWS = 64  # points of a table that enter
_U_SPEED_SHARE = 0.01  # of a point's speed, so that steep places do not count for more
OTHER_TABLE_SHARE = 0.03
"""Chance that a table is not this unit's (common practice)."""
_MOST_LOG = 600.0  # short of what overflows
_OTHER_TABLE_SPREAD = 6.0  # how far off such a table is, in a sound unit's spreads
_STARTS, _MORE_STARTS = 8, 40
"""Points beforehand that the likeliest is looked for from, and as many as once more where the table
is not met: from few places the search may end where a spring is taken up on the wrong side of a
point."""
_START_SPREAD = 0.65  # of such points, in uncertainties
_UNMET = 0.3  # cost of the table's rows above which it is not met


@frozen(eq=False)
class SoundUnit:
    """A sound unit before the readings.

    Attributes
    ----------
    assumed : Assumed
        The mechanism without blanks, and what was filled in.
    free : tuple of FreeValue
        The mechanism's values, by path in the docket; points z are in their uncertainties.
    z : array, shape (values,)
        The likeliest point by figures and table.
    root : array, shape (values, values)
        z + root · q is as probable as q is standard normal.
    other_table : float
        Probability that the table is not this unit's; 0 where the figures cannot say.
    rows : TableRows or None
        What the table says; None without one.
    figures : tuple of array
        As ``z`` and ``root``, the table aside.
    log_other : float
        Logarithm of the odds that ``other_table`` is a probability of.
    """

    assumed: Assumed
    free: tuple[FreeValue, ...]
    z: Floats
    root: Floats
    other_table: float
    rows: TableRows | None = None
    figures: tuple[Floats, Floats] = field(default=(np.zeros(0), np.eye(0)), repr=False)
    log_other: float = -np.inf

    def log_density(self, z: Floats, now: Curves) -> Floats:
        """Logarithm of what figures and table say of points z with these curves, less that of the
        likeliest, shape (batch,)."""
        found: Floats = self._least_cost - self._cost(z, now)
        return 0.5 * found

    @property
    def cost(self) -> float:
        """What figures and table cost at the likeliest point, more than what other sessions told
        does without a table: how ill they go together."""
        told, without = required(self.rows).told, 0.0
        if told is not None:
            z = self.figures[0]
            without = float(np.sum(told.residuals(z[None]) ** 2) + np.sum(z**2))
        return float(self._least_cost[0]) - without

    @property
    def log_table(self) -> float:
        """Logarithm of how probable the table is by the figures, after Laplace."""
        after, before = (np.sum(np.log(np.diagonal(r))) for r in (self.root, self.figures[1]))
        return float(after - before) - 0.5 * self.cost

    @cached_property
    def _least_cost(self) -> Floats:
        return self._cost(self.z[None], None)

    def _cost(self, z: Floats, now: Curves | None) -> Floats:
        rows = self.rows
        assert rows is not None
        cost: Floats = np.sum(rows.residuals(z, now) ** 2, axis=1) + np.sum(z**2, axis=1)
        return cost

    @property
    def mechanism(self) -> Mechanism:
        """The mechanism without blanks."""
        return self.assumed.mechanism


def sound_unit(docket: Docket, told: Told | None = None) -> SoundUnit:
    """What figures and table of a docket, and other sessions of the unit, say of the sound unit."""
    return _sound(docket.mechanism, docket.target, docket.particulars, docket.setting_up, told)


@lru_cache(maxsize=8)
def _sound(
    mechanism: Mechanism, target: Target, particulars: Particulars, setting_up: SettingUp,
    told: Told | None,
) -> SoundUnit:  # fmt: skip
    docket = Docket(
        mechanism=mechanism, target=target, particulars=particulars, setting_up=setting_up
    )
    assumed = assume(docket)
    free = mechanism_values(assumed)
    rows = TableRows(docket, assumed.mechanism, free, told)
    count = len(free)
    alone = (np.zeros(count), np.eye(count)) if told is None else told.alone
    if not rows.count:
        return SoundUnit(assumed, free, *alone, 0.0, figures=alone)
    low, high = np.array([f.bounds for f in free]).T
    z = _likeliest(rows, np.clip(alone[0], low, high)[None], _STARTS, low, high)
    if np.sum(rows.of_table(z[None]) ** 2) > _UNMET:
        z = _likeliest(rows, z[None], _MORE_STARTS, low, high)
    slopes = rows.slopes(z, low, high)
    covariance = np.linalg.inv(np.eye(count) + slopes.T @ slopes)
    log_other = -np.inf
    if told is not None:  # that other sessions agree with the table is another matter
        log_other = _sound(mechanism, target, particulars, setting_up, None).log_other
    elif not assumed.known:
        log_other = _log_other(rows.residuals(z[None])[0], slopes, z)
    other = float(1.0 / (1.0 + np.exp(-log_other)))
    root = np.linalg.cholesky(covariance)
    return SoundUnit(assumed, free, z, root, other, rows, alone, log_other)


def _likeliest(rows: TableRows, known: Floats, more: int, low: Floats, high: Floats) -> Floats:
    """The likeliest point by figures and table that is found from what is known and from so many
    points beforehand."""
    drawn = _START_SPREAD * np.random.default_rng(more).normal(size=(more, len(low)))
    found = minimise(
        lambda z, member: np.concatenate([rows.residuals(z), z], axis=1),
        np.concatenate([known, np.clip(drawn, low, high)]), low, high,
        tolerance=1e-4, most_steps=30, hopeless=15.0,
    )  # fmt: skip
    best: Floats = found.x[found.best]
    return best


def _log_other(r: Floats, slopes: Floats, z: Floats) -> float:
    """Logarithm of the odds that the table is another unit's, straight-line about the mode."""
    off = r - slopes @ z  # of the figures' own curve
    shared = slopes @ slopes.T
    logs = []
    for spread in (1.0, _OTHER_TABLE_SPREAD):
        matrix = spread**2 * np.eye(len(r)) + shared
        logs.append(-0.5 * (off @ np.linalg.solve(matrix, off) + np.linalg.slogdet(matrix)[1]))
    odds = np.log(OTHER_TABLE_SHARE / (1 - OTHER_TABLE_SHARE))
    return float(odds + min(logs[1] - logs[0], _MOST_LOG))


def curves_of(mechanism: Mechanism, values: Values) -> Curves:
    """Curves of units of a mechanism with these values, all of them its own."""
    inside = {path[1:]: value for path, value in values.items()}
    return curves(balance_speeds(Builds(mechanism, inside), KNOTS))


class TableRows:
    """The target's rows as residuals of a mechanism's values, in spreads of a sound unit."""

    def __init__(
        self, docket: Docket, mechanism: Mechanism, free: tuple[FreeValue, ...],
        told: Told | None = None,
    ):  # fmt: skip
        self.mechanism, self.table, self.told = mechanism, ValueTable(free), told
        asked = bands(docket, 0.0)
        self.ways = tuple(WAYS.index(way) for way in docket.target.ways)
        kind = np.array(asked.kind, dtype=object)
        curve = np.flatnonzero((kind == "check") | (kind == "start"))
        if len(curve) > _MOST_ROWS:
            curve = curve[np.linspace(0, len(curve) - 1, _MOST_ROWS).round().astype(int)]
        low, high = asked.low_deg[curve], asked.high_deg[curve]
        self.speed = asked.where[curve]
        both = np.isfinite(low) & np.isfinite(high)
        self.both = both
        with np.errstate(invalid="ignore"):
            self.middle = np.where(both, 0.5 * (low + high), 0.0)
            half = np.where(both, np.maximum(0.5 * (high - low), LEAST_HALF_DEG), _ONE_SIDED_DEG)
        self.spread = SPREAD_SHARE * half
        self.most_only = ~both & np.isfinite(high)
        self.middle = np.where(self.most_only, np.maximum(high - _ONE_SIDED_DEG, 0.0), self.middle)
        self.middle = np.where(~both & ~self.most_only, low + _ONE_SIDED_DEG, self.middle)
        self.whiten = self._whitening()
        ceiling = asked.high_deg[kind == "ceiling"]
        self.ceiling = float(ceiling[0]) if len(ceiling) else np.inf
        self.count = len(curve) + int(np.isfinite(self.ceiling))

    def of(self, free: tuple[FreeValue, ...]) -> TableRows:
        """The same table, without what other sessions told, as rows of other free values."""
        rows = copy(self)
        rows.table, rows.told = ValueTable(free), None  # which speaks of values as they were
        return rows

    def _whitening(self) -> Floats:
        """Undoes that neighbouring points of the table go together."""
        speed = np.log(np.maximum(self.speed[self.both], 1.0))
        if len(speed) < 2:
            return np.eye(len(speed))
        apart = (speed[:, None] - speed) / max(_REACH * np.ptp(speed), 1e-6)
        together = _TOGETHER * np.exp(-0.5 * apart**2) + (1 - _TOGETHER) * np.eye(len(speed))
        return np.linalg.inv(np.linalg.cholesky(together))

    def distances(self, z: Floats) -> Floats:
        """Distances of the table's points from the curves, shape (builds, points); the mean of
        the branches that the table speaks of."""
        return self.of_curves(curves_of(self.mechanism, self.table.at(z)))

    def of_curves(self, now: Curves) -> Floats:
        """The same of curves that are at hand."""
        ways = np.stack([now.rising_rpm, now.falling_rpm], axis=1)
        count, points = len(self.ways), len(self.speed)
        found = signed_distances(
            now.advance_deg, ways, np.repeat(self.ways, points), np.tile(self.speed, count)[None],
            np.tile(self.middle, count)[None],
            np.tile(_U_SPEED_SHARE * self.speed + 2.0, count)[None],
            np.tile(self.spread, count)[None],
        )  # fmt: skip
        return np.asarray(found.reshape(len(found), count, points).mean(axis=1))

    def residuals(self, z: Floats, now: Curves | None = None) -> Floats:
        """Residuals of the table, then of what other sessions told, shape (builds, rows); ``now``
        are the curves, if they are at hand."""
        found = self.of_table(z, now)
        if self.told is None:
            return found
        return np.concatenate([found, self.told.residuals(z)], axis=1)

    def of_table(self, z: Floats, now: Curves | None = None) -> Floats:
        """Residuals of the table alone."""
        parts = []
        if len(self.speed):
            d = self.distances(z) if now is None else self.of_curves(now)
            parts.append(d[:, self.both] @ self.whiten.T)
            lone = d[:, ~self.both]
            most = self.most_only[~self.both]
            parts.append(np.where(most, np.minimum(lone, 0.0), np.maximum(lone, 0.0)))
        if np.isfinite(self.ceiling):
            stop = self.table.at(z)[("mechanism", "stop_deg")]
            over = np.maximum(stop - self.ceiling + 0.5 * _ONE_SIDED_DEG, 0.0)
            parts.append(over[:, None] / (SPREAD_SHARE * _ONE_SIDED_DEG))
        return np.concatenate(parts, axis=1)

    def slopes(self, z: Floats, low: Floats, high: Floats) -> Floats:
        """Slopes of the residuals at one point."""
        at = z[None]
        slopes: Floats = difference_jacobian(
            lambda points, member: self.residuals(points), at, self.residuals(at), low[None],
            high[None], np.ones(at.shape, bool), np.full(len(z), 100.0), np.zeros(1, int),
            central=True,
        )[0]  # fmt: skip
        return slopes
