"""Axes at round numbers, curves, bands and marks in a rectangle of the page, and labels that
stand free of them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from core.sheet.description import (
    LEAST_LINE_MM,
    Content,
    Element,
    Line,
    Marks,
    Point,
    Polyline,
    Rect,
    Ruler,
    Text,
)
from core.sheet.figures import figure
from core.sheet.layout import SMALL_PT, text_mm

TICK_MM = 1.4
_ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)


def round_step(span: float, most: int) -> float:
    """The smallest round step (1, 2, 2.5 or 5 times a power of ten) that divides a span into at
    most ``most`` parts."""
    power = 10.0 ** math.floor(math.log10(span / most))
    for step in _ROUND:
        if span / (step * power) <= most * (1 + 1e-9):
            return step * power
    return 10 * power


@dataclass(frozen=True)
class Scale:
    """One axis: values from ``low`` to ``high`` on the page from ``start_mm`` to ``end_mm``, with
    ticks at the multiples of ``step``. The high end is a tick."""

    low: float
    high: float
    step: float
    start_mm: float
    end_mm: float

    @classmethod
    def around(x: float, y: float) -> list[Place]:
    """Places about a point, below right first, then above left, near before far."""
    near = (0, 3, 6)
    below = [(3 + d, 3.4 + e, "left") for e in near for d in (*near, 10)]
    above = [(-3 - d, -2 - e, "right") for e in near for d in near]
    return [Place(x + d, y + e, align, (x, y)) for d, e, align in (*below, *above)]
