"""Tray springs for a unit that is known by its readings more than by its figures.

Where figures are blank nothing can be predicted in full and no post set to a hair. But the samples
of the judgement say what the unit may be: every tray spring is tried in all of them, hooked in as
the present one is, and the chance that the unit then keeps its table is told. How stiff the present
springs are is in the samples too, so that a rate that is not known well makes the chances poor.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import product

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.design.asks import SearchAsk
from bobweight.core.design.goal import goal_of
from bobweight.core.design.search import Search, SearchResult, SpringPair, places_of, too_few
from bobweight.core.design.tray import OWN_FIGURES, Tray, hooked_in
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.judgement.alter_catalogue import HAND_SHARE, HAND_U
from bobweight.core.judgement.decision import Decision
from bobweight.core.judgement.fit_curves import Values
from bobweight.core.judgement.posterior import Posterior, quantiles
from bobweight.core.mechanics.predict import Branch
from bobweight.core.problems import BobweightError, Path, required
from bobweight.core.record import checked

TWO_UNBENT = "two-springs-unbent"
"""What is to be done where nothing can be set: both springs changed, and no post bent."""
_TOGETHER = 12  # springs tried in one batch
_BEST_OF_A_PLACE = 10  # of which pairs are made
_WORTH_ANOTHER = 0.05  # what a second spring must add to the chance
_SEED = 31
_CURVE_SPEEDS = 121

Told = Callable[[float, SearchResult], None]
Fitted = tuple[int | None, int | None]
"""Rows of the tray that become primary and secondary; None for the spring that stays."""


def search_of(
    docket: Docket,
    tray: Tray,
    asked: SearchAsk | None = None,
    decision: Decision | None = None,
    decide: Callable[[], Decision] | None = None,
) -> Search | RoughSearch:
    """The search in full where the mechanism can be predicted, else by what the readings tell.

    Parameters
    ----------
    decision : Decision, optional
        Of the docket, if it is at hand.
    decide : callable, optional
        Makes it where it is needed.

    Raises
    ------
    BobweightError
        ``figure-doubted-first`` at the likeliest figure where one of the mechanism cannot be
        right, ``figures-doubted-first`` where no single one would explain it; as
        :class:`core.design.search.Search`, where there are no readings to choose by.
    """
    if decision is not None and decision.judgement.bare:
        for place in decision.judgement.doubted:
            raise BobweightError("figure-doubted-first", place)
        raise BobweightError("figures-doubted-first", ("mechanism",))
    try:
        return Search(docket, tray, asked)
    except BobweightError as error:
        if error.problem.path[:1] != ("mechanism",) or error.problem.code == "no-spring-to-replace":
            raise
        if decision is None and decide is not None:
            decision = decide()
        if decision is None or decision.diagnosis is None:
            raise
    return RoughSearch(decision, tray, asked)


class RoughSearch:
    """A search by the samples of a judgement, with the face of :class:`core.design.search.Search`.
    Nothing is bent.

    Parameters
    ----------
    decision : Decision
        With a diagnosis.
    tray : Tray
        Springs with a rate are tried.
    asked : SearchAsk, optional
        How many candidates are wanted; how far posts may be bent plays no part.

    Raises
    ------
    BobweightError
        ``no-check-points``; ``no-spring-to-replace``; ``tray-empty``, ``tray-too-small``;
        ``no-rate-to-compare`` where neither rate nor place of the present springs is known.
    """

    is_rough = True

    def __init__(self, decision: Decision, tray: Tray, asked: SearchAsk | None = None):
        self.asked = asked or SearchAsk()
        checked(self.asked)
        self.decision, self.docket, self.tray = decision, decision.docket, tray
        self.goal = goal_of(self.docket)
        mechanism = self.docket.mechanism
        self.primaries = places_of(mechanism, "primary")
        self.secondaries = places_of(mechanism, "secondary")
        self.rows = [i for i, s in enumerate(tray.springs) if s.count > 0 and s.rate_n_per_mm]
        if not self.rows:
            raise too_few(tray, 0)
        self.posterior = Posterior(required(decision.diagnosis))
        if self.posterior.family.unit.assumed.nothing_known:
            place = ("mechanism", "springs", self.primaries[0], "rate_n_per_mm")
            raise BobweightError("no-rate-to-compare", place)
        self.drawn = np.random.default_rng(_SEED).normal(size=(2, 2, len(self.posterior.x)))
        now = self.posterior.values  # of every figure that a spring brings with it, in any place
        paths = [
            ("mechanism", "springs", index, key)
            for index in (*self.primaries, *self.secondaries)
            for key in OWN_FIGURES
        ]
        self.values: Values = {**now, **{path: self._samples(now, path) for path in paths}}

    def basis(self, docket: Docket) -> tuple[object, ...]:
        """All of a docket that the search builds upon; equal ones have equal answers."""
        return docket.target, docket.particulars, docket.mechanism, docket.sessions

    def run(
        self, told: Told | None = None, cancelled: Callable[[], bool] | None = None
    ) -> SearchResult:
        """Each spring in each place, then the best of both places together; one spring is given
        the place before two that are little better."""
        singles: list[Fitted] = [(r, None) for r in self.rows]
        singles += [(None, r) for r in self.rows]
        best: list[list[int]] = [[], []]
        found: list[SpringPair] = []
        asked = [*singles]
        count = len(singles) + min(len(self.rows), _BEST_OF_A_PLACE) ** 2
        while asked:
            if cancelled is not None and cancelled():
                break
            batch, asked = asked[:_TOGETHER], asked[_TOGETHER:]
            found += self._judged(batch)
            if not asked and not best[0]:
                ranked = sorted(found, key=_rank)
                best = [[c.primary for c in ranked if c.primary is not None],
                        [c.secondary for c in ranked if c.secondary is not None]]  # fmt: skip
                pairs = product(*(rows[:_BEST_OF_A_PLACE] for rows in best))
                asked = [(r, q) for r, q in pairs if r != q or self.tray.springs[r].count > 1]
            if told is not None:
                told(len(found) / count, self._result(found, False))
        return self._result(found, not asked and bool(best[0]))

    def _result(self, found: list[SpringPair], finished: bool) -> SearchResult:
        ranked = tuple(sorted(found, key=_rank)[: self.asked.top])
        return SearchResult(ranked, len(found), len(found), 0, finished)

    def apply(self, candidate: SpringPair) -> Mechanism:
        """The docket's mechanism with a candidate's springs."""
        springs = list(self.docket.mechanism.springs)
        for row, places in self._fitted((candidate.primary, candidate.secondary)):
            for index in places:
                springs[index] = hooked_in(springs[index], self.tray.springs[row])
        return self.docket.mechanism.with_changes(springs=tuple(springs))

    def curve(self, candidate: SpringPair) -> Branch:
        """The middle of the curves that the unit may then have."""
        posterior = self.posterior
        values = self._values((candidate.primary, candidate.secondary))
        table = posterior.simulator.curves(values)
        end = 1.1 * quantiles(np.minimum(table.rising_rpm[:, -1], 1e4), posterior.weight, (0.5,))[0]
        speed = np.linspace(0.0, float(end), _CURVE_SPEEDS)
        found = posterior.advance(values, speed, ("rising",))[:, 0]
        return Branch(speed, quantiles(found, posterior.weight, (0.5,))[0])

    def _fitted(self, pair: Fitted) -> list[tuple[int, tuple[int, ...]]]:
        """Rows of the tray that are fitted, each with its places."""
        both = zip(pair, (self.primaries, self.secondaries), strict=True)
        return [(row, places) for row, places in both if row is not None]

    def _samples(self, values: Values, path: Path) -> Floats:
        """The samples of a value, be it open or not."""
        if path in values:
            return values[path]
        return np.full(len(self.posterior.x), self.posterior.simulator.usual(path))

    def _judged(self, pairs: Sequence[Fitted]) -> list[SpringPair]:
        """Chance and usual margin of each pair, from all samples."""
        posterior, goal = self.posterior, self.goal
        each = [self._values(pair) for pair in pairs]
        values = {p: np.concatenate([v[p] for v in each]) for p in self.values}
        advance = posterior.advance(values, goal.speed_rpm, goal.branches)
        stop_deg = posterior.simulator.most_deg(values)
        margins = goal.margin_deg(advance, stop_deg).reshape(len(pairs), -1)
        mechanism = self.decision.judgement.described.mechanism
        slack = mechanism.springs[self.secondaries[0]].slack_taken_mm
        found = []
        for pair, margin in zip(pairs, margins, strict=True):
            chance = float((margin >= 0) @ posterior.weight)
            usual = float(quantiles(margin, posterior.weight, (0.5,))[0])
            work = "one-spring" if None in pair else TWO_UNBENT
            found.append(SpringPair(*pair, 0.0, 0.0, slack, mechanism.stop_deg or 0.0, usual,
                                    chance, work))  # fmt: skip
        return found

    def _values(self, pair: Fitted) -> Values:
        """The samples' values with springs fitted: their rates as known of them, hooked in as a
        sound one was; and longer or shorter by what the docket says, where it states a length."""
        values, posterior = dict(self.values), self.posterior
        blank = set(self.decision.judgement.assumed)
        for place, (row, places) in enumerate(self._fitted(pair)):
            spring, drawn = self.tray.springs[row], self.drawn[place]
            rate = required(spring.rate_n_per_mm)
            share = spring.u.get("rate_n_per_mm", HAND_SHARE["rate_n_per_mm"] * rate) / rate
            u_length = spring.u.get("free_length_mm", HAND_U["free_length_mm"])
            for index in places:
                at = ("mechanism", "springs", index)
                stated = self.docket.mechanism.springs[index].free_length_mm
                length = self._samples(posterior.sound, (*at, "free_length_mm"))
                if stated and spring.free_length_mm and (*at, "free_length_mm") not in blank:
                    length = length + spring.free_length_mm - stated
                values[*at, "rate_n_per_mm"] = rate * np.exp(share * drawn[0])
                values[*at, "free_length_mm"] = length + u_length * drawn[1]
                values[*at, "initial_tension_n"] = np.full_like(length, spring.tension_taken_n)
        return values


def _rank(candidate: SpringPair) -> tuple[float, float]:
    """The most probable first, a second spring taken off what it must add."""
    two = candidate.work == TWO_UNBENT
    return _WORTH_ANOTHER * two - candidate.probability_inside, -candidate.margin_deg


AnySearch = Search | RoughSearch
