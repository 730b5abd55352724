"""The questions that every kind of linkage answers.

Angles in radians; every argument and result broadcasts against the values of the builds, shape
(builds, 1, 1).
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.mechanics.builds import Array, Builds
from bobweight.core.mechanics.weights import inertia_slope
from bobweight.core.problems import Problem

LEAST_APART = 1e-6
"""Measured points nearer to each other than this, in degrees or millimetres, are not apart."""


class Angle:
    """An angle by its radians, or by its cosine and sine, of which lengths, levers and pulls are
    made; what is not known is worked out once, when it is first asked for."""

    def __init__(self, **known: Array):
        self.__dict__.update(known)

    @cached_property
    def rad(self) -> Array:
        """In radians, between −π and π where it was not given."""
        return np.arctan2(self.sine, self.cosine)

    @cached_property
    def cosine(self) -> Array:
        """Its cosine."""
        return np.cos(self.rad)

    @cached_property
    def sine(self) -> Array:
        """Its sine."""
        return np.sin(self.rad)

    def each(self, part: Callable[[Array], Array]) -> Angle:
        """A part of what is known of it."""
        return Angle(**{name: part(value) for name, value in self.__dict__.items()})

    @classmethod
    def short_of(cls, turn_rad: Array, x: Array, y: Array, radius: Array) -> Angle:
        """The angle by which a vector (x, y) of this length is short of a polar angle."""
        along, aside = np.cos(turn_rad) / radius, np.sin(turn_rad) / radius
        return cls(cosine=along * x + aside * y, sine=aside * x - along * y)

    def onto(self, cosine: Array, sine: Array, way: Array = 1.0) -> Angle:
        """Another angle, by these, with this one added ``way`` times: 1 or −1. With a factor before
        both of them it stands before both of what is found."""
        return Angle(
            cosine=cosine * self.cosine - (way * sine) * self.sine,
            sine=sine * self.cosine + (way * cosine) * self.sine,
        )


class LinkageKind:
    """What every kind of linkage answers.

    ``needs`` names the fields of the linkage and ``weight_needs`` those of the weights without
    which it cannot be computed; ``bends_rad`` are cam angles at which its motion is not smooth.
    """

    needs: tuple[str, ...] = ()
    weight_needs: tuple[str, ...] = ("mass_g", "pivot_radius_mm", "cg_mm", "rest_angle_deg")
    bends_rad: np.ndarray = np.empty(0)

    def __init__(self, builds: Builds):
        self.builds = builds

    def swing(self, cam: Angle) -> tuple[Angle, Array]:
        """Swing φ and dφ/dθ at a cam angle; NaN beyond the linkage's reach."""
        raise NotImplementedError

    def cam(self, phi_rad: Array) -> Array:
        """The cam angle θ in radians at a swing: the inverse of :meth:`swing`."""
        raise NotImplementedError

    def inertia_slope(self, theta_rad: Array, swing: Angle, swing_slope: Array) -> Array:
        """J'(θ) of all weights together, in g·mm² per radian of cam."""
        return inertia_slope(self.builds, swing.cosine, swing.sine, swing_slope)

    @staticmethod
    def problems(mechanism: Mechanism) -> list[Problem]:
        """What is wrong with the linkage's own values, once none is missing."""
        return []


class ConstantRatio(LinkageKind):
    """θ = i·φ: a curved flank of the weight rolling on the cam foot, to first order."""

    needs = ("ratio",)

    def __init__(self, builds: Builds):
        super().__init__(builds)
        self.ratio = builds.value("linkage", "ratio")

    def swing(self, cam: Angle) -> tuple[Angle, Array]:
        slope = 1.0 / self.ratio
        return Angle(rad=cam.rad * slope), slope

    def cam(self, phi_rad: Array) -> Array:
        return phi_rad * self.ratio


def wrapped(angle_rad: Array) -> Array:
    """The same angle between −π and π."""
    return angle_rad - 2 * np.pi * np.round(angle_rad / (2 * np.pi))
