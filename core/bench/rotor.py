"""Rotor phasing: does the rotor's tip still face its post in the cap when the spark comes?

The rotor turns with the cam. Centrifugal advance turns cam and rotor together, and the spark comes
at the same angle of the cam against the plate, so the rotor stands at the same place in the cap.
Vacuum advance turns the plate instead: the spark comes earlier by θ_v while the rotor is still
θ_v short of where it stood. So only the capsule shifts the rotor at the spark.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bobweight.core.bench._checks import Values, finite, plain, positive
from bobweight.core.frozen import frozen

_DEG_PER_RAD = 57.29577951308232


@frozen
class RotorCap:
    """Sizes that decide the overlap, all above 0.

    ``tip_mm``: width of the rotor's tip; ``post_mm``: width of a post, both along the arc;
    ``radius_mm``: of the posts' inner faces from the shaft's axis.
    """

    tip_mm: float
    post_mm: float
    radius_mm: float

    def __post_init__(self) -> None:
        for name in ("tip_mm", "post_mm", "radius_mm"):
            positive(name, getattr(self, name), "mm")

    @property
    def reach_deg(self) -> float:
        """Degrees off centre at which tip and post just cease to face each other."""
        return (self.tip_mm + self.post_mm) / (2 * self.radius_mm) * _DEG_PER_RAD


@frozen
class RotorPhasing:
    """The rotor at the spark over the capsule's travel, distributor degrees.

    ``off_deg``, ``on_deg``: tip past the post's middle (positive: past it in the direction of
    rotation) with the vacuum off and at full travel. ``margin_deg``, ``margin_mm``: overlap left at
    the worse of the two; negative is a gap.
    ``best_off_deg``: where the tip ought to stand with the vacuum off, so that both ends are
    equally far from the middle.
    """

    off_deg: float
    on_deg: float
    margin_deg: float
    margin_mm: float
    best_off_deg: float


def overlap_deg(cap: RotorCap, offset_deg: ArrayLike) -> Values:
    """Degrees over which tip and post face each other with slack to spare: the further turn
    that would part them; negative where they have parted."""
    return plain(cap.reach_deg - np.abs(finite("offset_deg", offset_deg)))


def phasing(cap: RotorCap, off_deg: float, full_vacuum_deg: float) -> RotorPhasing:
    """Rotor phasing with vacuum off and on, and the overlap left at the worse.

    Parameters
    ----------
    off_deg : float
        Tip past the post at the spark with vacuum off, distributor degrees.
    full_vacuum_deg : float
        Vacuum advance at full travel, distributor degrees; negative for a retard capsule.

    Notes
    -----
    Between the two ends the overlap is never less than at the worse end, since the distance from
    the middle is convex along the travel.
    """
    off = float(finite("off_deg", off_deg))
    full = float(finite("full_vacuum_deg", full_vacuum_deg))
    on = off - full
    margin = float(overlap_deg(cap, max(abs(on), abs(off))))
    return RotorPhasing(off, on, margin, margin / _DEG_PER_RAD * cap.radius_mm, full / 2)
