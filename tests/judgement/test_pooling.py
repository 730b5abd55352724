"""Long logs pooled: what a pool holds against the plain statistics of the readings drawn."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.judgement.pooling import (
    MOST_POOLS,
    POOL_FROM,
    pooled,
    pooled_closely,
    shown_readings,
)
from bobweight.core.judgement.reduce import reduce_session, session_problems

RIG = Instrument(kind="rig", u_speed_rpm=2.0, u_angle_deg=0.3)


def _log(count: int, seed: int = 1, scatter_deg: float = 0.3, slips: float = 0.0) -> Session:
    """A sweep up and down of a curve that rises 1° every 100 rev/min, falling lags by 1°."""
    rng = np.random.default_rng(seed)
    speed = np.concatenate([np.linspace(200, 1800, count // 2), np.linspace(1800, 200, count // 2)])
    falling = np.arange(count) >= count // 2
    angle = speed / 100 + falling + rng.normal(0, scatter_deg, len(speed))
    angle[rng.random(len(speed)) < slips] += 15.0
    readings = tuple(
        Reading(speed_rpm=float(x), angle_deg=float(y), direction="falling" if f else "rising")
        for x, y, f in zip(speed, angle, falling, strict=True)
    )
    return Session(instrument=RIG, readings=readings)


def test_a_short_session_is_left_as_it_is():
    shown = shown_readings(_log(POOL_FROM))
    assert pooled(shown) is shown
    assert shown.count.tolist() == [1] * POOL_FROM


def test_every_reading_is_in_one_pool_of_its_own_direction():
    session = _log(3000)
    pools = pooled(shown_readings(session))
    assert sorted(np.concatenate(pools.members).tolist()) == list(range(3000))
    assert pools.count.sum() == 3000
    for way, first, rows in zip(pools.direction, pools.index, pools.members, strict=True):
        assert {session.readings[i].direction for i in rows} == {way}
        assert first == rows.min()


def test_the_pools_lie_on_the_curve_by_as_much_as_they_say():
    """Standardised residuals of 40 drawn logs have a standard deviation of one, and the scatter
    is the one drawn. (The law is known: it was drawn.)"""
    z, scatter = [], []
    for seed in range(40):
        p = pooled(shown_readings(_log(4000, seed)))
        true = p.speed_rpm / 100 + (p.direction == "falling")
        z.append((p.angle_deg - true) / p.u_angle_deg)
        scatter.append(p.scatter_deg)
    assert np.concatenate(z).std() == pytest.approx(1.0, abs=0.08)
    assert abs(np.concatenate(z).mean()) < 0.03
    assert np.nanmedian(np.concatenate(scatter)) == pytest.approx(0.3, rel=0.05)


def test_slips_do_not_move_a_pool():
    p = pooled(shown_readings(_log(4000, slips=0.05)))
    true = p.speed_rpm / 100 + (p.direction == "falling")
    assert np.abs(p.angle_deg - true).max() < 0.3
    plain = [
        np.mean([_log(4000, slips=0.05).readings[i].angle_deg for i in p.members[0]])
        - np.mean([_log(4000, slips=0.05).readings[i].speed_rpm for i in p.members[0]]) / 100
    ]
    assert plain[0] > 0.3  # which the plain mean does not survive


def test_scatter_beyond_what_is_stated_widens_the_uncertainty():
    p = pooled(shown_readings(_log(4000, scatter_deg=1.2)))
    typical = np.median(p.u_angle_deg * np.sqrt(p.count))
    assert typical == pytest.approx(1.2, rel=0.15)


def test_readings_left_out_and_with_the_pipe_on_keep_to_their_like():
    session = _log(1000)
    changed = [
        r.with_changes(left_out=True) if i % 10 == 0 else
        r.with_changes(depression_kpa=20.0) if i % 10 == 1 else r
        for i, r in enumerate(session.readings)
    ]  # fmt: skip
    p = pooled(shown_readings(session.with_changes(readings=tuple(changed))))
    assert p.count[p.left_out].sum() == 100
    assert p.count[~np.isnan(p.depression_kpa)].sum() == 100
    assert p.depression_kpa[~np.isnan(p.depression_kpa)] == pytest.approx(20.0)


@pytest.mark.parametrize("count", [1000, 20_000])
def test_the_number_of_pools_does_not_grow_with_the_log(count):
    rng = np.random.default_rng(2)
    readings = tuple(
        Reading(speed_rpm=float(s), angle_deg=10.0, depression_kpa=float(d))
        for s, d in zip(rng.uniform(0, 3000, count), rng.uniform(0, 60, count), strict=True)
    )
    assert len(pooled(shown_readings(Session(instrument=RIG, readings=readings))).index) <= (
        MOST_POOLS
    )


def test_a_long_session_is_reduced_as_its_pools():
    reduced = reduce_session(_log(4000), Particulars(drive_ratio=2.0))
    assert 50 < len(reduced.index) <= MOST_POOLS
    rising = reduced.direction == "rising"
    assert reduced.advance_deg[rising] == pytest.approx(reduced.speed_rpm[rising] / 100, abs=0.25)


def test_problems_of_single_readings_are_found_in_a_long_session():
    session = _log(1000)
    wrong = list(session.readings)
    wrong[700] = Reading(speed_rpm=1200.0)
    wrong[701] = Reading(speed_rpm=30_000.0, angle_deg=3.0)
    problems = session_problems(session.with_changes(readings=tuple(wrong)))
    assert [(p.code, p.path) for p in problems] == [
        ("above-limit", ("readings", 701, "speed_rpm")),
        ("reading-incomplete", ("readings", 700, "angle_deg")),
    ]


def _read(*rows, instrument=RIG):
    keys = ("speed_rpm", "angle_deg", "direction", "depression_kpa", "left_out")
    readings = tuple(Reading(**dict(zip(keys, row, strict=False))) for row in rows)
    return shown_readings(Session(instrument=instrument, readings=readings))


@pytest.mark.parametrize("cells", [None, 2])
def test_readings_of_one_place_alone_come_into_one_pool(cells):
    """Speed, direction, pipe, depression and left out: each combination is a place of its own."""
    places = [
        (s, 10.0, way, kpa, out)
        for s in (600.0, 1200.0, 1800.0)
        for way in ("rising", "falling", "unknown")
        for kpa in (None, 10.0, 20.0, 30.0)
        for out in (False, True)
    ]
    rig = RIG.with_changes(u_depression_kpa=10.0)
    pools = pooled(_read(*(place for place in places for _ in range(4)), instrument=rig), 0, cells)
    assert sorted(tuple(rows) for rows in pools.members) == [
        tuple(range(4 * k, 4 * k + 4)) for k in range(len(places))
    ]


def test_pools_are_no_narrower_than_most_speeds_are_known():
    def pools(*u_rpm):
        readings = tuple(
            Reading(speed_rpm=1000.0 + 40.0 * (k % 2), angle_deg=5.0, u={"speed_rpm": u})
            for k, u in enumerate(u_rpm)
        )
        session = Session(instrument=RIG, readings=readings)
        return len(pooled(shown_readings(session), 0).index)

    assert pools(1.0, 1.0, 200.0, 200.0) == 1
    assert pools(1.0, 1.0, 1.0, 200.0) == 2


def test_readings_along_a_straight_line_have_no_scatter():
    """Whatever the pools, a line through readings without any error leaves nothing over."""
    speed = np.linspace(300.0, 1500.0, 400)
    shown = _read(*((float(s), float(s) / 50.0 - 3.0, "rising") for s in speed))
    pools = pooled(shown, 200, 10)
    assert len(pools.index) <= 12
    assert pools.angle_deg == pytest.approx(pools.speed_rpm / 50.0 - 3.0, abs=1e-9)
    assert np.nan_to_num(pools.scatter_deg) == pytest.approx(0.0, abs=1e-9)


def test_the_mean_of_many_depressions_is_surer_by_the_root_of_their_number():
    """JCGM 100:2008, 4.2.3."""
    rig = RIG.with_changes(u_depression_kpa=0.8)
    shown = _read(*((1000.0, 10.0, "rising", 20.0) for _ in range(9)), instrument=rig)
    assert pooled(shown, 0, None).u_depression_kpa == pytest.approx([0.8 / 3.0])


def test_repeats_are_as_sure_as_what_they_share_lets_them_be():
    """Variance of one reading from four readings' worth of what was stated and two degrees of
    freedom of its own (Gelman et al., Bayesian Data Analysis, 2.6: scaled inverse χ²); what
    repeats have in common, an eighth or what they do not show, does not average out."""
    stated = 0.3**2

    def exact(variance, count):
        each = (4.0 * stated + (count - 1) * variance) / (4.0 + count - 1)
        return np.sqrt(each / count + max(0.12 * stated, stated - each))

    for spread in (0.0, 0.2, 0.6):
        rows = [(s, 10.0 + d, "rising") for s in (600.0, 900.0, 1200.0)
                for d in (-spread, 0.0, spread)]  # fmt: skip
        found = pooled_closely(_read(*rows))
        assert found.count.tolist() == [3, 3, 3]
        assert found.u_angle_deg == pytest.approx(exact(spread**2, 3), rel=0.02)


def test_a_few_repeats_are_put_together_and_single_readings_are_not():
    single = [(300.0 + 100.0 * k, 5.0, "rising") for k in range(9)]
    assert pooled_closely(_read(*single)).count.tolist() == [1] * 9
    repeated = [*single[:4], *single[:4], single[0]]
    assert pooled_closely(_read(*repeated)).count.tolist() == [3, 2, 2, 2]
    mostly_single = [*single[:6], *single[:3]]  # nine readings of six places
    assert pooled_closely(_read(*mostly_single)).count.tolist() == [2, 2, 2, 1, 1, 1]
    doubted = [*single, *single[4:5] * 2]  # one place read thrice
    assert pooled_closely(_read(*doubted)).count.tolist() == [1, 1, 1, 1, 3, 1, 1, 1, 1]
    pumped = [(1200.0, 5.0, "rising", kpa) for kpa in (10.0, 20.0, 30.0, 45.0)]
    assert pooled_closely(_read(*single, *pumped)).count.tolist() == [1] * 13
    hardly = [*single[:7], *single[:2]]
    assert pooled_closely(_read(*hardly)).count.tolist() == [1] * 9
