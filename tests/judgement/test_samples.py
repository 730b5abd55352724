"""Weighted samples, mixtures and priors, against numpy, scipy and the law they are drawn of."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.target import CheckPoint, Target
from bobweight.core.judgement import expected
from bobweight.core.judgement.faults import Fault
from bobweight.core.judgement.fit_values import FreeValue, ValueTable
from bobweight.core.judgement.objective import mixture_root, mixture_share
from bobweight.core.judgement.posterior import Posterior, TargetBands, quantiles
from bobweight.core.judgement.sound import OTHER_TABLE_SHARE, TableRows, _log_other
from bobweight.core.mechanics.branches import Curves


def samples(weight=(0.25,) * 4, deviation=0.0, full_rpm=1500.0) -> Posterior:
    """Units that advance a degree every 100 rev/min from 500 on, falling 1° more."""
    count = len(weight)
    found = object.__new__(Posterior)
    found.weight = np.array(weight)
    found.x, found.which = np.zeros((count, 3)), np.zeros(count, int)
    found.x[0, 2] = deviation
    knots = np.linspace(500.0, full_rpm, 41)
    advance = np.tile((knots - 500.0) / 100.0, (count, 1))
    table = Curves(advance, np.tile(knots, (count, 1)), np.tile(knots - 100.0, (count, 1)))
    found.simulator = SimpleNamespace(
        curves=lambda values: table, most_deg=lambda values: np.full(count, 10.0), capsules=()
    )
    found.family = SimpleNamespace(
        first_node=2, deviation=lambda x, speed: np.full((len(x), speed.shape[-1]), x[0, 2])
    )
    found.values = {("mechanism", "stop_deg"): np.full(count, 10.0)}
    return found


def test_rows_drawn_evenly_come_as_often_as_they_weigh():
    rows = samples((0.1, 0.2, 0.3, 0.4)).evenly(10)
    assert np.bincount(rows).tolist() == [1, 2, 3, 4]
    assert samples((0.5, 0.5)).evenly(1).tolist() == [0]


def test_one_sample_that_deviates_is_enough():
    assert samples(deviation=0.5).deviates and not samples().deviates


def test_the_band_of_the_curve_reaches_beyond_full_advance():
    band = samples().curve_band()
    assert band.speed_rpm[0] == 0.0 and band.speed_rpm[-1] == pytest.approx(1.2 * 1500.0)
    exact = np.clip((band.speed_rpm - 500.0) / 100.0, 0.0, 10.0)
    on = exact > 0.1  # the very start is where a tester sees nothing
    assert band.rising_deg[on] == pytest.approx(exact[on], abs=0.05)


def test_weighted_quantiles_are_those_of_repeated_samples():
    """numpy's inverted cumulative law of the samples, each as often as it weighs."""
    values, often = np.array([3.0, 1.0, 2.0, 5.0]), np.array([2, 5, 4, 1])
    for q in (0.025, 0.3, 0.5, 0.975):
        plain = np.quantile(np.repeat(values, often), q, method="inverted_cdf")
        assert quantiles(values, often / often.sum(), (q,))[0] == plain


def test_a_ceiling_meets_the_stop_and_what_the_curve_deviates_there():
    asked = SimpleNamespace(
        kind=("check", "ceiling"), where=np.array([1000.0, np.nan]),
        low_deg=np.array([4.0, -np.inf]), high_deg=np.array([6.0, 10.2]),
    )  # fmt: skip
    target = TargetBands(asked, ("rising", "falling"), False)
    unit = samples(deviation=0.5)
    advance = target.advance(unit, unit.values)
    assert advance.shape == (4, 2, 2)
    assert advance[:, :, 1] == pytest.approx(10.5)
    assert advance[:, 0, 0] == pytest.approx(5.5, abs=0.05)
    assert target.margin(advance)[:, 1] == pytest.approx(-0.3)


@pytest.mark.parametrize(("share", "spread"), [(0.05, 5.0), (0.3, 2.0)])
def test_a_mixture_is_that_of_two_normal_laws(share, spread):
    """Density and Bayes' rule by scipy.stats."""
    d = np.array([-9.0, -2.5, -1e-4, 0.0, 1e-5, 0.7, 2.0, 3.5, 12.0])
    narrow = (1 - share) * stats.norm.pdf(d)
    wide = share * stats.norm.pdf(d, scale=spread)
    at_zero = ((1 - share) + share / spread) / np.sqrt(2 * np.pi)
    root = mixture_root(d, share, spread)
    assert np.sign(root).tolist() == np.sign(d).tolist()
    assert root**2 == pytest.approx(-2 * np.log((narrow + wide) / at_zero), rel=1e-6, abs=1e-12)
    assert mixture_share(d, share, spread) == pytest.approx(wide / (narrow + wide), rel=1e-9)


def test_near_zero_the_root_has_the_slope_that_it_has_beside():
    near, beside = (mixture_root(np.array([d]), 0.05, 5.0)[0] / d for d in (1e-6, 2e-3))
    assert near == pytest.approx(beside, rel=1e-4)


def test_the_amount_of_a_fault_is_log_normal():
    fault = Fault("stop_high", "unit", (), 2.0, 0.35, "deg", 0.6, "stop", most=7.0)
    z = np.random.default_rng(4).normal(size=20_000)
    logs = np.log(fault.amount(z))
    assert (logs.mean(), logs.std()) == (
        pytest.approx(np.log(2.0), abs=0.01), pytest.approx(0.35, rel=0.02),
    )  # fmt: skip
    assert fault.amount(np.array([9.0]))[0] == 7.0


def test_the_chance_of_another_table_is_bayes_rule_of_two_normal_laws():
    """scipy's multivariate normal law of the table's residuals, six times as wide for another's."""
    rng = np.random.default_rng(6)
    slopes, z, off = rng.normal(size=(5, 3)), rng.normal(size=3), rng.normal(0.0, 2.5, 5)
    laws = [
        stats.multivariate_normal.pdf(off, cov=s**2 * np.eye(5) + slopes @ slopes.T) for s in (1, 6)
    ]
    prior = np.array([1 - OTHER_TABLE_SHARE, OTHER_TABLE_SHARE])
    chance = prior[1] * laws[1] / (prior @ laws)
    assert 0.01 < chance < 0.99
    log_odds = _log_other(off + slopes @ z, slopes, z)
    assert 1.0 / (1.0 + np.exp(-log_odds)) == pytest.approx(chance, rel=1e-9)


def test_neighbours_in_a_table_go_together_and_are_told_apart_again():
    points = tuple(
        CheckPoint(speed_rpm=s, least_deg=a, most_deg=a + 2.0)
        for s, a in ((500.0, 1.0), (550.0, 2.0), (1000.0, 6.0), (2000.0, 10.0))
    )
    docket = Docket(target=Target(frame="distributor", points=points))
    whiten = TableRows(docket, docket.mechanism, ()).whiten
    root = np.linalg.inv(whiten)
    together = root @ root.T
    assert np.diag(together) == pytest.approx(1.0)
    assert 0.7 < together[0, 1] < 0.8 and together[0, 3] < 0.05
    assert together[0, 1] > together[1, 2] > together[0, 2] > together[0, 3]


def test_the_scatter_of_expected_curves_is_their_standard_deviation():
    rng = np.random.default_rng(8)
    drawn = 6.0 + rng.normal(0.0, [0.5, 2.0], size=(4000, 2))
    found = expected._scatter(np.vstack([[[6.0, 6.0]], drawn]))
    assert found == pytest.approx([0.5, 2.0], rel=0.05)
    few = expected._scatter(np.array([[6.0], [4.0], [8.0]]))
    assert few == pytest.approx(0.5 * np.ptp(np.quantile([4.0, 8.0], (0.159, 0.841))))


def free(value, u, low, high, by_share=False, origin=0.0) -> FreeValue:
    path = ("mechanism", "stop_deg")
    return FreeValue(path, value, u, low, high, "deg", "stated", by_share, origin)


def test_values_at_points_are_steps_of_their_uncertainty_or_of_its_logarithm():
    plain, share = free(10.0, 0.5, 9.0, 12.0), free(10.0, 0.2, 4.0, 50.0, True, 4.0)
    assert ValueTable((plain,)).at(np.array([[2.0], [-1.0]]))[plain.path].tolist() == [11.0, 9.5]
    assert plain.bounds == (pytest.approx(-2.0), pytest.approx(4.0))
    exact = 4.0 + (10.0 - 4.0) * np.exp(0.2 * 1.5)
    assert ValueTable((share,)).at(np.array([[1.5]]))[share.path][0] == pytest.approx(exact)
    assert share.at(np.array(1.5)) == pytest.approx(exact)


def test_slope_of_a_value_by_share_is_its_derivative():
    share = free(10.0, 0.2, 4.0, 50.0, True, 4.0)
    z = np.linspace(-1.0, 1.0, 5)
    up, down = share.at(z + 1e-6), share.at(z - 1e-6)
    assert share.slope(z) == pytest.approx((up - down) / 2e-6, rel=1e-5)
