"""Weights with figures of their own: which figures count, and what is asked for."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.docket.mechanism import OwnWeight
from bobweight.core.mechanics.builds import mass_paths, of_one_weight
from bobweight.core.mechanics.checks import mechanism_problems, needed_of_weights
from bobweight.core.mechanics.linkage_kind import wrapped
from bobweight.core.record import put
from tests.mechanics.mechanisms import plain

WEIGHTS = plain().weights
MASS = ("weights", "mass_g")


def with_own(*masses_g: float | None):
    own = tuple(OwnWeight(mass_g=mass) for mass in masses_g)
    return plain(weights=WEIGHTS.with_changes(each=own))


def test_the_mass_of_all_counts_until_every_weight_has_its_own():
    first, second = (("weights", "each", i, "mass_g") for i in (0, 1))
    assert mass_paths(with_own()) == [MASS]
    assert mass_paths(with_own(None, 29.0)) == [MASS, second]
    assert mass_paths(with_own(27.0, 29.0)) == [first, second]


def test_the_mass_of_all_is_asked_for_until_every_weight_has_its_own():
    assert MASS in needed_of_weights(with_own())
    assert MASS in needed_of_weights(with_own(27.0))
    assert MASS in needed_of_weights(with_own(27.0, None))
    assert MASS not in needed_of_weights(with_own(27.0, 29.0))


def test_the_mechanism_of_one_weight():
    mechanism = with_own(27.0, 29.0)
    assert of_one_weight(mechanism, None, 2) is mechanism
    assert of_one_weight(mechanism, None).weights.count == 1
    assert of_one_weight(mechanism, 1).weights.mass_g == 29.0


@pytest.mark.parametrize(("count", "springs"), [(1, [0]), (2, [])])
def test_the_next_weight_needs_a_second(count: int, springs: list[int]):
    hung = put(plain(), ("springs", 0, "post_on"), "weight")
    hung = put(put(hung, ("springs", 0, "peg_on"), "other"), ("weights", "count"), count)
    found = [p.path[1] for p in mechanism_problems(hung) if p.code == "no-next-weight"]
    assert found == springs


def test_an_angle_is_wrapped_between_half_turns():
    """Against the argument of the complex number that it turns."""
    angles = np.array([0.1, 3.0, 3.3, -3.3, 6.5, -9.0, 20.0])
    assert wrapped(angles) == pytest.approx(np.angle(np.exp(1j * angles)))
