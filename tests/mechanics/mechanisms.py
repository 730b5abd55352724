"""Mechanisms for the tests: a plain one, and random ones of every kind. All are invented."""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.mechanism import (
    Linkage,
    Mechanism,
    OwnWeight,
    Spring,
    SwingPoint,
    Weights,
)
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.predict import predict

from .independent import Vectors

LINKAGES = ("constant", "slot", "swing", "radius", "link")


def spring(length_mm: float = 0.0, **changes) -> Spring:
    """A spring on the cam foot, across the peg's path; ``length_mm`` replaces the free length."""
    values = dict(
        rate_n_per_mm=1.2, free_length_mm=14.0, post_radius_mm=22.0, post_angle_deg=-40.0,
        peg_radius_mm=9.0, peg_angle_deg=0.0,
    )  # fmt: skip
    if length_mm:
        values["free_length_mm"] = length_mm
    return Spring(**(values | changes))


def plain(**changes) -> Mechanism:
    """Two weights, constant ratio, a preloaded primary and a secondary with slack."""
    values = dict(
        weights=Weights(
            count=2, mass_g=28.0, pivot_radius_mm=17.0, cg_mm=11.0, rest_angle_deg=110.0
        ),
        linkage=Linkage(kind="constant", ratio=0.6),
        springs=(
            spring(15.0, rate_n_per_mm=0.9),
            spring(15.2, rate_n_per_mm=6.0, slack_mm=1.3, role="secondary"),
        ),
        stop_deg=13.0,
    )
    return Mechanism(**(values | changes))


def jumping() -> Mechanism:
    """A preload too high for the weights' geometry: they fly out at one speed, fall at another."""
    return plain(
        weights=Weights(
            count=2, mass_g=28.0, pivot_radius_mm=17.0, cg_mm=11.0, rest_angle_deg=145.0
        ),
        springs=(
            spring(9.0, rate_n_per_mm=0.25),
            spring(15.2, rate_n_per_mm=6.0, slack_mm=2.2, role="secondary"),
        ),
        stick_nmm=1.0,
    )


def random_mechanism(rng: np.random.Generator, kind: str, friction: bool) -> Mechanism:
    """A mechanism drawn at random; not every draw can move to its stop."""
    weights = Weights(
        count=int(rng.integers(1, 4)),
        mass_g=rng.uniform(10, 80),
        pivot_radius_mm=rng.uniform(10, 28),
        cg_mm=rng.uniform(5, 22),
        rest_angle_deg=rng.uniform(55, 150),
    )
    stop = rng.uniform(5, 22)
    linkage, swing = _linkage(rng, kind, weights, stop)
    springs = []
    for index in range(int(rng.integers(1, 4))):
        mount = "weight" if rng.random() < 0.4 else "cam"
        springs.append(_spring(rng, index, mount, weights, stop, swing))
    rough = friction and rng.random() < 0.9
    return Mechanism(
        weights=weights,
        linkage=linkage,
        springs=tuple(springs),
        stop_deg=stop,
        heel_drag_nmm=rng.choice([0.0, rng.uniform(1, 20)]),
        stick_nmm=rng.uniform(0, 10) if rough else 0.0,
        grip=rng.choice([0.0, rng.uniform(0, 0.2)]) if rough else 0.0,
    )


def _linkage(rng, kind: str, weights: Weights, stop: float) -> tuple[Linkage, float]:
    """A linkage and about how far the weight swings to the stop, in degrees."""
    if kind == "constant":
        ratio = rng.uniform(0.4, 1.5)
        return Linkage(kind="constant", ratio=ratio), stop / ratio
    if kind == "slot":
        return Linkage(
            kind="slot", pin_radius_mm=rng.uniform(4, 30), pin_angle_deg=rng.uniform(-180, 180)
        ), 1.5 * stop
    if kind == "link":
        turn, arm = rng.uniform(-180, 180), rng.uniform(4, 15)
        pin = abs(weights.pivot_radius_mm + arm * np.exp(1j * np.radians(turn)))
        foot = rng.uniform(4, 15)
        return Linkage(
            kind="link", pin_radius_mm=arm, foot_radius_mm=foot,
            pin_angle_deg=(turn - weights.rest_angle_deg + 180) % 360 - 180,
            link_mm=abs(pin - foot) + rng.uniform(0.1, 0.9) * (pin + foot - abs(pin - foot)),
            foot_side=str(rng.choice(["cg", "other"])),
        ), 1.5 * stop  # fmt: skip
    count = int(rng.integers(3, 9))
    cam = np.concatenate([[0.0], np.sort(rng.uniform(0.5, stop, count - 2)), [stop]])
    cam[1:-1] += 0.01 * np.arange(count - 2)
    cam[-1] = stop if rng.random() < 0.5 else stop + rng.uniform(0.1, 5)
    swing = cam * rng.uniform(0.8, 2.0) * (1 + rng.uniform(-0.2, 0.3) * cam / stop)
    if kind == "swing":
        points = tuple(SwingPoint(cam_deg=c, swing_deg=s) for c, s in zip(cam, swing, strict=True))
        return Linkage(kind="measured", measured_as="swing", points=points), float(swing[-1])
    alpha = np.radians(weights.rest_angle_deg - swing)
    radius = abs(weights.pivot_radius_mm + weights.cg_mm * np.exp(1j * alpha))
    points = tuple(SwingPoint(cam_deg=c, radius_mm=r) for c, r in zip(cam, radius, strict=True))
    return Linkage(kind="measured", measured_as="radius", points=points), float(swing[-1])


def _spring(rng, index: int, mount: str, weights: Weights, stop: float, swing: float) -> Spring:
    """A spring taken up before rest, on the way or (rarely) never."""
    taken_up = rng.uniform(-0.6, 1.1)  # in shares of the whole movement
    slack = rng.choice([0.0, rng.uniform(0.1, 3.0)])
    post_radius, peg_radius = rng.uniform(14, 35), rng.uniform(4, 14)
    values = dict(
        peg_on=mount,
        role="primary" if index == 0 else "secondary",
        rate_n_per_mm=float(np.exp(rng.uniform(np.log(0.2), np.log(12)))),
        initial_tension_n=rng.choice([0.0, rng.uniform(0.2, 8)]),
        slack_mm=slack,
        post_radius_mm=post_radius,
        peg_radius_mm=peg_radius,
        tang_mm=rng.choice([0.0, rng.uniform(-1.5, 1.5)]),
        tang_way=rng.choice(["outward", "round"]),
    )
    if mount == "cam":
        post_angle = rng.uniform(-180, 180)
        peg_angle = post_angle + rng.uniform(15, 150)  # peg runs away from the post
        post = post_radius * np.exp(1j * np.radians(post_angle))
        peg = peg_radius * np.exp(1j * np.radians(peg_angle + taken_up * stop))
    else:
        post_angle, peg_angle = rng.uniform(-60, 60), rng.uniform(-180, 180)
        post = post_radius * np.exp(1j * np.radians(post_angle))
        turn = weights.rest_angle_deg + peg_angle - taken_up * swing
        peg = weights.pivot_radius_mm + peg_radius * np.exp(1j * np.radians(turn))
    length = float(abs(post - peg)) - slack
    return Spring(
        post_angle_deg=post_angle, peg_angle_deg=peg_angle, free_length_mm=length, **values
    )


PAIRS = (
    ("plate", "cam"), ("plate", "weight"), ("cam", "weight"), ("weight", "other"),
    ("plate", "other"), ("weight", "plate"), ("cam", "plate"), ("weight", "cam"), ("cam", "other"),
)  # fmt: skip


def between(rng: np.random.Generator, mechanism: Mechanism, pairs=PAIRS) -> Mechanism:
    """The mechanism with springs between other parts, taken up before rest, on the way or never."""
    if mechanism.weights.count == 1:
        mechanism = mechanism.with_changes(weights=mechanism.weights.with_changes(count=2))
    springs = []
    for old in mechanism.springs:
        post_on, peg_on = pairs[int(rng.integers(len(pairs)))]
        places = {
            f"{end}_{key}": float(value)
            for end, body in (("post", post_on), ("peg", peg_on))
            for key, value in (
                ("on", 0.0),
                ("radius_mm", rng.uniform(14, 35) if body == "plate" else rng.uniform(4, 14)),
                ("angle_deg", rng.uniform(-180, 180)),
            )
        }
        places |= {"post_on": post_on, "peg_on": peg_on}
        weight = int(rng.integers(1, mechanism.weights.count + 1))
        spring = old.with_changes(weight=weight, **places)
        springs.append(_fitted(rng, mechanism, spring))
    return mechanism.with_changes(springs=tuple(springs))


def _fitted(rng, mechanism: Mechanism, spring: Spring) -> Spring:
    """The spring as long as it must be to be taken up somewhere."""
    vectors = Vectors(mechanism.with_changes(springs=()))
    share = min(max(rng.uniform(-0.6, 1.1), 0.0), 1.0)
    at = vectors.state_at(share * vectors.stop)
    length = float(abs(vectors.span(spring, at))) - spring.slack_taken_mm - rng.choice([0.0, 1.0])
    return spring.with_changes(free_length_mm=float(np.clip(length, 1.0, 300.0)))


def unlike(rng: np.random.Generator, mechanism: Mechanism) -> Mechanism:
    """The mechanism with weights that differ: in mass, place and the sizes of their linkage."""
    weights, linkage = mechanism.weights, mechanism.linkage
    keys = {
        "weights": ["mass_g", "pivot_radius_mm", "cg_mm", "rest_angle_deg"],
        "linkage": ["ratio", "pin_radius_mm", "pin_angle_deg", "foot_radius_mm", "link_mm"],
    }
    if linkage.kind == "measured" and linkage.measured_as == "radius":
        keys = {"weights": ["mass_g"], "linkage": []}  # the table is of their common radius
    rows = []
    for index in range(weights.count):
        own = {
            key: getattr(record, key) * rng.uniform(0.93, 1.07)
            for record, names in ((weights, keys["weights"]), (linkage, keys["linkage"]))
            for key in names
            if getattr(record, key) is not None and rng.random() < 0.6
        }
        if index and rng.random() < 0.7:
            own["place_deg"] = 360.0 * index / weights.count + rng.uniform(-12, 12)
        rows.append(OwnWeight(**own))
    kept = int(rng.integers(1, weights.count + 1))
    return mechanism.with_changes(weights=weights.with_changes(each=tuple(rows[:kept])))


def rubber(rng: np.random.Generator, mechanism: Mechanism) -> Mechanism:
    """The mechanism with a stop of rubber; a measured table must reach as far."""
    give = rng.uniform(0.3, 3.0)
    if mechanism.linkage.kind == "measured":
        give = min(give, 0.4 * mechanism.stop_deg)
        mechanism = mechanism.with_changes(stop_deg=mechanism.stop_deg - give)
    rate = float(np.exp(rng.uniform(np.log(5), np.log(300))))
    return mechanism.with_changes(stop_give_deg=give, stop_rate_nmm_per_deg=rate)


def all_together(rng: np.random.Generator, mechanism: Mechanism) -> Mechanism:
    """Unlike weights, springs between any parts and a stop of rubber."""
    weights = unlike(rng, mechanism)
    if any(problem.grave for problem in mechanism_problems(weights)):
        return weights  # one that does not reach the stop is drawn again
    return rubber(rng, between(rng, weights))


VARIANTS = {
    **{f"{a}-{b}": lambda rng, m, pair=(a, b): between(rng, m, (pair,)) for a, b in PAIRS},
    "unlike weights": unlike,
    "rubber stop": rubber,
    "all together": all_together,
}
"""What may be changed on a random mechanism, by name."""


def varied_mechanisms(variant: str, count: int, seed: int):
    """Random mechanisms of every kind of linkage, so changed, that can be predicted."""
    rng = np.random.default_rng(seed)
    while count:
        kind = LINKAGES[count % len(LINKAGES)]
        plain = random_mechanism(rng, kind, friction=count % 3 > 0)
        if any(problem.grave for problem in mechanism_problems(plain)):
            continue
        changed = VARIANTS[variant](rng, plain)
        if any(problem.grave for problem in mechanism_problems(changed)):
            continue
        if predict(changed).full_rpm > 1.0:  # else it stands anywhere at standstill
            count -= 1
            yield changed
