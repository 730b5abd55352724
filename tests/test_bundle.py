"""The bundle with its own Python: built from the recipe, started where neither this checkout nor
its environment can help, and made to do what the program is for. Linux; elsewhere not tested."""

from __future__ import annotations

import ast
import importlib.util
import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from bobweight.app.command_line import MODULES

ROOT = Path(__file__).parents[1]
BUNDLE = ROOT / "build" / "bundle"
MOST_MB = 330
pytestmark = [
    pytest.mark.slow,
    pytest.mark.timeout(900),
    pytest.mark.skipif(not sys.platform.startswith("linux"), reason="tested on Linux alone"),
    pytest.mark.skipif(importlib.util.find_spec("PyInstaller") is None, reason="no PyInstaller"),
]


@pytest.fixture(scope="module")
def program() -> Path:
    done = subprocess.run(
        [sys.executable, ROOT / ".bundle" / "build.py"], cwd=ROOT, capture_output=True, text=True,
        timeout=880,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return BUNDLE / "dist" / "bobweight" / "bobweight"


@pytest.fixture
def run(program, tmp_path):
    """Starts it with an empty environment."""
    variables = {
        "PATH": "/usr/bin:/bin", "HOME": str(tmp_path), "BOBWEIGHT_HOME": str(tmp_path / "own"),
        "XDG_DATA_HOME": str(tmp_path / "data"), "LANG": "C.UTF-8",
    }  # fmt: skip

    def started(*argv: object) -> str:
        done = subprocess.run(
            [program, *map(str, argv)], env=variables, cwd=tmp_path, capture_output=True, text=True,
            timeout=110,
        )  # fmt: skip
        assert (done.returncode, done.stderr) == (0, ""), done.stderr
        return done.stdout

    return started


@pytest.fixture(scope="module")
def docket(program) -> Path:
    (found,) = program.parent.rglob("weak_primary.docket")
    return found


def test_it_does_the_main_job(run, docket, tmp_path):
    assert run("--version").startswith("bobweight ")
    assert json.loads(run("predict", docket, "--json"))["full_deg"] > 5
    assert json.loads(run("verdict", docket, "--json"))["explanations"][0]["name"] == "primary_weak"
    run("check", docket)
    run("sheet", docket, "-o", "sheet.pdf", "--pages", "2")
    run("tape", "--diameter", "150", "-o", "tape.svg")
    run("export", docket, "--what", "readings", "-o", "readings.xlsx")
    run("import", docket, "readings.xlsx", "--as", "readings", "--json")
    for name in ("sheet.pdf", "tape.svg", "readings.xlsx"):
        assert (tmp_path / name).stat().st_size > 1000


@pytest.mark.parametrize("page", ["verdict"])
def test_the_window_paints(run, docket, tmp_path, page):
    run("picture", docket, "--page", page, "-o", "window.png")
    assert (tmp_path / "window.png").stat().st_size > 20_000


RUN = {"predict", "verdict", "check", "sheet", "tape", "export", "import", "picture", "springs",
       "desktop"}  # fmt: skip
"""What other tests here run."""


def test_every_command_is_in_it(run):
    assert set(MODULES) > RUN
    for name in set(MODULES) - RUN:
        assert "usage" in run(name, "--help")


def test_every_library_that_is_imported_is_in_it(program):
    """Also what only a dialog loads, when it is opened."""
    from PyInstaller.archive.readers import CArchiveReader

    wanted = set()
    for path in (*(ROOT / "app").rglob("*.py"), *(ROOT / "core").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Import):
                wanted |= {name.name.partition(".")[0] for name in node.names}
            elif isinstance(node, ast.ImportFrom) and not node.level:
                wanted.add((node.module or "").partition(".")[0])
    wanted -= set(sys.stdlib_module_names)
    inside = set(CArchiveReader(os.fspath(program)).open_embedded_archive("PYZ.pyz").toc)
    assert {"numpy", "PIL", "PySide6"} <= wanted
    assert wanted <= inside, wanted - inside


def test_the_springs_are_searched(run, docket, tmp_path):
    rows = ("label,rate N/mm,free length mm,initial tension N", "a,2.2,24,0.3", "b,2.6,24,0.3")
    (tmp_path / "tin.csv").write_text("\n".join((*rows, "c,5,22,0", "")))
    assert run("springs", docket, "--tray", "tin.csv", "--top", "1", "--json")


def test_it_puts_itself_on_the_desktop(run, program, tmp_path):
    run("desktop", "--install")
    entry = (tmp_path / "data/applications/bobweight.desktop").read_text()
    assert f"Exec={program} %f" in entry
    run("desktop", "--remove")


def test_it_is_no_larger_than_it_was(program):
    files = (path for path in program.parent.rglob("*") if not path.is_symlink())
    size = sum(path.stat().st_size for path in files if path.is_file())
    assert size < MOST_MB * 1e6, f"{size / 1e6:.0f} MB"


def test_nothing_of_the_checkout_is_named_in_what_starts_it(run):
    began = time.perf_counter()
    run("--version")
    assert time.perf_counter() - began < 20
    assert os.fspath(ROOT) not in run("--version")
