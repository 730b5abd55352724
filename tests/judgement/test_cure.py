"""What a hand can change, by how much, and when it is proposed at all."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm

from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.mechanism import Mechanism, Spring
from bobweight.core.judgement import alter
from bobweight.core.judgement.alter import CureStep
from bobweight.core.judgement.alter_catalogue import HAND_U, Adjustment, catalogue
from bobweight.core.record import put
from tests.samples import sample

STOP = ("mechanism", "stop_deg")
RATE = ("mechanism", "springs", 0, "rate_n_per_mm")
LENGTH = (*RATE[:-1], "free_length_mm")


def listed(*, stick=0.0, grip=0.0, slack=2.0, tang=0.0, mass_g=40.0):
    springs = (
        Spring(role="primary", rate_n_per_mm=1.0, free_length_mm=20.0, initial_tension_n=1.0),
        Spring(role="secondary", rate_n_per_mm=4.0, free_length_mm=20.0, initial_tension_n=0.0,
               slack_mm=slack, tang_mm=tang),
    )  # fmt: skip
    mechanism = Mechanism(springs=springs, stick_nmm=stick, grip=grip, stop_deg=12.0)
    docket = new_docket().with_changes(mechanism=mechanism)
    docket = put(docket, ("mechanism", "weights", "mass_g"), mass_g)
    return catalogue(docket, docket)


def test_cleaning_is_offered_where_there_is_friction_and_takes_it_all_away():
    assert not [a for a in listed() if a.key == "clean"]
    for facts in ({"stick": 8.0}, {"grip": 0.1}):
        (clean,) = (a for a in listed(**facts) if a.key == "clean")
        assert {path[-1]: value for path, value in clean.to} == {"stick_nmm": 0.0, "grip": 0.0}
        after = clean.apply({}, 1.0, lambda path: np.full(3, 8.0))
        assert all((value == 0.0).all() for value in after.values())


def test_the_order_is_that_of_the_trade():
    """Wear, ceiling, start, knee, static (common practice)."""
    found = [(a.stage, a.key, a.spring) for a in listed(stick=8.0)]
    assert [stage for stage, _, _ in found] == sorted(
        (stage for stage, _, _ in found), key=("wear", "ceiling", "start", "knee", "static").index
    )
    assert ("start", "tang", 0) in found and ("knee", "tang", 1) in found
    assert ("knee", "loop", 1) in found and not [f for f in found if f[1:] == ("loop", 0)]


def test_a_loop_is_bent_by_a_millimetre_and_a_half_at_most_and_never_below_none():
    for slack, least in ((2.0, -1.5), (0.8, -0.75), (0.0, 0.075)):
        (loop,) = (a for a in listed(slack=slack) if a.key == "loop")
        assert max(loop.amounts) == 1.5
        assert min(loop.amounts) == pytest.approx(least, abs=0.08)
        assert min(loop.amounts) + slack >= 0.0


def test_a_tang_is_bent_no_further_than_it_goes():
    (tang,) = (a for a in listed(tang=14.0) if a.key == "tang" and a.spring == 1)
    assert min(tang.amounts) == -2.0 and 14.0 + max(tang.amounts) < 15.0


def test_a_hand_leaves_a_spring_three_in_a_hundred_off_and_a_stop_a_fifth_of_a_degree():
    """Common practice; the amounts are those of one standard deviation."""
    drawn = np.array([[2.0, 0.0, -1.0], [0.0, 1.0, -2.0]])
    rate = Adjustment("rate", "start", RATE, "times", (1.1,), spring=0)
    after = rate.by_hand({RATE: np.full(3, 2.0), LENGTH: np.full(3, 20.0)}, drawn)
    assert after[RATE] == pytest.approx([2.12, 2.0, 1.94])
    stop = Adjustment("stop", "ceiling", STOP, "deg", (0.5,))
    after = stop.by_hand({STOP: np.full(2, 12.0)}, np.array([[1.0, -2.0]]))
    assert after[STOP] == pytest.approx([12.2, 11.6]) and HAND_U["stop"] == 0.2


def test_a_spring_told_by_its_share_is_fitted_no_finer_than_one_told_by_its_rate():
    """Both come from stock: the length of a coil spring as bought is sure to 0.1 mm (common
    practice)."""
    drawn, length = np.array([[1.0, -1.0], [1.0, 2.0]]), [20.1, 20.2]
    by_rate = Adjustment("swap", "start", RATE, "", (1.0,), ((RATE, 3.0), (LENGTH, 20.0)), 0)
    by_share = Adjustment("rate", "start", RATE, "times", (1.5,), spring=0)
    now = {RATE: 2.0, LENGTH: 20.0}
    for fresh, amount in ((by_rate, 1.0), (by_share, 1.5)):
        exact = fresh.apply({RATE: np.full(2, 2.0)}, amount, lambda path: np.full(2, now[path]))
        after = fresh.by_hand(exact, drawn)
        assert after[RATE] == pytest.approx([3.09, 2.91]) and after[LENGTH] == pytest.approx(length)


@pytest.mark.parametrize(("place", "spread"), [("peg_radius_mm", 0.22), ("rate_n_per_mm", 0.0)])
def test_a_millimetre_at_a_spring_whose_place_is_assumed_is_less_sure(place, spread):
    """Common practice: a lever between 12 and 18 mm where 15 is usual."""
    count, tang = 4000, ("mechanism", "springs", 1, "tang_mm")
    unit = SimpleNamespace(assumed=SimpleNamespace(known={("springs", 1, place): None}))
    family = SimpleNamespace(docket=sample("weak_primary"), unit=unit)
    posterior = SimpleNamespace(
        family=family, values={tang: np.zeros(count)}, sound={}, x=np.zeros((count, 1))
    )
    units = alter._Units(posterior, np.arange(count), np.ones(count), 3)
    units.hand[:] = 0.0
    bend = Adjustment("tang", "knee", tang, "mm", (2.0,), spring=1)
    found = units.altered([(bend, np.array([2.0, -1.0]))])[tang].reshape(2, count)
    for amount, there in zip((2.0, -1.0), found, strict=True):
        assert np.median(there) == pytest.approx(amount, rel=0.02)
        assert np.std(np.log(there / amount)) == pytest.approx(spread, abs=0.01)


def test_amounts_are_added_or_multiplied():
    stop = Adjustment("stop", "ceiling", STOP, "deg", (0.5,))
    rate = Adjustment("rate", "start", RATE, "times", (1.1,), spring=0)
    assert (stop.of(12.0, 0.5), rate.of(2.0, 1.1)) == (12.5, pytest.approx(2.2))


def test_amounts_near_one_are_itself_and_two_to_either_side():
    a = Adjustment("stop", "ceiling", STOP, "deg", tuple(float(v) for v in range(10)))
    for amount, near in ((5.0, [3, 4, 5, 6, 7]), (0.0, [0, 1, 2]), (9.0, [7, 8, 9])):
        assert alter._Search._near(None, a, amount).tolist() == near


@pytest.mark.parametrize(("unit", "share", "value"), [
    ("times", 0.02, 2.4),  # 1.2 times 2 N/mm
    ("times", 0.1, None),  # less sure than three in a hundred, as springs are bought
    ("times", None, None),  # nothing tells how sure
    ("mm", 0.02, None),  # moved by so much, from wherever it is
])  # fmt: skip
def test_a_rate_to_buy_by_is_told_where_the_present_one_is_known_as_surely(unit, share, value):
    """Against the quantiles of the normal distribution by scipy."""
    found, count = object.__new__(alter._Search), 999
    drawn = norm.ppf((np.arange(count) + 0.5) / count)
    values = {} if share is None else {RATE: 2.0 * (1.0 + share * drawn)}
    found.all = SimpleNamespace(values=values, weight=np.full(count, 1.0 / count))
    found._tried = lambda upto, units: (np.array([0.9]),)
    step = Adjustment("any", "start", RATE, unit, (1.2,), spring=0)
    (told,) = found._steps(((step, 1.2),))
    assert told.value == (None if value is None else pytest.approx(value))
    assert (told.amount, told.probability_inside_after) == (1.2, 0.9)


@pytest.mark.parametrize("known", [True, False])
def test_a_spring_like_the_docket_s_can_be_had_only_where_it_tells_of_springs(known):
    docket = sample("weak_primary")
    assumed = SimpleNamespace(known={}, paths=(), nothing_known=not known)
    family = SimpleNamespace(docket=docket, unit=SimpleNamespace(assumed=assumed))
    diagnosis = SimpleNamespace(
        first=SimpleNamespace(name=""), unsaid=False,
        docket_of=lambda: put(docket, RATE, 0.8 * docket.mechanism.springs[0].rate_n_per_mm),
    )  # fmt: skip
    posterior = SimpleNamespace(
        family=family, diagnosis=diagnosis, values={}, sound={}, x=np.zeros((3, 1)),
        weight=np.ones(3) / 3, evenly=lambda count: np.zeros(count, int), leading=dict,
    )  # fmt: skip
    search = alter._Search(posterior, SimpleNamespace(capsule=np.zeros(1, bool)), None)
    assert ("swap" in {a.key for a in search.list}) == known


def searched(before, *singles, pair=None, by_all=()):
    """A search whose alterations come to the chances given, ``key: chance``; by all the samples to
    others."""
    found = object.__new__(alter._Search)
    of = {key: Adjustment(key, "ceiling", STOP, "deg", (1.0,)) for key, _ in singles}
    chances = dict(singles)
    found.list = tuple(of.values())
    found.all = SimpleNamespace(values={})
    found.target = SimpleNamespace(
        asked=SimpleNamespace(where=np.array([500.0])), curve=np.array([True])
    )
    found._chance = lambda units, values: (np.array([before]), np.zeros(1))
    found._best_single = lambda a: (a, 1.0, chances[a.key])
    found._best_pair = lambda: pair and (tuple((of[k], 1.0) for k in pair[0]), pair[1])
    found._sensitivity = lambda a: None

    def steps(chosen):
        after = pair[1] if pair and len(chosen) > 1 else None
        return tuple(
            CureStep(a.key, a.stage, a.path, None, x, a.unit, after or told[a.key])
            for a, x in chosen
        )

    told = chances | dict(by_all)

    found._steps = steps
    cure = found.run()
    return [s.key for s in cure.steps], [o[0].key for o in cure.others]


@pytest.mark.parametrize(("before", "singles", "pair", "chosen"), [
    (0.95, [("stop", 0.99)], None, []),  # left alone
    (0.3, [("stop", 0.9)], None, ["stop"]),
    (0.3, [("stop", 0.39)], None, []),  # less than a tenth more is nothing
    (0.3, [("stop", 0.42)], None, ["stop"]),
    (0.1, [("stop", 0.70), ("tang", 0.73)], None, ["stop"]),  # as good: the trade's order
    (0.1, [("stop", 0.60), ("tang", 0.73)], None, ["tang"]),
    (0.1, [("mass", 0.80), ("tang", 0.70)], None, ["tang"]),  # a filed weight cannot be undone
    (0.1, [("mass", 0.80), ("tang", 0.55)], None, ["mass"]),
    (0.1, [("stop", 0.60), ("tang", 0.50)], (("stop", "tang"), 0.8), ["stop", "tang"]),
    (0.1, [("stop", 0.60), ("tang", 0.50)], (("stop", "tang"), 0.7), ["stop"]),
    (0.1, [("stop", 0.86), ("tang", 0.50)], (("stop", "tang"), 0.99), ["stop"]),  # one is enough
])  # fmt: skip
def test_the_shortest_list_that_is_worth_its_work(before, singles, pair, chosen):
    assert searched(before, *singles, pair=pair)[0] == chosen


def test_others_come_the_most_probable_first():
    keys = searched(0.1, ("stop", 0.2), ("tang", 0.7), ("loop", 0.5))[1]
    assert keys == ["tang", "loop", "stop"]


def test_others_come_by_the_chances_that_are_told():
    """Those of all the samples: a few had found them in another order."""
    by_all = {"stop": 0.29, "tang": 0.21, "loop": 0.08}
    keys = searched(0.1, ("stop", 0.2), ("tang", 0.7), ("loop", 0.5), by_all=by_all)[1]
    assert keys == ["stop", "tang", "loop"]


@pytest.mark.parametrize(("pair", "kept"), [(0.64, 1), (0.79, 1), (0.85, 2)])
def test_a_second_alteration_must_add_by_all_the_samples(pair, kept):
    """Found by a few samples it may add nothing by all: one act is then told, not two."""
    one, two = (a for a in listed() if a.spring == 1 and a.key in ("loop", "tang"))
    search = object.__new__(alter._Search)
    search.list = (one, two)
    search.all = SimpleNamespace(values={})
    search.target = SimpleNamespace(
        asked=SimpleNamespace(where=np.zeros(1)), curve=np.ones(1, bool)
    )
    search._chance = lambda units, values: (np.array([0.01]), np.zeros(1))
    search._best_single = lambda a: (a, -0.5, 0.7)
    search._choose = lambda before, singles: ((one, -0.1), (two, -1.6))
    search._sensitivity = lambda a: None

    def steps(chosen):
        last = pair if len(chosen) == 2 else 0.7
        return tuple(SimpleNamespace(probability_inside_after=last) for _ in chosen)

    search._steps = steps
    assert len(search.run().steps) == kept
