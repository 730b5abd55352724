"""Where the files that come with the program lie, however it was installed."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

from bobweight import app, sample_curves


def sample_curve(name: str) -> Path:
    """The path of a sample docket, such as ``"weak_primary.docket"``."""
    return _folder(sample_curves) / name


def icon(name: str) -> Path:
    """The path of one of the program's own icons."""
    return _folder(app) / "icons" / f"{name}.svg"


def _folder(package: ModuleType) -> Path:
    return Path(package.__path__[0])
