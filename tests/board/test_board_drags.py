"""A mark dragged to a place is found at that place by the core's own reduction."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bobweight.app.board import drags
from bobweight.app.board.drags import Grip
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.readings import Instrument
from bobweight.core.figure.view import View
from bobweight.core.judgement.outcome import outcome
from bobweight.core.judgement.reduce import reduce_session
from bobweight.core.problems import BobweightError
from bobweight.core.record import put
from tests.board.dockets import docket

FRAMES = st.sampled_from(["distributor", "crank", "crank-static"])
VIEWS = FRAMES.map(lambda frame: View(frame, 2.0, static_deg=8.0))


TENS = st.integers(20, 240).map(lambda n: 10.0 * n)
TENTHS = st.integers(1, 99).map(lambda n: n / 10)
QUICK = settings(max_examples=40, deadline=None)


def compared(made: Docket):
    """The core's comparison, by neither mechanism nor readings."""
    return outcome(made.with_changes(mechanism=Mechanism(), sessions=())).comparison


def check_point(made: Docket, index: int):
    return next(p for p in compared(made).check_points if p.index == index)


@QUICK
@given(FRAMES, VIEWS, TENS, TENTHS)
def test_check_point_lands_where_it_was_put(frame, view, x, y):
    made = put(docket(), ("target", "frame"), frame)
    wide = {"least_deg": -80.0, "most_deg": 110.0}
    old = made.target.points[1].with_changes(**wide)
    made = put(made, ("target", "points", 1), old)
    grip = Grip("check", 1, "body", 0.0, 0.0, -80.0, 110.0)
    moved = drags.check_point_moved(made, grip, x, y, view)
    assert check_point(moved, 1).speed_rpm * view.factor == pytest.approx(x, abs=1e-3)
    assert moved.target.points[1].least_deg == -80.0
    grip = replace(grip, part="most")
    moved = drags.check_point_moved(made, grip, x, y, view)
    assert view.shown(check_point(moved, 1).high_deg) == pytest.approx(y, abs=1e-3)
    assert moved.target.points[1].speed_rpm == made.target.points[1].speed_rpm


def test_ends_of_a_check_point_do_not_cross():
    grip = Grip("check", 1, "least", 900.0, 5.0, 5.0, 7.0)
    moved = drags.check_point_moved(docket(), grip, 900.0, 9.0, View())
    assert moved.target.points[1].least_deg == 7.0


@QUICK
@given(
    st.sampled_from(["lamp", "rig"]), VIEWS, TENS, TENTHS,
    st.floats(-0.2, 0.4), st.floats(0.9, 1.1), st.floats(-4, 4),
)  # fmt: skip
def test_reading_lands_where_it_was_put(kind, view, x, y, lag_ms, scale, mark):
    instrument = Instrument(
        kind=kind, static_deg=9.0, lag_ms=lag_ms, tachometer_scale=scale, mark_error_deg=mark
    )
    made = put(docket(), ("sessions", 0, "instrument"), instrument)
    was = reduce_session(made.sessions[0], made.particulars)
    at = 3
    grip = Grip("reading", int(was.index[at]), "whole", float(was.speed_rpm[at] * view.factor),
                float(view.shown(was.advance_deg[at])))  # fmt: skip
    moved = drags.reading_moved(made, 0, grip, x, y, view)
    now = reduce_session(moved.sessions[0], moved.particulars)
    assert now.speed_rpm[at] * view.factor == pytest.approx(x, abs=1e-3)
    assert view.shown(now.advance_deg[at]) == pytest.approx(y, abs=1e-3)


@QUICK
@given(VIEWS, st.floats(5, 60), TENTHS)
def test_vacuum_reading_lands_where_it_was_put(view, kpa, y):
    made = docket()
    was = reduce_session(made.sessions[0], made.particulars)
    at = int(was.pipe_on.argmax())
    grip = Grip("vacuum reading", int(was.index[at]), "whole", 25.0,
                float(was.vacuum_deg[at] * view.factor))  # fmt: skip
    moved = drags.vacuum_reading_moved(made, 0, grip, kpa, y, view)
    now = reduce_session(moved.sessions[0], moved.particulars)
    assert now.depression_kpa[at] == pytest.approx(kpa, abs=1e-5)
    assert now.vacuum_deg[at] * view.factor == pytest.approx(y, abs=1e-3)


@QUICK
@given(st.sampled_from(["distributor", "crank"]), VIEWS, TENTHS)
def test_vacuum_check_point_lands_where_it_was_put(frame, view, y):
    made = put(docket(), ("target", "vacuum_frame"), frame)
    grip = Grip("vacuum", 0, "most", 25.0, 4.5, -10.0, 4.5)
    moved = drags.vacuum_point_moved(made, grip, 25.0, y, view)
    points = compared(put(moved, ("target", "vacuum_points", 0, "least_deg"), -10.0))
    assert points.vacuum_points[0].high_deg * view.factor == pytest.approx(y, abs=1e-3)


def test_taking_one_out_leaves_the_others():
    made = docket()
    left = drags.without(made, ("target", "points", 1))
    assert [p.speed_rpm for p in left.target.points] == [600.0, 1300.0]


def test_depression_is_snapped_in_the_unit_shown():
    inhg = 3.386389  # kPa, NIST SP 811 (2008), B.8
    assert drags.depression_snapped(7.342, inhg) == pytest.approx(7.3 * inhg)
    assert drags.depression_snapped(25.31, 1.0) == 25.5
    assert drags.depression_snapped(-3.0, 1.0) == 0.0


def test_a_place_beyond_the_limits_is_refused():
    grip = Grip("check", 1, "most", 900.0, 7.0, 5.0, 7.0)
    with pytest.raises(BobweightError):
        drags.check_point_moved(docket(), grip, 900.0, 400.0, View())
