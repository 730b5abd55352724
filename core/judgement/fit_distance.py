"""Signed distance from readings to a curve, in units of the readings' own uncertainties.

The curve is a monotone polyline of (speed, advance), with a level part before its first knot and
after its last. Orthogonal distances stay finite on plateaux, jumps and the stop.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from bobweight.core.arrays import Floats, Indices

_FAR_RPM = 1e5
_CHUNK_VALUES = 100_000


def signed_distances(
    theta: Floats,
    speed: Floats,
    branch: Indices,
    x: Floats,
    y: Floats,
    u_x: Floats,
    u_y: Floats,
) -> Floats:
    """Distance of each reading from each build's curve, positive where it shows more advance.

    Parameters
    ----------
    theta : array, shape (builds, knots)
        Advance in degrees, never falling along the knots.
    speed : array, shape (builds, branches, knots)
        Speed in rev/min on each branch, never falling along the knots.
    branch : int array, shape (readings,)
        Which branch each reading belongs to.
    x, y : arrays, shape (builds, readings) or (1, readings)
        Speed and advance of the readings.
    u_x, u_y : arrays, shape (builds, readings) or (1, readings)
        Their standard uncertainties, > 0.

    Returns
    -------
    array, shape (builds, readings)

    Notes
    -----
    The parts are compared in single precision; the nearest of them, those beside it and the level
    ends are then taken exactly. A curve has four knots or more.
    """
    count, size = len(theta), max(1, _CHUNK_VALUES // (len(branch) * theta.shape[1]))
    shape = (count, len(branch))
    speed = np.minimum(speed, _FAR_RPM)
    columns = [np.broadcast_to(a, shape) for a in (x, y, 1.0 / u_x, 1.0 / u_y)]
    if count <= size:
        return _signed(theta, speed, branch, *columns)
    found = np.empty(shape)
    for start in range(0, count, size):  # pieces that fit the processor's cache
        rows = slice(start, start + size)
        found[rows] = _signed(theta[rows], speed[rows], branch, *(c[rows] for c in columns))
    return found


def _signed(
    theta: Floats,
    speed: Floats,
    branch: Indices,
    x: Floats,
    y: Floats,
    u_x: Floats,
    u_y: Floats,
) -> Floats:
    """The distances of some builds; ``u_x`` and ``u_y`` are reciprocals here."""
    last = theta.shape[1] - 1
    nearest = _nearest_part(theta, speed, branch, x, y, u_x, u_y)
    knots = np.clip(nearest - 1, 0, last - 3) + np.arange(4)[:, None, None]
    row = np.arange(len(theta))[:, None]
    across = (speed[row, branch, knots] - x) * u_x
    up = (theta[row, knots] - y) * u_y
    squares = np.empty((5, *x.shape))
    above = np.empty(squares.shape, dtype=bool)
    squares[2:] = _squares(across, up)
    above[2:] = across[:-1] * up[1:] >= across[1:] * up[:-1]
    # Before the first knot the curve comes level from the left, after the last it goes level on.
    for place, (knot, past) in enumerate(((0, np.minimum), (last, np.maximum))):
        beyond = past((speed[:, branch, knot] - x) * u_x, 0.0)
        height = (theta[:, knot, None] - y) * u_y
        squares[place] = beyond**2 + height**2
        above[place] = height <= 0
    best = np.argmin(squares, axis=0)[None]
    size = np.sqrt(np.take_along_axis(squares, best, axis=0)[0])
    found: Floats = np.where(np.take_along_axis(above, best, axis=0)[0], size, -size)
    return found


def _nearest_part(
    theta: Floats,
    speed: Floats,
    branch: Indices,
    x: Floats,
    y: Floats,
    u_x: Floats,
    u_y: Floats,
) -> Indices:
    """Index of the part nearest to each reading; single precision will do to find it."""
    at, speeds, right, high, by_x, by_y = (
        np.asarray(a, dtype=np.float32) for a in (theta, speed, x, y, u_x, u_y)
    )
    across = speeds[:, branch, :]
    across -= right[:, :, None]
    across *= by_x[:, :, None]
    up = at[:, None, :] - high[:, :, None]
    up *= by_y[:, :, None]
    return np.asarray(np.argmin(_squares(np.moveaxis(across, 2, 0), np.moveaxis(up, 2, 0)), axis=0))


def _squares(across: NDArray[Any], up: NDArray[Any]) -> NDArray[Any]:
    """Squared distance of the origin from each part of a polyline; infinite for one of no length.

    Parameters
    ----------
    across, up : arrays, shape (knots, ...)

    Returns
    -------
    array, shape (knots - 1, ...)
    """
    d_across = across[1:] - across[:-1]
    d_up = up[1:] - up[:-1]
    across, up = across[:-1], up[:-1]
    length = d_across * d_across
    length += d_up * d_up
    share = across * d_across
    share += up * d_up
    none = length == 0
    length[none] = 1.0
    share /= length
    np.clip(share, -1.0, 0.0, out=share)
    d_across *= share
    d_up *= share
    square: NDArray[Any] = np.subtract(across, d_across, out=d_across)
    square *= square
    rest = np.subtract(up, d_up, out=d_up)
    rest *= rest
    square += rest
    square[none] = np.inf
    return square
