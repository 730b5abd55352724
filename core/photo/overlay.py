"""The mechanism as the docket has it, laid over the picture it was measured off."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.pictures import MeasuredPicture
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.drawable import drawable
from bobweight.core.mechanics.pose import pose
from bobweight.core.mechanics.traced import edge, outline_of
from bobweight.core.photo.measure import plate_frame
from bobweight.core.photo.view import heights_of, placed, viewer_of

Points = NDArray[np.float64]
_ROUND = 180
"""Points of a round line: a plate 2500 pixels across is then drawn true to a quarter of a pixel."""


@frozen(eq=False)
class LaidLine:
    """A line in pixels, shape (n, 2); ``part`` says what it is: ``weight``, ``spring``, ``plate``,
    ``pin`` or ``cross``."""

    part: str
    pixels: Points
    closed: bool = False


def laid_over(
    docket: Docket, picture: MeasuredPicture, cam_deg: float = 0.0
) -> tuple[LaidLine, ...]:
    """Lines of the mechanism, the cam so far from rest, where the picture should show them.

    Raises
    ------
    BobweightError
        As :func:`core.photo.measure.measure`. Nothing is laid over the picture while a place is
        missing or cannot be.
    """
    view, frame = viewer_of(picture), plate_frame(docket, picture, placed(picture))
    heights, _ = heights_of(picture)
    low, high = heights[0], heights[min(1, len(heights) - 1)]
    mechanism = drawable(docket.mechanism)
    if mechanism is None:
        return ()
    posed = pose(mechanism, cam_deg)

    def pixels(places: Iterable[complex], height: float) -> Points:
        there = np.array([frame.back(complex(z)) for z in places])
        return view.pixels(np.column_stack([there.real, there.imag]), height)

    def ring(middle: complex, radius: float, height: float) -> Points:
        turn = np.exp(2j * np.pi * np.arange(_ROUND) / _ROUND)
        return pixels(middle + radius * turn, height)

    lines = [LaidLine("cross", ring(0j, 1.5, low), closed=True)]
    if mechanism.plate.radius_mm is not None:
        lines.append(LaidLine("plate", ring(0j, mechanism.plate.radius_mm, low), closed=True))
    for index, weight in enumerate(posed.weights):
        pivot, centre = complex(*weight.pivot_xy), complex(*weight.cg_xy)
        lines.append(LaidLine("pin", ring(pivot, 1.5, high), closed=True))
        lines.append(LaidLine("cross", ring(centre, 0.8, high), closed=True))
        if weight.pin_xy is not None:
            lines.append(LaidLine("pin", ring(complex(*weight.pin_xy), 1.0, high), closed=True))
        outline = outline_of(mechanism, index)
        if outline:
            x, y = edge(outline, weight).T
            lines.append(LaidLine("weight", pixels(x + 1j * y, high), closed=True))
    for spring in posed.springs:
        ends = [complex(*spring.post_xy), complex(*spring.peg_xy)]
        lines.append(LaidLine("spring", pixels(ends, low)))
        lines += [LaidLine("pin", ring(end, 1.0, low), closed=True) for end in ends]
    return tuple(lines)
