"""Slope of the weights' moment of inertia: what speed multiplies."""

from __future__ import annotations

import numpy as np

from bobweight.core.mechanics.builds import Array, Builds


def inertia_slope(builds: Builds, cosine: Array, sine: Array, swing_slope: Array) -> Array:
    """J'(θ) of all weights together, in g·mm² per radian of cam.

    J = n [I_g + m (R² + c² + 2 R c cos α)] with α = α₀ − φ, so J' = 2 n m R c sin α · dφ/dθ; the
    inertia about the centre of gravity never enters.

    Parameters
    ----------
    cosine, sine, swing_slope : array
        Of the swing φ of a weight, and its slope dφ/dθ, broadcastable to (builds, segments, knots).
    """
    scale = (
        2.0
        * builds.weights
        * builds.value("weights", "mass_g")
        * builds.value("weights", "pivot_radius_mm")
        * builds.value("weights", "cg_mm")
    )
    alpha_0 = np.radians(builds.value("weights", "rest_angle_deg"))
    pull = scale * np.sin(alpha_0) * cosine - scale * np.cos(alpha_0) * sine
    pull *= swing_slope
    return pull
