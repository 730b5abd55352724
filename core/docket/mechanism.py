"""The centrifugal mechanism as measured: weights, linkage, springs, stop, friction.

Angles are positive towards advance. The base plate's polar frame has its zero line from the shaft
through the first weight's pivot. A spring without an end on a weight is placed in that frame; one
with an end on a weight in the frame of the weight it belongs to (x from the shaft through its
pivot, +y on the side where its centre of gravity lies at rest), the cam foot at rest. An end on a
weight lies at a distance from that weight's pivot, at an angle from the line to its centre of
gravity.
"""

from __future__ import annotations

from typing import Any

from bobweight.core.docket.spring_source import SpringSource
from bobweight.core.record import (
    Record,
    Taken,
    choice,
    many,
    number,
    one,
    stored,
    taken,
    text,
    whole,
)
from bobweight.core.units import (
    ANGLE,
    FORCE,
    INERTIA_SLOPE,
    LENGTH,
    MASS,
    NUMBER,
    SPRING_RATE,
    TORQUE,
    TORSION_RATE,
)

LINKAGES = {
    "constant": "Constant ratio",
    "slot": "Pin in a radial slot",
    "link": "Rigid link",
    "measured": "Measured on the bench",
    "learned": "Learnt from a run with known springs",
}
COUNT = ("mechanism", "weights", "count")
"""Where the docket says how many weights there are."""
LINKAGE_TABLES = {"measured": "points", "learned": "learned"}
"""Where the table stands of a linkage that has one."""
BUILDS = {"usual": "Of the usual size", "light": "Light", "heavy": "Heavy"}
FOOT_SIDES = {
    "cg": "The side of the centre of gravity",
    "other": "The other side",
}
LEARNED_SHAPES = 5
"""Independent parts in which the uncertainty of a learnt mechanism is kept."""
SPRING_ROLES = {"primary": "Primary", "secondary": "Secondary", "further": "Further"}
BODIES = {
    "plate": "Base plate",
    "cam": "Cam foot",
    "weight": "Weight",
    "other": "The next weight",
}
"""What an end of a spring may stand on."""
LIES = {"behind": "Behind its pivot", "ahead": "Ahead of its pivot"}
GIVEN_BY = {"distances": "Distances", "polar": "Radius and angle"}
PEG_SIDES = {"ahead": "Ahead of the post", "behind": "Behind the post"}
TANG_WAYS = {"outward": "Outward from the shaft", "round": "Round the shaft, towards advance"}


@stored
class OutlinePoint(Record):
    """A corner of a weight's traced outline.

    In the weight's own frame at its pivot: x towards its centre of gravity, +y turning as the angle
    at rest does.
    """

    x_mm: float = number("Along", LENGTH, 0.0, hard=(-400.0, 400.0))
    y_mm: float = number("Across", LENGTH, 0.0, hard=(-400.0, 400.0))


def _ratio() -> Any:
    return number(
        "Cam turn per weight swing", NUMBER, hard=(0.02, 20.0), usual=(0.2, 3.0),
        uncertain=True, trade_u=0.05,
        help="Degrees of cam for one degree of weight.",
    )  # fmt: skip


def _pin_radius() -> Any:
    return number(
        "Weight pivot to pin", LENGTH, hard=(0.5, 200.0), usual=(3.0, 40.0),
        uncertain=True, trade_u=0.2,
    )  # fmt: skip


def _pin_angle() -> Any:
    return number(
        "Pin angle", ANGLE, hard=(-180.0, 180.0), uncertain=True, trade_u=2.0,
        help="At the weight’s pivot, from the line to the centre of gravity to the line to the "
        "pin; positive turns the same way as the angle at rest.",
    )  # fmt: skip


def _foot_radius() -> Any:
    return number(
        "Foot pin radius", LENGTH, hard=(0.5, 200.0), usual=(3.0, 40.0),
        uncertain=True, trade_u=0.2,
        help="From the shaft’s axis to the link’s pin on the cam foot.",
    )  # fmt: skip


def _link() -> Any:
    return number(
        "Link length", LENGTH, hard=(0.5, 300.0), usual=(3.0, 60.0), uncertain=True, trade_u=0.1,
        help="Between the centres of its two pins.",
    )  # fmt: skip


@stored
class OwnWeight(Record):
    """What one weight has of its own; what is left blank is as in all of them."""

    mass_g: float | None = number(
        "Mass", MASS, hard=(0.5, 2000.0), usual=(5.0, 150.0), uncertain=True, trade_u=0.5,
    )  # fmt: skip
    pivot_radius_mm: float | None = number(
        "Pivot radius", LENGTH, hard=(1.0, 200.0), usual=(8.0, 45.0), uncertain=True, trade_u=0.2,
    )  # fmt: skip
    place_deg: float | None = number(
        "Place round the shaft", ANGLE, hard=(-360.0, 360.0), uncertain=True, trade_u=1.0,
        help="Polar angle of its pivot from that of the first weight, positive towards advance. "
        "Blank: evenly spaced.",
    )  # fmt: skip
    cg_mm: float | None = number(
        "Pivot to centre of gravity", LENGTH, hard=(0.5, 200.0), usual=(4.0, 35.0),
        uncertain=True, trade_u=0.4,
    )  # fmt: skip
    rest_angle_deg: float | None = number(
        "Angle at rest", ANGLE, hard=(1.0, 179.0), usual=(20.0, 150.0),
        uncertain=True, trade_u=2.0,
    )  # fmt: skip
    ratio: float | None = _ratio()
    pin_radius_mm: float | None = _pin_radius()
    pin_angle_deg: float | None = _pin_angle()
    foot_radius_mm: float | None = _foot_radius()
    link_mm: float | None = _link()
    outline: tuple[OutlinePoint, ...] = many("Outline", OutlinePoint, most=500)


@stored
class Weights(Record):
    """The flyweights: what all have alike, and what each has of its own."""

    count: int | None = whole("Weights", None, (1, 6), assumed=2)
    build: str = choice(
        "Build", BUILDS, "usual",
        help="What is taken where mass or size is blank: light ones are about 20 g, heavy ones "
        "55 g each. What you measured counts for itself.",
    )  # fmt: skip
    mass_g: float | None = number(
        "Mass of each weight", MASS, hard=(0.5, 2000.0), usual=(5.0, 150.0), uncertain=True,
        trade_u=0.5,
        help="One weight with its pin and bush, on the scales.",
    )  # fmt: skip
    pivot_radius_mm: float | None = number(
        "Pivot radius", LENGTH, hard=(1.0, 200.0), usual=(8.0, 45.0), uncertain=True, trade_u=0.2,
        help="From the shaft’s axis to the pivot of the weight.",
    )  # fmt: skip
    cg_mm: float | None = number(
        "Pivot to centre of gravity", LENGTH, hard=(0.5, 200.0), usual=(4.0, 35.0),
        uncertain=True, trade_u=0.4,
        help="From the weight’s pivot to its centre of gravity.",
    )  # fmt: skip
    rest_angle_deg: float | None = number(
        "Angle at rest", ANGLE, hard=(1.0, 179.0), usual=(20.0, 150.0),
        uncertain=True, trade_u=2.0,
        help="At the pivot, between straight outwards and the line to the centre of gravity, "
        "with the weight fully in.",
    )  # fmt: skip
    outline: tuple[OutlinePoint, ...] = many("Outline", OutlinePoint, most=500)
    each: tuple[OwnWeight, ...] = many(
        "Weights that differ", OwnWeight, most=6,
        help="One row a weight, the first weight first; blank is as above.",
    )  # fmt: skip

    @property
    def count_taken(self) -> int:
        """How many there are; where that was not entered as most units have them."""
        return int(taken(self, "count"))


@stored
class SwingPoint(Record):
    """One row of a measured linkage; the swing or the radius, as the table says."""

    cam_deg: float | None = number(
        "Cam angle", ANGLE, hard=(0.0, 60.0), help="Advance of the cam from rest."
    )
    swing_deg: float | None = number(
        "Swing of the weight", ANGLE, hard=(0.0, 170.0), help="From rest, at the weight’s pivot."
    )
    radius_mm: float | None = number(
        "Radius of the centre of gravity", LENGTH, hard=(0.5, 400.0), help="From the shaft’s axis."
    )


def _part(index: int) -> Any:
    return number(
        f"Uncertainty, part {index}", NUMBER, 0.0, hard=(-10.0, 10.0),
        help="Change of the logarithm of the pull for one standard deviation of this part.",
    )  # fmt: skip


@stored
class InertiaKnot(Record):
    """One row of a learnt mechanism: how hard the weights pull at this advance.

    The parts are how its logarithm moves with each of the linkage's ``shape`` numbers, so that
    the uncertainty of neighbouring rows goes together as it must.
    """

    cam_deg: float | None = number(
        "Cam angle", ANGLE, hard=(0.0, 90.0), help="Advance of the cam from rest."
    )
    inertia_slope_g_mm2: float | None = number(
        "Slope of inertia", INERTIA_SLOPE, hard=(1e-3, 1e9),
        help="Change of the weights’ moment of inertia about the shaft per radian of cam.",
    )  # fmt: skip
    part_1: float = _part(1)
    part_2: float = _part(2)
    part_3: float = _part(3)
    part_4: float = _part(4)
    part_5: float = _part(5)


def _shape(index: int) -> Any:
    return number(
        f"Spread of the run, part {index}", NUMBER, 0.0, hard=(-8.0, 8.0), uncertain=True,
        trade_u=1.0,
        help="In standard deviations from what was learnt; zero is the likeliest.",
    )  # fmt: skip


@stored
class Linkage(Record):
    """How the swing of a weight turns the cam. Only the fields of its kind are used."""

    kind: str = choice("Linkage", LINKAGES, "constant")
    ratio: float | None = _ratio()
    pin_radius_mm: float | None = _pin_radius()
    pin_angle_deg: float | None = _pin_angle()
    foot_radius_mm: float | None = _foot_radius()
    link_mm: float | None = _link()
    foot_side: str = choice(
        "Foot pin lies on", FOOT_SIDES, "other",
        help="Seen from the shaft at rest: to which side of the weight’s pin the foot’s pin lies.",
    )  # fmt: skip
    lies: str = choice(
        "Weight lies", LIES, "behind",
        help="At rest, its centre of gravity against the line to its pivot, seen in the direction "
        "of advance. With a pin in a slot or a link the geometry decides.",
    )  # fmt: skip
    measured_as: str = choice(
        "Measured as", {"swing": "Swing of the weight", "radius": "Radius of its centre"}, "swing"
    )
    points: tuple[SwingPoint, ...] = many("Measured points", SwingPoint, most=500)
    learned: tuple[InertiaKnot, ...] = many("Learnt from a run", InertiaKnot, most=500)
    shape_1: float = _shape(1)
    shape_2: float = _shape(2)
    shape_3: float = _shape(3)
    shape_4: float = _shape(4)
    shape_5: float = _shape(5)


@stored
class Spring(Record):
    """One spring between its post, usually on the base plate, and its peg."""

    role: str = choice("Spring", SPRING_ROLES, "primary")
    label: str = text("Label", help="Your own mark on it.")
    post_on: str = choice("Post on", BODIES, "plate")
    peg_on: str = choice("Peg on", BODIES, "cam")
    weight: int = whole(
        "Belongs to weight", 1, (1, 6), help="Which weight it hangs on, the first being 1."
    )
    rate_n_per_mm: float | None = number(
        "Rate", SPRING_RATE, hard=(0.001, 500.0), usual=(0.1, 40.0), uncertain=True,
    )  # fmt: skip
    free_length_mm: float | None = number(
        "Free length", LENGTH, hard=(1.0, 300.0), usual=(8.0, 50.0), uncertain=True, trade_u=0.15,
        help="Between the insides of the hooks, unloaded.",
    )  # fmt: skip
    slack_mm: float | None = number(
        "Slack", LENGTH, hard=(0.0, 30.0), usual=(0.0, 5.0), uncertain=True, trade_u=0.15,
        assumed=0.0,
        help="What an open loop lets the peg travel before the spring is taken up.",
    )  # fmt: skip
    initial_tension_n: float | None = number(
        "Initial tension", FORCE, hard=(0.0, 500.0), usual=(0.0, 30.0),
        uncertain=True, trade_u=0.2, assumed=0.0,
        help="The pull needed before the coils of a close-wound spring part.",
    )  # fmt: skip
    post_radius_mm: float | None = number(
        "Post radius", LENGTH, hard=(1.0, 200.0), usual=(8.0, 45.0), uncertain=True, trade_u=0.2,
        help="From the shaft’s axis to the post, before bending the tang; from the weight’s pivot "
        "for a post on a weight.",
    )  # fmt: skip
    post_angle_deg: float | None = number(
        "Post angle", ANGLE, hard=(-360.0, 360.0), uncertain=True, trade_u=1.0,
        help="Polar angle of the post; positive is towards advance (for a spring on a weight: in "
        "the weight’s own frame; for a post on a weight: from the line to its centre of gravity).",
    )  # fmt: skip
    peg_radius_mm: float | None = number(
        "Peg radius", LENGTH, hard=(0.5, 200.0), usual=(3.0, 40.0), uncertain=True, trade_u=0.2,
        help="From the shaft’s axis for a peg on the cam foot, from the weight’s pivot for a peg "
        "on a weight.",
    )  # fmt: skip
    peg_angle_deg: float | None = number(
        "Peg angle", ANGLE, hard=(-360.0, 360.0), uncertain=True, trade_u=1.0,
        help="Polar angle of the peg with the cam at rest; on a weight, from the line to its "
        "centre of gravity.",
    )  # fmt: skip
    given_by: str = choice(
        "Places given by", GIVEN_BY, "polar",
        help="Distances as callipers take them, with the weights fully in; or radius and angle.",
    )  # fmt: skip
    rest_mm: float | None = number(
        "Post to peg at rest", LENGTH, hard=(0.5, 300.0), usual=(6.0, 60.0), uncertain=True,
        trade_u=0.2, help="Between their centres, with the weights fully in.",
    )  # fmt: skip
    peg_shaft_mm: float | None = number(
        "Shaft to peg at rest", LENGTH, hard=(0.5, 300.0), usual=(4.0, 50.0), uncertain=True,
        trade_u=0.2, help="For a peg on a weight: from the shaft’s axis, the weights fully in.",
    )  # fmt: skip
    peg_side: str = choice(
        "Peg lies", PEG_SIDES, "ahead",
        help="Seen from the shaft at rest, against the post, in the direction of advance. A spring "
        "that holds back has its peg run away from the post.",
    )  # fmt: skip
    peg_beside: str = choice(
        "Peg on the weight lies", FOOT_SIDES, "cg",
        help="To which side of the line from the shaft through the weight’s pivot.",
    )  # fmt: skip
    stop_mm: float | None = number(
        "Post to peg at the stop", LENGTH, hard=(0.5, 300.0), usual=(6.0, 70.0),
        help="A check only: what follows from the other figures should agree.",
    )  # fmt: skip
    tang_mm: float = number(
        "Tang bent", LENGTH, 0.0, hard=(-15.0, 15.0), usual=(-3.0, 3.0),
        help="How far the post has been bent from where it was measured.",
    )  # fmt: skip
    tang_way: str = choice("Tang bends", TANG_WAYS, "outward")
    source: SpringSource = one("How it is known", SpringSource)
    slack_taken_mm = Taken("slack_mm")
    tension_taken_n = Taken("initial_tension_n")

    @property
    def hangs_on_weight(self) -> bool:
        """Whether either end is on a weight: it is then placed in its weight's own frame."""
        return bool({self.post_on, self.peg_on} & {"weight", "other"})


@stored
class Plate(Record):
    """What the drawing shows of the base plate; the curve needs none of it."""

    radius_mm: float | None = number(
        "Radius of the plate", LENGTH, hard=(5.0, 250.0), usual=(18.0, 70.0)
    )
    stop_radius_mm: float | None = number(
        "Stop from the shaft", LENGTH, hard=(1.0, 200.0), usual=(5.0, 45.0),
        help="From the shaft’s axis to where the cam foot meets the stop.",
    )  # fmt: skip
    stop_angle_deg: float | None = number(
        "Place of the stop", ANGLE, hard=(-360.0, 360.0),
        help="Polar angle of the stop on the plate, positive towards advance.",
    )  # fmt: skip

    @property
    def stop_is_placed(self) -> bool:
        """True if it is known where on the plate the stop is."""
        return self.stop_radius_mm is not None and self.stop_angle_deg is not None


MEASURED_OFF = {
    "unsaid": "not said",
    "found": "this unit as found",
    "sound": "a sound unit, or a book",
}
"""What the figures of a mechanism are of."""


@stored
class Mechanism(Record):
    """Everything that makes the centrifugal curve."""

    measured_off: str = choice(
        "Figures are of", MEASURED_OFF, "unsaid",
        help="A weak spring that was hung, or a bent stop, is not what a sound unit has: say so, "
        "and a fault is told by what the table wants instead of by what was measured.",
    )  # fmt: skip
    weights: Weights = one("Weights", Weights)
    linkage: Linkage = one("Linkage", Linkage)
    springs: tuple[Spring, ...] = many("Springs", Spring, most=100)
    stop_deg: float | None = number(
        "Stop", ANGLE, hard=(0.1, 60.0), usual=(3.0, 25.0), uncertain=True, trade_u=0.3,
        frame="distributor",
        help="Advance of the cam at the stop, in distributor degrees: the ceiling.",
    )  # fmt: skip
    stop_give_deg: float | None = number(
        "Give of the stop", ANGLE, hard=(0.0, 20.0), usual=(0.0, 3.0), frame="distributor",
        uncertain=True, trade_u=0.3, assumed=0.0,
        help="How far a rubber lets the cam on before it is solid. Zero for a stop of metal.",
    )  # fmt: skip
    stop_rate_nmm_per_deg: float | None = number(
        "Stiffness of the stop", TORSION_RATE, hard=(0.0, 1e5), usual=(0.0, 500.0),
        uncertain=True, assumed=0.0,
        help="Torque at the cam for each degree into the rubber.",
    )  # fmt: skip
    plate: Plate = one("Base plate", Plate)
    heel_drag_nmm: float | None = number(
        "Drag of the heel", TORQUE, hard=(0.0, 1000.0), usual=(0.0, 40.0),
        uncertain=True, trade_u=3.0, assumed=0.0,
        help="Mean torque of the breaker heel on the cam. Zero with the points out.",
    )  # fmt: skip
    stick_nmm: float | None = number(
        "Fixed friction", TORQUE, hard=(0.0, 1000.0), usual=(0.0, 60.0), uncertain=True,
        trade_u=3.0, assumed=0.0,
        help="Friction at the cam that does not grow with speed: gum, dry pivots.",
    )  # fmt: skip
    grip: float | None = number(
        "Friction that grows with load", NUMBER, hard=(0.0, 0.9), usual=(0.0, 0.2),
        uncertain=True, trade_u=0.02, assumed=0.0,
        help="Share of the weights’ pull lost to friction that grows with load.",
    )  # fmt: skip
    stop_give_taken_deg = Taken("stop_give_deg")
    stop_rate_taken_nmm_per_deg = Taken("stop_rate_nmm_per_deg")
    heel_drag_taken_nmm = Taken("heel_drag_nmm")
    stick_taken_nmm = Taken("stick_nmm")
    grip_taken = Taken("grip")

    @property
    def end_deg(self) -> float | None:
        """Advance beyond which the cam cannot go: the stop, its rubber pressed solid."""
        return None if self.stop_deg is None else self.stop_deg + self.stop_give_taken_deg
