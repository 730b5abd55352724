"""Sessions of one unit judge each other: what no alteration touched is the same in all states."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.history import Alteration
from bobweight.core.docket.states import with_session_after
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


def value(key: str, u: float, middle: float = 0.0, by_share: bool = False) -> FreeValue:
    return FreeValue(("mechanism", key), middle, u, -1e3, 1e3, "", "stated", by_share)


def test_what_is_passed_on_is_what_the_other_readings_said_and_no_more():
    """Three values, the third touched since; readings that are straight lines of them. Passed on
    to the first two it must give what fitting all readings at once gives (normal equations; JCGM
    102:2011, 5.3, for the propagation)."""
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
    family = SimpleNamespace(unit=unit, basis=[prior], kept=3, of_table=np.zeros(1, int),
                             figures_moved=lambda x, which: np.zeros((len(x), 3)))  # fmt: skip
    diagnosis = SimpleNamespace(
        family=family, hypothesis=np.zeros(1, int), x=mean[None], covariance=covariance[None],
        explanations=(SimpleNamespace(probability=1.0),),
    )  # fmt: skip
    matrix, offset = others._rows(diagnosis, free, {("mechanism", "c")})
    # The third value has gone its own way: it is integrated out of what the readings said.
    before = (prior @ prior.T)[:2, :2]
    posterior_mean = (about + prior @ mean)[:2]
    posterior = (prior @ covariance @ prior.T)[:2, :2]
    assert not matrix[:, 2].any()
    joined = np.linalg.inv(np.linalg.inv(before) + matrix[:, :2].T @ matrix[:, :2])
    centre = joined @ (np.linalg.solve(before, about[:2]) + matrix[:, :2].T @ offset)
    np.testing.assert_allclose(joined, posterior, atol=1e-6)
    np.testing.assert_allclose(centre, posterior_mean, atol=1e-6)


def test_a_value_is_the_same_however_sure_each_docket_is_of_it():
    """The same, in z of a docket that says 4 ± 2 and of one that says 6 ± 0.5; and as shares."""
    for by_share in (False, True):
        mine, theirs = value("a", 2.0, 4.0, by_share), value("a", 0.5, 6.0, by_share)
        scale, shift = others._moved(mine, theirs)
        for z in (-0.4, 0.3):
            assert theirs.at(np.array(scale * z + shift)) == pytest.approx(mine.at(np.array(z)))


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
    # Whatever that session says, it cannot say more than the odds that it was mended meanwhile.
    certain = FaultsTold({k: 1.0 for k in weight}, {k: float(k == (LATE, NOTHING)) for k in weight})
    assert 0 < certain.log_evidence(LATE) < np.log(20)


def test_of_what_was_not_weighed_together_the_other_says_nothing():
    """A mark that explains everything leaves a fault of the unit as open as it was."""
    weight = {(NOTHING, NOTHING): 1.0, (LATE, NOTHING): 0.2, (NOTHING, MARK): 0.1}
    evidence = {(NOTHING, NOTHING): 1e-9, (LATE, NOTHING): 1e-8, (NOTHING, MARK): 1.0}
    told = FaultsTold(weight, evidence, left=1.0)
    assert abs(told.log_evidence(LATE)) < 0.1


# The whole --------------------------------------------------------------------------------------


def found(secondary_late_mm: float = 0.0, seed: int = 5, count: int = 20) -> Docket:
    """A unit read as found; whose secondary, or nothing, is wrong."""
    d = docket(Wish(), band_deg=1.5)
    actual = d.mechanism
    path = ("springs", 1, "slack_mm")
    if secondary_late_mm:
        actual = put(actual, path, actual.springs[1].slack_mm + secondary_late_mm)
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
    assert nearest(few, many) == []
    assert nearest(few, many, few) == [1]


def test_sessions_of_one_state_share_what_they_know():
    """Six readings of a unit that was read twenty times before: its curve is known better."""
    d = again(found(), found(seed=9))
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
