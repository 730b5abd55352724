"""Where direct labels stand: beside their point, off the curves and off one another. No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_ANGLES = np.radians(np.arange(0, 360, 30))
_RINGS = (10.0, 26.0, 48.0, 76.0, 110.0)
_UNITS = np.array([[np.cos(a), np.sin(a)] for _ in _RINGS for a in _ANGLES])
_DISTANCES = np.repeat(_RINGS, len(_ANGLES))
STAY = 1.5
"""A label keeps its place while no other is better by this much, so that it does not flicker."""


@dataclass(frozen=True)
class Wanted:
    """A label to be placed: its size and the point it speaks of, in pixels, y down.

    ``toward`` is the direction (dx, dy) preferred, (0, 0) for none.
    """

    key: str
    width: float
    height: float
    x: float
    y: float
    toward: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class Placed:
    """The label's top left corner and the end of its leader on the label's edge, in pixels."""

    x: float
    y: float
    leader: tuple[float, float] | None
    choice: int


def resampled(x: NDArray, y: NDArray, step_px: float = 7.0) -> NDArray[np.float64]:
    """Points along a polyline, no further apart than a step: (N, 2), pixels."""
    finite = np.isfinite(x) & np.isfinite(y)
    x, y = np.asarray(x)[finite], np.asarray(y)[finite]
    if len(x) < 2:
        return np.column_stack([x, y])
    way = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    at = np.linspace(0.0, way[-1], min(int(way[-1] / step_px) + 2, 600))
    return np.column_stack([np.interp(at, way, x), np.interp(at, way, y)])


def place(
    wanted: Sequence[Wanted],
    obstacles: NDArray[np.float64],
    width: float,
    height: float,
    kept: dict[str, int] | None = None,
    taken: Sequence[tuple[float, float, float, float]] = (),
) -> dict[str, Placed]:
    """A place for each label, in the order given (the first chooses first).

    Parameters
    ----------
    obstacles : (N, 2) array
        Points that should not be covered, in pixels.
    kept : dict
        The choice made last time by key; updated.
    taken : sequence of (x, y, width, height)
        Places that are occupied already.
    """
    kept = {} if kept is None else kept
    rectangles = [np.array(r, dtype=float) for r in taken]
    found: dict[str, Placed] = {}
    for label in wanted:
        corners = _corners(label)
        costs = _costs(label, corners, obstacles, rectangles, width, height)
        best = int(np.argmin(costs))
        last = kept.get(label.key)
        if last is not None and costs[last] <= costs[best] + STAY:
            best = last
        kept[label.key] = best
        x, y = corners[best]
        rectangles.append(np.array([x, y, label.width, label.height]))
        found[label.key] = Placed(float(x), float(y), _leader(label, x, y), best)
    return found


def _corners(label: Wanted) -> NDArray[np.float64]:
    half = np.array([label.width / 2, label.height / 2])
    # The label's edge, not its middle, is at the ring's distance.
    centres = np.array([label.x, label.y]) + _UNITS * (_DISTANCES[:, None] + 0.0) + _UNITS * half
    return centres - half


def _costs(label, corners, obstacles, rectangles, width, height):
    left, top = corners[:, 0], corners[:, 1]
    right, bottom = left + label.width, top + label.height
    cost = _DISTANCES / 12.0
    toward = np.asarray(label.toward)
    if toward.any():
        cost = cost + 2.5 * (1.0 - _UNITS @ (toward / np.hypot(*toward)))
    if len(obstacles):
        x, y = obstacles[:, 0], obstacles[:, 1]
        inside = (x > left[:, None] - 4) & (x < right[:, None] + 4)
        inside &= (y > top[:, None] - 3) & (y < bottom[:, None] + 3)
        cost = cost + 4.0 * inside.sum(axis=1)
    for x, y, w, h in rectangles:
        over_x = np.minimum(right, x + w) - np.maximum(left, x) + 6
        over_y = np.minimum(bottom, y + h) - np.maximum(top, y) + 2
        cost = cost + np.where((over_x > 0) & (over_y > 0), 60.0 + over_x * over_y / 100, 0.0)
    outside = np.maximum(0, 2 - left) + np.maximum(0, right - width + 2)
    outside = outside + np.maximum(0, 2 - top) + np.maximum(0, bottom - height + 2)
    return cost + np.where(outside > 0, 200.0 + outside, 0.0)


def _leader(label: Wanted, x: float, y: float) -> tuple[float, float] | None:
    """Where a leader from the point meets the label; None if the label is close by."""
    edge_x = min(max(label.x, x), x + label.width)
    edge_y = min(max(label.y, y), y + label.height)
    if np.hypot(edge_x - label.x, edge_y - label.y) < 14:
        return None
    return float(edge_x), float(edge_y)
