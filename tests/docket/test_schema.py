"""The published JSON Schema is the one derived, and files and schema say the same."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.file import docket_from_text, docket_to_text
from bobweight.core.docket.migrations import SCHEMA, migrate
from bobweight.core.docket.schema import SCHEMA_FILE, json_schema, schema_text
from bobweight.core.docket.setting_up import SettingUp
from bobweight.core.problems import BobweightError
from bobweight.core.record import parameters
from tests.docket.test_file import VALIDATOR, WRONG

ROOT = Path(__file__).parents[2]
FILES = sorted([*(ROOT / "sample_curves").glob("*.docket"), *(ROOT / "tests").rglob("*.docket")])


def test_the_published_file_is_what_is_derived():
    assert SCHEMA_FILE.read_text(encoding="utf-8") == schema_text()


def test_it_is_a_valid_schema_by_its_metaschema():
    Draft202012Validator.check_schema(json_schema())


def test_a_number_is_described_with_unit_and_limits():
    spring = json_schema()["$defs"]["Spring"]["properties"]
    rate = spring["rate_n_per_mm"]
    assert (rate["title"], rate["x-unit"]) == ("Rate", "N/mm")
    assert (rate["minimum"], rate["maximum"]) == (0.001, 500.0)
    assert rate["type"] == ["number", "null"]
    assert spring["peg_on"]["enum"] == ["plate", "cam", "weight", "other"]
    u = spring["u"]["properties"]["rate_n_per_mm"]
    assert 0 < u["minimum"] < 1e-5 and u["maximum"] == 500.0 - 0.001


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_dockets_in_the_repository_are_valid(path: Path):
    plain = json.loads(path.read_text(encoding="utf-8"))
    VALIDATOR.validate({"schema": SCHEMA, **migrate(plain)})


BY_FILE_ONLY = {"key-twice", "not-finite"}  # no JSON, or not to be said in a schema
SAID_BY_BOTH = [row for row in WRONG if row[1] not in BY_FILE_ONLY and "\\ud800" not in row[0]]


@pytest.mark.parametrize(("inside", "code", "place"), SAID_BY_BOTH)
def test_what_the_reader_refuses_the_schema_refuses(inside: str, code: str, place: str):
    text = f'{{"schema": {SCHEMA}, {inside}}}'
    with pytest.raises(BobweightError):
        docket_from_text(text)
    assert not VALIDATOR.is_valid(json.loads(text))


def test_an_empty_docket_is_valid():
    VALIDATOR.validate(json.loads(docket_to_text(new_docket())))


def test_a_unit_is_set_up_with_its_pipe_off_unless_otherwise_said():
    """Common practice: pipe off and plugged, which is no depression; the field's tip says so."""
    (field,) = (p for k, p in parameters(SettingUp).items() if k == "wanted_kpa")
    assert SettingUp().wanted_taken_kpa == 0.0 and field.help.startswith("0: pipe off")
