"""What a global bounded optimiser makes of pairs of the tray: for the test of the search."""

from __future__ import annotations

import numpy as np
from scipy.optimize import differential_evolution

from bobweight.core.design.search import Search
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.builds import Builds
from tests.design.trays import tray_near
from tests.samples import sample

TWO_SPRINGS = ("small_four", "weak_primary", "vee_eight")
"""Samples with a pair to replace."""


def best_by_evolution(search: Search, pair: np.ndarray, seed: int) -> float:
    """The margin that scipy's global bounded optimiser finds for one pair, on curves finer than
    those the search compares."""
    given = {path: values[0] for path, values in search.given(pair[None]).items()}
    knobs = search.knobs

    def shortfall(x: np.ndarray) -> np.ndarray:
        settings = np.atleast_2d(x.T)
        varied = {path: np.full(len(settings), value) for path, value in given.items()}
        for column, knob in enumerate(knobs):
            varied |= {path: settings[:, column] for path in knob.paths}
        found = curves(balance_speeds(Builds(search.mechanism, varied), 120))
        advance = search.goal.advance_of_curves(found)
        return -search.goal.margin_deg(advance, search.mechanism.stop_deg)

    result = differential_evolution(
        shortfall, [(knob.low, knob.high) for knob in knobs], popsize=14, maxiter=60, tol=1e-4,
        vectorized=True, updating="deferred", polish=False, rng=seed,
    )  # fmt: skip
    return -float(result.fun)


def compare_with_evolution(name: str, pairs: int, seed: int) -> np.ndarray:
    """How much better the optimiser is on random pairs, in degrees."""
    docket = sample(name)
    search = Search(docket, tray_near(docket.mechanism, 40, seed))
    chosen = np.random.default_rng(seed).choice(len(search.pairs), pairs, replace=False)
    starts, _ = search.first_look(np.arange(len(search.pairs)), lambda *_: None, lambda: False)
    given = search.given(search.pairs[chosen])
    tuned = search.tuner.finished(given, *search.tuner.begun(given, starts[chosen]))
    other = [best_by_evolution(search, search.pairs[k], int(k)) for k in chosen]
    return np.array(other) - tuned.margin_deg
