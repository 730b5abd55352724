"""Where post and peg of a spring are, from polar figures or from plain distances.

Plain distances are what callipers give with the weights at rest: shaft to post, shaft to peg, post
to peg, and for a peg on a weight its own pivot to the peg. Two triangles then fix the angles, but
for which of two mirror places is meant.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from bobweight.core.docket.mechanism import Mechanism, Spring
from bobweight.core.mechanics.builds import Array, Builds
from bobweight.core.mechanics.motion import Motion, own_weight
from bobweight.core.problems import BobweightError, Path, Problem, required
from bobweight.core.record import get, put, standard_uncertainty

_POLAR = ("post_radius_mm", "post_angle_deg", "peg_radius_mm", "peg_angle_deg")
_DISTANCES = ("rest_mm", "peg_shaft_mm")
_FIGURES = ("rate_n_per_mm", "free_length_mm")


class Places(NamedTuple):
    """Radius in mm and polar angle in radians of post and peg, the tang not bent."""

    post_radius_mm: Array
    post_rad: Array
    peg_radius_mm: Array
    peg_rad: Array


def by_distances(spring: Spring) -> bool:
    """Whether a spring's places follow from distances: from the plate to the cam foot or to its
    weight; between other parts angles are needed."""
    return (
        spring.given_by == "distances"
        and spring.post_on == "plate"
        and spring.peg_on in ("cam", "weight")
    )


def spring_needs(spring: Spring) -> tuple[str, ...]:
    """The figures of a spring that must be known."""
    if not by_distances(spring):
        return (*_FIGURES, *_POLAR)
    of_weight = ("peg_shaft_mm",) if spring.peg_on == "weight" else ()
    return (*_FIGURES, "post_radius_mm", "peg_radius_mm", *of_weight, "rest_mm")


def no_place_known(spring: Spring) -> bool:
    """Whether nothing says yet where a spring's post and peg are."""
    return all(getattr(spring, key) is None for key in (*_POLAR, *_DISTANCES))


def unused_places(spring: Spring) -> tuple[str, ...]:
    """The figures of places that a spring's curve does not depend on."""
    if by_distances(spring):
        of_cam = ("peg_shaft_mm",) if spring.peg_on == "cam" else ()
        return ("post_angle_deg", "peg_angle_deg", *of_cam)
    return _DISTANCES


def places(builds: Builds, index: int, motion: Motion) -> Places:
    """Places of one spring of the builds; NaN where the distances make no triangle."""

    def value(key: str) -> Array:
        return builds.value("springs", index, key)

    spring = builds.mechanism.springs[index]
    post_radius, peg_radius = value("post_radius_mm"), value("peg_radius_mm")
    post: Array
    if not by_distances(spring):
        post, peg = np.radians(value("post_angle_deg")), np.radians(value("peg_angle_deg"))
        return Places(post_radius, post, peg_radius, peg)
    ahead = 1.0 if spring.peg_side == "ahead" else -1.0
    if spring.peg_on == "cam":
        apart = _angle_between(post_radius, peg_radius, value("rest_mm"))
        post = _post_of_cam_spring(builds, index)
        return Places(post_radius, post, peg_radius, post + ahead * apart)
    own = own_weight(builds.mechanism, spring)
    pivot = builds.of_a_weight(own, "pivot_radius_mm")
    rest = np.radians(builds.of_a_weight(own, "rest_angle_deg"))
    shaft = value("peg_shaft_mm")
    beside = 1.0 if spring.peg_beside == "cg" else -1.0
    turn = beside * (np.pi - _angle_between(pivot, peg_radius, shaft))
    seen = np.angle(pivot + peg_radius * np.exp(1j * turn))  # from the shaft
    apart = _angle_between(post_radius, shaft, value("rest_mm"))
    return Places(post_radius, seen - ahead * motion.side(own) * apart, peg_radius, turn - rest)


def _post_of_cam_spring(builds: Builds, index: int) -> Array:
    """Polar angle of the post: where it was said to be; else any, since the curve is the same."""
    said = builds.mechanism.springs[index].post_angle_deg
    if said is not None:
        found: Array = np.radians(said)
        return found
    return 2.0 * np.pi * index / len(builds.mechanism.springs) - 0.5 * np.pi


def _angle_between(one: Array, other: Array, across: Array) -> Array:
    """Angle of a triangle between two sides, from the side across."""
    with np.errstate(invalid="ignore", divide="ignore"):
        cosine = (np.square(one) + np.square(other) - np.square(across)) / (2.0 * one * other)
        return np.arccos(cosine)


def place_problems(mechanism: Mechanism) -> list[Problem]:
    """Distances that make no triangle, each with what would."""
    found = []
    for index, spring in enumerate(mechanism.springs):
        if not by_distances(spring):
            continue
        to_peg, to_post = required(spring.peg_radius_mm), required(spring.post_radius_mm)
        if spring.peg_on == "weight":
            own = own_weight(mechanism, spring)
            pivot = float(Builds(mechanism).of_a_weight(own, "pivot_radius_mm"))
            to_shaft = required(spring.peg_shaft_mm)
            found += _no_triangle(index, "peg_shaft_mm", to_shaft, pivot, to_peg)
            to_peg = to_shaft
        found += _no_triangle(index, "rest_mm", required(spring.rest_mm), to_post, to_peg)
    return found


def _no_triangle(index: int, key: str, across: float, one: float, other: float) -> list[Problem]:
    least, most = abs(one - other), one + other
    if least <= across <= most:
        return []
    facts = {"value": across, "least": least, "most": most, "unit": "mm"}
    return [Problem("distances-no-triangle", ("springs", index, key), facts)]


def mirrored(mechanism: Mechanism, index: int) -> Spring:
    """A spring with its peg in the other of the two mirror places about its post; as it is where it
    is not placed or runs between other parts than those that distances can place."""
    spring = mechanism.springs[index]
    by_sides = as_distances(mechanism, index)
    if not by_distances(by_sides) or by_sides.rest_mm is None:
        return spring
    other = "behind" if by_sides.peg_side == "ahead" else "ahead"
    turned = by_sides.with_changes(peg_side=other)
    if spring.given_by == "distances":
        return turned
    placed = as_polar(put(mechanism, ("springs", index), turned), index)
    angles = {key: getattr(placed, key) for key in ("post_angle_deg", "peg_angle_deg")}
    return spring.with_changes(**angles, u=dict(spring.u))


def as_polar(mechanism: Mechanism, index: int) -> Spring:
    """A spring with its angles as its distances make them, with their standard uncertainties."""
    spring = mechanism.springs[index]
    if not by_distances(spring):
        return spring
    here = _angles_deg(mechanism, index)
    keys = ("post_angle_deg", "peg_angle_deg")
    u = {k: v for k, v in spring.u.items() if k not in keys}
    spread = _spread_deg(mechanism, index, here)
    for key, value in zip(keys, spread, strict=True):
        if value > 0:
            u[key] = value
    post, peg = (float(angle) for angle in (here + 180.0) % 360.0 - 180.0)
    return spring.with_changes(post_angle_deg=post, peg_angle_deg=peg, given_by="polar", u=u)


def as_distances(mechanism: Mechanism, index: int) -> Spring:
    """A spring with the plain distances that its angles make; as it is where none follow."""
    spring = mechanism.springs[index]
    asked = spring.with_changes(given_by="distances")
    if spring.given_by == "distances" or not by_distances(asked):
        return spring
    if any(getattr(spring, key) is None for key in _POLAR):
        return asked
    builds = Builds(mechanism)
    motion = Motion(builds)
    made = places(builds, index, motion)
    post = made.post_radius_mm * np.exp(1j * made.post_rad)
    changes: dict[str, object] = {"given_by": "distances"}
    side: Array = 1.0
    if spring.peg_on == "weight":
        own = own_weight(mechanism, spring)
        rest = np.radians(builds.of_a_weight(own, "rest_angle_deg"))
        turn = rest + made.peg_rad
        peg = builds.of_a_weight(own, "pivot_radius_mm") + made.peg_radius_mm * np.exp(1j * turn)
        changes["peg_shaft_mm"] = float(abs(peg))
        changes["peg_beside"] = "cg" if np.sin(turn) >= 0 else "other"
        side = motion.side(own)
    else:
        peg = made.peg_radius_mm * np.exp(1j * made.peg_rad)
    changes["rest_mm"] = float(abs(peg - post))
    ahead = np.reshape(np.sin(np.angle(peg / post)) * side, -1)[0]
    changes["peg_side"] = "ahead" if ahead >= 0 else "behind"
    return spring.with_changes(**changes, u=dict(spring.u))


def _angles_deg(mechanism: Mechanism, index: int) -> np.ndarray:
    builds = Builds(mechanism)
    made = places(builds, index, Motion(builds))
    return np.array(
        [float(np.degrees(np.reshape(a, -1)[0])) for a in (made.post_rad, made.peg_rad)]
    )


def _spread_deg(mechanism: Mechanism, index: int, here: np.ndarray) -> np.ndarray:
    """Standard uncertainties of the two angles, from those of the distances."""
    spring = mechanism.springs[index]
    paths: list[Path] = [
        ("springs", index, key) for key in spring_needs(spring) if key not in _FIGURES
    ]
    if spring.peg_on == "weight":
        paths += [("weights", "pivot_radius_mm"), ("weights", "rest_angle_deg")]
    square = np.zeros(2)
    for path in paths:
        value, u = (
            get(mechanism, path),
            standard_uncertainty(get(mechanism, path[:-1]), str(path[-1])),
        )
        if value is None or not u:
            continue
        step = 0.01 * u
        moved = _angles_deg(put(mechanism, path, value + step), index)
        square += np.square(((moved - here + 180.0) % 360.0 - 180.0) * u / step)
    return np.sqrt(square)


def turned_deg(one_mm: float, other_mm: float, rest_mm: float, out_mm: float) -> float:
    """The angle in degrees by which a part has turned about an axis, from the distance between a
    point on it and one that stands, at rest and out.

    Parameters
    ----------
    one_mm, other_mm : float
        From the axis to the two points.
    rest_mm, out_mm : float
        Between the points, at rest and with the part fully out.

    Raises
    ------
    BobweightError
        ``distances-no-triangle`` at ``rest_mm`` or ``out_mm``.
    """
    for key, across in (("rest_mm", rest_mm), ("out_mm", out_mm)):
        least, most = abs(one_mm - other_mm), one_mm + other_mm
        if not least <= across <= most:
            facts = {"value": across, "least": least, "most": most, "unit": "mm"}
            raise BobweightError("distances-no-triangle", (key,), **facts)
    rest = _angle_between(one_mm, other_mm, rest_mm)
    out = _angle_between(one_mm, other_mm, out_mm)
    return abs(float(np.degrees(out - rest)))
