"""Coil current against a textbook example and numerical integration."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from bobweight.core.bench import coil
from bobweight.core.problems import BobweightError

# Robertson, Fundamental Electrical and Electronic Principles, ch. 8: 1.5 H, 220 Ω, 110 V.
ROBERTSON = coil.CoilCircuit(110.0, 220.0, 1500.0)
IGNITION = coil.CoilCircuit(13.5, 1.5, 6.0, 1.5)


def test_robertson_example():
    assert ROBERTSON.final_a == pytest.approx(0.5)
    assert 5 * ROBERTSON.time_constant_ms == pytest.approx(34.1, abs=0.05)
    # the start of the curve has that slope, and after one time constant 63.2 % is there
    assert coil.current_a(ROBERTSON, 1e-4) / 1e-7 == pytest.approx(73.33, abs=0.01)
    at_tau = coil.current_a(ROBERTSON, ROBERTSON.time_constant_ms)
    assert at_tau == pytest.approx(0.632 * 0.5, abs=0.0002)


circuits = st.builds(
    coil.CoilCircuit, st.floats(5, 15), st.floats(0.5, 5), st.floats(2, 20), st.floats(0, 3)
)


@given(circuits, st.floats(0.1, 50))
def test_current_agrees_with_integration(circuit, closed_ms):
    henry = circuit.inductance_mh / 1000
    ohm = circuit.coil_ohm + circuit.ballast_ohm
    solved = solve_ivp(
        lambda t, i: (circuit.supply_v - ohm * i) / henry, (0, closed_ms / 1000), [0.0],
        rtol=1e-9, atol=1e-12,
    )  # fmt: skip
    assert coil.current_a(circuit, closed_ms) == pytest.approx(solved.y[0, -1], rel=1e-6)


def test_current_at_opening_over_speeds_agrees_with_integration():
    speeds = np.array([300.0, 1000.0, 2000.0, 3000.0])
    expected = []
    for speed in speeds:
        seconds = 61.0 / 360.0 / (speed / 60.0)  # 61 degrees of a turn that lasts 60/N seconds
        solved = solve_ivp(
            lambda t, i: (13.5 - 3.0 * i) / 0.006, (0, seconds), [0.0], rtol=1e-9, atol=1e-12
        )
        expected.append(solved.y[0, -1])
    got = coil.current_at_opening_a(IGNITION, 61.0, speeds)
    assert got == pytest.approx(expected, rel=1e-6)
    assert np.all(np.diff(got) < 0)


@given(circuits, st.floats(0.05, 0.95), st.floats(20, 70))
def test_at_the_speed_told_the_wanted_current_is_just_reached(circuit, share, dwell_deg):
    wanted = share * circuit.final_a
    speed = coil.falls_short_rpm(circuit, dwell_deg, wanted)
    assert coil.current_at_opening_a(circuit, dwell_deg, speed) == pytest.approx(wanted, rel=1e-9)
    assert coil.current_at_opening_a(circuit, dwell_deg, 1.01 * speed) < wanted


def test_ballast_and_standing_heat():
    """By Ohm's law: 12 V over 1.5 Ω + 1.5 Ω is 4 A, of which the coil turns 24 W into heat."""
    circuit = coil.CoilCircuit(12.0, 1.5, 6.0, 1.5)
    assert circuit.final_a == pytest.approx(4.0)
    assert circuit.standing_heat_w == pytest.approx(24.0)


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: coil.CoilCircuit(12.0, 0.0, 6.0), "not-positive"),
        (lambda: coil.CoilCircuit(12.0, 1.5, 6.0, -1.0), "below-limit"),
        (lambda: coil.current_a(IGNITION, -1.0), "below-limit"),
        (lambda: coil.falls_short_rpm(IGNITION, 61.0, 4.5), "current-never-reached"),
        (lambda: coil.current_at_opening_a(IGNITION, 61.0, 0.0), "not-positive"),
    ],
)
def test_refusals(call, code):
    with pytest.raises(BobweightError) as caught:
        call()
    assert caught.value.problem.code == code
