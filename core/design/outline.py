"""A flat weight from its outline: area, centre of gravity, mass and moment of inertia.

An outline is the curve that is drawn through its points, sharp at its corners
(:func:`core.mechanics.traced.smooth`). Holes are subtracted.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bobweight.core.arrays import Floats
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.traced import smooth
from bobweight.core.problems import BobweightError, Path, required

DENSITY_G_PER_CM3 = {
    "steel": 7.85,
    "sintered-iron": 6.8,
    "brass": 8.5,
    "zinc-alloy": 6.6,
}
"""Densities as handbooks give them (from memory; sintered iron varies from 5.8 to 7.2)."""


_DRAWN = 400
"""Places on a drawn outline that are enough: of one of more points, the points are."""
_LEAST_SINE = 0.17  # of the angle at which two lines are to cross: 10 degrees


@frozen
class PlaneFigure:
    """A plane figure: area in mm² and centroid in mm."""

    area_mm2: float
    x_mm: float
    y_mm: float


@frozen
class FlatWeight:
    """A weight cut from plate.

    Attributes
    ----------
    cg_angle_deg, u_cg_angle_deg : float
        Direction pivot → CG from the x axis of the outline, −180…180, anticlockwise positive.
        The uncertainty is infinite if the CG lies on the pivot.
    rest_angle_deg : float or None
        Angle at the pivot from the outward radial direction (shaft → pivot) to the CG,
        −180…180, anticlockwise positive; None if the shaft's place is not given.
    pivot_radius_mm : float or None
        Shaft to pivot.
    """

    section: PlaneFigure
    mass_g: float
    u_mass_g: float
    cg_from_pivot_mm: float
    u_cg_from_pivot_mm: float
    cg_angle_deg: float
    u_cg_angle_deg: float
    rest_angle_deg: float | None
    pivot_radius_mm: float | None

    @property
    def u_rest_angle_deg(self) -> float:
        """Standard uncertainty of the angle at rest."""
        return self.u_cg_angle_deg

    @property
    def centre_mm(self) -> tuple[float, float]:
        """The centre of gravity in the frame of the outline."""
        return self.section.x_mm, self.section.y_mm


@frozen
class Scale:
    """Millimetres per unit of the picture, and its standard uncertainty."""

    mm_per_unit: float
    u_mm_per_unit: float


def scale_from_two_points(
    first: ArrayLike,
    second: ArrayLike,
    distance_mm: float,
    u_distance_mm: float = 0.0,
    u_point: float = 0.0,
) -> Scale:
    """Scale of a picture, in mm per unit, from two points a known distance apart.

    Parameters
    ----------
    first, second : array_like, shape (2,)
        In the picture's unit (pixels).
    distance_mm, u_distance_mm : float
        Distance, > 0, and its standard uncertainty.
    u_point : float
        Standard uncertainty of each click, in the picture's unit, in each direction.

    Raises
    ------
    BobweightError
        ``same-point``, ``not-positive``, ``not-finite``.
    """
    apart = float(np.hypot(*(_point(second, ("second",)) - _point(first, ("first",)))))
    if apart == 0:
        raise BobweightError("same-point")
    if not (np.isfinite(distance_mm) and distance_mm > 0):
        raise BobweightError("not-positive", ("distance_mm",), value=distance_mm)
    scale = distance_mm / apart
    relative = np.hypot(u_distance_mm / distance_mm, np.sqrt(2) * u_point / apart)
    return Scale(scale, float(scale * relative))


def flat_weight(
    outline: ArrayLike,
    pivot: ArrayLike,
    thickness_mm: float,
    density_g_per_cm3: float,
    *,
    holes: Sequence[ArrayLike] = (),
    shaft: ArrayLike | None = None,
    u_point_mm: float = 0.0,
    relative_u_scale: float = 0.0,
    relative_u_thickness: float = 0.0,
    relative_u_density: float = 0.0,
) -> FlatWeight:
    """Mass in g, CG in mm and degrees of a weight of even thickness.

    Parameters
    ----------
    outline : array_like, shape (n, 2), n ≥ 3
        Points in mm with y upwards (:func:`from_picture` makes them so), either way round; the
        last joins the first. The curve through them counts, sharp at its corners.
    holes : sequence of array_like, shape (m, 2)
        Inside the outline, not overlapping.
    pivot, shaft : array_like, shape (2,)
        Centres of the weight's pivot and (optional) of the distributor shaft, same frame.
    thickness_mm, density_g_per_cm3 : float
        > 0. :data:`DENSITY_G_PER_CM3` has common ones.
    u_point_mm : float
        Standard uncertainty of each point in each direction, independent.
    relative_u_scale, relative_u_thickness, relative_u_density : float
        Relative standard uncertainties of the scale, thickness and density.

    Raises
    ------
    BobweightError
        ``too-few-points``, ``not-finite``, ``outline-without-area``, ``outline-crosses-itself``,
        ``hole-outside``, ``holes-overlap``; the path names the outline or the hole.
        ``not-positive`` at the thickness or density.
    """
    for key, value in (("thickness_mm", thickness_mm), ("density_g_per_cm3", density_g_per_cm3)):
        if not (np.isfinite(value) and value > 0):
            raise BobweightError("not-positive", (key,), value=value)
    rings = _checked(outline, holes)
    at = _point(pivot, ("pivot",))
    area, sx, sy = (float(value[0]) for value in _sums([_drawn(ring[None]) for ring in rings]))
    section = PlaneFigure(area, sx / area, sy / area)
    per_area = thickness_mm * density_g_per_cm3 / 1000
    arm = np.array([section.x_mm, section.y_mm]) - at
    distance = float(np.hypot(*arm))
    variance_area, covariance = _point_scatter(rings, u_point_mm)
    covariance = covariance + np.eye(2) * u_point_mm**2  # the pivot is clicked too
    along = arm / distance if distance else np.array([1.0, 0.0])
    across = np.array([-along[1], along[0]])
    u_distance = np.sqrt(along @ covariance @ along + (relative_u_scale * distance) ** 2)
    u_across = np.sqrt(across @ covariance @ across)
    u_angle = np.degrees(u_across / distance) if distance > 1e-9 else np.inf
    relative = np.sqrt(
        variance_area / section.area_mm2**2
        + (2 * relative_u_scale) ** 2
        + relative_u_thickness**2
        + relative_u_density**2
    )
    mass = section.area_mm2 * per_area
    rest_angle = radius = None
    if shaft is not None:
        radial = at - _point(shaft, ("shaft",))
        radius = float(np.hypot(*radial))
        turn = radial[0] * arm[1] - radial[1] * arm[0]
        rest_angle = float(np.degrees(np.arctan2(turn, radial @ arm))) if radius else None
    return FlatWeight(
        section=section, mass_g=mass, u_mass_g=float(mass * relative),
        cg_from_pivot_mm=distance, u_cg_from_pivot_mm=float(u_distance),
        cg_angle_deg=float(np.degrees(np.arctan2(arm[1], arm[0]))), u_cg_angle_deg=float(u_angle),
        rest_angle_deg=rest_angle, pivot_radius_mm=radius,
    )  # fmt: skip


@frozen
class Balanced:
    """A centre of gravity found by hanging or by balancing: where it lies, its distance from the
    pivot and, where the shaft's place is given, the angle at rest, with standard uncertainties."""

    centre_mm: tuple[float, float]
    cg_from_pivot_mm: float
    u_cg_from_pivot_mm: float
    rest_angle_deg: float | None = None
    u_rest_angle_deg: float = 0.0
    pivot_radius_mm: float | None = None


def cg_by_two_lines(
    first: ArrayLike, second: ArrayLike, pivot: ArrayLike, shaft: ArrayLike | None = None,
    *, u_point_mm: float = 0.3, relative_u_scale: float = 0.0,
) -> Balanced:  # fmt: skip
    """The centre of gravity where two lines cross.

    Hung from a hole, a weight has its centre on the plumb line; balanced on an edge, on the edge.
    Two of either, or one of each, cross at it.

    Parameters
    ----------
    first, second : array_like, shape (2, 2)
        Two points in mm on each line, marked on the weight.
    pivot, shaft : array_like, shape (2,)
        Places in the same frame; the shaft as it lies with the weight fully in.
    u_point_mm : float
        Standard uncertainty of every point.
    relative_u_scale : float
        Of all lengths together.

    Raises
    ------
    BobweightError
        ``line-without-length`` where a line's two points are one; ``lines-parallel`` where the two
        lines cross at less than 10 degrees.
    """
    points = np.array([*np.asarray(first, float), *np.asarray(second, float), pivot,
                       pivot if shaft is None else shaft], float)  # fmt: skip
    ways = points[[1, 3]] - points[[0, 2]]
    if not np.all(np.hypot(*ways.T) > 0):
        raise BobweightError("line-without-length")
    sine = ways[0, 0] * ways[1, 1] - ways[0, 1] * ways[1, 0]
    if abs(sine) < _LEAST_SINE * float(np.prod(np.hypot(*ways.T))):
        raise BobweightError("lines-parallel", ("second",))

    def crossing(p: Floats) -> Floats:
        a, b = p[1] - p[0], p[3] - p[2]
        apart = p[2] - p[0]
        found: Floats = p[0] + a * (apart[0] * b[1] - apart[1] * b[0]) / (a[0] * b[1] - a[1] * b[0])
        return found

    def figures(p: Floats) -> Floats:
        arm, out = crossing(p) - p[4], p[4] - p[5]
        turn = np.arctan2(out[0] * arm[1] - out[1] * arm[0], float(out @ arm))
        return np.array([np.hypot(*arm), abs(np.degrees(turn))])

    here, square = figures(points), np.zeros(2)
    for index in np.ndindex(points.shape):
        if shaft is None and index[0] == 5:
            continue
        moved = points.copy()
        moved[index] += 1e-4
        square += np.square((figures(moved) - here) / 1e-4 * u_point_mm)
    x, y = crossing(points)
    distance, angle = (float(v) for v in here)
    u_distance, u_angle = (float(v) for v in np.sqrt(square))
    at, u_distance = (float(x), float(y)), float(np.hypot(u_distance, distance * relative_u_scale))
    if shaft is None:
        return Balanced(at, distance, u_distance)
    return Balanced(at, distance, u_distance, angle, u_angle,
                    float(np.hypot(*(points[4] - points[5]))))  # fmt: skip


def from_picture(points: ArrayLike, scale: Scale) -> NDArray[np.float64]:
    """Points of a picture (y downwards) in mm with y upwards; shape kept."""
    found: NDArray[np.float64] = (
        np.asarray(points, float) * np.array([1.0, -1.0]) * scale.mm_per_unit
    )
    return found


def _point(point: ArrayLike, path: Path) -> NDArray[np.float64]:
    p = np.asarray(point, float)
    if p.shape != (2,) or not np.all(np.isfinite(p)):
        raise BobweightError("not-finite", path, value=str(point))
    return p


def _drawn(ring: Floats) -> Floats:
    """The curve through a ring's points, shape (k, n, 2) to (k, m, 2)."""
    return smooth(ring, min(max(_DRAWN // ring.shape[-2], 1), 10))


def _sums(rings: Sequence[Floats]) -> Floats:
    """Area, ∫x, ∫y of the first ring less the others, by Green's theorem on each edge (the
    shoelace formula); rings have shape (k, n, 2)."""
    total: Floats | None = None
    for ring in rings:
        x, y = ring[..., 0], ring[..., 1]
        x2, y2 = np.roll(x, -1, -1), np.roll(y, -1, -1)
        cross = x * y2 - x2 * y
        parts = np.stack([
            cross.sum(-1) / 2,
            (cross * (x + x2)).sum(-1) / 6,
            (cross * (y + y2)).sum(-1) / 6,
        ])  # fmt: skip
        parts *= np.sign(parts[0])  # either way round
        total = parts if total is None else total - parts
    return required(total)


def _point_scatter(rings: Sequence[Floats], u: float) -> tuple[float, NDArray[np.float64]]:
    """Variance of the area and covariance of the centroid from scatter u of every coordinate."""
    variance, covariance = 0.0, np.zeros((2, 2))
    if u == 0:
        return variance, covariance
    origin = rings[0].mean(0)
    step = 1e-4 * float(np.ptp(rings[0]))
    for index, ring in enumerate(rings):
        n = len(ring)
        shift = np.zeros((2 * n, n, 2))
        shift[np.arange(2 * n), np.arange(2 * n) // 2, np.arange(2 * n) % 2] = step
        moved = []
        for sign in (1, -1):
            stack = [
                _drawn(r - origin + sign * shift) if k == index
                else np.repeat(_drawn((r - origin)[None]), 2 * n, axis=0)
                for k, r in enumerate(rings)
            ]  # fmt: skip
            area, sx, sy = _sums(stack)
            moved.append(np.stack([area, sx / area, sy / area]))
        slope = (moved[0] - moved[1]) / (2 * step) * u
        variance += float(slope[0] @ slope[0])
        covariance += slope[1:] @ slope[1:].T
    return variance, covariance


def _checked(outline: ArrayLike, holes: Sequence[ArrayLike]) -> list[NDArray[np.float64]]:
    """The rings as arrays, or the first thing that is wrong with them."""
    named: list[tuple[Path, ArrayLike]] = [(("outline",), outline)]
    named += [(("holes", k), hole) for k, hole in enumerate(holes)]
    rings = [_ring(points, path) for path, points in named]
    drawn = [_drawn(ring[None])[0] for ring in rings] if holes else []
    for k, hole in enumerate(drawn[1:]):
        if not _contains(drawn[0], hole[0]) or _cross(drawn[0], hole):
            raise BobweightError("hole-outside", ("holes", k))
        for j, other in enumerate(drawn[1 : k + 1]):
            if _cross(other, hole) or _contains(other, hole[0]) or _contains(hole, other[0]):
                raise BobweightError("holes-overlap", ("holes", k), first=j + 1, second=k + 1)
    return rings


def _ring(points: ArrayLike, path: Path) -> NDArray[np.float64]:
    ring = np.asarray(points, float)
    if ring.ndim != 2 or ring.shape[-1] != 2:
        raise BobweightError("too-few-points", path, given=0, needed=3)
    if not np.all(np.isfinite(ring)):
        row = int(np.argmin(np.all(np.isfinite(ring), axis=1)))
        raise BobweightError("not-finite", (*path, row), value=str(ring[row].tolist()))
    ring = ring[np.any(ring != np.roll(ring, 1, axis=0), axis=1)]  # points given twice in a row
    if len(ring) < 3:
        raise BobweightError("too-few-points", path, given=len(ring), needed=3)
    area, *_ = _sums([(ring - ring.mean(0))[None]])
    if area[0] <= 1e-9 * np.ptp(ring) ** 2:
        raise BobweightError("outline-without-area", path)
    crossing = _cross(ring, ring, same=True)
    if crossing:
        raise BobweightError("outline-crosses-itself", path, first=crossing[0], second=crossing[1])
    return ring


def _cross(a: Floats, b: Floats, same: bool = False) -> tuple[int, int] | None:
    """Numbers (from 1) of the first pair of edges, one of each ring, that meet, or None.

    Within one ring, edges that share a corner meet by rights and are left out, unless the outline
    doubles back there.
    """
    p, p2 = a, np.roll(a, -1, 0)
    q, q2 = b, np.roll(b, -1, 0)

    def side(u: Floats, v: Floats, w: Floats) -> Floats:
        """On which side of the line u → v the point w lies, up to rounding."""
        e, f = v - u, w - u
        turn = e[..., 0] * f[..., 1] - e[..., 1] * f[..., 0]
        size = np.hypot(*np.moveaxis(e, -1, 0)) * np.hypot(*np.moveaxis(f, -1, 0))
        return np.where(np.abs(turn) <= 1e-12 * size, 0.0, np.sign(turn))

    pa, pb, qa, qb = p[:, None], p2[:, None], q[None], q2[None]
    s = side(pa, pb, qa), side(pa, pb, qb), side(qa, qb, pa), side(qa, qb, pb)
    meet = (s[0] * s[1] <= 0) & (s[2] * s[3] <= 0)
    low, high = np.minimum(pa, pb), np.maximum(pa, pb)
    low2, high2 = np.minimum(qa, qb), np.maximum(qa, qb)
    meet &= np.all((low <= high2) & (low2 <= high), axis=-1)
    if same:
        n = len(a)
        i, j = np.indices((n, n))
        gap = (j - i) % n
        meet &= (gap != 0) & (gap != 1) & (gap != n - 1)
        ahead = np.roll(p2 - p, -1, 0)
        back = np.einsum("ij,ij->i", p2 - p, ahead) < 0
        doubled = np.flatnonzero((side(p, p2, np.roll(p2, -1, 0)) == 0) & back)
        if doubled.size:
            k = int(doubled[0])
            return k + 1, (k + 1) % n + 1
    found = np.argwhere(meet)
    return (int(found[0][0]) + 1, int(found[0][1]) + 1) if len(found) else None


def _contains(ring: Floats, point: Floats) -> bool:
    """Whether a point lies inside, by counting the edges that a ray from it crosses."""
    a, b = ring, np.roll(ring, -1, 0)
    spans = (a[:, 1] > point[1]) != (b[:, 1] > point[1])
    a, b = a[spans], b[spans]
    x = a[:, 0] + (point[1] - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
    return bool(np.count_nonzero(x > point[0]) % 2)
