"""The invented dockets that come with the program."""

from __future__ import annotations

from pathlib import Path

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import read_docket

FOLDER = Path(__file__).resolve().parent.parent / "sample_curves"


def sample(name: str) -> Docket:
    """The sample docket of that name, such as ``"weak_primary"``."""
    return read_docket(FOLDER / f"{name}.docket")
