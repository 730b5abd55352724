"""Starts the window."""

from __future__ import annotations

import signal
import sys
from pathlib import Path

from PySide6.QtWidgets import QApplication


def start(file: Path | None = None) -> int:
    """Show the window, on a docket if one is named, until it is closed; the exit status."""
    application = QApplication.instance() or QApplication([sys.argv[0]])
    application.setApplicationName("Bobweight")
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # Qt's loop would never see Python's own
    from app.window import MainWindow

    window = MainWindow()
    window.begin(file)
    window.show()
    return application.exec()
