"""What a decision and a session compared with put on the board, in the frame shown. No Qt.

Figures come from the core; here they are only brought into the frame and unit shown.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bobweight.app.board.series import (
    ANGLE_STEPS,
    NO_MARKS,
    SPEED_STEPS,
    CurveSeries,
    Line,
    Marks,
    branch_line,
    centrifugal_marks,
    vacuum_marks,
)
from bobweight.app.board.shapes import round_range

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class BandLine:
    """Lower and upper edge of the fitted curve's band, in shown units."""

    x: Array
    low: Array
    high: Array


@dataclass(frozen=True)
class NextMark:
    """Where the next reading is to be taken: a place on the axis, and the name and height of what
    each of two explanations expects there."""

    x: float
    direction: str
    expected: tuple[tuple[str, float], ...]

    @property
    def middle(self) -> float:
        """Half way between the expectations."""
        heights = [y for _, y in self.expected]
        return 0.5 * (min(heights) + max(heights))


@dataclass(frozen=True, eq=False)
class DecisionSeries:
    """What is laid on one plot; parts that are not asked for are None or empty."""

    fitted: Line | None = None
    band: BandLine | None = None
    preview: Line | None = None
    next: NextMark | None = None
    slips: frozenset[int] = frozenset()
    other: Marks = NO_MARKS
    other_words: str = ""


NOTHING = DecisionSeries()


def speed_layers(
    found: Any, layers: frozenset[str], chosen: int, other: Any, other_words: str, factor: float,
    x_end: float,
) -> DecisionSeries:  # fmt: skip
    """What is laid on the speed plot.

    Parameters
    ----------
    found : Consequences or None
    layers : frozenset of str
        Which of ``fit``, ``preview``, ``next``, ``slips`` are shown.
    chosen : int
        Which list of alterations is previewed; −1 for none.
    other : Outcome or None
        Of the session compared with.
    factor : float
        Shown value per distributor value.
    x_end : float
        Where the axis ends, in shown units.
    """
    marks = NO_MARKS if other is None else centrifugal_marks(other.reduced, None, factor)
    if found is None:
        return DecisionSeries(other=marks, other_words=other_words) if len(marks.row) else NOTHING
    fitted = band = preview = None
    if "fit" in layers and found.fitted is not None:
        fitted = branch_line(found.fitted.rising, factor, x_end)
        band = _band(found.decision.fit.band, factor, x_end)
    if "preview" in layers and 0 <= chosen < len(found.options):
        prediction = found.options[chosen].prediction
        if prediction is not None:
            preview = branch_line(prediction.rising, factor, x_end)
    spot = found.spot if "next" in layers else None
    mark = None
    if spot is not None and spot.depression_kpa is None:
        mark = _mark(spot, spot.speed_rpm * factor, factor)
    return DecisionSeries(
        fitted, band, preview, mark, _slips(found, layers), marks, other_words
    )  # fmt: skip


def widened(series: CurveSeries, other: Any, factor: float) -> CurveSeries:
    """The speed plot with axes that hold the readings of the other session too."""
    if other is None:
        return series
    marks = centrifugal_marks(other.reduced, None, factor)
    used = ~marks.left_out & np.isfinite(marks.y)
    if not used.any():
        return series
    right = max(series.x_range[1], float(marks.x[used].max()) * 1.04)
    y = marks.y[used]
    low, high = min(series.y_range[0], float(y.min())), max(series.y_range[1], float(y.max()))
    return replace(
        series,
        x_range=(0.0, round_range(0.0, right, SPEED_STEPS)[1]),
        y_range=round_range(low, high, ANGLE_STEPS),
    )


def capsule_layers(
    found: Any, layers: frozenset[str], other: Any, other_words: str, factor: float,
    from_kpa: Callable[[Any], Any],
) -> DecisionSeries:  # fmt: skip
    """What is laid on the capsule plot: the next reading, slips, and the other session's marks."""
    marks = NO_MARKS if other is None else vacuum_marks(other.reduced, factor, from_kpa)
    spot = found.spot if found is not None and "next" in layers else None
    mark = None
    if spot is not None and spot.depression_kpa is not None:
        mark = _mark(spot, float(from_kpa(spot.depression_kpa)), factor)
    slips = frozenset() if found is None else _slips(found, layers)
    return DecisionSeries(next=mark, slips=slips, other=marks, other_words=other_words)


def _mark(spot: Any, x: float, factor: float) -> NextMark:
    expected = tuple((name, deg * factor) for name, deg in spot.expected_deg)
    return NextMark(x, spot.direction, expected)


def _slips(found: Any, layers: frozenset[str]) -> frozenset[int]:
    return frozenset(r.row for r in found.slips) if "slips" in layers else frozenset()


def _band(band: Any, factor: float, x_end: float) -> BandLine | None:
    if band is None:
        return None
    x = band.speed_rpm * factor
    inside = x <= x_end
    low, high = band.rising_low_deg * factor, band.rising_high_deg * factor
    return BandLine(x[inside], low[inside], high[inside])
