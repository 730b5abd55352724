"""A weight drawn as points, and what they say of its centre of gravity: by its outline, or by two
lines on which it was hung or balanced."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.design.outline import (
    DENSITY_G_PER_CM3,
    Balanced,
    FlatWeight,
    Scale,
    cg_by_two_lines,
    flat_weight,
    from_picture,
    scale_from_two_points,
)
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import OutlinePoint, Weights
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError
from bobweight.core.record import (
    Record,
    choice,
    flag,
    many,
    number,
    parameters,
    put,
    put_measured,
    standard_uncertainty,
    stored,
)
from bobweight.core.units import LENGTH, NUMBER

PARTS = {
    "outline": "Outline",
    "hole_1": "Hole 1",
    "hole_2": "Hole 2",
    "hole_3": "Hole 3",
    "hole_4": "Hole 4",
    "line_1": "First line",
    "line_2": "Second line",
    "pivot": "Pivot",
    "shaft": "Shaft",
    "scale_1": "Scale, one end",
    "scale_2": "Scale, other end",
}
SINGLE = ("pivot", "shaft", "scale_1", "scale_2")
"""Parts that are one point."""
LINES = ("line_1", "line_2")
"""Parts that are two points each."""
HOLES = ("hole_1", "hole_2", "hole_3", "hole_4")
FOUND_BY = {"outline": "Its outline", "lines": "Hung twice, or balanced on an edge"}
PARTS_OF = {
    "outline": ("outline", *HOLES, "pivot", "shaft", "scale_1", "scale_2"),
    "lines": (*LINES, "pivot", "shaft", "scale_1", "scale_2"),
}
"""What is marked for each way of finding the centre of gravity."""
MATERIALS = {
    "steel": "Steel",
    "sintered-iron": "Sintered iron",
    "brass": "Brass",
    "zinc-alloy": "Zinc alloy",
}
RELATIVE_U_DENSITY = {"steel": 0.01, "sintered-iron": 0.06, "brass": 0.02, "zinc-alloy": 0.02}
"""Common practice; of sintered iron from even chances over 5.8 to 7.2 g/cm³."""
_MOST = parameters(Weights)["outline"].most
_AGREE = 2.0  # standard uncertainties between outline and scales


@stored
class SketchPoint(Record):
    """One point: of the outline or a hole, or a place."""

    part: str = choice("Part", PARTS, "outline")
    x: float | None = number("Across", NUMBER, hard=(-1e5, 1e5), help="To the right.")
    y: float | None = number(
        "Along", NUMBER, hard=(-1e5, 1e5), help="Upwards; in a photograph, downwards."
    )


@stored
class WeightSketch(Record):
    """A weight seen flat: points in millimetres, or on a photograph with a scale."""

    by: str = choice(
        "Found by", FOUND_BY, "outline",
        help="Hung from a hole the centre lies under it, on the plumb line; balanced on an edge it "
        "lies on the edge. Two such lines, drawn on the weight, cross at it.",
    )  # fmt: skip
    in_picture: bool = flag("On a photograph")
    points: tuple[SketchPoint, ...] = many("Points", SketchPoint)
    distance_mm: float | None = number(
        "Scale length", LENGTH, hard=(0.5, 1000.0), uncertain=True, trade_u=0.1,
        help="The true distance between the two ends of the scale: a rule laid beside the weight, "
        "or two holes measured with callipers.",
    )  # fmt: skip
    thickness_mm: float | None = number(
        "Thickness", LENGTH, hard=(0.1, 50.0), usual=(1.0, 12.0), uncertain=True, trade_u=0.05,
        help="Of the plate, for the check against the scales.",
    )  # fmt: skip
    material: str = choice("Material", MATERIALS, "steel")
    point_u_mm: float = number(
        "Each point ±", LENGTH, 0.2, hard=(0.001, 10.0),
        help="Standard uncertainty of every point marked, on the weight itself.",
    )  # fmt: skip


def marked(sketch: WeightSketch, part: str) -> list[tuple[float, float]]:
    """The points of a part that are complete, in order."""
    return [
        (point.x, point.y)
        for point in sketch.points
        if point.part == part and point.x is not None and point.y is not None
    ]


def with_point(sketch: WeightSketch, part: str, x: float, y: float) -> WeightSketch:
    """The sketch with another point of a part; of a single place, in place of the one before, and
    of a line in place of the first of its two."""
    points: Iterable[SketchPoint] = sketch.points
    if part in SINGLE:
        points = [p for p in points if p.part != part]
    if part in LINES:
        own = [p for p in points if p.part == part]
        points = [p for p in points if p.part != part] + own[-1:]
    made = (*points, SketchPoint(part=part, x=x, y=y))
    return put(sketch, ("points",), made)


def with_moved(sketch: WeightSketch, index: int, x: float, y: float) -> WeightSketch:
    """The sketch with a point moved."""
    point = sketch.points[index].with_changes(x=x, y=y)
    return put(sketch, ("points", index), point)


def scale_of(sketch: WeightSketch) -> Scale | None:
    """Millimetres per picture unit; None where points are in millimetres.

    Raises
    ------
    BobweightError
        ``scale-not-marked``, ``missing``, and those of
        :func:`core.design.outline.scale_from_two_points`.
    """
    if not sketch.in_picture:
        return None
    ends = [*marked(sketch, "scale_1")[-1:], *marked(sketch, "scale_2")[-1:]]
    if len(ends) < 2:
        raise BobweightError("scale-not-marked")
    if sketch.distance_mm is None:
        raise BobweightError("missing", ("distance_mm",))
    first, second = ends
    plain = scale_from_two_points(first, second, sketch.distance_mm)
    return scale_from_two_points(
        first, second, sketch.distance_mm, standard_uncertainty(sketch, "distance_mm") or 0.0,
        sketch.point_u_mm / plain.mm_per_unit,
    )  # fmt: skip


def weigh(sketch: WeightSketch) -> FlatWeight:
    """Centre of gravity, mass and the rest of a sketched weight.

    Without a thickness one millimetre is taken: the centre does not depend on it, the mass does.

    Raises
    ------
    BobweightError
        ``outline-not-marked``, ``pivot-not-marked``, those of :func:`scale_of` and of
        :func:`core.design.outline.flat_weight`.
    """
    outline, pivot, shaft = (marked(sketch, part) for part in ("outline", "pivot", "shaft"))
    if len(outline) < 3:
        raise BobweightError("outline-not-marked", (), count=len(outline))
    if not pivot:
        raise BobweightError("pivot-not-marked")
    scale = scale_of(sketch)

    def in_mm(points: list[tuple[float, float]]) -> Floats:
        return np.array(points) if scale is None else from_picture(points, scale)

    holes = [in_mm(points) for part in HOLES if (points := marked(sketch, part))]
    thickness = sketch.thickness_mm or 1.0
    u_thickness = standard_uncertainty(sketch, "thickness_mm") or 0.0
    return flat_weight(
        in_mm(outline), in_mm(pivot)[-1], thickness, DENSITY_G_PER_CM3[sketch.material],
        holes=holes, shaft=in_mm(shaft)[-1] if shaft else None, u_point_mm=sketch.point_u_mm,
        relative_u_scale=0.0 if scale is None else scale.u_mm_per_unit / scale.mm_per_unit,
        relative_u_thickness=u_thickness / thickness,
        relative_u_density=RELATIVE_U_DENSITY[sketch.material],
    )  # fmt: skip


def balance(sketch: WeightSketch) -> Balanced:
    """The centre of gravity where the two marked lines cross.

    Raises
    ------
    BobweightError
        ``lines-not-marked``, ``pivot-not-marked``, those of :func:`scale_of` and of
        :func:`core.design.outline.cg_by_two_lines`.
    """
    lines = [marked(sketch, part) for part in LINES]
    if any(len(line) < 2 for line in lines):
        raise BobweightError("lines-not-marked")
    pivot, shaft = marked(sketch, "pivot"), marked(sketch, "shaft")
    if not pivot:
        raise BobweightError("pivot-not-marked")
    scale = scale_of(sketch)
    placed = [*lines, pivot[-1:], shaft[-1:]]
    if scale is not None:
        placed = [from_picture(points, scale).tolist() if points else [] for points in placed]
    first, second, at, about = placed
    return cg_by_two_lines(
        first, second, at[0], about[0] if about else None, u_point_mm=sketch.point_u_mm,
        relative_u_scale=0.0 if scale is None else scale.u_mm_per_unit / scale.mm_per_unit,
    )  # fmt: skip


def centre_found(sketch: WeightSketch) -> FlatWeight | Balanced:
    """The centre of gravity, found as the sketch says.

    Raises
    ------
    BobweightError
        Those of :func:`weigh` or :func:`balance`.
    """
    return balance(sketch) if sketch.by == "lines" else weigh(sketch)


@frozen
class MassCheck:
    """The outline's mass against the scales'.

    ``share`` is outline / scales − 1; ``agrees`` whether they lie within two standard
    uncertainties of each other.
    """

    scales_g: float
    share: float
    agrees: bool


def mass_check(sketch: WeightSketch, weight: FlatWeight, docket: Docket) -> MassCheck | None:
    """The check; None without a thickness or without a mass on the scales."""
    weights = docket.mechanism.weights
    if sketch.thickness_mm is None or weights.mass_g is None:
        return None
    u_scales = standard_uncertainty(weights, "mass_g") or 0.0
    apart = abs(weight.mass_g - weights.mass_g) / math.hypot(weight.u_mass_g, u_scales)
    return MassCheck(
        weights.mass_g, weight.mass_g / weights.mass_g - 1, apart <= _AGREE,
    )  # fmt: skip


def traced(sketch: WeightSketch, weight: FlatWeight) -> tuple[OutlinePoint, ...]:
    """The outline in the weight's own frame at its pivot, as the docket keeps it."""
    scale = scale_of(sketch)
    points, pivot = marked(sketch, "outline"), marked(sketch, "pivot")[-1]
    if scale is not None:
        points, pivot = from_picture(points, scale).tolist(), from_picture(pivot, scale).tolist()
    turn = cmath.exp(-1j * math.radians(weight.cg_angle_deg))
    side = -1.0 if (weight.rest_angle_deg or 0.0) < 0 else 1.0
    own = [(complex(*point) - complex(*pivot)) * turn for point in points]
    return tuple(
        OutlinePoint(x_mm=round(p.real, 3), y_mm=round(side * p.imag, 3)) for p in own[:_MOST]
    )


def filled(
    docket: Docket, weight: FlatWeight | Balanced, outline: tuple[OutlinePoint, ...] = ()
) -> Docket:
    """The docket with the distance pivot to centre of gravity, the outline, and, where the shaft
    was marked, the angle at rest and (if it is not known yet) the pivot radius.

    Raises
    ------
    BobweightError
        If a figure is beyond its limits.
    """
    path = ("mechanism", "weights")
    old = docket.mechanism.weights
    docket = put_measured(
        docket, (*path, "cg_mm"), weight.cg_from_pivot_mm, weight.u_cg_from_pivot_mm
    )
    if weight.rest_angle_deg is not None and math.isfinite(weight.u_rest_angle_deg):
        angle = abs(weight.rest_angle_deg)
        docket = put_measured(docket, (*path, "rest_angle_deg"), angle, weight.u_rest_angle_deg)
    if weight.pivot_radius_mm is not None and old.pivot_radius_mm is None:
        docket = put(docket, (*path, "pivot_radius_mm"), round(weight.pivot_radius_mm, 2))
    return put(docket, (*path, "outline"), outline or old.outline)
