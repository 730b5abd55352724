"""A camera over a flat card: where a point stands in the picture, and what a click is worth in mm.

World frame: the card's plane is z = 0, x to the right and y up on it, z towards the camera, mm.
Picture: pixels, x to the right and y down. The camera is a pinhole with one radial term; what is
not known of it (focal length, distortion, distance) is carried as a prior, so that its uncertainty
reaches every length measured off the picture.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bobweight.core.arrays import Floats
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError

_SPIN, _TILT_X, _TILT_Y, _X, _Y, _LOG_DISTANCE, _LOG_FOCAL, _RADIAL, _RADIAL_4 = range(9)
_MIDDLE_X, _MIDDLE_Y = 9, 10
_SIZE = 11
DIAGONAL_35_MM = 43.267
"""Diagonal of the frame that "35 mm equivalent" focal lengths are stated for."""
USUAL_FOCAL_35_MM, U_RELATIVE_FOCAL = 27.0, 0.12
"""Main camera of a phone (common practice), and the relative standard uncertainty where the file
does not state it."""
U_RELATIVE_STATED_FOCAL = 0.03
U_RADIAL, U_RADIAL_4 = 0.02, 0.006
"""Of the radial terms (second and fourth power) at the picture's half diagonal: what a phone leaves
after its own correction (common practice)."""
U_MIDDLE = 0.003
"""Of the lens's axis from the picture's middle, as a share of its diagonal (common practice)."""
U_TILT_DEG = 6.0
"""A picture taken by hand from straight above, where no card tells the tilt (common practice)."""
USUAL_DISTANCE_MM, U_LOG_DISTANCE = 350.0, 0.5


@frozen(eq=False)
class ImagePoints:
    """Points measured off a picture.

    Attributes
    ----------
    xy_mm : array, shape (n, 2)
    covariance_mm2 : array, shape (2n, 2n)
        In the order x₀, y₀, x₁, …; what the points share (scale, tilt, height) is in it.
    """

    xy_mm: Floats
    covariance_mm2: Floats


@frozen
class Lens:
    """What is known of the camera before anything is measured.

    Attributes
    ----------
    width_px, height_px : int
        Of the picture as shown.
    focal_35_mm : float or None
        "35 mm equivalent" focal length, as cameras write it into the file.
    distance_mm, u_distance_mm : float or None
        Camera to card, where it was measured.
    """

    width_px: int
    height_px: int
    focal_35_mm: float | None = None
    distance_mm: float | None = None
    u_distance_mm: float | None = None

    @property
    def diagonal_px(self) -> float:
        """From corner to corner."""
        return math.hypot(self.width_px, self.height_px)

    @property
    def log_focal(self) -> tuple[float, float]:
        """Logarithm of the focal length in pixels, and its standard uncertainty."""
        stated = self.focal_35_mm
        focal = (stated or USUAL_FOCAL_35_MM) / DIAGONAL_35_MM * self.diagonal_px
        return math.log(focal), U_RELATIVE_STATED_FOCAL if stated else U_RELATIVE_FOCAL

    @property
    def log_distance(self) -> tuple[float, float]:
        """Logarithm of the distance in mm, and its standard uncertainty."""
        if self.distance_mm is None:
            return math.log(USUAL_DISTANCE_MM), U_LOG_DISTANCE
        u = self.u_distance_mm or 0.05 * self.distance_mm
        return math.log(self.distance_mm), u / self.distance_mm


@frozen(eq=False)
class CameraEstimate:
    """A camera as far as it is known: its values, shape (11,), and their covariance."""

    lens: Lens
    values: Floats
    covariance: Floats

    def places(
        self, pixels: ArrayLike, level: ArrayLike, heights_mm: ArrayLike, u_heights_mm: ArrayLike,
        u_click_px: ArrayLike,
    ) -> ImagePoints:  # fmt: skip
        """Places in mm of clicks in the picture.

        Parameters
        ----------
        pixels : array_like, shape (n, 2)
        level : array_like of int, shape (n,)
            Which of the heights each point lies at; points of one level share its error.
        heights_mm, u_heights_mm : array_like, shape (levels,)
            Above the card, and standard uncertainties.
        u_click_px : array_like, shape (n,) or ()
            Standard uncertainty of a click in each direction.
        """
        clicked, of = np.asarray(pixels, float).reshape(-1, 2), np.asarray(level, int)
        n = len(clicked)
        u_click = np.broadcast_to(np.asarray(u_click_px, float), n)
        known = np.concatenate([self.values, np.asarray(heights_mm, float)])

        def at(known: Floats, px: Floats) -> Floats:
            return _to_plane(self.lens, known[:_SIZE], px, known[_SIZE:][of]).reshape(-1)

        steps = np.concatenate([_STEPS, np.full(len(known) - _SIZE, 1e-3)])
        slopes = np.column_stack(
            [
                (at(known + step, clicked) - at(known - step, clicked)) / (2 * step.sum())
                for step in np.diag(steps)
            ]
        )
        uncertain = np.diag(np.append(np.zeros(_SIZE), np.asarray(u_heights_mm, float) ** 2))
        uncertain[:_SIZE, :_SIZE] = self.covariance
        covariance = slopes @ uncertain @ slopes.T
        for shift in 0.5 * np.eye(2):
            moved = at(known, clicked + shift) - at(known, clicked - shift)
            for i in range(n):
                own = slice(2 * i, 2 * i + 2)
                covariance[own, own] += u_click[i] ** 2 * np.outer(moved[own], moved[own])
        return ImagePoints(at(known, clicked).reshape(-1, 2), covariance)

    def pixels(self, xy_mm: ArrayLike, heights_mm: ArrayLike = 0.0) -> Floats:
        """Where points at heights above the card stand in the picture, shape (n, 2)."""
        xy = np.asarray(xy_mm, float).reshape(-1, 2)
        high = np.broadcast_to(np.asarray(heights_mm, float), len(xy))
        return _to_picture(self.lens, self.values, np.column_stack([xy, high]))


_STEPS = np.array([1e-5, 1e-5, 1e-5, 1e-3, 1e-3, 1e-5, 1e-5, 1e-5, 1e-5, 1e-6, 1e-6])


def view_of_marks(
    lens: Lens, marks_mm: ArrayLike, marks_px: ArrayLike, u_mark_px: float
) -> CameraEstimate:
    """The camera from marks whose places on the card are known.

    Parameters
    ----------
    marks_mm, marks_px : array_like, shape (n, 2), n ≥ 4
        On the card and in the picture.
    u_mark_px : float
        Standard uncertainty of each coordinate of a mark in the picture. Where the marks fit worse
        than that, the covariance grows with it.

    Raises
    ------
    BobweightError
        ``too-few-points``; ``marks-do-not-fit`` where no camera sees the card like that.

    Notes
    -----
    Starts from the plane homography (Hartley and Zisserman, Multiple View Geometry in Computer
    Vision, 2nd ed., sections 4.1 and 8.1); then least squares on what the camera sees.
    """
    world, seen = np.asarray(marks_mm, float), np.asarray(marks_px, float)
    if len(world) < 4 or len(world) != len(seen):
        raise BobweightError("too-few-points", ("marks",), given=len(world), needed=4)
    start = _start(lens, world, seen)
    flat = np.column_stack([world, np.zeros(len(world))])

    def misses(values: Floats) -> Floats:
        found: Floats = ((_to_picture(lens, values, flat) - seen) / u_mark_px).reshape(-1)
        return found

    values, covariance = _fitted(lens, misses, start, np.ones(_SIZE, bool), tilt_known=False)
    miss = misses(values)
    freedom = max(2 * len(world) - 8, 1)  # the homography's
    misfit = float(np.sqrt(miss @ miss / freedom))
    if not np.isfinite(misfit) or misfit * u_mark_px > 0.01 * lens.diagonal_px:
        raise BobweightError("marks-do-not-fit", ("marks",))
    return CameraEstimate(lens, values, covariance * max(1.0, misfit) ** 2)


def view_of_distance(
    lens: Lens, first_px: ArrayLike, second_px: ArrayLike, distance_mm: float, *,
    u_distance_mm: float, u_click_px: float,
) -> CameraEstimate:  # fmt: skip
    """The camera from two points of the card's plane a known distance apart.

    Tilt and distortion are then only as well known as for a picture taken by hand from straight
    above. The origin lies in the middle of the picture.

    Raises
    ------
    BobweightError
        ``same-point``; ``not-positive`` at the distance.
    """
    ends = np.array([first_px, second_px], float)
    apart = float(np.hypot(*(ends[1] - ends[0])))
    if apart < 1.0:
        raise BobweightError("same-point")
    if not (math.isfinite(distance_mm) and distance_mm > 0):
        raise BobweightError("not-positive", ("distance_mm",), value=distance_mm)
    log_focal, _ = lens.log_focal
    start = np.zeros(_SIZE)
    start[_LOG_FOCAL] = log_focal
    start[_LOG_DISTANCE] = log_focal + math.log(distance_mm / apart)
    u_apart = math.hypot(u_distance_mm, math.sqrt(2) * u_click_px * distance_mm / apart)

    def misses(values: Floats) -> Floats:
        on_card = _to_plane(lens, values, ends, np.zeros(2))
        return np.array([(np.hypot(*(on_card[1] - on_card[0])) - distance_mm) / u_apart])

    free = np.ones(_SIZE, bool)
    free[[_SPIN, _X, _Y]] = False
    values, covariance = _fitted(lens, misses, start, free, tilt_known=True)
    return CameraEstimate(lens, values, covariance)


def _fitted(
    lens: Lens,
    misses: Callable[[Floats], Floats],
    start: Floats,
    free: NDArray[np.bool_],
    *,
    tilt_known: bool,
) -> tuple[Floats, Floats]:
    """Values and covariance of the free ones by least squares with what the lens says."""
    from scipy.optimize import least_squares

    (log_focal, u_focal), (log_distance, u_distance) = lens.log_focal, lens.log_distance
    tilt = math.radians(U_TILT_DEG)

    def whole(part: Floats) -> Floats:
        values = start.copy()
        values[free] = part
        return values

    def residuals(part: Floats) -> Floats:
        values = whole(part)
        prior = [
            (values[_LOG_FOCAL] - log_focal) / u_focal,
            (values[_LOG_DISTANCE] - log_distance) / u_distance,
            values[_RADIAL] / U_RADIAL,
            values[_RADIAL_4] / U_RADIAL_4,
            values[_MIDDLE_X] / U_MIDDLE,
            values[_MIDDLE_Y] / U_MIDDLE,
        ]
        if tilt_known:
            prior += [values[_TILT_X] / tilt, values[_TILT_Y] / tilt]
        return np.concatenate([misses(values), prior])

    scale = np.array([0.01] * 3 + [1.0] * 2 + [0.01] * 4 + [0.001] * 2)[free]
    found = least_squares(residuals, start[free], x_scale=scale, xtol=1e-12, ftol=1e-12, gtol=1e-10)
    covariance = np.zeros((_SIZE, _SIZE))
    covariance[np.ix_(free, free)] = np.linalg.pinv(found.jac.T @ found.jac, rcond=1e-14)
    return whole(found.x), covariance


def _turn(values: Floats) -> Floats:
    """Rotation from the card's frame to the camera's: x right, y down, z away from the camera."""
    cs, ss = math.cos(values[_SPIN]), math.sin(values[_SPIN])
    spin = np.array([[cs, -ss, 0.0], [ss, cs, 0.0], [0.0, 0.0, 1.0]])
    angle = math.hypot(values[_TILT_X], values[_TILT_Y])
    tilt = np.eye(3)
    if angle > 0:
        x, y = values[_TILT_X] / angle, values[_TILT_Y] / angle
        c, s = math.cos(angle), math.sin(angle)
        tilt = np.array(
            [
                [c + x * x * (1 - c), x * y * (1 - c), y * s],
                [x * y * (1 - c), c + y * y * (1 - c), -x * s],
                [-y * s, x * s, c],
            ]
        )
    found: Floats = np.diag([1.0, -1.0, -1.0]) @ tilt @ spin
    return found


def _axis_px(lens: Lens, values: Floats) -> Floats:
    """Where the lens's axis meets the picture."""
    middle = np.array([(lens.width_px - 1) / 2, (lens.height_px - 1) / 2])
    return middle + values[[_MIDDLE_X, _MIDDLE_Y]] * lens.diagonal_px


def _grown(values: Floats, square: Floats) -> Floats:
    """What distortion multiplies a place by, from its squared distance off the axis, in half
    diagonals."""
    found: Floats = 1 + values[_RADIAL] * square + values[_RADIAL_4] * square**2
    return found


def _to_picture(lens: Lens, values: Floats, xyz_mm: Floats) -> Floats:
    """Pixels of points of the world, shapes (n, 3) and (n, 2)."""
    shift = np.array([values[_X], values[_Y], math.exp(values[_LOG_DISTANCE])])
    seen = xyz_mm @ _turn(values).T + shift
    plane = seen[:, :2] / seen[:, 2:]
    focal = math.exp(values[_LOG_FOCAL])
    half = lens.diagonal_px / (2 * focal)
    square = np.sum(plane**2, axis=1, keepdims=True) / half**2
    found: Floats = _axis_px(lens, values) + focal * plane * _grown(values, square)
    return found


def _to_plane(lens: Lens, values: Floats, pixels: Floats, heights_mm: Floats) -> Floats:
    """Points of the world at given heights behind pixels, shapes (n, 2)."""
    focal = math.exp(values[_LOG_FOCAL])
    half = lens.diagonal_px / (2 * focal)
    bent = (pixels - _axis_px(lens, values)) / focal
    plane = bent.copy()
    for _ in range(20):  # converges by a factor of the distortion a round
        square = np.sum(plane**2, axis=1, keepdims=True) / half**2
        plane = bent / _grown(values, square)
    turn = _turn(values)
    shift = np.array([values[_X], values[_Y], math.exp(values[_LOG_DISTANCE])])
    camera = -turn.T @ shift
    rays = np.column_stack([plane, np.ones(len(plane))]) @ turn
    reach = (heights_mm - camera[2]) / rays[:, 2]
    found: Floats = camera[:2] + rays[:, :2] * reach[:, None]
    return found


def homography(flat: Floats, seen: Floats) -> Floats:
    """The 3 × 3 matrix that takes points of a plane to a picture, by the direct linear transform
    on normalised points; shape (n, 2) each, n ≥ 4."""

    def normal(points: Floats) -> tuple[Floats, Floats]:
        middle = points.mean(axis=0)
        size = np.sqrt(2) / max(float(np.mean(np.hypot(*(points - middle).T))), 1e-12)
        matrix = np.array([[size, 0, -size * middle[0]], [0, size, -size * middle[1]], [0, 0, 1]])
        return (points - middle) * size, matrix

    (a, from_flat), (b, from_seen) = normal(flat), normal(seen)
    zero, one = np.zeros(len(a)), np.ones(len(a))
    x, y = a.T
    u, v = b.T
    rows = np.concatenate(
        [
            np.column_stack([x, y, one, zero, zero, zero, -u * x, -u * y, -u]),
            np.column_stack([zero, zero, zero, x, y, one, -v * x, -v * y, -v]),
        ]
    )
    matrix = np.linalg.svd(rows)[2][-1].reshape(3, 3)
    found: Floats = np.linalg.inv(from_seen) @ matrix @ from_flat
    return found


def _start(lens: Lens, world: Floats, seen: Floats) -> Floats:
    """Values near enough for the fit to find its way."""
    focal = math.exp(lens.log_focal[0])
    centred = (seen - _axis_px(lens, np.zeros(_SIZE))) / focal
    h = homography(world, centred)
    h /= (np.linalg.norm(h[:, 0]) + np.linalg.norm(h[:, 1])) / 2
    if h[2, 2] < 0:
        h = -h
    first, second = h[:, 0], h[:, 1]
    left, _, right = np.linalg.svd(np.column_stack([first, second, np.cross(first, second)]))
    turn = np.diag([1.0, -1.0, -1.0]) @ (
        left @ np.diag([1, 1, np.linalg.det(left @ right)]) @ right
    )
    # turn = tilt @ spin, the tilt about an axis in the card's plane
    axis_cos = np.clip(turn[2, 2], -1.0, 1.0)
    angle = math.acos(axis_cos)
    values = np.zeros(_SIZE)
    if angle > 1e-9:
        side = math.hypot(turn[0, 2], turn[1, 2])
        values[_TILT_X] = -turn[1, 2] / side * angle
        values[_TILT_Y] = turn[0, 2] / side * angle
    probe = values.copy()
    tilt = np.diag([1.0, -1.0, -1.0]) @ _turn(probe)
    spin = tilt.T @ turn
    values[_SPIN] = math.atan2(spin[1, 0], spin[0, 0])
    values[_X], values[_Y] = h[0, 2], h[1, 2]
    values[_LOG_DISTANCE] = math.log(max(h[2, 2], 1.0))
    values[_LOG_FOCAL] = math.log(focal)
    return values
