"""The store: edits, names, gestures, dirty mark, undo."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bobweight.app.store import Change, Store
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.mechanism import Spring
from bobweight.core.problems import BobweightError
from bobweight.core.record import get, parameters, put, walk

RATE = ("mechanism", "springs", 0, "rate_n_per_mm")


def with_springs():
    spring = Spring(role="primary", rate_n_per_mm=1.25, u={"rate_n_per_mm": 0.05})
    return put(new_docket(), ("mechanism", "springs"), (spring, Spring(role="secondary")))


@pytest.fixture
def store(qapp):
    store = Store(with_springs())
    yield store
    store.release()


def test_edit_undo_redo_and_names(store):
    seen = []
    store.changed.connect(seen.append)
    before = store.docket
    store.edit("Primary rate 1.30 N/mm", RATE, 1.3)
    assert store.undo_stack.undoText() == "Primary rate 1.30 N/mm"
    assert get(store.docket, RATE) == 1.3
    assert store.docket.mechanism.springs[0].u == {}, "the uncertainty belonged to the old rate"
    store.undo_stack.undo()
    assert store.docket == before
    store.undo_stack.redo()
    assert get(store.docket, RATE) == 1.3
    assert seen[0] == Change(before, store.docket)
    assert seen[0].touches(RATE) and not seen[0].touches(("target",))


def test_a_change_tells_the_values_it_touches_and_no_others(store):
    before = store.docket
    store.edit("Rate", RATE, 1.3)
    change = Change(before, store.docket)
    spring, stated = RATE[:-1], (*RATE[:-1], "u", RATE[-1])
    for _ in range(2):  # the second time from what is remembered of the record
        assert change.touches(RATE) and change.touches(stated)
        assert not change.touches((*spring, "slack_mm"))
        assert not change.touches((*spring[:-1], 1, "rate_n_per_mm"))
        assert not change.touches(("particulars", "title"))
        assert not change.touches((*spring[:-1], 7, "rate_n_per_mm"))
    fewer = Change(store.docket, put(store.docket, spring[:-1], store.docket.mechanism.springs[:1]))
    assert fewer.touches((*spring[:-1], 1, "rate_n_per_mm")) and not fewer.touches(RATE)


def test_refused_edit_pushes_nothing(store):
    before = store.docket
    with pytest.raises(BobweightError) as caught:
        store.edit("Primary rate", RATE, -1.0)
    assert caught.value.problem.code == "below-limit"
    assert caught.value.problem.path == RATE
    assert store.docket is before and store.undo_stack.count() == 0 and not store.dirty


def test_equal_value_is_no_edit(store):
    store.edit("Primary rate", RATE, 1.25)
    assert store.undo_stack.count() == 0


def test_a_gesture_is_one_edit_under_its_last_name(store):
    before, gesture = store.docket, object()
    for rate in (1.3, 1.4, 1.5):
        store.edit(f"Primary rate {rate} N/mm", RATE, rate, gesture)
    assert store.undo_stack.count() == 1
    assert store.undo_stack.undoText() == "Primary rate 1.5 N/mm"
    store.edit("Primary rate 1.6 N/mm", RATE, 1.6, object())
    assert store.undo_stack.count() == 2, "another gesture is another edit"
    store.undo_stack.undo()
    store.undo_stack.undo()
    assert store.docket == before


def test_a_gesture_that_comes_back_leaves_nothing_to_undo(store):
    before, gesture = store.docket, object()
    store.replace("Drag", put(store.docket, RATE, 1.3), gesture)
    store.replace("Drag", before, gesture)
    assert store.docket == before
    assert store.undo_stack.count() == 0


def test_dirty_follows_the_clean_state(store, tmp_path):
    store.mark_saved(tmp_path / "a.docket")
    assert not store.dirty
    store.edit("Primary rate", RATE, 1.3)
    assert store.dirty
    store.undo_stack.undo()
    assert not store.dirty
    store.open_docket(new_docket(), None, unsaved=True)
    assert store.dirty and store.file_path is None and store.undo_stack.count() == 0


def test_uncertainty_is_an_edit_and_must_be_positive(store):
    before = store.docket
    store.state_uncertainty("Primary rate ± 0.02 N/mm", RATE, 0.02)
    assert store.docket.mechanism.springs[0].u["rate_n_per_mm"] == 0.02
    with pytest.raises(BobweightError):
        store.state_uncertainty("Primary rate", RATE, 0.0)
    store.undo_stack.undo()
    assert store.docket == before


def test_ghost(store):
    told = []
    store.ghost_changed.connect(lambda: told.append(store.ghost))
    kept = store.docket
    store.set_ghost()
    store.edit("Primary rate", RATE, 1.3)
    assert store.ghost is kept
    store.open_docket(new_docket(), None)
    assert told == [kept, None]


def _edits(docket):
    """Strategy: one allowed edit of any plain value of a docket."""
    places = list(walk(docket))
    return st.sampled_from(places).flatmap(
        lambda place: st.tuples(st.just(place[0]), _values(place[1]))
    )


def _values(parameter):
    low, high = (max(parameter.hard[0], -1e6), min(parameter.hard[1], 1e6))
    return {
        "number": st.floats(low, high, allow_nan=False),
        "whole": st.integers(int(low), int(high)),
        "text": st.text(max_size=8),
        "flag": st.booleans(),
        "choice": st.sampled_from(sorted(parameter.options) or [""]),
    }[parameter.kind]


@settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(data=st.data())
def test_undo_all_redo_all_is_identical(qapp, data):
    """Random edits, uncertainties, gestures, rows put in and taken out: every state comes back."""
    store = Store(with_springs())
    states = [store.docket]
    for step in range(data.draw(st.integers(1, 12))):
        kind = data.draw(st.sampled_from(["value", "u", "add", "remove"]))
        if kind == "value":
            path, value = data.draw(_edits(store.docket))
            store.edit(f"Edit {step}", path, value)
        elif kind == "u":
            path, parameter, _ = data.draw(
                st.sampled_from([p for p in walk(store.docket) if p[1].uncertain])
            )
            u = data.draw(st.floats(*parameter.u_limits))
            store.state_uncertainty(f"Edit {step}", path, u)
        else:
            springs = store.docket.mechanism.springs
            changed = (*springs, Spring()) if kind == "add" else springs[:-1]
            store.edit(f"Edit {step}", ("mechanism", "springs"), changed)
        if store.docket != states[-1]:
            states.append(store.docket)
    assert store.undo_stack.count() == len(states) - 1
    for state in reversed(states[:-1]):
        store.undo_stack.undo()
        assert store.docket == state
    for state in states[1:]:
        store.undo_stack.redo()
        assert store.docket == state
    store.release()


def test_every_parameter_kind_is_covered():
    kinds = {p.kind for _, p, _ in walk(with_springs())}
    assert kinds <= {"number", "whole", "text", "flag", "choice"}
    assert parameters(Spring)["rate_n_per_mm"].uncertain


def test_a_store_that_is_done_with_holds_no_commands(qapp):
    """Commands and their stack are collected in no order; the one after the other ended the
    program."""
    store = Store(with_springs())
    told = []
    store.file_changed.connect(lambda: told.append(store.dirty))
    store.edit("Rate", RATE, 1.3)
    told.clear()
    store.release()
    assert store.undo_stack.count() == 0 and not told
