"""Sound units of usual proportions (trade figures, common practice) and their tables.

The springs follow from three wished points of the curve: the moment of the weights there, by
vectors, is what they must hold.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from bobweight.core.docket.mechanism import Linkage, Mechanism, Spring, Weights
from bobweight.core.docket.target import CheckPoint, Target, VacuumPoint
from bobweight.core.docket.vacuum import Capsule
from tests.mechanics.independent import RPM, cross, unit
from tests.studies.simulator.curve import VectorCurve

NO_ADVANCE_DEG = 0.5  # common practice: what still counts as none
RATIO = 2.0
STATICS_DEG = (4.0, 6.0, 8.0, 10.0)


@dataclass(frozen=True)
class Unit:
    """A sound unit, its table (in the frame that is written), and the curve's landmarks."""

    sound: Mechanism
    capsule: Capsule
    target: Target
    own_table: bool
    start_rpm: float
    full_rpm: float
    static_deg: float


def vacuum_deg(capsule: Capsule, kpa: float, way: str = "rising") -> float:
    """Movement of the plate by the forces on the rod, distributor degrees."""
    if capsule.given_as == "none":
        return 0.0
    force = capsule.area_mm2 * 1e-3 * kpa - capsule.preload_n
    force -= capsule.friction_taken_n if way == "rising" else -capsule.friction_taken_n
    travel = float(np.clip(force / capsule.spring_rate_n_per_mm, 0.0, capsule.travel_mm))
    return float(np.degrees(np.arcsin(travel / capsule.lever_taken_mm)))


def _draw_weights(rng: Generator) -> tuple[Weights, Linkage]:
    weights = Weights(
        count=2, mass_g=rng.uniform(18, 34), pivot_radius_mm=rng.uniform(17, 24),
        cg_mm=rng.uniform(8, 12), rest_angle_deg=rng.uniform(92, 118),
    )  # fmt: skip
    share = rng.uniform(0.5, 0.9)
    if rng.random() < 0.7:
        return weights, Linkage(ratio=share)
    pin = weights.pivot_radius_mm * share / (1 + share)
    return weights, Linkage(
        kind="slot", pin_radius_mm=pin,
        pin_angle_deg=rng.uniform(160, 178) - weights.rest_angle_deg,
    )  # fmt: skip


def _lever(post: complex, peg_mm: float, peg_deg: float, cam_deg: float) -> tuple[float, float]:
    """Length of a spring in mm and its arm about the shaft in mm."""
    peg = peg_mm * unit(float(np.radians(peg_deg + cam_deg)))
    span = post - peg
    return abs(span), -cross(peg, span / abs(span))


def draw_sound(rng: Generator) -> Mechanism:
    """A mechanism whose curve has a usual start, knee and end."""
    full_deg = rng.uniform(8.5, 15.0)
    knee_deg = float(np.clip(full_deg * rng.uniform(0.28, 0.5), 2.0, 6.5))
    start = rng.uniform(300, 500)
    knee = start * rng.uniform(1.4, 1.9)
    full = knee * rng.uniform(1.8, 2.8)
    weights, linkage = _draw_weights(rng)
    drag = rng.uniform(1, 5)
    stick = rng.uniform(1, 6)
    bare = Mechanism(weights=weights, linkage=linkage, stop_deg=full_deg)
    try:
        body = VectorCurve(bare)
    except ValueError:  # a slot that does not reach the stop
        return draw_sound(rng)
    at = np.array([body.state_at(float(np.radians(d))) for d in (0.0, knee_deg, full_deg)])
    speeds = np.array([start, knee, full]) * RPM
    torque = body.moments(at)[0] * speeds**2 - drag
    post_mm, peg_mm, opens = rng.uniform(22, 28), rng.uniform(13, 18), rng.uniform(50, 80)
    post = complex(post_mm, 0.0)
    (l0, a0), (l1, a1), (l2, a2) = (
        _lever(post, peg_mm, opens, d) for d in (0.0, knee_deg, full_deg)
    )
    force0, force1 = torque[0] / a0, torque[1] / a1
    rate = (force1 - force0) / (l1 - l0)
    tension = rng.choice([0.0, rng.uniform(0.1, 0.5)]) * force0
    free = l0 - (force0 - tension) / rate
    slack = rng.uniform(0.6, 1.8)
    taken_up, _ = _lever(post, peg_mm, opens + 10, knee_deg)
    end, arm = _lever(post, peg_mm, opens + 10, full_deg)
    rest = torque[2] - (tension + rate * (l2 - free)) * a2
    heavy = rest / arm / (end - taken_up)
    primary = Spring(
        role="primary", rate_n_per_mm=rate, free_length_mm=free, initial_tension_n=tension,
        post_radius_mm=post_mm, post_angle_deg=0.0, peg_radius_mm=peg_mm, peg_angle_deg=opens,
        slack_mm=0.0,
    )  # fmt: skip
    secondary = Spring(
        role="secondary", rate_n_per_mm=heavy, free_length_mm=taken_up - slack, slack_mm=slack,
        post_radius_mm=post_mm, post_angle_deg=180.0, peg_radius_mm=peg_mm,
        peg_angle_deg=190.0 + opens, initial_tension_n=0.0,
    )  # fmt: skip
    usual = 0.3 < rate < 4 and 1.5 < heavy < 30 and heavy > 1.5 * rate and free > 8
    if not (usual and np.all(np.diff(torque) > 0)):
        return draw_sound(rng)
    return replace(
        bare, springs=(primary, secondary), heel_drag_nmm=drag, stick_nmm=stick,
        grip=rng.uniform(0.0, 0.02),
    )  # fmt: skip


def draw_capsule(rng: Generator) -> Capsule:
    """A capsule of usual figures, whole: triple and dimensions agree."""
    area, rate = rng.uniform(700, 1400), rng.uniform(1.5, 4.0)
    start, full_deg, lever = rng.uniform(10, 22), rng.uniform(5, 9), 30.0
    travel = float(lever * np.sin(np.radians(full_deg)))
    preload = area * 1e-3 * start
    return Capsule(
        given_as="triple", start_kpa=start,
        full_kpa=float((preload + rate * travel) / (area * 1e-3)),
        full_deg=full_deg, area_mm2=area, spring_rate_n_per_mm=rate, preload_n=preload,
        travel_mm=travel, lever_mm=lever,
    )  # fmt: skip


def _scattered(rng: Generator, m: Mechanism) -> Mechanism:
    """Another unit of the same number, as a maker's tolerances make it (common practice)."""

    def spring(s: Spring) -> Spring:
        return replace(
            s, rate_n_per_mm=s.rate_n_per_mm * np.exp(rng.normal(0, 0.04)),
            free_length_mm=s.free_length_mm + rng.normal(0, 0.08),
            slack_mm=max(s.slack_mm + (rng.normal(0, 0.12) if s.slack_mm else 0.0), 0.0),
            post_radius_mm=s.post_radius_mm + rng.normal(0, 0.08),
        )  # fmt: skip

    weights = replace(m.weights, mass_g=m.weights.mass_g * np.exp(rng.normal(0, 0.015)))
    return replace(
        m, weights=weights, springs=tuple(map(spring, m.springs)),
        stop_deg=m.stop_deg + rng.normal(0, 0.25),
        stick_nmm=m.stick_taken_nmm * rng.uniform(0.7, 1.4),
    )  # fmt: skip


def _to(value: float, step: float) -> float:
    return float(np.round(value / step) * step)


def _table(rng: Generator, curve: VectorCurve, capsule: Capsule, start: float, full: float):
    band = rng.uniform(0.8, 1.3)
    ratio, frame = (1.0, "distributor") if rng.random() < 0.6 else (RATIO, "crank")
    read_as = str(rng.choice(["either", "rising", "falling"], p=[0.4, 0.3, 0.3]))
    count = int(rng.integers(4, 7))
    speeds = start * 1.15 + (full * 1.08 - start * 1.15) * np.linspace(0, 1, count) ** 1.2
    speeds = np.unique(np.round(speeds / 50) * 50)
    ways = ("rising", "falling") if read_as == "either" else (read_as,)
    middle = np.mean([curve.advances_deg(speeds, way) for way in ways], axis=0)
    points = tuple(
        CheckPoint(
            speed_rpm=float(s * ratio), least_deg=max(_to((m - band) * ratio, 0.25), 0.0),
            most_deg=_to((m + band) * ratio, 0.25),
        )
        for s, m in zip(speeds, middle, strict=True)
    )  # fmt: skip
    quiet = _to(start * 0.85, 10.0) * ratio if rng.random() < 0.3 else None
    ceiling = _to((curve.m.stop_deg + band) * ratio, 0.5) if rng.random() < 0.7 else None
    vacuum = ()
    if capsule.given_as != "none":
        kpa = (0.5 * (capsule.start_kpa + capsule.full_kpa), capsule.full_kpa * 1.15)
        vacuum = tuple(
            VacuumPoint(
                depression_kpa=_to(p, 1.0), least_deg=_to(vacuum_deg(capsule, p) - 1.2, 0.25),
                most_deg=_to(vacuum_deg(capsule, p) + 1.2, 0.25),
            )
            for p in kpa
        )  # fmt: skip
    return Target(
        source="Invented", frame=frame, read_as=read_as, points=points, vacuum_points=vacuum,
        no_advance_below_rpm=quiet, ceiling_deg=ceiling,
    )  # fmt: skip


def inside(target: Target, mechanism: Mechanism, capsule: Capsule, rest_deg: float = 0.0) -> dict:
    """Whether a unit is inside its table: (kind, row) to truth, every branch asked counted."""
    curve = VectorCurve(mechanism, rest_deg)
    ratio = 1.0 if target.frame_taken == "distributor" else RATIO
    ways = ("rising", "falling") if target.read_as == "either" else (target.read_as,)
    found: dict[tuple[str, int | None], bool] = {}
    if target.no_advance_below_rpm is not None:
        quiet = [curve.advances_deg(target.no_advance_below_rpm / ratio, way) for way in ways]
        found["start", None] = bool(np.max(quiet) <= NO_ADVANCE_DEG)
    for row, p in enumerate(target.points):
        got = [float(curve.advances_deg(p.speed_rpm / ratio, way)) * ratio for way in ways]
        found["check", row] = all(p.least_deg <= g <= p.most_deg for g in got)
    if target.ceiling_deg is not None:
        found["ceiling", None] = bool(mechanism.stop_deg * ratio <= target.ceiling_deg)
    for row, p in enumerate(target.vacuum_points):
        got = [vacuum_deg(capsule, p.depression_kpa, way) for way in ("rising", "falling")]
        found["vacuum", row] = all(p.least_deg <= g <= p.most_deg for g in got)
    return found


def draw_unit(rng: Generator, with_capsule: bool = False) -> Unit:
    """A sound unit that is inside its table: its own curve ± a band, or the maker's for its
    number, of which it is one example."""
    while True:
        nominal = draw_sound(rng)
        capsule = draw_capsule(rng) if with_capsule else Capsule()
        curve = VectorCurve(nominal)
        start, full = curve.start_rpm(), curve.full_rpm()
        target = _table(rng, curve, capsule, start, full)
        own = rng.random() < 0.5
        for _ in range(12):
            sound = nominal if own else _scattered(rng, nominal)
            if all(inside(target, sound, capsule).values()):
                static = float(rng.choice(STATICS_DEG))
                return Unit(sound, capsule, target, own, start, full, static)
