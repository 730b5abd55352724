"""Every mounting, unlike weights and rubber stops against the vector route, many of each.

``python -m tests.studies.vectors [COUNT]``: 500 of each if not said.
"""

from __future__ import annotations

import sys

import numpy as np

from bobweight.core.mechanics.predict import predict
from tests.mechanics.independent import Vectors
from tests.mechanics.mechanisms import VARIANTS, varied_mechanisms
from tests.mechanics.test_against_vectors import disagreements


def main(count: int) -> None:
    """Print for each variant how many mechanisms disagree anywhere by 1e-6 degrees."""
    for number, variant in enumerate(VARIANTS):
        rng = np.random.default_rng(number)
        wrong = jumps = take_ups = 0
        for mechanism in varied_mechanisms(variant, count, seed=1000 + number):
            prediction = predict(mechanism)
            wrong += bool(disagreements(mechanism, prediction, Vectors(mechanism), rng))
            jumps += bool(prediction.jumps)
            take_ups += len(prediction.take_ups)
        print(
            f"{variant:16} {count} mechanisms, {wrong} beyond 1e-6 degrees; {jumps} jump, "
            f"{take_ups} take-ups",
            flush=True,
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
