"""Textbook governors: the same balance with other geometry, answered by the core's closed form.

J(x) and U'(x) are built as each source states them, with x in mm (lift of the sleeve or radius of
the balls) in place of the cam angle; the speed comes from ``core.mechanics.balance`` and the
branches from ``core.mechanics.branches``. Values "recomputed" were worked again from the source's
inputs; tolerance 0.2 % there, 1 % against a printed rounded answer.
"""

import numpy as np
import pytest

from bobweight.core.docket.mechanism import Linkage, Mechanism, Weights
from bobweight.core.mechanics.balance import RPM_PER_RAD_S, Balance, Speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.linkage_kind import LinkageKind

INCH_MM, POUND_G = 25.4, 453.59237  # exact by definition
POUND_FORCE_N = 4.448222  # NIST SP 811, Appendix B.8


class Balls(LinkageKind):
    """Balls at the radius r(x) = r₀ + g x: J = n m r², so J' = 2 n m r g."""

    def __init__(self, builds, radius_mm, gain):
        super().__init__(builds)
        self.radius_mm, self.gain = radius_mm, gain

    def swing(self, cam):
        return cam, np.ones_like(cam.rad)

    def cam(self, phi_rad):
        return phi_rad

    def inertia_slope(self, theta_rad, swing, swing_slope):
        weights = self.builds.mechanism.weights
        radius = self.radius_mm + self.gain * theta_rad
        return 2.0 * weights.count * weights.mass_g * radius * self.gain


class Force:
    """A force in N against x, U' = F₀ + k x, that acts everywhere."""

    def __init__(self, start_n, rate_n_per_mm):
        self.start_n, self.rate_n_per_mm, self.taken_up_mm = start_n, rate_n_per_mm, 0.0

    def length_mm(self, theta_rad, swing):
        return np.ones_like(theta_rad)

    def torque_nmm(self, theta_rad, swing):
        return self.start_n + self.rate_n_per_mm * theta_rad

    def take_up_rad(self, count, end_rad):
        return np.full((count, 2), np.nan)


class Governor(Balance):
    """A balance whose linkage and springs are those of a governor of the textbooks."""

    def __init__(self, count, mass_g, radius_mm, gain, forces, travel_mm, stick_n=0.0):
        builds = Builds(
            Mechanism(
                weights=Weights(count=count, mass_g=mass_g),
                linkage=Linkage(kind="constant", ratio=1.0),
                stop_deg=1.0,
                stick_nmm=stick_n,
            )
        )
        super().__init__(builds)
        self.balls, self.paths = Balls(builds, radius_mm, gain), list(forces)
        self.motion.groups = self.motion.linkages = [self.balls]
        self.stop_rad = self.end_rad = float(travel_mm)

    def rpm(self, x_mm, direction="rising"):
        """Speed of balance at positions."""
        x = np.reshape(np.asarray(x_mm, float), (1, 1, -1))
        squares = self.speed_squared(x, self.engaged_at(x))
        return np.sqrt(squares[direction == "falling"][0, 0]) * RPM_PER_RAD_S

    def curves(self, knots=201):
        out = Speeds(*np.empty((3, 1, knots * (self.edges_rad.shape[1] - 1))))
        self.fill(out, knots)
        return curves(out)


def held_by(force_n, mass_g, radius_mm, rpm, count, gain):
    """Force at the sleeve that balances the balls, straight from m ω² r and the arms."""
    return count * mass_g * 1e-6 * (rpm / RPM_PER_RAD_S) ** 2 * radius_mm * gain - force_n


def test_hartnell_sarkar_illustration_7():
    """Sarkar, Theory of Machines, ch. 7, illustrative example 7, p. 203 (seen, recomputed)."""
    # S₁ = 2 m ω² r a/b = 1212.78 N is the printed initial load; the core must turn at 320 rpm.
    governor = Governor(2, 3000.0, 120.0, 120 / 80, [Force(1212.78, 20.0)], 15.0)
    assert governor.rpm([0.0])[0] == pytest.approx(320.0, rel=2e-3)
    assert governor.rpm([15.0])[0] == pytest.approx(327.967, rel=2e-3)
    assert governor.balls.radius_mm + 1.5 * 15.0 == pytest.approx(142.5)  # r₁
    assert governor.curves().at(np.array([327.967]))[0, 0] * np.pi / 180 == pytest.approx(
        15.0, rel=5e-3
    )


def test_hartnell_sarkar_illustration_8():
    """Sarkar, ch. 7, illustrative example 8, p. 204: force and stiffness, two balls."""
    governor = Governor(2, 3000.0, 200.0, 110 / 150, [Force(555.86, 23.9816)], 4.0)
    mean = 240.0
    assert governor.rpm([0.0])[0] == pytest.approx(mean, rel=2e-3)
    assert governor.rpm([4.0])[0] == pytest.approx(mean * 1.075, rel=2e-3)


def test_hartnell_bevan_example_3():
    """Bevan, The Theory of Machines, ch. 13, example 3, p. 466 (seen, recomputed; g 32.2)."""
    # A pound force is 32.2 lb·ft/s² in the book: its poundal arithmetic fixes the start force.
    force_n = 32.2 * 0.3048 * POUND_G / 1000
    mass, gain = 3 * POUND_G, 4 / 2
    rate = 84.03 * force_n / INCH_MM
    start = held_by(0.0, mass, 3 * INCH_MM, 300.0, 2, gain)
    lift = (4.5 - 3.0) * INCH_MM / gain
    governor = Governor(2, mass, 3 * INCH_MM, gain, [Force(start, rate)], lift)
    assert governor.rpm([lift])[0] == pytest.approx(318.0, rel=2e-3)
    assert governor.rpm([0.5 * INCH_MM / gain])[0] == pytest.approx(307.84, rel=2e-3)


def test_wilson_hartnell_bevan_example_4():
    """Bevan, ch. 13, example 4, p. 468: ball springs 1.5 lb/in each, auxiliary 22.976 lb/in."""
    # The two ball springs stretch by 2 r together: their pull on each ball grows by 4 k of radius
    # (two springs side by side, ends moving apart twice as fast). x is the radius of the balls;
    # the auxiliary spring acts through its lever b/a on both.
    force_n = 32.2 * 0.3048 * POUND_G / 1000
    mass, gain = 5 * POUND_G, 1.0
    per_mm = force_n / INCH_MM
    balls = 2 * 4 * 1.5 * per_mm  # both balls together
    auxiliary = 22.976 * (4 / 6) ** 2 * per_mm
    start = held_by(0.0, mass, 5 * INCH_MM, 240.0, 2, gain)
    governor = Governor(
        2, mass, 5 * INCH_MM, gain, [Force(0.0, balls), Force(start, auxiliary)], 2 * INCH_MM
    )
    assert governor.rpm([2 * INCH_MM])[0] == pytest.approx(252.0, rel=2e-3)


@pytest.mark.parametrize(("force_lb", "coefficient"), [(12.25, 0.0272), (25.4, 0.0131)])
def test_insensitiveness_bevan_example_11(force_lb, coefficient):
    """Bevan, ch. 13, example 11, p. 484: arms 4.5 and 2 in, sleeve friction 1.5 lb."""
    at_ball = 1.5 * 2 / 4.5 / 2  # on each ball: half the sleeve's friction through b/a
    governor = Governor(
        1, 1000.0, 100.0, 1.0, [Force(force_lb * POUND_FORCE_N, 0.0)], 10.0,
        stick_n=at_ball * POUND_FORCE_N,
    )  # fmt: skip
    rising, falling = governor.rpm([0.0])[0], governor.rpm([0.0], "falling")[0]
    assert (rising - falling) / governor_mean(rising, falling) == pytest.approx(
        coefficient, rel=0.01
    )


def governor_mean(rising, falling):
    """The speed without friction, halfway in ω²."""
    return np.sqrt((rising**2 + falling**2) / 2)


def test_spring_loaded_governor_with_friction():
    """A textbook exercise (seen solved, recomputed): F = 3 r − 80 N, 5 kg, 20 N a ball."""
    ends = {100.0: (200.31, 209.21, 190.99, 0.0910), 180.0: (215.89, 220.53, 211.14, 0.0435)}
    travel = 80.0
    free = Governor(1, 5000.0, 100.0, 1.0, [Force(3 * 100 - 80, 3.0)], travel)
    dry = Governor(1, 5000.0, 100.0, 1.0, [Force(3 * 100 - 80, 3.0)], travel, stick_n=20.0)
    for radius, (mean, rising, falling, insensitive) in ends.items():
        x = [radius - 100.0]
        assert free.rpm(x)[0] == pytest.approx(mean, rel=2e-3)
        up, down = dry.rpm(x)[0], dry.rpm(x, "falling")[0]
        assert (up, down) == pytest.approx((rising, falling), rel=2e-3)
        assert (up - down) / free.rpm(x)[0] == pytest.approx(insensitive, rel=2e-3)
    table = dry.curves()
    x_mm = np.radians(table.advance_deg[0])
    expected = np.sqrt((3 * (100 + x_mm) - 60) / (5e-3 * (100 + x_mm))) * RPM_PER_RAD_S
    assert table.rising_rpm[0] == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("friction_n", [0.0, 12.0])
@pytest.mark.parametrize("b", [-80.0, 0.0, 80.0])
def test_controlling_force_line(b, friction_n):
    """F = a r + b: stable below zero, one speed at zero, a jump above (theory, same books)."""
    a, mass, low, travel = 3.0, 5.0, 100.0, 80.0
    governor = Governor(
        1, mass * 1000, low, 1.0, [Force(a * low + b, a)], travel, stick_n=friction_n
    )
    table = governor.curves()
    rising, falling = table.rising_rpm[0], table.falling_rpm[0]
    radius = low + np.radians(table.advance_deg[0])
    force = a * radius + b
    neutral = np.sqrt(force / (mass * 1e-3 * radius)) * RPM_PER_RAD_S  # N at each radius
    up = neutral * np.sqrt((force + friction_n) / force)  # N' = N √((F ± f) / F)
    down = neutral * np.sqrt((force - friction_n) / force)
    if b + friction_n < 0:
        assert rising == pytest.approx(up, rel=1e-9) and np.all(np.diff(rising) > 0)
        assert falling == pytest.approx(down, rel=1e-9) and np.all(np.diff(falling) > 0)
    elif b == friction_n == 0:
        assert rising == pytest.approx(np.full_like(rising, rising[0]), rel=1e-12)
    elif b == 0:  # friction at the ball makes it unstable outward, stable inward
        assert rising == pytest.approx(np.full_like(rising, up[0]), rel=1e-9)
        assert falling == pytest.approx(down, rel=1e-9) and np.all(np.diff(falling) > 0)
    else:
        assert rising == pytest.approx(np.full_like(rising, up[0]), rel=1e-9)  # flies right out
        assert falling == pytest.approx(np.full_like(falling, down[-1]), rel=1e-9)
        assert up[0] > down[-1]  # and comes back at a lower speed
