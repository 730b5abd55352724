"""A flatbed scan: the resolution is the scale, and parts off the glass are drawn together."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bobweight.core.frozen import frozen
from bobweight.core.photo.camera import ImagePoints
from bobweight.core.problems import BobweightError

U_RELATIVE_SCALE = 0.0015
"""Of each direction of a scanner (common practice)."""
PER_DISTANCE, U_PER_DISTANCE = 0.0015, 0.0015
"""One over the length of the light's path in mm, across the carriage: nothing for a contact
scanner, 1/350 for a lens (common practice)."""


@frozen
class Scan:
    """A scan of so many pixels and dots per inch; origin in its middle, y up."""

    width_px: int
    height_px: int
    dots_per_inch: float

    def __post_init__(self) -> None:
        if not (np.isfinite(self.dots_per_inch) and 30 <= self.dots_per_inch <= 10_000):
            raise BobweightError(
                "resolution-unusable", ("dots_per_inch",), value=self.dots_per_inch
            )

    def places(
        self, pixels: ArrayLike, level: ArrayLike, heights_mm: ArrayLike, u_heights_mm: ArrayLike,
        u_click_px: ArrayLike,
    ) -> ImagePoints:  # fmt: skip
        """As :meth:`core.photo.camera.View.places`; heights are from the glass."""
        clicked = np.asarray(pixels, float).reshape(-1, 2)
        of = np.asarray(level, int)
        heights, u_heights = np.asarray(heights_mm, float), np.asarray(u_heights_mm, float)
        pitch = 25.4 / self.dots_per_inch
        middle = np.array([(self.width_px - 1) / 2, (self.height_px - 1) / 2])
        flat = (clicked - middle) * [pitch, -pitch]
        high = heights[of]
        grown = flat.copy()
        grown[:, 0] *= 1 + high * PER_DISTANCE
        n = len(clicked)
        u_click = np.broadcast_to(np.asarray(u_click_px, float), n)
        slopes: NDArray[np.float64] = np.zeros((n, 2, 3 + len(heights)))
        slopes[:, 0, 0] = grown[:, 0] * U_RELATIVE_SCALE
        slopes[:, 1, 1] = grown[:, 1] * U_RELATIVE_SCALE
        slopes[:, 0, 2] = flat[:, 0] * high * U_PER_DISTANCE
        slopes[np.arange(n), 0, 3 + of] = flat[:, 0] * PER_DISTANCE * u_heights[of]
        shared = slopes.reshape(2 * n, 3 + len(heights))
        covariance = shared @ shared.T + np.diag(np.repeat(u_click * pitch, 2) ** 2)
        return ImagePoints(grown, covariance)

    def pixels(self, xy_mm: ArrayLike, heights_mm: ArrayLike = 0.0) -> NDArray[np.float64]:
        """Where points at heights above the glass stand in the scan, shape (n, 2)."""
        xy = np.asarray(xy_mm, float).reshape(-1, 2)
        high = np.broadcast_to(np.asarray(heights_mm, float), len(xy))
        pitch = 25.4 / self.dots_per_inch
        middle = np.array([(self.width_px - 1) / 2, (self.height_px - 1) / 2])
        flat = xy / [pitch, -pitch]
        flat[:, 0] /= 1 + high * PER_DISTANCE
        return middle + flat
