"""Samples of what the readings leave possible, of every explanation, and the evidence of each.

The normal law about where an explanation came to rest is only where its samples begin: a knee, the
walls of a band, and slips make the true law another shape. They are carried from the one to the
other in a few steps, weighed, drawn anew and moved at each.

Notes
-----
Annealed importance sampling with resampling and Metropolis moves: Neal, Stat. Comput. 11 (2001)
125; Del Moral, Doucet and Jasra, J. R. Stat. Soc. B 68 (2006) 411. The moves: Cotter et al., Stat.
Sci. 28 (2013) 424, about the normal law of other samples, as in Goodman and Weare, Commun. Appl.
Math. Comput. Sci. 5 (2010) 65. A law of the very samples that move would draw them together:
evidence came out a half too low in its logarithm.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from bobweight.core.arrays import Floats
from bobweight.core.frozen import frozen
from bobweight.core.statistics.least_squares import Cancelled

_LADDER = (
    (0.01, 1), (0.03, 1), (0.08, 1), (0.17, 1), (0.32, 1), (0.55, 1), (0.8, 1), (1.0, 2),
)  # fmt: skip
"""Powers of the true law against the normal one, and how often samples are moved at each."""
_WIDENED = 0.55  # power of the covariance that samples begin with: between before and after
_STEPS = (0.8, 1.0)  # of a move about the normal law of others
_PARTS = 3  # that the samples of an explanation are told into; each moves by the law of the others
_ALONE = 60  # samples of a part from which it is drawn anew by itself: no part crowds out another
_MOST_OF_A_PART = 1.0  # logarithm of the evidence above that of the middle part
_DRAWN_IN = 3.0  # samples a column that the law of others is drawn in by, towards the same each way
_BEYOND = 50.0  # height of the wall at a column's bounds
_STEEPENS = 2.0  # power of the true law's own power by which its walls rise
_LIKELY = 0.02  # probability from which an explanation is judged by samples of its own round
_MORE_IN_DOUBT = 4.0  # of the second round, in its own number, for the chance that two samples of
# the first are of different explanations: there the noise of the evidences matters
_TOGETHER = 500  # rows that a density is asked for at once: beyond, they fall out of the cache
_SEED = 5

Density = Callable[[Floats, NDArray[np.intp]], tuple[Floats, Floats]]
"""Logarithm of the density at points under explanations, both a row each: all but its walls, and
what the walls take off."""


@frozen(eq=False)
class Start:
    """The normal laws that samples begin at, a row for each explanation.

    Attributes
    ----------
    rest, spread : array, shape (explanations, columns), (explanations, columns, columns)
    free : bool array, shape (explanations, columns)
    low, high : array, shape (columns,)
    """

    rest: Floats
    spread: Floats
    free: NDArray[np.bool_]
    low: Floats
    high: Floats


@frozen(eq=False)
class Samples:
    """Equally probable samples of each explanation.

    Attributes
    ----------
    x : array, shape (samples, columns)
    which : int array, shape (samples,)
    log_evidence : array, shape (explanations,)
        Of those asked for; of a density that is standard normal in a column that nothing is known
        of the integral is 1.
    """

    x: Floats
    which: NDArray[np.intp]
    log_evidence: Floats


@frozen
class _Law:
    """A normal law, by its mean, the Cholesky factor of its covariance, and its inverse."""

    mean: Floats
    root: Floats
    inverse_root: Floats

    @classmethod
    def of(cls, q: Floats) -> _Law:
        """Of so many samples, shape (samples, columns)."""
        count, columns = q.shape
        mean = q.mean(axis=0)
        covariance = np.atleast_2d(np.cov(q, rowvar=False))
        own = count / (count + _DRAWN_IN * columns)
        round_ = min(np.trace(covariance) / columns, 1.0) * np.eye(columns)
        root = np.linalg.cholesky(own * covariance + (1.0 - own) * round_)
        return cls(mean, root, np.linalg.inv(root))


class _Group:
    """The samples of one explanation, in rows ``mine`` of all."""

    def __init__(self, start: Start, h: int, mine: slice):
        self.mine, self.columns = mine, np.flatnonzero(start.free[h])
        self.rows = np.arange(mine.start, mine.stop)
        self.parts = np.array_split(self.rows, _PARTS)
        covariance = start.spread[h][np.ix_(self.columns, self.columns)]
        size, axes = np.linalg.eigh(covariance)
        size = np.maximum(size, 1e-12) ** (0.5 * _WIDENED)
        self.root, self.inverse_root = axes * size @ axes.T, axes / size @ axes.T
        self.rest = start.rest[h]
        self.log_size = float(np.sum(np.log(size)))

    @property
    def count(self) -> int:
        """Samples."""
        return int(self.mine.stop - self.mine.start)

    def off(self, x: Floats) -> Floats:
        """Whitened distance of its samples from where it came to rest."""
        q: Floats = (x[self.mine] - self.rest)[:, self.columns] @ self.inverse_root.T
        return q

    def put(self, x: Floats, q: Floats) -> None:
        """Its samples at whitened distances."""
        x[self.mine] = self.rest
        x[self.mine, self.columns] += q @ self.root.T


def annealed(
    start: Start, asked: NDArray[np.intp], counts: NDArray[np.intp], density: Density,
    cancelled: Callable[[], bool] | None = None, *, seed: int = 0,
) -> Samples:  # fmt: skip
    """Samples of the explanations ``asked``, so many of each.

    Their evidence is the mean of what their parts come to, of each at most e times the middle one:
    a part that comes upon a place that others hardly find would else speak for all.

    Raises
    ------
    bobweight.core.statistics.least_squares.Cancelled
    """
    return _Annealing(start, asked, counts, density, cancelled, _SEED + seed).run()


def annealed_twice(
    start: Start, asked: NDArray[np.intp], few: NDArray[np.intp], log_odds: Floats, count: int,
    density: Density, cancelled: Callable[[], bool] | None = None,
) -> Samples:  # fmt: skip
    """A few samples of each explanation, then others of those that they make likely.

    A few sometimes come upon a place that others hardly find, and then overstate their explanation
    by much. The logarithms of both evidences are averaged, by numbers: that is the steadier.

    Parameters
    ----------
    few : int array, shape (explanations,)
        Of each, first.
    log_odds : array, shape (explanations,)
        Logarithm of the odds of each without its evidence.
    count : int
        Of the likely ones together, then; more where several explanations are in question.
    """
    first = annealed(start, asked, few, density, cancelled)
    odds = first.log_evidence + log_odds
    share = np.exp(odds - odds.max())
    share /= share.sum()
    likely = share >= min(_LIKELY, share.max())  # the likeliest, however many there are
    root = np.sqrt(share[likely])
    wanted = count * (1.0 + _MORE_IN_DOUBT * (1.0 - share @ share))
    counts = np.maximum(np.round(wanted * root / root.sum()), few[likely] * 2).astype(int)
    again = annealed(start, asked[likely], counts, density, cancelled, seed=1)
    log_evidence = first.log_evidence.copy()
    weight = counts / (counts + few[likely])
    log_evidence[likely] += weight * (again.log_evidence - log_evidence[likely])
    return Samples(
        np.concatenate([first.x, again.x]), np.concatenate([first.which, again.which]), log_evidence
    )


class _Annealing:
    def __init__(
        self, start: Start, asked: NDArray[np.intp], counts: NDArray[np.intp], density: Density,
        cancelled: Callable[[], bool] | None, seed: int,
    ):  # fmt: skip
        self.start, self.density, self.cancelled = start, density, cancelled
        self.rng = np.random.default_rng(seed)
        ends = np.cumsum(counts)
        self.groups = [
            _Group(start, int(h), slice(int(end - n), int(end)))
            for h, n, end in zip(asked, counts, ends, strict=True)
        ]
        self.which = np.repeat(asked, counts)
        self.x = np.zeros((int(ends[-1]), start.rest.shape[1]))
        drawn = self.rng.normal(size=(int(counts.max()), self.x.shape[1]))
        for g in self.groups:
            q = drawn[: g.count, g.columns]
            q[: g.count // 2 * 2 : 2] = -q[1::2][: g.count // 2]
            g.put(self.x, q)
        self.log_q, (self.log_p, self.wall) = self._normal(self.x), self._true(self.x)

    def run(self) -> Samples:
        log_evidence = np.array([[g.log_size] * _PARTS for g in self.groups])
        power, moved = 0.0, 0
        for following, moves in _LADDER:
            log_w = (following - power) * (self.log_p - self.log_q)
            log_w -= (following**_STEEPENS - power**_STEEPENS) * self.wall
            order = np.arange(len(self.x))
            for g, found in zip(self.groups, log_evidence, strict=True):
                alone = g.count >= _PARTS * _ALONE
                for i, rows in enumerate(g.parts if alone else [g.rows]):
                    w = np.exp(log_w[rows] - log_w[rows].max())
                    found[i if alone else slice(None)] += log_w[rows].max() + np.log(w.mean())
                    order[rows] = rows[self._drawn(w)]
            self._take(order)
            power = following
            for _ in range(moves):
                if self.cancelled is not None and self.cancelled():
                    raise Cancelled
                self._move(power, _STEPS[moved % len(_STEPS)])
                moved += 1
        return self._joined(log_evidence)

    def _joined(self, of_parts: Floats) -> Samples:
        """Samples of all parts, drawn by the evidence of each, shape (explanations, parts)."""
        middle = np.sort(of_parts, axis=1)[:, _PARTS // 2, None]  # median loads numpy.ma
        of_parts = np.minimum(of_parts, middle + _MOST_OF_A_PART)
        most = of_parts.max(axis=1, keepdims=True)
        weight = np.exp(of_parts - most)
        order = np.arange(len(self.x))
        for g, of_part in zip(self.groups, weight, strict=True):
            each = np.repeat(of_part / of_part.sum(), [len(rows) for rows in g.parts])
            order[g.rows] = g.rows[self._drawn(each)]
        self._take(order)
        return Samples(self.x, self.which, most[:, 0] + np.log(weight.mean(axis=1)))

    def _take(self, order: NDArray[np.intp]) -> None:
        """Samples of these rows in place of all."""
        self.x, self.log_q, self.log_p, self.wall = (
            each[order] for each in (self.x, self.log_q, self.log_p, self.wall)
        )

    def _drawn(self, w: Floats) -> NDArray[np.intp]:
        """Rows drawn by weight, evenly."""
        places = (np.arange(len(w)) + self.rng.random()) / len(w)
        rows: NDArray[np.intp] = np.searchsorted(np.cumsum(w) / w.sum(), places)
        return np.minimum(rows, len(w) - 1)

    def _move(self, power: float, step: float) -> None:
        """One move of all samples, towards the law of others by a share ``step``.

        What is drawn anew stays in order, so that samples of one descent lie together and mostly
        in one part, even where all are drawn anew together.
        """
        tried, gain = self.x.copy(), np.empty(len(self.x))
        for g in self.groups:
            q, moved = g.off(self.x), []
            for rows in g.parts:
                part = rows - g.mine.start
                law = _Law.of(np.delete(q, part, axis=0))
                before = (q[part] - law.mean) @ law.inverse_root.T
                after = np.sqrt(1.0 - step**2) * before + step * self.rng.normal(size=before.shape)
                moved.append(law.mean + after @ law.root.T)
                gain[rows] = 0.5 * (np.sum(after**2, axis=1) - np.sum(before**2, axis=1))
            g.put(tried, np.concatenate(moved))
        log_q, (log_p, wall) = self._normal(tried), self._true(tried)
        gain += (1.0 - power) * (log_q - self.log_q) + power * (log_p - self.log_p)
        gain -= power**_STEEPENS * (wall - self.wall)
        taken = np.log(self.rng.random(len(gain))) < gain
        self.x[taken], self.log_q[taken] = tried[taken], log_q[taken]
        self.log_p[taken], self.wall[taken] = log_p[taken], wall[taken]

    def _normal(self, x: Floats) -> Floats:
        found = np.empty(len(x))
        for g in self.groups:
            found[g.mine] = -0.5 * np.sum(g.off(x) ** 2, axis=1)
        return found

    def _true(self, x: Floats) -> tuple[Floats, Floats]:
        outside = ((x < self.start.low) | (x > self.start.high)).any(axis=1)
        x = np.clip(x, self.start.low, self.start.high)
        calls = max(round(len(x) / _TOGETHER), 1)
        each = [
            self.density(x[rows], self.which[rows])
            for rows in np.array_split(np.arange(len(x)), calls)
        ]
        found, wall = (np.concatenate(part) for part in zip(*each, strict=True))
        return found, wall + _BEYOND * outside
