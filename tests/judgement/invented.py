"""Invented units and readings: mechanisms solved for a wished curve, sessions with noise and slips.

A unit's springs follow from three wished points by the balance of physics (torque at rest, at the
take-up and at the stop), so units of very different geometry have curves of the usual shape.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Linkage, Mechanism, Spring, Weights
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.docket.setting_up import SettingUp
from bobweight.core.docket.target import CheckPoint, Target
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.mechanics.capsule import capsule_advance_deg
from bobweight.core.mechanics.predict import Prediction, predict


@dataclass(frozen=True)
class Wish:
    """Distributor rev/min and degrees at which the curve starts, bends and ends, and geometry."""

    start_rpm: float = 350.0
    knee_rpm: float = 620.0
    knee_deg: float = 5.0
    full_rpm: float = 1700.0
    full_deg: float = 12.0
    mass_g: float = 18.0
    pivot_mm: float = 20.0
    cg_mm: float = 10.0
    rest_deg: float = 105.0
    ratio: float = 0.65
    post_mm: float = 25.0
    peg_mm: float = 16.0
    open_deg: float = 60.0
    slack_mm: float = 1.2
    stick_nmm: float = 4.0
    lobes: int = 4


def _pull(w: Wish, theta_deg: float, rpm: float) -> float:
    """Torque of the weights at the cam in N·mm (two weights, constant ratio)."""
    alpha = np.radians(w.rest_deg - theta_deg / w.ratio)
    slope = 4 * w.mass_g * w.pivot_mm * w.cg_mm * np.sin(alpha) / w.ratio
    return 0.5 * (rpm * np.pi / 30) ** 2 * slope * 1e-6


def _spring(w: Wish, theta_deg: float, open_deg: float) -> tuple[float, float]:
    """Length in mm and its change per radian of a spring from post to peg."""
    x = np.radians(open_deg + theta_deg)
    length = np.sqrt(w.post_mm**2 + w.peg_mm**2 - 2 * w.post_mm * w.peg_mm * np.cos(x))
    return float(length), float(w.post_mm * w.peg_mm * np.sin(x) / length)


def mechanism(w: Wish) -> Mechanism:
    """The mechanism whose curve (without friction) passes the three wished points."""
    bends = ((0.0, w.start_rpm), (w.knee_deg, w.knee_rpm), (w.full_deg, w.full_rpm))
    torques = [_pull(w, theta, rpm) for theta, rpm in bends]
    (l0, a0), (l1, a1), (l2, a2) = (_spring(w, t, w.open_deg) for t in (0, w.knee_deg, w.full_deg))
    force0, force1 = torques[0] / a0, torques[1] / a1
    rate = (force1 - force0) / (l1 - l0)
    primary = Spring(
        role="primary", rate_n_per_mm=rate, free_length_mm=l0 - force0 / rate,
        post_radius_mm=w.post_mm, post_angle_deg=0.0, peg_radius_mm=w.peg_mm,
        peg_angle_deg=w.open_deg, u={"rate_n_per_mm": 0.04 * rate},
    )  # fmt: skip
    taken_up, _ = _spring(w, w.knee_deg, w.open_deg + 10.0)
    end, arm = _spring(w, w.full_deg, w.open_deg + 10.0)
    rest = torques[2] - rate * (l2 - primary.free_length_mm) * a2
    heavy = rest / arm / (end - taken_up)
    secondary = Spring(
        role="secondary", rate_n_per_mm=heavy, free_length_mm=taken_up - w.slack_mm,
        slack_mm=w.slack_mm, post_radius_mm=w.post_mm, post_angle_deg=180.0,
        peg_radius_mm=w.peg_mm, peg_angle_deg=190.0 + w.open_deg,
        u={"rate_n_per_mm": 0.04 * heavy},
    )  # fmt: skip
    return Mechanism(
        weights=Weights(count=2, mass_g=w.mass_g, pivot_radius_mm=w.pivot_mm, cg_mm=w.cg_mm,
                        rest_angle_deg=w.rest_deg),
        linkage=Linkage(ratio=w.ratio), springs=(primary, secondary), stop_deg=w.full_deg,
        heel_drag_nmm=3.0, stick_nmm=w.stick_nmm,
    )  # fmt: skip


CAPSULE = Capsule(given_as="triple", start_kpa=12.0, full_kpa=45.0, full_deg=7.0, friction_n=0.5)
STATIC_DEG = 6.0


def docket(w: Wish, band_deg: float = 1.0, capsule: Capsule | None = None) -> Docket:
    """A docket of the unit with check points on its own curve and an empty session."""
    unit = mechanism(w)
    curve = predict(unit)
    speeds = np.linspace(w.start_rpm * 1.2, w.full_rpm * 1.05, 5)
    middle = 0.5 * (curve.advance_deg(speeds) + curve.advance_deg(speeds, "falling"))
    points = tuple(
        CheckPoint(speed_rpm=float(s), least_deg=float(m - band_deg), most_deg=float(m + band_deg))
        for s, m in zip(speeds, middle, strict=True)
    )
    return Docket(
        particulars=Particulars(title="Invented", lobes=w.lobes),
        mechanism=unit, capsules=(capsule or Capsule(),),
        target=Target(points=points, ceiling_deg=w.full_deg + band_deg),
        sessions=(Session(title="As found", instrument=Instrument(static_deg=STATIC_DEG)),),
        setting_up=SettingUp(static_deg=STATIC_DEG),
    )  # fmt: skip


def even_places(
    curve: Prediction, count: int = 20, ratio: float = 2.0, low: float = 0.8, high: float = 1.15
) -> list[tuple[float, str]]:
    """Engine speeds up, then down, evenly over the curve."""
    up = count - count // 2
    first, last = ratio * low * curve.start_rpm, ratio * high * curve.full_rpm
    rising = [(float(s), "rising") for s in np.linspace(first, last, up)]
    return rising + [(float(s), "falling") for s in np.linspace(last, first, count - up)]


@dataclass(frozen=True)
class Truth:
    """What is really so: the unit, the capsule and what the instruments do."""

    mechanism: Mechanism
    capsule: Capsule = Capsule()
    zero_deg: float = STATIC_DEG  # static and mark together
    scale: float = 1.0
    lag_ms: float = 0.0
    pipe_deg: float = 0.0  # distributor degrees that a forgotten pipe adds
    pipe_from_rpm: float = 0.0


def read(
    truth: Truth,
    places: list[tuple],
    rng: np.random.Generator,
    u_angle: float = 1.0,
    u_speed: float = 30.0,
    slip_share: float = 0.05,
    ratio: float = 2.0,
    curve: Prediction | None = None,
) -> tuple[Reading, ...]:
    """Readings taken at (engine speed, direction[, depression]), noise and slips included.

    A slip is off by 4 to 10 crank degrees.
    """
    curve = curve or predict(truth.mechanism)
    found = []
    for place in places:
        engine, way = place[0], place[1]
        depression = place[2] if len(place) > 2 else None
        advance = float(curve.advance_deg(engine / ratio, "rising" if depression else way))
        if depression is not None:
            advance += float(capsule_advance_deg(truth.capsule, depression, way))
        elif truth.pipe_deg:
            advance += truth.pipe_deg * float(
                np.clip((engine / ratio - truth.pipe_from_rpm) / 150, 0, 1)
            )
        angle = truth.zero_deg + ratio * advance - 6e-3 * engine * truth.lag_ms
        angle += rng.normal(0.0, u_angle)
        if rng.random() < slip_share:
            angle += rng.choice([-1, 1]) * rng.uniform(4.0, 10.0)
        shown = engine / truth.scale + rng.normal(0.0, u_speed)
        found.append(Reading(speed_rpm=max(shown, 0.0), angle_deg=angle, direction=way,
                             depression_kpa=depression))  # fmt: skip
    return tuple(found)


def with_readings(d: Docket, readings: tuple[Reading, ...]) -> Docket:
    """The docket with these readings in its one session."""
    session = d.sessions[0].with_changes(readings=readings)
    return d.with_changes(sessions=(session,))


def random_wish(rng: np.random.Generator) -> Wish:
    """A unit of random, usual proportions."""
    full_deg = rng.uniform(9.0, 15.0)
    knee_deg = full_deg * rng.uniform(0.3, 0.5)
    start = rng.uniform(300, 480)
    knee = start * rng.uniform(1.45, 2.0)
    return Wish(
        start_rpm=start, knee_rpm=knee, knee_deg=knee_deg, full_rpm=knee * rng.uniform(2.0, 2.8),
        full_deg=full_deg, mass_g=rng.uniform(15, 32), pivot_mm=rng.uniform(17, 24),
        cg_mm=rng.uniform(8, 12), rest_deg=rng.uniform(95, 120), ratio=rng.uniform(0.5, 0.9),
        post_mm=rng.uniform(22, 28), peg_mm=rng.uniform(13, 18), open_deg=rng.uniform(50, 80),
        slack_mm=rng.uniform(0.8, 1.8), stick_nmm=rng.uniform(1, 6),
    )  # fmt: skip
