"""Whether a measured value can be said to lie within limits (JCGM 106:2012)."""

from __future__ import annotations

from enum import Enum
from math import erfc, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bobweight.core.arrays import Floats
from bobweight.core.problems import BobweightError

CONFIDENCE = 0.95


class Conformity(Enum):
    """What can be said of a value and its limits."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    CANNOT_TELL = "cannot tell"


def probability_inside(
    y: ArrayLike, u: ArrayLike, low: ArrayLike = -np.inf, high: ArrayLike = np.inf
) -> NDArray[np.float64]:
    """Probability, 0…1, that the true value lies in [low, high].

    Parameters
    ----------
    y, u : array_like
        Estimate and its standard uncertainty (≥ 0), any broadcastable shape; the true value is
        taken to be normal about y. With u = 0 the answer is 0 or 1, the limits counting as inside.
        NaN in either gives NaN: nothing is known.
    low, high : array_like
        Limits in the same unit, low ≤ high; either may be infinite.

    Raises
    ------
    BobweightError
        ``uncertainty-negative``, ``limits-crossed``, ``limit-missing`` for a limit that is NaN.

    Notes
    -----
    JCGM 106:2012, 7.4: Φ((high − y)/u) − Φ((low − y)/u), taken in the lower tail of the normal
    law so that small probabilities keep their digits.
    """
    y, u, low, high = np.broadcast_arrays(*(np.asarray(a, float) for a in (y, u, low, high)))
    if np.any(u < 0):
        raise BobweightError("uncertainty-negative", (), value=float(np.min(u)))
    if np.any(np.isnan(low) | np.isnan(high)):
        raise BobweightError("limit-missing")
    if np.any(low > high):
        worst = np.unravel_index(np.argmax(low > high), low.shape)
        raise BobweightError("limits-crossed", (), low=float(low[worst]), high=float(high[worst]))
    exact = u == 0
    safe = np.where(exact, 1.0, u)
    with np.errstate(over="ignore"):  # an uncertainty next to nothing: as good as exact
        a, b = (low - y) / safe, (high - y) / safe
    flip = a > 0
    a, b = np.where(flip, -b, a), np.where(flip, -a, b)
    spread = _normal(b) - _normal(a)
    sure = np.where(np.isnan(y), np.nan, (low <= y) & (y <= high))
    return np.where(exact, sure, spread)


def _normal(z: Floats) -> NDArray[np.float64]:
    """Φ(z). A few values by the standard library: a window that opens need not load scipy."""
    if z.size > 256:
        from scipy.special import ndtr

        found: NDArray[np.float64] = ndtr(z)
        return found
    return np.array([0.5 * erfc(-v / sqrt(2.0)) for v in np.ravel(z).tolist()]).reshape(np.shape(z))


def decide(probability: float) -> Conformity:
    """INSIDE if the probability of inside reaches the confidence, OUTSIDE if that of outside
    does, else CANNOT_TELL (also for NaN)."""
    if probability >= CONFIDENCE:
        return Conformity.INSIDE
    return Conformity.OUTSIDE if 1 - probability >= CONFIDENCE else Conformity.CANNOT_TELL
