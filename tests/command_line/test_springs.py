"""``springs``: exact field names, the tray named or the user's own, one line for what is wrong."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

import pytest

from bobweight.__main__ import main
from bobweight.app.store.tray_store import FILE_NAME
from bobweight.core.design.search import WORKS
from bobweight.core.design.tray import Tray
from bobweight.core.design.tray_file import write_tray
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.file import read_docket, write_docket
from bobweight.core.tables.export import write_table
from bobweight.core.tables.own import tray_rows
from tests.command_line.test_commands import schema_of
from tests.command_line.test_predict_and_verdict import DEMO, answer, strict, told
from tests.design.trays import tray_near

KEYS = ["work", "primary", "secondary", "primary_post_mm", "secondary_post_mm",
        "secondary_slack_mm", "stop_deg", "margin_deg", "probability_inside"]  # fmt: skip


@pytest.fixture(scope="module")
def tray() -> Tray:
    return tray_near(read_docket(DEMO).mechanism, 5, seed=4)


@pytest.fixture(scope="module")
def found(tray: Tray, tmp_path_factory: pytest.TempPathFactory) -> dict:
    """What the command answers for that tray."""
    path, out = tmp_path_factory.mktemp("tray") / "tin.tray", io.StringIO()
    write_tray(tray, path)
    with contextlib.redirect_stdout(out):
        assert main(["springs", str(DEMO), "--tray", str(path), "--top", "4", "--json"]) == 0
    return strict(out.getvalue())


def test_the_candidates_have_the_agreed_fields(tray: Tray, found: dict):
    schema_of("springs").validate(found)
    assert list(found) == ["format", "version", "candidates"]
    assert len(found["candidates"]) == 4
    labels = {spring.label for spring in tray.springs}
    for candidate in found["candidates"]:
        assert list(candidate) == KEYS
        assert {candidate["primary"], candidate["secondary"]} <= {*labels, None}
        assert 0 <= candidate["probability_inside"] <= 1
    ranks = [  # the least work first, then the most margin
        (WORKS.index(c["work"]), -round(c["margin_deg"], 2))
        for c in found["candidates"]
        if c["margin_deg"] >= 0
    ]
    assert ranks == sorted(ranks)


def test_a_table_serves_as_a_tray_and_gives_the_same(tray, found, tmp_path: Path, capsys):
    table = tmp_path / "tin.csv"
    write_table(tray_rows(tray), table)
    argv = ("springs", str(DEMO), "--tray", str(table), "--top", "4", "--json")
    assert answer(capsys, *argv) == found


def test_without_a_tray_named_the_user_s_own_is_searched(tray: Tray, tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("BOBWEIGHT_HOME", str(tmp_path))
    write_tray(tray, tmp_path / FILE_NAME)
    assert main(["springs", str(DEMO), "--top", "2"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 4
    assert lines[0].split()[:3] == ["work", "primary", "secondary"]
    assert lines[1].startswith(("1 ", "2 ")) and lines[1].endswith("%"), "as the window has it"


def test_what_is_wrong_is_told_in_one_line(tray: Tray, tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("BOBWEIGHT_HOME", str(tmp_path))
    assert main(["springs", str(DEMO)]) == 2  # an empty tray
    told(capsys)
    assert main(["springs", str(DEMO), "--tray", str(tmp_path / "gone.tray")]) == 2
    assert "gone.tray" in told(capsys)
    assert main(["springs", str(DEMO), "--tray", str(DEMO)]) == 2  # a docket is no tray
    told(capsys)
    assert main(["springs", str(DEMO), "--top", "0"]) == 2
    told(capsys)
    write_docket(new_docket(), tmp_path / "empty.docket")
    write_tray(tray, tmp_path / "tin.tray")
    command = ["springs", str(tmp_path / "empty.docket"), "--tray", str(tmp_path / "tin.tray")]
    assert main(command) == 2
    assert "empty.docket" in told(capsys)


def test_an_argument_beyond_its_limits_is_the_fault_of_no_file(capsys):
    assert main(["springs", str(DEMO), "--top", "0"]) == 2
    said = capsys.readouterr().err
    assert str(DEMO) not in said and "Top" in said
