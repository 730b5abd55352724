"""No page contradicts another: headline, act, reasons, table, sheet and command line say what one
record of a judgement says. A few dockets here; ``BOBWEIGHT_JUDGED=500`` for many."""

import os

import numpy as np
import pytest

from bobweight.app.command_line.answers import verdict_answer
from bobweight.app.messages.judgement import act_text, decision_text, judgement_sentence
from bobweight.app.paper.output import judged_options
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.judgement.answer import CANNOT_BE_TOLD, INSIDE, LIKELY, decision_word
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.judged import judged_outcome
from bobweight.core.judgement.outcome import outcome
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put
from bobweight.core.sheet.docket_sheet import docket_sheet
from tests.judgement.invented import Truth, docket, even_places, random_wish, read, with_readings

COUNT = int(os.environ.get("BOBWEIGHT_JUDGED", "4"))
ACTS = {"alter": "inside with", "leave-alone": "Nothing need be done", "read-more": "Read more",
        "measure-first": "Prove the measurement", "nothing-helps": "No alteration"}  # fmt: skip


def drawn(seed):
    rng = np.random.default_rng([seed, 41])
    d = docket(random_wish(rng))
    unit = d.mechanism
    fault = seed % 4
    if fault == 1:
        rate = unit.springs[0].rate_n_per_mm
        unit = put(unit, ("springs", 0, "rate_n_per_mm"), rate * rng.uniform(0.4, 0.8))
    if fault == 2:
        unit = put(unit, ("stop_deg",), unit.stop_deg + rng.uniform(1.0, 3.0))
    zero = 6.0 + (rng.uniform(3.0, 9.0) if fault == 3 else 0.0)
    places = even_places(predict(d.mechanism), int(rng.integers(6, 24)), high=rng.uniform(0.8, 1.2))
    d = with_readings(d, read(Truth(unit, zero_deg=zero), places, rng))
    return d.with_changes(mechanism=Mechanism()) if seed % 3 == 2 else d


@pytest.mark.parametrize("seed", range(COUNT))
def test_everything_said_is_said_of_one_record(seed):
    d = drawn(seed)
    known = outcome(d)
    decision = decide_docket(d, known=known)
    j = decision.judgement
    sentence = judgement_sentence(j)
    # headline and record
    assert decision_text(j) in sentence and act_text(j) in sentence
    word = decision_word(j.probability_inside)
    assert j.decision == word or (j.decision == CANNOT_BE_TOLD and j.probability_inside >= LIKELY)
    # action and record
    assert ACTS[j.action] in act_text(j)
    assert (j.action == "alter") <= bool(j.alterations)
    assert (j.decision == INSIDE) <= (j.action in ("leave-alone", "measure-first"))
    # the whole is no likelier than any of its points
    chances = [p.probability_inside for p in j.check_points if p.probability_inside is not None]
    assert j.probability_inside <= min(chances) + 1e-9
    # table, and what is printed
    table = judged_outcome(known, j).comparison
    assert table.decision == j.decision
    for row, point in zip(table.all_points, j.check_points, strict=True):
        if point.advance_deg is not None:
            assert row.estimate_deg == point.advance_deg and row.verdict is point.verdict
    options = judged_options(j)
    assert options.said == sentence
    assert docket_sheet(known, options=options).pages
    # the command line judges anew and says the same
    told = verdict_answer(d, "x")["judgement"]
    assert (told["decision"], told["action"]) == (j.decision, j.action)
    assert told["sentence"] == sentence
