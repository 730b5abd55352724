"""Signed distance from readings to a curve, in units of the readings' own uncertainties.

The curve is a monotone polyline of (speed, advance), with a level part before its first knot and
after its last. Orthogonal distances stay finite on plateaux, jumps and the stop.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_FAR_RPM = 1e5
_CHUNK_VALUES = 100_000
_TINY = np.float32(1e-12)
"""A squared length that counts as none."""


def signed_distances(
    theta: NDArray,
    speed: NDArray,
    branch: NDArray,
    x: NDArray,
    y: NDArray,
    u_x: NDArray,
    u_y: NDArray,
) -> NDArray:
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
    The parts are compared in single precision; the nearest of them, those beside it and beside
    every plateau (which may be of no length), and the level ends are then taken exactly.
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
    theta: NDArray,
    speed: NDArray,
    branch: NDArray,
    x: NDArray,
    y: NDArray,
    u_x: NDArray,
    u_y: NDArray,
) -> NDArray:
    """The distances of some builds; ``u_x`` and ``u_y`` are reciprocals here."""
    last = theta.shape[1] - 1
    nearest = _nearest_part(theta, speed, branch, x, y, u_x, u_y)
    plateaus = np.flatnonzero((theta[:, 1:] == theta[:, :-1]).all(axis=0))
    beside = np.unique(np.clip([plateaus - 1, plateaus, plateaus + 1], 0, last - 1))
    first = np.empty((*x.shape, 3 + len(beside)), dtype=int)
    first[..., 0] = np.maximum(nearest - 1, 0)
    first[..., 1] = nearest
    first[..., 2] = np.minimum(nearest + 1, last - 1)
    first[..., 3:] = beside
    row, way = np.arange(len(theta))[:, None, None], branch[:, None]
    across, up = speed[row, way, first], theta[row, first]
    d_across = (speed[row, way, first + 1] - across) * u_x[..., None]
    d_up = (theta[row, first + 1] - up) * u_y[..., None]
    p_across = (across - x[..., None]) * u_x[..., None]
    p_up = (up - y[..., None]) * u_y[..., None]
    squares = np.empty((*x.shape, first.shape[2] + 2))
    above = np.empty(squares.shape, dtype=bool)
    squares[..., 2:], above[..., 2:] = _to_segments(p_across, p_up, d_across, d_up)
    # Before the first knot the curve comes level from the left, after the last it goes level on.
    for place, (knot, past) in enumerate(((0, np.minimum), (last, np.maximum))):
        beyond = past((speed[:, branch, knot] - x) * u_x, 0.0)
        height = (theta[:, knot, None] - y) * u_y
        squares[..., place] = beyond**2 + height**2
        above[..., place] = height <= 0
    best = np.argmin(squares, axis=2)[..., None]
    size = np.sqrt(np.take_along_axis(squares, best, axis=2)[..., 0])
    return np.where(np.take_along_axis(above, best, axis=2)[..., 0], size, -size)


def _nearest_part(
    theta: NDArray,
    speed: NDArray,
    branch: NDArray,
    x: NDArray,
    y: NDArray,
    u_x: NDArray,
    u_y: NDArray,
) -> NDArray:
    """Index of the part nearest to each reading; single precision will do to find it."""
    theta, speed, x, y, u_x, u_y = (
        np.asarray(a, dtype=np.float32) for a in (theta, speed, x, y, u_x, u_y)
    )
    across = speed[:, branch, :]
    across -= x[:, :, None]
    across *= u_x[:, :, None]
    up = theta[:, None, :] - y[:, :, None]
    up *= u_y[:, :, None]
    d_across, d_up = np.diff(across, axis=2), np.diff(up, axis=2)
    across, up = across[..., :-1], up[..., :-1]
    length = d_across * d_across
    length += d_up * d_up
    length += _TINY
    share = across * d_across
    share += up * d_up
    share /= length
    np.clip(share, -1.0, 0.0, out=share)
    d_across *= share
    d_up *= share
    np.subtract(across, d_across, out=d_across)
    np.subtract(up, d_up, out=d_up)
    d_across *= d_across
    d_up *= d_up
    d_across += d_up
    return np.argmin(d_across, axis=2)


def _to_segments(
    p_across: NDArray, p_up: NDArray, d_across: NDArray, d_up: NDArray
) -> tuple[NDArray, NDArray]:
    """Squared distance of the origin from segments p + t d, and whether it lies above them."""
    length = d_across * d_across + d_up * d_up
    t = -(p_across * d_across + p_up * d_up) / np.where(length == 0, 1.0, length)
    t = np.clip(t, 0.0, 1.0)
    square = (p_across + t * d_across) ** 2 + (p_up + t * d_up) ** 2
    square = np.where(length > 0, square, np.inf)
    return square, d_up * p_across >= d_across * p_up
