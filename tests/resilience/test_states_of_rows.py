"""A spring or capsule taken out or doubled after an alteration: the unit as found keeps its own."""

from __future__ import annotations

import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.states import unit_of, with_session_after
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.record import put
from tests.samples import sample


@pytest.fixture
def altered(window) -> Docket:
    """The demo with another spring beside the last one's place, and both capsules' starts set."""
    demo = sample("weak_primary")
    capsules = (
        Capsule(given_as="triple", start_kpa=10.0, full_kpa=30.0, full_deg=8.0),
        Capsule(given_as="triple", start_kpa=20.0, full_kpa=40.0, full_deg=5.0),
    )
    demo = put(demo, ("capsules",), capsules)
    last = len(demo.mechanism.springs) - 1
    fitted = put(demo, ("mechanism", "springs", last, "rate_n_per_mm"), 9.0)
    fitted = put(fitted, ("capsules", 1, "start_kpa"), 17.0)
    window.store.open_docket(with_session_after(demo, fitted, 0, "Fitted"), None)
    return demo


def test_springs(qtbot, window, altered):
    window.show_page("mechanism")
    window.page("mechanism").remove_spring(0)
    before = unit_of(window.store.docket, 0).mechanism.springs
    assert before == altered.mechanism.springs[1:]
    window.store.undo_stack.undo()
    window.page("mechanism").double_spring(0)
    springs = altered.mechanism.springs
    assert unit_of(window.store.docket, 0).mechanism.springs == (springs[0], *springs)


def test_capsules(qtbot, window, altered):
    window.show_page("vacuum")
    window.page("vacuum").remove_capsule(0)
    assert unit_of(window.store.docket, 0).capsules == altered.capsules[1:]
