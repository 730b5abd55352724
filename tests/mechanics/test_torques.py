"""Torques at the cam against the route by vectors, and their balance against the curve."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.predict import predict
from bobweight.core.mechanics.torques import torques
from tests.mechanics.independent import Vectors
from tests.mechanics.mechanisms import plain, random_mechanism


def drawn(rng: np.random.Generator, kind: str) -> Mechanism:
    """A random mechanism that can move to its stop."""
    while True:
        made = random_mechanism(rng, kind, friction=True)
        if not any(problem.grave for problem in mechanism_problems(made)):
            return made


@pytest.mark.parametrize("kind", ["constant", "slot", "swing"])
def test_weights_and_springs_pull_as_the_vectors_say(kind: str):
    rng = np.random.default_rng(11)
    for _ in range(6):
        mechanism = drawn(rng, kind)
        vectors, found = Vectors(mechanism), torques(mechanism)
        q = np.linspace(0.0, vectors.q_stop, 400)[1:-1]
        weights, springs = vectors.moments(q)
        cam = np.degrees(vectors.cam(q))
        inside = (cam > 0.05) & (cam < found.advance_deg[-1] - 0.05)
        away = np.array([np.abs(found.advance_deg[:-1][np.diff(found.advance_deg) == 0] - c)
                         .min(initial=9.0) for c in cam]) > 0.3  # fmt: skip
        chosen = inside & away  # at a take-up with tension the torque leaps
        speed = 900.0
        pull = np.interp(cam[chosen], found.advance_deg, found.weights_nmm(speed))
        held = np.interp(cam[chosen], found.advance_deg, found.held_nmm - found.drag_nmm)
        omega = speed * np.pi / 30
        assert pull == pytest.approx(weights[chosen] * omega**2, rel=2e-3)
        assert held == pytest.approx(-springs[chosen], rel=5e-3, abs=0.05)


@pytest.mark.parametrize(("stick", "grip"), [(0.0, 0.0), (3.0, 0.04)])
def test_the_curve_stands_where_the_two_balance(stick: float, grip: float):
    mechanism = plain(stick_nmm=stick, grip=grip, heel_drag_nmm=4.0)
    prediction, found = predict(mechanism), torques(mechanism)
    for direction, hold in (("rising", found.rising_nmm), ("falling", found.falling_nmm)):
        for speed in np.linspace(1.1 * prediction.start_rpm, 0.9 * prediction.full_rpm, 5):
            advance = float(prediction.advance_deg(speed, direction))
            if not 0.1 < advance < 0.98 * prediction.full_deg:
                continue
            pull = np.interp(advance, found.advance_deg, found.weights_nmm(speed))
            assert pull == pytest.approx(np.interp(advance, found.advance_deg, hold), rel=5e-3)
