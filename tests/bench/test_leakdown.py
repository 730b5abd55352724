"""Leak-down against closed forms, a general curve fit and drawn samples."""

import math

import numpy as np
import pytest
from scipy.optimize import curve_fit

from bobweight.core.bench import leakdown
from bobweight.core.problems import BobweightError
from bobweight.core.units import DEPRESSION, store

INCH = store(1.0, DEPRESSION, "inHg")


def test_two_readings_in_closed_form():
    """One inch of mercury lost in 30 s from 16: τ = 30 / ln(16 / 15) = 464.8 s; u(ln p) = u / p."""
    got = leakdown.leak_down([0, 30], [16 * INCH, 15 * INCH], u_kpa=0.1 * INCH)
    assert 1 / got.rate_per_s == pytest.approx(464.84, abs=0.01)
    assert got.start_kpa == pytest.approx(16 * INCH)
    assert got.u_rate_per_s == pytest.approx(0.1 * math.hypot(1 / 16, 1 / 15) / 30)
    assert got.loss_kpa(16 * INCH, 30) / INCH == pytest.approx(1.0)
    # the loss is 16 − p(30): its uncertainty by steps of the rate
    step = 1e-9
    slope = 16 * INCH * (math.exp(-30 * got.rate_per_s) - math.exp(-30 * (got.rate_per_s + step)))
    assert got.u_loss_kpa(16 * INCH, 30) == pytest.approx(slope / step * got.u_rate_per_s, rel=1e-4)


@pytest.mark.parametrize(("tau_s", "passes"), [(300, False), (1500, True)])
def test_usual_test(tau_s, passes):
    """Common practice: a sound capsule loses less than 1 inHg in 30 to 60 s."""
    left = 16 * INCH * np.exp(-np.array([0.0, 30.0, 60.0]) / tau_s)
    got = leakdown.leak_down([0, 30, 60], left)
    assert (got.loss_kpa(16 * INCH, 60) < INCH) is passes
    assert 1 / got.rate_per_s == pytest.approx(tau_s)


def test_several_readings_against_a_general_curve_fit():
    time = np.array([0.0, 15.0, 30.0, 45.0, 60.0, 90.0])
    read = np.array([54.2, 51.9, 50.1, 47.8, 46.2, 42.6])
    got = leakdown.leak_down(time, read, u_kpa=0.2)
    best, cov = curve_fit(
        lambda t, p0, rate: p0 * np.exp(-rate * t), time, read, (54, 0.003),
        sigma=np.full(6, 0.2), absolute_sigma=True,
    )  # fmt: skip
    # the logarithm and the plain fit differ by less than a tenth of the uncertainty
    assert got.rate_per_s == pytest.approx(best[1], abs=0.1 * cov[1, 1] ** 0.5)
    assert got.u_rate_per_s == pytest.approx(cov[1, 1] ** 0.5, rel=0.02)
    own = leakdown.leak_down(time, read)
    _, scatter = curve_fit(lambda t, p0, rate: p0 * np.exp(-rate * t), time, read, (54, 0.003))
    assert own.u_rate_per_s == pytest.approx(scatter[1, 1] ** 0.5, rel=0.05)


def test_intervals_cover_the_truth():
    """2000 drawn tests: the ± 1.96 u interval must cover about 95 % (± 1.5 %, three binomial
    standard deviations)."""
    rng = np.random.default_rng(11)
    time = np.array([0.0, 20.0, 40.0, 60.0])
    truth = 400.0
    inside = 0
    for _ in range(2000):
        read = 54.0 * np.exp(-time / truth) + rng.normal(0, 0.15, 4)
        got = leakdown.leak_down(time, read, u_kpa=0.15)
        inside += abs(got.rate_per_s - 1 / truth) < 1.96 * got.u_rate_per_s
    assert 0.935 < inside / 2000 < 0.965


def test_loss_between_two_readings_is_as_unsure_as_their_difference():
    """JCGM 100:2008, 5.1.2: u(p1 − p2) = √2 u, and the loss over their own time is p1 − p2."""
    got = leakdown.leak_down([0, 60], [60.0, 40.0], u_kpa=0.2)
    assert got.loss_kpa(got.start_kpa, 60) == pytest.approx(20.0)
    assert got.u_own_loss_kpa(60) == pytest.approx(0.2 * 2**0.5)


def test_loss_of_several_readings_against_drawn_samples():
    """JCGM 101:2008, propagation by drawing: 20 000 tests, the spread of the loss to 2 %."""
    rng = np.random.default_rng(3)
    time = np.array([10.0, 30.0, 50.0, 70.0])
    true = 50.0 * np.exp(-time / 150.0)
    found = [leakdown.leak_down(time, true + e, u_kpa=0.2) for e in rng.normal(0, 0.2, (20_000, 4))]
    drawn = np.std([one.loss_kpa(one.start_kpa, 60) for one in found])
    assert leakdown.leak_down(time, true, u_kpa=0.2).u_own_loss_kpa(60) == pytest.approx(
        drawn, rel=0.02
    )


def test_a_capsule_that_shows_no_loss():
    got = leakdown.leak_down([0, 30, 60], [50.0, 50.1, 50.0], u_kpa=0.1)
    rising = leakdown.leak_down([0, 60], [50.0, 50.1], u_kpa=0.1)
    assert got.holds
    assert rising.loss_kpa(50, 60) == 0
    assert leakdown.leak_down([0, 60], [50.0, 49.0]).u_rate_per_s is None


@pytest.mark.parametrize(
    ("args", "code"),
    [
        (([0], [50]), "too-few-points"),
        (([0, 0], [50, 49]), "all-same-x"),
        (([0, 10], [50, 49, 48]), "unequal-columns"),
        (([0, 10], [50, 0]), "not-positive"),
    ],
)
def test_refusals(args, code):
    with pytest.raises(BobweightError) as caught:
        leakdown.leak_down(*args)
    assert caught.value.problem.code == code
