"""Usual figures for what is blank: every mounting of a spring then holds the cam back, however the
weights lie. Lengths are those of the drawn picture, not of the balance."""

from itertools import cycle, permutations

import numpy as np
import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import BODIES, Mechanism
from bobweight.core.judgement.assume import assume
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.pose import pose
from bobweight.core.mechanics.typical import completed, typical_mechanisms

MOUNTINGS = list(permutations(BODIES, 2))
TYPICAL = [(one.key, lies, one.mechanism) for one in typical_mechanisms()
           for lies in ("behind", "ahead")]  # fmt: skip


def mounted(mechanism: Mechanism, lies: str, post_on: str, peg_on: str, **changes) -> Mechanism:
    """A typical mechanism with each of its springs so, one to each weight, its places blank."""
    springs = tuple(
        spring.with_changes(post_on=post_on, peg_on=peg_on, weight=1 + i, **changes)
        for i, spring in enumerate(mechanism.springs)
    )
    return mechanism.with_changes(
        springs=springs, linkage=mechanism.linkage.with_changes(lies=lies)
    )


def growth_mm(mechanism: Mechanism) -> np.ndarray:
    """What each spring grows by at each step to the stop, shape (steps, springs)."""
    angles = np.linspace(0.0, mechanism.stop_deg, 7)
    lengths = [[s.length_mm for s in pose(mechanism, a).springs] for a in angles]
    return np.diff(np.array(lengths), axis=0)


@pytest.mark.parametrize(("post_on", "peg_on"), MOUNTINGS)
def test_a_spring_left_blank_pulls_back(post_on, peg_on):
    for key, lies, mechanism in TYPICAL:
        drawn = completed(mounted(mechanism, lies, post_on, peg_on)).mechanism
        assert growth_mm(drawn).min() > 0, (key, lies)
        assert not mechanism_problems(drawn), (key, lies)


def test_what_lacks_nothing_is_completed_as_it_is():
    for _, lies, mechanism in TYPICAL:
        whole = completed(mounted(mechanism, lies, "plate", "cam")).mechanism
        assert completed(whole).mechanism is whole


@pytest.mark.parametrize("free_mm", [None, 18.0])
def test_what_is_judged_from_blank_places_pulls_back(free_mm):
    for (post_on, peg_on), (key, lies, mechanism) in zip(MOUNTINGS, cycle(TYPICAL), strict=False):
        blank = mounted(mechanism, lies, post_on, peg_on, given_by="polar", free_length_mm=free_mm)
        judged = assume(Docket(mechanism=blank)).mechanism
        assert growth_mm(judged).min() > 0, (key, lies, post_on, peg_on)
