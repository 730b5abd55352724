"""Which room of the application imports which, as a drawing: DEVELOPERS.md shows it.

python -m tests.app_rooms FOLDER      of the packages in FOLDER, in the order of the contract
"""

from __future__ import annotations

import sys
import tomllib
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import grimp

ROOT = Path(__file__).resolve().parents[1]
Arrows = set[tuple[str, str]]
"""Pairs of a room that imports and the room that it imports."""


def arrows(folder: Path) -> Arrows:
    """What stands in ``bobweight.app`` below a folder that is laid out as it is installed."""
    sys.path.insert(0, str(folder))
    try:
        graph = grimp.build_graph("bobweight", cache_dir=None)
    finally:
        sys.path.remove(str(folder))
    found = {
        (_room(one), _room(other))
        for one in graph.modules
        for other in graph.find_modules_directly_imported_by(one)
    }
    return {(a, b) for a, b in found if a and b and a != b}


def _room(module: str) -> str:
    parts = module.split(".")
    return parts[2] if parts[:2] == ["bobweight", "app"] and len(parts) > 2 else ""


def agreed() -> list[str]:
    """The rooms from the top, by the contract in ``pyproject.toml``."""
    stated = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]
    (layers,) = (
        one["layers"] for one in stated["contracts"] if one.get("containers") == ["bobweight.app"]
    )
    return [room for layer in layers for room in layer.split(" | ")]


def ordered(found: Arrows) -> list[str]:
    """The rooms from the top, so that few arrows point upwards: none does if none need to."""
    left = {room for arrow in found for room in arrow}
    top: list[str] = []
    while left:  # whoever is asked for by the fewest of those left, and asks for the most
        among = {(a, b) for a, b in found if a in left and b in left}
        asked, asks = (Counter(arrow[end] for arrow in among) for end in (1, 0))
        here = min(sorted(left), key=lambda room: (asked[room], -asks[room]))
        top.append(here)
        left.remove(here)
    return top


def drawn(found: Arrows, rooms: Sequence[str]) -> str:
    """A line a room: × under the number of each room that it imports, ↑ if that one is above it."""
    width = max(map(len, rooms))
    lines = [" " * (width + 3) + "".join(f"{n:3}" for n in range(1, len(rooms) + 1))]
    for row, room in enumerate(rooms):
        marks = ["↑" if (room, other) in found else " " for other in rooms[:row]] + ["·"]
        marks += ["×" if (room, other) in found else " " for other in rooms[row + 1 :]]
        lines.append(f"{row + 1:2} {room:{width}}  " + "  ".join(marks).rstrip())
    return "\n".join(lines)


if __name__ == "__main__":
    print(drawn(arrows(Path(sys.argv[1])), agreed()))
