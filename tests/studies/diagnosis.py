"""Diagnosis study: how often the true fault is ranked first, and whether probabilities are right.

Every session has its own invented unit, a sound one but for unit-to-unit scatter of its curve, of
the size that the diagnosis assumes; twenty readings with ±1 crank degree, ±30 rev/min, 5 % slips.

    python -m tests.studies.diagnosis [sessions a fault] [sessions for reliability] [faults]
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from itertools import pairwise

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.diagnose import diagnose
from bobweight.core.judgement.diagnosis import Diagnosis
from bobweight.core.judgement.family import Family
from bobweight.core.judgement.faults import NOTHING_WRONG
from bobweight.core.judgement.reduce import reduce_session
from bobweight.core.mechanics.predict import Prediction, predict
from bobweight.core.problems import BobweightError
from bobweight.core.record import parameter_at, put
from tests.judgement.invented import (
    CAPSULE,
    Truth,
    docket,
    even_places,
    random_wish,
    read,
    with_readings,
)
from tests.studies.results import section, table

SIZES = {
    "nothing_wrong": (0.0, 0.0),
    "primary_weak": (0.35, 0.60),
    "primary_strong": (0.45, 0.80),
    "primary_missing": (0.0, 0.0),
    "primary_stretched": (0.6, 1.2),
    "secondary_weak": (0.42, 0.60),
    "secondary_strong": (0.50, 0.90),
    "secondary_missing": (0.0, 0.0),
    "secondary_late": (0.5, 1.2),
    "secondary_early": (0.5, 1.0),
    "pegs_worn": (0.5, 1.0),
    "stop_high": (1.8, 3.0),
    "stop_low": (2.0, 3.5),
    "sticking": (1.0, 2.0),
    "weights_light": (0.3, 0.5),
    "weights_heavy": (0.4, 0.8),
    "mark_offset": (4.0, 8.0),
    "tachometer_scale": (0.22, 0.40),
    "lamp_lag": (0.20, 0.40),
    "pipe_left_on": (100.0, 400.0),
    "capsule_weak": (0.3, 0.5),
    "capsule_leaking": (0.6, 3.0),
    "plate_stiff": (6.0, 12.0),
}
"""Sizes drawn for each fault, in its own unit (sticking: times the usual size)."""
CAPSULE_FAULTS = ("capsule_weak", "capsule_leaking", "plate_stiff")


def places_for(curve: Prediction, name: str) -> list[tuple]:
    """Twenty places; eight of them with the pump on the pipe for faults of the capsule."""
    if name not in CAPSULE_FAULTS:
        return even_places(curve, 20)
    kpa = (10.0, 20.0, 30.0, 45.0)
    speed = 2.0 * 0.7 * curve.start_rpm
    pumped = [(speed, "rising", k) for k in kpa] + [(speed, "falling", k) for k in kpa[::-1]]
    return even_places(curve, 12) + pumped


def one_session(
    seed: int, name: str, size: tuple[float, float] | None = None
) -> tuple[Diagnosis, Docket]:
    """The diagnosis of one session with this fault; sizes as the prior has them if not given."""
    rng = np.random.default_rng([seed, sum(name.encode())])
    while True:
        try:
            d = docket(random_wish(rng), capsule=CAPSULE)
            curve = predict(d.mechanism)
            places = places_for(curve, name)
            empty = Truth(d.mechanism, d.capsules[0])
            family = Family(*_ready(with_readings(d, read(empty, places, rng, curve=curve))))
            truth = _truth(d, family, name, size, rng)
            d = with_readings(d, read(truth, places, rng))
            return diagnose(d), d
        except BobweightError:
            continue


def _ready(d: Docket):
    return d, 0, reduce_session(d.sessions[0], d.particulars, None, d.capsules)


def _truth(d: Docket, family: Family, name: str, size: tuple[float, float] | None, rng) -> Truth:
    options = [i for i, h in enumerate(family.hypotheses) if h.name == name]
    which = int(rng.choice(options))
    x = np.zeros((1, family.columns))
    x[0, : family.first_fault] = rng.normal(size=family.first_fault)
    pipe = (0.0, 0.0)
    for i in family.hypotheses[which].faults:
        fault = family.faults[i]
        z = np.clip(rng.normal(), -3, 3)
        if size is not None and fault.usual:
            amount = rng.uniform(*size) * (fault.usual if name == "sticking" else 1.0)
            z = np.log(amount / fault.usual) / fault.spread
        x[0, family.first_fault + i] = z
        if fault.pipe:
            pipe = (CAPSULE.full_deg, float(fault.amount(np.array([z]))[0]))
    unit = d
    for path, value in family.values(x, np.array([which])).items():
        low, high = parameter_at(unit, path).hard
        unit = put(unit, path, float(np.clip(value[0], low, high)))
    instrument = unit.sessions[0].instrument
    return Truth(
        unit.mechanism, unit.capsule, instrument.static_deg + instrument.mark_error_deg,
        instrument.tachometer_scale, instrument.lag_ms, *pipe,
    )  # fmt: skip


def _places(task: tuple[int, str]) -> tuple[str, int, int, float, str]:
    seed, name = task
    begun = time.perf_counter()
    found, _ = one_session(seed, name, SIZES[name])
    taken = time.perf_counter() - begun
    rank = 1 + [e.name for e in found.explanations].index(name)
    return name, rank, found.place_of(name), taken, found.first.name


def _calibration(seed: int) -> list[tuple[float, bool]]:
    rng = np.random.default_rng([seed, 77])
    d = docket(random_wish(rng), capsule=CAPSULE)
    places = even_places(predict(d.mechanism), 20)
    family = Family(*_ready(with_readings(d, read(Truth(d.mechanism), places, rng))))
    singles = [h for h in family.hypotheses if not h.free_form]
    odds = np.array([h.weight for h in singles])
    name = singles[int(rng.choice(len(singles), p=odds / odds.sum()))].name
    found, _ = one_session(seed, name)
    return [(e.probability, e.name == name) for e in found.explanations]


def ranking(count: int, names: list[str], pool: ProcessPoolExecutor, out) -> None:
    """How often each fault is first, and first or second."""
    tasks = [(seed, name) for name in names for seed in range(count)]
    results = defaultdict(list)
    for name, *rest in pool.map(_places, tasks, chunksize=10):
        results[name].append(rest)
    totals, lines = [], []
    for name, rows in results.items():
        rank, place = (np.array([r[i] for r in rows]) for i in (0, 1))
        wrong = [r[3] for r in rows if r[1] > 1]
        instead = max(set(wrong), key=wrong.count) if wrong else ""
        row = [100 * np.mean(a) for a in (rank == 1, place == 1, place <= 2)]
        if name != NOTHING_WRONG:
            totals.append(row)
        low, high = SIZES[name]
        lines.append([name, f"{low:g}–{high:g}", *(f"{v:.0f} %" for v in row), instead])
    if totals:
        means = (f"{v:.1f} %" for v in np.mean(totals, axis=0))
        lines.append(["all faults", "", *means, ""])
    out(table(["fault", "size", "first", "first place", "first or second place",
               "most often instead"], lines))  # fmt: skip
    seconds = np.mean([r[2] for rows in results.values() for r in rows])
    out(f"\n{count} sessions a fault, {seconds:.2f} s a session.\n")


def reliability(count: int, pool: ProcessPoolExecutor, out) -> None:
    """How often explanations of a stated probability are true."""
    pairs = [p for rows in pool.map(_calibration, range(count), chunksize=10) for p in rows]
    stated, true = np.array([p for p, _ in pairs]), np.array([t for _, t in pairs])
    edges = [0.0, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 0.99, 1.0001]
    lines = []
    for low, high in pairwise(edges):
        mine = (stated >= low) & (stated < high)
        if mine.any():
            lines.append([f"{low:.2f}–{min(high, 1):.2f}", mine.sum(),
                          f"{stated[mine].mean():.3f}", f"{true[mine].mean():.3f}"])  # fmt: skip
    out(table(["stated", "explanations", "mean stated", "true"], lines))


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    calibration = int(sys.argv[2]) if len(sys.argv) > 2 else 1000
    names = sys.argv[3].split(",") if len(sys.argv) > 3 else list(SIZES)
    seeds = f"0…{max(count, calibration) - 1}"
    title = "Diagnosis where the docket is as the core assumes it"
    with section("diagnosis", title, seeds) as out, ProcessPoolExecutor(2) as pool:
        if count:
            ranking(count, names, pool, out)
        if calibration:
            reliability(calibration, pool, out)


if __name__ == "__main__":
    main()
