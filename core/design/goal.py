"""What a curve has to pass, in distributor figures: the target's centrifugal check points."""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.frozen import frozen
from bobweight.core.judgement.compare import bands
from bobweight.core.mechanics.branches import Curves
from bobweight.core.mechanics.predict import Prediction
from bobweight.core.problems import BobweightError


@frozen
class Goal:
    """Check points of the centrifugal curve, distributor rev/min and degrees.

    Attributes
    ----------
    index : tuple of int or None
        Row of the target's table; None for "no advance below".
    speed_rpm, low_deg, high_deg : array, shape (points,)
        Where, and the band; infinite where the table gives no limit.
    branches : tuple of str
        The branches the table is read on: every point must pass on each.
    ceiling_deg : float
        Infinite where none is given.
    """

    index: tuple[int | None, ...]
    speed_rpm: np.ndarray
    low_deg: np.ndarray
    high_deg: np.ndarray
    branches: tuple[str, ...]
    ceiling_deg: float

    @property
    def count(self) -> int:
        """Check points, the start among them, the ceiling not."""
        return len(self.speed_rpm)

    @property
    def largest_margin_deg(self) -> float:
        """A margin that no curve can exceed: half of the narrowest band, what a point without
        advance has, and what the ceiling leaves above the highest least figure."""
        halves = 0.5 * (self.high_deg - self.low_deg)
        above = 0.5 * (self.ceiling_deg - self.low_deg.max(initial=0.0))
        return float(min(halves.min(initial=np.inf), self.high_deg.min(initial=np.inf), above))

    def margin_deg(self, advance_deg: np.ndarray, stop_deg: np.ndarray | float) -> np.ndarray:
        """Smallest distance to the band's edge in degrees, negative outside.

        Parameters
        ----------
        advance_deg : array, shape (..., branches, points)
        stop_deg : array, shape (...), or float
            Against the ceiling.
        """
        with np.errstate(invalid="ignore"):
            inside = np.minimum(advance_deg - self.low_deg, self.high_deg - advance_deg)
        smallest = inside.min(axis=(-1, -2))
        found: np.ndarray = np.minimum(smallest, self.ceiling_deg - np.asarray(stop_deg))
        return found

    def advance_of(self, prediction: Prediction) -> np.ndarray:
        """Exact advance at the points in degrees, shape (branches, points)."""
        return np.stack([prediction.advance_deg(self.speed_rpm, b) for b in self.branches])

    def advance_of_curves(self, curves: Curves) -> np.ndarray:
        """Advance at the points in degrees, shape (builds, branches, points)."""
        return np.stack([curves.at(self.speed_rpm, b) for b in self.branches], axis=1)


def goal_of(docket: Docket) -> Goal:
    """The goal that a docket's target states.

    Raises
    ------
    BobweightError
        ``no-check-points`` where the target has none that can be used.
    """
    asked = bands(docket, 0.0)
    kinds = np.array(asked.kind, dtype=object)
    use = (kinds == "start") | (kinds == "check")
    if not (kinds == "check").any():
        raise BobweightError("no-check-points", ("target", "points"))
    ceiling = asked.high_deg[kinds == "ceiling"]
    return Goal(
        index=tuple(i for i, used in zip(asked.index, use, strict=True) if used),
        speed_rpm=asked.where[use],
        low_deg=asked.low_deg[use],
        high_deg=asked.high_deg[use],
        branches=docket.target.ways,
        ceiling_deg=float(ceiling[0]) if len(ceiling) else np.inf,
    )
