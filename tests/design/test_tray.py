"""The tray: its file, its table, and its springs hooked into a mechanism."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings

from bobweight.core.design.tray import (
    Tray,
    TraySpring,
    from_docket,
    hooked_in,
    tray_problems,
    usable_rows,
)
from bobweight.core.design.tray_file import (
    read_tray,
    tray_from_text,
    tray_to_text,
    write_tray,
)
from bobweight.core.design.wire import MATERIALS, HookRule
from bobweight.core.docket.mechanism import Spring
from bobweight.core.docket.spring_source import (
    HOOK_RULES,
    WIRES,
    HangRow,
    HangTestRecord,
    SpringSource,
)
from bobweight.core.problems import BobweightError
from tests.strategies import records

HUNG = TraySpring(
    label="A, green paint", count=3, rate_n_per_mm=1.25, initial_tension_n=0.4,
    free_length_mm=21.5, note='from the "seized" unit', u={"rate_n_per_mm": 0.02},
    source=SpringSource(
        known_from="hang", note="bag 4",
        hang_test=HangTestRecord(rows=(HangRow(load_n=0.0, length_mm=21.5),
                                       HangRow(load_n=2.0, length_mm=22.78))),
    ),
)  # fmt: skip


@given(records(Tray, strangers=True))
@settings(max_examples=60, deadline=None)
def test_any_tray_comes_back_from_its_text(tray):
    assert tray_from_text(tray_to_text(tray)) == tray


def test_the_file_is_saved_and_read_and_may_be_missing(tmp_path):
    path = tmp_path / "tray.json"
    assert read_tray(path) == Tray()
    tray = Tray(springs=(HUNG,))
    write_tray(tray, path)
    assert read_tray(path) == tray
    assert [p.name for p in tmp_path.iterdir()] == ["tray.json"]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "empty-file"),
        ("{}", "not-a-tray"),
        ('{"schema": 1, "particulars": {}}', "not-a-tray"),
        ('{"kind": "tray", "schema": 99}', "newer-schema"),
        ('{"kind": "tray", "schema": "x"}', "bad-schema"),
        ('{"kind": "tray", "schema": 1, "springs": [{"rate_n_per_mm": -2}]}', "below-limit"),
        ('{"kind": "tray", "schema": 1, "springs": [{"count": 1.5}]}', "not-whole"),
    ],
)
def test_a_damaged_file_is_refused_with_its_reason(tmp_path, text, code):
    path = tmp_path / "tray.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BobweightError) as told:
        read_tray(path)
    assert told.value.problem.code == code
    assert told.value.problem.facts["file"] == str(path)


def test_keys_of_a_later_version_are_kept():
    text = '{"kind": "tray", "schema": 1, "springs": [{"label": "a", "colour": "red"}]}'
    kept = json.loads(tray_to_text(tray_from_text(text)))
    assert kept["springs"][0]["colour"] == "red"


def test_a_docket_keeps_its_own_copy_of_a_spring():
    place = Spring(role="secondary", rate_n_per_mm=9.0, free_length_mm=24.0, post_radius_mm=20.0,
                   slack_mm=1.0, u={"post_radius_mm": 0.1, "rate_n_per_mm": 0.5})  # fmt: skip
    hooked = hooked_in(place, HUNG, tang_mm=0.7)
    assert (hooked.rate_n_per_mm, hooked.free_length_mm) == (1.25, 21.5)
    assert (hooked.post_radius_mm, hooked.slack_mm, hooked.tang_mm) == (20.0, 1.0, 0.7)
    assert hooked.u == {"post_radius_mm": 0.1, "rate_n_per_mm": 0.02}
    assert hooked.source.hang_test.rows[1].load_n == 2.0
    back = from_docket(hooked)
    assert (back.label, back.rate_n_per_mm, back.source) == (HUNG.label, 1.25, HUNG.source)


def test_springs_that_cannot_be_tried_are_told():
    tray = Tray(springs=(HUNG, TraySpring(label="A, green paint"), HUNG.with_changes(count=0)))
    assert usable_rows(tray) == [0]
    assert {p.code for p in tray_problems(tray)} >= {"missing", "label-twice"}


def test_wires_and_hook_rules_are_those_of_the_formulas():
    assert set(WIRES) == set(MATERIALS)
    assert set(HOOK_RULES) == {rule.value for rule in HookRule}
