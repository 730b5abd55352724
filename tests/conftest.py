"""What all tests share: Qt without a screen, settings of their own, and nothing left running."""

from __future__ import annotations

import gc
import itertools
import os
import sys
import threading
import traceback
import weakref
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # before Qt is imported
# one worker a core: more threads would only wait for each other
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ["LC_ALL"] = "C.UTF-8"  # a first start shows the units usual where it is
# a program that a test starts reads what was compiled once, wherever otherwise is asked for
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

import pytest

sys.dont_write_bytecode = False

LONGEST = (
    "test_bundle.py", "test_architecture.py", "test_search.py", "test_verdict_page.py",
    "test_window.py", "test_decision.py", "test_against_vectors.py", "test_room.py",
)  # fmt: skip
"""Files that are begun first, so that no worker is left with one of them at the end."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest files first."""
    place = {name: k for k, name in enumerate(LONGEST)}
    items.sort(key=lambda item: place.get(item.path.name, len(LONGEST)))


def pytest_collection_finish() -> None:
    """What was loaded for the tests stays: no collection of garbage goes through it again."""
    gc.collect()
    gc.freeze()


_STARTED: dict[int, tuple[weakref.ref, str]] = {}
"""Qt timers, threads and pools that a test has started, and where."""


_HOMES = itertools.count()


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Settings and autosave in a folder of the test's own."""
    # a number of its own: to find the next free one, all folders there are would be listed
    home = tmp_path_factory.getbasetemp() / "homes" / str(next(_HOMES))
    home.mkdir(parents=True)
    monkeypatch.setenv("BOBWEIGHT_HOME", str(home))
    return home


_JUDGED: dict[tuple[Any, int], Any] = {}
"""Decisions by docket and session, the oldest first."""
_MOST_JUDGED = 40


@pytest.fixture
def judged_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A docket is judged once in a process, though many tests ask: it never changes.

    For tests of what is made of a judgement; ``tests/judgement`` asks for each anew.
    """
    from bobweight.core.judgement import decision

    judge = decision.decide_docket

    def once(docket: Any, session: int = -1, *others: Any, **named: Any) -> Any:
        found = _JUDGED.get((docket, session))
        if found is None:
            found = judge(docket, session, *others, **named)
            if found.complete:
                _JUDGED[docket, session] = found
                if len(_JUDGED) > _MOST_JUDGED:
                    del _JUDGED[next(iter(_JUDGED))]
        return found

    monkeypatch.setattr(decision, "decide_docket", once)


@pytest.fixture(autouse=True)
def nothing_left_running(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test that leaves a thread or a timer alive, naming where it was started.

    ``qtbot`` closes its widgets after this fixture if it was asked for later, so the look round
    is left to the very end of the test (``pytest_runtest_teardown`` below).
    """
    threads = set(threading.enumerate())
    _STARTED.clear()
    _watch_qt()
    request.node.stash[_THREADS] = threads
    yield


@pytest.fixture(autouse=True)
def no_fault_is_told() -> Iterator[None]:
    """Fail a test in which a method that Qt calls raised, though the window outlives it."""
    guard = sys.modules.get("bobweight.app.guard")
    if guard is None and "PySide6.QtCore" not in sys.modules:
        yield
        return
    from bobweight.app import guard

    told: list[str] = []

    def hear(error: BaseException, where: str) -> None:
        told.append(f"{guard.account(error, where)}\n  {error}")

    guard.listen(hear)
    yield
    guard.unlisten(hear)
    if told:
        pytest.fail("told by the guard:\n" + "\n".join(told), pytrace=False)


_THREADS = pytest.StashKey[set[threading.Thread]]()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown(item: pytest.Item) -> Iterator[None]:
    result = yield
    before = item.stash.get(_THREADS, None)
    if before is not None:
        del item.stash[_THREADS]
        left = [*_threads_left(before), *_qt_left()]
        _STARTED.clear()
        if left:
            pytest.fail("left running:\n" + "\n".join(left), pytrace=False)
    return result


def _threads_left(before: set[threading.Thread]) -> list[str]:
    left = []
    for thread in set(threading.enumerate()) - before:
        thread.join(0.5)
        if thread.is_alive() and not isinstance(thread, threading._DummyThread):
            where = getattr(thread, "_started_where", "")
            left.append(f"thread {thread.name!r}\n{where}")
    return left


def _qt_left() -> list[str]:
    core = sys.modules.get("PySide6.QtCore")
    if core is None:
        return []
    if core.QCoreApplication.instance() is not None:  # deliver deleteLater
        core.QCoreApplication.sendPostedEvents(None, core.QEvent.Type.DeferredDelete)
    left = []
    for reference, where in list(_STARTED.values()):
        thing = reference()
        if thing is not None and _alive(core, thing):
            left.append(f"{type(thing).__name__}\n{where}")
            _stop(core, thing)
    return left


def _alive(core: Any, thing: Any) -> bool:
    try:
        if isinstance(thing, core.QTimer):
            return thing.isActive()
        if isinstance(thing, core.QThread):
            return thing.isRunning()
        return thing.activeThreadCount() > 0 and not thing.waitForDone(500)
    except RuntimeError:  # deleted by Qt
        return False


def _stop(core: Any, thing: Any) -> None:
    """So that the next test does not suffer for it."""
    if isinstance(thing, core.QTimer):
        thing.stop()
    elif isinstance(thing, core.QThread):
        thing.quit()
        thing.wait(1000)


def _watch_qt() -> None:
    """Have the starters of timers, threads and pools note where they were called."""
    core = sys.modules.get("PySide6.QtCore")
    if core is None or getattr(core.QTimer.start, "_noted", False):
        return
    for kind in (core.QTimer, core.QThread, core.QThreadPool):
        kind.start = _noting(kind.start)
    threading.Thread.start = _noting(threading.Thread.start, on_thread=True)


def _noting(start: Callable[..., Any], on_thread: bool = False) -> Callable[..., Any]:
    def noting(self: Any, *arguments: Any, **named: Any) -> Any:
        where = "".join(traceback.format_stack(limit=8)[:-1])
        if on_thread:
            self._started_where = where
        else:
            _STARTED[id(self)] = (weakref.ref(self), where)
        return start(self, *arguments, **named)

    noting._noted = True
    return noting
