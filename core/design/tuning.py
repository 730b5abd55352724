"""Turns the knobs of many builds at once until each has the most margin to the band.

The margin of a build is its smallest distance to the band's edge, over every check point on every
branch the table is read on. At a maximum several points are equally near their edges, where the
margin has no slope; so every round replaces each point's advance by its straight line in the
knobs and solves the small linear program "largest smallest distance" within a region of trust,
for all builds together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from bobweight.core.design.goal import Goal
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.problems import Path, required
from bobweight.core.statistics.linear_programs import solve_many

_FIRST_TRUST = 0.35  # of a knob's whole range
_LEAST_TRUST = 1e-3
_STEP = 1e-3  # least step for slopes, of a knob's range
_STEP_PER_TRUST, _LARGEST_STEP = 0.1, 0.05
_FIRST_ROUNDS, _LAST_ROUNDS, _GO_ON = (2, 1), (8, 4), 4
_GENERATIONS = 24
_CURVE_KNOTS = 40
_PLACES, _SCATTERS = 24, (0.2, 0.4)
_SAME_PLACE = 0.04  # of a knob's range
_AMPLE_DEG = 50.0  # stands for a distance that cannot matter


@frozen
class Knob:
    """One thing a hand can set.

    Parameters
    ----------
    paths : tuple of paths
        The values in the mechanism that it sets, all alike (twin springs).
    low, high : float
        Limits, in the stored unit.
    """

    paths: tuple[Path, ...]
    low: float
    high: float


@frozen
class Tuned:
    """The best found of each build.

    Attributes
    ----------
    knobs : array, shape (builds, knobs)
    stop_deg, margin_deg : array, shape (builds,)
    """

    knobs: np.ndarray
    stop_deg: np.ndarray
    margin_deg: np.ndarray


class Tuner:
    """Margins of builds of one mechanism, and their best.

    Parameters
    ----------
    mechanism : Mechanism
        Gives everything that is neither a knob nor varied.
    stop_limits_deg : (float, float) or None
        Between which the stop may be set; None keeps the mechanism's.
    """

    def __init__(
        self,
        mechanism: Mechanism,
        goal: Goal,
        knobs: Sequence[Knob],
        stop_limits_deg: tuple[float, float] | None = None,
    ):
        self.goal, self.knobs = goal, tuple(knobs)
        self.stop_free = stop_limits_deg is not None
        stop = required(mechanism.stop_deg, "stop_deg")
        self.stop_low, self.stop_high = stop_limits_deg or (stop, stop)
        self.mechanism = mechanism.with_changes(stop_deg=self.stop_high)
        self.low = np.array([knob.low for knob in knobs])
        self.range = np.array([knob.high - knob.low for knob in knobs])
        points, branches = goal.count, len(goal.branches)
        self.row_low = np.tile(goal.low_deg, branches)
        self.row_high = np.tile(goal.high_deg, branches)
        self.rows = points * branches
        self.most_low = self.row_low.max()

    def varied(self, given: Mapping[Path, np.ndarray], x: np.ndarray) -> dict[Path, np.ndarray]:
        """Values by path for :class:`Builds`, the knobs at shares ``x`` of their ranges."""
        values = dict(given)
        for column, knob in enumerate(self.knobs):
            setting = knob.low + (knob.high - knob.low) * x[:, column]
            values.update({path: setting for path in knob.paths})
        return values

    def advance_deg(self, given: Mapping[Path, np.ndarray], x: np.ndarray) -> np.ndarray:
        """Advance at the points, shape (builds, branches × points), carried on past both ends.

        Below the start and above the stop the true advance stands still; here it goes on with the
        mean slope of the curve, so that the way back is seen. The truth is this, clipped.
        """
        speeds = balance_speeds(Builds(self.mechanism, self.varied(given, x)), _CURVE_KNOTS)
        found = curves(speeds)
        advance = self.goal.advance_of_curves(found)
        for column, branch in enumerate(self.goal.branches):
            table = found.rising_rpm if branch == "rising" else found.falling_rpm
            start = table[:, :1]
            finite = np.where(np.isfinite(table[:, -1:]), table[:, -1:], 1e5)
            span = np.maximum(finite - start, 0.2 * self.goal.speed_rpm.max())
            slope = self.stop_high / span
            before = np.minimum(self.goal.speed_rpm - start, 0.0) * slope
            beyond = np.maximum(self.goal.speed_rpm - finite, 0.0) * slope
            advance[:, column] += before + beyond
        return advance.reshape(len(advance), -1)

    def best_stop(self, advance: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The stop with the most margin for advances as :meth:`advance_deg` gives, and that margin.

        A higher stop helps every least figure until the curve itself falls short, a lower one every
        most figure it cuts; so the best is where a cut point and the highest least figure, or the
        ceiling and that figure, come equally near, or a limit.
        """
        true = np.maximum(advance, 0.0)
        if not self.stop_free:
            stop = np.full(len(advance), self.stop_high)
            return stop, self._margin(true, stop)
        tops = np.append(self.row_high, self.goal.ceiling_deg)
        tops = np.unique(tops[np.isfinite(tops)])
        middles = 0.5 * (tops + self.most_low) if np.isfinite(self.most_low) else tops
        candidates = np.clip(
            [self.stop_low, self.stop_high, *middles], self.stop_low, self.stop_high
        )
        reserve = np.clip(true.max(axis=1), self.stop_low, self.stop_high)
        stops = np.concatenate(
            [np.broadcast_to(candidates, (len(advance), len(candidates))), reserve[:, None]], axis=1
        )
        margins = np.stack([self._margin(true, stop) for stop in stops.T], axis=1)
        best = margins.argmax(axis=1)
        rows = np.arange(len(advance))
        return stops[rows, best], margins[rows, best]

    def _margin(self, true: np.ndarray, stop: np.ndarray) -> np.ndarray:
        cut = np.minimum(true, stop[:, None])
        nearest = np.minimum(cut - self.row_low, self.row_high - cut).min(axis=1)
        nearest = np.minimum(nearest, self.goal.ceiling_deg - stop)
        return np.where(np.isnan(nearest), -_AMPLE_DEG, nearest)

    def tune(
        self, given: Mapping[Path, np.ndarray], starts: np.ndarray, rounds: tuple[int, int] = (7, 4)
    ) -> Tuned:
        """The best margin of each build that the rounds come to.

        Parameters
        ----------
        given : mapping of path to array, shape (builds,)
            Values that differ between the builds.
        starts : array, shape (builds, knobs)
            Knobs to begin with, in stored units.
        rounds : (int, int)
            Rounds that pull points in from beyond the ends of the curve, then rounds that take
            points at the ends for what they are.
        """
        x = np.clip((starts - self.low) / np.where(self.range > 0, self.range, 1.0), 0.0, 1.0)
        advance = self.advance_deg(given, x)
        stop, margin = self.best_stop(advance)
        for pulling, count in zip((True, False), rounds, strict=True):
            trust = np.full(len(x), _FIRST_TRUST if pulling else _FIRST_TRUST / 4)
            for turn in range(count):
                slope = self._slopes(given, x, advance, trust, turn % 2 == 1)
                tried_x = np.clip(
                    x + self._step(x, advance, slope, stop, margin, trust, pulling), 0.0, 1.0
                )
                tried = self.advance_deg(given, tried_x)
                tried_stop, tried_margin = self.best_stop(tried)
                better = tried_margin > margin
                gain = np.where(better, tried_margin - margin, 0.0)
                x = np.where(better[:, None], tried_x, x)
                advance = np.where(better[:, None], tried, advance)
                stop = np.where(better, tried_stop, stop)
                margin = np.maximum(margin, tried_margin)
                trust = np.where(better, np.minimum(trust * 1.5, 1.0), trust * 0.35)
                if turn == count - 1 or (gain.max() < 1e-4 and trust.max() < _LEAST_TRUST):
                    break
        return Tuned(self.low + self.range * x, stop, margin)

    def begun(
        self, given: Mapping[Path, np.ndarray], starts: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """A few rounds from each start: shares of the knobs' ranges, shape (builds, starts,
        knobs), and margins, shape (builds, starts). The best is mostly within 0.1° of the final."""
        first = [self.tune(given, starts[:, k], _FIRST_ROUNDS) for k in range(starts.shape[1])]
        margins = np.stack([tuned.margin_deg for tuned in first], axis=1)
        knobs = np.stack([tuned.knobs for tuned in first], axis=1)
        return (knobs - self.low) / np.where(self.range > 0, self.range, 1.0), margins

    def finished(
        self, given: Mapping[Path, np.ndarray], x: np.ndarray, margins: np.ndarray
    ) -> Tuned:
        """The best that comes of what :meth:`begun` gives: places mixed, the foremost tuned to
        the end, and what lies round the best searched once more."""
        x, margins = self._mixed(given, x, margins)
        rows = np.arange(len(margins))
        best: Tuned | None = None
        for _ in range(_GO_ON):
            place = margins.argmax(axis=1)
            chosen = x[rows, place]
            margins[np.abs(x - chosen[:, None]).max(axis=2) < _SAME_PLACE] -= _AMPLE_DEG
            setting = self.low + self.range * chosen
            best = _better(best, self.tune(given, setting, _LAST_ROUNDS))
        for scatter in _SCATTERS:
            best = self._searched_round(given, required(best), scatter)
        return required(best)

    def _searched_round(
        self, given: Mapping[Path, np.ndarray], best: Tuned, scatter: float
    ) -> Tuned:
        """The best after places scattered round it have been mixed too."""
        here = (best.knobs - self.low) / np.where(self.range > 0, self.range, 1.0)
        off = np.random.default_rng(1).normal(0.0, scatter, (_PLACES, here.shape[1]))
        off[0] = 0.0
        x = np.clip(here[:, None] + off, 0.0, 1.0)
        spread = {p: np.repeat(v, _PLACES) if len(v) > 1 else v for p, v in given.items()}
        advance = self.advance_deg(spread, x.reshape(-1, here.shape[1]))
        margins = self.best_stop(advance)[1].reshape(len(x), _PLACES)
        x, margins = self._mixed(given, x, margins)
        chosen = x[np.arange(len(x)), margins.argmax(axis=1)]
        return _better(best, self.tune(given, self.low + self.range * chosen, _LAST_ROUNDS))

    def _mixed(
        self, given: Mapping[Path, np.ndarray], x: np.ndarray, margins: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Each build's places mixed with one another (differential evolution, Storn and Price,
        J. Global Optim. 11 (1997) 341): along ridges and round corners at which straight lines see
        no way on. Shapes (builds, places, knobs) and (builds, places)."""
        rng = np.random.default_rng(0)
        builds, places, knobs = x.shape
        spread = {p: np.repeat(v, places) if len(v) > 1 else v for p, v in given.items()}
        for _ in range(_GENERATIONS):
            one, two = rng.permutation(places), rng.permutation(places)
            pull, share = rng.uniform(0.3, 1.0, (places, 1)), rng.uniform(0.4, 1.0, (places, 1))
            best = np.take_along_axis(x, margins.argmax(axis=1)[:, None, None], axis=1)
            tried = x + pull * (best - x) + share * (x[:, one] - x[:, two])
            tried += rng.normal(0.0, 0.01, (places, knobs))
            tried = np.clip(tried, 0.0, 1.0)
            advance = self.advance_deg(spread, tried.reshape(-1, knobs))
            tried_margins = self.best_stop(advance)[1].reshape(builds, places)
            better = tried_margins > margins
            x = np.where(better[..., None], tried, x)
            margins = np.maximum(margins, tried_margins)
        return x, margins

    def _slopes(
        self,
        given: Mapping[Path, np.ndarray],
        x: np.ndarray,
        advance: np.ndarray,
        trust: np.ndarray,
        backward: bool,
    ) -> np.ndarray:
        """Change of each advance per whole range of each knob, shape (builds, rows, knobs).

        Where a spring is taken up the slope changes at once; so slopes are secants that shrink
        with the region of trust and look to either side in turn.
        """
        slopes = np.empty((len(x), self.rows, len(self.knobs)))
        length = np.clip(_STEP_PER_TRUST * trust**2, _STEP, _LARGEST_STEP)
        for column in range(len(self.knobs)):
            at = x[:, column]
            inward = np.where(at + length > 1, -1.0, np.where(at - length < 0, 1.0, 0.0))
            step = length * np.where(inward == 0, -1.0 if backward else 1.0, inward)
            moved = x.copy()
            moved[:, column] += step
            slopes[:, :, column] = (self.advance_deg(given, moved) - advance) / step[:, None]
        return slopes

    def _step(
        self,
        x: np.ndarray,
        advance: np.ndarray,
        slope: np.ndarray,
        stop: np.ndarray,
        margin: np.ndarray,
        trust: np.ndarray,
        pulling: bool,
    ) -> np.ndarray:
        """Change of the knobs that the straight lines promise the most margin of.

        Unknowns of the linear program: changes of the knobs, the stop, the margin; each row says
        that the margin is at most one distance.
        """
        builds, knobs = x.shape
        r = self.rows
        rows = np.zeros((builds, 2 * r + 2 * knobs + 5, knobs + 2))
        limits = np.full(rows.shape[:2], _AMPLE_DEG)
        low, high = rows[:, :r], rows[:, r : 2 * r]
        low[..., :knobs], high[..., :knobs] = -slope, slope
        rows[:, : 2 * r, -1] = 1.0
        limits[:, :r] = advance - self.row_low
        limits[:, r : 2 * r] = self.row_high - advance
        # A point before the start has 0 degrees whatever happens; it counts so unless it is the
        # nearest to its edge and may be pulled in. The like at the stop.
        nearest = margin[:, None] + 1e-9
        still = (advance < 0) & ~(pulling & (-self.row_low <= nearest))
        low[still, :knobs] = 0.0
        limits[:, :r] = np.where(still, -self.row_low, limits[:, :r])
        cut = advance > stop[:, None]
        held = cut & ~(pulling & (self.row_high - stop[:, None] <= nearest))
        high[held, :knobs] = 0.0
        high[held, -2] = 1.0  # of the stop, counted from zero
        limits[:, r : 2 * r] = np.where(held, self.row_high, limits[:, r : 2 * r])
        end = 2 * r
        for column in range(knobs):
            rows[:, end, column], rows[:, end + 1, column] = 1.0, -1.0
            limits[:, end] = np.minimum(trust, 1.0 - x[:, column])
            limits[:, end + 1] = np.minimum(trust, x[:, column])
            end += 2
        # The stop within its limits, above every least figure and below the ceiling by the margin;
        # the margin at most what a point at 0 degrees has.
        rows[:, end, -2], limits[:, end] = 1.0, self.stop_high
        rows[:, end + 1, -2], limits[:, end + 1] = -1.0, -self.stop_low
        rows[:, end + 2, -2:] = 1.0
        limits[:, end + 2] = self.goal.ceiling_deg
        rows[:, end + 3, -2:] = -1.0, 1.0
        limits[:, end + 3] = -self.most_low
        rows[:, end + 4, -1], limits[:, end + 4] = 1.0, self.row_high.min()
        np.clip(limits, -_AMPLE_DEG, _AMPLE_DEG, out=limits)
        cost = np.zeros(knobs + 2)
        cost[-1] = -1.0
        start = np.zeros((builds, knobs + 2))
        start[:, -2], start[:, -1] = stop, np.maximum(margin, -_AMPLE_DEG) - 0.1
        found = solve_many(cost, rows, limits, start, gap=3e-4)[:, :knobs]
        room_up, room_down = 1.0 - x, -x
        found = np.clip(found, -trust[:, None], trust[:, None])
        return np.where(np.isfinite(found), np.clip(found, room_down, room_up), 0.0)


def _better(one: Tuned | None, other: Tuned) -> Tuned:
    """Build by build the one with more margin."""
    if one is None:
        return other
    more = other.margin_deg > one.margin_deg
    return Tuned(
        np.where(more[:, None], other.knobs, one.knobs),
        np.where(more, other.stop_deg, one.stop_deg),
        np.maximum(one.margin_deg, other.margin_deg),
    )
