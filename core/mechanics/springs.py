"""Length, take-up and torque of one spring, wherever its peg is.

The distance from post to peg is L² = A − B cos x in both mountings:

- peg on the cam foot: A = R_b² + R_m², B = 2 R_b R_m, x = β_m + θ − β_b;
- peg on a weight: A = d² + e², B = 2 d e with d the distance pivot–post, x = α + ε − γ with γ the
  direction pivot → post, and α = α₀ − φ(θ).

So the torque at the cam, F · dL/dθ, is one expression: ½ B sin x · dx/dθ · F / L.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.mechanics.builds import Array, Builds
from bobweight.core.mechanics.linkage import LinkageKind


class SpringPath:
    """One spring of the builds: index into ``mechanism.springs``."""

    def __init__(self, builds: Builds, index: int):
        def value(key: str) -> float | np.ndarray:
            return builds.value("springs", index, key)

        spring = builds.mechanism.springs[index]
        self.on_weight = spring.mount == "weight"
        self.rate_n_per_mm = value("rate_n_per_mm")
        self.initial_tension_n = value("initial_tension_n")
        self.taken_up_mm = value("free_length_mm") + value("slack_mm")
        post_radius, post_angle = post_place(builds, index)
        peg_radius, peg_angle = value("peg_radius_mm"), np.radians(value("peg_angle_deg"))
        if self.on_weight:
            dx = post_radius * np.cos(post_angle) - builds.value("weights", "pivot_radius_mm")
            dy = post_radius * np.sin(post_angle)
            post_radius, post_angle = np.hypot(dx, dy), np.arctan2(dy, dx)
            peg_angle = peg_angle + np.radians(builds.value("weights", "rest_angle_deg"))
        self.a_mm2 = post_radius**2 + peg_radius**2
        self.b_mm2 = 2.0 * post_radius * peg_radius
        self.x_0 = peg_angle - post_angle

    def length_mm(self, theta_rad: Array, phi_rad: Array) -> Array:
        """Distance from post to peg."""
        return np.sqrt(self.a_mm2 - self.b_mm2 * np.cos(self._x(theta_rad, phi_rad)))

    def torque_nmm(self, theta_rad: Array, phi_rad: Array, swing_slope: Array) -> Array:
        """Torque U' against advance while taken up, in N·mm."""
        x = self._x(theta_rad, phi_rad)
        length = np.cos(x)
        length *= -self.b_mm2
        length += self.a_mm2
        np.sqrt(length, out=length)
        pull_per_mm = (self.initial_tension_n - self.rate_n_per_mm * self.taken_up_mm) / length
        pull_per_mm += self.rate_n_per_mm
        torque = np.sin(x)
        torque = torque * (0.5 * self.b_mm2)
        torque *= pull_per_mm
        if self.on_weight:
            torque *= -swing_slope
        return torque

    def force_n(self, theta_rad: Array, phi_rad: Array) -> Array:
        """Pull of the spring: zero until it is taken up."""
        stretch = self.length_mm(theta_rad, phi_rad) - self.taken_up_mm
        pull = self.initial_tension_n + self.rate_n_per_mm * stretch
        return np.where(stretch > 0, pull, 0.0)

    def take_up_rad(self, linkage: LinkageKind, count: int) -> np.ndarray:
        """Cam angles at which the spring is taken up or let go, shape (count, 2); NaN if none.

        Both angles at which the length equals free length + slack; those before rest or beyond
        the linkage's reach are NaN or large, and the caller keeps what lies below the stop.
        """
        with np.errstate(invalid="ignore", divide="ignore"):
            cosine = (self.a_mm2 - np.square(self.taken_up_mm)) / self.b_mm2
            x = np.arccos(cosine)
        angles = []
        for candidate in (x, -x):
            if self.on_weight:
                angle = linkage.cam(np.mod(self.x_0 - candidate, 2 * np.pi))
            else:
                angle = np.mod(candidate - self.x_0, 2 * np.pi)
            angles.append(np.broadcast_to(np.reshape(angle, -1), (count,)))
        return np.stack(angles, axis=-1)

    def _x(self, theta_rad: Array, phi_rad: Array) -> Array:
        return self.x_0 - phi_rad if self.on_weight else self.x_0 + theta_rad


def post_place(builds: Builds, index: int) -> tuple[Array, Array]:
    """Polar radius in mm and angle in radians of a spring's post, its tang bent as it stands."""
    radius = builds.value("springs", index, "post_radius_mm")
    angle = np.radians(builds.value("springs", index, "post_angle_deg"))
    tang = builds.value("springs", index, "tang_mm")
    if builds.mechanism.springs[index].tang_way == "outward":
        return radius + tang, angle
    return radius, angle + tang / radius
