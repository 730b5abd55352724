"""Tray springs as primary and secondary, tuned, and ranked by what a hand would do first.

A hand would rather change one spring than two, and rather bend nothing: so each tray spring is also
tried beside the one that stays, first with every post, loop and stop as they are.

First every pair is looked at on a coarse grid (:mod:`core.design.coarse`), in a large tray those
that a glance shows to be promising (:mod:`core.design.glance`); then, the most promising first,
posts, slack and stop are tuned for many pairs at once (:mod:`core.design.tuning`). What is reported
has been predicted once more in full.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

import numpy as np

from bobweight.core.arrays import Flags
from bobweight.core.design.asks import SearchAsk
from bobweight.core.design.coarse import FirstLook, SettingGrid, SpringFigures, TorqueTables
from bobweight.core.design.fitted import basis
from bobweight.core.design.glance import Glance
from bobweight.core.design.goal import Goal, goal_of
from bobweight.core.design.spread import own_spread
from bobweight.core.design.tolerance import builds_probability
from bobweight.core.design.tray import (
    OWN_FIGURES,
    Tray,
    TraySpring,
    from_docket,
    hooked_in,
    own_figures,
    usable_rows,
)
from bobweight.core.design.tuning import Knob, Tuned, Tuner
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.motion import Motion
from bobweight.core.mechanics.predict import Branch, predict
from bobweight.core.problems import BobweightError, Path, required
from bobweight.core.record import checked, taken

_GLANCE_BATCH, _LOOK_BATCH = 16_384, 1024  # a second or less between two looks at whether to stop
_LOOKED_AT = 4096  # pairs that the first look is for, besides those with one spring that stays
_TUNE_BATCH = 96
_DOUBT_DEG = 1.5  # how much the tuning may add to what the first look has shown
_GAIN_DEG = 0.3  # how much the end of the tuning may add to its beginning
_AS_GOOD_DEG = 0.005  # margins closer than this to the largest there can be are as good
_SPARE = 3  # times as many are kept as are wanted: the full prediction may refuse some
_GRID = (9, 5, 9)

_Looks = TypeVar("_Looks", bound=TorqueTables)

WORKS = ("one-spring", "one-spring-bent", "two-springs")
"""What is to be done, the least work first: a spring changed and nothing bent; a spring changed and
posts, loop or stop set anew; both springs changed and set."""

_OF_PLACES = ("missing", "spring-ends-together", "no-next-weight", "no-such-weight")
"""What is wrong with a spring's places whatever spring hangs there."""


@frozen
class SpringPair:
    """One pair with its best settings.

    Attributes
    ----------
    primary, secondary : int or None
        Rows of the tray; None for the spring that stays.
    primary_post_mm, secondary_post_mm : float
        Tangs bent, from where the posts were measured.
    margin_deg : float
        Smallest distance to the band's edge over check points, start and ceiling, by the full
        prediction; negative outside. Distributor degrees.
    probability_inside : float
        That every check point is passed, given the springs' own uncertainties.
    work : str
        One of :data:`WORKS`.
    bent : float
        How much is set anew, millimetres of posts and loop and degrees of stop added up.
    """

    primary: int | None
    secondary: int | None
    primary_post_mm: float
    secondary_post_mm: float
    secondary_slack_mm: float
    stop_deg: float
    margin_deg: float
    probability_inside: float
    work: str = "two-springs"
    bent: float = 0.0

    @property
    def inside(self) -> bool:
        """Whether every check point is passed as predicted."""
        return self.margin_deg >= 0


@frozen
class SearchResult:
    """What a search has come to, be it finished or not.

    Attributes
    ----------
    candidates : tuple of SpringPair
        Those inside first, and of them the least work (:data:`WORKS`); within one kind of work
        the most margin, to 0.01°, then the least bent, then the most probable. Outside, where
        nothing is to be fitted, the nearest first.
    pairs, looked_at, tuned : int
        Ordered pairs there are, one of them the spring that stays in some; that were looked at;
        and that were tuned.
    """

    candidates: tuple[SpringPair, ...]
    pairs: int
    looked_at: int
    tuned: int
    finished: bool


@dataclass
class _Pool:
    """Pairs tuned so far."""

    pairs: list[np.ndarray] = field(default_factory=list)
    knobs: list[np.ndarray] = field(default_factory=list)
    stop_deg: list[np.ndarray] = field(default_factory=list)
    margin_deg: list[np.ndarray] = field(default_factory=list)

    def add(self, pairs: np.ndarray, tuned: Tuned) -> None:
        """Take in more of them."""
        self.pairs.append(pairs)
        self.knobs.append(tuned.knobs)
        self.stop_deg.append(tuned.stop_deg)
        self.margin_deg.append(tuned.margin_deg)

    def floor(self, count: int) -> float:
        """The margin of the ``count``-th best."""
        margins = np.concatenate(self.margin_deg) if self.margin_deg else np.empty(0)
        return float(np.sort(margins)[-count]) if len(margins) >= count else -np.inf


class Search:
    """A search for one docket in one tray; :meth:`run` does it, :meth:`apply` takes a result.

    Parameters
    ----------
    docket : Docket
        Its mechanism gives everything but the springs; its target the goal.
    asked : SearchAsk, optional
        How far a hand may go, and how many candidates are wanted.

    Raises
    ------
    BobweightError
        ``no-check-points``; ``no-spring-to-replace`` where the mechanism has no primary or no
        secondary; ``tray-empty``, ``tray-too-small``; the first grave problem of the mechanism.
    """

    is_rough = False

    def __init__(self, docket: Docket, tray: Tray, asked: SearchAsk | None = None):
        asked = asked or SearchAsk()
        checked(asked)
        self.docket, self.tray, self.asked, self.top = docket, tray, asked, asked.top
        mechanism = docket.mechanism
        self.goal, (self.primaries, self.secondaries), rows = looked_over(docket, tray)
        self.rows = np.array(rows, dtype=int)
        springs = [tray.springs[row] for row in self.rows]
        self.in_tray = len(springs)
        stays = [_staying(mechanism, places) for places in (self.primaries, self.secondaries)]
        known = [*springs, *(stay or springs[0] for stay in stays)]
        self.figures = SpringFigures(
            *(np.array([taken(s, key) for s in known], dtype=float) for key in OWN_FIGURES)
        )
        self.stop_limits = _reachable(mechanism, asked.stop_range_deg)
        stop = self.stop_limits[1] if self.stop_limits else self._stop_deg
        self.mechanism = self._with(springs[0], springs[0], stop, (0.0, 0.0, 0.0))
        for problem in mechanism_problems(self.mechanism):
            of_springs = problem.path[:1] == ("springs",) and problem.code not in _OF_PLACES
            if problem.grave and not of_springs:
                raise BobweightError.of(problem.at("mechanism"))
        self.pairs = self._pairs(springs, stays)
        if not len(self.pairs):
            raise too_few(tray, len(springs))
        self.knobs = (
            Knob(
                tuple(("springs", i, "tang_mm") for i in self.primaries),
                *asked.primary_tang_range_mm,
            ),
            Knob(
                tuple(("springs", i, "tang_mm") for i in self.secondaries),
                *asked.secondary_tang_range_mm,
            ),
            Knob(
                tuple(("springs", i, "slack_mm") for i in self.secondaries),
                *asked.slack_range_mm,
            ),
        )

        self.tuner = Tuner(self.mechanism, self.goal, self.knobs, self.stop_limits)

    def _pairs(
        self, springs: Sequence[TraySpring], stays: Sequence[TraySpring | None]
    ) -> np.ndarray:
        """Ordered pairs for which the tray holds springs enough, shape (pairs, 2); then those with
        one spring that stays, whose index is past the tray's. No primary is stiffer than asked."""
        count = np.array([spring.count for spring in springs])
        rate = np.array([spring.rate_n_per_mm for spring in springs], dtype=float)
        light = rate <= self.asked.primary_rate_most_n_per_mm
        one, two = len(self.primaries), len(self.secondaries)
        first, second = (a.ravel() for a in np.indices((len(springs),) * 2))
        enough = (count[first] >= one) & (count[second] >= two) & light[first]
        enough &= (first != second) | (count[first] >= one + two)
        found = [np.stack([first[enough], second[enough]], axis=1)]
        primary, secondary = stays
        if secondary is not None:
            rows = np.flatnonzero((count >= one) & light & _other_than(primary, springs))
            found.append(np.stack([rows, np.full_like(rows, len(springs) + 1)], axis=1))
        if primary is not None:
            rows = np.flatnonzero((count >= two) & _other_than(secondary, springs))
            found.append(np.stack([np.full_like(rows, len(springs)), rows], axis=1))
        return np.concatenate(found)

    @property
    def one_stays(self) -> Flags:
        """Of each pair, whether one of the docket's springs stays, shape (pairs,)."""
        return np.asarray((self.pairs >= self.in_tray).any(axis=1))

    def given(self, pairs: np.ndarray) -> dict[Path, np.ndarray]:
        """The springs' own figures of each pair, by path in the mechanism."""
        values: dict[Path, np.ndarray] = {}
        for column, places in enumerate((self.primaries, self.secondaries)):
            for index in places:
                for key in OWN_FIGURES:
                    own = getattr(self.figures, key)[pairs[:, column]]
                    stays = pairs[:, column] >= self.in_tray
                    if stays.any():  # left and right may differ
                        spring = self.docket.mechanism.springs[index]
                        own = np.where(stays, taken(spring, key), own)
                    values[("springs", index, key)] = own
        return values

    def run(
        self,
        progress: Callable[[float, SearchResult], None] | None = None,
        cancelled: Callable[[], bool] | None = None,
        tune_all: bool = False,
    ) -> SearchResult:
        """Look at every pair, tune those that can be among the best, and rank them.

        Tuning ends early where three times as many pairs as are wanted have the largest margin
        that the target allows.

        Parameters
        ----------
        progress : callable, optional
            Called now and then with the share done, 0…1, and the best so far (margins not yet
            confirmed by the full prediction, probabilities not yet worked out: NaN).
        cancelled : callable, optional
            Asked now and then; True ends the search with the best so far.
        tune_all : bool
            Tune also the pairs that the first look has shown to be far from the best.
        """
        stopped = cancelled or (lambda: False)
        tell = progress or (lambda share, found: None)
        rows, looked_at = np.arange(len(self.pairs)), 0
        if len(rows) > _LOOKED_AT and not tune_all:
            rows, looked_at = self._promising(tell, stopped)
        starts, guesses = self.first_look(rows, tell, stopped)
        looked_at = max(looked_at, len(guesses))
        order = np.argsort(-guesses, kind="stable")
        stays = self.one_stays[rows[order]]
        pools, tuned = [], 0
        finished = looked_at == len(self.pairs) and len(guesses) == len(rows)
        for group, begin, end in ((order[stays], 0.2, 0.3), (order[~stays], 0.3, 1.0)):
            pool, done = _Pool(), 0
            pools.append(pool)
            cap = self.goal.largest_margin_deg - _AS_GOOD_DEG
            while done < len(group) and finished:
                piece = group[done : done + _TUNE_BATCH]
                floor = pool.floor(self.top)
                sated = pool.floor(self.top * _SPARE) >= cap
                if not tune_all and (sated or guesses[piece[0]] < floor - _DOUBT_DEG):
                    break
                if stopped():
                    finished = False
                    break
                pool.add(*self._tuned(rows[piece], starts[piece], -np.inf if tune_all else floor))
                done += len(piece)
                tuned += len(piece)
                likely = max(int(np.count_nonzero(guesses[group] >= floor - _DOUBT_DEG)), done)
                share = begin + (end - begin) * done / likely
                tell(share, self._so_far(pools, looked_at, tuned))
        return SearchResult(self._confirmed(pools), len(self.pairs), looked_at, tuned, finished)

    def _tuned(
        self, piece: np.ndarray, starts: np.ndarray, floor: float
    ) -> tuple[np.ndarray, Tuned]:
        """The pairs of a piece that can rise above the floor, and what they are tuned to."""
        given = self.given(self.pairs[piece])
        x, margins = self.tuner.begun(given, starts)
        able = margins.max(axis=1) >= floor - _GAIN_DEG
        pairs = self.pairs[piece[able]]
        if not len(pairs):
            empty = np.empty(0)
            return pairs, Tuned(np.empty((0, len(self.knobs))), empty, empty)
        return pairs, self.tuner.finished(self.given(pairs), x[able], margins[able])

    def _promising(
        self, tell: Callable[[float, SearchResult], None], stopped: Callable[[], bool]
    ) -> tuple[np.ndarray, int]:
        """Rows of the pairs that a glance at all of them finds the best, and of all those with one
        spring that stays; and how many were glanced at before it was stopped."""
        glance, promises, done = self._over_grid(Glance), np.empty(0, dtype=np.float32), 0
        while done < len(self.pairs) and not stopped():
            first, second = self.pairs[done : done + _GLANCE_BATCH].T
            promises = np.concatenate([promises, glance.margins(first, second)])
            done = len(promises)
            tell(0.15 * done / len(self.pairs), SearchResult((), len(self.pairs), done, 0, False))
        wanted = self.one_stays[:done]
        wanted[np.argsort(-promises, kind="stable")[:_LOOKED_AT]] = True
        return np.flatnonzero(wanted), done

    def first_look(
        self,
        rows: np.ndarray,
        tell: Callable[[float, SearchResult], None],
        stopped: Callable[[], bool],
    ) -> tuple[np.ndarray, np.ndarray]:
        """Settings to start from, shape (pairs, starts, knobs), and the margin that each pair
        promises, for as many of these rows of the pairs as are looked at before it is stopped."""
        look, starts, guesses = self._over_grid(FirstLook), [], []
        for begin in range(0, len(rows), _LOOK_BATCH):
            if stopped():
                break
            first, second = self.pairs[rows[begin : begin + _LOOK_BATCH]].T
            settings, margins = look.best(first, second)
            starts.append(settings)
            guesses.append(margins)
            if len(rows) == len(self.pairs):
                done = begin + len(first)
                tell(0.2 * done / len(rows), SearchResult((), len(rows), done, 0, False))
        if not starts:
            return np.empty((0, 1, 3)), np.empty(0)
        return np.concatenate(starts), np.concatenate(guesses)

    def _over_grid(self, kind: type[_Looks]) -> _Looks:
        """One of the two ways to look at pairs, over the settings a hand may choose."""
        ranges = (self.asked.primary_tang_range_mm, self.asked.secondary_tang_range_mm,
                  self.asked.slack_range_mm)  # fmt: skip
        grid = SettingGrid(*(np.linspace(*ends, n) for ends, n in zip(ranges, _GRID, strict=True)))
        return kind(
            self.mechanism, self.goal, self.primaries, self.secondaries, self.figures, grid,
            self.stop_limits is not None,
        )  # fmt: skip

    def _best_of(self, pool: _Pool, count: int) -> list[SpringPair]:
        if not pool.pairs:
            return []
        pairs, knobs = np.concatenate(pool.pairs), np.concatenate(pool.knobs)
        stop, margin = np.concatenate(pool.stop_deg), np.concatenate(pool.margin_deg)
        found = []
        for k in np.argsort(-margin, kind="stable")[:count]:
            first, second = self._rows_of(pairs[k])
            one = first is None or second is None
            post, other_post, slack = (round(float(v), 6) for v in knobs[k])
            stop_deg = round(float(stop[k]), 6)
            bent = np.abs(np.subtract((post, other_post, slack, stop_deg), self._as_set())).sum()
            found.append(
                SpringPair(first, second, post, other_post, slack, stop_deg, float(margin[k]),
                          float("nan"), "one-spring-bent" if one else "two-springs", float(bent))
            )  # fmt: skip
        return found

    def _unbent(self, count: int) -> list[SpringPair]:
        """One spring changed, and nothing else: the best by their margin."""
        pairs = self.pairs[self.one_stays]
        if not len(pairs):
            return []
        mechanism = self._with(None, None, self._stop_deg, None)
        found = curves(balance_speeds(Builds(mechanism, self.given(pairs))))
        margin = self.goal.margin_deg(self.goal.advance_of_curves(found), self._stop_deg)
        margin = np.nan_to_num(margin, nan=-np.inf)
        return [
            SpringPair(*self._rows_of(pairs[k]), *self._as_set(), float(margin[k]), float("nan"),
                      "one-spring")
            for k in np.argsort(-margin, kind="stable")[:count]
        ]  # fmt: skip

    def _rows_of(self, pair: np.ndarray) -> tuple[int | None, int | None]:
        first, second = (int(self.rows[k]) if k < self.in_tray else None for k in pair)
        return first, second

    def _as_set(self) -> tuple[float, float, float, float]:
        """Posts, slack and stop of the docket as it is; of twins the first's."""
        springs = self.docket.mechanism.springs
        primary, secondary = springs[self.primaries[0]], springs[self.secondaries[0]]
        return primary.tang_mm, secondary.tang_mm, secondary.slack_taken_mm, self._stop_deg

    @property
    def _stop_deg(self) -> float:
        return required(self.docket.mechanism.stop_deg, "mechanism", "stop_deg")

    def _so_far(self, pools: Sequence[_Pool], looked_at: int, tuned: int) -> SearchResult:
        best = [c for pool in pools for c in self._best_of(pool, self.top)]
        return SearchResult(_ranked(best, self.top), len(self.pairs), looked_at, tuned, False)

    def _confirmed(self, pools: Sequence[_Pool]) -> tuple[SpringPair, ...]:
        """The best with the margin of the full prediction and the probability of passing."""
        count = self.top * _SPARE
        likely = self._unbent(count) if any(pool.pairs for pool in pools) else []
        likely += [c for pool in pools for c in self._best_of(pool, count)]
        sure = []
        for candidate in likely:
            mechanism = self.apply(candidate)
            try:
                prediction = predict(mechanism)
            except BobweightError:
                continue  # a pair that leaves the mechanism without hold, or a post on its peg
            margin = self.goal.margin_deg(self.goal.advance_of(prediction), prediction.full_deg)
            sure.append(replace(candidate, margin_deg=float(margin)))
        kept: list[SpringPair] = []
        for work in WORKS:
            ofs = sorted((c for c in sure if c.work == work), key=lambda c: -c.margin_deg)
            kept += ofs[: self.top + self.top // 2]
        return _ranked([self._with_probability(c) for c in kept], self.top)

    def _with_probability(self, candidate: SpringPair) -> SpringPair:
        mechanism = self.apply(candidate)
        spread = own_spread(mechanism, (*self.primaries, *self.secondaries))
        return replace(
            candidate, probability_inside=builds_probability(mechanism, self.goal, spread)
        )

    def apply(self, candidate: SpringPair) -> Mechanism:
        """The docket's mechanism with a candidate's springs, posts, slack and stop."""
        first, second = (
            None if row is None else self.tray.springs[row]
            for row in (candidate.primary, candidate.secondary)
        )
        settings = (
            candidate.primary_post_mm, candidate.secondary_post_mm, candidate.secondary_slack_mm
        )  # fmt: skip
        set_anew = candidate.work != "one-spring"
        return self._with(first, second, candidate.stop_deg, settings if set_anew else None)

    def curve(self, candidate: SpringPair) -> Branch:
        """The curve that a candidate gives, rising."""
        return predict(self.apply(candidate)).rising

    def basis(self, docket: Docket) -> tuple[object, ...]:
        """All of a docket that the search builds upon; equal ones have equal answers."""
        return basis(docket, self.asked.stop_free)

    def _with(
        self,
        first: TraySpring | None,
        second: TraySpring | None,
        stop_deg: float,
        settings: tuple[float, float, float] | None,
    ) -> Mechanism:
        """The docket's mechanism with these springs hooked in (None: its own stays); posts and
        slack as given, or as they are."""
        springs = list(self.docket.mechanism.springs)
        tang, tang_2, slack = settings or (0.0, 0.0, 0.0)
        ways = (
            (self.primaries, first, {"tang_mm": tang}),
            (self.secondaries, second, {"tang_mm": tang_2, "slack_mm": slack}),
        )
        for places, new, values in ways:
            for index in places:
                own = springs[index]
                springs[index] = hooked_in(
                    own, new or from_docket(own), **values if settings else {}
                )
        return self.docket.mechanism.with_changes(springs=tuple(springs), stop_deg=stop_deg)


def _rank(candidate: SpringPair) -> tuple[float, ...]:
    """Inside before outside; inside, the least kind of work; then the most margin, as far as a hand
    can set it, the least bent and the surest."""
    kind = WORKS.index(candidate.work) if candidate.inside else 0
    margin = round(candidate.margin_deg, 2)
    return not candidate.inside, kind, -margin, candidate.bent, -candidate.probability_inside


def _ranked(candidates: Sequence[SpringPair], top: int) -> tuple[SpringPair, ...]:
    """The best by rank; of every kind of work that comes inside, a third of the places at least, so
    that a larger margin at the price of more work is seen too."""
    ranked = sorted(candidates, key=_rank)
    inside = [[c for c in ranked if c.inside and c.work == work] for work in WORKS]
    first = [c for group in inside for c in group[: top // len(WORKS)]]
    rest = [c for c in ranked if not any(c is kept for kept in first)]
    return tuple(sorted([*first, *rest[: top - len(first)]], key=_rank))


def _other_than(stays: TraySpring | None, springs: Sequence[TraySpring]) -> np.ndarray:
    """Of each spring, whether it is another than the one that is in already, shape (springs,)."""
    own = None if stays is None else own_figures(stays)
    return np.array([own_figures(s) != own for s in springs])


def _staying(mechanism: Mechanism, places: tuple[int, ...]) -> TraySpring | None:
    """What stays in these places as one spring, mean figures where left and right differ; None if
    it is not known."""
    own = [mechanism.springs[i] for i in places]
    if any(s.rate_n_per_mm is None or s.free_length_mm is None for s in own):
        return None
    means = {key: float(np.mean([taken(s, key) for s in own])) for key in OWN_FIGURES}
    return from_docket(own[0]).with_changes(**means)


def looked_over(
    docket: Docket, tray: Tray
) -> tuple[Goal, tuple[tuple[int, ...], tuple[int, ...]], list[int]]:
    """What a search begins with, at once: its goal, where primary and secondary springs hang, and
    the rows of the tray that are tried.

    Raises
    ------
    BobweightError
        ``no-check-points``; ``no-spring-to-replace``; ``tray-empty``, ``tray-too-small``.
    """
    goal, rows = goal_of(docket), usable_rows(tray)
    places = places_of(docket.mechanism, "primary"), places_of(docket.mechanism, "secondary")
    if not rows:
        raise too_few(tray, 0)
    return goal, places, rows


def too_few(tray: Tray, count: int) -> BobweightError:
    """The refusal of a tray that has no pair, of so many springs of which enough is known."""
    if not tray.springs:
        return BobweightError("tray-empty", ())
    return BobweightError("tray-too-small", (), count=count)


def places_of(mechanism: Mechanism, role: str) -> tuple[int, ...]:
    """Where springs of a role hang.

    Raises
    ------
    BobweightError
        ``no-spring-to-replace`` if none does.
    """
    found = tuple(i for i, spring in enumerate(mechanism.springs) if spring.role == role)
    if not found:
        raise BobweightError("no-spring-to-replace", ("mechanism", "springs"), role=role)
    return found


def _reachable(
    mechanism: Mechanism, limits: tuple[float, float] | None
) -> tuple[float, float] | None:
    """The stop's limits, the upper one no further than the linkage reaches."""
    if limits is None:
        return None
    low, high = limits
    theta = np.radians(np.linspace(0.0, high, 200)).reshape(1, 1, -1)
    motion = Motion(Builds(mechanism))
    pull = np.broadcast_to(motion.inertia_slope(theta, motion.at(theta)), theta.shape)[0, 0]
    lost = np.flatnonzero(~(pull > 0))
    if len(lost):
        high = float(np.degrees(theta[0, 0, max(lost[0] - 1, 0)]))
    return min(low, high), high
