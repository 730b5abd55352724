"""Typical mechanisms, and the trade's usual figures for what nobody has measured yet.

They serve the drawing and the start of a docket: what is filled in here is an assumption, told
apart by its path, and never stored as if it had been measured. All figures are common practice.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bobweight.core.docket.mechanism import Linkage, Mechanism, Spring, Weights
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import needed_of_weights, table_problems
from bobweight.core.mechanics.motion import Motion
from bobweight.core.mechanics.places import by_distances, spring_needs
from bobweight.core.mechanics.springs import ends_of
from bobweight.core.problems import Path, required
from bobweight.core.record import get, put

USUAL_WEIGHTS = {
    "usual": {"mass_g": 27.0, "pivot_radius_mm": 20.0, "cg_mm": 10.0, "rest_angle_deg": 105.0},
    "light": {"mass_g": 20.0, "pivot_radius_mm": 18.0, "cg_mm": 9.0, "rest_angle_deg": 105.0},
    "heavy": {"mass_g": 55.0, "pivot_radius_mm": 26.0, "cg_mm": 13.0, "rest_angle_deg": 105.0},
}
"""By what the weights are (``Weights.build``)."""
USUAL_RATIO = 0.65
USUAL_STOP_DEG = 12.0
USUAL_ROLES = ("primary", "secondary")
"""Of the springs of a unit of which none is entered."""
USUAL_PLACES = {
    "primary": {"post_radius_mm": 25.0, "post_angle_deg": 0.0, "peg_radius_mm": 16.0,
                "peg_angle_deg": 60.0},
    "secondary": {"post_radius_mm": 25.0, "post_angle_deg": 180.0, "peg_radius_mm": 16.0,
                  "peg_angle_deg": 250.0},
}  # fmt: skip
"""Of a spring from the plate (its post) to the cam foot (its peg)."""
_ON_WEIGHT = {"post_radius_mm": 14.0, "post_angle_deg": 90.0, "peg_radius_mm": 11.0,
              "peg_angle_deg": -3.0}  # fmt: skip
"""Of a spring from the plate, or another weight, to a weight."""
_FROM_CAM_MM = 8.0
"""Radius of the end on the cam foot of a spring to a weight."""
USUAL_RATES = {"primary": 1.2, "secondary": 8.0}
USUAL_RATE_RANGES = {"primary": (0.5, 2.7), "secondary": (6.0, 15.0)}
_PIN = {"pin_radius_mm": 9.5, "pin_angle_deg": 62.0}
_FOOT_MM, _LINK_OPEN_DEG = 9.0, 40.0
_TURN_DEG = -75.0  # usual places are turned so that springs and weights stand apart


@frozen
class Completed:
    """A mechanism without blanks, for the drawing.

    Attributes
    ----------
    blanks : frozenset of Path
        By path inside the mechanism: figures that were not known and are usual ones here.
    clipped : frozenset of Path
        Figures that cannot be and are drawn as near as can be.
    """

    mechanism: Mechanism
    blanks: frozenset[Path]
    clipped: frozenset[Path] = frozenset()


@frozen
class Typical:
    """A typical mechanism to start from: its key, and the mechanism with what makes its kind and
    nothing that would have to be measured."""

    key: str
    mechanism: Mechanism


def completed(mechanism: Mechanism) -> Completed:
    """The mechanism with usual figures wherever something is blank."""
    blanks: set[Path] = set()
    clipped: set[Path] = set()
    m = mechanism
    if table_problems(m):
        m = m.with_changes(linkage=Linkage(kind="constant", lies=m.linkage.lies))
    if not m.springs:
        springs = tuple(Spring(role=role, given_by="distances") for role in USUAL_ROLES)
        m = m.with_changes(springs=springs)
    if m.weights.count is None:
        m = put(m, ("weights", "count"), m.weights.count_taken)
        blanks.add(("weights", "count"))
    places: list[Path] = list(needed_of_weights(m))
    places += [("weights", key) for key in USUAL_WEIGHTS[m.weights.build]]
    for place in dict.fromkeys(places):
        if get(m, place) is None:
            m = put(m, place, _usual(m, place))
            blanks.add(place)
    for index, spring in enumerate(m.springs):
        if spring.hangs_on_weight and spring.weight > m.weights.count_taken:
            spring = spring.with_changes(weight=m.weights.count_taken)
            m = put(m, ("springs", index), spring)
        for key in ("rate_n_per_mm", "free_length_mm"):
            if getattr(spring, key) is None:
                blanks.add(("springs", index, key))
        m, missing = _with_places(m, index)
        blanks |= {("springs", index, key) for key in missing}
        m, cut = _within_reach(m, index)
        clipped |= {("springs", index, key) for key in cut}
    if m.stop_deg is None:
        m = put(m, ("stop_deg",), USUAL_STOP_DEG)
        blanks.add(("stop_deg",))
    return Completed(_with_lengths(m), frozenset(blanks), frozenset(clipped))


def can_be_drawn(mechanism: Mechanism) -> bool:
    """Whether every spring of a completed mechanism has a place at rest."""
    from bobweight.core.mechanics.pose import pose

    drawn = pose(mechanism, 0.0)
    return all(np.isfinite((*s.post_xy, *s.peg_xy)).all() for s in drawn.springs)


def _usual(m: Mechanism, place: Path) -> float:
    key = str(place[-1])
    if place[0] == "weights":
        return USUAL_WEIGHTS[m.weights.build][key]
    if key == "ratio":
        return USUAL_RATIO
    if key in _PIN:
        return _PIN[key]
    if key == "foot_radius_mm":
        return _FOOT_MM
    turn = np.radians(required(m.weights.rest_angle_deg) + required(m.linkage.pin_angle_deg))
    pin_mm, foot_mm = required(m.linkage.pin_radius_mm), required(m.linkage.foot_radius_mm)
    pin = required(m.weights.pivot_radius_mm) + pin_mm * np.exp(1j * turn)
    foot = foot_mm * np.exp(1j * (np.angle(pin) + np.radians(_LINK_OPEN_DEG)))
    return float(abs(pin - foot))


def _with_places(m: Mechanism, index: int) -> tuple[Mechanism, list[str]]:
    """Places of one spring filled in, and which."""
    spring = m.springs[index]
    missing = [key for key in spring_needs(spring)[2:] if getattr(spring, key) is None]
    if not missing:
        return m, []
    role = "secondary" if index % 2 else "primary"  # the next one opposite
    usual = _usual_on_weight(m, index) if spring.hangs_on_weight else usual_places(spring, role)
    if not spring.hangs_on_weight:
        for key in ("post_angle_deg", "peg_angle_deg"):
            usual[key] += _TURN_DEG
        known = {k: getattr(spring, k) for k in ("post_angle_deg", "peg_angle_deg")}
        if known["post_angle_deg"] is not None:  # the other end as far on as is usual
            usual["peg_angle_deg"] += known["post_angle_deg"] - usual["post_angle_deg"]
        elif known["peg_angle_deg"] is not None:
            usual["post_angle_deg"] += known["peg_angle_deg"] - usual["peg_angle_deg"]
    changes: dict[str, object] = {k: usual[k] for k in missing if k in usual}
    spring = spring.with_changes(**changes)
    if by_distances(spring):
        apart = np.radians(usual["peg_angle_deg"] - usual["post_angle_deg"])
        to_peg = required(spring.peg_radius_mm)
        if spring.peg_on == "weight":
            turn = np.radians(required(m.weights.rest_angle_deg) + usual["peg_angle_deg"])
            peg = required(m.weights.pivot_radius_mm) + to_peg * np.exp(1j * turn)
            if spring.peg_shaft_mm is None:
                spring = spring.with_changes(peg_shaft_mm=float(abs(peg)))
            to_peg, apart = required(spring.peg_shaft_mm), np.radians(55.0)
        if spring.rest_mm is None:
            rest = abs(required(spring.post_radius_mm) - to_peg * np.exp(1j * apart))
            spring = spring.with_changes(rest_mm=float(rest))
        if spring.post_angle_deg is None and spring.peg_on == "cam":
            spring = spring.with_changes(post_angle_deg=usual["post_angle_deg"])
    return put(m, ("springs", index), spring), missing


def usual_places(spring: Spring, role: str) -> dict[str, float]:
    """Usual places of a spring between plate and cam foot, whichever its post is on."""
    usual = USUAL_PLACES[role]
    return _swapped(usual) if spring.post_on == "cam" else dict(usual)


def _usual_on_weight(m: Mechanism, index: int) -> dict[str, float]:
    """Usual places of a spring with an end on a weight.

    An end on the cam foot lies on the line from the shaft to the other end at rest: the cam then
    turns across the spring, which is stretched by the weight as it swings out, whichever way the
    unit turns.
    """
    spring = m.springs[index]
    on = spring.post_on, spring.peg_on
    usual = dict(_ON_WEIGHT) if on[1] in ("weight", "other") else _swapped(_ON_WEIGHT)
    if "cam" not in on:
        return usual
    end, far = ("post", "peg") if on[0] == "cam" else ("peg", "post")
    keys = f"{far}_radius_mm", f"{far}_angle_deg"
    known = {k: usual[k] if getattr(spring, k) is None else getattr(spring, k) for k in keys}
    usual[f"{end}_radius_mm"] = _FROM_CAM_MM
    usual[f"{end}_angle_deg"] = _seen_from_shaft_deg(m, spring.with_changes(**known), far)
    return usual


def _swapped(places: dict[str, float]) -> dict[str, float]:
    """Post and peg of places in each other's place."""
    other = {"post": "peg", "peg": "post"}
    return {other[key.split("_")[0]] + key[key.index("_") :]: v for key, v in places.items()}


def _seen_from_shaft_deg(m: Mechanism, spring: Spring, end: str) -> float:
    """Polar angle, in its weight's own frame, of an end of a spring at rest."""
    anywhere = {key: getattr(spring, key) or 1.0 for key in USUAL_PLACES["primary"]}
    builds = Builds(m.with_changes(springs=(spring.with_changes(**anywhere),)))
    motion = Motion(builds)
    found = ends_of(builds, 0, motion)[("post", "peg").index(end)]
    rest = np.zeros((1, 1, 1))
    return float(np.degrees(np.angle(np.reshape(found.place(motion.at(rest)), -1)[0])))


def _within_reach(m: Mechanism, index: int) -> tuple[Mechanism, list[str]]:
    """Distances that make no triangle, as near as can be, and which they are."""
    spring, cut = m.springs[index], []
    if not by_distances(spring):
        return m, []
    to_peg = required(spring.peg_radius_mm)
    pairs: list[tuple[str, float, float | None]] = []
    if spring.peg_on == "weight":
        pairs.append(("peg_shaft_mm", required(m.weights.pivot_radius_mm), to_peg))
    for key, one, other in [*pairs, ("rest_mm", required(spring.post_radius_mm), None)]:
        if other is None:
            other = required(spring.peg_shaft_mm) if spring.peg_on == "weight" else to_peg
        least, most = abs(one - other) + 1e-3, one + other - 1e-3
        value = getattr(spring, key)
        if not least <= value <= most:
            spring = spring.with_changes(**{key: min(max(value, least), most)})
            cut.append(key)
    return (put(m, ("springs", index), spring) if cut else m), cut


def usual_role(spring: Spring) -> str:
    """The role, of the two that usual figures are known of."""
    return "primary" if spring.role == "primary" else "secondary"


def _with_lengths(m: Mechanism) -> Mechanism:
    """Rates and free lengths where they are blank, so that every spring just hangs at rest."""
    from bobweight.core.mechanics.pose import pose

    if all(s.rate_n_per_mm and s.free_length_mm for s in m.springs):
        return m
    drawn = m.with_changes(springs=tuple(
        s.with_changes(rate_n_per_mm=s.rate_n_per_mm or 1.0, free_length_mm=s.free_length_mm or 1.0)
        for s in m.springs
    ))  # fmt: skip
    at_rest = pose(drawn, 0.0).springs
    springs = []
    for spring, posed in zip(m.springs, at_rest, strict=True):
        length = posed.length_mm if np.isfinite(posed.length_mm) else 15.0
        role = usual_role(spring)
        springs.append(
            spring.with_changes(
                rate_n_per_mm=spring.rate_n_per_mm or USUAL_RATES[role],
                free_length_mm=spring.free_length_mm or max(length - spring.slack_taken_mm, 1.0),
            )
        )
    return m.with_changes(springs=tuple(springs))


def typical_mechanisms() -> tuple[Typical, ...]:
    """The typical mechanisms, in the order in which they are offered."""

    def pair(second: str = "secondary", **places: object) -> tuple[Spring, ...]:
        one = Spring(role="primary", given_by="distances", **places)
        return one, replace(one, role=second)

    def hung() -> tuple[Spring, ...]:
        one = Spring(role="primary", given_by="distances", peg_on="weight", weight=1)
        return one, replace(one, weight=2)

    two, light, heavy = (Weights(count=2, build=build) for build in ("usual", "light", "heavy"))
    across = (Spring(role="primary", post_on="weight", peg_on="other", weight=1),
              Spring(role="primary", post_on="weight", peg_on="other", weight=2))  # fmt: skip
    kinds = (
        ("rolling", two, "constant", pair()), ("slot", two, "slot", pair()),
        ("link", two, "link", pair()), ("two-light", light, "constant", pair("primary")),
        ("two-heavy", heavy, "slot", pair()), ("each-weight", two, "constant", hung()),
        ("alike", two, "slot", pair("primary")), ("across", two, "constant", across),
    )  # fmt: skip
    return tuple(
        Typical(key, Mechanism(weights=weights, linkage=Linkage(kind=kind), springs=springs))
        for key, weights, kind, springs in kinds
    )
