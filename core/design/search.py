"""Every ordered pair of tray springs as primary and secondary, tuned and ranked by margin.

First every pair is looked at on a coarse grid (:mod:`core.design.coarse`); then, the most
promising first, posts, slack and stop are tuned for many pairs at once
(:mod:`core.design.tuning`). What is reported has been predicted once more in full.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from bobweight.core.design.asks import SearchAsk
from bobweight.core.design.coarse import FirstLook, Grid, SpringFigures
from bobweight.core.design.goal import Goal, goal_of
from bobweight.core.design.spread import own_spread
from bobweight.core.design.tolerance import builds_probability
from bobweight.core.design.tray import OWN_FIGURES, Tray, TraySpring, hooked_in, usable_rows
from bobweight.core.design.tuning import Knob, Tuned, Tuner
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.motion import Motion
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import checked

_LOOK_BATCH = 1024  # a second or less between two looks at whether to stop
_TUNE_BATCH = 96
_DOUBT_DEG = 1.5  # how much the tuning may add to what the first look has shown
_GAIN_DEG = 0.3  # how much the end of the tuning may add to its beginning
_AS_GOOD_DEG = 0.005  # margins closer than this to the largest there can be are as good
_SPARE = 3  # times as many are kept as are wanted: the full prediction may refuse some
_GRID = (9, 5, 9)


@dataclass(frozen=True)
class Candidate:
    """One pair with its best settings.

    Attributes
    ----------
    primary, secondary : int
        Rows of the tray.
    primary_post_mm, secondary_post_mm : float
        Tangs bent, from where the posts were measured.
    secondary_slack_mm, stop_deg : float
    margin_deg : float
        Smallest distance to the band's edge over check points, start and ceiling, by the full
        prediction; negative outside. Distributor degrees.
    probability_inside : float
        That every check point is passed, given the springs' own uncertainties.
    """

    primary: int
    secondary: int
    primary_post_mm: float
    secondary_post_mm: float
    secondary_slack_mm: float
    stop_deg: float
    margin_deg: float
    probability_inside: float

    @property
    def inside(self) -> bool:
        """Whether every check point is passed as predicted."""
        return self.margin_deg >= 0


@dataclass(frozen=True)
class Found:
    """What a search has come to, be it finished or not.

    Attributes
    ----------
    candidates : tuple of Candidate
        The most margin first, to 0.01°; then the most probable.
    pairs, looked_at, tuned : int
        Ordered pairs there are, that were looked at, and that were tuned.
    finished : bool
    """

    candidates: tuple[Candidate, ...]
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
    tray : Tray
    asked : SearchAsk, optional
        How far a hand may go, and how many candidates are wanted.

    Raises
    ------
    BobweightError
        ``no-check-points``; ``no-spring-to-replace`` where the mechanism has no primary or no
        secondary; ``tray-too-small``; the first grave problem of the mechanism.
    """

    def __init__(self, docket: Docket, tray: Tray, asked: SearchAsk | None = None):
        asked = asked or SearchAsk()
        checked(asked)
        self.docket, self.tray, self.asked, self.top = docket, tray, asked, asked.top
        mechanism = docket.mechanism
        self.goal: Goal = goal_of(docket)
        self.primaries = _places(mechanism, "primary")
        self.secondaries = _places(mechanism, "secondary")
        self.rows = np.array(usable_rows(tray), dtype=int)
        springs = [tray.springs[row] for row in self.rows]
        if not springs:
            raise BobweightError("tray-too-small", (), count=len(tray.springs))
        self.figures = SpringFigures(
            *(np.array([getattr(s, key) for s in springs], dtype=float) for key in OWN_FIGURES)
        )
        self.stop_limits = _reachable(mechanism, asked.stop_range_deg)
        stop = self.stop_limits[1] if self.stop_limits else mechanism.stop_deg
        self.mechanism = self._with(springs[0], springs[0], stop_deg=stop)
        for problem in mechanism_problems(self.mechanism):
            if problem.grave and problem.path[:1] != ("springs",):
                raise BobweightError.of(problem.at("mechanism"))
        self.pairs = self._pairs(springs)
        if not len(self.pairs):
            raise BobweightError("tray-too-small", (), count=len(springs))
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

    def _pairs(self, springs: Sequence[TraySpring]) -> np.ndarray:
        """Ordered pairs for which the tray holds springs enough, shape (pairs, 2)."""
        count = np.array([spring.count for spring in springs])
        one, two = len(self.primaries), len(self.secondaries)
        first, second = (a.ravel() for a in np.indices((len(springs),) * 2))
        enough = (count[first] >= one) & (count[second] >= two)
        enough &= (first != second) | (count[first] >= one + two)
        return np.stack([first[enough], second[enough]], axis=1)

    def given(self, pairs: np.ndarray) -> dict[Path, np.ndarray]:
        """The springs' own figures of each pair, by path in the mechanism."""
        values: dict[Path, np.ndarray] = {}
        for column, places in enumerate((self.primaries, self.secondaries)):
            for index in places:
                for key in OWN_FIGURES:
                    own = getattr(self.figures, key)[pairs[:, column]]
                    values[("springs", index, key)] = own
        return values

    def run(
        self,
        progress: Callable[[float, Found], None] | None = None,
        cancelled: Callable[[], bool] | None = None,
        tune_all: bool = False,
    ) -> Found:
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
        starts, guesses = self.first_look(tell, stopped)
        looked_at = len(guesses)
        order = np.argsort(-guesses, kind="stable")
        pool, tuned, finished = _Pool(), 0, looked_at == len(self.pairs)
        cap = self.goal.largest_margin_deg - _AS_GOOD_DEG
        while tuned < len(order):
            piece = order[tuned : tuned + _TUNE_BATCH]
            floor = pool.floor(self.top)
            sated = pool.floor(self.top * _SPARE) >= cap
            if not tune_all and (sated or guesses[piece[0]] < floor - _DOUBT_DEG):
                break
            if stopped():
                finished = False
                break
            pool.add(*self._tuned(piece, starts, -np.inf if tune_all else floor))
            tuned += len(piece)
            likely = max(np.count_nonzero(guesses >= floor - _DOUBT_DEG), tuned)
            tell(0.2 + 0.8 * tuned / likely, self._so_far(pool, looked_at, tuned))
        best = self._confirmed(pool)
        return Found(best, len(self.pairs), looked_at, tuned, finished)

    def _tuned(
        self, piece: np.ndarray, starts: np.ndarray, floor: float
    ) -> tuple[np.ndarray, Tuned]:
        """The pairs of a piece that can rise above the floor, and what they are tuned to."""
        given = self.given(self.pairs[piece])
        x, margins = self.tuner.begun(given, starts[piece])
        able = margins.max(axis=1) >= floor - _GAIN_DEG
        pairs = self.pairs[piece[able]]
        if not len(pairs):
            empty = np.empty(0)
            return pairs, Tuned(np.empty((0, len(self.knobs))), empty, empty)
        return pairs, self.tuner.finished(self.given(pairs), x[able], margins[able])

    def first_look(
        self, tell: Callable[[float, Found], None], stopped: Callable[[], bool]
    ) -> tuple[np.ndarray, np.ndarray]:
        """Settings to start from, shape (pairs, starts, knobs), and the margin that each pair
        promises, for as many of the pairs as are looked at before it is stopped."""
        counts = (self.asked.primary_tang_range_mm, self.asked.secondary_tang_range_mm,
                  self.asked.slack_range_mm)  # fmt: skip
        grid = Grid(*(np.linspace(*ends, n) for ends, n in zip(counts, _GRID, strict=True)))
        look = FirstLook(
            self.mechanism, self.goal, self.primaries, self.secondaries, self.figures, grid,
            self.stop_limits is not None,
        )  # fmt: skip
        starts, guesses = [], []
        for begin in range(0, len(self.pairs), _LOOK_BATCH):
            if stopped():
                break
            piece = self.pairs[begin : begin + _LOOK_BATCH]
            settings, margins = look.best(piece[:, 0], piece[:, 1])
            starts.append(settings)
            guesses.append(margins)
            done = begin + len(piece)
            tell(0.2 * done / len(self.pairs), Found((), len(self.pairs), done, 0, False))
        if not starts:
            return np.empty((0, 1, 3)), np.empty(0)
        return np.concatenate(starts), np.concatenate(guesses)

    def _best_of(self, pool: _Pool, count: int) -> list[Candidate]:
        if not pool.pairs:
            return []
        pairs, knobs = np.concatenate(pool.pairs), np.concatenate(pool.knobs)
        stop, margin = np.concatenate(pool.stop_deg), np.concatenate(pool.margin_deg)
        found = []
        for k in np.argsort(-margin, kind="stable")[:count]:
            rows = self.rows[pairs[k]]
            found.append(
                Candidate(int(rows[0]), int(rows[1]), *(round(float(v), 6) for v in knobs[k]),
                          round(float(stop[k]), 6), float(margin[k]), float("nan"))
            )  # fmt: skip
        return found

    def _so_far(self, pool: _Pool, looked_at: int, tuned: int) -> Found:
        best = tuple(self._best_of(pool, self.top))
        return Found(best, len(self.pairs), looked_at, tuned, False)

    def _confirmed(self, pool: _Pool) -> tuple[Candidate, ...]:
        """The best with the margin of the full prediction and the probability of passing."""
        sure = []
        for candidate in self._best_of(pool, self.top * _SPARE):
            mechanism = self.apply(candidate)
            try:
                prediction = predict(mechanism)
            except BobweightError:
                continue  # a pair that leaves the mechanism without hold, or a post on its peg
            margin = self.goal.margin_deg(self.goal.advance_of(prediction), prediction.full_deg)
            sure.append(replace(candidate, margin_deg=float(margin)))
        best = sorted((self._with_probability(c) for c in sure), key=_rank)
        return tuple(best[: self.top])

    def _with_probability(self, candidate: Candidate) -> Candidate:
        mechanism = self.apply(candidate)
        spread = own_spread(mechanism, (*self.primaries, *self.secondaries))
        return replace(
            candidate, probability_inside=builds_probability(mechanism, self.goal, spread)
        )

    def apply(self, candidate: Candidate) -> Mechanism:
        """The docket's mechanism with a candidate's springs, posts, slack and stop."""
        first, second = (self.tray.springs[r] for r in (candidate.primary, candidate.secondary))
        return self._with(
            first, second, candidate.stop_deg, candidate.primary_post_mm,
            candidate.secondary_post_mm, candidate.secondary_slack_mm,
        )  # fmt: skip

    def _with(
        self,
        first: TraySpring,
        second: TraySpring,
        stop_deg: float,
        primary_tang: float = 0.0,
        secondary_tang: float = 0.0,
        slack: float = 0.0,
    ) -> Mechanism:
        springs = list(self.docket.mechanism.springs)
        for index in self.primaries:
            springs[index] = hooked_in(springs[index], first, tang_mm=primary_tang)
        for index in self.secondaries:
            springs[index] = hooked_in(
                springs[index], second, tang_mm=secondary_tang, slack_mm=slack
            )
        return self.docket.mechanism.with_changes(springs=tuple(springs), stop_deg=stop_deg)


def _rank(candidate: Candidate) -> tuple[float, float]:
    """The most margin first; among margins that differ by less than a hand can set, the surest."""
    return -round(candidate.margin_deg, 2), -candidate.probability_inside


def _places(mechanism: Mechanism, role: str) -> tuple[int, ...]:
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
