"""Lines of predicted curves: when two are one, how far they go, and where they are named."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.figure.description import Array, Content, Label, Trace
from bobweight.core.figure.view import View

if TYPE_CHECKING:
    from bobweight.core.mechanics.capsule import CapsuleCurve
    from bobweight.core.mechanics.predict import Branch, Prediction

SAME_CURVE_DEG = 0.05
"""Distributor degrees by which rising and falling may differ and still be drawn as one curve."""
NAMED_AT = (0.62, 0.74, 0.5, 0.86, 0.38, 0.95)
"""Where along its height a curve may be named, the best first."""


def is_one_curve(prediction: Prediction) -> bool:
    """True if rising and falling are near enough to be one curve."""
    up, down = prediction.rising, prediction.falling
    speed = np.concatenate([up.speed_rpm, down.speed_rpm])
    apart = on_branch(up, speed) - on_branch(down, speed)
    return not prediction.jumps and float(np.abs(apart).max()) < SAME_CURVE_DEG


def is_one_movement(curve: CapsuleCurve) -> bool:
    """The same of a capsule's two curves."""
    return float(np.abs(curve.rising_deg - curve.falling_deg).max()) < SAME_CURVE_DEG


def on_branch(branch: Branch, speed_rpm: Array | float) -> Array:
    """Advance at distributor speeds as the drawn line shows it, in distributor degrees."""
    return np.asarray(np.interp(speed_rpm, branch.speed_rpm, branch.advance_deg))


def branch_trace(branch: Branch, view: View, end: float, role: str) -> Trace:
    """A branch as shown, drawn on flat to the end of the axis."""
    x, y = branch.speed_rpm * view.factor, view.shown(branch.advance_deg)
    if x[-1] < end:
        x, y = np.append(x, end), np.append(y, y[-1])
    return Trace(role, x, y)


def named(trace: Trace, words: Content, toward: tuple[float, float],
          shares: Sequence[float] = NAMED_AT, key: str = "") -> Label:  # fmt: skip
    """Words at a line, wherever along its height there is room; ``toward`` as for a label."""
    spots = tuple(trace.at_share(share) for share in shares)
    return Label(key or trace.role, words, spots, trace.role, toward)
