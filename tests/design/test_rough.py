"""Springs from the tray for a unit known by its readings more than by its figures."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from bobweight.core.design import rough
from bobweight.core.design.asks import SearchAsk
from bobweight.core.design.rough import TWO_UNBENT, RoughSearch, search_of
from bobweight.core.design.search import Search, SpringPair
from bobweight.core.design.tray import Tray, TraySpring
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism, Spring
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.problems import BobweightError
from tests.samples import sample

PRIMARY, SECONDARY, LEFT = 2.6, 11.0, 0.72
"""The sample's own springs, and what its primary has left of its rate: its story."""
RATES = (1.4, 1.9, 2.5, 3.2, 4.2, 9.0, 11.5, 14.0)
TRAY = Tray(springs=tuple(
    TraySpring(label=f"{k}", count=2, rate_n_per_mm=k, free_length_mm=20.0) for k in RATES
))  # fmt: skip


def hung(*rates: float | None) -> Docket:
    """The sample with nothing known of its mechanism but the rates of its springs as they hang."""
    roles = ("primary", "secondary")
    springs = tuple(Spring(role=r, rate_n_per_mm=k) for r, k in zip(roles, rates, strict=True))
    return sample("weak_primary").with_changes(
        mechanism=Mechanism(springs=springs, measured_off="found")
    )


def test_the_spring_that_is_so_many_times_as_stiff_is_found_in_the_tray():
    """The unit is as found, its primary at 72 % of what keeps the table: nearest to the sound rate
    is 2.5 N/mm. Nothing else of the mechanism is known."""
    docket = hung(LEFT * PRIMARY, SECONDARY)
    search = search_of(docket, TRAY, decide=lambda: decide_docket(docket))
    assert isinstance(search, RoughSearch)
    found = search.run()
    best = found.candidates[0]
    assert (best.primary, best.secondary, best.work) == (RATES.index(2.5), None, "one-spring")
    assert best.probability_inside == max(c.probability_inside for c in found.candidates)
    assert found.finished and all(0.0 <= c.probability_inside <= 1.0 for c in found.candidates)
    fitted = search.apply(best)
    assert [s.rate_n_per_mm for s in fitted.springs] == [2.5, SECONDARY]
    curve, points = search.curve(best), docket.target.points
    assert (curve.advance_deg[1:] >= curve.advance_deg[:-1] - 1e-9).all()
    assert curve.speed_rpm[-1] > 0.9 * points[-1].speed_rpm


def test_with_no_rate_of_the_present_springs_none_of_the_tray_can_be_chosen():
    docket = hung(None, None)
    with pytest.raises(BobweightError) as refused:
        search_of(docket, TRAY, decide=lambda: decide_docket(docket))
    assert refused.value.problem.code == "no-rate-to-compare"


def test_a_mechanism_that_can_be_predicted_is_searched_in_full():
    assert isinstance(search_of(sample("weak_primary"), TRAY), Search)


def test_without_readings_what_is_missing_is_told():
    docket = hung(LEFT * PRIMARY, SECONDARY).with_changes(sessions=())
    with pytest.raises(BobweightError) as refused:
        search_of(docket, TRAY, decide=lambda: decide_docket(docket))
    assert refused.value.problem.code == "missing"


def test_a_search_stopped_gives_what_it_has():
    docket = hung(LEFT * PRIMARY, SECONDARY)
    search = search_of(docket, TRAY, decide=lambda: decide_docket(docket))
    asked = iter((False, True))
    found = search.run(cancelled=lambda: next(asked))
    assert not found.finished and 0 < len(found.candidates) < 2 * len(RATES)


def test_nothing_is_chosen_by_figures_of_which_one_is_doubted():
    docket = sample("weak_primary")
    mass = ("mechanism", "weights", "mass_g")
    decision = decide_docket(docket.with_changes(sessions=()))
    doubted = replace(decision.judgement, bare=True, doubted=(mass,))
    with pytest.raises(BobweightError) as refused:
        search_of(docket, TRAY, decision=replace(decision, judgement=doubted))
    assert (refused.value.problem.code, refused.value.problem.path) == (
        "figure-doubted-first",
        mass,
    )


# Each part by hand -------------------------------------------------------------------------------


def with_samples(tray: Tray, count: int = 4000, top: int = 12) -> RoughSearch:
    """A search over samples that only the springs part: one place each, and nothing open else."""
    made = RoughSearch.__new__(RoughSearch)
    made.asked, made.tray, made.docket = SearchAsk(top=top), tray, sample("weak_primary")
    made.primaries, made.secondaries = (0,), (1,)
    made.rows = [i for i, s in enumerate(tray.springs) if s.count and s.rate_n_per_mm]
    lengths = {("mechanism", "springs", i, "free_length_mm"): np.full(count, 21.0 + i)
               for i in (0, 1)}  # fmt: skip
    made.posterior = SimpleNamespace(
        x=np.zeros((count, 1)),
        weight=np.full(count, 1.0 / count),
        sound=lengths,
        simulator=SimpleNamespace(usual=lambda path: 0.0),
    )
    made.decision = SimpleNamespace(judgement=SimpleNamespace(assumed=()))
    made.drawn = np.random.default_rng(5).normal(size=(2, 2, count))
    made.values = {("mechanism", "springs", i, key): np.full(count, 5.0)
                   for i in (0, 1)
                   for key in ("rate_n_per_mm", "free_length_mm", "initial_tension_n")}  # fmt: skip
    return made


def test_a_spring_is_as_it_was_measured_and_hangs_where_the_sound_one_hung():
    """Its rate log-normal about what the tray says, its length by what it is longer than the
    docket's, each as sure as stated or as a hand is (3 % and 0.1 mm, common practice)."""
    springs = (
        TraySpring(rate_n_per_mm=2.0, free_length_mm=24.0, initial_tension_n=1.5,
                   u={"rate_n_per_mm": 0.2, "free_length_mm": 0.4}),
        TraySpring(rate_n_per_mm=9.0),
    )  # fmt: skip
    made = with_samples(Tray(springs=springs))
    stated = made.docket.mechanism.springs[0].free_length_mm
    found = {(p[2], p[3]): v for p, v in made._values((0, 1)).items()}
    rate, heavy = found[0, "rate_n_per_mm"], found[1, "rate_n_per_mm"]
    assert np.log(rate).mean() == pytest.approx(np.log(2.0), abs=0.01)
    assert np.log(rate).std() == pytest.approx(0.1, rel=0.05)
    assert np.log(heavy).mean() == pytest.approx(np.log(9.0), abs=0.003)
    assert np.log(heavy).std() == pytest.approx(0.03, rel=0.05)
    length, other = found[0, "free_length_mm"], found[1, "free_length_mm"]
    assert length.mean() == pytest.approx(21.0 + 24.0 - stated, abs=0.03)
    assert length.std() == pytest.approx(0.4, rel=0.05)
    assert other.mean() == pytest.approx(22.0, abs=0.01)  # of which no length is known
    assert other.std() == pytest.approx(0.1, rel=0.05)
    for one, two in ((rate, length), (rate, heavy), (length, other)):
        assert abs(np.corrcoef(np.log(one), np.log(two))[0, 1]) < 0.06
    assert set(found[0, "initial_tension_n"]) == {1.5}
    alone = made._values((None, 1))
    assert set(alone["mechanism", "springs", 0, "rate_n_per_mm"]) == {5.0}  # the one that stays
    made.decision.judgement.assumed = (("mechanism", "springs", 0, "free_length_mm"),)
    assert made._values((0, None))["mechanism", "springs", 0, "free_length_mm"].mean() == (
        pytest.approx(21.0, abs=0.03)  # a length that nobody stated is none to compare with
    )


def test_the_chance_is_that_of_the_samples_inside():
    """Of a margin that is normal 0.5 ± 1, and with both springs 1.5 ± 1 (scipy's law)."""
    springs = (TraySpring(rate_n_per_mm=2.0, free_length_mm=20.0), TraySpring(rate_n_per_mm=9.0))
    made = with_samples(Tray(springs=springs))
    count = len(made.posterior.x)
    draws = stats.norm.ppf((np.arange(count) + 0.5) / count)
    made._values = lambda pair: dict.fromkeys(made.values, np.full(count, 2.0 - pair.count(None)))
    made.posterior.advance = lambda values, speed, ways: next(iter(values.values()))
    made.posterior.simulator.most_deg = lambda values: 12.0
    made.goal = SimpleNamespace(
        speed_rpm=None, branches=(),
        margin_deg=lambda advance, stop: advance - 0.5 + np.resize(draws, len(advance)),
    )  # fmt: skip
    made.decision.judgement.described = made.docket
    mechanism = made.docket.mechanism
    one, both = made._judged([(0, None), (0, 1)])
    assert (one.primary, one.secondary, one.work) == (0, None, "one-spring")
    assert (both.primary, both.secondary, both.work) == (0, 1, "two-springs-unbent")
    made.decision.judgement.described = made.docket.with_changes(
        mechanism=mechanism.with_changes(stop_deg=None)
    )
    assert made._judged([(0, None)])[0].stop_deg == 0.0
    for found, middle in ((one, 0.5), (both, 1.5)):
        assert found.probability_inside == pytest.approx(stats.norm.cdf(middle), abs=1e-3)
        assert found.margin_deg == pytest.approx(middle, abs=1e-3)
        assert (found.primary_post_mm, found.secondary_post_mm) == (0.0, 0.0)
        assert found.secondary_slack_mm == mechanism.springs[1].slack_mm
        assert found.stop_deg == mechanism.stop_deg


def judged_by(made: RoughSearch, chances: dict) -> list:
    """Lets a search judge by a table; a margin falls with the rows. What it was asked for."""
    asked: list = []
    mechanism = made.docket.mechanism

    def judged(pairs):
        asked.append(list(pairs))
        return [
            SpringPair(*p, 0.0, 0.0, 0.0, mechanism.stop_deg, -sum(r or 0 for r in p),
                       chances.get(p, 0.1), "one-spring" if None in p else TWO_UNBENT)
            for p in pairs
        ]  # fmt: skip

    made._judged = judged
    return asked


def test_each_spring_is_tried_in_each_place_and_the_best_of_both_together():
    springs = tuple(TraySpring(count=1 + (k == 1), rate_n_per_mm=1.0 + k) for k in range(13))
    made = with_samples(Tray(springs=springs), count=3, top=5)
    chances = {(k, None): 0.5 - 0.02 * k for k in range(13)}
    chances |= {(None, k): 0.3 - 0.02 * k for k in range(13)}
    chances |= {(0, 1): 0.54, (1, 0): 0.56, (2, 3): 0.4}
    asked, told = judged_by(made, chances), []
    found = made.run(told=lambda share, result: told.append((share, result)))
    every = [pair for batch in asked for pair in batch]
    singles = [(k, None) for k in range(13)] + [(None, k) for k in range(13)]
    assert every[:26] == singles and max(map(len, asked)) == 12
    # Ten of each place, a spring of which there is one not with itself.
    assert set(every[26:]) == {(a, b) for a in range(10) for b in range(10) if a != b or a == 1}
    assert len(every) == 26 + 91 == found.looked_at == found.pairs
    # A second spring has to add one in twenty.
    assert [(c.primary, c.secondary) for c in found.candidates] == [
        (1, 0), (0, None), (0, 1), (1, None), (2, None)
    ]  # fmt: skip
    assert found.finished and found.tuned == 0
    shares = [share for share, _ in told]
    assert shares == sorted(shares) and 0.0 < shares[0] < 0.2 and 0.9 < shares[-1] <= 1.0
    assert [r.finished for _, r in told] == [False] * len(asked)


def test_of_as_probable_ones_the_one_with_more_margin_comes_first():
    springs = tuple(TraySpring(rate_n_per_mm=1.0 + k) for k in range(3))
    made = with_samples(Tray(springs=springs), count=3, top=3)
    judged_by(made, {})
    assert [(c.primary, c.secondary) for c in made.run().candidates] == [
        (0, None), (None, 0), (1, None)
    ]  # fmt: skip


@pytest.mark.parametrize("batches", [0, 1, 2])
def test_a_search_that_is_stopped_is_not_finished(batches):
    springs = tuple(TraySpring(rate_n_per_mm=1.0 + k) for k in range(6))
    made = with_samples(Tray(springs=springs), count=3, top=50)
    asked = judged_by(made, {})
    found = made.run(cancelled=lambda: len(asked) == batches)
    assert len(asked) == batches and not found.finished
    assert len(found.candidates) == found.looked_at == sum(map(len, asked))


def test_the_curve_is_the_middle_of_what_the_unit_may_then_have():
    """To a tenth beyond the speed at which half of them are fully advanced."""
    made = with_samples(Tray(springs=(TraySpring(rate_n_per_mm=2.0),)), count=3)
    ends = np.array([[0.0, 0.0, 1500.0], [0.0, 0.0, 1800.0], [0.0, 0.0, np.inf]])
    made.posterior.simulator.curves = lambda values: SimpleNamespace(rising_rpm=ends)
    made.posterior.advance = lambda values, speed, ways: np.stack(
        [np.stack([k * speed / 1000.0]) for k in (3.0, 1.0, 2.0)]
    )
    curve = made.curve(SpringPair(0, None, 0.0, 0.0, 0.0, 12.0, 0.0, 0.5, "one-spring"))
    assert curve.speed_rpm[[0, -1]] == pytest.approx([0.0, 1.1 * 1800.0])
    assert curve.advance_deg == pytest.approx(2.0 * curve.speed_rpm / 1000.0)


def decided(diagnosis: object = "one") -> SimpleNamespace:
    """A decision of the unit as found."""
    judgement = SimpleNamespace(bare=False, assumed=())
    return SimpleNamespace(
        docket=hung(LEFT * PRIMARY, SECONDARY), judgement=judgement,
        diagnosis=diagnosis,
    )  # fmt: skip


@pytest.fixture
def quick(monkeypatch):
    """A posterior at once: three samples."""

    def posterior(diagnosis):
        unit = SimpleNamespace(assumed=SimpleNamespace(nothing_known=diagnosis == "nothing"))
        return SimpleNamespace(family=SimpleNamespace(unit=unit), x=np.zeros((3, 1)), values={},
                               simulator=SimpleNamespace(usual=lambda path: 1.0))  # fmt: skip

    monkeypatch.setattr(rough, "Posterior", posterior)


def refused(*arguments, **named) -> tuple:
    with pytest.raises(BobweightError) as told:
        search_of(*arguments, **named)
    return told.value.problem.code, told.value.problem.path


def test_a_decision_is_made_only_where_the_mechanism_cannot_be_predicted(quick):
    """And where that is all that is missing: readings choose no spring for a table of nothing."""
    docket, asked = hung(LEFT * PRIMARY, SECONDARY), []

    def decide():
        asked.append(1)
        return decided()

    assert isinstance(search_of(docket, TRAY, decide=decide), RoughSearch) and asked == [1]
    assert isinstance(search_of(docket, TRAY, decision=decided(), decide=decide), RoughSearch)
    assert not isinstance(search_of(sample("weak_primary"), TRAY, decide=decide), RoughSearch)
    no_table = docket.with_changes(target=docket.target.with_changes(points=()))
    assert refused(no_table, TRAY, decide=decide)[0] == "no-check-points"
    one = Mechanism(springs=(Spring(role="primary", rate_n_per_mm=2.0),))
    single = docket.with_changes(mechanism=one)
    assert refused(single, TRAY, decide=decide)[0] == "no-spring-to-replace"
    assert asked == [1]
    assert refused(docket, TRAY)[0] == "missing"
    assert refused(docket, TRAY, decision=decided(diagnosis=None))[0] == "missing"
    assert RoughSearch.is_rough and not Search.is_rough


def test_springs_that_are_there_and_have_a_rate_are_tried(quick):
    springs = (
        TraySpring(count=0, rate_n_per_mm=2.0), TraySpring(count=1, rate_n_per_mm=3.0),
        TraySpring(count=1), TraySpring(count=2, rate_n_per_mm=4.0),
    )  # fmt: skip
    made = RoughSearch(decided(), Tray(springs=springs), SearchAsk(top=3))
    assert made.rows == [1, 3] and made.asked.top == 3
    assert RoughSearch(decided(), Tray(springs=springs)).asked == SearchAsk()
    with pytest.raises(BobweightError) as told:
        RoughSearch(decided(), Tray(springs=springs[::2]))
    assert told.value.problem.code == "tray-too-small"
    with pytest.raises(BobweightError) as told:
        RoughSearch(decided(diagnosis="nothing"), Tray(springs=springs))
    place = ("mechanism", "springs", 0, "rate_n_per_mm")
    assert (told.value.problem.code, told.value.problem.path) == ("no-rate-to-compare", place)
