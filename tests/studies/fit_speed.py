"""Speed of a fit to twenty readings, side by side with lmfit on the same residuals.

python -m tests.studies.fit_speed
"""

from __future__ import annotations

import time

import lmfit
import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.objective import Objective
from bobweight.core.judgement.reduce import reduce_session
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put
from bobweight.core.statistics.least_squares import minimise
from tests.judgement.invented import Truth, Wish, docket, even_places, read, with_readings
from tests.studies.results import section, table

FEW = ("rate_n_per_mm", "free_length_mm", "stop_deg", "heel_drag_nmm", "stick_nmm",
       "mark_error_deg", "tachometer_scale", "lag_ms", "mass_g")  # fmt: skip


def away_from_limits(d: Docket) -> Docket:
    """The docket with no value at a limit, where lmfit would not start well: some slack, initial
    tension and grip."""
    for i in range(2):
        place = ("mechanism", "springs", i)
        free = d.mechanism.springs[i].free_length_mm
        d = put(d, (*place, "free_length_mm"), free - 0.8)
        d = put(d, (*place, "slack_mm"), d.mechanism.springs[i].slack_taken_mm + 0.8)
        d = put(d, (*place, "initial_tension_n"), 0.8)
    d = put(d, ("mechanism", "grip"), 0.08)
    return put(d, ("mechanism", "stick_nmm"), 12.0)


def case(seed: int, few: bool):
    """A docket with twenty readings of its own curve, its objective, and which values are free."""
    d = away_from_limits(docket(Wish()))
    rng = np.random.default_rng(seed)
    d = with_readings(d, read(Truth(d.mechanism), even_places(predict(d.mechanism)), rng))
    objective = Objective(d, 0, reduce_session(d.sessions[0], d.particulars))
    free = np.array([not few or f.path[-1] in FEW for f in objective.free])
    return d, objective, free


def ours(objective: Objective, free: np.ndarray):
    """The best point and its cost."""
    low, high = objective.bounds
    found = minimise(
        objective.residuals, np.zeros((1, objective.size)), low, high, free=free, tolerance=1e-10
    )
    return found.x[0], float(found.cost[0])


def theirs(objective: Objective, free: np.ndarray):
    """The same by lmfit's least squares with bounds."""
    names = [f"p{i}" for i in np.flatnonzero(free)]
    parameters = lmfit.Parameters()
    low, high = objective.bounds
    for name, i in zip(names, np.flatnonzero(free), strict=True):
        parameters.add(name, value=0.0, min=low[i] - 1e-9, max=high[i])

    def residuals(p) -> np.ndarray:
        z = np.zeros((1, objective.size))
        z[0, free] = [p[name].value for name in names]
        return objective.residuals(z)[0]

    result = lmfit.minimize(
        residuals, parameters, method="least_squares", xtol=1e-10, ftol=1e-10, gtol=1e-10,
        max_nfev=200,
    )  # fmt: skip
    z = np.zeros(objective.size)
    z[free] = [result.params[name].value for name in names]
    return z, float(np.sum(objective.residuals(z[None]) ** 2))


def clock(function, *arguments, repeats: int) -> float:
    """The least processor time of one call in seconds (the machine may be busy with else)."""
    times = []
    for _ in range(repeats):
        begun = time.process_time()
        function(*arguments)
        times.append(time.process_time() - begun)
    return min(times)


def compared(seed: int, few: bool) -> tuple[float, float, float, float]:
    """Our time, lmfit's, how much less our cost is, and the largest difference of a value."""
    _, objective, free = case(seed, few)
    (a, cost_a), (b, cost_b) = ours(objective, free), theirs(objective, free)
    fast, slow = clock(ours, objective, free, repeats=9), clock(theirs, objective, free, repeats=2)
    return fast, slow, cost_b - cost_a, float(np.abs(a - b).max())


def main() -> None:
    heads = ["ours, ms", "lmfit, ms", "ratio", "cost less", "apart, u"]
    with section("fit-speed", "Fit against lmfit, processor time", "0…7") as out:
        for few in (False, True):
            rows = np.array([compared(seed, few) for seed in range(8)])
            free = case(0, few)[2].sum()
            out(table([f"{free} free values", *heads], [
                [f"session {seed}", f"{1e3 * fast:.1f}", f"{1e3 * slow:.0f}", f"{slow / fast:.1f}",
                 f"{less:.1e}", f"{apart:.1e}"]
                for seed, (fast, slow, less, apart) in enumerate(rows)
            ]))  # fmt: skip
            out(f"\nMedian ratio {np.median(rows[:, 1] / rows[:, 0]):.1f}.\n")
        d = case(1, False)[0]
        out(f"Whole decision on 20 readings: {clock(decide_docket, d, repeats=3):.2f} s.")


if __name__ == "__main__":
    main()
