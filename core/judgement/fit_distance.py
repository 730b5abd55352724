"""Signed distance from readings to a curve, in units of the readings' own uncertainties.

The curve is a monotone polyline of (speed, advance), with a level part before its first knot and
after its last. Orthogonal distances stay finite on plateaux, jumps and the stop.
"""

from __future__ import annotations

from dataclasses import fields

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.branches import count_passed

FAR_RPM = 1e5
"""Beyond every speed; no curve is followed further."""
_CHUNK_VALUES = 64_000
_ON_THE_CURVE = 1e-9  # uncertainties from it, within which a corner has no direction of its own
_NEAR = 4  # knots about the place where a curve first passes a reading
_MARGIN = 3  # knots beyond both places where a curve passes a reading: more than rounding moves
_LEAST_WIDTH = 8  # half as many knots are the fewest that are looked at where those are apart


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
    size = max(1, _CHUNK_VALUES // (_NEAR * len(branch) + theta.shape[1]))
    for start in range(0, len(theta), size):  # pieces that fit the processor's cache
        rows = slice(start, start + size)
        curve = _levelled(theta[rows], speed[rows])
        found[rows] = _signed(*curve, branch, *(c[rows] for c in columns))
    return found


@frozen
class Feet:
    """The points of the curves that are nearest to the readings, each of shape (builds, readings).

    Attributes
    ----------
    distance : array
        As :func:`signed_distances`.
    part : int array
        The part of the curve: that from knot ``part`` − 1 to knot ``part``; 0 is the level one
        before the first knot, and the last the one after the last.
    share : array
        How far along the part, 0 … 1.
    across, up : arrays
        The unit vector from the foot to the side of more advance that a reading's distance is
        measured along, in uncertainties of speed and of advance.
    """

    distance: Floats
    part: Indices
    share: Floats
    across: Floats
    up: Floats

    def of(self, columns: Indices) -> Feet:
        """Those of some readings of each build."""
        each = (getattr(self, f.name) for f in fields(self))
        return Feet(*(np.take_along_axis(a, columns, axis=1) for a in each))


def feet(
    theta: Floats, speed: Floats, x: Floats, y: Floats, u_x: Floats, u_y: Floats
) -> Feet:  # fmt: skip
    """Where on the curves the readings' distances are measured to.

    Parameters
    ----------
    theta, speed : arrays, shape (builds, knots) and (builds, readings, knots)
        Advance, and the speed on the branch of each reading; see :func:`signed_distances`.
    x, y, u_x, u_y : arrays, shape (builds or 1, readings)
    """
    advance, speeds = _levelled(theta, speed)
    across = (np.ascontiguousarray(np.moveaxis(speeds, -1, 0)) - x) / u_x
    up = (np.ascontiguousarray(advance.T)[:, :, None] - y) / u_y
    part = np.argmin(_squares(across, up), axis=0)
    (a, b), (c, d) = (
        [np.take_along_axis(each, part[None] + i, axis=0)[0] for i in (0, 1)]
        for each in (across, up)
    )
    length = np.hypot(b - a, d - c)
    share = np.clip(-(a * (b - a) + c * (d - c)) / length**2, 0.0, 1.0)
    to_across, to_up = a + share * (b - a), c + share * (d - c)
    size = np.hypot(to_across, to_up)
    sign = np.where(a * d >= b * c, 1.0, -1.0)
    corner = ((share == 0) | (share == 1)) & (size > _ON_THE_CURVE)
    over = np.where(corner, size, 1.0)
    return Feet(
        sign * size, part, share,
        np.where(corner, -sign * to_across / over, (c - d) / length),
        np.where(corner, -sign * to_up / over, (b - a) / length),
    )  # fmt: skip


def _levelled(theta: Floats, speed: Floats) -> tuple[Floats, Floats]:
    """The curve with a knot far before its first and one far after its last, level with them."""
    advance = np.empty((len(theta), theta.shape[1] + 2))
    advance[:, 1:-1] = theta
    advance[:, 0], advance[:, -1] = theta[:, 0], theta[:, -1]
    speeds = np.empty((*speed.shape[:2], advance.shape[1]))
    np.minimum(speed, FAR_RPM, out=speeds[..., 1:-1])
    speeds[..., 0], speeds[..., -1] = -FAR_RPM, 2.0 * FAR_RPM
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
    row = np.arange(count)[:, None]
    of_speed, of_theta = knots * (branch + speed.shape[1] * row), knots * row  # where each begins
    speed, theta = speed.ravel(), theta.ravel()
    at_speed = count_passed(speed, of_speed, knots, x, np.less)
    at_advance = count_passed(theta, of_theta, knots, y, np.less)
    low = np.minimum(at_speed, at_advance)
    wide = np.maximum(at_speed, at_advance) - low
    first = np.minimum(np.maximum(low - 1, 0), knots - _NEAR)
    above, width = _NEAR - 2, _LEAST_WIDTH
    while above < wide.max(initial=0):
        width = min(2 * width, knots)
        below = width - 2 * _MARGIN if width < knots else knots
        far = np.nonzero((wide > above) & (wide <= below))
        above = below
        begin = np.minimum(np.maximum(low[far] - _MARGIN, 0), knots - width)
        among = np.arange(width)[:, None] + begin
        across = (speed.take(of_speed[far] + among) - x[far]) * by_x[far]
        up = (theta.take(of_theta[far[0], 0] + among) - y[far]) * by_y[far]
        nearest = begin + np.argmin(_squares(across, up), axis=0)
        first[far] = np.minimum(np.maximum(nearest - 1, 0), knots - _NEAR)
    near = first + np.arange(_NEAR)[:, None, None]
    across = (speed.take(of_speed + near) - x) * by_x
    up = (theta.take(of_theta + near) - y) * by_y
    least, *others = _squares(across, up)
    turn, *turns = across[:-1] * up[1:] - across[1:] * up[:-1]
    for square, other in zip(others, turns, strict=True):
        nearer = square < least
        least, turn = np.where(nearer, square, least), np.where(nearer, other, turn)
    size = np.sqrt(least)
    found: Floats = np.where(turn >= 0, size, -size)
    return found


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
    there = none.any()
    if there:
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
    if there:
        square[none] = np.inf
    return square
