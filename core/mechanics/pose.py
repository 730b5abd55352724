"""Where everything stands when the cam is θ ahead: what the plan view draws.

Base-plate frame seen from above, mm, x to the right and y up, advance counter-clockwise, the first
weight's pivot on the x axis.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.frozen import frozen
from bobweight.core.latest import Latest
from bobweight.core.mechanics.balance import Balance, balance_of
from bobweight.core.mechanics.builds import of_one_weight
from bobweight.core.mechanics.link import RigidLink
from bobweight.core.mechanics.linkage import PinInSlot
from bobweight.core.mechanics.motion import Motion, Swing, own_weight
from bobweight.core.problems import required

Point = tuple[float, float]


@frozen
class WeightPose:
    """One weight. ``pin_xy`` is None where the linkage has no pin, ``foot_pin_xy`` where it has no
    link to the cam foot; ``side`` is +1 where its own frame turns with advance."""

    pivot_xy: Point
    cg_xy: Point
    pin_xy: Point | None
    foot_pin_xy: Point | None
    swing_deg: float
    side: float


@frozen
class SpringPose:
    """One spring between its post and its peg."""

    post_xy: Point
    peg_xy: Point
    length_mm: float
    taken_up_mm: float
    engaged: bool
    force_n: float
    stretch_mm: float


@frozen
class Pose:
    """The mechanism at one cam angle."""

    cam_deg: float
    stop_deg: float
    weights: tuple[WeightPose, ...]
    springs: tuple[SpringPose, ...]
    extent_mm: float


_MOST_POSES = 50
_poses: Latest[dict[float, Pose]] = Latest()
"""Poses of the mechanism asked for last: its drawing, dimensions and faults ask for the same."""


def pose(mechanism: Mechanism, theta_deg: float) -> Pose:
    """Positions of weights and springs in mm at a cam angle in degrees.

    The mechanism must have no grave problem. Weights whose place is not known (a linkage measured
    by radius without a pivot) are left out.
    """
    poses = _poses.of(mechanism, make=dict)
    found = poses.get(theta_deg)
    if found is None:
        if len(poses) >= _MOST_POSES:
            poses.clear()
        found = poses[theta_deg] = _pose(mechanism, theta_deg)
    return found


def _pose(mechanism: Mechanism, theta_deg: float) -> Pose:
    balance = balance_of(mechanism)
    theta = np.radians(theta_deg)
    swing = balance.motion.at(np.array([[[theta]]]))
    weights = _weights(balance, theta, swing)
    springs = tuple(_spring(balance, i, theta, swing) for i in range(len(mechanism.springs)))
    points = [p for w in weights for p in (w.pivot_xy, w.cg_xy)]
    points += [p for s in springs for p in (s.post_xy, s.peg_xy)]
    extent = max((float(np.hypot(*p)) for p in points), default=20.0)
    return Pose(theta_deg, float(np.degrees(balance.end_rad)), weights, springs, extent)


def _weights(balance: Balance, theta: float, swing: Swing) -> tuple[WeightPose, ...]:
    poses = []
    for index, kind in enumerate(balance.motion.linkages):
        own = of_one_weight(balance.builds.mechanism, _own_row(balance, index))
        weights, linkage = own.weights, own.linkage
        radius, cg_mm, rest_deg = weights.pivot_radius_mm, weights.cg_mm, weights.rest_angle_deg
        phi = float(np.reshape(swing.phi_rad[index], -1)[0])
        if radius is None or cg_mm is None or rest_deg is None or not np.isfinite(phi):
            return ()
        frame = weight_frame(balance.motion, index)
        alpha = np.radians(rest_deg) - phi
        pin = foot_pin = None
        if isinstance(kind, PinInSlot | RigidLink):
            turn = alpha + np.radians(required(linkage.pin_angle_deg))
            pin = frame.point(radius + required(linkage.pin_radius_mm) * np.exp(1j * turn))
        if isinstance(kind, RigidLink):
            chi = float(np.reshape(kind.foot_angle(theta), -1)[0])
            foot_pin = frame.point(required(linkage.foot_radius_mm) * np.exp(1j * chi))
        cg = frame.point(radius + cg_mm * np.exp(1j * alpha))
        swung = float(np.degrees(phi))
        poses.append(WeightPose(frame.point(radius), cg, pin, foot_pin, swung, frame.side))
    return tuple(poses)


def _own_row(balance: Balance, index: int) -> int | None:
    each = balance.builds.mechanism.weights.each
    return index if index < len(each) else None


def _spring(balance: Balance, index: int, theta: float, swing: Swing) -> SpringPose:
    spring, path = balance.builds.mechanism.springs[index], balance.paths[index]
    frame = Frame(0.0, 1.0)
    if spring.hangs_on_weight:
        own = own_weight(balance.builds.mechanism, spring)
        frame = weight_frame(balance.motion, own)
    places = (np.reshape(end.place(swing), -1)[0] for end in path.ends)
    post, peg = (frame.point(complex(place)) for place in places)
    length = float(np.reshape(path.length_mm(theta, swing), -1)[0])
    taken_up = float(path.taken_up_mm)
    stretch = max(length - taken_up, 0.0)
    force = float(np.reshape(path.force_n(theta, swing), -1)[0])
    return SpringPose(post, peg, length, taken_up, stretch > 0, force, stretch)


@frozen
class Frame:
    """A weight's own frame in the base plate's: turned, and mirrored where ``side`` is −1."""

    turn_rad: float
    side: float

    def point(self, place: complex) -> Point:
        """A place of this frame in the base plate's."""
        own = complex(place.real, place.imag * self.side) * np.exp(1j * self.turn_rad)
        return float(own.real), float(own.imag)


def weight_frame(motion: Motion, index: int) -> Frame:
    """The own frame of a weight."""
    place, side = (np.reshape(a, -1)[0] for a in (motion.place_rad(index), motion.side(index)))
    return Frame(float(place), float(side))
