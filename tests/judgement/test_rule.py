"""The word, the act and the reasons, held against a table of losses worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import integrate, stats

from bobweight.app.messages.judgement import reason_sentence
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.docket.setting_up import SettingUp
from bobweight.core.docket.target import CheckPoint, Target
from bobweight.core.judgement import rule
from bobweight.core.judgement.alter import CureStep
from bobweight.core.judgement.answer import (
    BEING_JUDGED,
    CANNOT_BE_TOLD,
    INSIDE,
    LOOKS_INSIDE,
    LOOKS_OUTSIDE,
    NOT_READ,
    OUTSIDE,
    Judgement,
    PointJudgement,
    decision_word,
)
from bobweight.core.judgement.compare import Bands, PointResult
from bobweight.core.judgement.faults import SEIZED
from bobweight.core.judgement.fit_curves import ZERO
from bobweight.core.judgement.judged import unjudged
from bobweight.core.judgement.loss import (
    expected_fall,
    least_loss,
    loss_of_altering,
    loss_of_leaving,
)
from bobweight.core.judgement.outcome import outcome
from bobweight.core.judgement.posterior import Posterior, TargetBands
from bobweight.core.judgement.reduce import reduce_session
from bobweight.core.problems import Problem
from bobweight.core.record import put
from bobweight.core.statistics.conformity import Conformity
from tests.samples import sample


def step(after: float) -> CureStep:
    return CureStep("stop", "ceiling", ("mechanism", "stop_deg"), None, 0.5, "deg", after)


def so(word=LOOKS_INSIDE, probability=0.9, points=(), way_unread=None, frame=None, even=0.9):
    """What points come to."""
    return rule.Ruled(tuple(points), probability, even, word, np.ones(1, bool), way_unread, frame)


def act(word, probability, *, after=None, fall=None, explanations=()):
    steps = () if after is None else (step(after),)
    advice = None if fall is None else SimpleNamespace(best=SimpleNamespace(loss_fall=fall))
    diagnosis = SimpleNamespace(explanations=explanations)
    return rule.action_of(so(word, probability), diagnosis, SimpleNamespace(steps=steps), advice)


def test_the_words_are_those_of_guard_bands():
    """JCGM 106:2012, 8.3.2.2 and 8.3.3.2: accepted at 95 % and more, rejected at 5 % and less."""
    words = {
        0.95: INSIDE,
        0.8: LOOKS_INSIDE,
        0.5: CANNOT_BE_TOLD,
        0.19: LOOKS_OUTSIDE,
        0.04: OUTSIDE,
    }
    assert {p: decision_word(p) for p in words} == words
    assert decision_word(0.1) == LOOKS_OUTSIDE


def test_inside_asks_for_four_in_five_at_even_odds_and_readings_on_both_sides():
    all_around, not_all = np.ones(3, bool), np.array([True, False, True])
    assert rule.decision_of(0.97, 0.8, all_around) == INSIDE
    assert rule.decision_of(0.97, 0.79, all_around) == CANNOT_BE_TOLD
    assert rule.decision_of(0.97, 0.9, not_all) == CANNOT_BE_TOLD
    assert rule.decision_of(0.02, 0.1, not_all) == OUTSIDE


def test_losses_by_hand():
    """Left: 10 × (1 − p). Altered: 1 + 10 p + 10 × (1 − p after)."""
    assert loss_of_leaving(0.3) == pytest.approx(7.0)
    assert loss_of_altering(0.3, 0.9) == pytest.approx(1.0 + 3.0 + 1.0)
    assert least_loss(0.3, 0.9) == pytest.approx(5.0)
    assert least_loss(0.9, 0.9) == pytest.approx(1.0)


def test_what_an_outcome_saves_is_raiffas_sum():
    """The expected value of sample information (Raiffa and Schlaifer, Applied Statistical Decision
    Theory, ch. 4) of a normal outcome about two states, by quadrature."""
    count, sd = 800, 0.5
    inside = np.tile([1.0, 0.0], count // 2)
    found = expected_fall(inside[:, None], np.array([sd]), inside, 0.9, 3)[0]

    def lost(y):
        yes, no = stats.norm.pdf(y, 1.0, sd), stats.norm.pdf(y, 0.0, sd)
        chance = yes / (yes + no)
        leave, alter = 10 * (1 - chance), 1 + 10 * chance + 10 * (1 - 0.9)
        return 0.5 * (yes + no) * min(leave, alter)

    later = integrate.quad(lost, -4.0, 5.0, limit=200)[0]
    assert found == pytest.approx(5.0 - later, abs=0.12)


@pytest.mark.parametrize(("expected", "word", "probability", "facts"), [
    ("leave-alone", INSIDE, 0.97, {}),
    ("leave-alone", LOOKS_INSIDE, 0.9, {}),
    ("read-more", CANNOT_BE_TOLD, 0.9, {}),
    ("read-more", CANNOT_BE_TOLD, 0.6, {}),
    ("alter", LOOKS_OUTSIDE, 0.1, {"after": 0.95}),  # 1 + 1 + 0.5 against 9
    ("alter", LOOKS_OUTSIDE, 0.1, {"after": 0.95, "fall": 0.2}),  # a reading costs 0.25
    ("read-more", LOOKS_OUTSIDE, 0.1, {"after": 0.95, "fall": 0.3}),
    ("nothing-helps", LOOKS_OUTSIDE, 0.1, {}),
    ("nothing-helps", LOOKS_OUTSIDE, 0.18, {"after": 0.25}),  # 1 + 1.8 + 7.5 against 8.2
])  # fmt: skip
def test_the_act_is_the_one_of_least_expected_loss(expected, word, probability, facts):
    assert act(word, probability, **facts) == expected


def test_a_fault_of_measurement_comes_before_all_else():
    def explained(name, side, probability):
        return SimpleNamespace(name=name, side=side, probability=probability)

    mark = (explained("mark_offset", "both", 0.06), explained("pipe_left_on", "measurement", 0.05))
    assert act(INSIDE, 0.97, explanations=mark) == "measure-first"
    assert act(INSIDE, 0.97, explanations=mark[:1]) == "leave-alone"
    seized = (explained(SEIZED, "unit", 0.8),)
    assert act(LOOKS_OUTSIDE, 0.1, after=0.95, explanations=seized) == "free-first"


def point(kind="check", speed=1000.0, around=True, **facts) -> PointJudgement:
    values = dict(advance_deg=6.0, u_deg=0.0, readings_deg=None, u_readings_deg=0.0) | facts
    return PointJudgement(
        kind, 0, None if kind == "vacuum" else speed, 20.0 if kind == "vacuum" else None, 5.0, 7.0,
        values["advance_deg"], values["u_deg"], 0.9, LOOKS_INSIDE, values["readings_deg"],
        values["u_readings_deg"], around,
    )  # fmt: skip


RIG = Instrument(kind="rig", u_speed_rpm=10.0, u_angle_deg=0.3, u_depression_kpa=1.0)


def session(*rows) -> Docket:
    readings = tuple(
        Reading(speed_rpm=s, angle_deg=a, depression_kpa=k, direction=(*way, "rising")[0])
        for s, a, k, *way in rows
    )
    return Docket(sessions=(Session(instrument=RIG, readings=readings),))


def reduced_of(docket: Docket):
    return reduce_session(docket.sessions[0], docket.particulars, None, docket.capsules)


def reasons(points, docket=None, **told) -> list[str]:
    return [p.code for p in all_reasons(points, docket, **told)]


def all_reasons(points, docket=None, *, word=LOOKS_INSIDE, probability=0.9, even=0.9, noise=1.0,
                other_table=0.0, way_unread=None, zero=0.0,
                frame=None) -> tuple[Problem, ...]:  # fmt: skip
    docket = docket or session((1000.0, 6.0, None))
    diagnosis = SimpleNamespace(explanations=(), probability=lambda name: other_table)
    posterior = SimpleNamespace(
        diagnosis=diagnosis, simulator=SimpleNamespace(ratio=2.0), noise=lambda: noise,
        zero_deg=lambda: (zero, 0.1), zero_shown=lambda: np.full(2, zero), weight=np.full(2, 0.5),
        family=SimpleNamespace(told=None),
    )  # fmt: skip
    told = so(word, probability, points, way_unread, frame, even)
    found = rule.reasons_of(told, docket, 0, posterior, reduced_of(docket))
    assert not any(p.grave for p in found), "reasons hinder nothing"
    return found


@pytest.mark.parametrize(("share", "codes"), [(0.84, ["base-disagrees"]), (0.7, [])])
def test_what_readings_show_of_the_zero_is_said_where_it_is_likely(share, codes):
    """Two thoughts, no zero and 8°: what is said is the likelier, from four chances in five."""
    posterior = SimpleNamespace(
        zero_shown=lambda: np.array([0.0, 8.0]), weight=np.array([1.0 - share, share]),
        diagnosis=SimpleNamespace(explanations=()),
        zero_deg=lambda: (8.0 * share, 8.0 * np.sqrt(share * (1.0 - share))),
    )  # fmt: skip
    found = rule._zero_reasons(Docket(sessions=(Session(),)), 0, posterior)  # by lamp
    assert [p.code for p in found] == codes
    assert all(p.facts["read"] - p.facts["stated"] == 8.0 for p in found)


@pytest.mark.parametrize(("stated", "zero", "u", "codes"), [
    (8.0, 0.0, 2.0, []), (5.0, 0.0, 2.0, ["static-differs"]), (5.0, 0.0, 0.5, []),
    (5.0, 3.0, 0.5, ["static-disagrees"]), (5.0, -3.0, 0.5, ["base-disagrees"]),
    (8.0, 3.0, 0.5, ["base-disagrees"]),
])  # fmt: skip
def test_the_static_is_held_against_what_the_unit_is_to_be_set_to(stated, zero, u, codes):
    """To be set to 8°: where another was stated, readings that are sure enough show which."""
    docket = Docket(sessions=(Session(instrument=Instrument(static_deg=stated)),),
                    setting_up=SettingUp(static_deg=8.0))  # fmt: skip
    posterior = SimpleNamespace(
        zero_shown=lambda: np.full(2, zero),
        zero_deg=lambda: (zero, u),
        weight=np.full(2, 0.5),
        diagnosis=SimpleNamespace(explanations=()),
    )
    assert [p.code for p in rule._zero_reasons(docket, 0, posterior)] == codes


@pytest.mark.parametrize(("fault", "read"), [("mark_offset", 3.8), ("stop_high", 4.0)])
def test_the_zero_that_is_read_is_that_of_the_explanation_told_first(fault, read):
    """10.0° less the 6.2° that every angle reads too little, as a reader subtracts them."""
    first = SimpleNamespace(sizes=(SimpleNamespace(fault=fault, amount=-6.2),))
    posterior = SimpleNamespace(
        zero_shown=lambda: np.full(2, -6.0), zero_deg=lambda: (-6.0, 0.2), weight=np.full(2, 0.5),
        diagnosis=SimpleNamespace(explanations=(first, first)),
    )  # fmt: skip
    docket = Docket(sessions=(Session(instrument=Instrument(static_deg=10.0)),))
    (found,) = rule._zero_reasons(docket, 0, posterior)
    assert found.facts["read"] == pytest.approx(read)


def test_reasons_are_given_where_they_hold_and_nowhere_else():
    assert reasons([point()]) == []
    assert reasons([point(around=False)]) == ["stretch-not-read"]
    assert reasons([point(), point("vacuum")]) == ["capsule-not-read"]
    on = session((1000.0, 6.0, None), (1000.0, 9.0, 20.0))
    assert reasons([point(), point("vacuum")], on) == []
    assert reasons([point()], noise=1.5) == ["readings-scatter"]
    assert reasons([point()], other_table=0.2) == ["table-and-figures"]
    assert reasons([point(readings_deg=9.0)]) == ["line-disagrees"]
    assert reasons([point(readings_deg=7.0)]) == []
    assert reasons([replace(point(), low_deg=5.7, high_deg=6.4)]) == ["table-narrow"]
    assert reasons([replace(point(), low_deg=5.6, high_deg=6.5)]) == []  # 0.4 a lamp can tell
    assert reasons([point()], way_unread="falling") == ["falling-not-read"]
    assert reasons([point(around=False)], way_unread="falling") == ["stretch-not-read"]


def test_a_ceiling_that_was_not_read_is_no_check_point_to_name():
    """Its speed is the fastest reading's, which stands in no table."""
    judgement = SimpleNamespace(docket=Docket())

    def told(*points) -> str:
        return " ".join(reason_sentence(r, judgement) for r in all_reasons(points))

    ceiling = point("ceiling", 1745.0, around=False)
    assert reasons([point(), ceiling]) == ["ceiling-not-read"]
    assert "ceiling" in told(ceiling) and "1745" not in told(ceiling)
    one = told(point(speed=1250.0, around=False), ceiling)
    assert "point at 1250" in one and "1745" not in one
    two = told(point(speed=600.0, around=False), point(speed=1250.0, around=False), ceiling)
    assert "from 600" in two and "to 1250" in two


def test_decided_by_odds_is_said_only_of_what_only_the_odds_hold_back():
    told = dict(word=CANNOT_BE_TOLD, probability=0.9, even=0.6)
    assert reasons([point()], **told) == ["decided-by-odds"]
    assert reasons([point()], **told | {"even": 0.85}) == []
    assert reasons([point()], **told | {"word": LOOKS_INSIDE}) == []
    assert reasons([point(around=False)], **told) == ["stretch-not-read"]


def around(rows, asked, rising=((0.0, 0.0), (1e5, 10.0)), falling=None, ways=("rising",)):
    """``rising`` and ``falling``: speeds and advances that the curve is straight between."""
    docket = session(*rows)
    curves = {"rising": rising, "falling": falling or rising}
    posterior = SimpleNamespace(
        family=SimpleNamespace(session=0, docket=docket), values={}, weight=np.full(2, 0.5),
        advance=lambda values, ends, ways: np.tile(
            [np.interp(ends, *np.transpose(curves[way])) for way in ways], (2, 1, 1)),
    )  # fmt: skip
    kinds, places = zip(*asked, strict=True)
    bands = SimpleNamespace(kind=kinds, where=np.array(places))
    target = SimpleNamespace(asked=bands, ways=ways)
    return rule.read_around(target, posterior, reduced_of(docket)).tolist()


def test_a_point_has_been_read_around_with_readings_on_both_sides():
    rows = [(600.0, 1.0, None), (1200.0, 8.0, None)]
    asked = [("check", 400.0), ("check", 900.0), ("check", 1500.0), ("ceiling", 0.0)]
    climbing = ((400.0, 0.0), (600.0, 3.0), (1200.0, 8.0), (1600.0, 12.0))
    assert around(rows, asked, climbing) == [False, True, False, False]
    late = ((590.0, 0.0), (600.0, 0.1), *climbing[2:])
    assert around(rows, asked, late) == [True, True, False, False], "none before it"
    stopped = (*climbing[:3], (1250.0, 8.1))
    assert around(rows, asked, stopped) == [False, True, True, True], "level beyond"
    ledge = (*climbing[:3], (1500.0, 8.2), (1600.0, 12.0))
    assert around(rows, asked, ledge) == [False, True, True, False], "level as far as the point"


def test_below_the_slowest_reading_the_curve_is_level_on_the_branch_that_the_table_is_of():
    """A cam that sticks is at rest at 450 rising, and not yet coming back (common practice)."""
    rising, falling = ((590.0, 0.0), (1200.0, 8.0)), ((380.0, 0.0), (1200.0, 9.0))
    rows = [(600.0, 1.0, None), (1200.0, 8.0, None, "falling")]
    for ways, level in ((("rising",), True), (("falling",), False), (("rising", "falling"), True)):
        assert around(rows, [("check", 450.0)], rising, falling, ways) == [level]


@pytest.mark.parametrize(("advance_deg", "branch"), [
    ([4.5, 6.9], "rising"), ([5.5, 7.4], "falling"), ([5.2, 6.8], None), ([4.0, 8.5], "falling"),
    ([6.0, 9.0], None), ([1.0, 6.0], None), ([5.0, 7.0], None), ([np.nan, 6.0], None),
    ([5.5, np.nan], None),
])  # fmt: skip
def test_the_branch_farther_outside_is_told_where_the_middle_lies_inside(advance_deg, branch):
    """A band of 5 to 7: of two branches that together lie inside one may not."""
    row = np.zeros(1)
    target = TargetBands(Bands(("check",), (0,), row, row + 5.0, row + 7.0),
                         ("rising", "falling"), vacuum=False)  # fmt: skip
    assert rule._branch_outside(target, np.array(advance_deg), 0) == branch


def test_the_stop_is_seen_by_the_falling_readings_that_come_from_it():
    """A cam that sticks leaves its stop later than it reaches it: what is read falling from full
    advance shows the stop, though rising the same speeds still climb."""
    asked = [("check", 1300.0), ("ceiling", 0.0)]
    rising = ((400.0, 0.0), (1200.0, 8.0), (1400.0, 10.0))
    falling = ((350.0, 0.0), (1190.0, 10.0))
    rows = [(600.0, 3.0, None), (1200.0, 8.0, None)]
    assert around(rows, asked, rising, falling) == [False, False]
    back = [*rows, (1200.0, 10.0, None, "falling")]
    assert around(back, asked, rising, falling) == [True, True]
    assert around([*rows, (700.0, 5.0, None, "falling")], asked, rising, falling) == [False, False]


def test_the_stop_is_seen_by_either_way():
    """Rising readings that reach it show it, though falling ones were taken lower only."""
    rising = ((400.0, 0.0), (1190.0, 10.0))
    rows = [(600.0, 3.0, None), (1200.0, 10.0, None), (700.0, 4.0, None, "falling")]
    assert around(rows, [("check", 1300.0)], rising) == [True]


def test_each_point_is_judged_by_all_that_the_unit_may_be():
    """Three units of both branches, by hand: chance, mean and variance (E x² less its square), at
    a check point of 5 to 7, at a start of at most 0.5, and at a capsule that was not read."""
    rows = Bands(("check", "start", "vacuum"), (0, 1, 2), np.array([900.0, 300.0, 20.0]),
                 np.array([5.0, -np.inf, 3.0]), np.array([7.0, 0.5, 5.0]))  # fmt: skip
    target = TargetBands(rows, ("rising", "falling"), vacuum=False)
    advance = np.array([
        [[5.5, 0.1, 0.0], [6.0, 0.5, 0.0]], [[6.5, 0.2, 0.0], [7.5, 0.2, 0.0]],
        [[6.0, 0.0, 0.0], [6.4, 0.1, 0.0]],
    ])  # fmt: skip
    target.advance = lambda posterior, values: advance
    weight = np.array([0.2, 0.3, 0.5])
    posterior = SimpleNamespace(values={}, weight=weight, even=np.array([0.5, 0.25, 0.25]))
    nan = np.nan
    said = SimpleNamespace(estimate_deg=np.array([6.1, nan, nan]), u_deg=np.array([0.2, nan, nan]))
    points, whole, even, inside = rule.judged_points(target, posterior, said, np.ones(3, bool))
    check, start, capsule = points
    falling = np.array([6.0, 7.5, 6.4])  # decides: the middle of both is inside in every unit
    assert check.advance_deg == pytest.approx(weight @ falling)
    assert check.u_deg == pytest.approx(np.sqrt(weight @ falling**2 - (weight @ falling) ** 2))
    assert (whole, even) == pytest.approx((0.7, 0.75)) and inside.tolist() == [True, False, True]
    assert check.probability_inside == pytest.approx(0.7) and check.decision == CANNOT_BE_TOLD
    assert (check.speed_rpm, check.depression_kpa) == (900.0, None)
    assert (check.readings_deg, check.u_readings_deg, check.branch) == (6.1, 0.2, "falling")
    assert start.probability_inside == 1.0 and start.decision == INSIDE
    assert (start.readings_deg, start.u_readings_deg) == (None, None)
    assert (capsule.speed_rpm, capsule.depression_kpa) == (None, 20.0)
    assert (capsule.advance_deg, capsule.probability_inside) == (None, None)
    assert capsule.decision == CANNOT_BE_TOLD

    def words(around, way_unread=None):
        found, *_ = rule.judged_points(target, posterior, said, np.array(around), way_unread)
        return [p.decision for p in found[:2]]

    assert words([True, True, True], "falling") == [CANNOT_BE_TOLD, LOOKS_INSIDE]
    assert words([True, False, True]) == [CANNOT_BE_TOLD, CANNOT_BE_TOLD]
    advance[1, 1, 0] = 6.9  # both branches of every unit are inside: the middle is told
    check = rule.judged_points(target, posterior, said, np.ones(3, bool))[0][0]
    middle = np.array([5.75, 6.7, 6.2])
    assert (check.branch, check.probability_inside) == (None, pytest.approx(1.0))
    assert check.advance_deg == pytest.approx(weight @ middle)
    assert check.u_deg == pytest.approx(np.sqrt(weight @ middle**2 - (weight @ middle) ** 2))
    advance[1, 1, 0] = 7.5
    advance[:, 1, 0] += 0.6  # falling now lies outside, and the middle inside still
    check = rule.judged_points(target, posterior, said, np.ones(3, bool))[0][0]
    assert check.branch == "falling" and check.advance_deg == pytest.approx(
        weight @ [6.6, 8.1, 7.0]
    )
    assert check.probability_inside == pytest.approx(0.7)
    seen = TargetBands(rows, ("rising", "falling"), vacuum=True)
    seen.advance = lambda posterior, values: advance + 4.0
    found, *_ = rule.judged_points(seen, posterior, said, np.ones(3, bool), "falling")
    assert found[2].decision == INSIDE and found[2].advance_deg == 4.0  # a pump shows both ways


def test_a_way_that_was_not_read_shows_no_level_curve():
    """A cam that sticks is still at rest at 550 rising; read falling only, and from 450, nobody saw
    where it comes down from: common practice, a curve is told by its readings."""
    rising = ((560.0, 0.0), (1200.0, 10.0))
    falling = ((380.0, 0.0), (1100.0, 10.0))
    down = [(450.0, 1.0, None, "falling"), (350.0, 0.0, None, "falling")]
    assert around(down, [("check", 550.0)], rising, falling) == [False]


def test_a_point_of_the_capsule_has_been_read_around_within_two_uncertainties():
    rows = [(1000.0, 6.0, None), (1000.0, 7.0, 10.0), (1000.0, 9.0, 30.0)]
    asked = [("vacuum", kpa) for kpa in (7.0, 8.5, 20.0, 31.5, 33.0)]
    assert around(rows, asked) == [False, True, True, True, False]


@pytest.mark.parametrize(("ways", "read", "kind", "unread"), [
    (("rising", "falling"), ["falling"], "check", "rising"),
    (("rising", "falling"), ["rising", "rising"], "start", "falling"),
    (("rising", "falling"), ["rising", "falling"], "check", None),
    (("rising", "falling"), ["rising", "unknown"], "check", None),
    (("rising", "falling"), [], "check", None),
    (("falling",), ["rising"], "check", "falling"),
    (("rising", "falling"), ["rising"], "vacuum", None),
    (("rising", "falling"), ["rising"], "ceiling", None),
])  # fmt: skip
def test_a_way_that_the_table_holds_and_nobody_read_is_named(ways, read, kind, unread):
    readings = tuple(
        Reading(speed_rpm=1000.0 + k, angle_deg=6.0, direction=way) for k, way in enumerate(read)
    )
    reduced = reduced_of(Docket(sessions=(Session(instrument=RIG, readings=readings),)))
    row = np.zeros(1)
    target = TargetBands(Bands((kind,), (0,), row, row, row), ways, vacuum=True)
    assert rule.way_not_read(target, reduced) == unread


def test_a_way_that_nobody_read_is_never_surely_inside():
    everywhere = np.ones(3, bool)
    assert rule.decision_of(0.99, 0.95, everywhere, "rising") == LOOKS_INSIDE
    assert rule.decision_of(0.01, 0.02, everywhere, "rising") == OUTSIDE
    nothing = SimpleNamespace(explanations=())
    told = so(LOOKS_INSIDE, 0.99, way_unread="rising")
    found = rule.action_of(told, nothing, SimpleNamespace(steps=()), None)
    assert found == "read-more"


def helps(name, probability, unread=None, around=True, frame=None):
    explanations = (SimpleNamespace(name=name, probability=probability),)
    diagnosis = SimpleNamespace(explanations=explanations)
    adviser = SimpleNamespace(
        table=SimpleNamespace(reading=0.25), measurements=lambda: [],
        posterior=SimpleNamespace(diagnosis=diagnosis),
    )  # fmt: skip
    points = (point("start", 400.0), point(), point(speed=3000.0, around=around))
    return [
        (h.what, h.speed_rpm, h.direction)
        for h in rule.helps_of(
            so(points=points, way_unread=unread, frame=frame), adviser, None, 2.0
        )
    ]


def test_no_speed_is_asked_for_while_the_shaft_that_it_is_of_is_in_doubt():
    assert helps("wrong_frame", 0.05, around=False) == [("read-stretch", 6000.0, "rising")]
    assert helps("wrong_frame", 0.98, around=False) == []
    assert helps("wrong_frame+mark_offset", 0.2, "falling") == []


def test_the_way_that_nobody_read_is_asked_for_at_a_check_point():
    assert helps("sticking", 0.3, "falling") == [("read-way", 6000.0, "falling")]


@pytest.mark.parametrize(("least", "frame", "static", "other_table", "codes"), [
    (6.0, "crank", 8.0, 0.3, ["static-in-table"]),
    (8.0, "crank", 8.0, 0.05, []),
    (1.0, "crank", 8.0, 0.3, ["table-and-figures"]),  # as low as a table without it may be
    (8.0, "crank-static", 8.0, 0.3, ["table-and-figures"]),
    (8.0, "crank", 0.0, 0.3, ["table-and-figures"]),
    (8.0, "crank", 2.0, 0.3, ["table-and-figures"]),  # so low that any table lies above it
])  # fmt: skip
def test_a_table_that_seems_to_hold_the_static_is_asked_about(
    least, frame, static, other_table, codes
):
    lamp = Instrument(kind="lamp", static_deg=static)
    rows = tuple(
        CheckPoint(speed_rpm=1000.0 * k, least_deg=least + 3.0 * k, most_deg=least + 3.0 * k + 2.0)
        for k in range(1, 4)
    )
    made = Docket(
        sessions=(Session(instrument=lamp),), target=Target(frame=frame, points=rows)
    )  # fmt: skip
    assert reasons([point()], made, other_table=other_table) == codes


@pytest.mark.parametrize(("zero", "codes"), [
    (-8.0, ["static-in-table"]), (5.0, ["base-disagrees"]), (-1.0, []),
])  # fmt: skip
def test_a_table_holds_the_static_where_the_readings_show_none(zero, codes):
    """With 8° stated: read as 0 it was the table's, read as 13 the mark or the static is off."""
    lamp = Instrument(kind="lamp", static_deg=8.0)
    rows = tuple(
        CheckPoint(speed_rpm=1000.0 * k, least_deg=8.0 + k, most_deg=12.0 + k) for k in (2, 3)
    )
    made = Docket(sessions=(Session(instrument=lamp),), target=Target(frame="crank", points=rows))
    assert reasons([point()], made, zero=zero) == codes


def test_the_chance_after_a_list_is_that_of_its_last_step():
    assert Judgement(Docket(), alterations=(step(0.5), step(0.9))).probability_after == 0.9
    assert Judgement(Docket()).probability_after is None


def test_a_point_without_readings_about_it_is_not_read_and_not_undecided():
    """Unless it is known without: a stop that is far too high, the curve on either side of it."""
    seen = PointResult("check", 0, 1000.0, None, 5.0, 7.0, None, None, None, 6.0, 0.2, 0.9,
                       Conformity.CANNOT_TELL)  # fmt: skip
    assert not replace(seen, decision=CANNOT_BE_TOLD, reached=True).not_read
    assert replace(seen, decision=CANNOT_BE_TOLD, reached=False).not_read
    assert not replace(seen, decision=OUTSIDE, reached=False).not_read
    assert replace(seen, estimate_deg=None).not_read


def test_a_point_that_is_not_yet_judged_is_neither_untold_nor_unread():
    """Of a table without a reading nothing will be judged, and it stays so."""
    known = outcome(sample("weak_primary"))
    told = {point.told for point in unjudged(known).comparison.all_points}
    assert told == {BEING_JUDGED}
    bare = outcome(sample("weak_primary").with_changes(sessions=()))
    assert {point.told for point in unjudged(bare).comparison.all_points} == {NOT_READ}


@pytest.mark.parametrize(("stop", "frame", "word", "mixed", "code"), [
    (12.0, "distributor", OUTSIDE, 0.0, "table-looks-crank"),  # 24° are twice what the stop lets
    (12.0, "crank", OUTSIDE, 0.0, None),
    (24.0, "crank", LOOKS_OUTSIDE, 0.0, "table-looks-distributor"),
    (12.0, "distributor", INSIDE, 0.0, None),  # kept as it is said: the stop is the odd one
    (12.0, "distributor", INSIDE, 0.98, "table-looks-crank"),
    (None, "distributor", OUTSIDE, 0.0, None),
])  # fmt: skip
def test_a_table_of_the_other_shaft_is_asked_about_where_the_unit_does_not_keep_it(
    stop, frame, word, mixed, code
):
    """A four-stroke's crank figures are twice the distributor's (common practice)."""
    points = (CheckPoint(speed_rpm=3200.0, least_deg=22.0, most_deg=26.0),)
    docket = Docket(
        mechanism=Mechanism(stop_deg=stop), target=Target(frame=frame, points=points)
    )  # fmt: skip
    explanation = SimpleNamespace(name="wrong_frame", probability=mixed)
    found = rule.frame_reason(docket, SimpleNamespace(explanations=(explanation,)), word)
    assert (found and found.code) == code


def test_nothing_is_altered_and_no_speed_asked_for_by_a_table_of_the_other_shaft():
    frame = Problem("table-looks-crank", ("target", "frame"), {}, grave=False)
    nothing = SimpleNamespace(explanations=())
    steps = SimpleNamespace(steps=())
    told = so(OUTSIDE, 0.01, frame=frame)
    assert rule.action_of(told, nothing, steps, None) == "measure-first"
    assert helps("secondary_late", 0.9, around=False, frame=frame) == []
    measured = SimpleNamespace(
        posterior=SimpleNamespace(diagnosis=SimpleNamespace(explanations=())),
        measurements=lambda: [("prove-mark", (), 0.25, 0.1)],
    )
    without, told = (
        rule.helps_of(so(points=(point(),), frame=each), measured, None, 2.0)
        for each in (None, frame)
    )
    assert [h.what for h in without] == ["prove-mark"] and told == ()
    found = reasons([point(around=False)], other_table=0.9, frame=frame)
    assert found == ["table-looks-crank"]


def test_readings_of_another_shaft_show_their_own_zero():
    """Said to be timed at 8°; taken for a rig's the zero is held against 0, and 8.3° were shown."""
    docket = session()
    place = ("sessions", 0, "instrument")
    docket = put(docket, (*place, "static_deg"), 8.0)
    values = {ZERO: np.array([0.1, 8.3]), (*place, "static_deg"): np.array([8.0, 0.0])}
    posterior = object.__new__(Posterior)
    posterior.values, posterior.family = values, SimpleNamespace(docket=docket)
    posterior.simulator = SimpleNamespace(instrument=place)
    assert posterior.zero_shown() == pytest.approx([0.1, 0.3])


@pytest.mark.parametrize(("falling_deg", "chance", "branch"), [
    ([6.5, 6.6, 6.7, 7.1], 0.75, "falling"), ([6.5, 6.6, 6.7, 6.8], 1.0, None),
    ([6.5, 7.1, 7.2, 7.3], 0.25, "falling"),
])  # fmt: skip
def test_the_branch_is_told_that_tells_why_the_chance_is_no_better(falling_deg, chance, branch):
    """A band of 5 to 7, rising surely inside: counted by hand, of four samples as likely."""
    row = np.zeros(1)
    target = TargetBands(Bands(("check",), (0,), row, row + 5.0, row + 7.0),
                         ("rising", "falling"), vacuum=False)  # fmt: skip
    advance = np.stack([np.full(4, 5.5), np.array(falling_deg)], axis=1)
    weight = np.full(4, 0.25)
    assert rule._branch_deciding(target, weight, advance, chance, 0) == branch
    one = TargetBands(target.asked, ("falling",), vacuum=False)
    assert rule._branch_deciding(one, weight, advance[:, 1:], chance, 0) is None
