"""The measuring card: a frame of marks printed at true scale, laid round the part in a picture.

A mark is a black ring round a black dot, so that it is told from screws and rivets by the share of
its areas, and its centre is found to a small part of a pixel. Four marks stand at the corners and
one on each side; those on the sides stand at uneven places, so that the card cannot be taken for
itself turned.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

CARD_MM = 186.0
"""Side of the printed square."""
WINDOW_MM = 140.0
"""Side of the opening in its middle, which is cut out for the part."""
RING_OUTER_MM, RING_INNER_MM, DOT_MM = 7.0, 4.6, 2.6
"""Radii of a mark's ring and dot."""
CHECK_LINE_MM = 150.0
"""Length of the printed line that tells whether the printer kept the scale."""
_REACH_MM = 82.0

MARKS_MM: NDArray[np.float64] = np.array(
    [
        (-_REACH_MM, _REACH_MM), (-30.0, _REACH_MM), (_REACH_MM, _REACH_MM), (_REACH_MM, 22.0),
        (_REACH_MM, -_REACH_MM), (44.0, -_REACH_MM), (-_REACH_MM, -_REACH_MM), (-_REACH_MM, -12.0),
    ]
)  # fmt: skip
"""Centres of the marks, shape (8, 2), in mm from the middle, x to the right and y up, clockwise
from the upper left corner."""
MARKS_MM.setflags(write=False)
