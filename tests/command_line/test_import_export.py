"""``bobweight import`` and ``export``: what is understood, what is written, and the status."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bobweight.__main__ import main
from bobweight.core.design.tray import Tray, TraySpring
from bobweight.core.design.tray_file import read_tray, write_tray
from bobweight.core.docket.file import read_docket, write_docket

DEMO = Path(__file__).resolve().parents[2] / "sample_curves" / "weak_primary.docket"


@pytest.fixture
def table(tmp_path):
    def make(text: str, name: str = "table.csv") -> str:
        path = tmp_path / name
        path.write_bytes(text.encode())
        return str(path)

    return make


def answer(capsys, *arguments: str, status: int = 0) -> dict:
    assert main([*arguments, "--json"]) == status
    return json.loads(capsys.readouterr().out)


def test_columns_and_rows_are_told_and_nothing_is_written(table, capsys, tmp_path):
    before = DEMO.read_bytes()
    found = answer(
        capsys, "import", str(DEMO), table("No,rpm,rising,x\n1,1200,12,\n2,abc,13,\n"), "--as",
        "readings",
    )  # fmt: skip
    assert (found["format"], found["version"], found["sure"]) == ("bobweight.import", 1, True)
    assert [(c["index"], c["meaning"], c["frame"], c["unit"], c["sure"]) for c in found["columns"]][
        :3
    ] == [
        (1, "row_number", None, None, True),
        (2, "speed_rpm", "crank", "rev/min", True),
        (3, "rising_deg", "crank-static", "°", True),
    ]
    assert found["rows"][0]["row"] == 2
    stored = found["rows"][0]["stored"]
    assert (stored["speed_rpm"], stored["angle_deg"], stored["direction"]) == (1200, 12, "rising")
    assert found["rows"][1]["problem"]["code"] == "not-a-number"
    assert "abc" in found["rows"][1]["problem"]["sentence"]
    assert DEMO.read_bytes() == before and [p.name for p in tmp_path.iterdir()] == ["table.csv"]


def test_what_is_not_sure_stops_and_is_taken_once_it_is_said(table, capsys, tmp_path):
    text, out = table("1200,12\n1500,14\n"), tmp_path / "out.docket"
    arguments = ("import", str(DEMO), text, "--as", "readings", "-o", str(out))
    found = answer(capsys, *arguments, status=2)
    assert not found["sure"] and not out.exists() and found["written"] is None
    assert [c["sure"] for c in found["columns"]] == [False, False]
    said = ("--columns", "speed_rpm=1,angle_deg=2")
    assert answer(capsys, *arguments, *said)["written"] == str(out)
    before, after = read_docket(DEMO).sessions[-1].readings, read_docket(out).sessions[-1].readings
    assert after[: len(before)] == before
    assert [(r.speed_rpm, r.angle_deg) for r in after[len(before) :]] == [(1200, 12), (1500, 14)]
    assert main([*arguments, *said]) == 1  # the file is there now
    assert main([*arguments, *said, "--force"]) == 0


def test_units_and_frames_may_be_said(table, capsys):
    text = table("20,2,5\n")
    found = answer(
        capsys, "import", str(DEMO), text, "--as", "readings", "--columns",
        "speed_rpm=1:Hz,angle_deg=2:distributor,depression_kpa=3:inHg",
    )  # fmt: skip
    static = read_docket(DEMO).sessions[-1].instrument.static_deg
    stored = found["rows"][0]["stored"]
    assert (stored["speed_rpm"], stored["angle_deg"]) == (1200.0, 2 * 2 + static)
    assert stored["depression_kpa"] == pytest.approx(16.931945)


def test_targets_vacuum_points_and_trays_are_taken(table, capsys, tmp_path):
    out = tmp_path / "out.docket"
    text = table("distributor rpm,distributor deg\n500,nil\n1800,9-11\n")
    assert main(["import", str(DEMO), text, "--as", "target", "-o", str(out)]) == 0
    target = read_docket(out).target
    assert len(target.points) == len(read_docket(DEMO).target.points) + 1
    assert target.no_advance_below_rpm is not None
    text = table("inHg,distributor deg\n5,2-3\n")
    capsys.readouterr()
    assert answer(capsys, "import", str(DEMO), text, "--as", "target")["as"] == "vacuum"
    tray = tmp_path / "tin.tray"
    write_tray(Tray(springs=(TraySpring(label="old", rate_n_per_mm=1.0),)), tray)
    text = table("Tin;rate (lb/in)\nA;10\n")
    more = tmp_path / "more.tray"
    assert main(["import", str(tray), text, "--as", "tray", "-o", str(more)]) == 0
    assert [s.label for s in read_tray(more).springs] == ["old", "A"]


@pytest.mark.parametrize(
    ("extra", "status"),
    [(("--columns", "speed=1"), 2), (("--columns", "speed_rpm"), 2),
     (("--columns", "speed_rpm=9"), 2), (("--session", "7"), 2), (("--sheet", "x"), 0),
     (("--columns", "speed_rpm=1:km"), 2)],
)  # fmt: skip
def test_wrong_arguments_are_told_in_one_line(table, capsys, extra, status):
    text = table("rpm,deg\n1200,12\n")
    assert main(["import", str(DEMO), text, "--as", "readings", *extra]) == status
    assert len(capsys.readouterr().err.splitlines()) == (1 if status else 0)


@pytest.mark.parametrize("text", ["", "\n\n", "rpm,deg\n", "\0\1\2" * 50])
def test_a_table_with_nothing_in_it_is_told(table, capsys, text):
    assert main(["import", str(DEMO), table(text), "--as", "readings"]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_the_docket_itself_is_never_written_over(table, capsys, tmp_path):
    mine = tmp_path / "mine.docket"
    mine.write_bytes(DEMO.read_bytes())
    text = table("rpm,deg\n1200,12\n")
    arguments = ["import", str(mine), text, "--as", "readings", "-o", str(mine), "--force"]
    assert main(arguments) == 1
    assert mine.read_bytes() == DEMO.read_bytes()


@pytest.mark.parametrize("what", ["readings", "target", "vacuum", "curve", "verdict"])
def test_export_writes_each_table(what, tmp_path, capsys):
    for suffix in ("csv", "xlsx"):
        out = tmp_path / f"{what}.{suffix}"
        assert main(["export", str(DEMO), "--what", what, "-o", str(out)]) == 0
        assert out.stat().st_size > 20
        assert main(["export", str(DEMO), "--what", what, "-o", str(out)]) == 1
    assert main(["export", str(DEMO), "--what", what, "-o", str(tmp_path / "x.doc")]) == 2


def test_readings_go_out_and_come_back_the_same(tmp_path, capsys):
    out, back = tmp_path / "r.csv", tmp_path / "back.docket"
    assert main(["export", str(DEMO), "--what", "readings", "-o", str(out)]) == 0
    assert main(["import", str(DEMO), str(out), "--as", "readings", "-o", str(back)]) == 0
    readings = read_docket(back).sessions[-1].readings
    assert readings == read_docket(DEMO).sessions[-1].readings * 2


def test_what_is_of_no_session_is_written_where_there_is_none(tmp_path, capsys):
    unread = tmp_path / "unread.docket"
    write_docket(read_docket(DEMO).with_changes(sessions=()), unread)
    for what in ("target", "vacuum", "curve"):
        held, out = tmp_path / f"held-{what}.csv", tmp_path / f"{what}.csv"
        assert main(["export", str(DEMO), "--what", what, "-o", str(held)]) == 0
        assert main(["export", str(unread), "--what", what, "-o", str(out)]) == 0
        assert out.read_bytes() == held.read_bytes()
    for asked in (["readings"], ["verdict"], ["curve", "--session", "1"]):
        out = tmp_path / "none.csv"
        assert main(["export", str(unread), "--what", *asked, "-o", str(out)]) == 2
        assert "no session 1" in capsys.readouterr().err and not out.exists()
