"""The window on the real platform plug-in, on a virtual X screen."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator

import pytest

from tests.command_line.test_predict_and_verdict import process

pytestmark = pytest.mark.skipif(not shutil.which("Xvfb"), reason="Xvfb is not installed")


@pytest.fixture
def display() -> Iterator[str]:
    """A virtual X screen of our own; its name as in DISPLAY."""
    read, write = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-screen", "0", "1366x768x24", "-nolisten", "tcp"],
        pass_fds=[write], stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.close(write)
    try:
        with os.fdopen(read) as told:
            yield f":{told.readline().strip()}"
    finally:
        server.terminate()
        server.wait(10)


# The program itself, watched by a timer that looks for its window and then closes it as a user
# would; the exit status is then the program's own.
WATCHED = """
import sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

application = QApplication(sys.argv[:1])

def look():
    windows = [w for w in application.topLevelWidgets() if w.isVisible() and w.windowTitle()]
    if not windows or not windows[0].windowHandle().isExposed():
        return
    timer.stop()
    window = windows[0]
    image = window.grab().toImage()
    step = max(1, image.width() // 60)
    colours = {image.pixel(x, y) for x in range(0, image.width(), step)
               for y in range(0, image.height(), step)}
    print(application.platformName(), window.windowTitle(), image.width(), len(colours), sep="|")
    window.close()

timer = QTimer()
timer.timeout.connect(look)
timer.start(50)
from bobweight.__main__ import main
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="X is of Linux here")
def test_the_window_opens_on_the_demo_at_first_start(display: str, own_home):
    result = process(code=WATCHED, DISPLAY=display)
    assert result.returncode == 0, result.stderr
    platform, title, width, colours = result.stdout.strip().split("|")
    assert platform == "xcb"
    assert "Bobweight" in title
    assert int(width) >= 1000
    assert int(colours) > 10  # something is painted
    assert result.stderr == ""
    assert (own_home / "settings.ini").exists()
