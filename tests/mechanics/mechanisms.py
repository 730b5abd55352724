"""Mechanisms for the tests: a plain one, and random ones of every kind. All are invented."""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.mechanism import Linkage, Mechanism, Spring, SwingPoint, Weights

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
        mount=mount,
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
