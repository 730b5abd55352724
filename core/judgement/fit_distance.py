"""Signed distance from readings to a curve, in units of the readings' own uncertainties.

The curve is a monotone polyline of (speed, advance), with a level part before its first knot and
after its last. Orthogonal distances stay finite on plateaux, jumps and the stop.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.arrays import Floats, Indices

_FAR_RPM = 1e5
_CHUNK_VALUES = 200_000
_NEAR = 4  # knots about the place where a curve first passes a reading


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
    Between the place where the curve passes a reading's speed and the one where it passes its
    advance lies the nearest point, since the curve never falls: before both and after both it only
    goes away. Three parts about the first are enough for most readings.
    """
    shape = (len(theta), len(branch))
    columns = [np.broadcast_to(a, shape) for a in (x, y, 1.0 / u_x, 1.0 / u_y)]
    found = np.empty(shape)
    size = max(1, _CHUNK_VALUES // (len(branch) * theta.shape[1]))
    for start in range(0, len(theta), size):  # pieces that fit the processor's cache
        rows = slice(start, start + size)
        curve = _levelled(theta[rows], speed[rows])
        found[rows] = _signed(*curve, branch, *(c[rows] for c in columns))
    return found


def _levelled(theta: Floats, speed: Floats) -> tuple[Floats, Floats]:
    """The curve with a knot far before its first and one far after its last, level with them."""
    advance = np.empty((len(theta), theta.shape[1] + 2))
    advance[:, 1:-1] = theta
    advance[:, 0], advance[:, -1] = theta[:, 0], theta[:, -1]
    speeds = np.empty((*speed.shape[:2], advance.shape[1]))
    np.minimum(speed, _FAR_RPM, out=speeds[..., 1:-1])
    speeds[..., 0], speeds[..., -1] = -_FAR_RPM, 2.0 * _FAR_RPM
    return advance, speeds


def _signed(
    theta: Floats,
    speed: Floats,
    branch: Indices,
    x: Floats,
    y: Floats,
    by_x: Floats,
    by_y: Floats,
) -> Floats:
    """The distances of some builds from levelled curves; ``by_x`` and ``by_y`` are one over the
    uncertainties."""
    count, knots = theta.shape
    at_speed, at_advance = _passed(speed[:, branch], x), _passed(theta[:, None], y)
    low = np.minimum(at_speed, at_advance)
    first = np.clip(low - 1, 0, knots - _NEAR)
    rows, columns = np.nonzero(np.maximum(at_speed, at_advance) - low > _NEAR - 2)
    if len(rows):
        across = (speed[rows, branch[columns]].T - x[rows, columns]) * by_x[rows, columns]
        up = (theta[rows].T - y[rows, columns]) * by_y[rows, columns]
        nearest = np.argmin(_squares(across, up), axis=0)
        first[rows, columns] = np.clip(nearest - 1, 0, knots - _NEAR)
    row, near = np.arange(count)[:, None], np.arange(_NEAR)[:, None, None]
    line = branch + speed.shape[1] * row
    across = (speed.ravel().take(first + knots * line + near) - x) * by_x
    up = (theta.ravel().take(first + knots * row + near) - y) * by_y
    squares = _squares(across, up)
    above = across[:-1] * up[1:] >= across[1:] * up[:-1]
    best = np.argmin(squares, axis=0)[None]
    size = np.sqrt(np.take_along_axis(squares, best, axis=0)[0])
    found: Floats = np.where(np.take_along_axis(above, best, axis=0)[0], size, -size)
    return found


def _passed(values: Floats, limit: Floats) -> Indices:
    """Index of the first of rising values, along the last axis, that is no less than the limit;
    their number where none is."""
    over = values >= limit[..., None]
    return np.asarray(np.where(over[..., -1], over.argmax(axis=-1), values.shape[-1]))


def _squares(across: Floats, up: Floats) -> Floats:
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
    square: Floats = np.subtract(across, d_across, out=d_across)
    square *= square
    rest = np.subtract(up, d_up, out=d_up)
    rest *= rest
    square += rest
    square[none] = np.inf
    return square
