"""The edge of a weight as it was traced, point by point."""

from __future__ import annotations

import numpy as np

from bobweight.core.arrays import Floats

_CORNER_DEG = 50.0
_FEW = 6
"""With fewer points, what is traced is its corners."""
_ROUND_TIMES = 1.35


def smooth(outline: Floats, each: int = 10) -> Floats:
    """A traced outline as a hand would draw it: a curve through all its points (cubic pieces),
    but sharp at its corners; shape (n, 2) to (n · each, 2).

    A corner turns by more than half a right angle, and by more than the points of a round outline
    of so few would.
    """
    points = np.asarray(outline, float)
    count = len(points)
    corner_deg = _CORNER_DEG if count < _FEW else max(_CORNER_DEG, _ROUND_TIMES * 360.0 / count)
    if count < 4:
        return points
    into, out = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    heading_in, heading_out = (np.arctan2(way[:, 1], way[:, 0]) for way in (into, out))
    turn = np.degrees(np.abs(np.angle(np.exp(1j * (heading_out - heading_in)))))
    sharp = (turn > corner_deg)[:, None]
    long = np.hypot(out[:, 0], out[:, 1])[:, None]
    way = into / np.maximum(np.roll(long, 1, axis=0), 1e-12) + out / np.maximum(long, 1e-12)
    way = way / np.maximum(np.hypot(way[:, 0], way[:, 1])[:, None], 1e-12)
    start = np.where(sharp, out, way * long)
    end = np.where(np.roll(sharp, -1, axis=0), out, np.roll(way, -1, axis=0) * long)
    t = np.linspace(0.0, 1.0, each, endpoint=False)[None, :, None]
    h1, h2 = 2 * t**3 - 3 * t**2 + 1, t**3 - 2 * t**2 + t
    h3, h4 = -2 * t**3 + 3 * t**2, t**3 - t**2
    pieces = (
        h1 * points[:, None] + h2 * start[:, None]
        + h3 * np.roll(points, -1, axis=0)[:, None] + h4 * end[:, None]
    )  # fmt: skip
    found: Floats = pieces.reshape(-1, 2)
    return found
