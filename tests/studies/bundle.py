"""Size and start of the bundle with its own Python: ``python -m tests.studies.bundle``.

Built and packed by ``.bundle/build.py --pack``, then started turn about with the program as it is
installed here, both as whole processes in an empty home.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

from tests.studies.results import section, table

ROOT = Path(__file__).parents[2]
WORK = ROOT / "build" / "bundle"
DOCKET = ROOT / "sample_curves" / "weak_primary.docket"
JOBS = {
    "its version": ["--version"],
    "a curve as JSON": ["predict", str(DOCKET), "--json"],
    "the window, as a picture": ["picture", str(DOCKET), "--page", "verdict", "-o", "window.png"],
}
ROUNDS = 7


def _seconds(program: list[str], words: list[str]) -> float:
    with tempfile.TemporaryDirectory() as home:
        environment = os.environ | {
            "QT_QPA_PLATFORM": "offscreen", "HOME": home, "BOBWEIGHT_HOME": home,
        }  # fmt: skip
        begun = perf_counter()
        subprocess.run([*program, *words], env=environment, cwd=home, check=True,
                       stdout=subprocess.DEVNULL)  # fmt: skip
        return perf_counter() - begun


def _megabytes(folder: Path) -> float:
    files = (f for f in folder.rglob("*") if f.is_file() and not f.is_symlink())
    return sum(f.stat().st_size for f in files) / 1e6


def main() -> None:
    subprocess.run([sys.executable, ROOT / ".bundle" / "build.py", "--pack"], check=True)
    bundled = WORK / "dist" / "bobweight"
    packed = (WORK / "bobweight.tar.xz").stat().st_size / 1e6
    ways = ([str(bundled / "bobweight")], [sys.executable, "-m", "bobweight"])
    rows = []
    for name, words in JOBS.items():
        times: list[list[float]] = [[], []]
        for number in range(ROUNDS + 1):
            for way, found in zip(ways, times, strict=True):
                taken = _seconds(way, words)
                if number:  # the first round fills the caches
                    found.append(taken)
        mine, here = (statistics.median(found) for found in times)
        rows.append([name, f"{mine:.2f} s", f"{here:.2f} s", f"{mine / here:.2f}"])
    with section("bundle", "Bundle", "none") as out:
        out(f"{_megabytes(bundled):.0f} MB on disk, {packed:.0f} MB packed (xz).\n")
        out(table([f"start to end, median of {ROUNDS}", "bundle", "installed", "ratio"], rows))


if __name__ == "__main__":
    main()
