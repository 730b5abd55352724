"""Random mechanisms laid out by the tests' own vectors, photographed, clicked by a hand.

Nothing of ``core.photo`` is used: places are complex numbers in the base plate's frame (shaft
at 0, first pivot on the real axis, advance anticlockwise), then turned, mirrored and seen by the
camera of ``camera_model``.
"""

from __future__ import annotations

import cmath
from dataclasses import dataclass

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Linkage, Mechanism, Spring, Weights
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.pictures import Level, MarkSeen, MeasuredPicture, Pick, PicturePoint
from bobweight.core.photo.card import MARKS_MM
from tests.photo.camera_model import Phone, Scanner

ROUND = ("shaft", "pivot", "pin", "foot_pin", "post", "peg")
"""Parts whose middle the program finds under the click."""
HEIGHTS_MM = (3.0, 9.0)  # plate with posts and cam foot; tops of the weights


@dataclass
class Truth:
    """A mechanism: its docket without any dimension, the true dimensions, and all its places."""

    docket: Docket
    values: dict[tuple, float]
    places: dict[tuple[str, int], list[complex]]
    level: dict[tuple[str, int], int]
    moved: tuple[float, float]
    out: dict[tuple[str, int], list[complex]]


def random_truth(rng: np.random.Generator) -> Truth:
    clockwise = bool(rng.integers(2))
    ahead = bool(rng.integers(2))
    kind = str(rng.choice(["constant", "slot", "link"]))
    radius, cg = rng.uniform(14, 22), rng.uniform(8, 13)
    rest = rng.uniform(70, 130)
    pin_radius, pin_deg = rng.uniform(8, 12), rng.uniform(-60, 60)
    foot_radius, foot_deg = rng.uniform(9, 13), rng.uniform(15, 40)

    def own(weight: int):
        """Turns a place of a weight's own frame into the plate's."""
        turn = cmath.rect(1, np.pi * weight)
        return lambda z: (z if ahead else z.conjugate()) * turn

    def on_weight(distance: float, angle_deg: float) -> complex:
        """A place of a weight's own frame at an angle from the line to its centre of gravity."""
        return radius + cmath.rect(distance, np.radians(rest + angle_deg))

    weights, linkage = ("mechanism", "weights"), ("mechanism", "linkage")
    values: dict[tuple, float] = {
        (*weights, "pivot_radius_mm"): radius, (*weights, "cg_mm"): cg,
        (*weights, "rest_angle_deg"): rest,
    }  # fmt: skip
    places: dict[tuple[str, int], list[complex]] = {("shaft", 1): [0j]}
    level = {("shaft", 1): 1}
    corners = 12
    round_it = [cmath.rect(7.0 + 1.5 * (k % 2), 2 * np.pi * k / corners) for k in range(corners)]
    places["outline", 1] = [own(0)(on_weight(cg, 0) + p) for p in round_it]
    level["outline", 1] = 2
    for k in (0, 1):
        places["pivot", k + 1], level["pivot", k + 1] = [own(k)(radius + 0j)], 2
        if kind in ("slot", "link"):
            places["pin", k + 1] = [own(k)(on_weight(pin_radius, pin_deg))]
            level["pin", k + 1] = 2
        if kind == "link":
            places["foot_pin", k + 1] = [own(k)(cmath.rect(foot_radius, np.radians(foot_deg)))]
            level["foot_pin", k + 1] = 2
    if kind in ("slot", "link"):
        values[*linkage, "pin_radius_mm"] = pin_radius
        values[*linkage, "pin_angle_deg"] = pin_deg
    if kind == "link":
        values[*linkage, "foot_radius_mm"] = foot_radius
        apart = cmath.rect(foot_radius, np.radians(foot_deg)) - on_weight(pin_radius, pin_deg)
        values[*linkage, "link_mm"] = abs(apart)
    springs = []
    for index in range(2):
        spring, ends = _random_spring(rng, index, radius, rest, own, on_weight)
        springs.append(spring)
        for part, (value, angle, place) in ends.items():
            values["mechanism", "springs", index, f"{part}_radius_mm"] = value
            values["mechanism", "springs", index, f"{part}_angle_deg"] = angle
            body = spring.post_on if part == "post" else spring.peg_on
            places[part, index + 1] = [place]
            level[part, index + 1] = 2 if body in ("weight", "other") else 1
    cam_deg, swing_deg = rng.uniform(8, 16), rng.uniform(15, 40)
    cam_mark, weight_mark = cmath.rect(11.0, 1.0), own(0)(on_weight(cg + 5, 20))
    pivot = places["pivot", 1][0]
    way = -1 if ahead else 1  # a weight swings out: its centre towards the radial line
    places["cam_mark", 1], level["cam_mark", 1] = [cam_mark], 1
    places["weight_mark", 1], level["weight_mark", 1] = [weight_mark], 2
    out = {key: places[key] for key in (("shaft", 1), ("pivot", 1), ("pivot", 2))}
    out["cam_mark", 1] = [cam_mark * cmath.rect(1, np.radians(cam_deg))]
    swung = (weight_mark - pivot) * cmath.rect(1, way * np.radians(swing_deg))
    out["weight_mark", 1] = [pivot + swung]
    docket = Docket(
        particulars=Particulars(rotation="clockwise" if clockwise else "anticlockwise"),
        mechanism=Mechanism(
            weights=Weights(count=2), linkage=Linkage(kind=kind), springs=tuple(springs)
        ),
    )
    return Truth(docket, values, places, level, (cam_deg, swing_deg), out)


def _random_spring(rng, index, radius, rest, own, on_weight):
    """A spring somewhere: on plate and cam foot, on plate and a weight, or between the weights."""
    kind = str(rng.choice(["cam", "weight", "between"]))
    weight = int(rng.integers(1, 3))
    post_radius, post_deg = rng.uniform(16, 26), rng.uniform(-170, 170)
    peg_radius, peg_deg = rng.uniform(8, 14), rng.uniform(-170, 170)
    if kind == "cam":
        spring = Spring(post_on="plate", peg_on="cam")
        post = cmath.rect(post_radius, np.radians(post_deg))
        peg = cmath.rect(peg_radius, np.radians(peg_deg))
    elif kind == "weight":
        spring = Spring(post_on="plate", peg_on="weight", weight=weight)
        post = own(weight - 1)(cmath.rect(post_radius, np.radians(post_deg)))
        peg = own(weight - 1)(on_weight(peg_radius, peg_deg))
    else:
        spring = Spring(post_on="other", peg_on="weight", weight=weight)
        post = own(weight % 2)(on_weight(post_radius, post_deg))
        peg = own(weight - 1)(on_weight(peg_radius, peg_deg))
    return spring, {"post": (post_radius, post_deg, post), "peg": (peg_radius, peg_deg, peg)}


def clicked(
    truth: Truth, camera: Phone | Scanner, rng: np.random.Generator, *, hand: float = 1.0,
    u_height_mm: float = 0.3, out: bool = False, turn: float | None = None,
    heights_mm: tuple[float, float] = HEIGHTS_MM,
) -> MeasuredPicture:  # fmt: skip
    """The picture's record as a careful hand leaves it; ``hand`` multiplies its errors."""
    mirror = truth.docket.particulars.rotation == "clockwise"
    laid = cmath.rect(1, rng.uniform(0, 2 * np.pi) if turn is None else turn)
    shift = complex(*rng.uniform(-6, 6, 2))
    picks = []
    for key, points in (truth.out if out else truth.places).items():
        level = truth.level[key]
        xy = [(p.conjugate() if mirror else p) * laid + shift for p in points]
        world = np.array([(z.real, z.imag, heights_mm[level - 1]) for z in xy])
        snapped = key[0] in ROUND
        u_px = hand * (0.25 if snapped else 0.5)
        seen = camera.sees(world) + rng.normal(0, u_px, (len(xy), 2))
        picks.append(
            Pick(part=key[0], number=key[1], level=level,
                 points=tuple(
                     PicturePoint(x_px=float(x), y_px=float(y), snapped=snapped) for x, y in seen
                 ))
        )  # fmt: skip
    marks = camera.sees(np.column_stack([MARKS_MM, np.zeros(8)])) + rng.normal(0, 0.03, (8, 2))
    return MeasuredPicture(
        width_px=camera.width, height_px=camera.height,
        focal_35_mm=float(round(camera.focal_px * 43.267 / np.hypot(camera.width, camera.height))),
        shows="out" if out else "rest",
        marks=tuple(
            MarkSeen(mark=k + 1, x_px=float(x), y_px=float(y)) for k, (x, y) in enumerate(marks)
        ),
        levels=tuple(
            Level(label=name, height_mm=float(high + rng.normal(0, u_height_mm)),
                  u={"height_mm": u_height_mm})
            for name, high in zip(("Plate", "Weights"), heights_mm, strict=True)
        ),
        picks=tuple(picks),
    )  # fmt: skip
