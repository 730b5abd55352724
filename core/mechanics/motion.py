"""How the weights of a unit move with the cam: each its own swing, and the pull of all together.

Weights that are alike share one linkage, so that a unit of like weights costs no more than one.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from bobweight.core.docket.mechanism import Mechanism, Spring
from bobweight.core.mechanics.builds import Array, Builds, unlike_weights
from bobweight.core.mechanics.link import RigidLink
from bobweight.core.mechanics.linkage import PinInSlot, linkage_of
from bobweight.core.mechanics.linkage_kind import Angle, LinkageKind


class Swing(NamedTuple):
    """Turn θ of the cam; swing φ and dφ/dθ of every weight, in the order of the weights."""

    cam: Angle
    weights: tuple[Angle, ...]
    slope: tuple[Array, ...]

    @property
    def phi_rad(self) -> tuple[Array, ...]:
        """Swing of every weight in radians."""
        return tuple(weight.rad for weight in self.weights)


class Motion:
    """The weights of the builds.

    Attributes
    ----------
    linkages : list of LinkageKind
        One a weight; alike weights share one.
    """

    def __init__(self, builds: Builds):
        weights = builds.mechanism.weights
        learned = builds.mechanism.linkage.kind == "learned"
        unlike = [] if learned else unlike_weights(builds.mechanism)
        alike = weights.count_taken - len(unlike)
        self.builds = builds
        shared = linkage_of(builds.of_weight(None, alike)) if alike else None
        self.groups = [shared] if shared is not None else []
        self.linkages: list[LinkageKind] = []
        for index in range(weights.count_taken):
            kind = shared
            if index in unlike:
                kind = linkage_of(builds.of_weight(index, 1))
                self.groups.append(kind)
            assert kind is not None
            self.linkages.append(kind)
        self.bends_rad = self.linkages[0].bends_rad

    def at(self, theta_rad: Array) -> Swing:
        """Every weight's swing at a cam angle; NaN beyond the reach of its linkage."""
        cam = Angle(rad=theta_rad)
        of_group = {kind: kind.swing(cam) for kind in self.groups}
        weights, slope = zip(*(of_group[kind] for kind in self.linkages), strict=True)
        return Swing(cam, weights, slope)

    def inertia_slope(self, theta_rad: Array, swing: Swing) -> Array:
        """J'(θ) of all weights together, in g·mm² per radian of cam."""
        parts = []
        for kind in self.groups:
            index = self.linkages.index(kind)
            parts.append(kind.inertia_slope(theta_rad, swing.weights[index], swing.slope[index]))
        return parts[0] if len(parts) == 1 else sum(parts[1:], parts[0])

    def side(self, index: int) -> Array:
        """+1 where a weight's own frame turns with advance, −1 where it is its mirror image.

        The frame has +y on the side of the centre of gravity at rest. With a pin in a slot or a
        link the geometry decides; otherwise the docket says whether the weight lies behind its
        pivot (swinging out then moves it ahead) or ahead of it.
        """
        kind = self.linkages[index]
        if isinstance(kind, PinInSlot | RigidLink):
            return kind.sign
        return -1.0 if self.builds.mechanism.linkage.lies == "behind" else 1.0

    def place_rad(self, index: int) -> Array:
        """Polar angle of a weight's pivot from that of the first weight."""
        each = self.builds.mechanism.weights.each
        if index < len(each) and each[index].place_deg is not None:
            return np.radians(self.builds.value("weights", "each", index, "place_deg"))
        return 2.0 * np.pi * index / self.builds.mechanism.weights.count_taken


def own_weight(mechanism: Mechanism, spring: Spring) -> int:
    """Index of the weight that a spring belongs to."""
    return (spring.weight - 1) % mechanism.weights.count_taken


def next_weight(mechanism: Mechanism, index: int) -> int:
    """The weight after this one round the shaft: what "the next weight" means."""
    return (index + 1) % mechanism.weights.count_taken
