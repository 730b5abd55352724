"""The imports between the rooms of the application, before they were put in order and now.

python -m tests.studies.app_rooms [REVISION]
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from tests.app_rooms import ROOT, arrows, drawn, ordered
from tests.as_installed import lay_out
from tests.studies.results import section

BEFORE = "72abba312~1"
"""The last commit without a contract of the application's rooms."""


def _rooms_of(revision: str) -> str:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        packed = subprocess.run(
            ["git", "archive", revision, "app", "core", "sample_curves"], cwd=ROOT,
            capture_output=True, check=True,
        )  # fmt: skip
        (folder / "then").mkdir()
        subprocess.run(["tar", "x"], cwd=folder / "then", input=packed.stdout, check=True)
        found = arrows(lay_out(folder, source=folder / "then"))
    rooms = ordered(found)
    picture = drawn(found, rooms)
    return (
        f"{len(rooms)} rooms, {len(found)} arrows, {picture.count('↑')} of them upwards:\n\n"
        f"```text\n{picture}\n```"
    )


if __name__ == "__main__":
    before = sys.argv[1] if len(sys.argv) > 1 else BEFORE
    with section(
        "app_rooms", "Imports between the rooms of the application",
        note="A row imports the columns marked; ↑: upwards, in the order with few such arrows.",
    ) as out:  # fmt: skip
        out(f"Before the contract ({before}): {_rooms_of(before)}")
        out(f"\nNow: {_rooms_of('HEAD')}")
