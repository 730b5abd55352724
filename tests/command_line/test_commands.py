"""Every command with what it cannot do: one line, the right status, nothing written over; and what
several commands share: several files, standard input, the schema of the answers."""

from __future__ import annotations

import contextlib
import io
import json
import os
import shutil
from pathlib import Path

import jsonschema
import pytest
from referencing import Registry, Resource

from bobweight.__main__ import main
from bobweight.app.command_line import MODULES, find_command
from bobweight.app.command_line.answers import VERSIONS
from bobweight.app.command_line.completion import SHELLS, script
from bobweight.app.command_line.verdict import _passes
from bobweight.core.design.tray_file import write_tray
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.file import read_docket, write_docket
from bobweight.core.judgement.answer import DECISIONS
from bobweight.core.record import put
from tests.command_line.test_predict_and_verdict import DEMO, ROOT, answer, told
from tests.design.trays import tray_near

SCHEMAS = ROOT / "app" / "command_line" / "schemas"
SOUND = ROOT / "sample_curves" / "tractor_four.docket"
WRITING = {
    "sheet": ["sheet", "in.docket"],
    "tape": ["tape", "--diameter", "150"],
    "ring": ["ring"],
    "lamp-card": ["lamp-card", "in.docket"],
    "session-sheet": ["session-sheet", "in.docket"],
    "check-list": ["check-list", "in.docket"],
    "measuring-card": ["measuring-card"],
    "manual": ["manual"],
    "picture": ["picture", "in.docket", "--page", "readings"],
    "export": ["export", "in.docket", "--what", "readings"],
}
READING = {
    "predict": ["predict", "in.docket"],
    "verdict": ["verdict", "in.docket"],
    "check": ["check", "in.docket"],
    "springs": ["springs", "in.docket"],
}
SUFFIX = {"picture": ".png", "export": ".csv"}


@pytest.fixture(autouse=True)
def here(tmp_path, monkeypatch):
    """A folder of its own with a docket ``in.docket``."""
    shutil.copy(DEMO, tmp_path / "in.docket")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def everything(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def test_the_table_has_every_command_that_takes_a_file():
    assert set(WRITING) | set(READING) | {
        "completion",
        "import",
        "desktop",
        "manual-pictures",
    } == set(MODULES)
    assert [find_command(name).name for name in MODULES] == list(MODULES)


@pytest.mark.parametrize("argv", [*WRITING.values(), *READING.values()], ids=lambda a: a[0])
@pytest.mark.parametrize("wrong", ["--no-such-option", "extra"])
def test_wrong_arguments(argv, wrong, here, capsys):
    output = ["-o", f"out{SUFFIX.get(argv[0], '.pdf')}"] if argv[0] in WRITING else []
    before = everything(here)
    # a second file is a second docket where several are taken, and that one is missing
    assert main([*argv, wrong, *output]) == 2
    line = told(capsys) if argv[0] not in ("verdict", "check") or wrong[0] == "-" else ""
    assert not line or wrong in line
    assert everything(here) == before


@pytest.mark.parametrize(
    "argv",
    [a for a in (*WRITING.values(), *READING.values()) if "in.docket" in a],
    ids=lambda a: a[0],
)
@pytest.mark.parametrize("file", ["missing.docket", "folder", "broken.docket", ""])
def test_a_file_that_cannot_be_read(argv, file, here, capsys):
    (here / "folder").mkdir()
    (here / "broken.docket").write_text('{"schema": 1, "particulars": ')
    output = ["-o", f"out{SUFFIX.get(argv[0], '.pdf')}"] if argv[0] in WRITING else []
    before = everything(here)
    assert main([file if part == "in.docket" else part for part in argv] + output) == 2
    told(capsys)
    assert everything(here) == before


@pytest.mark.parametrize("name", WRITING)
def test_what_is_there_is_left_alone_unless_it_is_forced(name, here, capsys, qapp):
    out = here / f"out{SUFFIX.get(name, '.pdf')}"
    out.write_bytes(b"kept")
    assert main([*WRITING[name], "-o", str(out)]) == 1
    assert "--force" in told(capsys)
    assert out.read_bytes() == b"kept"


def test_force_writes_over_it(here, capsys, qapp):
    (here / "out.pdf").write_bytes(b"old")
    assert main([*WRITING["ring"], "-o", "out.pdf", "--force"]) == 0
    assert (here / "out.pdf").read_bytes().startswith(b"%PDF-")


@pytest.mark.parametrize("name", [key for key, argv in WRITING.items() if "in.docket" in argv])
@pytest.mark.parametrize("link", [os.symlink, os.link])
def test_a_docket_is_never_written_over_under_another_name(name, link, here, capsys):
    out = f"out{SUFFIX.get(name, '.pdf')}"
    link("in.docket", out)
    before = everything(here)
    assert main([*WRITING[name], "-o", out, "--force"]) == 1
    assert "read" in told(capsys)
    assert everything(here) == before


@pytest.mark.parametrize("name", WRITING)
@pytest.mark.parametrize("out", ["gone/out", "gone/../kept", "in.docket/out", "folder", "x" * 300])
def test_a_place_that_cannot_be_written_to(name, out, here, capsys, qapp):
    place = out + SUFFIX.get(name, ".pdf")
    (here / f"kept{SUFFIX.get(name, '.pdf')}").write_bytes(b"kept")
    if out == "folder":
        (here / place).mkdir()
    before = everything(here)
    assert main([*WRITING[name], "-o", place, "--force"]) == (2 if out == "folder" else 1)
    line = told(capsys)
    assert line.startswith(f"bobweight: {place}: ") and "Error" not in line
    assert everything(here) == before


@pytest.mark.parametrize("to", ["gone.pdf", "out.pdf"])
def test_a_link_that_leads_nowhere_is_something_that_is_there(to, here, capsys, qapp):
    (here / "out.pdf").symlink_to(to)
    assert main([*WRITING["ring"], "-o", "out.pdf"]) == 1
    assert "--force" in told(capsys)
    assert (here / "out.pdf").is_symlink() and not (here / "gone.pdf").exists()


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="of Linux")
def test_an_answer_that_there_is_no_room_for(here, capsys, monkeypatch):
    with open("/dev/full", "w") as full:
        monkeypatch.setattr("sys.stdout", full)
        assert main(["predict", "in.docket", "--json"]) == 1
        monkeypatch.undo()
        line = capsys.readouterr().err
        assert line.startswith("bobweight: standard output: ") and line.count("\n") == 1
        with contextlib.suppress(OSError):
            full.close()


@pytest.mark.parametrize(
    ("kind", "out"),
    [("readings", "out.pdf"), ("target", "out.tray"), ("tray", "out.docket"), ("readings", "out")],
)
def test_an_import_is_named_as_what_it_is(kind, out, here, capsys):
    (here / "t.csv").write_text("rpm,deg,rate N/mm\n1200,12,2\n")
    before = everything(here)
    assert main(["import", "in.docket", "t.csv", "--as", kind, "-o", out]) == 2
    assert ".tray" in (line := told(capsys)) or ".docket" in line
    assert everything(here) == before


@pytest.mark.parametrize("name", WRITING)
@pytest.mark.parametrize("out", ["in.docket", "out", "out.docket", "out.exe", ""])
def test_a_name_that_does_not_say_what_is_written(name, out, here, capsys):
    before = everything(here)
    assert main([*WRITING[name], "-o", out]) == 2
    told(capsys)
    assert everything(here) == before


# Several dockets, a session, standard input ------------------------------------------------------


def given(monkeypatch, data: bytes) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(data)))


def schema_of(kind: str) -> jsonschema.Draft202012Validator:
    registry = Registry()
    for path in SCHEMAS.glob("*.json"):
        registry = registry.with_resource(
            path.name, Resource.from_contents(json.loads(path.read_text()))
        )
    contents = json.loads((SCHEMAS / f"{kind}.schema.json").read_text("utf-8"))
    return jsonschema.Draft202012Validator(contents, registry=registry)


def test_every_answer_has_a_schema_that_is_a_schema():
    assert {path.name for path in SCHEMAS.iterdir()} == {f"{k}.schema.json" for k in VERSIONS}
    for kind, version in VERSIONS.items():
        schema = schema_of(kind).schema
        jsonschema.Draft202012Validator.check_schema(schema)
        assert schema["properties"]["format"]["const"] == f"bobweight.{kind}"
        assert schema["properties"]["version"]["const"] == version


@pytest.mark.parametrize("file", sorted((ROOT / "sample_curves").glob("*.docket")),
                         ids=lambda path: path.stem)  # fmt: skip
def test_every_sample_keeps_the_schemas(file, capsys):
    schema_of("verdict").validate(answer(capsys, "verdict", str(file), "--json"))
    schema_of("predict").validate(answer(capsys, "predict", str(file), "--json", "--at", "1000"))
    schema_of("check").validate(answer(capsys, "check", str(file), "--json"))


def test_verdict_keeps_its_schema_for_one_for_several_and_for_none(here, capsys):
    write_docket(new_docket(), "empty.docket")
    one = answer(capsys, "verdict", "in.docket", "--json")
    schema_of("verdict").validate(one)
    assert (one["file"], one["session"]) == ("in.docket", 1)
    schema_of("verdict").validate(answer(capsys, "verdict", "empty.docket", "--json"))
    both = answer(capsys, "verdict", "in.docket", "empty.docket", "--json")
    schema_of("verdicts").validate(both)
    assert both["verdicts"][0] == one
    with pytest.raises(jsonschema.ValidationError):
        schema_of("verdict").validate(one | {"check_points": [{"speed_rpm": "fast"}]})


def test_standard_input_is_a_docket(monkeypatch, capsys):
    given(monkeypatch, DEMO.read_bytes())
    found = answer(capsys, "predict", "-", "--json")
    assert found == answer(capsys, "predict", "in.docket", "--json")
    given(monkeypatch, b"{")
    assert main(["predict", "-"]) == 2
    assert "standard input" in told(capsys)


def test_a_session_is_named_by_its_number(here, capsys):
    docket = read_docket(DEMO)
    second = put(docket, ("sessions",), (*docket.sessions, docket.sessions[0]))
    write_docket(put(second, ("sessions", 1, "instrument", "static_deg"), 3.0), "two.docket")
    first = answer(capsys, "verdict", "two.docket", "--session", "1", "--json")
    last = answer(capsys, "verdict", "two.docket", "--json")
    assert (first["session"], last["session"]) == (1, 2)
    assert first["check_points"] != last["check_points"]
    for wrong in ("3", "0", "-1", "two"):
        assert main(["verdict", "two.docket", "--session", wrong]) == 2
        line = told(capsys)
        assert wrong in line and "…" not in line
    (here / "t.csv").write_text("rpm,deg\n1200,12\n")
    for argv in (["import", "two.docket", "t.csv", "--as", "readings"],
                 ["export", "two.docket", "--what", "readings", "-o", "out.csv"]):  # fmt: skip
        for wrong in ("3", "0", "-1"):
            assert main([*argv, "--session", wrong]) == 2
            assert f"no session {wrong.replace('-', '−')}:" in told(capsys).replace("-", "−")


def test_the_exit_code_is_0_for_the_words_that_say_inside():
    answers = [{"judgement": {"decision": word}} for word in DECISIONS]
    assert {a["judgement"]["decision"] for a in answers if _passes(a)} == {"inside", "looks inside"}


def test_the_exit_code_tells_whether_the_decision_is_inside(here, capsys):
    assert main(["verdict", "in.docket"]) == 0
    assert main(["verdict", "in.docket", "--exit-code"]) == 1
    wide = put(read_docket(DEMO), ("target", "points", 0, "least_deg"), 0.0)
    for row in range(len(wide.target.points)):
        wide = put(wide, ("target", "points", row, "least_deg"), -80.0)
        wide = put(wide, ("target", "points", row, "most_deg"), 110.0)
    write_docket(wide, "wide.docket")
    write_docket(Docket(), "empty.docket")
    assert main(["verdict", "wide.docket", "--exit-code"]) == 0
    assert main(["verdict", "empty.docket", "--exit-code"]) == 1  # nothing to be told
    assert main(["verdict", "wide.docket", "in.docket", "--exit-code"]) == 1
    assert main(["verdict", "wide.docket", "missing.docket", "--exit-code"]) == 2
    out, err = capsys.readouterr()
    assert "wide.docket" in out and err.count("\n") == 1 and "missing.docket" in err


def test_check_tells_what_hinders_and_what_is_odd(here, capsys):
    assert main(["check", "in.docket"]) == 0
    write_docket(put(read_docket(DEMO), ("mechanism", "stop_deg"), None), "lacks.docket")
    write_tray(tray_near(read_docket(DEMO).mechanism, 3, seed=4), "tin.tray")
    assert main(["check", "lacks.docket", "tin.tray"]) == 1
    assert "lacks.docket: ▲" in capsys.readouterr().out
    (here / "broken.docket").write_text("{")
    assert main(["check", "in.docket", "broken.docket"]) == 2
    _, err = capsys.readouterr()
    assert err.startswith("bobweight: broken.docket: ") and err.count("\n") == 1
    plain = json.loads(DEMO.read_text("utf-8"))
    plain["mechanism"]["springs"][0]["u"] = {"rate": 1.0}
    plain["colour"] = 1.0
    del plain["target"]["frame"], plain["target"]["points"][0]["least_deg"]
    (here / "odd.docket").write_text(json.dumps(plain))
    assert main(["check", "odd.docket"]) == 0
    out = capsys.readouterr().out
    assert "stands for them: target.frame (distributor).\n" in out
    assert "△ “colour”" in out and "△ “mechanism.springs[0].u.rate”" in out


@pytest.mark.parametrize("shell", SHELLS)
def test_completion_knows_every_command(shell, capsys):
    made = script(shell)
    assert all(name in made for name in MODULES)
    assert "--exit-code" in made
