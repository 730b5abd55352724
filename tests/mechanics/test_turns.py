"""Where speed turns between the knots of a grid, and where the curve goes on after a jump."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.mechanics.balance import RPM_PER_RAD_S, Speeds
from bobweight.core.mechanics.turns import with_turns

GRID = np.linspace(0.0, 0.2, 21)


class Balanced:
    """A balance of which the square of the speed is a polynomial of the cam's angle."""

    def __init__(self, *coefficients: float):
        self.square = np.polynomial.Polynomial(coefficients)

    def engaged_at(self, theta):
        return []

    def speed_squared(self, theta, engaged):
        return [self.square(theta)] * 2

    def speeds(self, theta) -> Speeds:
        rpm = (np.sqrt(self.square(theta)) * RPM_PER_RAD_S)[None]
        return Speeds(theta[None], rpm, rpm)


@pytest.mark.parametrize("bend", [-1.0, 1.0])
@pytest.mark.parametrize("at", [0.002, 0.0043, 0.013, 0.1041, 0.187, 0.1957, 0.198])
def test_a_hump_and_a_hollow_have_a_knot_at_their_very_top(at, bend):
    """A parabola turns at its apex, wherever that lies between rest and stop, and however near to
    either: the grid's first and last step have no knot on the other side of it."""
    balance = Balanced(2000.0 + bend * 4e4 * at**2, -bend * 8e4 * at, bend * 4e4)
    knots = with_turns(balance, balance.speeds(GRID)).theta_rad[0]
    assert np.min(np.abs(knots - at)) < 1e-7
    assert (np.diff(knots) > 0).all() and set(GRID) <= set(knots)


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_curve_goes_on_where_the_speed_of_the_jump_balances_again(mirrored):
    """x³ − x about its middle: from the hump at −1/√3 a rising cam jumps to 2/√3, where the cubic
    is as high again; a falling one from 1/√3 to −2/√3 (algebra)."""
    scale = 0.06  # of x, about the middle of the grid
    x = np.polynomial.Polynomial([-0.1 / scale, 1.0 / scale])
    cubic = 1000.0 + (1.0 if not mirrored else -1.0) * 300.0 * (x**3 - x)
    if mirrored:  # turned over it has neither hump before hollow: from ahead to behind
        cubic = cubic(np.polynomial.Polynomial([0.2, -1.0]))
    balance = Balanced(*cubic.coef)
    knots = with_turns(balance, balance.speeds(np.linspace(0.0, 0.2, 24))).theta_rad[0]
    for turn in np.array([-2.0, -1.0, 1.0, 2.0]) / np.sqrt(3.0):
        assert np.min(np.abs(knots - (0.1 + scale * turn))) < 1e-7
