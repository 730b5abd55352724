"""A second route to the balance, for tests only: forces as vectors, moments, a bracketed root.

Nothing here comes from ``core.mechanics``. A vector in the plane of the base plate is a complex
number, so that a scalar and an array of states run through the same lines. Each weight hangs on
its pivot under the centrifugal force m ω² r at its centre of gravity and the pulls of its springs;
moments about the pivot give the contact force, and the contact force turns the cam:

- pin in a slot: the force is normal to the slot, found from the weight's balance about its pivot;
- rigid link: the force lies along the link, found in the same way;
- constant ratio, swing measured: moments pass in the ratio of the swings;
- radius measured: the power of the centrifugal force, m ω² r dr, gives the moment at the cam.

The advance at a speed is the first state, coming from rest (rising) or from the stop (falling),
at which the net moment turns against further motion; it is found by ``scipy.optimize.brentq``.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, minimize_scalar

RPM = math.pi / 30.0  # rad/s of one rev/min
_SCAN = 600


def cross(a, b):
    """Moment of the force ``b`` at the arm ``a``, counter-clockwise."""
    return (a.conjugate() * b).imag


def unit(angle_rad):
    """The unit vector at a polar angle."""
    return cmath.exp(1j * angle_rad) if isinstance(angle_rad, float) else np.exp(1j * angle_rad)


class Vectors:
    """One mechanism as vectors.

    ``mirrored`` builds it as its mirror image, advancing clockwise. The state ``q`` is the swing
    of the weights where the linkage gives the cam angle from it, else the cam angle itself.
    """

    def __init__(self, mechanism, mirrored: bool = False):
        self.m = mechanism
        self.ahead = -1.0 if mirrored else 1.0
        self.weights, self.linkage = mechanism.weights, mechanism.linkage
        self.kind = self.linkage.kind
        if self.kind == "measured":
            self.kind = self.linkage.measured_as
        self.side = -self.ahead  # +1: the weight's own y axis is counter-clockwise
        if self.kind in ("slot", "link"):
            self.side = 1.0
            if self._foot_moves(1e-7) * self.ahead < 0:
                self.side = -1.0
        if self.kind in ("swing", "radius"):
            key = "swing_deg" if self.kind == "swing" else "radius_mm"
            cam = np.radians([p.cam_deg for p in self.linkage.points])
            values = np.array([getattr(p, key) for p in self.linkage.points], float)
            self.table = PchipInterpolator(
                cam, np.radians(values) if self.kind == "swing" else values
            )
            self.table_slope = self.table.derivative()
        self.stop = math.radians(mechanism.stop_deg)
        self.q_stop = self._state_at_stop()
        self.scan_q = self._states_to_scan()
        self.scan = self.moments(self.scan_q)

    # Geometry -----------------------------------------------------------------------------------

    def _pin(self, swing):
        """Vector pivot to pin of the slot."""
        turn = math.radians(self.weights.rest_angle_deg + self.linkage.pin_angle_deg) - swing
        return self.linkage.pin_radius_mm * unit(self.side * turn)

    def _foot(self, swing):
        """Vector shaft to the point of the cam foot that the weight holds."""
        pin = self.weights.pivot_radius_mm + self._pin(swing)
        if self.kind == "slot":
            return pin
        foot, link = self.linkage.foot_radius_mm, self.linkage.link_mm
        beside = np.arccos((abs(pin) ** 2 + foot**2 - link**2) / (2 * abs(pin) * foot))
        way = self.side if self.linkage.foot_side == "cg" else -self.side
        return foot * pin / abs(pin) * np.exp(1j * way * beside)

    def _foot_moves(self, swing):
        """Polar angle about the shaft by which that point has moved from rest."""
        return np.angle(self._foot(swing) / self._foot(0.0))

    def _state_at_stop(self) -> float:
        if self.kind == "constant":
            return self.stop / self.linkage.ratio
        if self.kind not in ("slot", "link"):
            return self.stop
        swing, step = 0.0, 1e-4
        while self.ahead * self._foot_moves(swing + step) < self.stop:
            swing += step
            if swing > math.pi:
                raise ValueError("the slot does not reach the stop")
        return brentq(
            lambda s: self.ahead * self._foot_moves(s) - self.stop, swing, swing + step, xtol=1e-15
        )

    def cam(self, q):
        """Cam angle in radians at a state."""
        if self.kind == "constant":
            return q * self.linkage.ratio
        return self.ahead * self._foot_moves(q) if self.kind in ("slot", "link") else q

    def swing(self, q):
        """Swing of a weight in radians at a state."""
        if self.kind == "swing":
            return self.table(q)
        if self.kind == "radius":
            return self._turn_of_radius(0.0) - self._turn_of_radius(q)
        return q

    def _turn_of_radius(self, q):
        """Angle pivot to centre of gravity from outward, where two circles meet."""
        pivot, cg = self.weights.pivot_radius_mm, self.weights.cg_mm
        return np.arccos((self.table(q) ** 2 - pivot**2 - cg**2) / (2 * pivot * cg))

    def tang(self, spring):
        """Polar radius and angle (rad) of a post with its tang bent."""
        radius, angle = spring.post_radius_mm, math.radians(spring.post_angle_deg)
        if spring.tang_way == "outward":
            return radius + spring.tang_mm, angle
        return radius, angle + spring.tang_mm / radius

    # Forces -------------------------------------------------------------------------------------

    def pull(self, spring, span):
        """Force vector on the peg from a spring whose post lies ``span`` away from it."""
        length = abs(span)
        stretch = length - spring.free_length_mm - spring.slack_mm
        size = spring.initial_tension_n + spring.rate_n_per_mm * stretch
        size = np.where(stretch > 0, size, 0.0) if np.ndim(size) else size * (stretch > 0)
        return size * span / length

    def span(self, spring, q):
        """Vectors (arm of the peg about its body's axis, peg to post)."""
        radius, angle = self.tang(spring)
        if spring.mount == "cam":
            post = radius * unit(self.ahead * angle)
            turn = math.radians(spring.peg_angle_deg) + self.cam(q)
            peg = spring.peg_radius_mm * unit(self.ahead * turn)
            return peg, post - peg
        post = radius * unit(self.side * angle)
        turn = math.radians(self.weights.rest_angle_deg + spring.peg_angle_deg) - self.swing(q)
        arm = spring.peg_radius_mm * unit(self.side * turn)
        return arm, post - self.weights.pivot_radius_mm - arm

    def moments(self, q):
        """Moments at the cam towards advance in N·mm: weights per (rad/s)², and springs."""
        on_cam, on_weight = 0.0 * q, 0.0 * q
        for spring in self.m.springs:
            arm, span = self.span(spring, q)
            moment = cross(arm, self.pull(spring, span))
            if spring.mount == "cam":
                on_cam = on_cam + self.ahead * moment
            else:
                on_weight = on_weight - self.side * moment  # outward
        one_weight, through = self._weight_and_contact(q)
        springs = on_cam + (on_weight * through(q) if np.any(on_weight) else 0.0)
        return self.weights.count * one_weight * 1e-6, springs

    def _weight_and_contact(self, q):
        """Cam moment of one weight in g·mm² per (rad/s)², and cam moment per weight moment."""
        mass = self.weights.mass_g
        if self.kind == "radius":
            power = mass * self.table(q) * self.table_slope(q)
            return power, lambda q: power / self._outward(q)
        if self.kind == "slot":
            arm = self._pin(q)
            pin = self.weights.pivot_radius_mm + arm
            normal = 1j * self.ahead * pin / abs(pin)
            # N = moment about the pivot / arm of the contact force; the cam gets N · |pin|
            ratio = abs(pin) / (-self.side * cross(arm, normal))
        elif self.kind == "link":
            arm, foot = self._pin(q), self._foot(q)
            along = foot - self.weights.pivot_radius_mm - arm
            ratio = self.ahead * cross(foot, along) / (-self.side * cross(arm, along))
        elif self.kind == "swing":
            ratio = self.table_slope(q)
        else:
            ratio = 1.0 / self.linkage.ratio
        return self._outward(q) * ratio, lambda q: ratio

    def _outward(self, q):
        """Moment of the centrifugal force of one weight about its pivot, outward, in g·mm²."""
        swing = self.swing(q)
        rest = math.radians(self.weights.rest_angle_deg)
        if self.kind == "radius":
            rest = self._turn_of_radius(0.0)
        arm = self.weights.cg_mm * unit(self.side * (rest - swing))
        force = self.weights.mass_g * (self.weights.pivot_radius_mm + arm)
        return -self.side * cross(arm, force)

    # Balance ------------------------------------------------------------------------------------

    def net(self, q, omega, sense, moments=None):
        """Net moment in N·mm towards advance at a speed in rad/s; sense +1 rising, −1 falling."""
        weights, springs = self.moments(q) if moments is None else moments
        resist = self.m.heel_drag_nmm + sense * self.m.stick_nmm
        return weights * omega**2 * (1.0 - sense * self.m.grip) + springs - resist

    def advance_deg(
        self, speed_rpm: float, direction: str = "rising", close_to_deg: float | None = None
    ) -> float:
        """Advance in degrees at a distributor speed, coming from rest or from the stop.

        ``close_to_deg`` is a place to look at closely: a hump too narrow for the even grid.
        """
        omega, sense = speed_rpm * RPM, 1.0 if direction == "rising" else -1.0
        grid, moments = self.scan_q, self.scan
        if close_to_deg is not None:
            grid = self._closer(close_to_deg)
            moments = self.moments(grid)
        # Moment against further motion: below zero the weights are driven on.
        against = -sense * self.net(grid, omega, sense, moments)
        if direction == "falling":
            against, grid = against[::-1], grid[::-1]

        def held(q: float) -> float:
            return -sense * float(self.net(q, omega, sense))

        stays = np.flatnonzero(against > 0)
        first = stays[0] if len(stays) else len(grid)
        for i in self._humps(against[: first + 1]):
            low, high = sorted((grid[i - 1], grid[i + 1]))
            top = minimize_scalar(
                lambda q: -held(q), bounds=(low, high), method="bounded", options={"xatol": 1e-13}
            )
            if top.fun < 0:
                return self._root(held, grid[i - 1], float(top.x))
        if first == len(grid):
            return math.degrees(float(self.cam(grid[-1])))
        if first == 0:
            return math.degrees(float(self.cam(grid[0])))
        return self._root(held, grid[first - 1], grid[first])

    def _closer(self, cam_deg: float):
        """The grid with states crowding towards one cam angle."""
        near = np.logspace(-9, -2, 60) * self.q_stop
        at = self.state_at(math.radians(cam_deg))
        more = np.concatenate([at - near, [at], at + near])
        return np.unique(np.clip(np.concatenate([self.scan_q, more]), 0.0, self.q_stop))

    @staticmethod
    def _humps(values):
        """Places inside at which the values have a maximum that is still below zero."""
        middle = values[1:-1]
        return np.flatnonzero((middle >= values[:-2]) & (middle >= values[2:]) & (middle <= 0)) + 1

    def _root(self, held, before: float, after: float) -> float:
        if held(before) * held(after) > 0:  # states so close that rounding decides
            return math.degrees(float(self.cam(after)))
        return math.degrees(float(self.cam(brentq(held, before, after, xtol=1e-15))))

    def _states_to_scan(self):
        """An even grid, the states just before and after every take-up, the table's own points."""
        grid = np.linspace(0.0, self.q_stop, _SCAN + 1)
        found = list(self.table.x) if self.kind in ("swing", "radius") else []
        for spring in self.m.springs:
            taken_up = spring.free_length_mm + spring.slack_mm

            def beyond(q, spring=spring, taken_up=taken_up):
                return abs(self.span(spring, q)[1]) - taken_up

            signs = beyond(grid) > 0
            for i in np.flatnonzero(signs[1:] != signs[:-1]):
                root = brentq(lambda q: float(beyond(q)), grid[i], grid[i + 1], xtol=1e-15)
                found += [root - 1e-12, root + 1e-12]
        return np.unique(np.clip(np.concatenate([grid, found]), 0.0, self.q_stop))

    def advance_by_root_deg(self, speed_rpm: float, sense: float) -> float:
        """Advance in degrees where speed only ever climbs with it: one bracket, rest to stop."""
        omega = float(speed_rpm) * RPM
        if self.net(0.0, omega, sense) <= 0:
            return 0.0
        if self.net(self.q_stop, omega, sense) >= 0:
            return self.m.stop_deg
        root = brentq(lambda q: self.net(q, omega, sense), 0.0, self.q_stop, xtol=1e-9)
        return math.degrees(self.cam(root))

    def speed_rpm(self, q: float, sense: float) -> float:
        """Speed at which the net moment vanishes at a state; 0 where the springs do not hold."""
        weights, springs = self.moments(q)
        resist = self.m.heel_drag_nmm + sense * self.m.stick_nmm - springs
        return math.sqrt(max(resist / (weights * (1 - sense * self.m.grip)), 0.0)) / RPM

    def state_at(self, cam_rad: float) -> float:
        """The state at a cam angle."""
        if self.kind == "constant":
            return cam_rad / self.linkage.ratio
        if self.kind not in ("slot", "link"):
            return cam_rad
        low, high = 0.0, self.q_stop
        if cam_rad >= float(self.cam(high)):
            return high
        if cam_rad <= 0.0:
            return low
        return brentq(lambda q: self.cam(q) - cam_rad, low, high, xtol=1e-15)
