"""A close-wound spring and its hang tests in simulation. Invented."""

from __future__ import annotations

import numpy as np
from scipy import stats

from bobweight.core.design.hang_test import hang_test

RATE, TENSION, FREE = 1.25, 2.0, 21.0


def lengths(load, rate=RATE, tension=TENSION, free=FREE):
    """Its length under each load, mm."""
    return free + np.maximum(np.asarray(load, float) - tension, 0) / rate


def interval_hits(runs: int, seed: int, u_mm: float | None, u_load: float) -> np.ndarray:
    """In how many tests the 95 % intervals hold the truth: rate, tension, free length, a force.

    ``u_mm``: what is stated of the lengths, which are read to 0.1 mm; ``u_load``: of each load.
    """
    rng = np.random.default_rng(seed)
    loads = np.concatenate([[0, 0, 0.8], np.arange(3, 10.0)])
    truth = np.array([RATE, TENSION, FREE, TENSION + RATE * 4])
    hits = np.zeros(4)
    for _ in range(runs):
        y = lengths(loads) + rng.normal(0, 0.1, loads.size)
        seen = np.maximum(loads + rng.normal(0, 1, loads.size) * u_load * (loads > 0), 0)
        t = hang_test(seen, y, u_mm, u_load)
        k = 1.96 if u_mm else stats.t.ppf(0.975, t.dof)
        force, u_force = t.force_at(FREE + 4)
        found = np.array([t.rate_n_per_mm, t.initial_tension_n, t.free_length_mm, float(force)])
        hits += np.abs(found - truth) <= k * np.append(np.sqrt(np.diag(t.covariance)), u_force)
    return hits
