"""A second route to the balance, for tests only: forces as vectors, moments, a bracketed root.

Nothing here comes from ``core.mechanics``. A vector in the plane of the base plate is a complex
number, so that a scalar and an array of states run through the same lines. Each weight hangs on
its pivot under the centrifugal force m ω² r at its centre of gravity and the pulls of its springs;
moments about its own pivot give its contact force, and the contact forces turn the cam:

- pin in a slot: the force is normal to the slot, found from the weight's balance about its pivot;
- rigid link: the force lies along the link, found in the same way;
- constant ratio, swing measured: moments pass in the ratio of the swings;
- radius measured: the power of the centrifugal force, m ω² r dr, gives the moment at the cam.

A spring pulls at both its ends, whatever they stand on; each pull turns the body it acts on about
that body's own axis. Past the stop a rubber pushes the cam back, so much for every degree.

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


class Weight:
    """One weight with its linkage to the cam, in its own frame: pivot on the x axis.

    ``ahead`` is the sense of advance, ``side`` +1 where the weight's own y axis is
    counter-clockwise.
    """

    def __init__(self, mechanism, index: int, ahead: float):
        row = mechanism.weights.each[index] if index < len(mechanism.weights.each) else None

        def own(record, key):
            value = getattr(row, key, None)
            return getattr(record, key) if value is None else value

        weights, linkage = mechanism.weights, mechanism.linkage
        self.ahead, self.linkage = ahead, linkage
        self.kind = linkage.measured_as if linkage.kind == "measured" else linkage.kind
        self.mass, self.pivot, self.cg = (
            own(weights, key) for key in ("mass_g", "pivot_radius_mm", "cg_mm")
        )
        self.rest = math.radians(own(weights, "rest_angle_deg") or 0.0)
        self.ratio, self.pin, self.foot, self.link = (
            own(linkage, key) for key in ("ratio", "pin_radius_mm", "foot_radius_mm", "link_mm")
        )
        self.pin_angle = own(linkage, "pin_angle_deg")
        place = getattr(row, "place_deg", None)
        self.place = 360.0 * index / weights.count if place is None else place
        self.turned = unit(ahead * math.radians(self.place))
        self.side = -ahead if linkage.lies == "behind" else ahead
        if self.kind in ("slot", "link"):
            self.side = 1.0
            if self.foot_moves(1e-7) * ahead < 0:
                self.side = -1.0
        if self.kind in ("swing", "radius"):
            key = "swing_deg" if self.kind == "swing" else "radius_mm"
            cam = np.radians([p.cam_deg for p in linkage.points])
            values = np.array([getattr(p, key) for p in linkage.points], float)
            self.table = PchipInterpolator(
                cam, np.radians(values) if self.kind == "swing" else values
            )
            self.table_slope = self.table.derivative()

    # Geometry -----------------------------------------------------------------------------------

    def pin_from_pivot(self, swing):
        """Vector pivot to pin of the slot or link."""
        turn = self.rest + math.radians(self.pin_angle) - swing
        return self.pin * unit(self.side * turn)

    def held(self, swing):
        """Vector shaft to the point of the cam foot that the weight holds."""
        pin = self.pivot + self.pin_from_pivot(swing)
        if self.kind == "slot":
            return pin
        square = abs(pin) ** 2 + self.foot**2 - self.link**2
        beside = np.arccos(square / (2 * abs(pin) * self.foot))
        way = self.side if self.linkage.foot_side == "cg" else -self.side
        return self.foot * pin / abs(pin) * np.exp(1j * way * beside)

    def foot_moves(self, swing):
        """Polar angle about the shaft by which that point has moved from rest."""
        return np.angle(self.held(swing) / self.held(0.0))

    def cam(self, swing):
        """Cam angle in radians at a swing, for linkages given from the swing."""
        if self.kind == "constant":
            return swing * self.ratio
        return self.ahead * self.foot_moves(swing)

    def swing_at(self, cam_rad: float) -> float:
        """The swing at a cam angle: the first one, coming from rest."""
        if self.kind == "constant":
            return cam_rad / self.ratio
        swing, step = 0.0, 1e-4
        while self.cam(swing + step) < cam_rad:
            swing += step
            if swing > math.pi:
                raise ValueError("the linkage does not reach")
        if self.cam(swing) >= cam_rad:  # rest itself, to rounding
            return swing
        return brentq(lambda s: self.cam(s) - cam_rad, swing, swing + step, xtol=1e-15)

    def swing(self, q):
        """Swing in radians at a state: the swing itself, or looked up in the table."""
        if self.kind == "swing":
            return self.table(q)
        if self.kind == "radius":
            return self.turn_of_radius(0.0) - self.turn_of_radius(q)
        return q

    def turn_of_radius(self, q):
        """Angle pivot to centre of gravity from outward, where two circles meet."""
        cosine = (self.table(q) ** 2 - self.pivot**2 - self.cg**2) / (2 * self.pivot * self.cg)
        return np.arccos(cosine)

    def point(self, distance, angle, swing):
        """A point of the weight, as a vector from its pivot, in the plate's frame."""
        return distance * unit(self.side * (self.rest + angle - swing)) * self.turned

    # Forces -------------------------------------------------------------------------------------

    def outward(self, q):
        """Moment of the centrifugal force about its pivot, outward, in g·mm² per (rad/s)²."""
        rest = self.turn_of_radius(0.0) if self.kind == "radius" else self.rest
        arm = self.cg * unit(self.side * (rest - self.swing(q)))
        return -self.side * cross(arm, self.mass * (self.pivot + arm))

    def cam_moments(self, q):
        """Cam moment in g·mm² per (rad/s)², and cam moment per moment on the weight."""
        if self.kind == "radius":
            power = self.mass * self.table(q) * self.table_slope(q)
            return power, lambda: power / self.outward(q)
        if self.kind == "slot":
            arm = self.pin_from_pivot(q)
            pin = self.pivot + arm
            normal = 1j * self.ahead * pin / abs(pin)
            # N = moment about the pivot / arm of the contact force; the cam gets N · |pin|
            ratio = abs(pin) / (-self.side * cross(arm, normal))
        elif self.kind == "link":
            arm, foot = self.pin_from_pivot(q), self.held(q)
            along = foot - self.pivot - arm
            ratio = self.ahead * cross(foot, along) / (-self.side * cross(arm, along))
        elif self.kind == "swing":
            ratio = self.table_slope(q)
        else:
            ratio = 1.0 / self.ratio
        return self.outward(q) * ratio, lambda: ratio


class Vectors:
    """One mechanism as vectors.

    ``mirrored`` builds it as its mirror image, advancing clockwise. The state ``q`` is the swing
    of the first weight where the linkage gives the cam angle from it, else the cam angle itself.
    """

    def __init__(self, mechanism, mirrored: bool = False):
        self.m = mechanism
        self.ahead = -1.0 if mirrored else 1.0
        count = mechanism.weights.count
        self.weights = [Weight(mechanism, k, self.ahead) for k in range(count)]
        self.first = self.weights[0]
        self.by_swing = self.first.kind not in ("swing", "radius")
        self.alike = not mechanism.weights.each
        self.stop = math.radians(mechanism.stop_deg)
        self.end_deg = mechanism.stop_deg + mechanism.stop_give_taken_deg
        end = math.radians(self.end_deg)
        self.q_stop = self.first.swing_at(end) if self.by_swing else end
        self._tables = None if self.alike or not self.by_swing else self._tabled(end)
        self.scan_q = self._states_to_scan()
        self.scan = self.moments(self.scan_q)

    def _tabled(self, end: float):
        """A start for every other weight's swing: pairs (cam, swing) found one by one."""
        cam = np.linspace(0.0, end, 60)
        return [(cam, np.array([w.swing_at(float(c)) for c in cam])) for w in self.weights]

    def cam(self, q):
        """Cam angle in radians at a state."""
        return self.first.cam(q) if self.by_swing else q

    def states(self, q):
        """The state as each weight has it: its own swing at the same cam angle."""
        if self.alike or not self.by_swing or self.first.kind == "constant":
            if self.first.kind == "constant":
                return [q * self.first.ratio / w.ratio for w in self.weights]
            return [q] * len(self.weights)
        cam, found = self.cam(q), [q]
        for weight, (at, swings) in zip(self.weights[1:], self._tables[1:], strict=True):
            swing = np.interp(cam, at, swings)
            for _ in range(30):  # secant steps; the table is close
                slope = (weight.cam(swing + 1e-6) - weight.cam(swing - 1e-6)) / 2e-6
                step = (cam - weight.cam(swing)) / slope
                swing = swing + step
                if np.max(np.abs(step)) < 1e-15:
                    break
            found.append(swing)
        return found

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
        stretch = length - spring.free_length_mm - spring.slack_taken_mm
        size = spring.tension_taken_n + spring.rate_n_per_mm * stretch
        size = np.where(stretch > 0, size, 0.0) if np.ndim(size) else size * (stretch > 0)
        return size * span / length

    def ends(self, spring, q):
        """Where post and peg are, each as (body, vector from that body's axis, axis)."""
        own = spring.weight - 1
        hung = {"weight", "other"} & {spring.post_on, spring.peg_on}
        way, turned = self.ahead, 1.0
        if hung:
            way, turned = self.weights[own].side, self.weights[own].turned
        states = self.states(q)
        found = []
        peg = spring.peg_radius_mm, math.radians(spring.peg_angle_deg)
        for body, (radius, angle) in ((spring.post_on, self.tang(spring)), (spring.peg_on, peg)):
            if body in ("plate", "cam"):
                arm = radius * unit(way * angle) * turned
                if body == "cam":
                    arm = arm * unit(self.ahead * self.cam(q))
                found.append((body, arm, 0.0))
                continue
            index = own if body == "weight" else (own + 1) % len(self.weights)
            weight = self.weights[index]
            arm = weight.point(radius, angle, weight.swing(states[index]))
            found.append((index, arm, weight.pivot * weight.turned))
        return found

    def span(self, spring, q):
        """Vector from peg to post."""
        (_, post, axis), (_, peg, other_axis) = self.ends(spring, q)
        return post + axis - peg - other_axis

    def moments(self, q):
        """Moments at the cam towards advance in N·mm: weights per (rad/s)², springs and rubber."""
        on_cam = 0.0 * q
        on_weight = [0.0 * q for _ in self.weights]
        for spring in self.m.springs:
            force = self.pull(spring, self.span(spring, q))
            for (body, arm, _), sense in zip(self.ends(spring, q), (-1.0, 1.0), strict=True):
                moment = cross(arm, sense * force)
                if body == "cam":
                    on_cam = on_cam + self.ahead * moment
                elif body != "plate":
                    on_weight[body] = on_weight[body] - self.weights[body].side * moment  # outward
        pressed = np.maximum(self.cam(q) - self.stop, 0.0)
        on_cam = on_cam - self.m.stop_rate_taken_nmm_per_deg * pressed * 180.0 / math.pi
        spun = 0.0 * q
        for weight, moment, state in zip(self.weights, on_weight, self.states(q), strict=True):
            pull, through = weight.cam_moments(state)
            spun = spun + pull
            if np.any(moment):
                on_cam = on_cam + moment * through()
        return spun * 1e-6, on_cam

    # Balance ------------------------------------------------------------------------------------

    def net(self, q, omega, sense, moments=None):
        """Net moment in N·mm towards advance at a speed in rad/s; sense +1 rising, −1 falling."""
        weights, springs = self.moments(q) if moments is None else moments
        resist = self.m.heel_drag_taken_nmm + sense * self.m.stick_taken_nmm
        return weights * omega**2 * (1.0 - sense * self.m.grip_taken) + springs - resist

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
        """An even grid, the states just before and after every take-up, the table's own points and
        the place where a rubber stop is met."""
        grid = np.linspace(0.0, self.q_stop, _SCAN + 1)
        found = [] if self.by_swing else list(self.first.table.x)
        if self.m.stop_give_taken_deg > 0:
            found.append(self.state_at(self.stop))
        for spring in self.m.springs:
            taken_up = spring.free_length_mm + spring.slack_taken_mm

            def beyond(q, spring=spring, taken_up=taken_up):
                return abs(self.span(spring, q)) - taken_up

            signs = beyond(grid) > 0
            for i in np.flatnonzero(signs[1:] != signs[:-1]):
                low, high = grid[i], grid[i + 1]
                if beyond(low) * beyond(high) < 0:
                    root = brentq(lambda q: float(beyond(q)), low, high, xtol=1e-15)
                else:  # so near to one end that rounding decides
                    root = min(low, high, key=lambda q: abs(beyond(q)))
                found += [root - 1e-12, root + 1e-12]
        return np.unique(np.clip(np.concatenate([grid, found]), 0.0, self.q_stop))

    def advance_by_root_deg(self, speed_rpm: float, sense: float) -> float:
        """Advance in degrees where speed only ever climbs with it: one bracket, rest to stop."""
        omega = float(speed_rpm) * RPM
        if self.net(0.0, omega, sense) <= 0:
            return 0.0
        if self.net(self.q_stop, omega, sense) >= 0:
            return self.end_deg
        root = brentq(lambda q: self.net(q, omega, sense), 0.0, self.q_stop, xtol=1e-9)
        return math.degrees(self.cam(root))

    def speed_rpm(self, q: float, sense: float) -> float:
        """Speed at which the net moment vanishes at a state; 0 where the springs do not hold."""
        weights, springs = self.moments(q)
        resist = self.m.heel_drag_taken_nmm + sense * self.m.stick_taken_nmm - springs
        return math.sqrt(max(resist / (weights * (1 - sense * self.m.grip_taken)), 0.0)) / RPM

    def state_at(self, cam_rad: float) -> float:
        """The state at a cam angle."""
        if self.first.kind == "constant":
            return cam_rad / self.first.ratio
        if not self.by_swing:
            return cam_rad
        low, high = 0.0, self.q_stop
        if cam_rad >= float(self.cam(high)):
            return high
        if cam_rad <= 0.0:
            return low
        return brentq(lambda q: self.cam(q) - cam_rad, low, high, xtol=1e-15)
