"""An error that the guard caught, told in the window."""

from __future__ import annotations

import time
from collections.abc import Callable

from PySide6.QtCore import QObject, Qt, Signal

from bobweight.app import guard
from bobweight.app.messages import sentence
from bobweight.app.store.display import Display
from bobweight.app.window.notice import NoticeBar
from bobweight.app.words import translate
from bobweight.core.problems import BobweightError

_SILENT_S = 20.0  # after one notice; a picture that fails is painted again and again


class FaultNotices(QObject):
    """Says that something went wrong, whichever thread it was on: in a moment, never while Qt is
    in the midst of painting."""

    _told = Signal(object, bool)

    def __init__(
        self, notices: NoticeBar, display: Display, show_log: Callable[[], None], parent: QObject
    ) -> None:
        super().__init__(parent)
        self._notices, self._display, self._show_log = notices, display, show_log
        self._said: dict[str, float] = {}
        self._told.connect(self._say, Qt.ConnectionType.QueuedConnection)
        guard.listen(self._hear)

    def close(self) -> None:
        """The window closes."""
        guard.unlisten(self._hear)

    def _hear(self, error: BaseException, where: str) -> None:
        if isinstance(error, BobweightError):
            self._told.emit(sentence(error.problem, None, self._display), False)
            return
        now = time.monotonic()
        if now - self._said.get(where, -_SILENT_S) >= _SILENT_S:
            self._said[where] = now
            text = translate(
                "window",
                "Something went wrong inside the program, at “{where}”. What you typed is kept. "
                "If a picture looks wrong, open another page and come back.",
            )
            self._told.emit(text.format(where=where), True)

    def _say(self, text: str, fault: bool) -> None:
        acts = ((translate("files", "Show the log"), self._show_log),) if fault else ()
        self._notices.say(text, acts, topic="fault" if fault else "refused")
