"""``predict`` and ``verdict``: exact field names, plain numbers, one line for what is wrong."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from bobweight.__main__ import main
from bobweight.app.command_line.answers import decided, judged_answer, prediction_answer
from bobweight.app.command_line.plain_text import verdict_text
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.file import read_docket, write_docket
from bobweight.core.docket.target import CheckPoint, Target
from bobweight.core.figure.view import View
from bobweight.core.judgement.answer import DECISIONS
from bobweight.core.judgement.compare import PointResult
from bobweight.core.judgement.outcome import outcome
from bobweight.core.mechanics.capsule import capsule_advance_deg
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put
from bobweight.core.statistics.conformity import Conformity
from tests.samples import sample

ROOT = Path(__file__).parents[2]
SAMPLES = sorted((ROOT / "sample_curves").glob("*.docket"))
DEMO = ROOT / "sample_curves" / "weak_primary.docket"
QUICK = ROOT / "sample_curves" / "motorcycle_twin.docket"
"""The sample that is judged soonest, for processes of their own."""


def told(capsys: pytest.CaptureFixture[str]) -> str:
    """The one line on standard error; nothing on standard output."""
    out, err = capsys.readouterr()
    assert out == ""
    assert err.endswith("\n") and err.count("\n") == 1
    assert err.startswith("bobweight: ")
    return err


def strict(text: str) -> dict:
    def refuse(name: str) -> None:
        raise AssertionError(f"{name} is not JSON")

    return json.loads(text, parse_constant=refuse)


def answer(capsys: pytest.CaptureFixture[str], *argv: str) -> dict:
    assert main(argv) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return strict(out)


@pytest.mark.parametrize("file", SAMPLES, ids=lambda path: path.name)
def test_predict_has_the_agreed_fields(file: Path, capsys: pytest.CaptureFixture[str]):
    found = answer(capsys, "predict", str(file), "--json", "--at", "0,700.5,1e3,9000")
    assert list(found) == [
        "format", "version",
        "rising", "falling", "start_rpm", "full_rpm", "full_deg", "jumps", "plateaus", "capsule",
        "at", "assumed",
    ]  # fmt: skip
    for branch in ("rising", "falling"):
        assert list(found[branch]) == ["speed_rpm", "advance_deg"]
        speeds, angles = (np.array(found[branch][key]) for key in ("speed_rpm", "advance_deg"))
        assert speeds.shape == angles.shape and speeds.dtype == float
        assert speeds[0] == 0 and (np.diff(speeds) >= 0).all() and (np.diff(angles) >= 0).all()
        assert speeds[-1] > found["full_rpm"]
    for jump in found["jumps"]:
        assert list(jump) == ["direction", "speed_rpm", "from_deg", "to_deg"]
        assert jump["direction"] in ("rising", "falling")
    for plateau in found["plateaus"]:
        assert list(plateau) == ["advance_deg", "from_rpm", "to_rpm"]
    for row in found["at"]:
        assert list(row) == [
            "speed_rpm", "rising_deg", "falling_deg", "u_deg", "u_rising_deg", "u_falling_deg",
        ]  # fmt: skip
        assert row["u_deg"] >= 0
    assert [row["speed_rpm"] for row in found["at"]] == [0, 700.5, 1000, 9000]
    assert found["at"][-1]["rising_deg"] == pytest.approx(found["full_deg"])
    if found["capsule"] is not None:
        assert list(found["capsule"]) == ["depression_kpa", "advance_deg"]


def test_predict_gives_what_the_core_gives(capsys: pytest.CaptureFixture[str]):
    docket = read_docket(DEMO)
    prediction = predict(docket.mechanism)
    found = answer(capsys, "predict", str(DEMO), "--json", "--at", "600,1200")
    assert found["start_rpm"] == prediction.start_rpm
    assert found["rising"]["speed_rpm"] == prediction.rising.speed_rpm.tolist()
    assert found["falling"]["advance_deg"] == prediction.falling.advance_deg.tolist()
    assert [row["falling_deg"] for row in found["at"]] == pytest.approx(
        list(prediction.advance_deg(np.array([600.0, 1200.0]), "falling"))
    )
    # the answer at a speed lies on the curve given beside it, within the width of a knot
    drawn = np.interp(1200.0, found["rising"]["speed_rpm"], found["rising"]["advance_deg"])
    assert found["at"][1]["rising_deg"] == pytest.approx(drawn, abs=0.05)
    depression = np.array(found["capsule"]["depression_kpa"])
    expected = capsule_advance_deg(docket.capsules[0], depression)
    assert found["capsule"]["advance_deg"] == pytest.approx(list(expected))


def test_without_at_there_is_no_at_and_without_a_capsule_it_is_null():
    docket = read_docket(DEMO)
    found = prediction_answer(put(docket, ("capsules", 0, "given_as"), "none"), "x")
    assert "at" not in found
    assert found["capsule"] is None


def test_numbers_are_plain_floats_and_never_nan():
    def look(value: object) -> None:
        if isinstance(value, dict):
            for inner in value.values():
                look(inner)
        elif isinstance(value, list):
            for inner in value:
                look(inner)
        elif isinstance(value, float):
            assert type(value) is float and math.isfinite(value)
        else:
            assert value is None or isinstance(value, str | int)

    for file in SAMPLES:
        docket = read_docket(file)
        look(prediction_answer(docket, "x", [0.0, 1e6]))
        look(judged_answer(*decided(docket, "x"), "x"))


@pytest.mark.parametrize("file", SAMPLES, ids=lambda path: path.name)
def test_verdict_has_the_agreed_fields(file: Path, capsys: pytest.CaptureFixture[str]):
    found = answer(capsys, "verdict", str(file), "--json")
    points = outcome(read_docket(file)).comparison.check_points
    assert len(found["check_points"]) == len(points) > 0
    for row, point in zip(found["check_points"], points, strict=True):
        assert list(row) == [
            "speed_rpm", "low_deg", "high_deg", "estimate_deg", "u_deg", "probability_inside",
            "verdict", "decision", "branch", "readings_deg", "u_readings_deg", "read_around",
        ]  # fmt: skip
        assert row["verdict"] in ("inside", "outside", "cannot tell")
        assert row["readings_deg"] == point.estimate_deg  # the local line's own opinion
        assert row["decision"] in DECISIONS
    assert found["judgement"]["decision"] in DECISIONS
    assert 0 <= found["judgement"]["probability_inside"] <= 1


def test_verdict_without_readings_cannot_tell():
    target = Target(points=(CheckPoint(speed_rpm=1000.0, least_deg=5.0),))
    row = judged_answer(*decided(Docket(target=target), "x"), "x")["check_points"][0]
    assert row == {
        "speed_rpm": 1000.0, "low_deg": 5.0, "high_deg": None, "estimate_deg": None, "u_deg": None,
        "probability_inside": None, "verdict": "cannot tell", "decision": "cannot be told",
        "branch": None, "readings_deg": None, "u_readings_deg": None, "read_around": False,
    }  # fmt: skip
    assert judged_answer(*decided(new_docket(), "x"), "x")["check_points"] == []


def test_verdict_tells_crank_figures_without_the_static(tmp_path, capsys):
    point = CheckPoint(speed_rpm=1000.0, least_deg=5.0, most_deg=6.0)
    target = Target(frame="crank-static", points=(point,))
    path = tmp_path / "unit.docket"
    write_docket(Docket(target=target), path)
    assert main(["verdict", str(path)]) == 2
    assert str(path) in told(capsys)


def test_text_for_reading_names_units(capsys: pytest.CaptureFixture[str]):
    assert main(["predict", str(DEMO), "--at", "1000"]) == 0
    out = capsys.readouterr().out
    prediction = predict(read_docket(DEMO).mechanism)
    assert f"{prediction.start_rpm:.0f} rev/min" in out
    assert f"{prediction.full_deg:.1f}°" in out
    assert main(["verdict", str(DEMO)]) == 0
    out = capsys.readouterr().out
    assert "outside" in out and "rev/min" in out
    table, _, rest = out.partition("\n\n")  # what follows the table is of test_decision.py
    target = read_docket(DEMO).target
    rows = table.splitlines()[1 : 3 + len(target.points) + len(target.vacuum_points)]
    assert rows[0].split()[0] == "<" and rows[-1].split()[1] == "kPa"
    assert [r.split()[0] for r in rows[1:7]][-1] == "ceiling"
    assert rest.strip()


@pytest.mark.parametrize(
    "argv",
    [
        ["predict"],
        ["predict", "no such.docket"],
        ["predict", "no such.docket", "--json"],
        ["no-such-command"],
        ["no such.docket"],
        ["predict", str(DEMO), "--at", "fast"],
        ["predict", str(DEMO), "--at", ""],
        ["predict", str(DEMO), "--at=-5"],
        ["predict", str(DEMO), "--at", "nan"],
        ["predict", str(DEMO), "--at", "1,200"],
        ["predict", str(DEMO), "--at", "1.200"],
        ["predict", str(DEMO), "--at", "1_000"],
        ["predict", str(DEMO), "--at", "600,"],
        ["predict", str(DEMO), "--at", "600 mm"],
        ["predict", str(DEMO), "--js"],
        ["predict", str(DEMO), str(DEMO)],
        ["verdict", str(ROOT)],
        ["verdict", str(ROOT / "pyproject.toml")],
        ["sheet", str(DEMO)],
        ["sheet", str(DEMO), "-o", "out.doc"],
        ["sheet", str(DEMO), "-o", "out.pdf", "--paper", "a3"],
        ["sheet", "no such.docket", "-o", "out.pdf"],
        ["sheet", str(DEMO), "-o", "out.pdf", "--before", "9"],
        ["springs", str(DEMO), "--stop-most", "9"],
        ["import", str(DEMO), "x.csv", "--as", "readings", "--columns", "speed_rpm=1:Hz:rpm"],
        ["tape", "--diameter", "140", "--cylinders", "3", "--order", "1-3-3", "-o", "out.pdf"],
        ["tape", "--diameter", "140 ± 1 mm", "-o", "out.pdf"],
        ["picture", str(DEMO), "-o", "out.png"],
        ["picture", str(DEMO), "--page", "readings", "-o", "out.jpg"],
        ["picture", str(DEMO), "--page", "readings", "--size", "5x5", "-o", "out.png"],
        ["picture", str(DEMO), "--page", "readings", "--size", "big", "-o", "out.png"],
        ["picture", str(DEMO), "--page", "readings", "--scale", "0", "-o", "out.png"],
        ["picture", str(DEMO), "--page", "readings", "--theme", "pink", "-o", "out.png"],
        ["picture", "no such.docket", "--page", "readings", "-o", "out.png"],
    ],
    ids=lambda argv: " ".join(Path(part).name for part in argv),
)
def test_bad_usage_and_bad_files_are_told_in_one_line(argv, capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    assert main(argv) == 2
    told(capsys)
    assert os.listdir(tmp_path) == []


def test_a_damaged_docket_is_told_with_its_place(tmp_path, capsys):
    path = tmp_path / "unit.docket"
    path.write_text('{"schema": 1, "mechanism": {"springs": [{"rate_n_per_mm": -1}]}}')
    assert main(["predict", str(path), "--json"]) == 2
    line = told(capsys)
    assert str(path) in line and "rate" in line.lower() and "0.001 N/mm" in line


def test_an_empty_docket_gives_a_curve_with_a_wide_band(tmp_path, capsys):
    # Blank is unknown, not missing: the trade's usual figures stand in, and are named.
    path = tmp_path / "unit.docket"
    write_docket(new_docket(), path)
    assert main(["predict", str(path)]) == 0
    said = capsys.readouterr().out
    assert "primary spring (" in said and "mechanism." not in said
    found = answer(capsys, "predict", str(path), "--json", "--at", "300,1000,2500")
    u = [row["u_deg"] for row in found["at"]]
    assert {"mechanism.weights.mass_g", "mechanism.weights.count"} <= set(found["assumed"])
    # which way it turns and its lobes bear on no curve
    assert all(path.startswith("mechanism.") for path in found["assumed"])
    judged = answer(capsys, "verdict", str(path), "--json")
    assert "mechanism.weights.count" in judged["judgement"]["assumed"]
    assert u[1] > 1.0
    narrow = answer(capsys, "predict", str(DEMO), "--json", "--at", "300,1000,2500")
    assert narrow["assumed"] == [] and narrow["at"][1]["u_deg"] < u[1]


def test_speeds_may_have_units_and_semicolons(capsys):
    found = answer(capsys, "predict", str(DEMO), "--json", "--at", "600 rpm; 20 Hz; 1e300")
    assert [row["speed_rpm"] for row in found["at"]] == [600.0, 1200.0, 1e300]


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere a name is text")
def test_a_name_that_is_no_text_leaves_json_that_is(tmp_path):
    name = os.fsdecode(bytes(tmp_path) + b"/n\xff.docket")
    write_docket(read_docket(DEMO), name)
    told = process("check", name, "--json").stdout
    assert json.loads(told)["files"][0]["file"] == name


def test_help_and_version_are_no_error(capsys: pytest.CaptureFixture[str]):
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    assert all(name in out for name in ("predict", "verdict", "sheet", "picture"))
    assert main(["picture", "--help"]) == 0
    assert main(["--version"]) == 0


def process(*argv: str, code: str = "", **environment: str) -> subprocess.CompletedProcess[str]:
    clean = {k: v for k, v in os.environ.items()
             if k not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")}  # fmt: skip
    command = ["-c", code, *argv] if code else ["-m", "bobweight", *argv]
    return subprocess.run(
        [sys.executable, *command], cwd=ROOT, env=clean | environment, capture_output=True,
        text=True, timeout=100,
    )  # fmt: skip


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="elsewhere there is a display")
@pytest.mark.parametrize(
    "environment", [{}, {"DISPLAY": ":4711"}, {"DISPLAY": "nonsense"},
                    {"WAYLAND_DISPLAY": "gone", "XDG_RUNTIME_DIR": "/nowhere"},
                    {"QT_QPA_PLATFORM": "xcb"}],
)  # fmt: skip
def test_without_a_display_it_says_so_and_names_the_commands(environment: dict[str, str]):
    result = process(**environment)
    assert (result.returncode, result.stdout) == (1, "")
    assert result.stderr.count("\n") == 1
    for word in ("display", "predict", "verdict", "sheet", "picture"):
        assert word in result.stderr


NO_QT = """
import sys
class Block:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {"PySide6", "shiboken6", "pyqtgraph"}:
            raise ImportError(name)
sys.meta_path.insert(0, Block())
from bobweight.__main__ import main
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.parametrize("command", ["predict", "verdict"])
def test_predict_and_verdict_work_where_qt_is_not(command: str):
    result = process(command, str(QUICK), "--json", code=NO_QT)
    assert (result.returncode, result.stderr) == (0, "")
    strict(result.stdout)


SLOW_TO_LOAD = """
import sys
from bobweight.__main__ import main
main(sys.argv[1:])
print([name for name in ("scipy", "numpy.ma", "statistics") if name in sys.modules])
"""


@pytest.mark.parametrize("sample", ["weak_primary", "vee_eight"])
def test_a_verdict_loads_nothing_that_takes_longer_than_it_helps(sample: str):
    result = process("verdict", str(DEMO.with_stem(sample)), code=SLOW_TO_LOAD)
    assert result.stdout.splitlines()[-1] == "[]"


@pytest.mark.skipif(os.name != "posix", reason="pipes of POSIX")
def test_a_reader_who_has_had_enough_is_no_fault():
    speeds = ",".join(str(speed) for speed in range(3000))  # more than a pipe holds
    command = f"{sys.executable} -m bobweight predict '{DEMO}' --json --at {speeds} | head -c 1"
    result = subprocess.run(
        ["bash", "-o", "pipefail", "-c", command], cwd=ROOT, capture_output=True, text=True,
        timeout=100,
    )  # fmt: skip
    assert (result.returncode, result.stdout, result.stderr) == (1, "{", "")


@pytest.mark.parametrize(("frame", "row", "shaft"), [
    ("distributor", ["1000", "5.0", "7.0", "6.5"], "Distributor speed"),
    ("crank", ["2000", "10.0", "14.0", "13.0"], "Engine speed and crank degrees without"),
    ("crank-static", ["2000", "18.0", "22.0", "21.0"], "Engine speed and crank degrees with "),
])  # fmt: skip
def test_the_table_printed_is_of_the_shaft_that_the_sentences_speak_of(frame, row, shaft):
    """Twice the distributor's at the crank of a four-stroke (common practice), 8° static on it."""
    text = verdict_text([_point()], View(frame, 2.0, static_deg=8.0))
    _, told, last = text.splitlines()
    assert told.replace("to ", "").split()[:4] == row and last.startswith(shaft)


def _point(**changes: Any) -> PointResult:
    made = PointResult("check", 0, 1000.0, None, 5.0, 7.0, None, None, None, 6.5, 0.2, 0.93,
                       Conformity.CANNOT_TELL, decision="looks inside")  # fmt: skip
    return replace(made, **changes)


def test_a_value_of_one_branch_says_so_and_what_was_not_read_is_not_merely_untold():
    """As the window's table has it: the word of the branch, and what the others stand for."""
    one = _point(decision="outside", estimate_deg=5.0, estimate_branch="falling",
                 predicted_deg=9.0, predicted_branch="rising", predicted_inside=False)  # fmt: skip
    both = _point(decision="cannot be told", reached=False)
    text = verdict_text([one, both], View())
    _, told, other, _, last = text.splitlines()
    assert told.split()[4:6] == ["falling", "5.0"] and other.split()[4] == "6.5"
    assert "✗ rising 9.0" in told
    assert other.endswith("not read")
    assert last == "The middle of both branches; rising or falling alone where that decides."


def test_start_ceiling_and_vacuum_stand_as_in_the_window():
    """A depression has no static on it: the capsule only adds (physics of the plate)."""
    start = _point(kind="start", speed_rpm=400.0, low_deg=-math.inf, high_deg=0.5)
    check = _point(speed_rpm=400.0, high_deg=math.inf)
    ceiling = _point(kind="ceiling", speed_rpm=None, low_deg=-math.inf, high_deg=12.0)
    vacuum = _point(kind="vacuum", speed_rpm=None, depression_kpa=20.0, low_deg=2.0, high_deg=4.0)
    points, view = [start, check, ceiling, vacuum], View("crank-static", 2.0, static_deg=8.0)
    lines = [" ".join(line.split()) for line in verdict_text(points, view).splitlines()]
    starts = ["< 800 at most 9.0", "800 at least 18.0", "ceiling at most 32.0", "20 kPa 4.0 to 8.0"]
    assert [line[: len(said)] for line, said in zip(lines[1:5], starts, strict=True)] == starts
    assert "capsule alone" in lines[5]


def test_every_point_that_is_judged_stands_in_the_answer():
    docket = sample("retard_capsule")
    answer = judged_answer(*decided(docket, "x", with_fit=False), "x")
    target = docket.target
    assert len(answer["check_points"]) == len(target.points)
    kinds = [p["kind"] for p in answer["other_points"]]
    wanted = ["start"] * (target.no_advance_below_rpm is not None)
    wanted += ["ceiling"] * (target.ceiling_deg is not None)
    assert kinds == wanted + ["vacuum"] * len(target.vacuum_points)
    assert "ceiling" in kinds
