"""Tolerance runs against single predictions, and Sobol indices against published values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from bobweight.core.design.goal import goal_of
from bobweight.core.design.spread import (
    RATE_SHARE,
    drawn,
    even_points,
    mechanism_spread,
    own_spread,
)
from bobweight.core.design.tolerance import builds_probability, influence, sobol, tolerance
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put
from tests.samples import sample


def built(mechanism, spread, row: int, builds: int):
    """One of the drawn builds as a mechanism of its own."""
    for path, values in drawn(spread, builds).items():
        mechanism = put(mechanism, path, float(values[row]))
    return mechanism


@pytest.mark.parametrize("name", ["small_four", "tractor_four", "straight_six"])
def test_band_and_odds_are_those_of_single_predictions(name):
    docket = sample(name)
    mechanism, goal, builds = docket.mechanism, goal_of(docket), 64
    run = tolerance(mechanism, goal, builds=builds)
    advances = {"rising": [], "falling": []}
    passed = np.zeros(goal.count)
    for row in range(builds):
        prediction = predict(built(mechanism, run.spread, row, builds))
        for branch, rows in advances.items():
            rows.append(prediction.advance_deg(run.speed_rpm, branch))
        at = goal.advance_of(prediction)
        passed += ((at >= goal.low_deg) & (at <= goal.high_deg)).all(axis=0)
    near = {"atol": 0.05}  # the builds' curves have fewer knots than a prediction
    for band in run.bands:
        low, middle, high = np.quantile(advances[band.branch], [0.025, 0.5, 0.975], axis=0)
        assert np.allclose(band.low_deg, low, **near)
        assert np.allclose(band.middle_deg, middle, **near)
        assert np.allclose(band.high_deg, high, **near)
    assert np.abs(run.point_probability * builds - passed).max() <= 1


def test_exact_parts_pass_or_fail_for_sure():
    docket = sample("small_four")
    goal = goal_of(docket)
    run = tolerance(docket.mechanism, goal, spread=(), builds=8)
    prediction = predict(docket.mechanism)
    at = goal.advance_of(prediction)
    inside = ((at >= goal.low_deg) & (at <= goal.high_deg)).all(axis=0)
    assert (run.point_probability == inside).all()
    for band in run.bands:
        assert np.allclose(band.low_deg, band.high_deg)
        assert np.allclose(
            band.low_deg, prediction.advance_deg(run.speed_rpm, band.branch), atol=0.02
        )


def test_wider_tolerances_widen_the_band_and_nothing_else_moves_it():
    docket = sample("vee_eight")
    path = ("springs", 0, "rate_n_per_mm")
    loose = docket.mechanism.springs[0].with_changes(u={"rate_n_per_mm": 0.4})
    springs = (loose, *docket.mechanism.springs[1:])
    before = tolerance(docket.mechanism)
    after = tolerance(docket.mechanism.with_changes(springs=springs), speed_rpm=before.speed_rpm)
    width = [b.bands[0].high_deg - b.bands[0].low_deg for b in (before, after)]
    assert (width[1] - width[0]).max() > 0.1
    again = tolerance(docket.mechanism)
    assert np.array_equal(again.bands[0].low_deg, before.bands[0].low_deg)
    assert path in [u.paths[0] for u in before.spread]


def test_every_uncertainty_has_its_source():
    mechanism = sample("small_four").mechanism
    spring = mechanism.springs[0].with_changes(u={"free_length_mm": 0.07})
    mechanism = mechanism.with_changes(springs=(spring, *mechanism.springs[1:]))
    by_path = {u.paths[0]: u for u in mechanism_spread(mechanism)}
    stated = by_path["springs", 0, "free_length_mm"]
    assert (stated.u, stated.source) == (0.07, "stated")
    assert by_path["stop_deg",].source == "trade"
    rate = by_path["springs", 1, "rate_n_per_mm"]
    assert rate.source in ("assumed", "stated")
    if rate.source == "assumed":
        assert rate.u == pytest.approx(RATE_SHARE * mechanism.springs[1].rate_n_per_mm)
    assert ("linkage", "ratio") not in by_path  # not used by a pin in a slot


def test_twin_springs_of_one_measurement_go_together():
    mechanism = sample("small_four").mechanism
    twins = (mechanism.springs[0], mechanism.springs[0], mechanism.springs[1])
    spread = own_spread(mechanism.with_changes(springs=twins), range(3))
    assert len(spread) == 6
    assert len(spread[0].paths) == 2


def test_even_points_fill_the_cube_evenly():
    points = even_points(6, 1024)
    assert points.shape == (1024, 6)
    assert np.abs(points.mean(axis=0) - 0.5).max() < 2e-3  # 1/√n would be 9e-3
    assert ((points > 0) & (points < 1)).all()
    cells = np.floor(points[:, :2] * 16).astype(int)
    counts = np.bincount(cells[:, 0] * 16 + cells[:, 1], minlength=256)
    assert counts.max() <= 4 + 4 and counts.min() >= 1


def test_sobol_indices_of_the_ishigami_function():
    """Ishigami and Homma (1990), a 7, b 0.1; analytic: S 0.3139, 0.4424, 0; S_T 0.5576, 0.4424,
    0.2437; variance 13.8446 (in the published table of values for these constants)."""

    def ishigami(x: np.ndarray) -> np.ndarray:
        return np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])

    first, total, variance = sobol(ishigami, lambda p: np.pi * (2 * p - 1), 3, 8192)
    assert first[0] == pytest.approx([0.313905, 0.442411, 0.0], abs=0.01)
    assert total[0] == pytest.approx([0.557589, 0.442411, 0.243684], abs=0.01)
    assert variance[0] == pytest.approx(13.844588, rel=0.01)


def test_sobol_indices_of_the_g_function():
    """Sobol's g-function, a = 0, 1, 4.5, 9, 99 (Saltelli et al., Global Sensitivity Analysis, The
    Primer, 2008, section 4: V_i = 1/(3 (1 + a_i)²)); recomputed here in closed form."""
    a = np.array([0.0, 1.0, 4.5, 9.0, 99.0])

    def g(x: np.ndarray) -> np.ndarray:
        return np.prod((np.abs(4 * x - 2) + a[:, None]) / (1 + a[:, None]), axis=0)

    part = 1 / (3 * (1 + a) ** 2)
    whole = np.prod(1 + part) - 1
    first, total, variance = sobol(g, lambda p: p, 5, 8192)
    assert first[0] == pytest.approx(part / whole, abs=0.015)
    assert total[0] == pytest.approx(part * (np.prod(1 + part) / (1 + part)) / whole, abs=0.015)
    assert variance[0] == pytest.approx(whole, rel=0.02)


def test_an_output_that_does_not_vary_has_no_influence():
    first, total, variance = sobol(
        lambda x: np.stack([x[0], np.zeros_like(x[0])]), lambda p: p, 2, 256
    )
    assert (first[1] == 0).all() and (total[1] == 0).all() and variance[1] == 0
    assert first[0] == pytest.approx([1.0, 0.0], abs=0.02)


def test_influence_agrees_with_one_at_a_time_where_the_curve_is_straight():
    docket = sample("small_four")
    goal = goal_of(docket)
    mechanism = docket.mechanism
    spread = [
        u for u in mechanism_spread(mechanism)
        if u.paths[0] in {("weights", "mass_g"), ("springs", 0, "rate_n_per_mm"),
                          ("springs", 0, "free_length_mm")}
    ]  # fmt: skip
    spread = [type(u)(u.paths, u.value, u.u / 10, u.low, u.high, u.source) for u in spread]
    found = influence(mechanism, goal, spread, samples=512)
    k = 2  # a check point well inside the travel
    slopes = []
    for u in spread:
        ends = [
            goal.advance_of(predict(put(mechanism, u.paths[0], u.value + sign * u.u)))
            .mean(axis=0)[k]
            for sign in (1, -1)
        ]  # fmt: skip
        slopes.append((ends[0] - ends[1]) / 2)
    shares = np.square(slopes) / np.sum(np.square(slopes))
    assert found.first_order[k] == pytest.approx(shares, abs=0.04)
    assert found.u_deg[k] == pytest.approx(math.hypot(*slopes), rel=0.05)


def test_odds_follow_the_normal_law_where_one_value_decides():
    docket = sample("small_four")
    goal = goal_of(docket)
    stop = next(u for u in mechanism_spread(docket.mechanism) if u.paths[0] == ("stop_deg",))
    tight = type(goal)((), np.empty(0), np.empty(0), np.empty(0), ("rising",), 12.2)
    spread = [type(stop)(stop.paths, stop.value, 0.3, stop.low, stop.high, "stated")]
    assert stop.value == 12.0
    run = tolerance(docket.mechanism, tight, spread, builds=1024)
    assert run.ceiling_probability == pytest.approx(norm.cdf(0.2 / 0.3), abs=0.003)
    assert builds_probability(docket.mechanism, tight, spread, 1024) == run.all_probability
