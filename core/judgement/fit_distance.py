"""Signed distance from readings to a curve, in units of the readings' own uncertainties.

The curve is a monotone polyline of (speed, advance), with a level part before its first knot and
after its last. Orthogonal distances stay finite on plateaux, jumps and the stop.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_FAR_RPM = 1e5


def signed_distances(
    theta: NDArray, speed: NDArray, x: NDArray, y: NDArray, u_x: NDArray, u_y: NDArray
) -> NDArray:
    """Distance of each reading from each build's curve, positive where it shows more advance.

    Parameters
    ----------
    theta, speed : arrays, shape (builds, knots)
        Advance in degrees and speed in rev/min, neither falling along the knots.
    x, y : arrays, shape (builds, readings) or (1, readings)
        Speed and advance of the readings.
    u_x, u_y : arrays, shape (builds, readings) or (1, readings)
        Their standard uncertainties, > 0.

    Returns
    -------
    array, shape (builds, readings)

    Notes
    -----
    The nearest point lies beside the nearest knot, or on a part longer than its neighbours: the
    level ends and the plateaux, which are always tried. So are the neighbours of a plateau, which
    may be of no length and would hide them.
    """
    count, last = len(theta), theta.shape[1] - 1
    shape = (count, x.shape[1])
    x, y, u_x, u_y = (np.broadcast_to(a, shape) for a in (x, y, 1.0 / u_x, 1.0 / u_y))
    speed = np.minimum(speed, _FAR_RPM)
    nearest = _nearest_knot(theta, speed, x, y, u_x, u_y)
    own = np.maximum(nearest - 1, 0), np.minimum(nearest, last - 1)
    plateaus = np.flatnonzero((theta[:, 1:] == theta[:, :-1]).all(axis=0))
    beside = np.unique(np.clip([plateaus - 1, plateaus, plateaus + 1], 0, last - 1))
    first = np.stack([*own, *(np.full(shape, p) for p in beside)], axis=-1)
    row = np.arange(count)[:, None, None]
    p_across = (speed[row, first] - x[..., None]) * u_x[..., None]
    p_up = (theta[row, first] - y[..., None]) * u_y[..., None]
    d_across = (speed[row, first + 1] - speed[row, first]) * u_x[..., None]
    d_up = (theta[row, first + 1] - theta[row, first]) * u_y[..., None]
    level = [(v[:, k : k + 1] - at) * u
             for k in (0, last) for v, at, u in ((speed, x, u_x), (theta, y, u_y))]  # fmt: skip
    candidates = [_to_segments(p_across, p_up, d_across, d_up)]
    # Before the first knot the curve comes level from the left, after the last it goes level on.
    candidates.append(_to_level(level[0], level[1], before=True))
    candidates.append(_to_level(level[2], level[3], before=False))
    squares = np.concatenate([c[0] for c in candidates], axis=2)
    sides = np.concatenate([c[1] for c in candidates], axis=2)
    best = np.argmin(squares, axis=2)[..., None]
    size = np.sqrt(np.take_along_axis(squares, best, axis=2)[..., 0])
    return np.where(np.take_along_axis(sides, best, axis=2)[..., 0], size, -size)


def _nearest_knot(
    theta: NDArray, speed: NDArray, x: NDArray, y: NDArray, u_x: NDArray, u_y: NDArray
) -> NDArray:
    """Index of the knot nearest to each reading; single precision will do to find it."""
    theta, speed, x, y, u_x, u_y = (
        np.asarray(a, dtype=np.float32) for a in (theta, speed, x, y, u_x, u_y)
    )
    square = speed[:, None, :] - x[:, :, None]
    square *= u_x[:, :, None]
    square *= square
    up = theta[:, None, :] - y[:, :, None]
    up *= u_y[:, :, None]
    up *= up
    square += up
    return np.argmin(square, axis=2)


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


def _to_level(across: NDArray, up: NDArray, before: bool) -> tuple[NDArray, NDArray]:
    past = np.maximum(across, 0.0) if not before else np.minimum(across, 0.0)
    square = past**2 + up**2
    return square[..., None], (up <= 0)[..., None]
