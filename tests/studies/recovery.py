"""Recovery study: how often the 95 % intervals of a fit cover the truth.

Each session has its own invented unit. The truth is drawn from what the docket says was known
before (every value normal about the docket's, within its limits); twenty readings follow with
±1 crank degree, ±30 rev/min and 5 % slips. Run from the repository's top:

    python -m tests.studies.recovery [sessions] [first seed]
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.fit import Fit, fit_session
from bobweight.core.judgement.fit_values import FreeValue, free_values
from bobweight.core.judgement.reduce import reduce_session
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import get, put
from tests.judgement.invented import (
    Truth,
    docket,
    even_places,
    random_wish,
    read,
    with_readings,
)
from tests.studies.results import section, table


def draw_truth(d: Docket, free: tuple[FreeValue, ...], rng: np.random.Generator) -> Docket:
    """The docket with every free value drawn from what is known before."""
    for f in free:
        low, high = f.bounds
        z = rng.normal()
        while not low <= z <= high:
            z = rng.normal()
        d = put(d, f.path, float(f.at(np.array(z))))
    return d


def one_session(seed: int, count: int = 20) -> tuple[Fit, Docket]:
    """A fitted session, and the docket that is true."""
    rng = np.random.default_rng(seed)
    while True:
        try:
            d = docket(random_wish(rng))
            places = even_places(predict(d.mechanism), count)
            reduced = reduce_session(d.sessions[0], d.particulars)
            true = draw_truth(d, free_values(d, 0, reduced), rng)
            curve = predict(true.mechanism)
            if not 100.0 < curve.full_rpm < 6000.0:
                continue
        except BobweightError:
            continue
        instrument = true.sessions[0].instrument
        truth = Truth(
            true.mechanism, zero_deg=instrument.static_taken_deg + instrument.mark_error_taken_deg,
            scale=instrument.scale_taken, lag_ms=instrument.lag_taken_ms,
        )  # fmt: skip
        d = with_readings(d, read(truth, places, rng, curve=curve))
        return fit_session(d), true


def name_of(path: Path) -> str:
    """Short name of a value: like values of the sessions are counted together."""
    return ".".join(str(step) for step in path if step not in ("mechanism", "sessions"))


def study(sessions: int, first: int = 0) -> tuple[dict[str, list[bool]], list[float]]:
    """Hits of the intervals by value (±1.96 u), and processor times."""
    hits, times = defaultdict(list), []
    for seed in range(first, first + sessions):
        begun = time.process_time()
        fit, true = one_session(seed)
        times.append(time.process_time() - begun)
        for e in fit.estimates:
            hits[name_of(e.path)].append(abs(get(true, e.path) - e.value) <= 1.959964 * e.u)
    return hits, times


def main() -> None:
    sessions = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    hits, times = study(sessions, first)
    rows = [[name, f"{100 * np.mean(each):.1f} %"] for name, each in hits.items()]
    everything = np.concatenate([np.array(v) for v in hits.values()])
    rows.append(["all values", f"{100 * everything.mean():.1f} %"])
    seeds = f"{first}…{first + sessions - 1}"
    with section("recovery", "Recovery of drawn values by the fit", seeds) as out:
        out(table(["value", "±1.96 u covers"], rows))
        out(f"\n{sessions} sessions, {np.mean(times):.2f} s of processor time each (unit, "
            f"readings, fit). Binomial standard error of a row: "
            f"{100 * np.sqrt(0.95 * 0.05 / sessions):.1f} %.")  # fmt: skip


if __name__ == "__main__":
    main()
