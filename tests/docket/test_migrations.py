"""Steps from schema to schema run in order, each once."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bobweight.core.docket.file import docket_from_text, read_docket
from bobweight.core.docket.migrations import SCHEMA, STEPS, migrate, step
from bobweight.core.problems import BobweightError

SAMPLES = Path(__file__).parent / "dockets"


def test_there_is_a_step_from_each_older_schema_and_a_sample_of_each():
    assert set(STEPS) == set(range(1, SCHEMA))
    names = {path.name for path in SAMPLES.glob("schema_*.docket")}
    assert names == {f"schema_{number}.docket" for number in range(1, SCHEMA + 1)}


def test_steps_run_in_order_from_where_the_file_stands():
    def renamed(plain: dict) -> dict:
        return {"new" if key == "old" else key: value for key, value in plain.items()}

    def doubled(plain: dict) -> dict:
        return {**plain, "new": 2 * plain["new"]}

    steps = {1: renamed, 2: doubled}
    assert migrate({"schema": 1, "old": 4, "other": "kept"}, steps, 3) == {
        "new": 8,
        "other": "kept",
    }
    assert migrate({"schema": 2, "new": 4}, steps, 3) == {"new": 8}
    assert migrate({"schema": 3, "new": 4}, steps, 3) == {"new": 4}
    with pytest.raises(BobweightError, match="newer-schema"):
        migrate({"schema": 4}, steps, 3)


def test_two_steps_from_one_schema_are_refused(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setitem(STEPS, 7, dict)
    with pytest.raises(ValueError, match="two steps"):
        step(7)(dict)


def test_a_file_of_schema_1_reads_as_it_was():
    old = read_docket(SAMPLES / "schema_1.docket")
    primary, secondary = old.mechanism.springs
    assert (primary.post_on, primary.peg_on, secondary.peg_on) == ("plate", "cam", "cam")
    assert [c.full_kpa for c in old.capsules] == [45.0]
    assert old.capsules[0].fed_from == "manifold"  # it felt what every driving state had
    assert all(state.throttle == "open" for state in old.setting_up.states)


def test_springs_on_weights_of_schema_1_went_round_in_the_order_of_the_list():
    mounts = ("weight", "cam", "weight", "weight")
    for weights in ({"count": 2}, {}):  # two unless it was said
        plain = {
            "schema": 1,
            "mechanism": {"weights": weights, "springs": [{"mount": m} for m in mounts]},
        }
        springs = docket_from_text(json.dumps(plain)).mechanism.springs
        assert [s.peg_on for s in springs] == list(mounts)
        assert [s.weight for s in springs] == [1, 1, 2, 1]


@pytest.mark.parametrize(
    "odd", [{"mechanism": 3}, {"mechanism": {"springs": {}}}, {"capsule": []}, {"capsule": None},
            {"mechanism": {"springs": [7], "weights": 1}},
            {"mechanism": {"springs": [{"mount": "weight"}], "weights": {"count": "two"}}},
            {"mechanism": {"springs": [{"mount": "weight"}], "weights": {"count": -1}}}],
)  # fmt: skip
def test_a_broken_file_of_schema_1_is_told_by_the_reader(odd: dict):
    with pytest.raises(BobweightError):
        docket_from_text(json.dumps({"schema": 1, **odd}))


def test_noughts_of_schema_2_that_nobody_measured_are_blank():
    spring = {"role": "secondary", "slack_mm": 0.0}
    plain = {
        "schema": 2,
        "mechanism": {
            "heel_drag_nmm": 0, "stick_nmm": 2.0, "grip": 0.0,
            "springs": [spring, {**spring, "u": {"slack_mm": 0.1}}],
        },
        "sessions": [
            {"instrument": {"static_deg": 0.0}},
            {"instrument": {"static_deg": 0.0, "u": {"static_deg": 0.5}}},
            {"instrument": {"static_deg": 0.0, "kind": "rig"}},  # its ring stands at nought
        ],
    }  # fmt: skip
    read = docket_from_text(json.dumps(plain))
    mechanism = read.mechanism
    assert (mechanism.heel_drag_nmm, mechanism.stick_nmm, mechanism.grip) == (None, 2.0, 0.0)
    assert [s.slack_mm for s in mechanism.springs] == [None, 0.0]
    assert [s.instrument.static_deg for s in read.sessions] == [None, 0.0, 0.0]
    typed = docket_from_text(json.dumps({**plain, "schema": 3}))
    assert typed.mechanism.heel_drag_nmm == 0.0 and typed.mechanism.springs[0].slack_mm == 0.0


@pytest.mark.parametrize(
    "odd", [{"mechanism": {"stick_nmm": False}}, {"mechanism": {"springs": [None]}},
            {"sessions": [7]}, {"sessions": [{"instrument": []}]}],
)  # fmt: skip
def test_a_broken_file_of_schema_2_is_told_by_the_reader(odd: dict):
    with pytest.raises(BobweightError):
        docket_from_text(json.dumps({"schema": 2, **odd}))
