"""The round thing under a click: pins, posts and rivets have a truer middle than a hand can click.

The circle whose rim has the sharpest change of grey all round it: the integro-differential operator
of Daugman, IEEE Trans. Pattern Anal. Mach. Intell. 15 (1993) 1148, over middle and radius.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, map_coordinates

from bobweight.core.frozen import frozen

U_SNAP_PX = 0.25
"""Standard uncertainty of a middle found so, in each direction."""
_REACH_PX = 6.0  # how far the middle may lie from the click
_LEAST_PX, _LARGEST_PX = 5.0, 60.0  # radii
_RAYS = 48
_EDGE = 1.2  # px, blur of the radial derivative
_CLEAR = 5.0  # the rim's change must stand so far above what noise gives

_ALIKE = 0.8
"""Share of the rays along which the rim must stand out."""


@frozen
class RoundThing:
    """Middle and radius in pixels of what was found round."""

    x_px: float
    y_px: float
    radius_px: float


def snap(grey: NDArray[Any], x_px: float, y_px: float) -> RoundThing | None:
    """The circle round a click, or None where nothing round is clear enough.

    Parameters
    ----------
    grey : array, shape (height, width)
    x_px, y_px : float
        Where the hand clicked.
    """
    most = int(_LARGEST_PX + _REACH_PX + 4)
    left, top = round(x_px) - most, round(y_px) - most
    height, width = grey.shape
    if left < 0 or top < 0 or left + 2 * most >= width or top + 2 * most >= height:
        most = int(min(x_px, y_px, width - 1 - x_px, height - 1 - y_px))
        if most < _LEAST_PX + _REACH_PX + 4:
            return None
        left, top = round(x_px) - most, round(y_px) - most
    patch = gaussian_filter(
        np.asarray(grey[top : top + 2 * most + 1, left : left + 2 * most + 1], np.float64), _EDGE
    )
    radii = np.arange(_LEAST_PX - 1, most - _REACH_PX - 2, 0.5)
    if len(radii) < 6:
        return None
    turn = np.arange(_RAYS) * (2 * np.pi / _RAYS)
    unit = np.stack([np.sin(turn), np.cos(turn)])  # rows, columns

    def steps(centres: NDArray[np.float64]) -> NDArray[np.float64]:
        """Change of grey across each radius along each ray, (centres, radii − 2, rays)."""
        at = (
            centres[:, :, None, None] + unit[None, :, None, :] * radii[None, None, :, None]
        )  # centre, axis, radius, ray
        seen = map_coordinates(patch, np.moveaxis(at, 1, 0), order=1, mode="nearest")
        found: NDArray[np.float64] = seen[:, 2:] - seen[:, :-2]
        return found

    middle = np.array([y_px - top, x_px - left])
    width_px, best, score = _REACH_PX, middle, -np.inf
    radius = 0.0
    for step in (2.0, 0.7, 0.25, 0.1):
        side = np.arange(-width_px, width_px + step / 2, step)
        grid = np.stack(np.meshgrid(side, side, indexing="ij"), -1).reshape(-1, 2)
        grid = grid[np.hypot(*(grid + best - middle).T) <= _REACH_PX]
        step_px = steps(best + grid)
        found = np.abs(step_px.mean(axis=2)) - 0.5 * step_px.std(axis=2)
        where = np.unravel_index(np.argmax(found), found.shape)
        if found[where] >= score:
            best, score = best + grid[where[0]], float(found[where])
            radius = float(radii[where[1] + 1])
        width_px = 1.5 * step
    noise = float(np.median(np.abs(np.diff(patch, axis=1)))) + 1e-9
    if score < _CLEAR * noise or score < 2.0 or radius >= radii[-2]:
        return None
    rim = steps(best[None])[0, round((radius - radii[0]) / 0.5) - 1]
    if np.mean(rim / rim.mean() > 0.3) < _ALIKE:
        return None
    return RoundThing(float(best[1]) + left, float(best[0]) + top, radius)
