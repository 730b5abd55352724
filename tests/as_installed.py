"""The checkout as an installation lays it out, for tools that read files and not import hooks."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def settings() -> dict:
    """The table ``tool.setuptools`` of ``pyproject.toml``."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]


def lay_out(folder: Path, source: Path = ROOT) -> Path:
    """Copy the packages of a checkout below a folder as ``pyproject.toml`` names them; it."""
    places = settings()["package-dir"]
    for package in sorted(places):
        target = folder.joinpath(*package.split("."))
        shutil.copytree(
            source / places[package], target, dirs_exist_ok=True,
            ignore=shutil.ignore_patterns("__pycache__"),
        )  # fmt: skip
    shutil.rmtree(folder / "bobweight/app/launch")
    return folder
