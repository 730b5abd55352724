"""Where everything stands when the cam is θ ahead: what the plan view draws.

Base-plate frame seen from above, mm, x to the right and y up, advance counter-clockwise. Weights
stand evenly round the shaft, the first pivot on the x axis.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.mechanics.balance import Balance
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.link import RigidLink
from bobweight.core.mechanics.linkage import PinInSlot
from bobweight.core.mechanics.springs import post_place

Point = tuple[float, float]


@dataclass(frozen=True)
class WeightPose:
    """One weight. ``pin_xy`` is None where the linkage has no pin, ``foot_pin_xy`` where it has no
    link to the cam foot."""

    pivot_xy: Point
    cg_xy: Point
    pin_xy: Point | None
    foot_pin_xy: Point | None
    swing_deg: float


@dataclass(frozen=True)
class SpringPose:
    """One spring between its post and its peg."""

    post_xy: Point
    peg_xy: Point
    length_mm: float
    taken_up_mm: float
    engaged: bool
    force_n: float
    stretch_mm: float


@dataclass(frozen=True)
class Pose:
    """The mechanism at one cam angle."""

    cam_deg: float
    stop_deg: float
    weights: tuple[WeightPose, ...]
    springs: tuple[SpringPose, ...]
    extent_mm: float


def pose(mechanism: Mechanism, theta_deg: float) -> Pose:
    """Positions of weights and springs in mm at a cam angle in degrees.

    The mechanism must have no grave problem. Weights whose place is not known (a linkage measured
    by radius without a pivot) are left out.
    """
    builds = Builds(mechanism)
    balance = Balance(builds)
    theta = np.radians(theta_deg)
    phi = float(np.reshape(balance.linkage.swing(np.array([[[theta]]]))[0], -1)[0])
    side = _advance_side(balance)
    weights = _weights(mechanism, balance, theta, phi, side)
    springs = tuple(
        _spring(mechanism, balance, index, theta, phi, side)
        for index in range(len(mechanism.springs))
    )
    points = [p for w in weights for p in (w.pivot_xy, w.cg_xy)]
    points += [p for s in springs for p in (s.post_xy, s.peg_xy)]
    extent = max((float(np.hypot(*p)) for p in points), default=20.0)
    return Pose(theta_deg, mechanism.stop_deg, weights, springs, extent)


def _advance_side(balance: Balance) -> float:
    """+1 where a weight's own frame turns with advance, −1 where it is its mirror image.

    The frame has +y on the side of the centre of gravity at rest. With a pin in a slot or a link
    the geometry decides; otherwise a weight is drawn trailing, so that swinging out moves it ahead.
    """
    if isinstance(balance.linkage, PinInSlot | RigidLink):
        return float(np.reshape(balance.linkage.sign, -1)[0])
    return -1.0


def _weights(
    mechanism: Mechanism, balance: Balance, theta: float, phi: float, side: float
) -> tuple[WeightPose, ...]:
    weights, linkage = mechanism.weights, mechanism.linkage
    known = (weights.pivot_radius_mm, weights.cg_mm, weights.rest_angle_deg)
    if any(value is None for value in known) or not np.isfinite(phi):
        return ()
    alpha = np.radians(weights.rest_angle_deg) - phi
    poses = []
    for index in range(weights.count):
        place = _Frame(2 * np.pi * index / weights.count, side)
        pivot = place.point(weights.pivot_radius_mm, 0.0)
        cg = place.from_pivot(weights.pivot_radius_mm, weights.cg_mm, alpha)
        pin = foot_pin = None
        if isinstance(balance.linkage, PinInSlot | RigidLink):
            turn = alpha + np.radians(linkage.pin_angle_deg)
            pin = place.from_pivot(weights.pivot_radius_mm, linkage.pin_radius_mm, turn)
        if isinstance(balance.linkage, RigidLink):
            chi = float(np.reshape(balance.linkage.foot_angle(theta), -1)[0])
            foot = linkage.foot_radius_mm
            foot_pin = place.point(foot * np.cos(chi), foot * np.sin(chi))
        poses.append(WeightPose(pivot, cg, pin, foot_pin, float(np.degrees(phi))))
    return tuple(poses)


def _spring(
    mechanism: Mechanism, balance: Balance, index: int, theta: float, phi: float, side: float
) -> SpringPose:
    spring, path = mechanism.springs[index], balance.paths[index]
    radius, angle = post_place(balance.builds, index)
    if spring.mount == "weight":
        of_mount = [i for i, s in enumerate(mechanism.springs) if s.mount == "weight"].index(index)
        weight = of_mount % mechanism.weights.count
        place = _Frame(2 * np.pi * weight / mechanism.weights.count, side)
        turn = np.radians(mechanism.weights.rest_angle_deg) - phi
        turn += np.radians(spring.peg_angle_deg)
        peg = place.from_pivot(mechanism.weights.pivot_radius_mm, spring.peg_radius_mm, turn)
        post = place.point(radius * np.cos(angle), radius * np.sin(angle))
    else:
        place = _Frame(0.0, 1.0)
        post = place.point(radius * np.cos(angle), radius * np.sin(angle))
        turn = np.radians(spring.peg_angle_deg) + theta
        peg = place.point(spring.peg_radius_mm * np.cos(turn), spring.peg_radius_mm * np.sin(turn))
    length = float(np.reshape(path.length_mm(theta, phi), -1)[0])
    stretch = max(length - path.taken_up_mm, 0.0)
    force = float(np.reshape(path.force_n(theta, phi), -1)[0])
    return SpringPose(post, peg, length, float(path.taken_up_mm), stretch > 0, force, stretch)


class _Frame:
    """A weight's own frame in the base plate's: turned, and mirrored where ``side`` is −1."""

    def __init__(self, turn_rad: float, side: float):
        self.cosine, self.sine, self.side = np.cos(turn_rad), np.sin(turn_rad), side

    def point(self, x: float, y: float) -> Point:
        y = y * self.side
        return (
            float(self.cosine * x - self.sine * y),
            float(self.sine * x + self.cosine * y),
        )

    def from_pivot(self, pivot_radius: float, distance: float, turn: float) -> Point:
        return self.point(pivot_radius + distance * np.cos(turn), distance * np.sin(turn))
