"""Profile intervals: how far one value may go while all others make the best of it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.judgement.objective import Objective
from bobweight.core.problems import Path
from bobweight.core.statistics.least_squares import minimise

WIDTH_95 = 1.959964
_STEPS = np.array([-3.0, -2.0, -1.0, 1.0, 2.0, 3.0])
_MOST_VALUES = 10


def is_main(path: Path) -> bool:
    """Whether a value is one that the restorer decides by."""
    if path[0] == "sessions":
        return path[-1] in ("mark_error_deg", "tachometer_scale", "lag_ms")
    if path[0] == "capsules":
        return path[-1] != "friction_n"
    return path[-1] in ("rate_n_per_mm", "slack_mm", "stop_deg", "stick_nmm", "mass_g")


def profile_intervals(
    objective: Objective,
    z: Floats,
    covariance: Floats,
    cancelled: Callable[[], bool] | None = None,
) -> dict[int, tuple[float, float]]:
    """95 % intervals of the main values by profile, as points z, by index of the value.

    The interval ends where the cost, all other values refitted, has risen by 1.96². All values and
    places are refitted in step with one another.

    Notes
    -----
    Between the places the root of the rise is taken straight; with a normal posterior it is.
    """
    u = np.sqrt(np.diag(covariance))
    main = [i for i, f in enumerate(objective.free) if is_main(f.path)]
    main = sorted(main, key=lambda i: u[i])[:_MOST_VALUES]
    if not main:
        return {}
    low, high = objective.bounds
    column = np.repeat(main, len(_STEPS))
    shift = np.tile(_STEPS, len(main)) * u[column]
    places = np.clip(z[column] + shift, low[column], high[column])
    move = covariance[column] / np.diag(covariance)[column, None]
    starts = z + move * (places - z[column])[:, None]
    rows = np.arange(len(column))
    starts = np.clip(starts, low, high)
    starts[rows, column] = places
    free = np.ones(starts.shape, bool)
    free[rows, column] = False
    found = minimise(
        objective.residuals, starts, low, high, free=free, tolerance=1e-3, most_steps=4,
        cancelled=cancelled,
    )  # fmt: skip
    rise = np.sqrt(np.maximum(found.cost - objective.chi2(z), 0.0)).reshape(len(main), -1)
    at = places.reshape(len(main), -1)
    half = len(_STEPS) // 2
    return {
        i: (
            _crossing(z[i], at[k, half - 1 :: -1], rise[k, half - 1 :: -1], low[i]),
            _crossing(z[i], at[k, half:], rise[k, half:], high[i]),
        )
        for k, i in enumerate(main)
    }


def _crossing(middle: float, at: Floats, rise: Floats, limit: float) -> float:
    """Where the root of the rise passes 1.96, going outwards from the middle."""
    places, roots = np.concatenate([[middle], at]), np.concatenate([[0.0], rise])
    for k in range(1, len(places)):
        if places[k] == places[k - 1]:
            return float(limit)
        if roots[k] >= WIDTH_95:
            share = (WIDTH_95 - roots[k - 1]) / (roots[k] - roots[k - 1])
            return float(places[k - 1] + share * (places[k] - places[k - 1]))
    last = max(roots[-1], 1e-6)
    beyond = middle + (places[-1] - middle) * min(WIDTH_95 / last, 2.0)
    return float(max(beyond, limit) if limit < middle else min(beyond, limit))
