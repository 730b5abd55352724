"""Ranges of axes in round numbers, and their steps."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

SPEED_STEPS = (100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)
ANGLE_STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
DEPRESSION_STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)
MOST_STEPS = 12
_ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)


def round_step(span: float, most: int) -> float:
    """The smallest round step (1, 2, 2.5 or 5 times a power of ten) that divides a span into at
    most ``most`` parts."""
    power = 10.0 ** math.floor(math.log10(span / most))
    for step in _ROUND:
        if span / (step * power) <= most * (1 + 1e-9):
            return step * power
    return 10 * power


def round_range(low: float, high: float, steps: Sequence[float] = ()) -> tuple[float, float]:
    """The narrowest range in round numbers that holds low and high.

    The step is the first of ``steps`` (ascending; any round one if there are none) that makes at
    most a dozen of them. A low end less than a step below zero stays where it is: what lies a
    little below zero shall not cost a whole step of empty plot.
    """
    span = max(high - low, 1e-9)
    step = next((s for s in steps if span / s <= MOST_STEPS), steps[-1] if steps else
                round_step(span, MOST_STEPS))  # fmt: skip
    if not -step < low < 0:
        low = math.floor(low / step + 1e-9) * step
    return low, math.ceil(high / step - 1e-9) * step


def round_below(value: float) -> float:
    """The largest 1, 2 or 5 times a power of ten that is not above a positive value."""
    power = 10.0 ** math.floor(math.log10(value))
    return max(f * power for f in (1, 2, 5) if f * power <= value * (1 + 1e-9))


def finite(values: Iterable[float]) -> list[float]:
    """Those of some numbers that are neither infinite nor unknown."""
    return [float(value) for value in values if math.isfinite(value)]


def scale_bar_mm(width_mm: float) -> float:
    """A round length of about a third of the drawing's width, in mm."""
    return round_below(width_mm / 3)


def snapped(value: float, step: float) -> float:
    """A value at the nearest multiple of a step, without binary dust."""
    return round(round(value / step) * step, 9)
