"""Samples of explanations and their evidence, against integrals in closed form."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from bobweight.core.judgement import sampling
from bobweight.core.judgement.sampling import Samples, Start, annealed, annealed_twice
from bobweight.core.statistics.least_squares import Cancelled

# Readings that are straight lines of two columns, the third a column of other explanations: beyond
# a standard normal law of each column the logarithm of the integral is that of the readings' own
# law (Bishop, Pattern Recognition and Machine Learning, 2006, eq. 2.115), less its constant.
SLOPES = np.array([[2.0, 0.5, 0.0], [0.4, -3.0, 0.0], [1.0, 1.0, 0.0]])
SAID = np.array([1.5, -2.0, 0.3])
FREE = np.array([[True, True, False], [True, False, False]])
FAR = np.full(3, 9.0)


def law(h: int):
    """Mean, covariance and logarithm of the evidence of an explanation."""
    slopes = SLOPES * FREE[h]
    covariance = np.linalg.inv(np.eye(3) + slopes.T @ slopes)
    mean = covariance @ slopes.T @ SAID
    evidence = stats.multivariate_normal(np.zeros(3), np.eye(3) + slopes @ slopes.T).logpdf(SAID)
    return mean, covariance, evidence + 1.5 * np.log(2 * np.pi)


def begin(off: float = 0.0, wide: float = 1.0) -> Start:
    """Where samples begin: off the true place, and with another spread."""
    each = [law(h) for h in (0, 1)]
    rest = np.array([mean + off * FREE[h] for h, (mean, _, _) in enumerate(each)])
    return Start(rest, np.array([wide * c for _, c, _ in each]), FREE, -FAR, FAR)


def density(x, which):
    """Of columns and readings; no walls."""
    off = (x * FREE[which]) @ SLOPES.T - SAID
    own = np.sum((x * FREE[which]) ** 2, axis=1)
    return -0.5 * (np.sum(off**2, axis=1) + own), np.zeros(len(x))


BOTH, MANY = np.array([0, 1]), np.array([3000, 2000])


@pytest.mark.parametrize(("off", "wide"), [(0.0, 1.0), (0.3, 1.0), (0.0, 2.5), (-0.2, 0.5)])
def test_evidence_and_moments_are_those_of_the_normal_law(off, wide):
    found = annealed(begin(off, wide), BOTH, MANY, density)
    assert np.bincount(found.which).tolist() == MANY.tolist()
    for h in (0, 1):
        mean, covariance, evidence = law(h)
        x = found.x[found.which == h]
        assert found.log_evidence[h] == pytest.approx(evidence, abs=0.05)
        free = FREE[h]
        sd = np.sqrt(np.diag(covariance))[free]
        assert x.mean(axis=0)[free] == pytest.approx(mean[free], abs=0.1 * sd.min())
        assert np.cov(x.T)[free][:, free] == pytest.approx(
            covariance[free][:, free], abs=0.12 * sd.max() ** 2
        )
        assert (x[:, ~free] == begin().rest[h, ~free]).all()


def test_a_part_that_the_normal_law_does_not_reach_is_weighed_as_it_is():
    """A law of two humps, samples beginning about the smaller one: each side its share."""
    start = Start(np.zeros((1, 1)), np.array([[[9.0]]]), np.ones((1, 1), bool), -FAR[:1], FAR[:1])
    humps = [(0.3, -2.0, 0.6), (0.7, 2.5, 0.8)]

    def two(x, which):
        return np.log(sum(w * stats.norm(m, s).pdf(x[:, 0]) for w, m, s in humps)), np.zeros(len(x))

    found = annealed(start, np.zeros(1, int), np.array([4000]), two)
    # The integral of a density is 1, in which a standard normal column counts as √(2π) less.
    assert found.log_evidence[0] == pytest.approx(-0.5 * np.log(2 * np.pi), abs=0.06)
    assert np.mean(found.x > 0.2) == pytest.approx(0.7, abs=0.05)


def test_a_wall_cuts_the_law_off():
    """A steep wall at 0: half of a standard normal column is left, and its mean is √(2/π)."""
    start = Start(np.zeros((1, 1)), np.ones((1, 1, 1)), np.ones((1, 1), bool), -FAR[:1], FAR[:1])

    def right(x, which):
        return -0.5 * x[:, 0] ** 2, 0.5 * (np.minimum(x[:, 0], 0.0) / 0.01) ** 2

    found = annealed(start, np.zeros(1, int), np.array([4000]), right)
    assert found.log_evidence[0] == pytest.approx(np.log(0.5), abs=0.08)
    assert found.x.min() > -0.06
    assert found.x.mean() == pytest.approx(np.sqrt(2 / np.pi), abs=0.04)


def test_nothing_is_left_beyond_the_bounds_of_a_column():
    mean, _, evidence = law(1)
    start = replace(begin(), low=np.array([mean[0], -9.0, -9.0]))
    found = annealed(start, BOTH[1:], 10 * MANY[1:], density)
    assert found.x[:, 0].min() >= mean[0]
    assert found.log_evidence[0] == pytest.approx(evidence + np.log(0.5), abs=0.2)


def test_a_law_much_longer_one_way_hangs_little_on_what_was_drawn():
    """A normal law of sixteen columns, five times as long one way as where samples begin and off
    that way, as at a knee: what its integral and its mean come to, over eight seeds."""
    columns, size, along, off = 16, 0.2, 5.0, 4.0
    way = np.full(columns, columns**-0.5)
    far = np.full(columns, 90.0)
    spread = size**2 * np.eye(columns)[None]
    start = Start(np.zeros((1, columns)), spread, np.ones((1, columns), bool), -far, far)

    def long(x, which):
        there = x @ way / size
        return 0.5 * (
            there**2 - ((there - off) / along) ** 2 - np.sum((x / size) ** 2, axis=1)
        ), 0 * there

    found = [annealed(start, np.zeros(1, int), np.array([1000]), long, seed=n) for n in range(8)]
    evidence = np.array([f.log_evidence[0] for f in found]) - columns * np.log(size)
    means = np.array([(f.x @ way).mean() for f in found]) / size
    assert evidence.mean() == pytest.approx(np.log(along), abs=0.25)
    assert evidence.std(ddof=1) < 0.35
    assert means.mean() == pytest.approx(off, abs=0.3 * along)
    assert means.std(ddof=1) < 0.2 * along


def test_a_run_can_be_ended():
    with pytest.raises(Cancelled):
        annealed(begin(), BOTH, MANY, density, lambda: True)


def test_two_rounds_agree_with_the_law_and_only_the_likely_are_drawn_again():
    few = np.array([400, 400])
    even = np.array([law(1)[2] - law(0)[2], 0.0])
    found = annealed_twice(begin(0.2, 1.5), BOTH, few, even, 1000, density)
    assert np.bincount(found.which) == pytest.approx([1900, 1900], abs=40)  # in doubt: 3000
    assert found.log_evidence == pytest.approx([law(0)[2], law(1)[2]], abs=0.1)
    # Odds of 1 to 100 are unlikely: the few it had are all.
    odds = even - np.log([1.0, 100.0])
    found = annealed_twice(begin(0.2, 1.5), BOTH, few, odds, 1000, density)
    assert np.bincount(found.which) == pytest.approx([1480, 400], abs=10)


def test_evidence_of_two_rounds_is_weighed_by_their_numbers(monkeypatch):
    """By hand: of independent rounds the steadiest mean weighs each by its number (JCGM 100:2008,
    H.1.3.2: the variance of a mean goes with one over the number)."""
    rounds = [np.array([-3.0, -3.0, -2000.0]), np.array([-1.0, -4.0])]
    asked_for = []

    def known(start, asked, counts, *_, seed=0):
        asked_for.append((asked.tolist(), counts.tolist()))
        return Samples(np.zeros((int(counts.sum()), 1)), np.repeat(asked, counts), rounds[seed])

    monkeypatch.setattr(sampling, "annealed", known)
    few, odds = np.array([100, 50, 100]), np.array([0.0, np.log(9.0), 0.0])
    found = annealed_twice(None, np.arange(3), few, odds, 400, None)
    # Probabilities of 1 and 9 in 10: two differ with 0.18, for which there are 4 times as many
    # more, 688; numbers go with their roots, 1 to 3, and no fewer than twice the few.
    assert asked_for[1] == ([0, 1], [200, 516])
    assert found.log_evidence == pytest.approx([-3 + 2 * 200 / 300, -3 - 516 / 566, -2000.0])
    assert np.bincount(found.which).tolist() == [300, 566, 100]


def test_many_that_are_each_improbable_are_not_drawn_again(monkeypatch):
    """Twenty at three in a hundred of the first's odds: each is less than two in a hundred."""
    asked_for = []

    def known(start, asked, counts, *_, seed=0):
        asked_for.append(asked.tolist())
        zeros = np.zeros(len(asked))
        return Samples(np.zeros((int(counts.sum()), 1)), np.repeat(asked, counts), zeros)

    monkeypatch.setattr(sampling, "annealed", known)
    odds = np.log(np.append(1.0, np.full(20, 0.03)))
    annealed_twice(None, np.arange(21), np.full(21, 10), odds, 100, None)
    assert asked_for == [list(range(21)), [0]]
    asked_for.clear()  # and of sixty that are alike none is left out
    annealed_twice(None, np.arange(60), np.full(60, 10), np.zeros(60), 100, None)
    assert asked_for == [list(range(60))] * 2
