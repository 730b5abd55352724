"""Single faults and likely pairs at usual sizes, done to the true unit or to the instruments.

The names are the keys of ``core/judgement/faults.py``, which is all that is taken from there. A
size is drawn log-normally about the usual one, from the usual size to one and a half spreads above
it; what is drawn how often is common practice.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.random import Generator

from bobweight.core.docket.mechanism import Mechanism, Spring
from tests.studies.simulator.curve import VectorCurve
from tests.studies.simulator.sessions import Bench

Harm = Callable[[Generator, Bench], Bench]
PUMPED = ("capsule_weak", "capsule_leaking", "plate_stiff")
MOST_SPREADS = 1.5
"""The biggest fault that is drawn, in spreads above the usual one."""
MEASUREMENT = ("mark_offset", "tachometer_scale", "lamp_lag", "pipe_left_on")


def size(rng: Generator, usual: float, spread: float, most: float = np.inf) -> float:
    """A usual size of a fault."""
    z = abs(rng.normal())
    return min(usual * float(np.exp(spread * min(z, MOST_SPREADS))), most)


def _on_springs(role: str, change: Callable[[Spring], dict]) -> Callable[[Bench], Bench]:
    def harmed(bench: Bench) -> Bench:
        springs = tuple(
            replace(s, **change(s)) if role in (s.role, "all") else s for s in bench.actual.springs
        )
        return replace(bench, actual=replace(bench.actual, springs=springs))

    return harmed


def rate(role: str, sign: float, usual: float, spread: float, most: float) -> Harm:
    """A spring weak or strong by a share."""

    def do(rng: Generator, bench: Bench) -> Bench:
        share = 1 + sign * size(rng, usual, spread, most)
        return _on_springs(role, lambda s: {"rate_n_per_mm": s.rate_n_per_mm * share})(bench)

    return do


def length(role: str, key: str, usual: float, spread: float, sign: float = 1.0) -> Harm:
    """A spring longer, or its slack other, by millimetres."""

    def do(rng: Generator, bench: Bench) -> Bench:
        mm = sign * size(rng, usual, spread)
        return _on_springs(role, lambda s: {key: max(getattr(s, key) + mm, 0.0)})(bench)

    return do


def missing(role: str) -> Harm:
    """A spring unhooked or lost."""

    def do(rng: Generator, bench: Bench) -> Bench:
        springs = tuple(s for s in bench.actual.springs if s.role != role)
        return replace(bench, actual=replace(bench.actual, springs=springs))

    return do


def of_unit(change: Callable[[Generator, Mechanism], Mechanism]) -> Harm:
    """Any other harm to the mechanism."""
    return lambda rng, bench: replace(bench, actual=change(rng, bench.actual))


def of_bench(change: Callable[[Generator, Bench], dict]) -> Harm:
    """Harm to what the instruments show."""
    return lambda rng, bench: replace(bench, **change(rng, bench))


def stuck(rng: Generator, m: Mechanism, times: tuple[float, float] = (1.0, 2.2)) -> Mechanism:
    """Gum and dry pivots: friction as a share of the springs' pull at mid travel."""
    curve = VectorCurve(m)
    pull = -float(curve.moments(np.array([0.5 * curve.q_stop]))[1][0])
    return replace(m, stick_nmm=m.stick_taken_nmm + max(0.25 * pull, 3.0) * rng.uniform(*times))


def _mass(rng: Generator, m: Mechanism, sign: float, usual: float) -> Mechanism:
    share = 1 + sign * size(rng, usual, 0.3, 0.6)
    return replace(m, weights=replace(m.weights, mass_g=m.weights.mass_g * share))


def _stop(rng: Generator, m: Mechanism, sign: float) -> Mechanism:
    return replace(m, stop_deg=max(m.stop_deg + sign * size(rng, 2.0, 0.35), 2.0))


def ported(from_rpm: float, full_rpm: float) -> Callable[[float], float]:
    """Depression of a port above the throttle plate: none at idle."""
    return lambda rpm: 55.0 * float(np.clip((rpm - from_rpm) / (full_rpm - from_rpm), 0, 1))


def manifold(rpm: float) -> float:
    """Depression below the throttle plate of an engine without load."""
    return 60.0 - 8.0 * rpm / 4000.0


def _pipe(rng: Generator, bench: Bench) -> dict:
    """On the docket's own capsule, from the port."""
    begin = rng.uniform(700, 1400)
    c = bench.capsule
    return {
        "pipe": ported(begin, begin + 600), "pipe_deg": c.full_deg, "pipe_from_kpa": c.start_kpa,
        "pipe_to_kpa": c.full_kpa,
    }  # fmt: skip


def _capsule(rng: Generator, bench: Bench, name: str) -> dict:
    c = bench.capsule
    if name == "plate_stiff":
        force = max(c.preload_n * rng.uniform(0.3, 0.6), 6.0)
        return {"capsule": replace(c, friction_n=force)}
    if name == "capsule_weak":
        share = 1 - size(rng, 0.3, 0.4, 0.7)
        weak = {
            "preload_n": c.preload_n * share,
            "spring_rate_n_per_mm": c.spring_rate_n_per_mm * share,
        }
        return {"capsule": replace(c, **weak)}
    return {"capsule": replace(c, area_mm2=c.area_mm2 / (1 + size(rng, 1.0, 0.8)))}


def _signed(rng: Generator, usual: float, spread: float) -> float:
    return float(rng.choice([-1.0, 1.0])) * size(rng, usual, spread)


FAULTS: dict[str, tuple[float, Harm]] = {
    "primary_weak": (1.0, rate("primary", -1, 0.28, 0.4, 0.8)),
    "primary_strong": (0.5, rate("primary", 1, 0.40, 0.4, 2.0)),
    "primary_missing": (0.3, missing("primary")),
    "primary_stretched": (1.0, length("primary", "free_length_mm", 0.7, 0.4)),
    "secondary_weak": (1.0, rate("secondary", -1, 0.28, 0.4, 0.8)),
    "secondary_strong": (0.5, rate("secondary", 1, 0.40, 0.4, 2.0)),
    "secondary_missing": (0.3, missing("secondary")),
    "secondary_late": (1.0, length("secondary", "slack_mm", 0.7, 0.4)),
    "secondary_early": (0.6, length("secondary", "slack_mm", 0.6, 0.4, -1.0)),
    "pegs_worn": (0.5, length("all", "slack_mm", 0.6, 0.35)),
    "stop_high": (0.6, of_unit(lambda rng, m: _stop(rng, m, 1.0))),
    "stop_low": (0.5, of_unit(lambda rng, m: _stop(rng, m, -1.0))),
    "sticking": (1.0, of_unit(stuck)),
    "weights_light": (0.2, of_unit(lambda rng, m: _mass(rng, m, -1.0, 0.25))),
    "weights_heavy": (0.2, of_unit(lambda rng, m: _mass(rng, m, 1.0, 0.3))),
    "mark_offset": (1.0, of_bench(lambda rng, b: {"mark_deg": b.mark_deg + _signed(rng, 5, 0.45)})),
    "tachometer_scale": (
        0.6,
        of_bench(lambda rng, b: {"scale": b.scale * (1 + max(_signed(rng, 0.16, 0.6), -0.3))}),
    ),
    "lamp_lag": (0.3, of_bench(lambda rng, b: {"lag_ms": b.lag_ms + size(rng, 0.2, 0.4)})),
    "pipe_left_on": (0.4, of_bench(_pipe)),
    "capsule_weak": (0.3, of_bench(lambda rng, b: _capsule(rng, b, "capsule_weak"))),
    "capsule_leaking": (0.6, of_bench(lambda rng, b: _capsule(rng, b, "capsule_leaking"))),
    "plate_stiff": (0.5, of_bench(lambda rng, b: _capsule(rng, b, "plate_stiff"))),
}  # fmt: skip
"""Key to how often it is met and what it does."""
PAIRS = (
    "primary_weak+secondary_weak", "primary_weak+secondary_late", "primary_weak+stop_high",
    "primary_weak+mark_offset", "primary_stretched+secondary_late", "sticking+primary_weak",
    "sticking+mark_offset", "secondary_late+stop_high",
)  # fmt: skip
PAIR_ODDS = 0.06


def needs_capsule(name: str) -> bool:
    """Whether a fault can only be there with a capsule."""
    return name in PUMPED or name == "pipe_left_on"


def draw_fault(rng: Generator, capsule: bool = True) -> str:
    """A fault's key, as often as it is met."""
    names = [n for n in FAULTS if capsule or not needs_capsule(n)]
    odds = np.array([FAULTS[n][0] for n in names] + [PAIR_ODDS] * len(PAIRS))
    return str(rng.choice([*names, *PAIRS], p=odds / odds.sum()))


def harmed(rng: Generator, bench: Bench, name: str) -> Bench:
    """The bench with a fault, or a pair, done to it."""
    for part in name.split("+"):
        bench = FAULTS[part][1](rng, bench)
    return bench
