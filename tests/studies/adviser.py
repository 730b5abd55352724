"""Adviser study: readings needed for the same certainty, by advice and on an even grid.

Each session has an invented unit with one fault and begins with six even readings. Then readings
are added, either where the adviser says or at the next place of an even grid (van der Corput's
order, up and down by turns, so that any number of them is spread evenly), until the leading place
holds 90 % of the probability, or sixty readings are taken.

    python -m tests.studies.adviser [sessions]
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.advise import next_reading
from bobweight.core.judgement.diagnose import diagnose
from bobweight.core.judgement.diagnosis import Diagnosis
from bobweight.core.mechanics.predict import Prediction, predict
from bobweight.core.problems import BobweightError
from tests.judgement.invented import (
    CAPSULE,
    Truth,
    docket,
    even_places,
    random_wish,
    read,
    with_readings,
)
from tests.studies.diagnosis import SIZES, Family, _ready, _truth
from tests.studies.results import section, table

FAULTS = ("primary_weak", "primary_stretched", "secondary_weak", "secondary_late", "stop_high",
          "stop_low", "sticking", "mark_offset", "lamp_lag", "nothing_wrong")  # fmt: skip
CERTAIN = 0.9
FIRST, MOST = 6, 60


def certainty(found: Diagnosis) -> float:
    """Probability of the leading place."""
    return sum(e.probability for e in found.explanations if e.place == 1)


def even_order(curve: Prediction, count: int) -> list[tuple[float, str]]:
    """Places of an even grid in an order that is even at any length."""
    low, high = 1.6 * curve.start_rpm, 2.3 * curve.full_rpm
    found = []
    for k in range(1, count + 1):
        share, base, n = 0.0, 0.5, k
        while n:
            share, n, base = share + base * (n % 2), n // 2, base / 2
        found.append((low + share * (high - low), "rising" if k % 2 else "falling"))
    return found


def unit(seed: int, name: str) -> tuple[Docket, Truth, Prediction, Prediction]:
    """A docket, its true unit, and the curves of both."""
    rng = np.random.default_rng([seed, 5])
    while True:
        try:
            d = docket(random_wish(rng), capsule=CAPSULE)
            curve = predict(d.mechanism)
            empty = with_readings(d, read(Truth(d.mechanism), even_places(curve), rng))
            truth = _truth(d, Family(*_ready(empty)), name, SIZES[name], rng)
            return d, truth, curve, predict(truth.mechanism)
        except BobweightError:
            continue


def needed(seed: int, name: str, advised: bool) -> tuple[int, bool, float]:
    """Readings taken until certain, whether the leading place holds the truth, and certainty."""
    d, truth, curve, true_curve = unit(seed, name)
    rng = np.random.default_rng([seed, 11])  # the same noise for both
    places = even_order(curve, MOST)
    taken = list(read(truth, even_places(curve, FIRST), rng, curve=true_curve))
    while True:
        found = diagnose(with_readings(d, tuple(taken)))
        sure = certainty(found)
        if sure >= CERTAIN or len(taken) >= MOST:
            return len(taken), found.place_of(name) == 1, sure
        place = places[len(taken) - FIRST]
        if advised:
            best = next_reading(found).best
            place = (best.speed_rpm, best.direction)
        taken += read(truth, [place], rng, curve=true_curve)


def _task(task: tuple[int, str, bool]):
    return task, needed(*task)


def main() -> None:
    sessions = int(sys.argv[1]) if len(sys.argv) > 1 else 6
    tasks = [(s, n, a) for n in FAULTS for s in range(sessions) for a in (True, False)]
    with ProcessPoolExecutor(2) as pool:
        results = dict(pool.map(_task, tasks, chunksize=2))
    means_by, rows = [], []
    for name in (*FAULTS, None):
        mine = [(s, n) for s in range(sessions) for n in FAULTS if name in (n, None)]
        by = {a: np.array([results[s, n, a] for s, n in mine], float) for a in (True, False)}
        means = by[True].mean(axis=0), by[False].mean(axis=0)
        rows.append([name or "all", f"{means[0][0]:.1f}", f"{means[1][0]:.1f}",
                     f"{100 * means[0][1]:.0f} %", f"{100 * means[1][1]:.0f} %"])  # fmt: skip
        means_by.append(means)
    last = means_by[-1]
    with section("adviser", "Where the next reading is advised", f"0…{sessions - 1}") as out:
        out(table(["fault", "readings, advised", "on an even grid", "right when advised",
                   "right on the grid"], rows))  # fmt: skip
        out(f"\n{100 * (1 - last[0][0] / last[1][0]):.0f} % fewer readings (mean), "
            f"first {FIRST} included; {sessions} sessions a fault.")  # fmt: skip


if __name__ == "__main__":
    main()
