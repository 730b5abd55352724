"""Simulated runs for learning: mechanisms, pairs of springs that suit them, readings with noise."""

from __future__ import annotations

import numpy as np

from bobweight.core.design.learn import learn
from bobweight.core.design.spread import mechanism_spread
from bobweight.core.design.tolerance import tolerance
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Linkage, Mechanism, Spring, Weights
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.linkage import linkage_of
from bobweight.core.mechanics.linkage_kind import Angle
from bobweight.core.mechanics.predict import predict

SURE = {"rate_n_per_mm": 1e-6, "free_length_mm": 1e-6, "initial_tension_n": 1e-6, "slack_mm": 1e-6}
"""Springs known as good as exactly."""


def weights_and_linkage(rng: np.random.Generator) -> tuple[Mechanism, np.ndarray]:
    """A mechanism without springs, and its pull J' at 50 angles from rest to the stop."""
    while True:
        weights = Weights(
            count=2, mass_g=rng.uniform(15, 60), pivot_radius_mm=rng.uniform(13, 22),
            cg_mm=rng.uniform(7, 15), rest_angle_deg=rng.uniform(75, 125),
        )  # fmt: skip
        linkage = Linkage(kind="constant", ratio=rng.uniform(0.4, 1.2))
        if rng.random() < 0.5:
            linkage = Linkage(kind="slot", pin_radius_mm=rng.uniform(5, 14),
                              pin_angle_deg=rng.uniform(-60, 60))  # fmt: skip
        stick = float(rng.choice([0.0, rng.uniform(0.0, 4.0)]))
        mechanism = Mechanism(weights=weights, linkage=linkage, stop_deg=rng.uniform(9, 16),
                              stick_nmm=stick)  # fmt: skip
        theta = np.radians(np.linspace(0.0, mechanism.stop_deg, 50)).reshape(1, 1, -1)
        kind = linkage_of(Builds(mechanism))
        swing = kind.swing(Angle(rad=theta))
        pull = np.broadcast_to(kind.inertia_slope(theta, *swing), theta.shape)[0, 0]
        if np.isfinite(pull).all() and pull.min() > 0 and pull.max() < 3 * pull.min():
            return mechanism, pull


def springs_for(
    rng: np.random.Generator, mechanism: Mechanism, pull: np.ndarray, places: dict[str, float]
) -> tuple[Spring, Spring]:
    """A pair that starts at 300–500 and is full at 1000–1700 distributor rev/min."""
    stop = mechanism.stop_deg
    post, peg, angle = places["post_radius_mm"], places["peg_radius_mm"], places["post_angle_deg"]

    def length(degrees: float) -> float:
        return np.sqrt(post**2 + peg**2 - 2 * post * peg * np.cos(np.radians(degrees - angle)))

    def lever(degrees: float) -> float:
        return post * peg * np.sin(np.radians(degrees - angle)) / length(degrees)

    def held(rpm: float, degrees: float) -> float:
        """Pull of a spring that balances the weights."""
        at = np.interp(degrees, np.linspace(0, stop, 50), pull)
        return 0.5e-6 * at * (rpm * np.pi / 30) ** 2 / lever(degrees)

    while True:
        start, full = rng.uniform(300, 500), rng.uniform(1000, 1700)
        knee = stop * rng.uniform(0.25, 0.5)
        at_rest, at_knee = held(start, 0.0), held(start + 0.2 * (full - start), knee)
        rate = (at_knee - at_rest) / (length(knee) - length(0.0))
        tension = float(rng.choice([0.0, 0.5 * at_rest]))
        free = length(0.0) - (at_rest - tension) / max(rate, 1e-9)
        rest = held(full, stop) - at_rest - rate * (length(stop) - length(0.0))
        step = float(rng.choice([0.0, 0.1 * rest]))
        slack = rng.uniform(0.2, 2.0)
        if rate < 0.05 or rest <= 0 or free < 6:
            continue
        primary = Spring(label="one", rate_n_per_mm=float(rate), free_length_mm=float(free),
                         initial_tension_n=tension, **places)  # fmt: skip
        secondary = Spring(
            role="secondary", label="two", initial_tension_n=step, slack_mm=float(slack),
            rate_n_per_mm=float((rest - step) / (length(stop) - length(knee))),
            free_length_mm=float(length(knee) - slack), **places,
        )  # fmt: skip
        pair = (primary, secondary)
        if not any(p.grave for p in mechanism_problems(mechanism.with_changes(springs=pair))):
            return pair


def places(rng: np.random.Generator) -> dict[str, float]:
    return {
        "peg_radius_mm": rng.uniform(8, 11), "post_radius_mm": rng.uniform(18, 26),
        "post_angle_deg": -rng.uniform(30, 60), "peg_angle_deg": 0.0,
    }  # fmt: skip


def run_of(
    rng: np.random.Generator, truth: Mechanism, u_speed: float = 8.0, u_angle: float = 0.3,
    directions: bool = True,
) -> Session:  # fmt: skip
    """28 readings on a rig, up and down, with noise."""
    prediction, rows = predict(truth), []
    speeds = np.linspace(0.8 * prediction.start_rpm, 1.1 * prediction.full_rpm, 14)
    for direction, going in (("rising", speeds), ("falling", speeds[::-1])):
        for speed in going:
            advance = float(prediction.advance_deg(speed, direction))
            rows.append(
                Reading(
                    speed_rpm=float(speed + rng.normal() * u_speed),
                    angle_deg=advance + rng.normal() * u_angle,
                    direction=direction if directions else "unknown",
                )
            )
    exact = {"static_deg": 1e-4, "mark_error_deg": 1e-4, "tachometer_scale": 1e-6, "lag_ms": 1e-6}
    instrument = Instrument(kind="rig", u_speed_rpm=u_speed, u_angle_deg=u_angle, u=exact)
    return Session(instrument=instrument, readings=tuple(rows))


def sure(springs: tuple[Spring, ...]) -> tuple[Spring, ...]:
    return tuple(spring.with_changes(u=SURE) for spring in springs)


def known_run(
    rng: np.random.Generator, **options
) -> tuple[Docket, Mechanism, np.ndarray, dict[str, float]]:
    """A docket that knows springs and stop but no weights, with one run; and the truth."""
    bare, pull = weights_and_linkage(rng)
    where = places(rng)
    springs = sure(springs_for(rng, bare, pull, where))
    truth = bare.with_changes(springs=springs)
    known = Mechanism(springs=springs, stop_deg=bare.stop_deg)
    docket = Docket(mechanism=known, sessions=(run_of(rng, truth, **options),))
    return docket, truth, pull, where


def covered(
    seed: int, mechanisms: int, pairs: int = 3, doubt: dict[str, float] | None = None
) -> np.ndarray:
    """Share of 25 speeds on both branches at which the 95 % band holds the truth, for each pair.

    ``doubt``: what the docket knows of the run's springs is off by as much, and says so.
    """
    rng, shares = np.random.default_rng(seed), []
    for _ in range(mechanisms):
        docket, truth, pull, where = known_run(rng)
        if doubt:
            docket = docket.with_changes(mechanism=misjudged(docket.mechanism, doubt, rng))
        learned = learn(docket).mechanism
        for _ in range(pairs):
            springs = springs_for(rng, truth, pull, where)
            real = predict(truth.with_changes(springs=springs))
            other = learned.with_changes(springs=springs)
            spread = [u for u in mechanism_spread(other)
                      if u.paths[0][0] in ("linkage", "stick_nmm")]  # fmt: skip
            speeds = np.linspace(0.9 * real.start_rpm, 1.05 * real.full_rpm, 25)
            run = tolerance(other, None, spread, speeds)
            hits = [
                (real.advance_deg(speeds, band.branch) >= band.low_deg - 1e-3)
                & (real.advance_deg(speeds, band.branch) <= band.high_deg + 1e-3)
                for band in run.bands
            ]
            shares.append(np.mean(hits))
    return np.array(shares)


def misjudged(mechanism, doubt: dict[str, float], rng: np.random.Generator):
    """The mechanism with its springs' figures off by their stated uncertainties."""
    springs = []
    for spring in mechanism.springs:
        u = {"rate_n_per_mm": doubt["rate"] * spring.rate_n_per_mm,
             "free_length_mm": doubt["length_mm"]}  # fmt: skip
        off = {key: getattr(spring, key) + rng.normal() * size for key, size in u.items()}
        springs.append(spring.with_changes(**off, u={**spring.u, **u}))
    return mechanism.with_changes(springs=tuple(springs))
