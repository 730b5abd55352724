"""A mechanism of which not everything is known: usual weights, and a pull that may bend.

To the pull of weights on a constant ratio comes a smooth factor, so that it can follow the curve
of any unit: its logarithm is a sum of Legendre's polynomials over the usual range of advance, each
times one of the linkage's ``shape`` numbers, in standard deviations.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.mechanics.builds import Array
from bobweight.core.mechanics.learned import SHAPES
from bobweight.core.mechanics.linkage_kind import Angle, ConstantRatio

SPREADS = (0.35, 0.25, 0.15, 0.08)
"""Standard deviations of the logarithm of the pull in each polynomial (common practice: pulls of
real linkages double or halve between rest and stop)."""
RANGE_RAD = np.radians(16.0)


class AssumedPull(ConstantRatio):
    """Weights on a constant ratio, as far as anyone knows."""

    def inertia_slope(self, theta_rad: Array, swing: Angle, swing_slope: Array) -> Array:
        pull = super().inertia_slope(theta_rad, swing, swing_slope)
        at = np.clip(2.0 * np.asarray(theta_rad) / RANGE_RAD - 1.0, -1.0, 1.5)
        logarithm: Array = 0.0
        for degree, (shape, spread) in enumerate(zip(SHAPES, SPREADS, strict=False), start=1):
            value = self.builds.value("linkage", shape)
            if np.any(value):
                from numpy.polynomial import legendre  # late: most mechanisms need it not

                column = legendre.legval(at, [0.0] * degree + [spread])
                logarithm = logarithm + value * column
        # The weights of a mechanism that is not known swing out all the way.
        return np.maximum(pull, 1e-3) * np.exp(logarithm)
