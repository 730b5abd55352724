"""A docket or a tray with the rows of a table."""

from __future__ import annotations

from bobweight.core.design.tray import Tray
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.readings import Session
from bobweight.core.problems import Path
from bobweight.core.record import get, put
from bobweight.core.tables.understood import Understanding

_PLACES: dict[str, Path] = {"target": ("target", "points"), "vacuum": ("target", "vacuum_points")}


def docket_with(docket: Docket, found: Understanding, session: int = -1) -> Docket:
    """The docket with the rows of a table after those that are there.

    Parameters
    ----------
    session : int
        Index of the session that readings go to; a docket that has none gets its first.
    """
    if found.kind == "readings" and not docket.sessions:
        docket = put(docket, ("sessions",), (Session(),))
    path = _PLACES.get(found.kind) or ("sessions", session % len(docket.sessions), "readings")
    after = put(docket, path, (*get(docket, path), *found.stored))
    for key, value in found.settings.items():
        after = put(after, ("target", key), value)
    return after


def tray_with(tray: Tray, found: Understanding) -> Tray:
    """The tray with the springs of a table after those that are there."""
    return put(tray, ("springs",), (*tray.springs, *found.stored))
