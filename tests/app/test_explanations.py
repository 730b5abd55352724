"""Every key and code of a decision has words, and the words carry the numbers."""

import re

import pytest

from app.display import Display
from app.messages.decision_table import ACTIONS, ALTERATIONS, CHECKS, EXPLANATIONS, STATES
from app.messages.explanations import (
    explanation_name,
    explanation_sentence,
    next_reading_sentence,
    step_sentence,
)
from core.judgement.advise import Advice, Candidate
from core.judgement.alter import Step
from core.judgement.alter_catalogue import catalogue
from core.judgement.decision import ACTIONS as CORE_ACTIONS
from core.judgement.diagnose import Explanation, FaultSize
from core.judgement.faults import NONE_OF_THESE, NOTHING_WRONG, PAIRS, faults_of
from tests.judgement.invented import CAPSULE, Wish, docket

UNIT = docket(Wish(), capsule=CAPSULE)


def test_every_fault_and_check_has_words():
    faults = faults_of(UNIT, 0, True)
    assert {f.key for f in faults} | {NOTHING_WRONG, NONE_OF_THESE} == set(EXPLANATIONS)
    assert {f.check_first for f in faults} <= set(CHECKS)
    assert set(ACTIONS) == set(CORE_ACTIONS)
    assert {a.key for a in catalogue(UNIT, UNIT, vacuum=True)} == set(ALTERATIONS)
    assert {"determined", "not-determined", "at-limit"} == set(STATES)
    for pair in PAIRS:
        assert " and " in explanation_name("+".join(pair))


def weak(**changes):
    size = FaultSize("primary_weak", ("mechanism", "springs", 0, "rate_n_per_mm"), -0.184, 0.04,
                     "share", 1.25, 1.02, 0.05, "N/mm")  # fmt: skip
    facts = {"name": "primary_weak", "side": "unit", "probability": 0.9, "log_evidence": -20.0}
    facts |= {"bic": 30.0, "sizes": (size,), "check_first": ("hang-primary",), "place": 1}
    return Explanation(**(facts | changes))


def test_sentence_carries_size_value_and_check():
    text = explanation_sentence(weak(alike=("primary_stretched",)))
    for part in ("Primary spring weak", "18\u00a0%", "1.02 ± 0.05", "1.25\u00a0N/mm",
                 "primary spring stretched", "Hang weights"):  # fmt: skip
        assert part in text
    assert not re.search(r"[{}]|nan|None", text)


@pytest.mark.parametrize("name", [NOTHING_WRONG, NONE_OF_THESE])
def test_sentence_without_a_fault(name):
    assert explanation_sentence(weak(name=name, sizes=(), check_first=())).endswith(".")


def test_missing_spring_and_forgotten_pipe_have_no_instead():
    gone = FaultSize("primary_missing", ("mechanism",), 0.0, 0.0, "", 1.2, 0.0, 0.0, "N/mm")
    pipe = FaultSize("pipe_left_on", (), 300.0, 20.0, "rpm", None, None, None, "rpm")
    assert "instead" not in explanation_sentence(weak(name="primary_missing", sizes=(gone,)))
    assert "300" in explanation_sentence(weak(name="pipe_left_on", sizes=(pipe,)))


def test_next_reading_and_steps(qapp):
    best = Candidate(2437.0, "falling", 20.0, 0.4, 0.2, ())
    display = Display()
    text = next_reading_sentence(Advice(best, True, ("stop_high", NOTHING_WRONG), (best,)), display)
    assert "2440" in text
    assert "falling" in text
    enough = next_reading_sentence(Advice(best, False, ("stop_high", NOTHING_WRONG), ()), display)
    assert "2440" not in enough
    step = Step("tang", "start", ("mechanism", "springs", 0, "tang_mm"), 0, 0.4, "mm", 0.95)
    assert step_sentence(step, UNIT) == "Bend the tang of the primary spring by +0.4\u00a0mm."
