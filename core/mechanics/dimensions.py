"""The dimensions of a mechanism as lines of its drawing, each with the figure that it stands for.

In the base plate's frame at rest, mm, as in :mod:`core.mechanics.pose`; in the order in which they
are best measured.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.places import by_distances
from bobweight.core.mechanics.pose import Point, Pose, WeightPose, pose
from bobweight.core.mechanics.typical import Completed
from bobweight.core.problems import Path

_SHAFT: Point = (0.0, 0.0)


@frozen
class Dimension:
    """One figure of the mechanism in the drawing.

    Attributes
    ----------
    path : Path
        Inside the mechanism.
    value : float or None
        In mm or degrees; None while it is blank.
    start, end : Point
        Ends of the line; of an angle, its corner and a point of its first leg.
    turn_deg : float or None
        For an angle: from the first leg, anticlockwise. None for a length.
    radius_mm : float
        Of an angle's arc.
    """

    path: Path
    value: float | None
    start: Point
    end: Point
    turn_deg: float | None = None
    radius_mm: float = 0.0

    @property
    def is_angle(self) -> bool:
        """An arc instead of a line."""
        return self.turn_deg is not None


def dimensions(made: Completed) -> tuple[Dimension, ...]:
    """Every dimension that the drawing of a mechanism can show."""
    mechanism = made.mechanism
    drawn = pose(mechanism, 0.0)
    found = _of_weights(mechanism, drawn)
    for index in range(len(mechanism.springs)):
        found += _of_spring(mechanism, drawn, index)

    def stated(one: Dimension) -> Dimension:
        blank = one.path in made.blanks
        return Dimension(one.path, None if blank else one.value, one.start, one.end, one.turn_deg,
                         one.radius_mm)  # fmt: skip

    return tuple(stated(one) for one in found if np.isfinite((*one.start, *one.end)).all())


def _of_weights(mechanism: Mechanism, drawn: Pose) -> list[Dimension]:
    if not drawn.weights:
        return []
    found = []
    for index, posed in enumerate(drawn.weights):
        found += _of_weight(mechanism, index, posed)
    for key in ("pin_radius_mm", "pin_angle_deg", "foot_radius_mm", "link_mm"):
        found += _of_linkage(mechanism, drawn, key)
    return found


def _of_weight(mechanism: Mechanism, index: int, posed: WeightPose) -> list[Dimension]:
    """Those of the first weight, and of another what is its own."""
    each = mechanism.weights.each
    own = each[index] if index < len(each) else None

    def told(key: str) -> tuple[Path, float | None] | None:
        if own is not None and getattr(own, key) is not None:
            return ("weights", "each", index, key), getattr(own, key)
        return None if index else (("weights", key), getattr(mechanism.weights, key))

    found = []
    if own is not None and own.place_deg is not None:
        path: Path = ("weights", "each", index, "place_deg")
        found.append(_angle(path, own.place_deg, _SHAFT, (1.0, 0.0), posed.pivot_xy, 5.0))
    radius, arm, angle = told("pivot_radius_mm"), told("cg_mm"), told("rest_angle_deg")
    if radius is not None:
        found.append(Dimension(*radius, _SHAFT, posed.pivot_xy))
    if arm is not None:
        found.append(Dimension(*arm, posed.pivot_xy, posed.cg_xy))
    if angle is not None:
        out = _further(posed.pivot_xy, 8.0)
        found.append(_angle(*angle, posed.pivot_xy, out, posed.cg_xy, 6.0))
    return found


def _of_linkage(mechanism: Mechanism, drawn: Pose, key: str) -> list[Dimension]:
    """One figure of the linkage where a weight has its own; and what all others have alike on the
    last of them, where there is more room."""
    told: list[tuple[Path, float | None, WeightPose]] = []
    common: WeightPose | None = None
    for index, posed in enumerate(drawn.weights):
        each = mechanism.weights.each[index : index + 1]
        own = getattr(each[0], key) if each else None
        if own is None:
            common = posed
        else:
            told.append((("weights", "each", index, key), own, posed))
    if common is not None:
        told.append((("linkage", key), getattr(mechanism.linkage, key), common))
    found = []
    for path, value, at in told:
        pin, foot = at.pin_xy, at.foot_pin_xy
        if pin is not None and key == "pin_radius_mm":
            found.append(Dimension(path, value, at.pivot_xy, pin))
        elif pin is not None and key == "pin_angle_deg":
            found.append(_angle(path, value, at.pivot_xy, at.cg_xy, pin, 4.5))
        elif pin is not None and foot is not None:
            start, end = (_SHAFT, foot) if key == "foot_radius_mm" else (foot, pin)
            found.append(Dimension(path, value, start, end))
    return found


def _of_spring(mechanism: Mechanism, drawn: Pose, index: int) -> list[Dimension]:
    spring, posed = mechanism.springs[index], drawn.springs[index]
    place: Path = ("springs", index)
    own = drawn.weights[(spring.weight - 1) % len(drawn.weights)] if drawn.weights else None
    after = drawn.weights[spring.weight % len(drawn.weights)] if drawn.weights else None
    found = []
    for end, body, at in (("post", spring.post_on, posed.post_xy),
                          ("peg", spring.peg_on, posed.peg_xy)):  # fmt: skip
        weight = {"weight": own, "other": after}.get(body)
        centre = _SHAFT if weight is None else weight.pivot_xy
        value = getattr(spring, f"{end}_radius_mm")
        found.append(Dimension((*place, f"{end}_radius_mm"), value, centre, at))
    if by_distances(spring):
        if spring.peg_on == "weight":
            path = (*place, "peg_shaft_mm")
            found.append(Dimension(path, spring.peg_shaft_mm, _SHAFT, posed.peg_xy))
        found.append(Dimension((*place, "rest_mm"), spring.rest_mm, posed.post_xy, posed.peg_xy))
        return found
    zero = own.pivot_xy if own is not None and spring.hangs_on_weight else (1.0, 0.0)
    ends = (("post", spring.post_on, posed.post_xy), ("peg", spring.peg_on, posed.peg_xy))
    for number, (end, body, at) in enumerate(ends):
        radius = 7.0 + 2.5 * number + 1.8 * index
        weight = {"weight": own, "other": after}.get(body)
        value = getattr(spring, f"{end}_angle_deg")
        path = (*place, f"{end}_angle_deg")
        if weight is None:
            found.append(_angle(path, value, _SHAFT, zero, at, radius))
        else:
            found.append(_angle(path, value, weight.pivot_xy, weight.cg_xy, at, 5.0))
    return found


def _angle(
    path: Path, value: float | None, corner: Point, first: Point, second: Point, radius_mm: float
) -> Dimension:
    legs = [complex(*leg) - complex(*corner) for leg in (first, second)]
    ratio = legs[1] / legs[0] if legs[0] else 1.0 + 0.0j
    return Dimension(path, value, corner, first, float(np.degrees(np.angle(ratio))), radius_mm)


def _further(point: Point, by_mm: float) -> Point:
    """A point further out from the shaft."""
    radius = float(np.hypot(*point)) or 1.0
    return point[0] * (1.0 + by_mm / radius), point[1] * (1.0 + by_mm / radius)
