"""Steps from schema to schema run in order, each once."""

from __future__ import annotations

from pathlib import Path

import pytest

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
