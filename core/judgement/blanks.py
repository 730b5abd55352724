"""What stands in for each blank field of a docket, with its spread: for the eye, never stored."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import COUNT, Mechanism, Spring
from bobweight.core.frozen import frozen
from bobweight.core.judgement.assume import Assumed, Known, assume
from bobweight.core.mechanics.places import by_distances
from bobweight.core.mechanics.typical import USUAL_RATE_RANGES, USUAL_STOP_DEG, usual_role
from bobweight.core.problems import Path
from bobweight.core.record import get, parameter_at

_STEP = 1e-3


@frozen
class Blank:
    """What is assumed of one blank value, in its stored unit.

    Attributes
    ----------
    value, u : float or None
        Usual value and its standard uncertainty; None where no single figure stands in for it,
        as for the geometry of a linkage of which any usual pull is allowed.
    usual : bool
        Whether the value is one that the trade would call usual: those that are solved for so that
        the mechanism hangs together, or goes with its table, need not be.
    """

    value: float | None
    u: float | None
    usual: bool = True


def blanks(docket: Docket) -> Mapping[Path, Blank]:
    """The blank values of a docket's mechanism by path, each with what is assumed instead; of
    springs that are not entered too. Empty where nothing is blank."""
    return _blanks(docket.mechanism, assume(docket))


@lru_cache(maxsize=8)
def _blanks(mechanism: Mechanism, assumed: Assumed) -> Mapping[Path, Blank]:
    found: dict[Path, Blank] = {}
    for path in assumed.paths:
        inside = path[1:]
        known = assumed.known.get(inside)
        if known is None:
            count = assumed.mechanism.weights.count if path == COUNT else None
            found[path] = Blank(count, None)
            continue
        value = float(get(assumed.mechanism, inside))
        u = _u(value, known)
        if inside[-1] == "free_length_mm":  # as sure as its stretch, and as where it hangs
            index = int(inside[1])
            hangs = _rest(assumed.mechanism.springs[index], index, assumed).u or 0.0
            u = float(np.hypot(u, hangs))
        found[path] = Blank(value, u, _is_usual(value, inside, assumed.mechanism))
    for index, spring in enumerate(mechanism.springs):
        if by_distances(spring):
            found |= _distances(spring, index, assumed)
        elif spring.hangs_on_weight:
            for path in [p for p in found if p[:3] == ("mechanism", "springs", index)]:
                if str(path[-1]).startswith(("post", "peg")):
                    found[path] = Blank(None, None)
    return found


def _is_usual(value: float, path: Path, mechanism: Mechanism) -> bool:
    """Whether the trade would call a value usual (common practice)."""
    if path == ("stop_deg",):
        return value == USUAL_STOP_DEG
    usual = parameter_at(mechanism, path).usual
    if path[-1] == "rate_n_per_mm":
        usual = USUAL_RATE_RANGES[usual_role(mechanism.springs[int(path[1])])]
    return usual is None or usual[0] <= value <= usual[1]


def _u(value: float, known: Known) -> float:
    return abs(value - known.origin) * known.u if known.by_share else known.u


def _distances(spring: Spring, index: int, assumed: Assumed) -> dict[Path, Blank]:
    """Blanks of a spring whose places are asked for as distances, from those assumed as angles."""
    place: Path = ("mechanism", "springs", index)
    made = assumed.mechanism.springs[index]
    if by_distances(made):
        return {}
    keys = ["post_angle_deg", "peg_angle_deg"]
    if spring.peg_on == "weight":
        keys += ["post_radius_mm", "peg_radius_mm", "peg_shaft_mm", "rest_mm"]
    found = {key: Blank(None, None) for key in keys}
    if spring.peg_on != "weight":
        found["rest_mm"] = _rest(made, index, assumed)
    return {(*place, key): b for key, b in found.items() if getattr(spring, key) is None}


def _rest(made: Spring, index: int, assumed: Assumed) -> Blank:
    """Post to peg at rest, with the uncertainty that comes from radii and angles."""
    keys = ("post_radius_mm", "peg_radius_mm", "post_angle_deg", "peg_angle_deg")
    if any(getattr(made, key) is None for key in keys):
        return Blank(None, None)
    values = np.array([getattr(made, key) for key in keys], dtype=float)

    def apart(v: np.ndarray) -> float:
        post, peg = v[:2] * np.exp(1j * np.radians(v[2:]))
        return float(abs(post - peg))

    square = 0.0
    for i, key in enumerate(keys):
        known = assumed.known.get(("springs", index, key))
        if known is not None:
            moved = values.copy()
            moved[i] += _STEP
            slope = (apart(moved) - apart(values)) / _STEP
            square += (slope * _u(values[i], known)) ** 2
    return Blank(apart(values), float(np.sqrt(square)))
