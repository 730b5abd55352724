"""The ratio of torques, against units whose torque was altered by a known share."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.docket.target import CheckPoint, Target
from bobweight.core.judgement.outcome import outcome
from bobweight.core.judgement.ratio import torque_ratio
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put, taken
from tests.board.dockets import docket


def read_off(share_primary: float, share_all: float = 1.0):
    """A docket whose table is a sound unit's own curve, and whose readings are of one with springs
    so many times as strong (no friction, no instrument errors)."""
    made = put(docket(), ("mechanism", "stick_nmm"), 0.0)
    sound = made.mechanism
    now = sound
    for index, spring in enumerate(sound.springs):
        share = share_all * (share_primary if index == 0 else 1.0)
        for key in ("rate_n_per_mm", "initial_tension_n"):
            now = put(now, ("springs", index, key), taken(spring, key) * share)
    table, altered = predict(sound), predict(now)
    speeds = np.linspace(table.start_rpm, table.full_rpm, 40)
    points = tuple(
        CheckPoint(speed_rpm=float(s), least_deg=float(a) - 0.5, most_deg=float(a) + 0.5)
        for s, a in zip(speeds, table.advance_deg(speeds), strict=True)
    )
    at = np.linspace(altered.start_rpm * 1.05, altered.full_rpm * 0.97, 12)
    readings = tuple(
        Reading(speed_rpm=float(s), angle_deg=float(a), direction="rising")
        for s, a in zip(at, altered.advance_deg(at), strict=True)
    )
    session = Session(instrument=Instrument(kind="rig", static_deg=0.0), readings=readings)
    target = Target(points=points, read_as="rising")
    return made.with_changes(target=target, sessions=(session,)), table


@pytest.mark.parametrize("share", [0.7, 1.0, 1.3])
def test_all_springs_stronger_by_a_share_is_that_share_everywhere(share: float):
    """½ω²J' balances the springs' torque, so at equal advance ω² goes as the torque."""
    made, _ = read_off(1.0, share)
    found = torque_ratio(outcome(made))
    assert len(found.ratio) > 5
    # Where the curve stands still the table has no one speed; that is in the uncertainty.
    off = np.abs(found.ratio - share)
    assert (off < np.maximum(0.03 * share, 2.0 * found.u_ratio)).all()
    assert (off < 0.03 * share).sum() >= len(off) - 1


def test_a_weak_primary_shows_up_to_the_take_up_and_fades_after_it():
    made, table = read_off(0.7)
    found = torque_ratio(outcome(made))
    take_up = table.take_ups[0].advance_deg
    before = found.ratio[found.advance_deg < take_up - 0.3]
    after = found.ratio[found.advance_deg > 0.9 * table.full_deg]
    assert before == pytest.approx(np.full(len(before), 0.7), rel=0.05)
    assert len(after) and (after > 0.9).all()


def test_the_band_is_the_tables_own_and_holds_one():
    made, _ = read_off(1.0)
    found = torque_ratio(outcome(made))
    inner = slice(3, -3)
    assert (found.low[inner] <= 1.0 + 1e-9).all() and (found.high[inner] >= 1.0 - 1e-9).all()


def test_nothing_is_said_without_a_climbing_table():
    made, _ = read_off(1.0)
    flat = made.target.with_changes(points=made.target.points[-1:])
    assert torque_ratio(outcome(made.with_changes(target=flat))) is None


def test_the_ratio_is_kept_while_readings_and_table_are_the_same():
    made, _ = read_off(0.7)
    first = outcome(made)
    found = torque_ratio(first)
    rate = ("mechanism", "springs", 0, "rate_n_per_mm")
    stiffer = outcome(
        put(made, rate, 1.1 * made.mechanism.springs[0].rate_n_per_mm), previous=first
    )
    assert torque_ratio(stiffer) is found
    row = ("sessions", 0, "readings", 3, "speed_rpm")
    faster = put(made, row, 1.05 * made.sessions[0].readings[3].speed_rpm)
    assert not np.array_equal(torque_ratio(outcome(faster, previous=first)).ratio, found.ratio)
    point = ("target", "points", 1, "most_deg")
    wider = put(made, point, made.target.points[1].most_deg + 1.0)
    assert not np.array_equal(torque_ratio(outcome(wider, previous=first)).high, found.high)
    assert np.array_equal(torque_ratio(first).ratio, found.ratio)
