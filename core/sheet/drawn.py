"""How bands, curves and readings are drawn, alike on every plot: by line and shape, not colour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from bobweight.core.judgement.compare import stretches
from bobweight.core.sheet.description import Polygon
from bobweight.core.sheet.plot import Plot, dense

RISING_MM, FALLING_MM = 0.5, 0.4
FALLING_DASH = (2.2, 1.1)
BAND_DASH = (0.9, 0.7)
BAND_GREY = 0.88
MARK_MM = 2.1
MARK_SHAPES = {"rising": ("up", True), "falling": ("down", False), "unknown": ("ring", False)}
BEFORE_SHAPES = {
    "rising": ("square", True), "falling": ("square", False), "unknown": ("diamond", False),
}  # fmt: skip
"""Readings of an earlier session, beside those that ``MARK_SHAPES`` tells apart."""
MARK_SIZES = {"square": 1.6, "diamond": 1.6}
SAME_CURVE_DEG = 0.05


def band(plot: Plot, x: np.ndarray, low: np.ndarray, high: np.ndarray) -> None:
    """A required band: grey between check points, each a bar from least to most.

    The arrays are of one shape (points,), in the values of the plot's scales. A limit that is
    infinite is none: its bar runs to the edge of the plot without a cap, and neither grey nor edge
    is drawn to it.
    """
    if not len(x):
        return
    order = np.argsort(x)
    x, low, high = x[order], low[order], high[order]
    bounded = np.isfinite(low), np.isfinite(high)
    low, high = (np.clip(values, plot.y.low, plot.y.high) for values in (low, high))
    at_low, at_high = plot.at(x, low), plot.at(x, high)
    if len(x) > 1:
        for run in stretches(bounded[0] & bounded[1]):
            outline = np.vstack([at_low[run], at_high[run][::-1]])
            corners = tuple((round(float(p), 3), round(float(q), 3)) for p, q in outline)
            plot.elements.append(Polygon(corners, BAND_GREY))
        for values, there in zip((low, high), bounded, strict=True):
            for run in stretches(there):
                plot.curve(x[run], values[run], 0.2, BAND_DASH)
        plot.ink.append(dense((at_low + at_high) / 2))  # no labels on the grey
    for index, (at, bottom) in enumerate(at_low):
        top = at_high[index, 1]
        plot.line(at, bottom, at, top, 0.35)
        for y, capped in ((bottom, bounded[0][index]), (top, bounded[1][index])):
            if capped:
                plot.line(at - 1.0, y, at + 1.0, y, 0.35)


def readings(plot: Plot, x: np.ndarray, y: np.ndarray, u_x: np.ndarray, u_y: np.ndarray,
             direction: Sequence[str] | np.ndarray,
             shapes: Mapping[str, tuple[str, bool]] = MARK_SHAPES) -> None:  # fmt: skip
    """Readings as marks told apart by shape, with a fine bar of one standard uncertainty each
    way; the arrays are of one shape (readings,)."""
    for index in range(len(x)):
        left, right = plot.at([x[index] - u_x[index], x[index] + u_x[index]], [y[index]] * 2)
        low, high = plot.at([x[index]] * 2, [y[index] - u_y[index], y[index] + u_y[index]])
        if right[0] - left[0] > MARK_MM:
            plot.line(max(left[0], plot.left), left[1], min(right[0], plot.right), left[1], 0.18)
        if low[1] - high[1] > MARK_MM:
            plot.line(low[0], max(high[1], plot.top), low[0], min(low[1], plot.bottom), 0.18)
    direction = np.asarray(direction)
    for kind, (shape, filled) in shapes.items():
        chosen = direction == kind
        plot.marks(plot.at(x[chosen], y[chosen]), shape, MARK_SIZES.get(shape, MARK_MM), filled)
