"""Starts the window.

numpy and the core are imported before Qt: PySide reads the source of every module that is imported
after it, to see whether it uses Qt, and these do not. What only later pages and acts need is
imported by them.
"""

from __future__ import annotations

import gc
import os
import signal
import sys
from pathlib import Path
from typing import TYPE_CHECKING

_collecting = gc.isenabled()
gc.disable()  # modules stay to the end: the collector would only count them again and again

# ruff: noqa: E402, F401
# isort: split
import bobweight.core.docket.changes
import bobweight.core.docket.entry
import bobweight.core.docket.file
import bobweight.core.figure.plan
import bobweight.core.figure.ratio
import bobweight.core.figure.speed
import bobweight.core.figure.vacuum
import bobweight.core.judgement.outcome

# isort: split
from PySide6.QtCore import QTimer
from PySide6.QtGui import QGuiApplication, QIcon
from PySide6.QtWidgets import QApplication

from bobweight.app.store.places import icon

if TYPE_CHECKING:
    from bobweight.app.store.faults import Ended, FaultLog, RunMark
    from bobweight.app.window.main_window import MainWindow


if _collecting:
    gc.enable()

SETTLED_MS = 3000
"""So long after it was shown a window counts as one that can be used."""


def start(file: Path | None = None) -> int:
    """Show the window, on a docket if one is named, until it is closed; the exit status."""
    application = QApplication.instance() or QApplication([sys.argv[0]])
    assert isinstance(application, QApplication)
    application.setApplicationName("Bobweight")
    QGuiApplication.setDesktopFileName("bobweight")  # which entry and icon the window belongs to
    application.setWindowIcon(QIcon(str(icon("bobweight"))))
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # Qt's loop would never see Python's own
    from bobweight.app import guard
    from bobweight.app.store.faults import FaultLog, RunMark
    from bobweight.app.store.session import home_folder

    guard.install()
    log, mark = FaultLog(home_folder()), RunMark(home_folder())
    window = open_window(file, log, mark)
    QTimer.singleShot(SETTLED_MS, window, mark.settled)
    status = application.exec()
    del window
    mark.end()
    log.close()
    return status


def open_window(
    file: Path | None = None, log: FaultLog | None = None, mark: RunMark | None = None
) -> MainWindow:
    """The main window, shown.

    What is made while it opens stays to the end, so the garbage collector is not asked about it:
    neither now nor later, in the middle of a drag.
    """
    gc.disable()
    from bobweight.app.window.main_window import MainWindow

    window = MainWindow()
    ended: list[Ended] = []
    if log is not None and mark is not None:
        ended = mark.ended()
        for end in ended:
            log.say(f"The program ended without saying so.\n{end.account}")
        mark.begin(window.files.first(file))
        window.files.log_text = log.text
    window.begin(file, ended)
    window.show()
    gc.freeze()
    gc.enable()
    return window
