"""Findings against limits: JCGM 106:2012, 7.4, by scipy's law; limits: common practice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from bobweight.core.bench.limits import JudgedValue, State, judged
from bobweight.core.problems import BobweightError


@pytest.mark.parametrize(
    ("value", "u", "state"),
    [
        (0.06, 0.01, State.PASS),  # four standard uncertainties inside
        (0.095, 0.01, State.BORDERLINE),
        (0.105, 0.01, State.BORDERLINE),
        (0.13, 0.01, State.FAIL),
        (0.10, None, State.PASS),
        (0.101, None, State.FAIL),
        (None, None, State.NOT_MEASURED),
        (None, 0.01, State.NOT_MEASURED),
    ],
)
def test_side_play(value, u, state):
    """Common practice: reject above 0.10 mm."""
    assert judged(value, u, high=0.10).state is state


def test_the_edge_lies_where_the_normal_law_puts_it():
    reach = norm.ppf(0.95)
    for factor, state in ((1.001, State.PASS), (0.999, State.BORDERLINE)):
        assert judged(10 - factor * reach, 1.0, high=10).state is state
        assert judged(5 + factor * reach, 1.0, low=5).state is state
    assert judged(10 + 1.001 * reach, 1.0, high=10).state is State.FAIL


@given(st.floats(40, 80), st.floats(0.1, 10))
def test_probability_between_two_limits(dwell, u):
    """Dwell 60 ± 3° (common practice)."""
    expected = norm.cdf(63, dwell, u) - norm.cdf(57, dwell, u)
    got = judged(dwell, u, 57, 63)
    assert got.probability == pytest.approx(expected, abs=1e-12)
    if got.state is State.BORDERLINE:
        assert 0.05 < got.probability < 0.95


def test_a_reading_too_coarse_for_the_limits_is_never_a_pass():
    assert judged(60, 4.0, 57, 63).state is State.BORDERLINE


def test_no_uncertainty_means_no_probability():
    assert judged(60, None, 57, 63) == JudgedValue(State.PASS, None)
    assert judged(63, None, 57, 63).state is State.PASS  # the limit counts as within


def test_nineteen_in_twenty_decide():
    assert judged(10 - 1.66, 1.0, high=10).state is State.PASS  # 95.2 % inside
    assert judged(10 - 1.63, 1.0, high=10).state is State.BORDERLINE  # 94.8 %


@pytest.mark.parametrize(
    ("args", "code"),
    [
        ((1.0, 0.1), "limit-missing"),
        ((1.0, 0.1, 3.0, 2.0), "limits-crossed"),
        ((1.0, 0.0, 0.0, 2.0), "not-positive"),
        ((float("nan"), 0.1, 0.0, 2.0), "not-finite"),
    ],
)
def test_refusals(args, code):
    with pytest.raises(BobweightError) as caught:
        judged(*args)
    assert caught.value.problem.code == code
