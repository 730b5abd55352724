"""The rules of the layout, kept by machine."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from tests.as_installed import lay_out, settings

ROOT = Path(__file__).parents[1]
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE",
    "pyproject.toml", "app", "core", "tests",
    "sample_curves", "assets",
}  # fmt: skip
MADE_BY_TOOLS = {"build", "dist", "bobweight.egg-info", "__pycache__"}
LINE_LIMIT = 600
ROOMS = ("app", "core", "tests", "sample_curves")
SOURCES = sorted(path for room in ROOMS for path in (ROOT / room).rglob("*.py"))


def run(*command: str, **options) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *command], capture_output=True, text=True, timeout=290,
        **{"cwd": ROOT} | options,
    )  # fmt: skip


@cache
def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text("utf-8"))


@pytest.fixture(scope="module")
def laid_out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The packages as an installation lays them out."""
    return lay_out(tmp_path_factory.mktemp("laid_out"))


def test_rooms_import_as_agreed(laid_out: Path):
    """The contracts of import-linter in pyproject.toml."""
    code = (
        "import sys; from importlinter.cli import lint_imports;"
        "sys.exit(lint_imports(no_cache=True))"
    )
    result = run("-c", code, env=os.environ | {"PYTHONPATH": str(laid_out)})
    assert result.returncode == 0, result.stdout + result.stderr
    assert "0 broken" in result.stdout


def test_the_drawing_of_the_rooms_is_true(laid_out: Path):
    result = run("-m", "tests.app_rooms", str(laid_out))
    assert result.returncode == 0, result.stderr
    assert f"```text\n{result.stdout}```" in (ROOT / "DEVELOPERS.md").read_text("utf-8"), (
        result.stdout
    )


@pytest.mark.timeout(300)  # mypy without its cache, on a machine that does other things as well
def test_annotations_agree(laid_out: Path, request: pytest.FixtureRequest):
    """mypy, by ``[tool.mypy]`` of pyproject.toml: the core strictly, the application at its
    defaults. What it knows is kept from run to run, by paths that stay the same."""
    result = run(
        "-m", "mypy", "-p", "bobweight.core", "-p", "bobweight.app",
        "--config-file", str(ROOT / "pyproject.toml"),
        "--cache-dir", str(request.config.cache.mkdir("mypy")),
        cwd=laid_out,
    )  # fmt: skip
    assert result.returncode == 0, result.stdout + result.stderr


BLOCKED = """
import importlib, pkgutil, sys

class Block:
    def find_spec(self, name, path=None, target=None):
        if name.startswith(("PySide6", "shiboken6", "pyqtgraph", "bobweight.app")):
            raise ImportError(f"{name} is not for the core")

sys.meta_path.insert(0, Block())
from bobweight import core
names = [found.name for found in pkgutil.walk_packages(core.__path__, "bobweight.core.")]
for name in names:
    importlib.import_module(name)
print(len(names))
"""


def test_the_core_works_where_qt_cannot_be_imported():
    result = run("-c", BLOCKED)
    assert result.returncode == 0, result.stderr
    modules = [path for path in (ROOT / "core").rglob("*.py") if path != ROOT / "core/__init__.py"]
    assert int(result.stdout) == len(modules)  # none is missed for want of an __init__.py


def test_every_study_can_be_begun():
    """They are run by hand, so that nobody would notice."""
    names = [f"tests.studies.{path.stem}" for path in sorted((ROOT / "tests/studies").glob("*.py"))]
    begun = run("-c", ";".join(f"import {name}" for name in names if not name.endswith("__")))
    assert begun.returncode == 0, begun.stderr


def test_every_folder_of_sources_is_a_package():
    folders = {path.parent for path in SOURCES if path.is_relative_to(ROOT / "app")}
    folders |= {path.parent for path in SOURCES if path.is_relative_to(ROOT / "core")}
    folders |= {path.parent for path in SOURCES if path.is_relative_to(ROOT / "tests")}
    assert {folder for folder in folders if not (folder / "__init__.py").exists()} == set()


def test_every_module_says_what_is_in_it():
    """So that the first lines of a folder's files are its listing."""
    for path in SOURCES:
        if path.name != "__init__.py" and not path.is_relative_to(ROOT / "tests"):
            assert ast.get_docstring(parsed(path)), path


def test_every_package_is_installed():
    """``pyproject.toml`` lists them one by one, since the folders do not stand as they import."""
    stated = settings()
    places = {package: ROOT / folder for package, folder in stated["package-dir"].items()}
    found = {
        ".".join([package, *init.parent.relative_to(folder).parts])
        for package, folder in places.items()
        for init in folder.rglob("__init__.py")
    }
    assert sorted(stated["packages"]) == sorted(found - {"bobweight.app.launch"})


def test_the_folders_are_imported_by_the_name_of_the_package():
    plain = re.compile(r"^\s*(?:from|import) (?:app|core|sample_curves)\b", re.MULTILINE)
    assert [path for path in SOURCES if plain.search(path.read_text("utf-8"))] == []


def test_a_class_name_stands_for_one_thing():
    places: dict[str, list[str]] = {}
    for path in SOURCES:
        if path.relative_to(ROOT).parts[0] in {"app", "core"}:
            for node in ast.walk(parsed(path)):
                if isinstance(node, ast.ClassDef):
                    places.setdefault(node.name, []).append(f"{path}:{node.lineno}")
    assert {name: found for name, found in places.items() if len(found) > 1} == {}


def test_no_file_is_too_long():
    lengths = {str(p.relative_to(ROOT)): len(p.read_text("utf-8").splitlines()) for p in SOURCES}
    assert {name: n for name, n in lengths.items() if n > LINE_LIMIT} == {}


def test_ruff_has_nothing_to_say():
    result = run("-m", "ruff", "check", "--no-cache", ".")
    assert result.returncode == 0, result.stdout + result.stderr


def test_the_top_level_is_as_agreed():
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert found - MADE_BY_TOOLS == TOP_LEVEL


@pytest.mark.skipif(not (ROOT / ".git").exists(), reason="not a clone")
def test_no_large_or_generated_file_is_kept():
    try:
        listed = subprocess.run(
            ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
        )
    except (FileNotFoundError, subprocess.CalledProcessError):
        pytest.skip("git is not here")
    kept = [ROOT / name for name in listed.stdout.split("\0") if name]
    assert [path for path in kept if path.suffix in {".pyc", ".part", ".lock"}] == []
    assert [path for path in kept if path.exists() and path.stat().st_size > 2_000_000] == []


def test_a_changed_token_that_is_let_be_stands_in_the_code():
    """What the study of mutants sets aside is known by its line: one that has gone says nothing."""
    from tests.studies.mutants_alike import ALIKE

    for file, _, line, _ in ALIKE:
        lines = {each.strip() for each in (ROOT / file).read_text(encoding="utf-8").splitlines()}
        assert line in lines, f"{file}: {line}"
