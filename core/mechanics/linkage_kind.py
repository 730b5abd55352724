"""The questions that every kind of linkage answers.

Angles in radians; every argument and result broadcasts against the values of the builds, shape
(builds, 1, 1).
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.mechanics.builds import Array, Builds
from bobweight.core.problems import Problem

LEAST_APART = 1e-6
"""Measured points nearer to each other than this, in degrees or millimetres, are not apart."""

_HALF, ONE, _TWO = map(np.array, (0.5, 1.0, 2.0))
"""Numpy takes an array of no axes in half the time of a number."""


class Angle:
    """An angle by its radians, or by the complex number of size 1 that lies at it, of which
    lengths, levers and pulls are made by products; what is not known is worked out once, when it is
    first asked for."""

    def __init__(self, **known: Array):
        self.__dict__.update(known)

    @cached_property
    def rad(self) -> Array:
        """In radians, between −π and π where it was not given."""
        return np.asarray(np.angle(self.unit))

    @cached_property
    def unit(self) -> np.ndarray:
        """Its cosine and sine as a complex number."""
        # By the tangent of the half, t: of the three numpy's tangent is the fastest by far.
        tangent = np.tan(_HALF * self.rad)
        twice = tangent * tangent
        twice += ONE
        np.divide(_TWO, twice, out=twice)  # 2 / (1 + t²) is 1 + cos x, and t times that is sin x
        found = np.empty(tangent.shape, complex)
        np.subtract(twice, ONE, out=found.real)
        np.multiply(tangent, twice, out=found.imag)
        return found


def taken(turned: Array, way: Array) -> Array:
    """A complex number with its angle taken ``way`` times: 1 or −1."""
    if isinstance(way, np.ndarray):
        return np.where(way > 0, turned, np.conj(turned))
    return np.conj(turned) if way < 0 else turned


def complex_of(real: np.ndarray, imag: np.ndarray) -> np.ndarray:
    """An array of complex numbers from their two parts."""
    found = np.empty(real.shape, complex)
    found.real, found.imag = real, imag
    return found


def in_common(values: np.ndarray) -> Array:
    """The one value that all builds have, or their own."""
    first: float = values.flat[0]
    return first if (values == first).all() else values


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
        """J'(θ) of all weights together, in g·mm² per radian of cam.

        J = n [I_g + m (R² + c² + 2 R c cos α)] with α = α₀ − φ, so J' = 2 n m R c sin α · dφ/dθ;
        the inertia about the centre of gravity never enters.
        """
        found: Array = (self._pull_g_mm2 * swing.unit).imag * swing_slope
        return found

    @cached_property
    def _pull_g_mm2(self) -> np.ndarray:
        """Of which the imaginary part, turned by φ, is 2 n m R c sin (α₀ − φ)."""
        value = self.builds.value
        size = 2.0 * self.builds.weights * value("weights", "mass_g")
        size = size * value("weights", "pivot_radius_mm") * value("weights", "cg_mm")
        return np.asarray(-size * np.exp(-1j * np.radians(value("weights", "rest_angle_deg"))))

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
