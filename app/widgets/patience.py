"""Waits for a disk without keeping the window from answering.

After a moment the window says what it waits for, and a hand may give up waiting: the call is left
to end as it will, and its answer is dropped.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from PySide6.QtCore import QEventLoop, Qt, QTimer
from PySide6.QtWidgets import QMessageBox, QWidget

from bobweight.app.store import disk
from bobweight.app.store.disk import Disk, DiskCall
from bobweight.app.store.jobs import collector_held
from bobweight.app.widgets.plain import message_box
from bobweight.app.words import translate, visible
from bobweight.core.problems import BobweightError

_LOOK_EVERY_MS = 30
T = TypeVar("T")


class Patience(Disk):
    """Does what may wait for a disk; ``patience(work, path)`` answers as ``work()`` would.

    Raises
    ------
    BobweightError
        ``disk-does-not-answer`` where a hand gave up waiting.
    """

    def __init__(self, window: QWidget) -> None:
        super().__init__()
        self._window = window

    def __call__(self, work: Callable[[], T], path: Path) -> T:
        with collector_held():
            call = DiskCall(work)
            if not call.over.wait(disk.AT_ONCE_S):
                self._wait(call, path)
        if not call.over.is_set():
            self.left.append(call)
            raise BobweightError(
                "disk-does-not-answer", (), file=path.name, folder=path.parent.name
            )
        return call.answer()

    def _wait(self, call: DiskCall[Any], path: Path) -> None:
        """Say what is waited for until it answers or a hand gives up."""
        text = translate("files", "“{folder}” does not answer. Waiting for “{name}”…")
        folder, name = visible(path.parent.name, 200), visible(path.name, 200)
        box = message_box(
            self._window, QMessageBox.Icon.Information, text.format(folder=folder, name=name)
        )
        box.setInformativeText(
            translate("files", "What is open is kept in the journal of unsaved work meanwhile.")
        )
        stop = box.addButton(translate("files", "Wait no more"), QMessageBox.ButtonRole.RejectRole)
        loop, look = QEventLoop(), QTimer()

        def looked() -> None:
            if call.over.is_set():
                loop.quit()

        look.timeout.connect(looked)
        stop.clicked.connect(loop.quit)
        box.rejected.connect(loop.quit)
        box.setWindowModality(Qt.WindowModality.ApplicationModal)
        look.start(_LOOK_EVERY_MS)
        box.show()
        loop.exec()
        look.stop()
        box.hide()
        box.deleteLater()
