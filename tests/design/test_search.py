"""The search in the tray: against a global optimiser pair by pair, and forces as vectors."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import rankdata

from bobweight.core.design import search as search_module
from bobweight.core.design.asks import SearchAsk
from bobweight.core.design.coarse import FirstLook, SettingGrid
from bobweight.core.design.glance import Glance
from bobweight.core.design.search import WORKS, Search, SearchResult
from bobweight.core.design.tray import Tray, TraySpring, from_docket, hooked_in
from bobweight.core.docket.docket import Docket
from bobweight.core.mechanics.balance import Balance
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import BobweightError
from bobweight.core.record import put
from tests.design.by_evolution import TWO_SPRINGS, compare_with_evolution
from tests.design.trays import tray_near
from tests.mechanics.independent import Vectors
from tests.samples import sample


@pytest.mark.parametrize("name", TWO_SPRINGS)
def test_no_optimiser_finds_a_better_setting(name):
    """On more pairs: ``tests.studies.springs``."""
    assert compare_with_evolution(name, 4, seed=11).max() <= 0.02


@pytest.fixture(scope="module")
def searched() -> tuple[Search, SearchResult]:
    """A tray of eight searched for one docket."""
    docket = sample("small_four")
    search = Search(docket, tray_near(docket.mechanism, 8, seed=3), SearchAsk(top=24))
    return search, search.run()


@pytest.mark.parametrize("name", ["small_four", "straight_six"])
def test_candidates_reported_inside_are_inside_by_vectors(name, searched):
    search, found = searched
    if name != "small_four":
        docket = sample(name)
        search = Search(docket, tray_near(docket.mechanism, 6, seed=3), SearchAsk(top=6))
        found = search.run()
    assert found.finished and found.looked_at == found.pairs
    goal = search.goal
    inside = [c for c in found.candidates if c.inside]
    assert inside
    for candidate in inside[:8]:
        vectors = Vectors(search.apply(candidate))
        margins = [goal.ceiling_deg - candidate.stop_deg]
        for branch in goal.branches:
            for k, speed in enumerate(goal.speed_rpm):
                advance = vectors.advance_deg(float(speed), branch)
                margins += [advance - goal.low_deg[k], goal.high_deg[k] - advance]
        assert min(margins) >= -1e-6
        assert min(margins) == pytest.approx(candidate.margin_deg, abs=1e-5)


def test_a_free_stop_never_has_less_margin_and_keeps_its_limits():
    docket = sample("small_four")
    tray = tray_near(docket.mechanism, 3, seed=5)
    stop = docket.mechanism.stop_deg
    fixed = Search(docket, tray, SearchAsk(top=12)).run(tune_all=True)
    free = Search(
        docket,
        tray,
        SearchAsk(top=12, stop_free=True, stop_least_deg=stop - 1.5, stop_most_deg=stop + 1.5),
    ).run(tune_all=True)
    at = {(c.primary, c.secondary): c.margin_deg for c in free.candidates if c.work != "one-spring"}
    shared = [
        c
        for c in fixed.candidates
        if (c.primary, c.secondary) in at and c.work != "one-spring"  # there the stop stays
    ]
    assert shared
    assert all(at[c.primary, c.secondary] >= c.margin_deg - 0.02 for c in shared)
    assert all(stop - 1.5 <= c.stop_deg <= stop + 1.5 for c in free.candidates)


def test_settings_keep_the_limits_of_tang_and_loop():
    docket = sample("vee_eight")
    limits = SearchAsk(
        primary_tang_mm=0.4, secondary_tang_mm=0.3, slack_least_mm=0.4, slack_most_mm=1.1
    )
    found = Search(docket, tray_near(docket.mechanism, 4, seed=2), limits).run()
    assert any(c.work != "one-spring" for c in found.candidates)
    for c in found.candidates:
        if c.work == "one-spring":  # nothing is set: all stays as the docket has it
            continue
        assert -0.4 <= c.primary_post_mm <= 0.4
        assert -0.3 <= c.secondary_post_mm <= 0.3
        assert 0.4 <= c.secondary_slack_mm <= 1.1


def test_the_docket_s_own_springs_are_found_again():
    docket = sample("small_four")
    own = docket.mechanism.springs
    spare = tray_near(docket.mechanism, 2, seed=8).springs
    tray = Tray(springs=(*spare, *(
        TraySpring(label=s.role, rate_n_per_mm=s.rate_n_per_mm, free_length_mm=s.free_length_mm,
                   initial_tension_n=s.initial_tension_n)
        for s in own
    )))  # fmt: skip
    search = Search(docket, tray, SearchAsk(top=50))
    goal = search.goal
    as_it_is = goal.margin_deg(
        goal.advance_of(predict(docket.mechanism)), docket.mechanism.stop_deg
    )
    found = search.run(tune_all=True)
    of_own = next(c for c in found.candidates if (c.primary, c.secondary) == (2, 3))
    assert of_own.margin_deg >= as_it_is - 1e-6


def test_every_ordered_pair_for_which_there_are_springs_is_looked_at():
    docket = sample("small_four")
    springs = tray_near(docket.mechanism, 5, seed=1, count=1).springs
    any_rate = SearchAsk(primary_rate_most_n_per_mm=500.0)
    # Besides the ordered pairs, each spring in either place while the other stays.
    assert len(Search(docket, Tray(springs=springs), any_rate).pairs) == 5 * 4 + 2 * 5
    double = springs[0].with_changes(count=2)
    assert (
        len(Search(docket, Tray(springs=(double, *springs[1:])), any_rate).pairs)
        == 5 * 4 + 1 + 2 * 5
    )
    unknown = springs[1].with_changes(rate_n_per_mm=None)
    none_left = springs[2].with_changes(count=0)
    short = Tray(springs=(springs[0], unknown, none_left, *springs[3:]))
    assert len(Search(docket, short, any_rate).pairs) == 3 * 2 + 2 * 3


def test_what_a_hand_would_do_first_stands_first(searched):
    """Least work first is common practice: one change a run, and a tang bent is not unbent."""
    own, search = sample("small_four").mechanism.springs, searched[0]
    found = searched[1].candidates
    kinds = [WORKS.index(c.work) for c in found if c.inside]
    assert kinds == sorted(kinds) and set(kinds) >= {1, 2}
    assert not any(c.inside for c in found[len(kinds) :])
    for work in WORKS:
        margins = [round(c.margin_deg, 2) for c in found if c.work == work and c.inside]
        assert margins == sorted(margins, reverse=True)
    for c in found:
        made = search.apply(c).springs
        changed = [made[k].rate_n_per_mm != own[k].rate_n_per_mm for k in (0, 1)]
        assert sum(changed) == (2 if c.work == "two-springs" else 1)
        if c.work == "one-spring":
            kept = [(s.tang_mm, s.slack_mm) for s in made]
            assert kept == [(s.tang_mm, s.slack_mm) for s in own] and c.bent == 0


def test_one_spring_like_the_right_one_needs_no_bending():
    """A unit that conforms, its secondary taken for a strange one: the tray has it, and it is to go
    back with nothing bent."""
    docket = sample("small_four")
    springs = list(docket.mechanism.springs)
    place = next(k for k, s in enumerate(springs) if s.role == "secondary")
    right = springs[place]
    springs[place] = right.with_changes(rate_n_per_mm=1.6 * right.rate_n_per_mm)
    wrong = docket.with_changes(mechanism=docket.mechanism.with_changes(springs=tuple(springs)))
    tray = Tray(springs=(*tray_near(docket.mechanism, 6, seed=2).springs, from_docket(right)))
    goal = Search(docket, tray).goal
    as_it_was = goal.margin_deg(
        goal.advance_of(predict(docket.mechanism)), docket.mechanism.stop_deg
    )
    assert as_it_was > 0
    found = Search(wrong, tray).run().candidates
    back = next(c for c in found if (c.primary, c.secondary, c.work) == (None, 6, "one-spring"))
    assert back.margin_deg == pytest.approx(as_it_was, abs=1e-6)


def test_a_stiff_spring_is_not_offered_as_primary():
    docket = sample("small_four")
    stiff = tray_near(docket.mechanism, 1, seed=1).springs[0].with_changes(rate_n_per_mm=17.0)
    tray = Tray(springs=(*tray_near(docket.mechanism, 5, seed=1).springs, stiff))
    assert 5 not in Search(docket, tray).pairs[:, 0]
    assert 5 in Search(docket, tray).pairs[:, 1]
    assert 5 in Search(docket, tray, SearchAsk(primary_rate_most_n_per_mm=20.0)).pairs[:, 0]


@pytest.mark.parametrize("name", ["small_four", "straight_six"])
def test_a_glance_ranks_pairs_as_the_first_look_does(name, monkeypatch):
    """The first look counts angles; the glance draws straight lines between two of them."""
    docket = sample(name)
    search = Search(docket, tray_near(docket.mechanism, 24, seed=6))
    rows, quiet = np.arange(len(search.pairs)), (lambda *_: None, lambda: False)
    _, looked = search.first_look(rows, *quiet)
    glanced = search._over_grid(Glance).margins(*search.pairs.T)
    near = looked > np.median(looked)  # far outside, lines carried on are no more than a guess
    assert np.quantile(np.abs(glanced - looked)[near], 0.9) < 1.0
    assert rankdata(looked) @ rankdata(glanced) > 0.9 * rankdata(looked) @ rankdata(looked)
    monkeypatch.setattr(search_module, "_LOOKED_AT", 100)
    kept, count = search._promising(*quiet)
    assert count == len(search.pairs) and set(np.flatnonzero(search.one_stays)) <= set(kept)
    best = np.argsort(-looked)[:10]
    assert np.isin(best, kept).mean() >= 0.8


def test_cancelling_keeps_the_best_so_far():
    docket = sample("small_four")
    calls, shares = [], []

    def cancelled() -> bool:
        calls.append(1)
        return len(calls) > 2

    search = Search(docket, tray_near(docket.mechanism, 12, seed=4), SearchAsk(top=5))
    found = search.run(lambda share, _: shares.append(share), cancelled, tune_all=True)
    assert not found.finished
    assert found.tuned < found.pairs
    assert len(found.candidates) == 5
    assert shares == sorted(shares)


def test_probability_agrees_with_single_predictions(searched):
    search, found = searched
    best = found.candidates[0]
    mechanism, rng, passed = search.apply(best), np.random.default_rng(0), 0
    # what is not stated is as the trade measures it: callipers, and a rate to 3 % (common practice)
    u = {"free_length_mm": 0.15, "initial_tension_n": 0.2}
    for _ in range(300):
        springs = []
        for spring in mechanism.springs:
            usual = {**u, "rate_n_per_mm": 0.03 * spring.rate_n_per_mm}
            moved = {
                key: max(getattr(spring, key) + rng.normal() * (spring.u.get(key) or each), 0.0)
                for key, each in usual.items()
            }
            springs.append(spring.with_changes(**moved))
        prediction = predict(mechanism.with_changes(springs=tuple(springs)))
        advance = search.goal.advance_of(prediction)
        passed += search.goal.margin_deg(advance, prediction.full_deg) >= 0
    share = passed / 300
    assert best.probability_inside == pytest.approx(share, abs=3.5 * np.sqrt(0.25 / 300))


def test_torque_tables_are_linear_in_the_springs_constants():
    docket = sample("vee_eight")
    mechanism = docket.mechanism
    search = Search(docket, tray_near(mechanism, 4, seed=9))
    grid = SettingGrid(np.array([-1.0, 0.5]), np.array([0.7]), np.array([0.0, 1.2]))
    look = FirstLook(search.mechanism, search.goal, search.primaries, search.secondaries,
                     search.figures, grid, False)  # fmt: skip
    theta = np.radians((np.arange(48) + 0.5) * look.step).reshape(1, 1, -1)
    for row, spring in enumerate(search.tray.springs):
        springs = list(mechanism.springs)
        for index in search.secondaries:
            springs[index] = hooked_in(springs[index], spring, tang_mm=0.7, slack_mm=1.2)
        balance = Balance(Builds(mechanism.with_changes(springs=tuple(springs))))
        swing = balance.motion.at(theta)
        engaged = balance.engaged_at(theta)
        torque = sum(
            balance.paths[i].torque_nmm(theta, swing) * engaged[i] for i in search.secondaries
        )
        assert np.allclose(look.secondary[:, row, 1], torque[0, 0], rtol=1e-5, atol=1e-3)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (lambda d: d.with_changes(target=d.target.with_changes(points=())), "no-check-points"),
        (
            lambda d: d.with_changes(
                mechanism=d.mechanism.with_changes(springs=d.mechanism.springs[:1])
            ),
            "no-spring-to-replace",
        ),
        (
            lambda d: d.with_changes(
                mechanism=d.mechanism.with_changes(
                    linkage=d.mechanism.linkage.with_changes(pin_radius_mm=None)
                )
            ),
            "missing",
        ),
        (lambda d: put(d, ("mechanism", "springs", 1, "post_radius_mm"), None), "missing"),
        (lambda d: put(d, ("mechanism", "springs", 0, "post_on"), "cam"), "spring-ends-together"),
    ],
)
def test_what_cannot_be_searched_is_told(change, code):
    docket: Docket = change(sample("small_four"))
    with pytest.raises(BobweightError) as told:
        Search(docket, tray_near(sample("small_four").mechanism, 4, seed=0))
    assert told.value.problem.code == code


@pytest.mark.parametrize(("springs", "code", "facts"), [
    ((), "tray-empty", {}),
    ((TraySpring(count=2, free_length_mm=20.0),) * 3, "tray-too-small", {"count": 0}),
])  # fmt: skip
def test_a_tray_without_a_pair_is_told_by_what_it_lacks(springs, code, facts):
    with pytest.raises(BobweightError) as told:
        Search(sample("small_four"), Tray(springs=springs))
    assert told.value.problem.code == code and told.value.problem.facts == facts
