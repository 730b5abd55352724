"""Every mounting, unlike weights and rubber stops against the vector route, many of each.

Stated before it is run: 500 random mechanisms of each, every kind of linkage in turn, each at five
random speeds and just beside every jump, both ways. Limit: 1e-6 degrees everywhere.

``python -m tests.studies.vectors [COUNT [VARIANT ...]]``: 500 of each if not said.
"""

from __future__ import annotations

import sys

import numpy as np

from bobweight.core.mechanics.predict import predict
from tests.mechanics.independent import Vectors
from tests.mechanics.mechanisms import VARIANTS, varied_mechanisms
from tests.mechanics.test_against_vectors import disagreements
from tests.studies.results import section, table

_NOTE = "Limits and sizes as stated in the study's docstring before it was run."


def main(count: int, *variants: str) -> None:
    """Tell for each variant how many mechanisms disagree anywhere by 1e-6 degrees."""
    rows = []
    for number, variant in enumerate(VARIANTS):
        if variants and variant not in variants:
            continue
        rng = np.random.default_rng(number)
        wrong = jumps = take_ups = 0
        for mechanism in varied_mechanisms(variant, count, seed=1000 + number):
            prediction = predict(mechanism)
            wrong += bool(disagreements(mechanism, prediction, Vectors(mechanism), rng))
            jumps += bool(prediction.jumps)
            take_ups += len(prediction.take_ups)
        rows.append((variant, count, wrong, jumps, take_ups))
        print(*rows[-1], flush=True)
    seeds = f"1000 to {999 + len(VARIANTS)}, one a row"
    key = "-".join(["vectors", *variants]).replace(" ", "-")
    with section(key, "Closed form against vectors of force", seeds, _NOTE) as out:
        heads = ("variant", "mechanisms", "beyond 1e-6 degrees", "that jump", "take-ups")
        out(table(heads, rows))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500, *sys.argv[2:])
