"""A short run of pairs of values at their edges; the long one is ``tests.studies.edges``."""

from __future__ import annotations

import random

import pytest

from tests.resilience.edges import edge_of, faults, numbers_of, pair


@pytest.mark.parametrize("first", [1, 31])
def test_pairs_of_values_at_their_edges_are_refused_or_computed(first):
    assert [each for seed in range(first, first + 30) for each in faults(seed)] == []


def test_pairs_reach_beyond_the_limits_and_every_sample():
    drawn = [pair(seed) for seed in range(300)]
    assert {name for name, _ in drawn} >= {"weak_primary", "retard_capsule"}
    beyond = 0
    for name, edits in drawn:
        limits = dict(numbers_of(name))
        for path, value in edits:
            low, high = limits[path].hard
            beyond += value is not None and not low <= value <= high
    assert 40 < beyond < 400
    assert edge_of(random.Random(1), limits[path]) == edge_of(random.Random(1), limits[path])
