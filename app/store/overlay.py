"""Curves laid over the board for comparison: candidates for the springs, and a band of builds.

In distributor degrees and rev/min, whatever the board shows. A page puts one on the feed
(``feed.show_overlay``); the board paints it until it is taken away.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class OverlayCurve:
    """One curve, with the words at it; the ``strong`` one is the one chosen."""

    speed_rpm: Array
    advance_deg: Array
    words: str = ""
    strong: bool = False


@dataclass(frozen=True)
class OverlayBand:
    """Where so many of a crowd of builds lie: lower and upper edge over speed. The one with words
    is filled."""

    speed_rpm: Array
    low_deg: Array
    high_deg: Array
    words: str = ""


@dataclass(frozen=True, eq=False)
class Overlay:
    """What is laid over the board."""

    curves: tuple[OverlayCurve, ...] = ()
    bands: tuple[OverlayBand, ...] = ()
