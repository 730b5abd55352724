"""Repeats put together, directions guessed, and what to read next."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.docket.setting_up import SettingUp
from bobweight.core.docket.target import CheckPoint, Target
from bobweight.core.judgement.taking import (
    check_at,
    guessed_direction,
    next_reading,
    planned,
    repeat_groups,
    same_speed_rpm,
    shown,
)
from bobweight.core.record import put

LAMP = Instrument(kind="lamp", static_deg=8.0, u_speed_rpm=20.0, u_angle_deg=1.0)
TARGET = Target(
    frame="distributor",
    points=(
        CheckPoint(speed_rpm=600.0, least_deg=1.0, most_deg=3.0),
        CheckPoint(speed_rpm=1500.0, least_deg=10.0, most_deg=12.0),
    ),
)


def docket(readings=(), instrument=LAMP, **changes) -> Docket:
    session = Session(instrument=instrument, readings=tuple(readings))
    return Docket(sessions=(session,), target=TARGET, **changes)


def reading(speed, angle, direction="rising", **more) -> Reading:
    return Reading(speed_rpm=speed, angle_deg=angle, direction=direction, **more)


def test_repeats_of_one_speed_are_one_group():
    """Mean and spread against numpy's."""
    angles = [12.0, 13.0, 11.5]
    rows = [reading(1500 + 10 * i, a) for i, a in enumerate(angles)]
    rows += [reading(2000, 18.0), reading(1500, 12.5, "falling")]
    groups = repeat_groups(docket(rows).sessions[0])
    assert [g.rows for g in groups] == [(0, 1, 2), (3,), (4,)]
    assert groups[0].angle_deg == pytest.approx(np.mean(angles), abs=1e-9)
    assert groups[0].spread_deg == pytest.approx(np.std(angles, ddof=1))
    assert groups[0].u_deg == pytest.approx(1.0 / np.sqrt(3)), "the stated 1° explains the spread"
    assert groups[1].spread_deg is None


def test_half_typed_left_out_and_pipe_on_are_kept_apart():
    rows = [
        reading(1500, 12.0), reading(1500, None), reading(1500, 30.0, left_out=True),
        reading(1500, 24.0, depression_kpa=40.0), reading(1500, 24.5, depression_kpa=41.0),
        reading(1500, 28.0, depression_kpa=50.0),
    ]  # fmt: skip
    groups = repeat_groups(docket(rows).sessions[0])
    assert [g.rows for g in groups] == [(0,), (3, 4), (5,)]


def test_direction_by_the_last_speed():
    session = docket([reading(1500, 12.0)]).sessions[0]
    assert guessed_direction(docket().sessions[0], 1000.0) == "rising"
    for speed, way in ((1800.0, "rising"), (1200.0, "falling"), (1520.0, "rising")):
        assert guessed_direction(session, speed) == way
    down = docket([reading(1500, 12.0, "falling")]).sessions[0]
    assert guessed_direction(down, 1490.0) == "falling", "a repeat goes the way of the last"


def test_bands_are_shown_as_the_lamp_shows_them():
    """y = static + ratio·θ + δ − 6·N·t·10⁻³ written out: 8 + 2·10 + 1 − 6·3000·0.05e-3 = 28.1."""
    lamp = LAMP.with_changes(mark_error_deg=1.0, lag_ms=0.05)
    point = next(p for p in planned(docket(instrument=lamp), 0) if p.point == 1)
    assert point.speed_rpm == 3000.0
    assert (point.low_deg, point.high_deg) == (pytest.approx(28.1), pytest.approx(32.1))
    assert shown(docket(instrument=lamp), 0, 1500.0, 10.0) == pytest.approx(28.1)


def test_rig_and_tachometer_are_counted_in():
    rig = Instrument(kind="rig", static_deg=0.5, u_speed_rpm=10.0, tachometer_scale=0.5)
    point = next(p for p in planned(docket(instrument=rig), 0) if p.point == 0)
    assert point.speed_rpm == 1200.0, "shows twice the speed"
    assert (point.low_deg, point.high_deg) == (1.5, 3.5)


def test_crank_tables_come_out_the_same():
    crank = put(docket(), ("target",), Target(frame="crank", points=(
        CheckPoint(speed_rpm=1200.0, least_deg=2.0, most_deg=6.0),)))  # fmt: skip
    static = put(docket(setting_up=SettingUp(static_deg=5.0)), ("target",), Target(
        frame="crank-static", points=(
            CheckPoint(speed_rpm=1200.0, least_deg=7.0, most_deg=11.0),)))  # fmt: skip
    for unit in (docket(), crank, static):
        point = next(p for p in planned(unit, 0) if p.point == 0)
        assert (point.speed_rpm, point.low_deg, point.high_deg) == (1200.0, 10.0, 14.0)


def test_plan_has_every_check_point_and_no_wide_gap():
    speeds = np.array([p.speed_rpm for p in planned(docket(), 0)])
    assert {1200.0, 3000.0} <= set(speeds) and np.all(np.diff(speeds) > 0)
    assert np.diff(speeds).max() <= 750.0  # every 250 to 500 rev/min, common practice
    bare = put(docket(), ("target",), Target())
    assert len(planned(bare, 0)) >= 5, "a docket without a target still has speeds to read"


def taken_by_advice(unit: Docket, most: int = 200) -> list:
    followed = []
    while (advice := next_reading(unit, 0)) is not None and len(followed) < most:
        followed.append(advice)
        row = reading(advice.speed_rpm, 10.0, advice.direction)
        path = ("sessions", 0, "readings")
        unit = put(unit, path, (*unit.sessions[0].readings, row))
    return followed


def test_advice_goes_up_then_down_three_times_each_and_ends():
    followed = taken_by_advice(docket())
    speeds = [p.speed_rpm for p in planned(docket(), 0)]
    expected = [(s, "rising") for s in speeds] + [(s, "falling") for s in reversed(speeds)]
    assert [(a.speed_rpm, a.direction) for a in followed[::3]] == expected
    assert [a.repeat for a in followed] == [1, 2, 3] * len(expected)


def test_readings_of_one_speed_lie_within_what_the_tachometer_can_tell():
    """Two and a half uncertainties, 25 rev/min at the least (common practice)."""
    assert same_speed_rpm(LAMP) == 50.0
    assert same_speed_rpm(LAMP.with_changes(u_speed_rpm=2.0)) == 25.0


def test_advice_says_whether_a_speed_is_a_check_point_or_fills_a_gap():
    reasons = {a.speed_rpm: a.reason for a in taken_by_advice(docket())[::3]}
    assert {s for s, why in reasons.items() if why == "check point"} == {1200.0, 3000.0}
    assert set(reasons.values()) == {"check point", "gap"}


def test_advice_without_repeats_goes_on_at_once():
    unit = docket([reading(1200.0, 11.0)])
    assert next_reading(unit, 0).reason == "repeat"
    assert next_reading(unit, 0, 1).speed_rpm > 1200.0


def test_advice_does_not_send_the_engine_up_again_from_a_descent():
    unit = docket([reading(3000.0, 30.0)] * 3 + [reading(1200.0, 12.0, "falling")] * 3)
    advice = next_reading(unit, 0)
    assert advice.direction == "falling" and advice.speed_rpm < 1200.0


def test_the_check_point_of_a_group_is_the_one_at_its_speed_with_the_pipe_off():
    unit = docket([reading(1210.0, 13.0)])
    assert check_at(unit, 0, repeat_groups(unit.sessions[0])[0]).point == 0
    for row in (reading(2000.0, 20.0), reading(1200.0, 20.0, depression_kpa=40.0)):
        unit = docket([row])
        assert check_at(unit, 0, repeat_groups(unit.sessions[0])[0]) is None


def test_a_unit_at_crank_speed():
    unit = docket(particulars=Particulars(drive_ratio=1.0))
    point = next(p for p in planned(unit, 0) if p.point == 1)
    assert (point.speed_rpm, point.low_deg) == (1500.0, 18.0)


@pytest.mark.parametrize(("u_rpm", "apart"), [(2.0, 25.0), (10.0, 25.0), (20.0, 50.0)])
def test_readings_are_of_one_speed_within_the_needle_and_never_closer_than_a_dial_is_read(
    u_rpm: float, apart: float
):
    # Two and a half standard uncertainties hold 99 % of what is read at one speed; nothing nearer
    # than 25 rev/min is told apart on a dial (common practice).
    assert same_speed_rpm(Instrument(u_speed_rpm=u_rpm)) == apart
