"""The states of a unit: earlier figures follow by taking the changes back."""

from __future__ import annotations

import numpy as np
import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import docket_from_text, docket_to_text
from bobweight.core.docket.readings import Reading, Session
from bobweight.core.docket.states import (
    StateChange,
    UnitState,
    newest_state,
    path_of,
    state_of,
    unit_of,
    with_corrected,
    with_new_state,
    with_rows,
    with_session_after,
)
from bobweight.core.judgement.outcome import outcome
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import path_text
from bobweight.core.record import put, put_uncertainty
from tests.mechanics.mechanisms import plain

RATE = ("mechanism", "springs", 0, "rate_n_per_mm")
TANG = ("mechanism", "springs", 0, "tang_mm")
SPRINGS = ("mechanism", "springs")
READ = (Reading(speed_rpm=1000.0, angle_deg=12.0),)


@pytest.fixture
def docket() -> Docket:
    return Docket(mechanism=plain(), sessions=(Session(title="As found", readings=READ),))


def fresh(docket: Docket, rate: float = 1.4) -> Docket:
    return put_uncertainty(put(docket, RATE, rate), RATE, 0.04)


def test_a_path_is_read_as_it_is_written():
    for path in (RATE, TANG, ("capsules", 0, "full_deg"), ("mechanism", "weights", "mass_g")):
        assert path_of(path_text(path)) == path


def test_without_states_every_session_is_of_the_docket_itself(docket):
    assert unit_of(docket, 0) is docket
    assert newest_state(docket) == state_of(docket, 0) == 0


def test_fitting_a_spring_keeps_the_old_one_for_the_readings_before(docket):
    docket = put_uncertainty(docket, RATE, 0.2)
    made = with_session_after(docket, fresh(docket), 0, "Primary fitted", "2031-05-01")
    assert [s.state for s in made.sessions] == [0, 1]
    assert unit_of(made, 0).mechanism == docket.mechanism
    assert unit_of(made, 0).mechanism.springs[0].u["rate_n_per_mm"] == 0.2
    assert unit_of(made, 1).mechanism.springs[0].rate_n_per_mm == 1.4
    assert made.states[0].changes[0].how == "from"
    line = made.history[-1]
    assert (line.what, line.before_session, line.after_session) == ("Primary fitted", 1, 2)


def test_the_prediction_is_of_the_state_that_the_session_was_read_in(docket):
    made = with_session_after(docket, fresh(docket), 0, "Primary fitted")
    speeds = np.linspace(300, 2500, 12)
    for session, mechanism in ((0, docket.mechanism), (1, fresh(docket).mechanism)):
        found = outcome(made, session)
        assert found.docket is made
        expected = predict(mechanism).advance_deg(speeds)
        np.testing.assert_allclose(found.prediction.advance_deg(speeds), expected)


def test_a_bend_is_taken_back_by_its_amount_with_what_a_hand_adds(docket):
    made = with_new_state(docket, put(docket, TANG, 0.6), "Post bent")
    change = made.states[0].changes[0]
    assert (change.how, change.amount, change.u["amount"]) == ("by", 0.6, 0.1)
    corrected = put(made, TANG, 0.8)  # measured again
    assert unit_of(corrected, 0).mechanism.springs[0].tang_mm == pytest.approx(0.2)


def test_a_correction_of_what_nobody_altered_holds_for_all_states(docket):
    made = with_session_after(docket, fresh(docket), 0, "Primary fitted")
    corrected = put(made, ("mechanism", "weights", "mass_g"), 30.0)
    assert [unit_of(corrected, s).mechanism.weights.mass_g for s in (0, 1)] == [30.0, 30.0]


def test_figures_found_in_an_earlier_state_correct_what_was_the_same_then(docket):
    made = with_session_after(docket, fresh(docket), 0, "Primary fitted")
    bent = with_new_state(
        put(made, ("sessions", 1, "readings"), READ), put(made, TANG, 0.5), "Post bent"
    )
    unit = unit_of(bent, 0)
    for path, value in ((RATE, 0.7), (TANG, 0.1), (("mechanism", "stop_deg"), 12.5)):
        unit = put(unit, path, value)
    after = with_corrected(bent, 0, unit)
    assert unit_of(after, 0).mechanism.springs[0].rate_n_per_mm == 0.7
    assert after.mechanism.springs[0].rate_n_per_mm == 1.4  # the fresh one is another spring
    assert after.mechanism.springs[0].tang_mm == pytest.approx(0.6)
    assert unit_of(after, 0).mechanism.springs[0].tang_mm == pytest.approx(0.1)
    assert {unit_of(after, s).mechanism.stop_deg for s in (0, 1)} == {12.5}


def test_before_the_first_reading_nothing_is_kept_apart(docket):
    unread = docket.with_changes(sessions=(Session(title="As found"),))
    assert with_session_after(unread, fresh(unread), 0, "Fitted") == fresh(unread)
    made = with_session_after(docket, fresh(docket), 0, "Primary fitted")
    again = with_session_after(made, fresh(made, 1.6), 1, "Another")
    assert (len(again.states), len(again.sessions)) == (1, 2)
    assert again.states[0].title == "Primary fitted; Another"
    assert unit_of(again, 0).mechanism == docket.mechanism


def test_a_spring_newly_there_is_not_in_the_state_before(docket):
    more = docket.mechanism.with_changes(
        springs=(*docket.mechanism.springs, docket.mechanism.springs[0])
    )
    made = with_new_state(docket, docket.with_changes(mechanism=more), "A third")
    assert unit_of(made, 0).mechanism == docket.mechanism


def test_states_are_kept_in_the_file(docket):
    made = with_session_after(docket, fresh(docket), 0, "Primary fitted", "2031-05-01")
    again = docket_from_text(docket_to_text(made))
    assert again == made


@pytest.mark.parametrize("how", ["by", "from", "added"])
@pytest.mark.parametrize("path", [
    "", "mechanism", "capsules", "capsules[0]", "mechanism.springs", "mechanism.springs[0]",
    "mechanism.springs[7].rate_n_per_mm", "mechanism.weights.build", "particulars.drive_ratio",
    "sessions[0]", "target.points", "mechanism.springs[0].rate_n_per_mm.real",
])  # fmt: skip
def test_a_file_may_say_any_change_and_the_rest_of_the_docket_stands(docket, path, how):
    change = StateChange(path=path, how=how, amount=0.1)
    made = docket.with_changes(
        states=(UnitState(changes=(change,)),), sessions=(*docket.sessions, Session(state=1))
    )
    unit = unit_of(made, 0)
    springs = unit.mechanism.springs
    if (how, path) == ("added", "mechanism.springs[0]"):
        assert springs == docket.mechanism.springs[1:]
    else:
        assert unit.mechanism == docket.mechanism
    assert unit.with_changes(mechanism=made.mechanism) == made
    assert not [p for p in outcome(made, 0).problems if p.code == "not-computed"]


@pytest.mark.parametrize("gone", [0, 1])
def test_a_spring_taken_out_leaves_the_other_the_figures_it_had(docket, gone):
    docket = put(docket, SPRINGS, (plain().springs[0], plain().springs[0].with_changes(label="b")))
    fitted = put(fresh(docket), ("mechanism", "springs", 1, "rate_n_per_mm"), 3.0)
    made = with_session_after(docket, fitted, 0, "Both fitted")
    left = with_rows(made, SPRINGS, [1 - gone])
    assert left.mechanism.springs == (fitted.mechanism.springs[1 - gone],)
    assert unit_of(left, 0).mechanism.springs == (docket.mechanism.springs[1 - gone],)


def test_a_spring_doubled_was_two_in_every_state(docket):
    docket = put(docket, SPRINGS, plain().springs[:1])
    made = with_session_after(docket, fresh(docket), 0, "Fitted")
    made = with_rows(made, SPRINGS, [0, 0])
    assert made.mechanism.springs == 2 * fresh(docket).mechanism.springs
    assert unit_of(made, 0).mechanism.springs == 2 * docket.mechanism.springs
