"""A monotone cubic through the points of a table: PCHIP, to the last digit as scipy has it.

``scipy.interpolate`` takes longer to load than all else that a verdict needs, and evaluates value
and slope one after the other; of a rising table the inverse is wanted as well.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.mechanics.builds import Array


class MonotoneCubic:
    """A table joined by a monotone cubic: its value, slope and inverse; NaN outside it.

    Parameters
    ----------
    at, values : array, shape (points,)
        Two points or more, ``at`` rising.

    Notes
    -----
    Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300; at the ends the three-point
    formula that keeps the shape, Moler, Numerical Computing with MATLAB (2004), section 3.6.
    """

    _HALVINGS = 54  # of the whole table: to rounding

    def __init__(self, at: Floats, values: Floats):
        self.at = at
        self.range = (values[0], values[-1])
        apart = np.diff(at)
        rise = np.diff(values) / apart
        slope = _slopes(apart, rise)
        bend = (slope[:-1] + slope[1:] - 2 * rise) / apart
        self._powers = values[:-1], slope[:-1], (rise - slope[:-1]) / apart - bend, bend / apart

    def both(self, at: Array) -> tuple[Floats, Floats]:
        """Value and slope."""
        at = np.asarray(at, dtype=float)
        piece, beyond = self._piece(at)
        one, two, three, four = (power.take(piece) for power in self._powers)
        on = at - self.at.take(piece)
        square = on * on
        value = one + two * on + three * square + four * (square * on)
        slope = two + 2.0 * three * on + 3.0 * four * square
        if beyond is not None:
            value, slope = np.where(beyond, np.nan, value), np.where(beyond, np.nan, slope)
        return value, slope

    def value(self, at: Array) -> Floats:
        """The value alone."""
        return self.both(at)[0]

    def inverse(self, wanted: Array) -> Floats:
        """Where a rising table has a value."""
        wanted = np.asarray(wanted, dtype=float)
        low, high = np.full(wanted.shape, self.at[0]), np.full(wanted.shape, self.at[-1])
        for _ in range(self._HALVINGS):
            middle = 0.5 * (low + high)
            beyond = self.value(middle) >= wanted
            low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
        inside = (wanted >= self.range[0]) & (wanted <= self.range[1])
        return np.where(inside, high, np.nan)

    def _piece(self, at: Floats) -> tuple[Indices, np.ndarray | None]:
        """Between which points each lies, and what lies outside, if anything."""
        piece = np.searchsorted(self.at[1:-1], at, side="right")
        beyond = ~((at >= self.at[0]) & (at <= self.at[-1]))
        return piece, beyond if beyond.any() else None


def _slopes(apart: Floats, rise: Floats) -> Floats:
    """Slopes at the points: harmonic means of those of the pieces beside, by their lengths."""
    if len(apart) == 1:
        return np.repeat(rise, 2)
    first, second = 2 * apart[1:] + apart[:-1], apart[1:] + 2 * apart[:-1]
    signs = np.sign(rise)
    level = (signs[1:] != signs[:-1]) | (rise[1:] == 0) | (rise[:-1] == 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        inner = 1.0 / ((first / rise[:-1] + second / rise[1:]) / (first + second))
    inner = np.where(level, 0.0, inner)
    ends = (_end(*apart[:2], *rise[:2]), _end(*apart[:-3:-1], *rise[:-3:-1]))
    return np.concatenate([ends[:1], inner, ends[1:]])


def _end(apart: float, next_apart: float, rise: float, next_rise: float) -> float:
    """The slope at an end, from the two pieces next to it."""
    slope = ((2 * apart + next_apart) * rise - apart * next_rise) / (apart + next_apart)
    if np.sign(slope) != np.sign(rise):
        return 0.0
    if np.sign(rise) != np.sign(next_rise) and abs(slope) > 3.0 * abs(rise):
        return 3.0 * rise
    return float(slope)
