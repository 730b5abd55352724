"""Whatever is in the window can be written, read back and computed: limits hold at the door."""

from __future__ import annotations

import json
import time
import tracemalloc

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bobweight.app.store import Store
from bobweight.core.docket import entry
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.entry import Gate
from bobweight.core.docket.file import docket_from_text, docket_to_text
from bobweight.core.docket.plain import check_plain, parse_json
from bobweight.core.docket.readings import Reading, Session
from bobweight.core.judgement.outcome import outcome
from bobweight.core.problems import BobweightError
from bobweight.core.record import put, put_uncertainty
from tests.samples import sample

STATIC = ("sessions", 0, "instrument", "static_deg")


def refused(call, *arguments) -> str:
    with pytest.raises(BobweightError) as caught:
        call(*arguments)
    return caught.value.problem.code


@pytest.mark.parametrize(
    ("u", "code"),
    [(1e300, "uncertainty-above-limit"), (91.0, "uncertainty-above-limit"),
     (1e-200, "uncertainty-below-limit"), (float("inf"), "uncertainty-above-limit"),
     (float("nan"), "uncertainty-not-positive")],
)  # fmt: skip
def test_an_uncertainty_is_bounded_wherever_it_comes_from(u, code):
    docket = new_docket()
    assert refused(put_uncertainty, docket, STATIC, u) == code
    instrument = docket.sessions[0].instrument.with_changes(u={"static_deg": u})
    changed = put(docket, STATIC[:-1], instrument)
    store = Store(docket)
    assert refused(store.replace, "x", changed) == code
    assert store.docket is docket
    store.release()
    plain = json.loads(docket_to_text(docket))
    plain["sessions"][0]["instrument"]["u"] = {"static_deg": u}
    if u < 1e301:
        assert refused(docket_from_text, json.dumps(plain)) == code


@pytest.mark.parametrize("u", [90.0, 1e-8])
def test_an_uncertainty_at_its_limit_is_computed(u):
    docket = put_uncertainty(sample("weak_primary"), STATIC, u)
    assert outcome(docket).comparison is not None


def test_more_readings_than_a_file_holds_are_not_let_in():
    rows = (Reading(speed_rpm=1000.0, angle_deg=10.0),) * 20_001
    store = Store(new_docket())
    changed = put(store.docket, ("sessions", 0, "readings"), rows)
    assert refused(store.replace, "x", changed) == "list-too-long"
    store.release()


def test_a_docket_too_large_to_be_read_again_is_not_let_in():
    store = Store(new_docket())
    text = "x" * 1_900_000
    most = entry.SIZE_LIMIT // len(text)
    for number in range(most + 1):
        session = Session(title=text, date=str(number))
        changed = store.docket.with_changes(sessions=(*store.docket.sessions, session))
        if number < most:
            store.replace("x", changed)
    assert refused(store.replace, "x", changed) == "docket-too-large"
    assert docket_from_text(docket_to_text(store.docket)) == store.docket
    store.release()


def test_more_records_than_a_file_holds_are_refused_by_count(monkeypatch):
    rows = ",".join(["{}"] * 20_000)
    sessions = ",".join([f'{{"readings": [{rows}]}}'] * 6)
    text = f'{{"schema": 1, "sessions": [{sessions}]}}'
    assert refused(docket_from_text, text) == "too-many-records"


def test_what_stayed_is_not_looked_at_again(monkeypatch):
    gate, docket = Gate(), sample("weak_primary")
    gate.check(docket)
    looked = []
    monkeypatch.setattr(entry, "_plain_size", lambda p, v: looked.append(p.key) or 0)
    changed = put(docket, ("sessions", 0, "readings", 0, "note"), "seen")
    gate.check(changed)
    assert len(looked) < 30  # of a thousand: the row, its session and the docket
    looked.clear()
    gate.check(put(changed, ("particulars", "title"), "other"))
    gate.check(put(changed, ("sessions", 0, "readings", 1, "note"), "seen"))
    assert len(looked) < 60


def test_a_key_written_twice_among_many_is_told_at_once():
    keys = ",".join(f'"k{i}":0' for i in range(60_000))
    text = f'{{"schema": 1, "other": {{{keys},"k59999":1}}}}'
    begun = time.perf_counter()
    with pytest.raises(BobweightError) as caught:
        parse_json(text)
    assert caught.value.problem.code == "key-twice"
    assert caught.value.problem.path == ("other", "k59999")
    assert time.perf_counter() - begun < 5  # a look at all keys before each takes a minute


NESTED = st.recursive(
    st.none() | st.floats() | st.text(max_size=3),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
)


@given(NESTED)
@settings(max_examples=200, deadline=None)
def test_every_place_of_plain_values_is_looked_at(value):
    bad = "nan" in repr(value) or "inf" in repr(value)
    try:
        check_plain([[value], 1, value])
    except BobweightError as error:
        assert error.problem.code == "not-finite"
        here = [[value], 1, value]
        for step in error.problem.path:
            here = here[step]
        assert here != here or abs(here) == float("inf")
    else:
        assert not bad or "'" in repr(value)


@pytest.mark.parametrize(
    "inside", [",".join(["{}"] * 600_000), ",".join(["1"] * 1_600_000)], ids=["records", "numbers"]
)
def test_a_file_of_millions_of_nothings_is_refused_before_it_is_built(inside):
    text = '{"schema": 2, "sessions": [' + inside + "]}"
    tracemalloc.start()
    with pytest.raises(BobweightError) as told:
        docket_from_text(text)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert told.value.problem.code == "too-many-records" and peak < 3 * len(text)


def test_braces_and_commas_in_a_text_are_no_records():
    notes = "{[," * 600_000
    docket = put(new_docket(), ("particulars", "notes"), notes)
    assert docket_from_text(docket_to_text(docket)) == docket
