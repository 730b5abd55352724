"""Work that takes longer than a frame: behind the window, with progress, able to be stopped.

A thread that still runs at exit aborts the process, so a pool is waited for; a runnable that owns
its signals destroys them on the wrong thread, so the runner owns them and the runnable holds a
bound emit. Only the newest job's result is taken. Python's collector of cycles runs on whichever
thread happens to ask for memory, and a widget that it frees away from the window's thread brings
the process down: it is held off while a job runs, and runs on the window's thread meanwhile.
"""

from __future__ import annotations

import contextlib
import ctypes
import gc
import sys
import threading
import time
import weakref
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, Signal

from bobweight.app.guard import guarded
from bobweight.app.layouts import lay_out

COLLECT_EVERY_S = 2.0
_ORDERLY_MS = 300  # that a job is given to end by itself when its window closes
_ASKED_AGAIN_MS = 100


class CollectorHold:
    """How many jobs of a runner hold the collector off; used on the window's thread only."""

    _all = 0
    _was_on = True

    def __init__(self) -> None:
        self.count = 0

    def take(self) -> None:
        """One more job: no collection on its thread."""
        if CollectorHold._all == 0:
            CollectorHold._was_on = gc.isenabled()
            gc.disable()
        self.count += 1
        CollectorHold._all += 1

    def give_back(self, count: int = 1) -> None:
        """So many jobs have ended."""
        count = min(count, self.count)
        self.count -= count
        CollectorHold._all -= count
        if count and CollectorHold._all == 0 and CollectorHold._was_on:
            gc.enable()

    def end(self) -> None:
        """None runs any more."""
        self.give_back(self.count)


@contextmanager
def collector_held() -> Iterator[None]:
    """No collection of cycles meanwhile, since a thread is at work that must free no widget."""
    hold = CollectorHold()
    hold.take()
    try:
        yield
    finally:
        hold.end()


class Ticket:
    """What a job is given: asks whether to stop, tells how far it is."""

    def __init__(self, number: int, told: Callable[[int, float], None]) -> None:
        self.number = number
        self.dropped = False  # superseded: not to be begun any more
        self._told = told
        self._stop = threading.Event()
        self._lock = threading.Lock()
        self._thread = 0

    @contextmanager
    def running(self) -> Iterator[None]:
        """The job runs on this thread meanwhile."""
        self._thread = threading.get_ident()
        try:
            yield
        finally:
            with self._lock:
                self._thread = 0

    def abandon(self) -> None:
        """Have the job end at its next step in Python, whether it asks or not; one that is just
        reading a module is let do so."""
        if not self._lock.acquire(timeout=0.05):
            return  # it is just ending
        try:
            frame = sys._current_frames().get(self._thread)
            while frame is not None and "importlib" not in frame.f_code.co_filename:
                frame = frame.f_back
            if self._thread and frame is None:
                thread = ctypes.c_ulong(self._thread)
                ctypes.pythonapi.PyThreadState_SetAsyncExc(thread, ctypes.py_object(Abandoned))
        finally:
            self._lock.release()

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


class Abandoned(BaseException):
    """Raised in a job that is not waited for any more."""


class _Work(QRunnable):
    def __init__(
        self, function: Callable[[Ticket], Any], ticket: Ticket,
        done: Callable[[int, object, object], None],
    ) -> None:  # fmt: skip
        super().__init__()
        self._function = function
        self._ticket = ticket
        self._done = done

    @guarded
    def run(self) -> None:
        with contextlib.suppress(Abandoned):
            try:
                with self._ticket.running():
                    result = None if self._ticket.dropped else self._function(self._ticket)
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
        self._tickets: list[Ticket] = []  # that have not handed in, stopped ones too
        self._count = 0
        self._closed = False
        self._hold = CollectorHold()
        weakref.finalize(self, self._hold.end)
        self._collected = 0.0
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
            self._ticket.dropped = True
            self._ticket.stop()
        self._count += 1
        self._hold.take()
        self._ticket = Ticket(self._count, self._told.emit)
        self._tickets.append(self._ticket)
        self._pool.start(_Work(function, self._ticket, self._done.emit))

    def stop(self) -> None:
        """Ask the job to hand in the best so far."""
        if self._ticket is not None:
            self._ticket.stop()

    def close(self) -> None:
        """Refuse new jobs, stop the present one and wait for it, but not long; nothing is emitted
        any more."""
        self._closed = True
        for ticket in self._tickets:
            ticket.dropped = True
            ticket.stop()
        self._ticket = None
        if not self._pool.waitForDone(_ORDERLY_MS):
            for ticket in self._tickets:
                ticket.abandon()
            while not self._pool.waitForDone(_ASKED_AGAIN_MS):
                for ticket in self._tickets:
                    ticket.abandon()
        self._tickets.clear()
        self._hold.end()

    def _take_progress(self, number: int, share: float) -> None:
        now = time.monotonic()
        if now - self._collected > COLLECT_EVERY_S:
            self._collected = now
            gc.collect(1)  # in place of the collector, which is held off
        if self._ticket is not None and self._ticket.number == number:
            self.progressed.emit(share)

    def _take_result(self, number: int, result: object, error: object) -> None:
        self._hold.give_back()
        self._tickets = [ticket for ticket in self._tickets if ticket.number != number]
        if self._ticket is None or self._ticket.number != number:
            return
        self._ticket = None
        if error is not None:
            self.failed.emit(error)
        else:
            self.finished.emit(result)
        lay_out()
