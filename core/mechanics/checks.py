"""What keeps a mechanism from being computed, and what a careful hand would look at again."""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.mechanics.balance import Balance, balance_of
from bobweight.core.mechanics.builds import of_one_weight, unlike_weights
from bobweight.core.mechanics.learned import LearnedLinkage
from bobweight.core.mechanics.linkage import MeasuredRadius, MeasuredSwing, linkage_class
from bobweight.core.mechanics.linkage_kind import LEAST_APART
from bobweight.core.mechanics.motion import Swing
from bobweight.core.mechanics.places import place_problems, spring_needs, unused_places
from bobweight.core.problems import Path, Problem, required
from bobweight.core.record import get, parameters, taken_at, value_problems

_CHECK_MM = 0.8  # two distances by callipers, and what angles and stop add (common practice)
_OF_RUBBER = ("stop_give_deg", "stop_rate_nmm_per_deg")


def mechanism_problems(mechanism: Mechanism) -> list[Problem]:
    """Everything wrong with a mechanism; grave problems first, each placed inside it.

    A mechanism without grave problems can be predicted.
    """
    of_values = value_problems(mechanism)
    found = [problem for problem in of_values if problem.grave]
    found += _missing(mechanism) + _structure_problems(mechanism)
    if not found:
        found += linkage_class(mechanism).problems(mechanism) or table_problems(mechanism)
    if not found:
        found += place_problems(mechanism)
    for index in () if found else unlike_weights(mechanism):
        own = linkage_class(mechanism).problems(of_one_weight(mechanism, index))
        place = ("weights", "each", index)
        found += [Problem(p.code, (*place, p.path[-1]), p.facts, p.grave) for p in own]
    if not found:
        found += _motion_problems(mechanism)
    return found + [problem for problem in of_values if not problem.grave]


def _missing(mechanism: Mechanism) -> list[Problem]:
    places: list[Path] = list(needed_of_weights(mechanism))
    for index in range(len(mechanism.springs)):
        places += [("springs", index, key) for key in spring_needs(mechanism.springs[index])]
    places.append(("stop_deg",))
    found = [Problem("missing", place) for place in places if get(mechanism, place) is None]
    if not mechanism.springs:
        found.append(Problem("no-springs", ("springs",)))
    return found


def needed_of_weights(mechanism: Mechanism) -> list[Path]:
    """Paths of the figures of weights and linkage that the curve needs; a figure that every weight
    has of its own is not needed of all."""
    kind = linkage_class(mechanism)
    weight_needs = kind.weight_needs
    on_weight = any(spring.hangs_on_weight for spring in mechanism.springs)
    if on_weight and mechanism.linkage.kind != "learned":
        weight_needs = ("mass_g", "pivot_radius_mm", "cg_mm", "rest_angle_deg")
    places: list[Path] = [("weights", key) for key in weight_needs]
    places += [("linkage", key) for key in kind.needs]
    each = mechanism.weights.each[: mechanism.weights.count_taken]
    whole = len(each) == mechanism.weights.count_taken

    def own(key: str) -> bool:
        return whole and all(getattr(row, key, None) is not None for row in each)

    return [place for place in places if not own(str(place[-1]))]


def figures_in_use(mechanism: Mechanism) -> list[Path]:
    """Paths of all the figures that the curve depends on: of weights and linkage, of every spring,
    of stop and friction; those of a rubber only where there is one."""
    places: list[Path] = list(needed_of_weights(mechanism))
    for index, own in enumerate(mechanism.weights.each):
        places += [("weights", "each", index, k) for k, p in parameters(own).items() if p.uncertain]
    if mechanism.linkage.kind == "learned":
        shapes = [key for key in parameters(mechanism.linkage) if key.startswith("shape_")]
        places += [("linkage", key) for key in shapes]
    for index, spring in enumerate(mechanism.springs):
        unused = unused_places(spring)
        places += [
            ("springs", index, key)
            for key, parameter in parameters(spring).items()
            if parameter.uncertain and key not in unused
        ]
    rubber = mechanism.stop_give_taken_deg > 0
    places += [
        (key,)
        for key, parameter in parameters(mechanism).items()
        if parameter.uncertain and (rubber or key not in _OF_RUBBER)
    ]
    return [place for place in places if taken_at(mechanism, place) is not None]


def _structure_problems(mechanism: Mechanism) -> list[Problem]:
    """Springs whose ends go together, more rows than weights, a rubber without stiffness."""
    found, weights = [], mechanism.weights
    for index, spring in enumerate(mechanism.springs):
        if spring.post_on == spring.peg_on:
            found.append(Problem("spring-ends-together", ("springs", index, "peg_on")))
        elif "other" in (spring.post_on, spring.peg_on) and weights.count_taken < 2:
            found.append(Problem("no-next-weight", ("springs", index, "peg_on")))
        elif spring.hangs_on_weight and spring.weight > weights.count_taken:
            facts = {"value": spring.weight, "limit": weights.count_taken}
            found.append(Problem("no-such-weight", ("springs", index, "weight"), facts))
    if len(weights.each) > weights.count_taken:
        facts = {"value": len(weights.each), "limit": weights.count_taken}
        found.append(Problem("more-rows-than-weights", ("weights", "each"), facts))
    if mechanism.stop_give_taken_deg > 0 and not mechanism.stop_rate_taken_nmm_per_deg > 0:
        found.append(Problem("stop-without-stiffness", ("stop_rate_nmm_per_deg",)))
    return found


def table_problems(mechanism: Mechanism) -> list[Problem]:
    """Problems of a linkage's table, measured or learnt; what else is blank does not matter."""
    if mechanism.linkage.kind == "learned":
        return LearnedLinkage.table_problems(mechanism)
    if not issubclass(linkage_class(mechanism), (MeasuredSwing, MeasuredRadius)):
        return []
    linkage, weights = mechanism.linkage, mechanism.weights
    key = "swing_deg" if linkage.measured_as == "swing" else "radius_mm"
    place = ("linkage", "points")
    for row, point in enumerate(linkage.points):
        for name in ("cam_deg", key):
            if getattr(point, name) is None:
                return [Problem("missing", (*place, row, name))]
    if len(linkage.points) < 3:
        return [Problem("measured-too-few", place, {"count": len(linkage.points), "least": 3})]
    if linkage.points[0].cam_deg != 0 or (key == "swing_deg" and linkage.points[0].swing_deg != 0):
        return [Problem("measured-not-from-rest", (*place, 0, "cam_deg"))]
    for name in ("cam_deg", key):
        values = [getattr(point, name) for point in linkage.points]
        for row in range(1, len(values)):
            if values[row] <= values[row - 1] + LEAST_APART:
                facts = {"value": values[row], "before": values[row - 1]}
                return [Problem("measured-not-rising", (*place, row, name), facts)]
    if key == "radius_mm" and weights.pivot_radius_mm and weights.cg_mm:
        least = abs(weights.pivot_radius_mm - weights.cg_mm)
        most = weights.pivot_radius_mm + weights.cg_mm
        for row, point in enumerate(linkage.points):
            radius = required(point.radius_mm)
            if not least <= radius <= most:
                facts = {"value": radius, "least": least, "most": most}
                return [Problem("radius-impossible", (*place, row, "radius_mm"), facts)]
    return []


def _motion_problems(mechanism: Mechanism) -> list[Problem]:
    """Does the linkage reach the stop, do the weights move outward all the way, are the posts
    apart from the pegs, and does any speed reach the stop?"""
    balance = balance_of(mechanism)
    theta = np.linspace(0.0, float(balance.end_rad), 50).reshape(1, 1, -1)
    swing = balance.motion.at(theta)
    pull = np.broadcast_to(balance.motion.inertia_slope(theta, swing), theta.shape)[0, 0]
    degrees = np.degrees(theta[0, 0])
    facts: dict[str, object] = {"value": mechanism.stop_deg, "unit": "°"}
    if not np.isfinite(pull).all():
        reach = float(degrees[np.isfinite(pull)].max(initial=0.0))
        return [Problem("linkage-short-of-stop", ("stop_deg",), facts | {"limit": reach})]
    if not (pull > 0).all():
        reach = float(degrees[~(pull > 0)].min())
        return [Problem("weights-not-outward", ("stop_deg",), facts | {"limit": reach})]
    for index, path in enumerate(balance.paths):
        if np.min(path.length_mm(theta, swing)) < 0.01:
            return [Problem("post-on-peg", ("springs", index, "post_radius_mm"))]
        spring = mechanism.springs[index]
        if spring.tang_way == "outward" and required(spring.post_radius_mm) + spring.tang_mm <= 0:
            return [Problem("post-on-shaft", ("springs", index, "tang_mm"))]
    engaged = balance.engaged_at(theta)
    found = [
        Problem("spring-never-taken-up", ("springs", index), {"stop": mechanism.stop_deg}, False)
        for index, on in enumerate(engaged)
        if not on.any()
    ]
    found += _pulling_forward(balance, theta, swing, engaged)
    found += _stop_checks(balance)
    rising, falling = balance.speed_squared(theta, engaged)
    if not rising.max() > 0:
        found.insert(0, Problem("nothing-holds-back", ("springs",)))
    elif falling[0, 0, 0] <= 0 < rising[0, 0, 0] or (falling[0, 0, 1:] <= 0).any():
        place = ("stick_nmm",) if mechanism.stick_taken_nmm > 0 else ("springs",)
        found.append(Problem("may-not-return", place, {}, False))
    return found


def _pulling_forward(
    balance: Balance, theta: np.ndarray, swing: Swing, engaged: list[np.ndarray]
) -> list[Problem]:
    """Advice where a spring drives the cam on instead of holding it, or would if taken up."""
    found = []
    for index, (path, on) in enumerate(zip(balance.paths, engaged, strict=True)):
        holds = float(np.sum(path.torque_nmm(theta, swing) * on))
        length = np.broadcast_to(path.length_mm(theta, swing), theta.shape)[0, 0]
        if holds < 0 or (holds == 0 and length[-1] < length[0]):
            found.append(Problem("spring-pulls-forward", ("springs", index, "peg_side"), {}, False))
    return found


def _stop_checks(balance: Balance) -> list[Problem]:
    """Advice where the distance measured at the stop is not what follows from the rest."""
    at_stop = np.reshape(balance.stop_rad, (1, 1, 1))
    swing, found = balance.motion.at(at_stop), []
    for index, path in enumerate(balance.paths):
        spring = balance.builds.mechanism.springs[index]
        if spring.stop_mm is None or spring.tang_mm:
            continue
        follows = float(np.reshape(path.length_mm(at_stop, swing), -1)[0])
        if abs(follows - spring.stop_mm) > _CHECK_MM:
            facts = {"value": spring.stop_mm, "follows": follows, "unit": "mm"}
            place = ("springs", index, "stop_mm")
            found.append(Problem("stop-distance-off", place, facts, grave=False))
    return found
