"""One object that answers every question about a fit: residuals, covariance, slips.

A reading is either ordinary, with its stated uncertainty, or (one in twenty, common practice) a
slip with five times as much. The distance d of a reading then costs

    ρ(d) = −2 log [ ((1 − ε) φ(d) + ε φ(d/s)/s) / the same at 0 ],

whose signed root is the residual, so that least squares finds the most probable values. What was
known before enters as one residual a value. Functions of d are element by element, of any shape.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.fit_curves import Simulator, Values
from bobweight.core.judgement.fit_values import FreeValue, Suspicion, ValueTable, free_values, freed
from bobweight.core.judgement.reduce import Reduced
from bobweight.core.statistics.least_squares import difference_jacobian

SLIP_SHARE = 0.05
SLIP_SPREAD = 5.0


def _log_odds(d: Floats, share: float, spread: float) -> tuple[Floats, Floats]:
    """Logarithms of the densities of both parts of a mixture, each with its share, less that of
    √(2π)."""
    half = 0.5 * np.square(d)
    return np.log(1 - share) - half, np.log(share / spread) - half / spread**2


def mixture_root(d: Floats, share: float, spread: float) -> Floats:
    """Residuals whose squares are −2 log of a mixture of normals, less that at 0: of standard
    deviation 1 and, with probability ``share``, of ``spread``."""
    at_zero = (1 - share) + share / spread
    cost = -2.0 * (np.logaddexp(*_log_odds(d, share, spread)) - np.log(at_zero))
    root = np.sign(d) * np.sqrt(np.maximum(cost, 0.0))
    slope = np.sqrt((1 - share + share / spread**3) / at_zero)
    found: Floats = np.where(np.abs(d) < 1e-3, slope * d, root)
    return found


def mixture_share(d: Floats, share: float, spread: float) -> Floats:
    """Probability that ``d`` belongs to the wide part of the mixture."""
    narrow, wide = _log_odds(d, share, spread)
    return 0.5 * (1.0 + np.tanh(0.5 * (wide - narrow)))


def robust(d: Floats) -> Floats:
    """Residuals whose squares sum to the cost of the distances ``d``."""
    return mixture_root(d, SLIP_SHARE, SLIP_SPREAD)


def slip_probability(d: Floats) -> Floats:
    """Probability that a reading at distance ``d`` is a slip."""
    return mixture_share(d, SLIP_SHARE, SLIP_SPREAD)


def weights(d: Floats) -> Floats:
    """What a reading at distance ``d`` counts, 1 for ordinary ones, 1/s² for slips."""
    p = slip_probability(d)
    return 1.0 - p + p / SLIP_SPREAD**2


class Objective:
    """Readings of one session against the values that may explain them.

    Points are given as z: standard uncertainties (before the readings) from the docket's values.

    Parameters
    ----------
    docket : Docket
        Its mechanism can be predicted.
    session : int
        Index into ``docket.sessions``.
    reduced : Reduced
        That session.
    suspicions : tuple of Suspicion
        Values to be held less tightly.
    """

    def __init__(
        self,
        docket: Docket,
        session: int,
        reduced: Reduced,
        suspicions: tuple[Suspicion, ...] = (),
    ):
        self.simulator = Simulator(docket, session, reduced)
        self.free: tuple[FreeValue, ...] = freed(free_values(docket, session, reduced), suspicions)
        self.table = ValueTable(self.free)
        self.bounds = np.array([f.bounds for f in self.free]).T

    @property
    def size(self) -> int:
        """Number of values."""
        return len(self.free)

    def values(self, z: Floats) -> Values:
        """The docket's values at points z, shape (batch, values)."""
        return self.table.at(z)

    def distances(self, z: Floats) -> Floats:
        """Signed distances of the readings, shape (batch, readings)."""
        return self.simulator.distances(self.values(z))

    def residuals(self, z: Floats, member: Indices | None = None) -> Floats:
        """Residuals of the readings, then of what was known before: (batch, readings + values)."""
        return np.concatenate([robust(self.distances(z)), z], axis=1)

    def jacobian(self, z: Floats) -> Floats:
        """Slopes of the distances at one point, shape (readings, values)."""
        at = np.atleast_2d(z)
        low, high = self.bounds[:1], self.bounds[1:]
        found: Floats = difference_jacobian(
            lambda points, member: self.distances(points), at, self.distances(at), low, high,
            np.ones(at.shape, bool), np.ones(self.size), np.zeros(1, int), central=True,
        )[0]  # fmt: skip
        return found

    def information(self, z: Floats, slopes: Floats | None = None) -> Floats:
        """Inverse of the covariance of z at one point, slips counted for what they are worth."""
        slopes = self.jacobian(z) if slopes is None else slopes
        w = weights(self.distances(np.atleast_2d(z))[0])
        return slopes.T @ (w[:, None] * slopes) + np.eye(self.size)

    def covariance(self, z: Floats, slopes: Floats | None = None) -> Floats:
        """Covariance of z at one point."""
        return np.asarray(np.linalg.inv(self.information(z, slopes)))

    def slips(self, z: Floats) -> Floats:
        """Probability of each reading to be a slip, shape (readings,)."""
        return slip_probability(self.distances(np.atleast_2d(z))[0])
