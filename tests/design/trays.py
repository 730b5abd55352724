"""Trays of springs near those of a docket, drawn at random. Invented."""

from __future__ import annotations

import numpy as np

from bobweight.core.design.tray import Tray, TraySpring
from bobweight.core.docket.mechanism import Mechanism


def tray_near(mechanism: Mechanism, springs: int, seed: int, count: int = 4) -> Tray:
    """Springs whose figures lie round those of the mechanism's own."""
    rng, found = np.random.default_rng(seed), []
    for number in range(springs):
        like = mechanism.springs[int(rng.integers(len(mechanism.springs)))]
        rate = float(like.rate_n_per_mm * np.exp(rng.uniform(-0.5, 0.5)))
        found.append(
            TraySpring(
                label=f"{number + 1}",
                count=count,
                rate_n_per_mm=rate,
                free_length_mm=float(like.free_length_mm * rng.uniform(0.94, 1.06)),
                initial_tension_n=float(rng.choice([0.0, rng.uniform(0.0, 2.0)])),
                u={"rate_n_per_mm": 0.02 * rate, "free_length_mm": 0.05},
            )
        )
    return Tray(springs=tuple(found))
