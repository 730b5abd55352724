"""Readings as they are taken: uneven, rounded, with mistakes; and all that may spoil them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.random import Generator

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.docket.vacuum import Capsule
from tests.studies.simulator.curve import VectorCurve
from tests.studies.simulator.units import RATIO, Unit, vacuum_deg

Place = tuple[float, str, float | None]


@dataclass(frozen=True)
class Bench:
    """What is really so while the readings are taken.

    ``pipe``: depression at a forgotten pipe against true engine speed.
    """

    actual: Mechanism
    capsule: Capsule
    rest_deg: float = 0.0
    static_deg: float = 0.0  # true less stated
    mark_deg: float = 0.0
    scale: float = 1.0
    lag_ms: float = 0.0
    backlash_deg: float = 0.0  # crank degrees between rising and falling
    lobes_deg: tuple[float, ...] = (0.0,)  # distributor degrees; which lobe is seen is chance
    pipe: Callable[[float], float] | None = None
    pipe_deg: float = 7.0  # what it can pull, distributor degrees
    pipe_from_kpa: float = 15.0
    pipe_to_kpa: float = 40.0


@dataclass(frozen=True)
class Manner:
    """How a session is read and written down."""

    count: int = 20
    low: float = 0.72  # of the start
    high: float = 1.15  # of full
    u_angle_deg: float = 1.0
    u_speed_rpm: float = 30.0
    angle_step_deg: float = 0.5
    speed_step_rpm: float = 10.0
    mistakes: float = 0.05
    one_sided: bool = False
    wild: float = 0.0  # further scatter that grows with speed, crank degrees at full
    drift_deg: float = 0.0
    magnified: float = 1.0
    speed_offset_rpm: float = 0.0
    behind_rpm: float = 0.0  # the needle comes after the engine
    ways: str = "both"
    all_called: str = ""  # the direction that is written, whatever it was
    repeats: int = 1
    typed: float = 0.0  # share of readings with a digit wrong
    kind: str = "lamp"
    stated: dict = field(default_factory=dict)  # fields of the instrument
    pumped_kpa: tuple[float, ...] = ()


def usual_bench(rng: Generator, actual: Mechanism, capsule: Capsule) -> Bench:
    """Static, mark, tachometer and lamp off by what the trade allows."""
    return Bench(
        actual, capsule, static_deg=rng.normal(0, 0.5), mark_deg=rng.normal(0, 0.7),
        scale=1 + rng.normal(0, 0.01), lag_ms=abs(rng.normal(0, 0.015)),
    )  # fmt: skip


def places(rng: Generator, unit: Unit, manner: Manner) -> list[Place]:
    """Uneven engine speeds, up then down, one in seven of them below the start."""
    count = manner.count // manner.repeats - 2 * len(manner.pumped_kpa)
    low, high = RATIO * manner.low * unit.start_rpm, RATIO * manner.high * unit.full_rpm
    share = (np.arange(count) + rng.uniform(0.1, 0.9, count)) / count
    speeds = low + (high - low) * share**1.15
    if manner.low < 1.0:
        base = RATIO * unit.start_rpm * rng.uniform(manner.low, 0.95, max(count // 7, 1))
        speeds[: len(base)] = np.sort(base)
    if manner.ways == "both":
        up = rng.permutation(count)[: count - count // 2]
        rises = np.isin(np.arange(count), up)
    else:
        rises = np.full(count, manner.ways == "rising")
    order = [(s, "rising", None) for s in speeds[rises]]
    order += [(s, "falling", None) for s in speeds[~rises][::-1]]
    order = [p for p in order for _ in range(manner.repeats)]
    still = RATIO * 0.7 * unit.start_rpm
    order += [(still, "rising", k) for k in manner.pumped_kpa]
    return order + [(still, "falling", k) for k in manner.pumped_kpa[::-1]]


def _pulled_deg(bench: Bench, engine_rpm: float) -> float:
    if bench.pipe is None:
        return 0.0
    share = (bench.pipe(engine_rpm) - bench.pipe_from_kpa) / (
        bench.pipe_to_kpa - bench.pipe_from_kpa
    )
    return bench.pipe_deg * float(np.clip(share, 0, 1))


def read(rng: Generator, unit: Unit, bench: Bench, manner: Manner, where: list[Place] | None = None,
         of: VectorCurve | None = None) -> tuple[Reading, ...]:  # fmt: skip
    """One reading a place."""
    curve = of or VectorCurve(bench.actual, bench.rest_deg)
    where = where or places(rng, unit, manner)
    speeds = np.array([p[0] for p in where])
    ways = np.array([p[1] if p[2] is None else "rising" for p in where])
    advance = np.empty(len(where))
    for way in ("rising", "falling"):
        mine = ways == way
        if mine.any():
            advance[mine] = curve.advances_deg(speeds[mine] / RATIO, way)
    found: list[Reading] = []
    for i, (engine, way, kpa) in enumerate(where):
        if manner.repeats > 1 and i % manner.repeats:
            found.append(found[-1])
            continue
        pulled = vacuum_deg(bench.capsule, kpa, way) if kpa is not None else 0.0
        pulled += _pulled_deg(bench, engine) + float(rng.choice(bench.lobes_deg))
        angle = unit.static_deg + bench.static_deg + bench.mark_deg
        angle += RATIO * (advance[i] + pulled) - 6e-3 * engine * bench.lag_ms
        angle += bench.backlash_deg * (-0.5 if way == "rising" else 0.5)
        angle = angle * manner.magnified + manner.drift_deg * i / len(where)
        noise = rng.normal(0, manner.u_angle_deg)
        angle += 2 * abs(noise) if manner.one_sided else noise
        angle += rng.normal(0, manner.wild) * engine / (RATIO * unit.full_rpm)
        shown = engine / bench.scale + rng.normal(0, manner.u_speed_rpm) + manner.speed_offset_rpm
        shown += manner.behind_rpm * (-1 if way == "rising" else 1)
        if rng.random() < manner.mistakes:
            if rng.random() < 0.7:
                angle += rng.choice([-1, 1]) * rng.uniform(4.0, 10.0)
            else:
                shown += rng.choice([-1, 1]) * rng.uniform(200, 500)
        if manner.kind == "rig":
            angle, shown = (angle - unit.static_deg) / RATIO, shown / RATIO
        angle = np.round(angle / manner.angle_step_deg) * manner.angle_step_deg
        shown = np.round(shown / manner.speed_step_rpm) * manner.speed_step_rpm
        if rng.random() < manner.typed:
            angle, shown = _mistyped(rng, angle, shown)
        found.append(
            Reading(
                speed_rpm=float(np.clip(shown, 0.0, 20000.0)),
                angle_deg=float(np.clip(angle, -90.0, 120.0)),
                direction=manner.all_called or way, depression_kpa=kpa,
            )
        )  # fmt: skip
    return tuple(found)


def _mistyped(rng: Generator, angle: float, shown: float) -> tuple[float, float]:
    way = int(rng.integers(4))
    return (
        (angle, shown * 10), (angle, shown + 1000), (angle + 10, shown), (-angle, shown),
    )[way]  # fmt: skip


def with_session(docket: Docket, unit: Unit, readings: tuple[Reading, ...], manner: Manner):
    """The docket with these readings in its one session."""
    facts = {"static_deg": unit.static_deg, "u_angle_deg": 1.0, "u_speed_rpm": 30.0}
    u = manner.stated.get("u", {})
    facts |= {k: v for k, v in manner.stated.items() if k != "u"}
    session = Session(title="As found", instrument=Instrument(**facts, u=u), readings=readings)
    return docket.with_changes(sessions=(session,))
