"""Kinds of misfit: what benches do to readings, tables and dockets, and what may be said of each.

``allowed`` names pieces of an explanation's key that are true of the case; any other explanation
stated above 90 % is false. "None of these" is always allowed where something is wrong.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from bobweight.core.docket.vacuum import Capsule
from tests.studies.simulator.cases import NOTHING, PUMPED_KPA, Case, made, rng_of
from tests.studies.simulator.dockets import docket_of
from tests.studies.simulator.faults import harmed, manifold, ported, stuck
from tests.studies.simulator.sessions import Bench, Manner, usual_bench
from tests.studies.simulator.units import RATIO, Unit, draw_unit

NONE = "none_of_these"


@dataclass(frozen=True)
class Misfit:
    """What is done, and what may be said.

    ``bench``, ``manner`` and ``docket`` change what is so, how it is read, and what is written.
    ``sound``: nothing but the reading is unusual, so that "nothing wrong" is true. ``pumped``: the
    unit has a capsule, and it is read with a pump.
    """

    allowed: tuple[str, ...] = ()
    bench: Callable[[Generator, Bench], Bench] = lambda rng, b: b
    manner: Manner = Manner()
    docket: Callable = lambda rng, d, unit: d
    sound: bool = False
    pumped: bool = False


def _with(**changes) -> Callable[[Generator, Bench], Bench]:
    return lambda rng, b: replace(
        b, **{k: v(rng, b) if callable(v) else v for k, v in changes.items()}
    )


def _pipe(source: Callable[[Generator], Callable[[float], float]]) -> Callable:
    def do(rng: Generator, b: Bench) -> Bench:
        return replace(b, pipe=source(rng), pipe_deg=rng.uniform(5, 8))

    return do


def _swapped(rng: Generator, b: Bench) -> Bench:
    one, two = b.actual.springs
    keys = ("rate_n_per_mm", "initial_tension_n", "slack_mm")
    springs = tuple(
        replace(
            mine, **{k: getattr(other, k) for k in keys},
            free_length_mm=other.free_length_mm,
        )
        for mine, other in ((one, two), (two, one))
    )  # fmt: skip
    return replace(b, actual=replace(b.actual, springs=springs))


def _other_set(rng: Generator, b: Bench) -> Bench:
    """Springs that somebody had: all stiffer, or all softer, by much the same."""
    share = rng.uniform(1.3, 1.7) ** float(rng.choice([-1.0, 1.0]))
    springs = tuple(
        replace(s, rate_n_per_mm=s.rate_n_per_mm * share * float(np.exp(rng.normal(0, 0.03))))
        for s in b.actual.springs
    )
    return replace(b, actual=replace(b.actual, springs=springs))


def _unequal(rng: Generator, b: Bench) -> Bench:
    share = rng.uniform(0.6, 0.75)  # the lighter weight against the other
    weights = replace(b.actual.weights, mass_g=b.actual.weights.mass_g * (1 + share) / 2)
    grip = min(b.actual.grip_taken + 0.15 * (1 - share), 0.3)  # the shaft is pushed aside
    return replace(b, actual=replace(b.actual, weights=weights, grip=grip))


def _sticky(rng: Generator, b: Bench) -> Bench:
    return replace(b, actual=stuck(rng, b.actual, (0.8, 1.2)))


def _short(rng: Generator, b: Bench) -> Bench:
    """A capsule of another number: full where this one is, with less movement."""
    share = rng.uniform(0.5, 0.75)
    c = b.capsule
    rate = c.spring_rate_n_per_mm / share
    return replace(b, capsule=replace(c, travel_mm=c.travel_mm * share, spring_rate_n_per_mm=rate))


def _three(rng: Generator, b: Bench) -> Bench:
    for name in ("primary_weak", "secondary_late", "stop_high"):
        b = harmed(rng, b, name)
    return harmed(rng, b, "mark_offset") if rng.random() < 0.3 else b


def _worn_and_stuck(rng: Generator, b: Bench) -> Bench:
    return _sticky(rng, harmed(rng, b, "pegs_worn"))


def _framed(frame: str) -> Callable:
    return lambda rng, d, unit: d.with_changes(target=d.target.with_changes(frame=frame))


def _crank_table(rng: Generator, d, unit: Unit):
    """Figures of the crank written under the heading of the distributor."""
    if d.target.frame_taken == "crank":
        return _framed("distributor")(rng, d, unit)

    def twice(value):
        return None if value is None else value * RATIO

    points = tuple(
        replace(
            p, speed_rpm=p.speed_rpm * RATIO, least_deg=twice(p.least_deg),
            most_deg=twice(p.most_deg),
        )
        for p in d.target.points
    )  # fmt: skip
    target = d.target.with_changes(
        points=points, ceiling_deg=twice(d.target.ceiling_deg),
        no_advance_below_rpm=twice(d.target.no_advance_below_rpm),
    )  # fmt: skip
    return d.with_changes(target=target)


def _static_in_table(rng: Generator, d, unit: Unit):
    """A table that holds the static, written as one without."""
    share = unit.static_deg / (RATIO if d.target.frame_taken == "distributor" else 1.0)
    points = tuple(
        replace(p, least_deg=p.least_deg + share, most_deg=p.most_deg + share)
        for p in d.target.points
    )
    ceiling = d.target.ceiling_deg and d.target.ceiling_deg + share
    return d.with_changes(target=d.target.with_changes(points=points, ceiling_deg=ceiling))


def _other_table(rng: Generator, d, unit: Unit):
    """The table of another number."""
    other = draw_unit(rng)
    ratio = other.full_rpm / unit.full_rpm
    if 0.8 < ratio < 1.25 and abs(other.sound.stop_deg - unit.sound.stop_deg) < 2.5:
        return _other_table(rng, d, unit)
    return d.with_changes(target=other.target)


MISFITS: dict[str, Misfit] = {
    "pipe on, manifold, no capsule described": Misfit(("pipe",), _pipe(lambda rng: manifold)),
    "pipe on, ported, no capsule described": Misfit(
        ("pipe",), _pipe(lambda rng: ported(rng.uniform(900, 1500), rng.uniform(1900, 2600)))
    ),
    "springs swapped": Misfit(("swap",), _swapped),
    "springs of another set": Misfit(("springs_other", "primary", "secondary"), _other_set),
    "rig readings typed as lamp": Misfit(("frame", "ratio", "rig"), manner=Manner(kind="rig")),
    "lamp readings typed as rig": Misfit(
        ("frame", "ratio", "rig"), manner=Manner(stated={"kind": "rig"})
    ),
    "crank table typed as distributor": Misfit(("table", "target", "frame"), docket=_crank_table),
    "table holds the static": Misfit(("table", "target", "static", "mark"),
                                     docket=_static_in_table),
    "table of another number": Misfit(("table", "target"), docket=_other_table),
    "cam not back at rest": Misfit(
        ("return", "rest", "back"), _with(rest_deg=lambda rng, b: rng.uniform(1.5, 3.5))
    ),
    "unequal weights": Misfit(("unequal", "weights_light"), _unequal),
    "capsule of another number": Misfit(("capsule_travel",), _short, pumped=True),
    "backlash of the drive": Misfit(
        ("backlash",), _with(backlash_deg=lambda rng, b: rng.uniform(3, 6))
    ),
    "damper ring moved": Misfit(
        ("ring", "damper", "mark"),
        _with(mark_deg=lambda rng, b: float(rng.choice([-1, 1])) * rng.uniform(10, 20)),
    ),
    "all called rising but falling": Misfit(
        ("direction", "falling"), manner=Manner(ways="falling", all_called="rising"), sound=True
    ),
    "sticking, all called rising but falling": Misfit(
        ("direction", "falling", "sticking"), _sticky,
        manner=Manner(ways="falling", all_called="rising"),
    ),
    "three faults at once": Misfit(("primary_weak", "secondary_late", "stop_high"), _three),
    "pegs worn and sticking": Misfit(("pegs_worn", "sticking"), _worn_and_stuck),
    "uneven lobes": Misfit(
        ("lobe",), _with(lobes_deg=lambda rng, b: tuple(rng.uniform(-2, 2, 4))), sound=True
    ),
    "rounded to 2 degrees": Misfit(manner=Manner(angle_step_deg=2.0), sound=True),
    "rounded to 5 degrees": Misfit(manner=Manner(angle_step_deg=5.0), sound=True),
    "speeds to 200 rev/min": Misfit(manner=Manner(speed_step_rpm=200.0), sound=True),
    "one-sided noise": Misfit(("mark", "static"), manner=Manner(one_sided=True), sound=True),
    "six readings": Misfit(manner=Manner(count=6), sound=True),
    "six readings, sticking": Misfit(("sticking",), _sticky, manner=Manner(count=6)),
    "all above full": Misfit(manner=Manner(low=4.5, high=1.6), sound=True),
    "all below the start": Misfit(manner=Manner(low=0.5, high=0.22), sound=True),
    "one typing error in ten": Misfit(manner=Manner(typed=0.1), sound=True),
    "one mistake in five": Misfit(manner=Manner(mistakes=0.2), sound=True),
    "scatter 2.5 times stated": Misfit(manner=Manner(u_angle_deg=2.5, u_speed_rpm=75.0),
                                       sound=True),
    "each reading written four times": Misfit(manner=Manner(repeats=4), sound=True),
    "static drifts 4 degrees": Misfit(("mark", "static"), manner=Manner(drift_deg=4.0)),
    "session's static left at 0": Misfit(("mark", "static"), manner=Manner(
        stated={"static_deg": 0.0})),
    "needle behind the engine": Misfit(
        ("sticking", "backlash"), manner=Manner(behind_rpm=80.0), sound=True
    ),
    "tape of another pulley": Misfit(("tape", "mark"), manner=Manner(magnified=1.2)),
    "lamp counts twice": Misfit(("frame", "ratio", "rig", "lamp", "tape"),
                                manner=Manner(magnified=2.0)),
    "tachometer off by 150 rev/min": Misfit(("tachometer",), manner=Manner(
        speed_offset_rpm=150.0)),
    "scatter grows with speed": Misfit(("bush", "scatter"), manner=Manner(wild=4.0), sound=True),
}  # fmt: skip


def misfit_case(name: str, kind: str, seed: int) -> Case:
    """A unit with this misfit, else sound."""
    m = MISFITS[name]
    rng = rng_of("misfit", name, kind, seed)
    while True:
        try:
            unit = draw_unit(rng, m.pumped)
            capsule = unit.capsule if m.pumped else Capsule()
            bench = m.bench(rng, usual_bench(rng, unit.sound, capsule))
            docket = m.docket(rng, docket_of(rng, unit, kind), unit)
            allowed = (*m.allowed, *((NOTHING,) if m.sound else (NONE,)))
            true = NOTHING if m.sound else name
            manner = replace(m.manner, pumped_kpa=PUMPED_KPA) if m.pumped else m.manner
            return made(rng, name, kind, seed, unit, bench, manner, true, allowed, docket)
        except ValueError:
            continue


def is_false(case: Case, stated: str) -> bool:
    """Whether an explanation names anything that is not so."""
    return any(not any(piece in part for piece in case.allowed) for part in stated.split("+"))
