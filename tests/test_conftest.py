"""The watch over threads and timers catches what it is there to catch."""

from __future__ import annotations

import re
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
            pool.start(lambda: go.wait(2))
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


STOPPED = """
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
"""


def test_what_is_left_running_fails_its_test_alone_and_is_named(pytester: pytest.Pytester):
    """In one inner run: each kind that is left running, and after them what was stopped."""
    pytester.makeconftest(Path(__file__).with_name("conftest.py").read_text(encoding="utf-8"))
    pytester.makepyfile(**{f"test_{kind}": code for kind, code in LEFT.items()}, test_z=STOPPED)
    result = pytester.runpytest_subprocess("-v", "-p", "no:xdist", "-p", "no:cacheprovider")
    result.assert_outcomes(passed=len(LEFT) + 5, errors=len(LEFT))
    result.stdout.no_fnmatch_line("test_z.py::* ERROR*")
    told = re.split(r"_+ ERROR at teardown of test_it _+", result.stdout.str())[1:]
    for kind in LEFT:
        (mine,) = (text for text in told if f"test_{kind}.py" in text.partition("= short test")[0])
        assert "left running:" in mine
        assert re.search(rf"test_{kind}\.py.* in test_it", mine), mine
