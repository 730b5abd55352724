"""Where the files that come with the program lie, however it was installed."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path


def sample_curve(name: str) -> Path:
    """The path of a sample docket, such as ``"weak_primary.docket"``."""
    return Path(str(files("bobweight.sample_curves").joinpath(name)))


def icon(name: str) -> Path:
    """The path of one of the program's own icons."""
    return Path(str(files("bobweight.app").joinpath(f"icons/{name}.svg")))
