"""Builds of one geometry worked out together, against each worked out alone."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.mechanics import balance
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.branches import Curves, curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.shared import knots_of_take_ups, shares_geometry
from tests.mechanics.mechanisms import plain, spring

COUNT = 40


def _varied(keys: dict, seed: int = 4) -> dict:
    rng = np.random.default_rng(seed)
    return {
        path: value + spread * rng.uniform(-1, 1, COUNT) for path, (value, spread) in keys.items()
    }


RATES = {("springs", 0, "rate_n_per_mm"): (0.9, 0.2), ("springs", 1, "rate_n_per_mm"): (6.0, 2.0),
         ("springs", 0, "initial_tension_n"): (2.0, 1.0), ("stick_nmm",): (2.0, 1.0),
         ("grip",): (0.03, 0.02), ("heel_drag_nmm",): (1.0, 0.5)}  # fmt: skip
SLACKS = {**RATES, ("springs", 1, "slack_mm"): (1.0, 1.2), ("springs", 0, "slack_mm"): (0.3, 0.5)}


@pytest.mark.parametrize("keys", [RATES, SLACKS], ids=["rates", "slacks"])
def test_the_same_curves_as_each_build_for_itself(keys, monkeypatch):
    builds = Builds(plain(), _varied(keys))
    assert shares_geometry(builds)
    together = curves(balance_speeds(builds, 400))
    monkeypatch.setattr(balance, "shares_geometry", lambda _builds: False)
    alone = curves(balance_speeds(builds, 400))
    speeds = np.linspace(50.0, 3000.0, 200)
    for way in ("rising", "falling"):
        assert together.at(speeds, way) == pytest.approx(alone.at(speeds, way), abs=2e-3)
    for one, other in ((together.rising_rpm, alone.rising_rpm),
                       (together.falling_rpm, alone.falling_rpm)):  # fmt: skip
        assert one[:, 0] == pytest.approx(other[:, 0], rel=1e-9)
        assert one[:, -1] == pytest.approx(other[:, -1], rel=1e-9)
    assert (np.diff(together.advance_deg) >= 0).all()


def test_a_take_up_keeps_its_exact_angle():
    """Tension makes the speed step up at the take-up: a plateau, where geometry puts it."""
    stiff = plain(springs=(spring(15.0, rate_n_per_mm=0.9), spring(initial_tension_n=10.0)))
    slack = stiff.springs[1].slack_taken_mm + np.linspace(0.0, 0.8, COUNT)
    builds = Builds(stiff, {("springs", 1, "slack_mm"): slack})
    found = curves(balance_speeds(builds, 200))
    for row in range(0, COUNT, 7):
        one = curves(balance_speeds(Builds(stiff, {("springs", 1, "slack_mm"): slack[[row]]}), 200))
        step = np.argmax(np.diff(one.rising_rpm[0]))
        here = np.argmax(np.diff(found.rising_rpm[row]))
        assert found.advance_deg[row, here] == pytest.approx(one.advance_deg[0, step], abs=1e-9)
        assert found.rising_rpm[row, here] == pytest.approx(one.rising_rpm[0, step], rel=1e-9)
        assert found.rising_rpm[row, here + 1] == pytest.approx(
            one.rising_rpm[0, step + 1], rel=1e-9
        )


def test_knots_of_crowded_take_ups_stay_in_order():
    theta = np.linspace(0.0, 1.0, 30)
    rng = np.random.default_rng(8)
    angles = np.where(rng.random((2000, 4)) < 0.3, np.nan, rng.random((2000, 4)) ** 4)
    angles[:300] = 1.0 - angles[:300] * 1e-3
    at, first, there = knots_of_take_ups(angles, theta)
    own = np.tile(theta, (2000, 1))
    rows, columns = np.nonzero(there)
    for side in (0, 1):
        own[rows, first[rows, columns] + side] = at[rows, columns]
    assert (np.diff(own) >= 0).all()
    assert (own[:, 0] == 0.0).all() and (own[:, -1] == 1.0).all()
    for row in range(0, 2000, 37):
        for angle in at[row, there[row]]:
            assert np.count_nonzero(own[row] == angle) >= 2


def test_what_alters_the_geometry_is_not_shared():
    assert not shares_geometry(Builds(plain(), {("weights", "cg_mm"): np.array([10.0, 11.0])}))
    assert not shares_geometry(Builds(plain()))


@pytest.mark.parametrize("way", ["rising", "falling"])
def test_few_and_many_speeds_are_read_alike(way):
    """Two ways of reading, the same rule: knot by knot, also at jumps, plateaux and beyond."""
    advance = np.array([[0.0, 2.0, 4.0, 4.0, 9.0, 9.0]] * 3)
    table = np.array([[500, 700, 700, 900, 900, np.inf], [500, 600, 700, 800, 900, 1000],
                      [600, 600, 600, 600, 600, 600]], dtype=float)  # fmt: skip
    read = Curves(advance, table, table)
    speeds = np.array([0.0, 499, 500, 600, 650, 700, 701, 899, 900, 950, 1500])
    many = read.at(speeds, way)
    few = np.concatenate([read.at(speeds[k : k + 1], way) for k in range(len(speeds))], axis=1)
    assert many == pytest.approx(few, abs=1e-9)
    at_jump = many[0, speeds == 700][0]
    assert at_jump == pytest.approx(4.0 if way == "rising" else 2.0, abs=1e-6)
    standing = Curves(advance[:1], np.zeros((1, 6)), np.zeros((1, 6)))
    for read_at in (np.zeros(1), np.zeros(12)):  # at rest, friction holding: falling is still at 0
        assert (standing.at(read_at, way) == (9.0 if way == "rising" else 0.0)).all()
    assert many[0, -1] == 9.0 and many[0, 0] == 0.0
