"""The wheel, installed outside the checkout into an environment of its own, does the main job."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.as_installed import settings

ROOT = Path(__file__).parents[1]
LEFT_OUT = shutil.ignore_patterns("__pycache__", "*.pyc")


def run(*command: object, **options) -> subprocess.CompletedProcess[str]:
    done = subprocess.run(
        [str(part) for part in command], capture_output=True, text=True, timeout=110, **options
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    """Built from a copy, so that the checkout stays clean."""
    copy, out = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("wheel")
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, copy)
    for name in ("app", "core", "sample_curves"):
        shutil.copytree(ROOT / name, copy / name, ignore=LEFT_OUT)
    code = f"from setuptools import build_meta; build_meta.build_wheel({str(out)!r})"
    run(sys.executable, "-W", "ignore", "-c", code, cwd=copy)
    (made,) = out.glob("*.whl")
    return made


def dependencies() -> str:
    """The folders of what is installed here; their own .pth files, and so this checkout, are not
    read from there."""
    return "\n".join(path for path in sys.path if path.endswith("site-packages"))


@pytest.fixture(scope="module")
def environment(wheel, tmp_path_factory) -> tuple[Path, dict[str, str]]:
    """An environment with nothing but the wheel, and the dependencies of this one."""
    folder = tmp_path_factory.mktemp("user") / "env"
    run(sys.executable, "-m", "venv", "--without-pip", folder)
    python = folder / ("Scripts" if os.name == "nt" else "bin") / "python"
    run(sys.executable, "-m", "pip", "--python", python, "install", "-q", "--no-deps",
        "--no-index", "--disable-pip-version-check", wheel)  # fmt: skip
    packages = next(folder.rglob("site-packages"))
    (packages / "dependencies.pth").write_text(dependencies())
    return python, clean()


@pytest.fixture(scope="module")
def target(wheel, tmp_path_factory) -> tuple[Path, dict[str, str]]:
    """The wheel put into a plain folder, as ``pip install --target`` does."""
    folder = tmp_path_factory.mktemp("target") / "packages"
    run(sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--no-index", "--target",
        folder, "--disable-pip-version-check", wheel)  # fmt: skip
    bare = tmp_path_factory.mktemp("bare") / "env"
    run(sys.executable, "-m", "venv", "--without-pip", bare)
    python = bare / ("Scripts" if os.name == "nt" else "bin") / "python"
    next(bare.rglob("site-packages")).joinpath("d.pth").write_text(dependencies())
    return python, clean() | {"PYTHONPATH": str(folder)}


def clean() -> dict[str, str]:
    kept = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    return kept | {"QT_QPA_PLATFORM": "offscreen"}


@pytest.fixture(params=["environment", "target"])
def place(request, tmp_path):
    python, variables = request.getfixturevalue(request.param)
    return python, variables | {"BOBWEIGHT_HOME": str(tmp_path / "home")}, tmp_path


def test_nothing_but_the_one_name_is_installed(wheel):
    names = zipfile.ZipFile(wheel).namelist()
    tops = {name.split("/")[0] for name in names}
    assert {top for top in tops if not top.endswith(".dist-info")} == {"bobweight"}
    entries = next(name for name in names if name.endswith("entry_points.txt"))
    text = zipfile.ZipFile(wheel).read(entries).decode()
    assert "[console_scripts]\nbobweight = " in text and "[gui_scripts]" in text


def test_every_file_that_goes_with_the_code_is_in_the_wheel(wheel):
    inside = set(zipfile.ZipFile(wheel).namelist())
    places = settings()["package-dir"]
    for package in ("bobweight.app", "bobweight.core", "bobweight.sample_curves"):
        folder = ROOT / places[package]
        for path in folder.rglob("*"):
            if path.is_file() and path.suffix != ".pyc" and "launch" not in path.parts:
                name = f"{package.replace('.', '/')}/{path.relative_to(folder).as_posix()}"
                assert name in inside, name


def test_the_version_is_that_of_the_changes(wheel):
    (version,) = re.findall(r"bobweight-([\d.]+)-", wheel.name)
    told = re.findall(r"^## ([\d.]+)$", (ROOT / "CHANGELOG.md").read_text("utf-8"), re.MULTILINE)
    assert told[0] == version
    info = (ROOT / "app/desktop/bobweight.metainfo.xml").read_text("utf-8")
    assert f'<release version="{version}"' in info


def test_the_main_job_is_done_outside_the_checkout(place):
    python, variables, folder = place
    code = (
        "import bobweight.app; from bobweight.app.store.places import sample_curve;"
        "print(bobweight.app.__file__); print(sample_curve('weak_primary.docket'))"
    )
    where = run(python, "-c", code, env=variables, cwd=folder).stdout.split("\n")
    assert not Path(where[0]).is_relative_to(ROOT) and Path(where[1]).is_file()
    docket = where[1]
    command = [python, "-m", "bobweight"]
    predicted = run(*command, "predict", docket, "--json", env=variables, cwd=folder)
    assert json.loads(predicted.stdout)["full_deg"] > 5
    verdict = run(*command, "verdict", docket, "--json", env=variables, cwd=folder)
    assert json.loads(verdict.stdout)["explanations"][0]["name"] == "primary_weak"
    run(*command, "sheet", docket, "-o", "sheet.pdf", env=variables, cwd=folder)
    assert (folder / "sheet.pdf").read_bytes().startswith(b"%PDF-")


def test_the_window_opens_on_the_demo(place):
    python, variables, folder = place
    code = (
        "import os; from PySide6.QtWidgets import QApplication;"
        "application = QApplication([]);"
        "from bobweight.app.window.start import open_window;"
        "window = open_window(); print(window.store.docket.particulars.title, flush=True);"
        "print(application.windowIcon().isNull()); os._exit(0)"
    )
    told = run(python, "-c", code, env=variables, cwd=folder).stdout
    assert told.strip() and "untitled" not in told


def test_the_command_is_there(environment):
    python, variables = environment
    told = run(python.with_name("bobweight"), "--version", env=variables).stdout
    assert re.fullmatch(r"bobweight \d+\.\d+\.\d+\n", told)
