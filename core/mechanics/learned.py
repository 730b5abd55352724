"""A mechanism learnt from a run with known springs: no weights, only how hard they pull.

log J'(θ) is a cubic spline through the docket's knots. Its uncertainty is kept as a few
independent parts: with each of the linkage's ``shape`` numbers (zero, in standard deviations) the
logarithm moves by that part, so that every use of a mechanism's uncertain values carries it.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.mechanism import LEARNED_SHAPES, Mechanism
from bobweight.core.mechanics.builds import Array, Builds
from bobweight.core.mechanics.linkage_kind import LEAST_APART, Angle, LinkageKind
from bobweight.core.problems import Problem, required

SHAPES = tuple(f"shape_{i + 1}" for i in range(LEARNED_SHAPES))
PARTS = tuple(f"part_{i + 1}" for i in range(LEARNED_SHAPES))
FEWEST_KNOTS = 3


class LearnedLinkage(LinkageKind):
    """J'(θ) as learnt. The swing of the weights is not known: NaN."""

    needs = SHAPES
    weight_needs = ()

    def __init__(self, builds: Builds):
        from scipy import interpolate  # not at the top: a window that opens needs no scipy

        super().__init__(builds)
        knots = builds.mechanism.linkage.learned
        at = np.radians([required(knot.cam_deg) for knot in knots])
        columns = [np.log([required(knot.inertia_slope_g_mm2) for knot in knots])]
        self.shapes = []
        for shape, part in zip(SHAPES, PARTS, strict=True):
            value = builds.value("linkage", shape)
            if np.any(value):
                self.shapes.append(value)
                columns.append(np.array([getattr(knot, part) for knot in knots]))
        kind = "natural" if len(knots) == FEWEST_KNOTS else "not-a-knot"
        self.spline = interpolate.CubicSpline(
            at, np.stack(columns, axis=-1), bc_type=kind, extrapolate=False
        )

    def swing(self, cam: Angle) -> tuple[Angle, Array]:
        unknown = np.full(np.shape(cam.rad), np.nan)
        return Angle(rad=unknown), unknown

    def cam(self, phi_rad: Array) -> Array:
        return np.full(np.shape(phi_rad), np.nan)

    def inertia_slope(self, theta_rad: Array, swing: Angle, swing_slope: Array) -> Array:
        columns = self.spline(theta_rad)
        logarithm = columns[..., 0]
        for index, shape in enumerate(self.shapes, start=1):
            logarithm = logarithm + shape * columns[..., index]
        found: Array = np.exp(logarithm)
        return found

    @staticmethod
    def problems(mechanism: Mechanism) -> list[Problem]:
        for index, spring in enumerate(mechanism.springs):
            if spring.hangs_on_weight:
                return [Problem("learned-spring-on-weight", ("springs", index, "peg_on"))]
        return LearnedLinkage.table_problems(mechanism)

    @staticmethod
    def table_problems(mechanism: Mechanism) -> list[Problem]:
        """What is wrong with what was learnt; what else is blank does not matter."""
        place, knots = ("linkage", "learned"), mechanism.linkage.learned
        if len(knots) < FEWEST_KNOTS:
            return [Problem("not-learned-yet", place, {"count": len(knots), "least": FEWEST_KNOTS})]
        for row, knot in enumerate(knots):
            for key in ("cam_deg", "inertia_slope_g_mm2"):
                if getattr(knot, key) is None:
                    return [Problem("missing", (*place, row, key))]
        if knots[0].cam_deg != 0:
            return [Problem("measured-not-from-rest", (*place, 0, "cam_deg"))]
        for row in range(1, len(knots)):
            here, before = required(knots[row].cam_deg), required(knots[row - 1].cam_deg)
            if here <= before + LEAST_APART:
                facts = {"value": here, "before": before}
                return [Problem("measured-not-rising", (*place, row, "cam_deg"), facts)]
        return []
