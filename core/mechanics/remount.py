"""A spring hung on other parts than before without moving it, or the other way about where it pulls
the wrong way."""

from __future__ import annotations

import math

import numpy as np

from bobweight.core.docket.mechanism import Mechanism, Spring
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.drawable import drawable
from bobweight.core.mechanics.linkage import linkage_class
from bobweight.core.mechanics.places import as_distances, as_polar, mirrored
from bobweight.core.mechanics.pose import pose
from bobweight.core.record import as_fine, parameters, put

_ENDS = ("post", "peg")


def remounted(mechanism: Mechanism, index: int, **bodies: str) -> Spring:
    """A spring with post or peg on another part (``post_on``, ``peg_on``), each where it was at
    rest: radius and angle are told anew from the part that the end is now on.

    Where a place is not known yet the figures stay as they stand.
    """
    spring = mechanism.springs[index]
    plain = spring.given_by
    asked = spring.with_changes(**bodies)
    known = drawable(mechanism)
    if known is None or (asked.post_on, asked.peg_on) == (spring.post_on, spring.peg_on):
        return asked
    if asked.hangs_on_weight and not linkage_class(known).weight_needs:
        return asked  # a linkage without weights
    was = _ends(known, index, as_polar(known, index).with_changes(tang_mm=0.0))
    made = _placed(known, index, asked, was)
    if plain == "polar":
        return made
    return as_distances(put(mechanism, ("springs", index), made), index)


def turned_back(mechanism: Mechanism, index: int) -> Spring | None:
    """A spring that pulls the cam forward put the other way about, as far from its axes and as long
    as it was, so that it holds the cam back; None where that cannot be."""
    spring = mechanism.springs[index]
    tries = [mirrored(mechanism, index)]
    known = drawable(mechanism)
    if known is not None:
        polar = as_polar(known, index).with_changes(tang_mm=0.0)
        post, peg = _ends(known, index, polar)
        post_axis, peg_axis = _ends(known, index, polar.with_changes(**_all(*_PROBES[0])))
        over_peg, over_post = _mirrored(peg, peg_axis, post), _mirrored(post, post_axis, peg)
        ends = [(post, over_peg), (over_post, peg), (over_post, over_peg)]
        tries += [_placed(known, index, spring, both) for both in ends]
    for made in tries:
        problems = mechanism_problems(put(mechanism, ("springs", index), made))
        if made != spring and not any(
            problem.code == "spring-pulls-forward" and problem.path[:2] == ("springs", index)
            for problem in problems
        ):
            return made
    return None


def _mirrored(place: complex, axis: complex, other: complex) -> complex:
    """A place on the other side of the line from its axis to another place."""
    line = other - axis
    if not abs(line):
        return place
    line /= abs(line)
    return axis + line * ((place - axis) / line).conjugate()


def _placed(
    mechanism: Mechanism, index: int, spring: Spring, ends: tuple[complex, complex]
) -> Spring:
    """A spring in place of another with its ends at these places at rest, told by radius and
    angle."""
    polar = spring.with_changes(given_by="polar", tang_mm=0.0)
    changes: dict[str, object] = {"given_by": "polar"}
    at = [_ends(mechanism, index, polar.with_changes(**_all(r, a))) for r, a in _PROBES]
    for end, place, zero, along, across in zip(_ENDS, ends, *at, strict=True):
        way = place - zero
        x, y = ((way * np.conj(leg - zero)).real for leg in (along, across))
        figures = {
            f"{end}_radius_mm": float(abs(way)), f"{end}_angle_deg": math.degrees(math.atan2(y, x))
        }  # fmt: skip
        changes |= {key: _as_told(polar, key, value) for key, value in figures.items()}
    return spring.with_changes(**changes)


def _as_told(spring: Spring, key: str, value: float) -> float:
    """The figure that stands where it says the same, else one as fine as is usual."""
    stands = getattr(spring, key)
    if stands is not None and abs(stands - value) < _SAME:
        return float(stands)
    return as_fine(value, parameters(spring)[key].trade_u or 0.0)[0]


_SAME = 1e-9
_PROBES = ((0.0, 0.0), (1.0, 0.0), (1.0, 90.0))
"""Radius and angle of the corner of a part's own frame and of a point on each of its axes."""


def _all(radius_mm: float, angle_deg: float) -> dict[str, float]:
    return {
        f"{end}_{key}": value
        for end in _ENDS
        for key, value in (("radius_mm", radius_mm), ("angle_deg", angle_deg))
    }


def _ends(mechanism: Mechanism, index: int, spring: Spring) -> tuple[complex, complex]:
    """Where the ends of a spring in place of another are at rest, in the base plate's frame."""
    drawn = pose(put(mechanism, ("springs", index), spring), 0.0).springs[index]
    return complex(*drawn.post_xy), complex(*drawn.peg_xy)
