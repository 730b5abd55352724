"""Starts the window.

numpy and the core are imported before Qt: PySide reads the source of every module that is imported
after it, to see whether it uses Qt, and these do not.
"""

from __future__ import annotations

import gc
import signal
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import bobweight.core.judgement.outcome  # noqa: F401  (before Qt, with numpy; see above)

# isort: split
from PySide6.QtWidgets import QApplication

if TYPE_CHECKING:
    from bobweight.app.window.main_window import MainWindow


def start(file: Path | None = None) -> int:
    """Show the window, on a docket if one is named, until it is closed; the exit status."""
    application = QApplication.instance() or QApplication([sys.argv[0]])
    application.setApplicationName("Bobweight")
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # Qt's loop would never see Python's own
    window = open_window(file)
    status = application.exec()
    del window
    return status


def open_window(file: Path | None = None) -> MainWindow:
    """The main window, shown.

    What is made while it opens stays to the end, so the garbage collector is not asked about it:
    neither now nor later, in the middle of a drag.
    """
    gc.disable()
    from bobweight.app.window.main_window import MainWindow

    window = MainWindow()
    window.begin(file)
    window.show()
    gc.freeze()
    gc.enable()
    return window
