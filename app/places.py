"""Where the files that come with the program lie: the checkout, or where an install put them."""

from __future__ import annotations

import sysconfig
from pathlib import Path

_ROOTS = (
    Path(__file__).resolve().parent.parent,
    Path(sysconfig.get_path("data")) / "share" / "bobweight",
)


def shipped(*parts: str) -> Path:
    """The path of a file that comes with the program, such as ``("sample_curves", name)``."""
    for root in _ROOTS:
        path = root.joinpath(*parts)
        if path.exists():
            return path
    return _ROOTS[0].joinpath(*parts)
