"""Conformity against JCGM 106:2012 and the normal law of scipy."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from bobweight.core.problems import BobweightError
from bobweight.core.statistics.conformity import Conformity, decide, probability_inside


def test_jcgm_106_one_upper_limit():
    # JCGM 106:2012, 7.5, example (from memory): breakdown voltage −5.47 V, u 0.05 V, upper limit
    # −5.40 V; conformance probability Φ(1.40) = 0.92.
    assert float(probability_inside(-5.47, 0.05, high=-5.40)) == pytest.approx(0.92, abs=0.005)


def test_jcgm_106_two_limits():
    # JCGM 106:2012, 7.4 (formula from memory), written out with another library's normal law.
    y, u, low, high = 9.6, 0.4, 9.0, 11.0
    law = stats.norm(y, u)
    assert float(probability_inside(y, u, low, high)) == pytest.approx(law.cdf(high) - law.cdf(low))


def test_against_a_million_true_values():
    rng = np.random.default_rng(6)
    inside = np.mean(np.abs(rng.normal(9.6, 0.4, 1_000_000) - 10) <= 1)
    p = float(probability_inside(9.6, 0.4, 9, 11))
    assert inside == pytest.approx(p, abs=4 * np.sqrt(p * (1 - p) / 1e6))


def test_small_probabilities_keep_their_digits():
    # Φ(−10) = 7.619853e-24 (tables of the normal law), from either side
    assert float(probability_inside(10, 1, high=0)) == pytest.approx(7.619853e-24, rel=1e-6, abs=0)
    assert float(probability_inside(-10, 1, low=0)) == pytest.approx(7.619853e-24, rel=1e-6, abs=0)


def test_vectors_and_open_ends():
    p = probability_inside([1.0, 2.0, np.nan, 2.0], [0.5, 0.5, 1, np.nan], [0, -np.inf, 0, 0], 2)
    assert p[:2] == pytest.approx([stats.norm.cdf(2) - stats.norm.cdf(-2), 0.5])
    assert np.isnan(p[2:]).all()
    assert float(probability_inside(3.0, 1.0)) == 1.0


def test_without_uncertainty_the_limits_belong_inside():
    assert probability_inside([1, 2, 2.001], 0, 1, 2).tolist() == [1, 1, 0]
    assert np.isnan(probability_inside(np.nan, 0, 1, 2))


@given(st.floats(-50, 50), st.floats(1e-3, 50), st.floats(-50, 50), st.floats(0, 50))
def test_inside_and_outside_make_one(y, u, low, width):
    high = low + width
    parts = probability_inside(y, u, [-np.inf, low, high], [low, high, np.inf])
    assert parts.sum() == pytest.approx(1)
    assert np.all(parts >= 0)


@pytest.mark.parametrize(("p", "decision"), [
    (0.95, Conformity.INSIDE), (0.9499, Conformity.CANNOT_TELL), (0.5, Conformity.CANNOT_TELL),
    (0.0501, Conformity.CANNOT_TELL), (0.0499, Conformity.OUTSIDE),
    (np.nan, Conformity.CANNOT_TELL),
])  # fmt: skip
def test_three_states(p, decision):
    assert decide(p) is decision


@pytest.mark.parametrize(("code", "call"), [
    ("uncertainty-negative", lambda: probability_inside(1, -1, 0, 2)),
    ("limits-crossed", lambda: probability_inside(1, 1, 2, 0)),
    ("limit-missing", lambda: probability_inside(1, 1, np.nan, 0)),
])  # fmt: skip
def test_bad_input_is_refused(code, call):
    with pytest.raises(BobweightError) as caught:
        call()
    assert caught.value.problem.code == code
