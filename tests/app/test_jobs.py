"""Background jobs: newest result only, stopped jobs hand in, nothing outlives the runner."""

from __future__ import annotations

import gc
import threading
import time

import pytest

from bobweight.app.store.jobs import Runner


@pytest.fixture
def runner(qapp):
    runner = Runner()
    yield runner
    runner.close()


def test_result_and_progress(qtbot, runner):
    shares = []
    runner.progressed.connect(shares.append)

    def work(ticket):
        ticket.tell(0.5)
        return threading.get_ident() == threading.main_thread().ident

    with qtbot.waitSignal(runner.finished) as done:
        runner.start(work)
    assert done.args == [False] and shares == [0.5] and not runner.busy


def test_only_the_newest_result_is_taken(qtbot, runner):
    results, gate = [], threading.Event()
    runner.finished.connect(results.append)

    def old(ticket):
        gate.wait(5)
        return "old"

    runner.start(old)
    runner.start(lambda ticket: "new")
    gate.set()
    qtbot.waitUntil(lambda: results == ["new"])


def test_stopped_job_hands_in_its_best(qtbot, runner):
    begun = threading.Event()

    def work(ticket):
        best = 0
        begun.set()
        while not ticket.stopped:
            best += 1
        return best

    with qtbot.waitSignal(runner.finished) as done:
        runner.start(work)
        begun.wait(5)
        runner.stop()
    assert done.args[0] > 0


def test_failure_is_told(qtbot, runner):
    def work(ticket):
        raise ValueError("no")

    with qtbot.waitSignal(runner.failed) as failed:
        runner.start(work)
    assert isinstance(failed.args[0], ValueError)


def test_close_waits_and_refuses(qapp):
    runner, ended = Runner(), []

    def work(ticket):
        while not ticket.stopped:
            pass
        ended.append(True)

    runner.start(work)
    runner.close()
    runner.start(work)
    assert len(ended) <= 1 and not runner.busy


def test_no_cycle_is_collected_on_the_thread_of_a_job(qtbot, runner):
    """A widget in a cycle that is freed there brings the process down."""
    freed_on = []

    class Knot:
        def __init__(self):
            self.me = self

        def __del__(self):
            freed_on.append(threading.current_thread() is threading.main_thread())

    def work(ticket):
        for _ in range(3000):
            Knot()
        return gc.isenabled()

    with qtbot.waitSignal(runner.finished) as done:
        runner.start(work)
    assert done.args == [False] and gc.isenabled()
    gc.collect()
    assert len(freed_on) == 3000 and all(freed_on)


def test_the_collector_comes_back_whatever_became_of_the_jobs(qtbot, runner):
    begun, go = threading.Event(), threading.Event()

    def slow(ticket):
        begun.set()
        go.wait(5)

    runner.start(slow)
    begun.wait(5)
    never = []
    runner.start(lambda ticket: never.append(1))
    with qtbot.waitSignal(runner.finished) as done:
        runner.start(lambda ticket: "newest")
        go.set()
    assert done.args == ["newest"] and not never and gc.isenabled()
    go.clear()
    runner.start(slow)
    assert not gc.isenabled()
    go.set()
    runner.close()
    assert gc.isenabled()


@pytest.mark.parametrize("superseded", [False, True])
def test_a_job_that_does_not_ask_is_not_waited_for_at_the_end(qtbot, superseded):
    runner, begun, ended = Runner(), threading.Event(), []

    def deaf(_ticket):
        begun.set()
        ends = time.monotonic() + 4.0
        try:
            while time.monotonic() < ends:
                sum(range(1000))
            ended.append("to its end")
        except Exception:  # what a calculation may catch
            ended.append("caught")

    runner.start(deaf)
    assert begun.wait(5)
    if superseded:
        runner.start(lambda _ticket: ended.append("begun after all"))
    started = time.monotonic()
    runner.close()
    assert time.monotonic() - started < 2.0 and ended == []
    assert gc.isenabled()
