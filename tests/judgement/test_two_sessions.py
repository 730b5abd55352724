"""Sessions of one unit judge each other: what no alteration touched is the same in all states."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from bobweight.app.messages.judgement import reason_sentence
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.history import Alteration
from bobweight.core.docket.states import UnitState, with_session_after
from bobweight.core.judgement import others
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.fit_values import FreeValue
from bobweight.core.judgement.others import others_told
from bobweight.core.judgement.told import NOTHING, FaultsTold, Told
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put, put_uncertainty
from tests.judgement.invented import Truth, Wish, docket, even_places, read, with_readings

RATE = ("mechanism", "springs", 0, "rate_n_per_mm")
LATE = frozenset({("secondary_late", 1.0)})
MARK = frozenset({("mark_offset", 1.0)})
LATER = frozenset({("late", 1.0)})


def value(key: str, u: float, middle: float = 0.0, by_share: bool = False) -> FreeValue:
    return FreeValue(("mechanism", key), middle, u, -1e3, 1e3, "", "stated", by_share)


def test_what_is_passed_on_is_what_the_other_readings_said_and_no_more():
    """Three values, the third touched since; readings that are straight lines of them. Passed on
    to the first two it must give what fitting all readings at once gives (normal equations; JCGM
    102:2011, 5.3, for the propagation), in the own figures and uncertainties of who is told."""
    rng = np.random.default_rng(4)
    slopes = rng.normal(size=(7, 3))
    truth = rng.normal(size=3)
    said = slopes @ truth + 0.1 * rng.normal(size=7)
    prior = np.linalg.cholesky(stats.wishart(6, np.eye(3) / 6).rvs(random_state=3))
    about = rng.normal(size=3)  # where the sound unit lay before the readings
    information = np.eye(3) + prior.T @ slopes.T @ slopes @ prior
    covariance = np.linalg.inv(information)
    mean = covariance @ prior.T @ slopes.T @ (said - slopes @ about)
    free = tuple(value(k, 1.0) for k in "abc")
    unit = SimpleNamespace(free=free, z=about, root=prior)
    directions = SimpleNamespace(basis=[prior], kept=3)
    family = SimpleNamespace(unit=unit, directions=directions, of_table=np.zeros(1, int),
                             figures_moved=lambda x, which: np.zeros((len(x), 3)))  # fmt: skip
    diagnosis = SimpleNamespace(
        family=family, hypothesis=np.zeros(1, int), x=mean[None], covariance=covariance[None],
        explanations=(SimpleNamespace(probability=1.0),),
    )  # fmt: skip
    mine = value("b", 0.5, -0.7), value("a", 2.0, 0.4), free[2]  # in an order of its own
    matrix, offset = others._rows(diagnosis, mine, {("mechanism", "c")})
    # The third value has gone its own way: it is integrated out of what the readings said.
    u, middle = np.array([2.0, 0.5]), np.array([0.4, -0.7])
    before = (prior @ prior.T)[:2, :2] / np.outer(u, u)
    posterior_mean = ((about + prior @ mean)[:2] - middle) / u
    posterior = (prior @ covariance @ prior.T)[:2, :2] / np.outer(u, u)
    assert not matrix[:, 2].any()
    matrix = matrix[:, [1, 0]]
    joined = np.linalg.inv(np.linalg.inv(before) + matrix.T @ matrix)
    known = np.linalg.solve(before, (about[:2] - middle) / u)
    centre = joined @ (known + matrix.T @ offset)
    np.testing.assert_allclose(joined, posterior, atol=1e-6)
    np.testing.assert_allclose(centre, posterior_mean, atol=1e-6)
    unlikely = SimpleNamespace(**vars(diagnosis))
    unlikely.explanations = (SimpleNamespace(probability=0.1),)
    for each, touched in (diagnosis, {f.path for f in free}), (unlikely, set()):
        matrix, offset = others._rows(each, mine, touched)
        assert matrix.shape == (0, 3) and offset.shape == (0,)


def test_a_value_is_the_same_however_sure_each_docket_is_of_it():
    """The same, in z of a docket that says 4 ± 2 and of one that says 6 ± 0.5; and as shares."""
    length = value("a", 0.2, 30.0, True), value("a", 0.5, 24.0, True)
    for mine, theirs in (
        (value("a", 2.0, 4.0), value("a", 0.5, 6.0)),
        (value("a", 2.0, 4.0, True), value("a", 0.5, 6.0, True)),
        tuple(replace(each, origin=20.0) for each in length),  # a share of what it is stretched by
        (value("a", 0.5, 0.4, True), value("a", 0.5, 0.8, True)),
    ):
        scale, shift = others._moved(mine, theirs)
        for z in (-0.4, 0.3):
            assert theirs.at(np.array(scale * z + shift)) == pytest.approx(mine.at(np.array(z)))


def test_values_that_are_not_of_a_kind_tell_each_other_nothing():
    """A share has no sum to compare with, nor a share of another whole; a length on the other side
    of its origin, or at it, is no share at all."""
    plain, share = value("a", 0.2, 30.0), value("a", 0.2, 30.0, True)
    stretched = replace(share, origin=20.0)
    for mine, theirs in (
        (plain, share), (share, plain), (share, stretched), (stretched, share),
        (stretched, replace(stretched, value=19.0)), (replace(stretched, value=19.0), stretched),
        (stretched, replace(stretched, value=20.0)), (replace(stretched, value=20.0), stretched),
    ):  # fmt: skip
        assert others._moved(mine, theirs) is None
    assert others._moved(plain, replace(plain, origin=20.0)) == (1.0, 0.0)  # which has no share


def test_what_is_told_of_a_unit_is_told_over_all_explanations_by_which_the_table_is_its_own():
    """The moments of a mixture: E(x xᵀ) less the mean's square, of the explanations left."""
    rng = np.random.default_rng(8)
    basis, moved = rng.normal(size=(3, 4)), rng.normal(size=(5, 3))
    x, roots = rng.normal(size=(5, 4)), rng.normal(size=(5, 4, 4))
    covariance = roots @ roots.transpose(0, 2, 1)
    chance = np.array([0.1, 0.4, 0.15, 0.05, 0.3])
    # The rows are of hypotheses 2, 0, 3, 1, 4 of a family, of which 0 and 4 have another table.
    which, table = np.array([2, 0, 3, 1, 4]), np.array([1, 0, 0, 0, 1])

    def diagnosed(chance):
        family = SimpleNamespace(
            of_table=table, directions=SimpleNamespace(basis=[basis], kept=2),
            figures_moved=lambda rows, h: np.array([moved[list(which).index(i)] for i in h]),
        )  # fmt: skip
        return SimpleNamespace(
            family=family, hypothesis=which, x=x, covariance=covariance,
            explanations=[SimpleNamespace(probability=p) for p in chance],
        )  # fmt: skip

    mean, found = others._directions_told(diagnosed(chance))
    ours = np.array([0, 2, 3])
    share = chance[ours] / 0.3
    at = [x[i, :2] - basis[:, :2].T @ moved[i] for i in ours]
    exact = sum(p * a for p, a in zip(share, at, strict=True))
    square = sum(
        p * (covariance[i, :2, :2] + np.outer(a, a))
        for p, i, a in zip(share, ours, at, strict=True)
    )
    assert mean == pytest.approx(exact)
    assert found == pytest.approx(square - np.outer(exact, exact))
    # Where it is likelier by far that the table is another unit's, the sound unit is not told of.
    assert others._directions_told(diagnosed(chance * [0.9, 1, 0.9, 0.9, 1])) is None


def test_the_faults_of_another_session_count_as_bayes_has_it():
    """A fault of the unit and one of its session, each there or not: by summing all four."""
    weight = {(a, b): (0.2 if a else 1.0) * (0.1 if b else 1.0)
              for a, b in product((NOTHING, LATE), (NOTHING, MARK))}  # fmt: skip
    evidence = {(NOTHING, NOTHING): 0.02, (LATE, NOTHING): 0.5, (NOTHING, MARK): 0.3,
                (LATE, MARK): 0.4}  # fmt: skip
    sure = FaultsTold(weight, evidence, left=1.0)
    with_it = (evidence[LATE, NOTHING] + 0.1 * evidence[LATE, MARK]) / 1.1
    without = (evidence[NOTHING, NOTHING] + 0.1 * evidence[NOTHING, MARK]) / 1.1
    assert sure.log_evidence(LATE) == pytest.approx(np.log(with_it / without))
    assert sure.log_evidence(MARK) == 0.0
    apart = FaultsTold({**weight, (LATER, NOTHING): 0.1}, {**evidence, (LATER, NOTHING): 0.9})
    assert apart.log_evidence(LATE | LATER) == 0.0, "together they were not weighed"
    # Bayes of "as it was" and "something was done", whatever was that session's own.
    whatever = sum(weight[k] * evidence[k] for k in weight) / sum(weight.values())
    half = FaultsTold(weight, evidence, left=0.6)
    for parts, of in ((LATE, with_it), (NOTHING, without), (MARK, without)):
        since = 0.4 * whatever / (0.6 * of + 0.4 * whatever)
        assert half.changed(parts) == pytest.approx(since)
    # Whatever that session says, it cannot say more than the odds that it was mended meanwhile.
    certain = FaultsTold({k: 1.0 for k in weight}, {k: float(k == (LATE, NOTHING)) for k in weight})
    assert 0 < certain.log_evidence(LATE) < np.log(20)


def test_an_amount_that_another_session_knows_may_have_changed_since():
    """Left as it was, or any other one: the moments of the two laws together (law of total
    variance), each as probable as that session's readings make it (Bayes)."""
    weight = {(NOTHING, NOTHING): 1.0, (LATE, NOTHING): 0.25, (NOTHING, MARK): 0.5}
    evidence = {(NOTHING, NOTHING): 0.1, (LATE, NOTHING): 0.8, (NOTHING, MARK): 0.3}
    told = FaultsTold(weight, evidence, 0.7, {"secondary_late": (1.5, 0.3)})
    whatever = (1.0 * 0.1 + 0.25 * 0.8 + 0.5 * 0.3) / 1.75
    late = (1.0 * 0.8 + 0.5 * 0.3) / 1.5  # whatever else was that session's own
    share = 0.7 * late / (0.7 * late + 0.3 * whatever)
    z = np.linspace(-9.0, 9.0, 20_001)
    law = share * stats.norm(1.5, 0.3).pdf(z) + (1 - share) * stats.norm(0.0, 1.0).pdf(z)
    law /= law.sum()
    mean = law @ z
    sd = np.sqrt(law @ (z - mean) ** 2)
    assert told.amount("secondary_late") == pytest.approx((mean, sd), rel=1e-6)
    assert told.amount("stop_high") == (0.0, 1.0)
    assert Told((), np.zeros((0, 1)), np.zeros(0)).amount("stop_high") == (0.0, 1.0)


def test_each_session_may_mislead_by_itself():
    """A mixture of what it says and of nothing, one in ten, whatever the others say."""
    rng = np.random.default_rng(4)
    matrix, offset, z = rng.normal(size=(7, 3)), 3 * rng.normal(size=7), rng.normal(size=(4, 3))
    found = Told((1, 2, 3), matrix, offset, (2, 3, 2)).residuals(z)
    off = z @ matrix.T - offset
    for rows in (slice(0, 2), slice(2, 5), slice(5, 7)):
        cost = np.sum(off[:, rows] ** 2, axis=1)
        less = -2.0 * np.log(0.9 * np.exp(-0.5 * cost) + 0.1)
        assert np.sum(found[:, rows] ** 2, axis=1) == pytest.approx(less)
        direction = off[:, rows] / np.sqrt(cost)[:, None]
        assert found[:, rows] == pytest.approx(direction * np.sqrt(less)[:, None])


@pytest.mark.parametrize(("before", "after", "noted"), [
    (1, None, True), (2, None, False), (None, 2, True), (None, 1, False), (None, 3, False),
    (1, 3, True), (2, 3, False), (None, None, False),
])  # fmt: skip
def test_what_lies_between_two_sessions_is_noted_by_those_before_and_after_it(before, after, noted):
    """Of the first and the second session; a line says after which it was done, or before which."""
    line = Alteration(before_session=before, after_session=after)
    unit = Docket(history=(Alteration(before_session=7, after_session=9), line))
    assert others._noted(unit, 0, 1) == others._noted(unit, 1, 0) == noted


def test_a_session_between_which_something_was_noted_is_passed_over_alone(monkeypatch):
    """Cleaned between the first and the second: the third still tells of the second. Each is
    judged by itself, what was read twice as one; nothing is told of readings that cannot be."""
    first, second, third = (found(seed=seed).sessions[0] for seed in (1, 2, 3))
    third = replace(third, readings=(*third.readings, *third.readings))  # each place read twice
    unit = found().with_changes(
        sessions=(first, second, third), history=(Alteration(before_session=1, what="Cleaned"),)
    )
    asked = []

    def diagnose(docket, session, few, cancelled=None):
        asked.append((docket.sessions, session, len(few.speed_rpm)))
        return None

    monkeypatch.setattr(others, "diagnose", diagnose)
    assert others_told(unit, 1) is None
    assert asked == [((third,), 0, len(first.readings))]
    none = tuple(replace(r, left_out=True) for r in third.readings)
    for nothing in ((), none):
        unit = unit.with_changes(sessions=(first, second, replace(third, readings=nothing)))
        assert others_told(unit, 1) is None and len(asked) == 1


def test_explanations_alike_in_what_lasts_are_heard_together():
    """Evidence is odds over prior odds; of two explanations that share their parts the mean by
    their prior odds. A fault that was altered since does not last, and its amount is not told."""
    faults = tuple(
        SimpleNamespace(
            key=k,
            side=side,
            usual=1.0,
            effects=(SimpleNamespace(path=(k,)), SimpleNamespace(path=(k, "more"))),
        )
        for k, side in (
            ("weak", "unit"),
            ("late", "unit"),
            ("mark", "measurement"),
            ("gone", "unit"),
        )
    )
    faults[3].usual = 0.0  # has no amount
    gone = frozenset({("gone", 1.0)})
    parts = [NOTHING, LATER, LATER, frozenset({("weak", 1.0)}), LATER | {("mark", 1.0)}, gone]
    weight, odds = [1.0, 0.3, 0.1, 0.2, 0.05, 0.5], np.array([0.1, 0.3, 0.2, 0.3, 0.1, 0.2])
    acting = [(), (1,), (1,), (0,), (1, 2), (3,)]
    family = SimpleNamespace(
        faults=faults, parts=lambda h: h.parts, first_fault=2,
        hypotheses=[SimpleNamespace(parts=p, weight=w, faults=a)
                    for p, w, a in zip(parts, weight, acting, strict=True)],
    )  # fmt: skip
    x = np.arange(24.0).reshape(4, 6)
    covariance = np.stack([np.diag(np.arange(1.0, 7.0) * k) for k in (1, 2, 3, 4)])
    diagnosis = SimpleNamespace(family=family, hypothesis=np.array([0, 1, 3, 5]), odds=odds, x=x,
                                covariance=covariance,
                                first=SimpleNamespace(name="late"))  # fmt: skip
    told = others._faults(diagnosis, {("weak",)}, 0.4)
    own = frozenset({("weak", 1.0)})
    mark = frozenset({("mark", 1.0)})
    assert told.weight == pytest.approx({
        (NOTHING, NOTHING): 1.0, (LATER, NOTHING): 0.4, (NOTHING, own): 0.2, (LATER, mark): 0.05,
        (gone, NOTHING): 0.5,
    })  # fmt: skip
    evidence = {(NOTHING, NOTHING): 0.1, (LATER, NOTHING): 0.5 / 0.4, (NOTHING, own): 0.3 / 0.2,
                (LATER, mark): 0.1 / 0.05, (gone, NOTHING): 0.2 / 0.5}  # fmt: skip
    assert told.evidence == pytest.approx({k: e / 2.0 for k, e in evidence.items()})
    assert told.leads == "late"
    assert told.left == 0.4 and told.amounts == {"late": (9.0, pytest.approx(np.sqrt(8.0)))}


def test_of_what_was_not_weighed_together_the_other_says_nothing():
    """A mark that explains everything leaves a fault of the unit as open as it was."""
    weight = {(NOTHING, NOTHING): 1.0, (LATE, NOTHING): 0.2, (NOTHING, MARK): 0.1}
    evidence = {(NOTHING, NOTHING): 1e-9, (LATE, NOTHING): 1e-8, (NOTHING, MARK): 1.0}
    told = FaultsTold(weight, evidence, left=1.0)
    assert abs(told.log_evidence(LATE)) < 0.1
    # Readings that speak against it five to one do so whatever the mark.
    evidence = {(NOTHING, NOTHING): 0.5, (LATE, NOTHING): 0.1, (NOTHING, MARK): 0.6}
    told = FaultsTold(weight, evidence, left=1.0)
    assert told.log_evidence(LATE) == pytest.approx(-np.log(5.0))


def test_of_an_amount_the_session_is_believed_that_knows_it_best():
    """As long as it is sure that nothing was touched (left 1) it says what it found."""
    weight = {(NOTHING, NOTHING): 1.0, (LATE, NOTHING): 1.0}
    vague, sure = (
        FaultsTold(weight, {(NOTHING, NOTHING): 0.1, (LATE, NOTHING): 0.9}, 1.0,
                   {"secondary_late": known}) for known in ((0.3, 0.8), (1.2, 0.2))
    )  # fmt: skip
    for faults in ((vague, sure), (sure, vague)):
        told = Told((0, 1), np.zeros((0, 1)), np.zeros(0), (0, 0), faults)
        assert told.amount("secondary_late") == pytest.approx((1.2, 0.2))


# The whole --------------------------------------------------------------------------------------


def found(secondary_late_mm: float = 0.0, seed: int = 5, count: int = 20) -> Docket:
    """A unit read as found; whose secondary, or nothing, is wrong."""
    d = docket(Wish(), band_deg=1.5)
    actual = d.mechanism
    path = ("springs", 1, "slack_mm")
    if secondary_late_mm:
        actual = put(actual, path, actual.springs[1].slack_taken_mm + secondary_late_mm)
    places = even_places(predict(d.mechanism), count)
    return with_readings(d, read(Truth(actual), places, np.random.default_rng(seed)))


def again(d: Docket, like: Docket, upto: int = 6) -> Docket:
    """A further session of a docket, the first readings of another."""
    first = like.sessions[0]
    last = d.sessions[-1]
    there = replace(last, title="After", readings=first.readings[::3][:upto])
    sessions = d.sessions if not last.readings else (*d.sessions, there)
    return d.with_changes(sessions=(*sessions[:-1], there))


def primary_fitted(d: Docket) -> Docket:
    """Another primary in the docket, with an empty session after it."""
    fitted = put_uncertainty(put(d, RATE, d.mechanism.springs[0].rate_n_per_mm * 1.02), RATE, 0.02)
    return with_session_after(d, fitted, 0, "Primary fitted")


def test_one_session_has_no_others():
    assert others_told(found(), 0) is None


def test_enough_readings_of_its_own_need_no_others():
    """The nearest count first, and none once there are enough: a rig's logs stay as quick."""
    few, many = (d.sessions[0] for d in (found(), found(count=200)))

    def nearest(*sessions, of=-1):
        d = Docket(sessions=sessions)
        return others._nearest(d, of % len(sessions))

    assert nearest(few, few, few) == [1, 0]
    assert nearest(few, few, few, few, few) == [3, 2, 1]
    assert nearest(few, few, few, few, few, of=2) == [1, 3, 0]
    states = [few.with_changes(state=k) for k in (2, 0, 1, 1)]
    unit = Docket(sessions=tuple(states), states=(UnitState(), UnitState()))
    assert others._nearest(unit, 3) == [2, 1, 0], "the same state first, then either next to it"
    assert others._nearest(unit, 0) == [2, 3, 1]
    assert nearest(few, many) == []
    assert nearest(few, many, few) == [1]


def test_sessions_of_one_state_share_what_they_know():
    """Six readings of a unit that was read twenty times before: its curve is known better, by a
    tenth to a fifth for most readings."""
    d = again(found(), found(seed=14))
    judgement = decide_docket(d).judgement
    assert judgement.also_read == (0,)
    alone = decide_docket(d.with_changes(sessions=d.sessions[1:])).judgement
    width = [np.mean(j.band.rising_high_deg - j.band.rising_low_deg) for j in (judgement, alone)]
    assert width[0] < 0.9 * width[1]


def test_a_fault_that_no_alteration_touched_is_still_there():
    d = again(primary_fitted(found(0.9)), found(0.9, seed=6))
    told = others_told(d, 1)
    assert told.log_evidence(LATE) > 1.0
    assert told.log_evidence(frozenset({("primary_weak", 1.0)})) == pytest.approx(0.0)
    noted = again(found(0.9), found(0.9, seed=6)).with_changes(
        history=(Alteration(what="Cleaned", before_session=1, after_session=2),)
    )
    assert others_told(noted, 1) is None  # nobody says what was touched


def test_two_sessions_of_one_state_that_cannot_both_be_right_are_named():
    """Mended and not noted, or one of the two misread: which, the man knows."""
    late = found(0.9)
    mended, as_it_was = (
        late.with_changes(sessions=(*late.sessions, replace(d.sessions[0], title="After")))
        for d in (found(seed=6), found(0.9, seed=6))
    )
    judgement = decide_docket(mended).judgement
    differ = next(r for r in judgement.reasons if r.code == "sessions-differ")
    assert differ.path == ("sessions", 0)
    assert differ.facts["name"] == "secondary_late"
    said = reason_sentence(differ, judgement)
    assert "secondary" in said and "Alterations made" in said
    codes = [r.code for r in decide_docket(as_it_was).judgement.reasons]
    assert "sessions-differ" not in codes


def test_before_any_reading_after_the_work_those_before_it_count():
    """The band of the unit with its new spring is narrower by what the old readings told."""
    d = primary_fitted(found(count=40))
    both = decide_docket(d).judgement.band
    alone = decide_docket(d.with_changes(sessions=d.sessions[1:])).judgement.band
    wide = [np.mean(b.rising_high_deg - b.rising_low_deg) for b in (both, alone)]
    assert wide[0] < wide[1]


def test_what_is_told_leaves_a_standard_normal_where_it_says_nothing():
    told = Told((0,), np.zeros((0, 3)), np.zeros(0), (0,))
    mean, root = told.alone
    np.testing.assert_array_equal(mean, 0.0)
    np.testing.assert_array_equal(root, np.eye(3))


def test_what_is_told_alone_is_what_least_squares_makes_of_it():
    """Values about 0 ± 1 and rows about their offsets ± 1: numpy's least squares of both together
    (normal equations)."""
    rng = np.random.default_rng(6)
    matrix, offset = rng.normal(size=(2, 3)), rng.normal(size=2)
    mean, root = Told((0,), matrix, offset, (2,)).alone
    both, of_both = np.vstack([np.eye(3), matrix]), np.concatenate([np.zeros(3), offset])
    assert mean == pytest.approx(np.linalg.lstsq(both, of_both, rcond=None)[0])
    inverse = np.linalg.pinv(both)
    assert root @ root.T == pytest.approx(inverse @ inverse.T)
