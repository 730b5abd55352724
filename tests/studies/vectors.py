"""Every mounting, unlike weights and rubber stops against the vector route, many of each.

Stated before it is run: 500 random mechanisms of each, every kind of linkage in turn, each at five
random speeds and just beside every jump, both ways. Limit: 1e-6 degrees everywhere.

``python -m tests.studies.vectors [COUNT [VARIANT ...]]``: 500 of each if not said.
What is found of a variant is written at once, and what was found of the others stays.
"""

from __future__ import annotations

import sys

import numpy as np

from bobweight.core.mechanics.predict import predict
from tests.mechanics.independent import Vectors
from tests.mechanics.mechanisms import VARIANTS, varied_mechanisms
from tests.mechanics.test_against_vectors import disagreements
from tests.studies.results import commit, rows_of, section, table

_NOTE = "Limits and sizes as stated in the study's docstring before it was run."


_HEADS = (
    "variant", "mechanisms", "seed", "beyond 1e-6 degrees", "that jump", "take-ups", "commit",
)  # fmt: skip


def main(count: int, *variants: str) -> None:
    """Tell for each variant how many mechanisms disagree anywhere by 1e-6 degrees."""
    measured = commit()
    for number, variant in enumerate(VARIANTS):
        if variants and variant not in variants:
            continue
        rng = np.random.default_rng(number)
        seed = 1000 + number
        wrong = jumps = take_ups = 0
        for mechanism in varied_mechanisms(variant, count, seed=seed):
            prediction = predict(mechanism)
            wrong += bool(disagreements(mechanism, prediction, Vectors(mechanism), rng))
            jumps += bool(prediction.jumps)
            take_ups += len(prediction.take_ups)
        rows = rows_of("vectors")
        rows[variant] = (variant, count, seed, wrong, jumps, take_ups, measured)
        with section("vectors", "Closed form against vectors of force", note=_NOTE) as out:
            out(table(_HEADS, [rows[v] for v in VARIANTS if v in rows]))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500, *sys.argv[2:])
