"""What the start loads: only what the first picture needs."""

from __future__ import annotations

import os
import subprocess
import sys

STARTED = """
from bobweight.app.window.start import open_window
from PySide6.QtWidgets import QApplication
import os, sys
application = QApplication([])
window = open_window()
window.board.redraw()
window.grab()
sys.stdout.write(" ".join(sys.modules))
sys.stdout.flush()
os._exit(0)
"""
LATER = tuple(
    name if name == "scipy" else f"bobweight.{name}"
    for name in (
        "scipy", "core.bench", "core.design", "core.sheet", "core.tables", "app.paper",
        "app.prints", "app.timing_session", "core.judgement.decision", "core.judgement.diagnose",
    )
)  # fmt: skip


def test_the_start_loads_nothing_that_the_first_picture_does_not_need(tmp_path) -> None:
    environment = os.environ | {"QT_QPA_PLATFORM": "offscreen", "BOBWEIGHT_HOME": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-c", STARTED], env=environment, capture_output=True, text=True, check=True
    )
    loaded = done.stdout.split()
    assert "bobweight.core.judgement.outcome" in loaded
    pages = [name for name in loaded if name.startswith("bobweight.app.pages.")]
    beside = ("page", "verdict", "comparison", "compare_box")  # the first start shows the verdict
    others = [name for name in pages if name.split(".")[3] not in beside]
    assert others == []
    early = [
        name
        for name in loaded
        if name.startswith(tuple(f"{room}." for room in LATER)) or name in LATER
    ]
    assert early == []
