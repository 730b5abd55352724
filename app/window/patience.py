"""Waits for a disk without keeping the window from answering.

A folder on a network may not answer for minutes, and a call of the system cannot be called off. So
what may wait is done on a thread of its own; after a moment the window says what it waits for, and
a hand may give up waiting: the call is left to end as it will, and its answer is dropped.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any, Generic, TypeVar

from PySide6.QtCore import QEventLoop, Qt, QTimer
from PySide6.QtWidgets import QMessageBox, QWidget

from bobweight.app.store.jobs import collector_held
from bobweight.app.widgets.plain import message_box
from bobweight.app.words import translate, visible
from bobweight.core.problems import BobweightError

AT_ONCE_S = 0.8
"""So long nothing is said."""
_LOOK_EVERY_MS = 30
T = TypeVar("T")


class _Call(Generic[T]):
    """One call on a thread of its own, which the end of the program does not wait for."""

    def __init__(self, work: Callable[[], T]) -> None:
        self._work = work
        self.result: T | None = None
        self.error: BaseException | None = None
        self.over = threading.Event()
        threading.Thread(target=self._run, daemon=True).start()

    def _run(self) -> None:
        try:
            self.result = self._work()
        except BaseException as error:
            self.error = error
        finally:
            self.over.set()

    def answer(self) -> T:
        """What it came to."""
        if self.error is not None:
            raise self.error
        return self.result  # type: ignore[return-value]


class Patience:
    """Does what may wait for a disk; ``patience(work, path)`` answers as ``work()`` would.

    Raises
    ------
    BobweightError
        ``disk-does-not-answer`` where a hand gave up waiting.
    """

    def __init__(self, window: QWidget) -> None:
        self._window = window
        self._left: list[_Call[Any]] = []

    def __call__(self, work: Callable[[], T], path: Path) -> T:
        with collector_held():
            call = _Call(work)
            if not call.over.wait(AT_ONCE_S):
                self._wait(call, path)
        if not call.over.is_set():
            self._left.append(call)
            raise BobweightError(
                "disk-does-not-answer", (), file=path.name, folder=path.parent.name
            )
        return call.answer()

    def at_once(self, work: Callable[[], T], otherwise: T) -> T:
        """Its answer if that comes within a moment; nothing is asked again while a call before
        has not come back."""
        self._left = [call for call in self._left if not call.over.is_set()]
        if self._left:
            return otherwise
        with collector_held():
            call = _Call(work)
            if call.over.wait(AT_ONCE_S):
                return call.answer()
        self._left.append(call)
        return otherwise

    def _wait(self, call: _Call[Any], path: Path) -> None:
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
