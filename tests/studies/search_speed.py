"""How fast the tray search is: ``python -m tests.studies.search_speed``.

Two questions, answered in one run side by side: how many times faster a pair is tuned than by
scipy's global bounded optimiser, which predicts at every step; and how the time grows with the
tray. Times are processor time of this process, so that other work on the machine does not count.
"""

from __future__ import annotations

import time

import numpy as np
from scipy.optimize import differential_evolution

from bobweight.core.design.asks import SearchAsk
from bobweight.core.design.search import Search
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import BobweightError
from bobweight.core.record import put
from tests.design.trays import tray_near
from tests.samples import sample
from tests.studies.ratio import Ratio
from tests.studies.results import section, table

NAME = "small_four"


def by_scipy(search: Search, pair: np.ndarray) -> tuple[float, float, int]:
    """Seconds, margin and predictions that the optimiser takes for one pair."""
    mechanism = search.mechanism
    for path, value in search.given(pair[None]).items():
        mechanism = put(mechanism, path, float(value[0]))
    calls = 0

    def shortfall(x: np.ndarray) -> float:
        nonlocal calls
        calls += 1
        built = mechanism
        for knob, value in zip(search.knobs, x, strict=True):
            for path in knob.paths:
                built = put(built, path, float(value))
        try:
            prediction = predict(built)
        except BobweightError:
            return 50.0
        goal = search.goal
        return -float(goal.margin_deg(goal.advance_of(prediction), prediction.full_deg))

    start = time.process_time()
    ends = [(knob.low, knob.high) for knob in search.knobs]
    found = differential_evolution(
        shortfall, ends, popsize=14, maxiter=60, tol=1e-4, polish=False, rng=1
    )
    return time.process_time() - start, -float(found.fun), calls


def pair_by_pair(pairs: int = 200, by_optimiser: int = 8) -> Ratio:
    """Time a pair takes when every pair is tuned, against the optimiser."""
    docket = sample(NAME)
    search = Search(docket, tray_near(docket.mechanism, 40, seed=23))
    chosen = np.random.default_rng(5).choice(len(search.pairs), pairs, replace=False)
    search.pairs = search.pairs[chosen]
    start = time.process_time()
    starts, _ = search.first_look(np.arange(len(search.pairs)), lambda *_: None, lambda: False)
    given = search.given(search.pairs)
    tuned = search.tuner.finished(given, *search.tuner.begun(given, starts))
    each = (time.process_time() - start) / pairs
    seconds, better, calls = [], [], []
    for k in range(by_optimiser):
        took, margin, count = by_scipy(search, search.pairs[k])
        seconds.append(took)
        calls.append(count)
        better.append(margin - tuned.margin_deg[k])
    mean = np.mean(seconds)
    note = (
        f"{1e3 * each:.1f} ms a pair ({pairs} pairs, every one tuned) against {1e3 * mean:.0f} ms "
        f"({by_optimiser} pairs, {np.mean(calls):.0f} predictions each); the optimiser is at most "
        f"{max(better):+.3f}° better"
    )
    return Ratio("Optimiser / tray search, time a pair", float(mean / each), 200.0, True, note)


BENCHMARKS = (pair_by_pair,)


def by_size(sizes: tuple[int, ...] = (10, 20, 40, 80, 150, 300)) -> str:
    """Times of whole searches by the size of the tray, as a table."""
    docket = sample(NAME)
    rows = []
    for size in sizes:
        start = time.process_time()
        search = Search(docket, tray_near(docket.mechanism, size, seed=3), SearchAsk(top=10))
        search.first_look(np.arange(len(search.pairs)), lambda *_: None, lambda: False)
        look = time.process_time() - start
        start = time.process_time()
        found = search.run()
        took = time.process_time() - start
        rows.append([size, found.pairs, found.tuned, f"{1e6 * look / found.pairs:.0f}",
                     f"{took:.1f}", f"{1e6 * took / found.pairs:.0f}",
                     f"{found.candidates[0].margin_deg:.2f}"])  # fmt: skip
    return table(["springs", "pairs", "tuned", "first look, µs a pair", "in all, s", "µs a pair",
                  "best margin, °"], rows)  # fmt: skip


if __name__ == "__main__":
    with section("search-speed", "Tray search, processor time") as out:
        out(f"{pair_by_pair()}\n")
        out(by_size())
