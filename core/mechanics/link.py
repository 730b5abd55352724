"""A rigid link from a pin on the weight to a pin on the cam foot.

Weight's own frame: shaft at the origin, pivot on the x axis at R, +y on the side of the centre of
gravity at rest. The weight's pin P turns about the pivot at radius a, the foot's pin F about the
shaft at radius r, and the link keeps them ℓ apart. Given one pin, the other is where two circles
meet; of the two meeting points the motion keeps the one it has at rest.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.mechanics.builds import Array, Builds
from bobweight.core.mechanics.linkage_kind import (
    Angle,
    LinkageKind,
    complex_of,
    in_common,
    taken,
    wrapped,
)
from bobweight.core.problems import Problem, required

_LEAST_TURN = 1e-6  # cam turn per weight turn at rest below which the link is in line


class RigidLink(LinkageKind):
    """Both swing and cam angle in closed form; NaN beyond the dead points.

    ``sign`` is +1 where advance is counter-clockwise in the weight's frame: the way the foot goes
    when the weight swings outward.
    """

    needs = ("pin_radius_mm", "pin_angle_deg", "foot_radius_mm", "link_mm", "foot_side")

    def __init__(self, builds: Builds):
        super().__init__(builds)
        self.pivot = builds.value("weights", "pivot_radius_mm")
        self.pin = builds.value("linkage", "pin_radius_mm")
        self.foot = builds.value("linkage", "foot_radius_mm")
        self.link = builds.value("linkage", "link_mm")
        offset = np.radians(builds.value("linkage", "pin_angle_deg"))
        self.turn_0 = np.radians(builds.value("weights", "rest_angle_deg")) + offset
        self.side = 1.0 if builds.mechanism.linkage.foot_side == "cg" else -1.0
        self.chi_0 = self._foot_angle(self.turn_0)
        self._rest, self._foot_0 = np.exp(1j * self.turn_0), np.asarray(np.exp(1j * self.chi_0))
        arm, foot, link = self._vectors(self._rest, self._foot_0)
        across_arm = _cross(arm, link)
        with np.errstate(invalid="ignore", divide="ignore"):
            # dχ/dturn = (P − Q) × e / (F × e); outward swing lowers the turn
            outward = np.where(across_arm * _cross(foot, link) > 0, -1.0, 1.0)
        self.sign = in_common(outward)
        # with the link as base: the pin's turn lies to this side of the line pivot → foot pin
        self.bend = in_common(np.where(across_arm > 0, 1.0, -1.0))

    def foot_angle(self, theta_rad: Array) -> Array:
        """Polar angle of the foot's pin in the weight's own frame."""
        return self.chi_0 + self.sign * theta_rad

    def swing(self, cam: Angle) -> tuple[Angle, Array]:
        chi = self._foot_0 * taken(cam.unit, self.sign)
        base = self.foot * chi - self.pivot  # pivot to foot's pin
        apart = abs(base)
        with np.errstate(invalid="ignore", divide="ignore"):
            cosine = (self.pin**2 + apart**2 - self.link**2) / (2.0 * self.pin * apart)
            sine = self.bend * np.sqrt(1.0 - cosine * cosine)
            turn = complex_of(cosine, sine) * (base / apart)
            arm, foot, link = self._vectors(turn, chi)
            slope = -self.sign * _cross(foot, link) / _cross(arm, link)
        return Angle(unit=self._rest * turn.conj()), slope

    def cam(self, phi_rad: Array) -> Array:
        return self.sign * wrapped(self._foot_angle(self.turn_0 - phi_rad) - self.chi_0)

    def _foot_angle(self, turn: Array) -> Array:
        pin = self.pivot + self.pin * np.exp(1j * turn)
        radius = abs(pin)
        with np.errstate(invalid="ignore", divide="ignore"):
            cosine = (radius**2 + self.foot**2 - self.link**2) / (2.0 * radius * self.foot)
            return np.asarray(np.angle(pin) + self.side * np.arccos(cosine))

    def _vectors(self, turn: Array, chi: Array) -> tuple[Array, Array, Array]:
        """Pivot to weight's pin, shaft to foot's pin, foot's pin to weight's pin, from the complex
        numbers of size 1 that lie at the two angles."""
        arm, foot = self.pin * turn, self.foot * chi
        return arm, foot, self.pivot + arm - foot

    @staticmethod
    def problems(mechanism: Mechanism) -> list[Problem]:
        weights, linkage = mechanism.weights, mechanism.linkage
        turn = np.radians(required(weights.rest_angle_deg) + required(linkage.pin_angle_deg))
        pivot_mm, pin_mm = required(weights.pivot_radius_mm), required(linkage.pin_radius_mm)
        foot_mm, link_mm = required(linkage.foot_radius_mm), required(linkage.link_mm)
        radius = float(np.hypot(pivot_mm + pin_mm * np.cos(turn), pin_mm * np.sin(turn)))
        least, most = abs(radius - foot_mm), radius + foot_mm
        place = ("linkage", "link_mm")
        if not least <= link_mm <= most:
            facts = {"value": link_mm, "least": least, "most": most, "unit": "mm"}
            return [Problem("link-does-not-reach", place, facts)]
        kind = RigidLink(Builds(mechanism))
        arm, foot, link = kind._vectors(kind._rest, kind._foot_0)
        turns = abs(float(_cross(arm, link))), abs(float(_cross(foot, link)))
        if not min(turns) > _LEAST_TURN * link_mm * max(turns):
            return [Problem("link-in-line", place, {"value": link_mm, "unit": "mm"})]
        return []


def _cross(a: Array, b: Array) -> Array:
    return a.real * b.imag - a.imag * b.real
