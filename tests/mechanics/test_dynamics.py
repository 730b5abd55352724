"""The curve is where a real motion ends: damped time integration with scipy ``solve_ivp``.

Forces come from the vector route, not from the core. Milliseconds, millimetres, grams and newtons
are one consistent set of units (g·mm/ms² is 1 N), so the moment of inertia is in g·mm².
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from bobweight.core.docket.mechanism import Linkage
from bobweight.core.mechanics.predict import predict

from .independent import RPM, Vectors
from .mechanisms import jumping, plain, spring

STOP_NMM_PER_RAD = 3e5  # buffers at rest and stop: a hundredth of a degree at some 50 N·mm
STATES = 20_000  # between which the moments are taken as straight: within a millionth of a N·mm


class Motion:
    """Cam and weights with mass, viscous damping and dry friction, as a system in θ.

    The curve does not depend on the inertia or the damping, so these are plain choices: the inertia
    is that of the cam and weights at rest, the damping about critical for a stiff spring.
    """

    def __init__(self, mechanism, inertia_gmm2=6e3, damping_nmm_ms=2.5e3, slip_per_ms=3e-8):
        self.m, self.vectors = mechanism, Vectors(mechanism)
        self.inertia, self.damping, self.slip = inertia_gmm2, damping_nmm_ms, slip_per_ms
        states = np.linspace(0.0, self.vectors.q_stop, STATES + 1)
        self.moments = np.transpose(self.vectors.moments(states)).tolist()

    def moments_at(self, state: float) -> tuple[float, float]:
        """Moments of the weights and of the springs, as ``Vectors.moments`` gives them."""
        place = STATES * state / self.vectors.q_stop
        below = min(int(place), STATES - 1)
        (weights, springs), (more, stiffer) = self.moments[below : below + 2]
        share = place - below
        return weights + share * (more - weights), springs + share * (stiffer - springs)

    def acceleration(self, theta: float, rate: float, omega: float) -> float:
        sense = math.tanh(rate / self.slip)  # dry friction, smoothed at very small speeds
        inside = min(max(theta, 0.0), self.vectors.stop)
        moments = self.moments_at(self.vectors.state_at(inside))
        net = self.vectors.net(None, omega, sense, moments)
        net += STOP_NMM_PER_RAD * (inside - theta)
        return (net - self.damping * rate) / self.inertia

    def run(self, speed_rpm, start_deg: float, until_ms: float, at_ms=None):
        """Advance in degrees at times, with ``speed_rpm`` a function of the time in ms."""

        def change(t, y):
            return (y[1], self.acceleration(y[0], y[1], speed_rpm(t) * RPM))

        solution = solve_ivp(
            change, (0.0, until_ms), (math.radians(start_deg), 0.0), method="LSODA",
            t_eval=at_ms, rtol=1e-7, atol=(1e-8, 3e-5 * self.slip),
        )  # fmt: skip
        assert solution.success
        return np.degrees(solution.y[0])


SMOOTH = {
    "constant": plain(),
    "slot": plain(linkage=Linkage(kind="slot", pin_radius_mm=12.0, pin_angle_deg=80.0)),
    "heel drag": plain(heel_drag_nmm=6.0),
    "tension": plain(
        springs=(
            spring(15.0, rate_n_per_mm=0.9, initial_tension_n=1.5),
            spring(15.2, rate_n_per_mm=5.0, slack_mm=1.2, initial_tension_n=6.0),
        )
    ),
}


@pytest.mark.parametrize("mechanism", [*SMOOTH.values(), jumping()])
def test_moments_between_states_are_those_of_the_vectors(mechanism):
    motion = Motion(mechanism)
    for state in np.random.default_rng(1).uniform(0.0, motion.vectors.q_stop, 200):
        assert motion.moments_at(state) == pytest.approx(motion.vectors.moments(state), rel=1e-6)


@pytest.mark.parametrize("name", SMOOTH)
def test_settles_on_the_static_curve(name):
    """Let go at rest and at the stop, the weights come to stand where the curve says."""
    mechanism = SMOOTH[name]
    prediction, motion = predict(mechanism), Motion(mechanism)
    assert prediction.jumps == ()
    for share in (0.6, 0.85):
        speed = prediction.start_rpm + share * (prediction.full_rpm - prediction.start_rpm)
        expected = float(prediction.advance_deg(speed))
        assert 0.5 < expected < mechanism.stop_deg - 0.5
        for start in (0.0, mechanism.stop_deg):
            assert motion.run(lambda t, s=speed: s, start, 4000.0)[-1] == pytest.approx(
                expected, abs=2e-3
            )


def sweep(mechanism, up: bool, low: float, high: float, points: int, until_ms: float, **choices):
    """Speeds and advances of a slow sweep between two speeds."""
    times = np.linspace(0.0, until_ms, points)
    speeds = np.linspace(low, high, points) if up else np.linspace(high, low, points)
    slope = (speeds[-1] - speeds[0]) / until_ms
    start = 0.0 if up else mechanism.stop_deg
    motion = Motion(mechanism, **choices)
    return speeds, motion.run(lambda t: speeds[0] + slope * t, start, until_ms, times)


def test_slow_sweep_with_friction_traces_both_branches():
    """Stick and grip hold back both ways: up, the sweep lies on rising, down, on falling."""
    mechanism = plain(stick_nmm=3.0, grip=0.04)
    prediction = predict(mechanism)
    assert prediction.jumps == ()
    low, high = 0.6 * prediction.start_rpm, 1.1 * prediction.full_rpm
    gap = prediction.advance_deg(600.0, "falling") - prediction.advance_deg(600.0, "rising")
    assert gap > 0.3  # the branches are well apart
    for way in ("rising", "falling"):
        speeds, advance = sweep(mechanism, way == "rising", low, high, 60, 1e6)
        off = np.abs(advance - prediction.advance_deg(speeds, way))
        steep = speeds < prediction.take_ups[0].speed_rpm + 30.0  # a degree in ten rev/min
        moving = (advance > 0) & (advance < mechanism.stop_deg)
        assert np.max(off[steep]) < 0.15
        assert np.sum(~steep & moving) > 35
        assert np.max(off[~steep & moving]) < 0.02 and np.median(off[moving]) < 1e-3


def test_slow_sweep_jumps_where_the_curve_jumps():
    mechanism = jumping()
    prediction = predict(mechanism)
    rising = [j for j in prediction.jumps if j.direction == "rising"]
    falling = [j for j in prediction.jumps if j.direction == "falling"]
    assert len(rising) == len(falling) == 1
    assert rising[0].speed_rpm > 1.02 * falling[0].speed_rpm  # hysteresis
    low, high = 0.9 * falling[0].speed_rpm, 1.05 * prediction.full_rpm
    for jump in (rising[0], falling[0]):
        way = jump.direction
        speeds, advance = sweep(mechanism, way == "rising", low, high, 400, 1e6, slip_per_ms=5e-9)
        onward = (speeds / jump.speed_rpm - 1) * (1 if way == "rising" else -1)
        short, past = onward < -0.003, onward > 0.003  # the flight itself takes its time
        assert short.sum() > 40 and past.sum() > 40
        off = np.abs(advance - prediction.advance_deg(speeds, way))
        assert np.max(off[short | past]) < 0.1
        assert np.max(off[abs(onward) > 0.05]) < 0.01
        flown = abs(advance[short][-1] - advance[past][0])
        assert flown > 0.9 * abs(jump.to_deg - jump.from_deg)
