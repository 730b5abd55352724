"""The edge of a weight as it was traced, point by point: where it stands, and as it is drawn."""

from __future__ import annotations

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.docket.mechanism import Mechanism, OutlinePoint
from bobweight.core.mechanics.pose import WeightPose

_CORNER_DEG, _SHARP_DEG = 50.0, 80.0
_FEW = 6
"""With fewer points, what is traced is its corners."""
_ROUND_TIMES = 1.35
_KINK = 3.0
"""Times that a corner bends more closely than the rounder of its neighbours."""


def outline_of(mechanism: Mechanism, index: int) -> tuple[OutlinePoint, ...]:
    """A weight's traced outline: its own, else that of all; empty if none was traced."""
    each = mechanism.weights.each
    own = each[index].outline if index < len(each) else ()
    return own or mechanism.weights.outline


def edge(outline: tuple[OutlinePoint, ...], posed: WeightPose) -> Floats:
    """A traced outline where its weight stands, smooth, mm, shape (n, 2)."""
    pivot = np.array(posed.pivot_xy)
    along = np.array(posed.cg_xy) - pivot
    along = along / (float(np.hypot(*along)) or 1.0)
    across = posed.side * np.array([-along[1], along[0]])
    own = np.array([(p.x_mm, p.y_mm) for p in outline])
    return smooth(pivot + np.outer(own[:, 0], along) + np.outer(own[:, 1], across))


def smooth(outline: Floats, each: int = 10) -> Floats:
    """A traced outline as a hand would draw it: a curve through all its points (cubic pieces),
    but sharp at its corners; shape (..., n, 2) to (..., n · each, 2).

    A corner turns by nearly a right angle, and by more than the points of a round outline of so
    few would; or by more than half a right angle where the outline beside it is far rounder. Along
    the curve each point's tangent is that of the circle through it and its neighbours.
    """
    points = np.asarray(outline, float)
    count = points.shape[-2]
    if count < 4:
        return points
    into, out = points - np.roll(points, 1, axis=-2), np.roll(points, -1, axis=-2) - points
    long = np.maximum(np.hypot(out[..., 0], out[..., 1]), 1e-12)
    before = np.roll(long, 1, axis=-1)
    heading_in, heading_out = (np.arctan2(way[..., 1], way[..., 0]) for way in (into, out))
    turn = np.degrees(np.angle(np.exp(1j * (heading_out - heading_in))))
    if count < _FEW:
        sharp = np.abs(turn) > _CORNER_DEG
    else:
        bend = turn / (long + before)
        way_of_it = np.sign(bend)
        beside = np.minimum(
            way_of_it * np.roll(bend, 1, axis=-1), way_of_it * np.roll(bend, -1, axis=-1)
        )
        kink = np.abs(bend) > _KINK * beside
        sharp = np.abs(turn) > max(_SHARP_DEG, _ROUND_TIMES * 360.0 / count)
        sharp |= kink & (np.abs(turn) > _CORNER_DEG)
    sharp, long, before = sharp[..., None], long[..., None], before[..., None]
    way = into * (long / before) + out * (before / long)
    way = way / np.maximum(np.hypot(way[..., 0], way[..., 1])[..., None], 1e-12)
    start = np.where(sharp, out, way * long)
    end = np.where(np.roll(sharp, -1, axis=-2), out, np.roll(way, -1, axis=-2) * long)
    t = np.linspace(0.0, 1.0, each, endpoint=False)[:, None]
    h1, h2 = 2 * t**3 - 3 * t**2 + 1, t**3 - 2 * t**2 + t
    h3, h4 = -2 * t**3 + 3 * t**2, t**3 - t**2
    ends = (points, start, np.roll(points, -1, axis=-2), end)
    p1, w1, p2, w2 = (place[..., None, :] for place in ends)
    pieces = h1 * p1 + h2 * w1 + h3 * p2 + h4 * w2
    found: Floats = pieces.reshape(*points.shape[:-2], -1, 2)
    return found
