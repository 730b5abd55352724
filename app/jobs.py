"""Work that takes longer than a frame: behind the window, with progress, able to be stopped.

A thread that still runs at exit aborts the process, so a pool is waited for; a runnable that owns
its signals destroys them on the wrong thread, so the runner owns them and the runnable holds a
bound emit. Only the newest job's result is taken.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, Signal


class Ticket:
    """What a job is given: asks whether to stop, tells how far it is."""

    def __init__(self, number: int, told: Callable[[int, float], None]) -> None:
        self.number = number
        self._told = told
        self._stop = threading.Event()

    def stop(self) -> None:
        """Ask the job to end soon and hand back its best so far."""
        self._stop.set()

    @property
    def stopped(self) -> bool:
        """True once the job should end."""
        return self._stop.is_set()

    def tell(self, share: float) -> None:
        """Progress, from 0 to 1."""
        if not self.stopped:
            self._told(self.number, share)


class _Work(QRunnable):
    def __init__(
        self, function: Callable[[Ticket], Any], ticket: Ticket,
        done: Callable[[int, object, object], None],
    ) -> None:  # fmt: skip
        super().__init__()
        self._function = function
        self._ticket = ticket
        self._done = done

    def run(self) -> None:
        try:
            result = self._function(self._ticket)
        except Exception as error:
            self._done(self._ticket.number, None, error)
        else:
            self._done(self._ticket.number, result, None)


class Runner(QObject):
    """Runs one job at a time; a new one stops the one before.

    Signals
    -------
    progressed(float)
        Share done of the newest job, from 0 to 1.
    finished(object)
        Result of the newest job, stopped or not.
    failed(object)
        The exception of the newest job.
    """

    progressed = Signal(float)
    finished = Signal(object)
    failed = Signal(object)
    _told = Signal(int, float)
    _done = Signal(int, object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._ticket: Ticket | None = None
        self._count = 0
        self._closed = False
        self._told.connect(self._take_progress, Qt.ConnectionType.QueuedConnection)
        self._done.connect(self._take_result, Qt.ConnectionType.QueuedConnection)

    @property
    def busy(self) -> bool:
        """True while the newest job has not handed in."""
        return self._ticket is not None

    def start(self, function: Callable[[Ticket], Any]) -> None:
        """Run ``function(ticket)`` behind the window, in place of what ran before."""
        if self._closed:
            return
        if self._ticket is not None:
            self._ticket.stop()
        self._pool.clear()
        self._count += 1
        self._ticket = Ticket(self._count, self._told.emit)
        self._pool.start(_Work(function, self._ticket, self._done.emit))

    def stop(self) -> None:
        """Ask the job to hand in the best so far."""
        if self._ticket is not None:
            self._ticket.stop()

    def close(self) -> None:
        """Refuse new jobs, stop the present one and wait for it; nothing is emitted any more."""
        self._closed = True
        self.stop()
        self._ticket = None
        self._pool.clear()
        self._pool.waitForDone()

    def _take_progress(self, number: int, share: float) -> None:
        if self._ticket is not None and self._ticket.number == number:
            self.progressed.emit(share)

    def _take_result(self, number: int, result: object, error: object) -> None:
        if self._ticket is None or self._ticket.number != number:
            return
        self._ticket = None
        if error is not None:
            self.failed.emit(error)
        else:
            self.finished.emit(result)
