"""What the plan view draws for one mechanism at one pose: outlines in mm, no Qt.

Base-plate frame as in :mod:`core.mechanics.pose` (advance counter-clockwise); the widget mirrors
it for a unit that turns clockwise. The frame of a mechanism (:class:`PlanFrame`) is made once,
the posed outlines (:class:`PosedPlan`) at every speed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.figure.plan_contact import (
    TOE_MM,
    Contact,
    StopOnPlate,
    contacts,
    stop_on_plate,
)
from bobweight.core.figure.plan_shapes import (
    USUAL_WIRE_MM,
    Points,
    cam_outline,
    freest_direction,
    polar,
    spring_half_width,
    spring_shape,
    stadium,
    turned,
    weight_outline,
)
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.pose import Point, Pose, SpringPose, WeightPose, pose
from bobweight.core.mechanics.traced import edge, outline_of
from bobweight.core.problems import required
from bobweight.core.record import put

SCALE_GAP_MM, RIM_MM = 2.2, 0.8


@frozen
class PlanFrame:
    """What does not move, and the rigid shapes at rest.

    ``rest`` are the weights there; ``feet`` and ``slots`` are outlines of the cam foot in its own
    frame (at rest); ``flanks`` are where weights touch its toes, at rest, None for one driven
    otherwise; ``traced`` tells the weights whose outline is the real one; ``zero_deg`` is the
    direction of 0° on the scale of advance, ``reach_mm`` the radius of all that is drawn.
    """

    rest: tuple[WeightPose, ...]
    plate_mm: float
    hub_mm: float
    cam: Points
    feet: tuple[Points, ...]
    slots: tuple[Points, ...]
    weights: tuple[Points, ...]
    flanks: tuple[Contact | None, ...]
    traced: tuple[bool, ...]
    stop: StopOnPlate
    zero_deg: float
    scale_mm: float
    reach_mm: float
    stop_deg: float
    end_deg: float


@frozen
class PosedSpring:
    """One spring as drawn, with what its label says."""

    coils: Points
    loop: Points
    post: Points
    tang: Points
    peg: Points
    middle: Points
    engaged: bool
    force_n: float
    slack_left_mm: float
    wire_mm: float = 0.8


@frozen
class PosedPlan:
    """Everything that moves, at one cam angle; ``turns_deg`` are the weights' about their pivots
    from rest."""

    cam_deg: float
    weights: tuple[Points, ...]
    turns_deg: tuple[float, ...]
    pivots: tuple[Points, ...]
    centres: tuple[Points, ...]
    pins: tuple[Points, ...]
    links: tuple[Points, ...]
    springs: tuple[PosedSpring, ...]


def framed(mechanism: Mechanism) -> Mechanism:
    """As much of a mechanism as :func:`plan_frame` draws: it shows no force of a spring."""
    springs = (s.with_changes(rate_n_per_mm=None, initial_tension_n=0.0) for s in mechanism.springs)
    return mechanism.with_changes(springs=tuple(springs))


def plan_frame(docket: Docket) -> PlanFrame:
    """The drawing of a docket's mechanism at rest. The mechanism must have no grave problem."""
    mechanism = docket.mechanism
    end_deg = float(required(mechanism.end_deg))
    rest, full = pose(mechanism, 0.0), pose(mechanism, end_deg)
    if len(full.weights) != len(rest.weights):  # a linkage that does not reach so far
        full = rest
    places = [np.hypot(*w.pivot_xy) for w in rest.weights]
    posts = [np.hypot(*s.post_xy) for s in rest.springs]
    beyond = max([*places, *posts, 12.0]) + 4.5
    inner = min(places, default=0.7 * (mechanism.plate.radius_mm or beyond))
    lobe = min(max(0.27 * inner, 3.5), 9.0)
    shapes = tuple(
        edge(outline, w)
        if (outline := outline_of(mechanism, index))
        else _weight(w.pivot_xy, w.cg_xy, _mass(mechanism, index))
        for index, w in enumerate(rest.weights)
    )
    at_rest = [float(np.hypot(*shape.T).max()) for shape in shapes]
    plate = mechanism.plate.radius_mm or max(beyond, max(at_rest, default=0.0) + RIM_MM)
    weights = [*shapes, *_swung(shapes, rest.weights, full.weights)]
    widest = max((float(np.hypot(*shape.T).max()) for shape in weights), default=plate)
    # The scale lies outside the plate, where neither posts nor swung weights crowd it.
    scale_mm = plate + SCALE_GAP_MM
    taken = [_heading((0.0, 0.0), s.post_xy) for s in rest.springs]
    for shape in weights:
        over = shape[np.hypot(*shape.T) > plate]
        taken += list(np.degrees(np.arctan2(over[:, 1], over[:, 0])))
    zero = freest_direction(taken) - 0.5 * end_deg
    hub = lobe * 1.25
    flanks = tuple(contacts(mechanism, rest, shapes, hub))
    feet = tuple(_feet(mechanism, rest, flanks))
    stop = stop_on_plate(mechanism, hub, inner, _on_plate(rest, weights, feet))
    return PlanFrame(
        rest=rest.weights,
        plate_mm=plate,
        hub_mm=hub,
        cam=cam_outline(docket.particulars.lobes_taken, lobe * 0.8, lobe),
        feet=(*feet, stop.arm),
        slots=tuple(_slots(rest, full)),
        weights=shapes,
        flanks=flanks,
        traced=tuple(bool(outline_of(mechanism, index)) for index in range(len(shapes))),
        stop=stop,
        zero_deg=zero,
        scale_mm=scale_mm,
        reach_mm=max(scale_mm + 3.5, widest + 0.5),
        stop_deg=float(required(mechanism.stop_deg)),
        end_deg=end_deg,
    )


def _on_plate(rest: Pose, weights: list[Points], feet: tuple[Points, ...]) -> Points:
    """Points of what stands or moves on the plate."""
    posts = [np.linspace(s.post_xy, s.peg_xy, 24) for s in rest.springs]
    return np.vstack([np.zeros((0, 2)), *weights, *feet, *posts])


@lru_cache(maxsize=32)
def _weight(
    pivot_xy: tuple[float, float], cg_xy: tuple[float, float], mass_g: float | None
) -> Points:
    """A weight's outline; kept, since a bent tang or another spring leaves it as it is."""
    outline = weight_outline(np.array(pivot_xy), np.array(cg_xy), mass_g)
    outline.setflags(write=False)
    return outline


def _mass(mechanism: Mechanism, index: int) -> float | None:
    each = mechanism.weights.each
    own = each[index].mass_g if index < len(each) else None
    return mechanism.weights.mass_g if own is None else own


def posed_plan(mechanism: Mechanism, frame: PlanFrame, advance_deg: float) -> PosedPlan:
    """All moving parts at an advance in distributor degrees."""
    now = pose(mechanism, float(advance_deg))
    return PosedPlan(
        cam_deg=float(advance_deg),
        weights=_swung(frame.weights, frame.rest, now.weights),
        turns_deg=tuple(_turns(frame.rest, now.weights)),
        pivots=tuple(np.array(w.pivot_xy) for w in now.weights),
        centres=tuple(np.array(w.cg_xy) for w in now.weights),
        pins=tuple(np.array(w.pin_xy) for w in now.weights if w.pin_xy is not None),
        links=tuple(
            stadium(np.array(w.pin_xy), np.array(w.foot_pin_xy), 1.7)
            for w in now.weights
            if w.pin_xy is not None and w.foot_pin_xy is not None
        ),
        springs=tuple(
            _spring(mechanism, index, posed, frame) for index, posed in enumerate(now.springs)
        ),
    )


def tang_way(mechanism: Mechanism, spring: int, advance_deg: float) -> Points:
    """How the post moves, in mm of the drawing, for one mm of bending its tang."""
    path = ("springs", spring, "tang_mm")
    here = mechanism.springs[spring].tang_mm
    step = 0.01 if here < 10 else -0.01
    moved = pose(put(mechanism, path, here + step), advance_deg).springs[spring].post_xy
    was = pose(mechanism, advance_deg).springs[spring].post_xy
    moved_by: Points = (np.array(moved) - np.array(was)) / step
    return moved_by


def scale_marks(frame: PlanFrame) -> list[tuple[float, int]]:
    """Degrees of the scale of advance with the rank of each mark: 0 each degree, 1 each five."""
    last = math.ceil(frame.end_deg - 1e-9)
    return [(float(d), 1 if d % 5 == 0 else 0) for d in range(last + 1)]


def _swung(
    shapes: tuple[Points, ...], rest: Sequence[WeightPose], now: Sequence[WeightPose]
) -> tuple[Points, ...]:
    """The weights' outlines turned about their pivots as their centres have turned."""
    found = []
    for shape, was, turn in zip(shapes, rest, _turns(rest, now), strict=True):
        pivot = np.array(was.pivot_xy)
        found.append(turned(shape - pivot, turn, pivot))
    return tuple(found)


def _turns(rest: Sequence[WeightPose], now: Sequence[WeightPose]) -> list[float]:
    """How far each weight has turned from rest, in degrees counter-clockwise."""
    return [
        _heading(was.pivot_xy, here.cg_xy) - _heading(was.pivot_xy, was.cg_xy)
        for was, here in zip(rest, now, strict=True)
    ]


def _heading(start: Point, end: Point) -> float:
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))


def _feet(mechanism: Mechanism, rest: Pose, flanks: tuple[Contact | None, ...]) -> list[Points]:
    """Arms of the cam foot at rest: to each peg on it and to each weight that drives it."""
    middle = np.zeros(2)
    arms = [
        stadium(middle, np.array(posed.peg_xy), 2.3)
        for spring, posed in zip(mechanism.springs, rest.springs, strict=True)
        if "cam" in (spring.post_on, spring.peg_on)
    ]
    for weight, flank in zip(rest.weights, flanks, strict=True):
        pin = weight.pin_xy
        if weight.foot_pin_xy is not None:
            arms.append(stadium(middle, np.array(weight.foot_pin_xy), 2.6))
        elif pin is not None:
            reach = float(np.hypot(*pin))
            arms.append(stadium(middle, np.array(pin) * (reach + 2.2) / reach, 2.8))
        elif flank is not None:
            arms.append(stadium(middle, flank.toe, TOE_MM))
    return arms


def _slots(rest: Pose, full: Pose) -> list[Points]:
    """Radial slots of the cam foot, at rest, long enough for the way of their pins."""
    found = []
    for was, end in zip(rest.weights, full.weights, strict=True):
        if was.pin_xy is None or end.pin_xy is None or was.foot_pin_xy is not None:
            continue
        radii = sorted((float(np.hypot(*was.pin_xy)), float(np.hypot(*end.pin_xy))))
        angle = math.degrees(math.atan2(was.pin_xy[1], was.pin_xy[0]))
        found.append(stadium(polar(radii[0] - 0.4, angle), polar(radii[1] + 0.4, angle), 1.25))
    return found


def _spring(mechanism: Mechanism, index: int, posed: SpringPose, frame: PlanFrame) -> PosedSpring:
    spring = mechanism.springs[index]
    post, peg = np.array(posed.post_xy), np.array(posed.peg_xy)
    known = spring.source.coil
    wire = known.wire_mm or (USUAL_WIRE_MM if spring.role == "primary" else 1.5 * USUAL_WIRE_MM)
    free = required(spring.free_length_mm)
    half = spring_half_width(free)
    if known.mean_diameter_mm is not None:
        half = 0.5 * known.mean_diameter_mm
    coils, loop = spring_shape(post, peg, free, spring.slack_taken_mm, half, known.body_coils, wire)
    outward = post / (float(np.hypot(*post)) or 1.0)
    root = outward * (frame.plate_mm - 1.0)
    if spring.post_on != "plate":  # a pin on another part has no tang
        root = post - 1e-3 * outward
    return PosedSpring(
        coils=coils,
        loop=loop,
        post=post,
        tang=stadium(root, post, 1.5 if spring.post_on == "plate" else 1.1),
        peg=peg,
        middle=0.5 * (post + peg),
        engaged=posed.engaged,
        force_n=posed.force_n,
        slack_left_mm=max(posed.taken_up_mm - posed.length_mm, 0.0),
        wire_mm=wire,
    )
