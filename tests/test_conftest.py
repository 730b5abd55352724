"""The watch over threads and timers catches what it is there to catch."""

from __future__ import annotations

from pathlib import Path

import pytest

pytest_plugins = ["pytester"]

LEFT = {
    "timer": """
        from PySide6.QtCore import QTimer
        kept = []
        def test_it(qapp):
            timer = QTimer()
            timer.start(10_000)
            kept.append(timer)
    """,
    "thread": """
        import threading
        kept = threading.Event()
        def test_it():
            threading.Thread(target=kept.wait, args=(20,), daemon=True).start()
    """,
    "pool": """
        import threading
        from PySide6.QtCore import QThreadPool
        kept, go = [], threading.Event()
        def test_it(qapp):
            pool = QThreadPool()
            pool.start(lambda: go.wait(3))
            kept.append(pool)
    """,
    "qthread": """
        from PySide6.QtCore import QThread
        kept = []
        def test_it(qapp):
            thread = QThread()
            thread.start()
            kept.append(thread)
    """,
}


@pytest.fixture
def inner(pytester: pytest.Pytester) -> pytest.Pytester:
    pytester.makeconftest(Path(__file__).with_name("conftest.py").read_text(encoding="utf-8"))
    return pytester


@pytest.mark.parametrize("kind", LEFT)
def test_what_is_left_running_fails_the_test_and_is_named(inner: pytest.Pytester, kind: str):
    inner.makepyfile(LEFT[kind])
    result = inner.runpytest_subprocess("-p", "no:xdist", "-p", "no:cacheprovider")
    result.assert_outcomes(passed=1, errors=1)
    result.stdout.fnmatch_lines(["*left running:*", "*test_what_is_left_running*.py*in test_it*"])


def test_what_is_stopped_is_no_fault(inner: pytest.Pytester):
    inner.makepyfile("""
        import threading
        from PySide6.QtCore import QObject, QThreadPool, QTimer
        def test_timer(qapp):
            timer = QTimer()
            timer.start(10_000)
            timer.stop()
        def test_deleted(qapp):
            parent = QObject()
            QTimer(parent).start(10_000)
            parent.deleteLater()
        def test_closed(qtbot):
            from PySide6.QtWidgets import QWidget
            widget = QWidget()
            qtbot.addWidget(widget)
            QTimer(widget).start(10_000)
        def test_thread():
            thread = threading.Thread(target=int)
            thread.start()
            thread.join()
        def test_pool(qapp):
            pool = QThreadPool()
            pool.start(int)
            pool.waitForDone()
    """)
    result = inner.runpytest_subprocess("-p", "no:xdist", "-p", "no:cacheprovider")
    result.assert_outcomes(passed=5)
