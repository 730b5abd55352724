"""How far a weight has swung when the cam stands θ ahead, and what that does to the inertia.

Each kind of linkage is a class with the same three questions. Angles in radians; every argument and
result broadcasts against the values of the builds, shape (builds, 1, 1).

To add a kind: its fields in :mod:`core.docket.mechanism`, a class here, a line in :data:`KINDS`.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.mechanics.assumed import AssumedPull
from bobweight.core.mechanics.builds import Array, Builds
from bobweight.core.mechanics.learned import LearnedLinkage
from bobweight.core.mechanics.link import RigidLink
from bobweight.core.mechanics.linkage_kind import (
    ONE,
    Angle,
    ConstantRatio,
    LinkageKind,
    complex_of,
    in_common,
    taken,
)
from bobweight.core.mechanics.monotone import MonotoneCubic
from bobweight.core.problems import required


class PinInSlot(LinkageKind):
    """A pin on the weight in a radial slot of the cam foot.

    The pin moves on a circle of radius a about the pivot; the slot is a ray from the shaft. The
    ray meets the circle at ρ = R cos ψ ± √(a² − R² sin² ψ), on the branch of the rest position.
    """

    needs = ("pin_radius_mm", "pin_angle_deg")

    def __init__(self, builds: Builds):
        super().__init__(builds)
        self.pivot = builds.value("weights", "pivot_radius_mm")
        self.pin = builds.value("linkage", "pin_radius_mm")
        offset = np.radians(builds.value("linkage", "pin_angle_deg"))
        self.turn_0 = np.radians(builds.value("weights", "rest_angle_deg")) + offset
        self._rest = np.exp(1j * self.turn_0)
        pin = self.pivot + self.pin * self._rest
        radius = abs(pin)
        self._ray_0, self._over = np.asarray(pin.conj() / radius), np.asarray(self.pivot / self.pin)
        # dψ/dturn has the sign of a + R cos turn; outward swing lowers the turn of the pin
        self.sign = in_common(np.where(self.pin + self.pivot * self._rest.real > 0, -1.0, 1.0))
        side = np.where(radius >= self.pivot * self._ray_0.real, 1.0, -1.0)
        self._branch, self._back = np.asarray(in_common(side)), np.asarray(-self.sign)
        self._slope = np.asarray(self._back * self._over)

    def swing(self, cam: Angle) -> tuple[Angle, Array]:
        ray = self._ray_0 * taken(cam.unit, -self.sign)  # the slot, at −ψ
        # The pin from the pivot lies at ψ and a further angle, of sine R sin ψ / a.
        aside = self._over * ray.imag
        with np.errstate(divide="ignore", invalid="ignore"):
            along = self._branch * np.sqrt(ONE - aside * aside)
            # dψ/dturn = a (a + R cos turn) / ρ², where a (a + R cos turn) = ± ρ √(…)
            slope = self._back + self._slope * ray.real / along
        return Angle(unit=self._rest * (complex_of(along, aside) * ray)), slope

    def cam(self, phi_rad: Array) -> Array:
        pin = self.pivot + self.pin * np.exp(1j * (self.turn_0 - phi_rad))
        return np.asarray(self.sign * np.angle(pin * self._ray_0))


class MeasuredSwing(LinkageKind):
    """Pairs (cam angle, swing) off the bench, joined by a monotone cubic (PCHIP)."""

    def __init__(self, builds: Builds):
        super().__init__(builds)
        points = builds.mechanism.linkage.points
        self.table = MonotoneCubic(
            np.radians([required(point.cam_deg) for point in points]),
            np.radians([required(point.swing_deg) for point in points]),
        )
        self.bends_rad = self.table.at

    def swing(self, cam: Angle) -> tuple[Angle, Array]:
        phi, slope = self.table.both(cam.rad)
        return Angle(rad=phi), slope

    def cam(self, phi_rad: Array) -> Array:
        return self.table.inverse(phi_rad)


class MeasuredRadius(LinkageKind):
    """Pairs (cam angle, radius of the centre of gravity): J = n m r², so J' = 2 n m r dr/dθ.

    The swing follows from r² = R² + c² + 2 R c cos α at every angle, not only at the measured
    ones, so that weights and springs see one and the same motion. Where pivot and centre are not
    known it is NaN, which only a spring on a weight and the drawing would need.
    """

    weight_needs = ("mass_g",)

    def __init__(self, builds: Builds):
        super().__init__(builds)
        points = builds.mechanism.linkage.points
        radius = np.array([point.radius_mm for point in points], dtype=float)
        at = np.radians([required(point.cam_deg) for point in points])
        self.table = MonotoneCubic(at, radius)
        self.bends_rad = self.table.at
        pivot, cg = builds.value("weights", "pivot_radius_mm"), builds.value("weights", "cg_mm")
        self.has_swing = pivot is not None and cg is not None
        if self.has_swing:
            self.fixed_mm2, self.turned_mm2 = pivot**2 + cg**2, 2.0 * pivot * cg
            self.alpha_0 = self._alpha(radius[0])

    def _alpha(self, radius_mm: Array) -> Array:
        cosine = (np.square(radius_mm) - self.fixed_mm2) / self.turned_mm2
        return np.arccos(np.clip(cosine, -1.0, 1.0))

    def swing(self, cam: Angle) -> tuple[Angle, Array]:
        if not self.has_swing:
            unknown = np.full(np.shape(cam.rad), np.nan)
            return Angle(rad=unknown), unknown
        radius, radius_slope = self.table.both(cam.rad)
        alpha = self._alpha(radius)
        with np.errstate(divide="ignore", invalid="ignore"):
            slope = 2.0 * radius * radius_slope / (self.turned_mm2 * np.sin(alpha))
        return Angle(rad=self.alpha_0 - alpha), slope

    def cam(self, phi_rad: Array) -> Array:
        alpha = self.alpha_0 - phi_rad
        square = self.fixed_mm2 + self.turned_mm2 * np.cos(alpha)
        # Beyond straight out the radius falls again: no cam angle belongs to such a swing.
        radius = np.sqrt(np.where((alpha >= 0) & (square >= 0), square, np.nan))
        return self.table.inverse(radius)

    def inertia_slope(self, theta_rad: Array, swing: Angle, swing_slope: Array) -> Array:
        weights = 2.0 * self.builds.weights * self.builds.value("weights", "mass_g")
        radius, radius_slope = self.table.both(theta_rad)
        found: Array = weights * radius * radius_slope
        return found


KINDS: dict[str, type[LinkageKind]] = {
    "constant": ConstantRatio,
    "slot": PinInSlot,
    "link": RigidLink,
    "measured": MeasuredSwing,
    "learned": LearnedLinkage,
    "assumed": AssumedPull,  # never stored: see core.judgement.assume
}


def linkage_class(mechanism: Mechanism) -> type[LinkageKind]:
    """The class of a mechanism's linkage."""
    linkage = mechanism.linkage
    if linkage.kind == "measured" and linkage.measured_as == "radius":
        return MeasuredRadius
    return KINDS[linkage.kind]


def linkage_of(builds: Builds) -> LinkageKind:
    """The linkage of the builds, ready to be asked."""
    return linkage_class(builds.mechanism)(builds)
