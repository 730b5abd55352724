"""Many small linear programs at once, each against scipy's own solver."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from bobweight.core.statistics.linear_programs import solve_many


def test_small_linear_programs_against_scipy():
    rng = np.random.default_rng(1)
    problems, m, n = 60, 20, 4
    box = np.broadcast_to(np.vstack([np.eye(n), -np.eye(n)]), (problems, 2 * n, n))
    rows = np.concatenate([rng.normal(size=(problems, m, n)), box], axis=1)
    limits = np.concatenate([rng.uniform(0, 1, (problems, m)), np.ones((problems, 2 * n))], axis=1)
    cost = rng.normal(size=n)
    x = solve_many(cost, rows, limits, np.zeros((problems, n)), gap=1e-10)
    for k in range(problems):
        exact = linprog(cost, A_ub=rows[k], b_ub=limits[k], bounds=(None, None))
        assert cost @ x[k] == pytest.approx(exact.fun, abs=1e-6)
        assert (rows[k] @ x[k] <= limits[k] + 1e-6).all()
