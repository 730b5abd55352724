"""Asks a disk that may not answer.

A folder on a network may not answer for minutes, and a call of the system cannot be called off. So
what may wait is done on a thread of its own, which the end of the program does not wait for.
"""

from __future__ import annotations

import gc
import threading
import time
import weakref
from collections import deque
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

from PySide6.QtCore import QObject, QTimer

from bobweight.app.store.jobs import COLLECT_EVERY_S, CollectorHold, collector_held

AT_ONCE_S = 0.8
"""So long a window may stand still for a disk."""
_LOOK_EVERY_MS = 50
_CLOSES_S = 0.3
_AT_ONCE = 8  # things that are waited for before the window goes on
T = TypeVar("T")
A = TypeVar("A")


class Waits(Protocol):
    """Who does what may wait for a disk, and answers as ``work()`` would; ``path`` is what is
    waited for."""

    def __call__(self, work: Callable[[], T], path: Path) -> T: ...


def without_window(work: Callable[[], T], path: Path) -> T:
    """Simply does it: where no window has to go on meanwhile."""
    return work()


class DiskCall(Generic[T]):
    """One call on a thread of its own."""

    def __init__(self, work: Callable[[], T]) -> None:
        self._work = work
        self._result: T | None = None
        self._error: BaseException | None = None
        self.over = threading.Event()
        threading.Thread(target=self._run, daemon=True).start()

    def _run(self) -> None:
        try:
            self._result = self._work()
        except BaseException as error:
            self._error = error
        finally:
            self.over.set()

    def answer(self) -> T:
        """What it came to, once it is over."""
        if self._error is not None:
            raise self._error
        return self._result  # type: ignore[return-value]


class Disk:
    """Answers within a moment, or not at all.

    Attributes
    ----------
    left : list of DiskCall
        Calls that were waited for no longer.
    """

    def __init__(self) -> None:
        self.left: list[DiskCall[Any]] = []

    def at_once(self, work: Callable[[], T], otherwise: T) -> T:
        """Its answer if that comes within a moment; nothing is asked again while a call before
        has not come back."""
        self.left = [call for call in self.left if not call.over.is_set()]
        if self.left:
            return otherwise
        with collector_held():
            call = DiskCall(work)
            if call.over.wait(AT_ONCE_S):
                return call.answer()
        self.left.append(call)
        return otherwise


class Arrivals(QObject, Generic[A, T]):
    """Does something with each of several things, one after the other, and hands over what has
    come of it on the window's thread as it arrives.

    Parameters
    ----------
    work : callable
        Done with each thing on a thread of its own; must not raise.
    take : callable
        Given each thing and what came of it. A thing asked for before is not handed over any more.
    """

    def __init__(
        self, work: Callable[[A], T], take: Callable[[A, T], None], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._work, self._take = work, take
        self._wanted: Sequence[A] = ()
        self._made: deque[tuple[A, T]] = deque()
        self._call: DiskCall[None] | None = None
        self._again = False
        self._hold = CollectorHold()
        weakref.finalize(self, self._hold.end)
        self._collected = 0.0
        self._timer = QTimer(self, interval=_LOOK_EVERY_MS)
        self._timer.timeout.connect(self._look)

    @property
    def busy(self) -> bool:
        """True while something has not arrived."""
        return self._call is not None

    def ask(self, things: Sequence[A]) -> None:
        """Begin with these, in place of what was asked before. What comes within a moment has
        arrived when this returns."""
        self._wanted = things
        self._again = True
        self._look()
        ends = time.monotonic() + AT_ONCE_S
        while self._call is not None and not self._again and time.monotonic() < ends:
            if self._call.over.wait(0.005) or len(self._made) > _AT_ONCE:
                break
        self._look()

    def close(self) -> None:
        """Nothing arrives any more; the thing that is being done is waited for a moment."""
        self._wanted, self._again = (), False
        self._made = deque()
        self._timer.stop()
        if self._call is not None:
            self._call.over.wait(_CLOSES_S)
            self._call = None
        self._hold.end()

    def _begin(self) -> None:
        self._again = False
        made: deque[tuple[A, T]] = deque()
        self._made = made
        wanted = self._wanted
        if not wanted:
            return

        def each() -> None:
            for thing in wanted:
                if self._made is not made:
                    return  # others are asked for
                made.append((thing, self._work(thing)))

        self._hold.take()
        self._call = DiskCall(each)
        self._timer.start()

    def _look(self) -> None:
        over = self._call is not None and self._call.over.is_set()
        while self._made and not self._again:
            self._take(*self._made.popleft())
        if over:
            self._call = None
            self._hold.end()
            self._timer.stop()
        elif self._again and self._call is not None:
            self._made = deque()  # the call ends with the thing it is at
        if self._again and self._call is None:
            self._begin()
        elif time.monotonic() - self._collected > COLLECT_EVERY_S and self._call is not None:
            self._collected = time.monotonic()
            gc.collect(1)  # in place of the collector, which is held off
