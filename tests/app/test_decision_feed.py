"""Decisions behind the window: only when wanted, newest only, stopped with what is ready."""

from __future__ import annotations

import pytest

from bobweight.app.store import Store, decision_feed
from bobweight.app.store.decision_feed import STAGES, DecisionFeed, stage_at
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.core.docket.file import read_docket
from bobweight.core.judgement.decision import STAGES as CORE_STAGES
from bobweight.core.judgement.decision import decide_docket
from tests.app.conftest import SAMPLES
from tests.waiting import PATIENCE_MS

ANGLE = ("sessions", 0, "readings", 0, "angle_deg")


@pytest.fixture(scope="module")
def twin():
    return read_docket(SAMPLES / "motorcycle_twin.docket")


class Desk:
    def __init__(self, docket) -> None:
        self.store, self.display = Store(docket), Display()
        self.feed = OutcomeFeed(self.store, self.display)
        self.decisions: DecisionFeed = self.feed.decisions
        self.begun: list[object] = []
        run = self.decisions._runner.start
        self.decisions._runner.start = lambda work: (self.begun.append(work), run(work))


@pytest.fixture
def desk(qapp, twin):
    desk = Desk(twin)
    yield desk
    desk.decisions.close()
    desk.store.release()


@pytest.fixture
def settled(qtbot, desk):
    def settled():
        qtbot.waitUntil(lambda: not desk.decisions.busy, timeout=PATIENCE_MS)

    return settled


def test_nothing_is_worked_out_for_nobody(desk):
    desk.store.edit("Angle", ANGLE, 12.0)
    assert not desk.decisions.busy and not desk.begun and desk.decisions.found is None


def test_the_decision_is_the_core_s(desk, settled, twin):
    desk.decisions.want("page", ("fit", "next"))
    assert desk.decisions.busy and desk.decisions.layers == {"fit", "next"}
    settled()
    found, told = desk.decisions.current, decide_docket(twin)
    assert found.decision.complete and found.decision.docket is desk.store.docket
    assert [e.name for e in found.decision.explanations] == [e.name for e in told.explanations]
    assert found.decision.action == told.action
    desk.decisions.leave("page")
    assert desk.decisions.layers == frozenset()


def test_a_superseded_decision_is_dropped(qtbot, desk, settled):
    seen = []
    desk.decisions.changed.connect(lambda: seen.append(desk.decisions.found))
    desk.decisions.want("page")
    with qtbot.waitSignal(desk.decisions.progressed, timeout=PATIENCE_MS):
        pass
    first = desk.store.docket
    desk.store.edit("Angle", ANGLE, 12.0)
    settled()
    assert desk.decisions.is_current and len(desk.begun) == 2
    assert all(found is None or found.decision.docket is not first for found in seen)


def test_the_end_of_a_superseded_decision_does_not_cut_the_rest_short(qtbot, desk, monkeypatch):
    monkeypatch.setattr(decision_feed, "REST_MS", 10**6)
    desk.decisions.want("page")
    with qtbot.waitSignal(desk.decisions.progressed, timeout=PATIENCE_MS):
        pass
    desk.store.edit("Angle", ANGLE, 12.0)
    desk.feed.tell()
    qtbot.waitUntil(lambda: not desk.decisions._runner.busy, timeout=PATIENCE_MS)
    qtbot.wait(20)
    assert desk.decisions.busy and len(desk.begun) == 1, "the hand has not rested yet"


def test_edits_under_a_moving_hand_begin_nothing(qtbot, desk, settled):
    desk.decisions.want("page")
    settled()
    for step in range(20):
        desk.store.edit("Angle", ANGLE, 11.0 + 0.1 * step, gesture="drag")
        assert not desk.decisions.is_current
        desk.feed.tell()
        assert desk.decisions.busy
    assert len(desk.begun) == 1
    settled()
    assert len(desk.begun) == 2 and desk.decisions.is_current


def test_what_a_decision_does_not_hang_on_begins_nothing(desk, settled):
    desk.decisions.want("page")
    settled()
    desk.store.edit("Notes", ("reassembly", "notes"), "Shim under the cam.")
    assert desk.decisions.is_current and not desk.decisions.busy


def test_undo_brings_the_decision_back_at_once(desk, settled):
    desk.decisions.want("page")
    settled()
    before = desk.decisions.current
    desk.store.edit("Angle", ANGLE, 12.0)
    settled()
    assert desk.decisions.current is not before
    desk.store.undo_stack.undo()
    assert desk.decisions.current is before and not desk.decisions.busy


def test_stopping_keeps_what_is_ready_and_waits_to_be_asked(qtbot, desk, settled):
    ready = []
    desk.decisions.progressed.connect(ready.append)
    desk.decisions.want("page")
    qtbot.waitUntil(lambda: bool(ready) and ready[-1] >= STAGES[1][1], timeout=PATIENCE_MS)
    desk.decisions.stop()
    settled()
    partial = desk.decisions.found
    assert partial is not None and partial.decision.diagnosis is not None
    assert not partial.decision.complete
    desk.decisions.want("another")
    assert not desk.decisions.busy
    desk.decisions.again()
    settled()
    assert desk.decisions.current.decision.complete


def test_leaving_stops_the_work(qtbot, desk, settled):
    desk.decisions.want("page")
    with qtbot.waitSignal(desk.decisions.progressed, timeout=PATIENCE_MS):
        pass
    desk.decisions.leave("page")
    settled()
    assert desk.decisions.found is None
    desk.decisions.want("page")
    settled()
    assert desk.decisions.is_current


def test_a_failure_is_told_once(desk, settled, monkeypatch):
    def broken(*_):
        raise ZeroDivisionError("no such thing")

    monkeypatch.setattr("bobweight.core.judgement.decision.decide_docket", broken)
    desk.decisions.want("page")
    settled()
    assert isinstance(desk.decisions.failure, ZeroDivisionError)
    assert len(desk.begun) == 1 and not desk.decisions.busy
    monkeypatch.undo()
    desk.decisions.again()
    settled()
    assert desk.decisions.failure is None and desk.decisions.is_current


def test_every_stage_of_the_core_has_its_share():
    assert tuple(name for name, *_ in STAGES) == CORE_STAGES[:-1]
    ends = [end for *_, end in STAGES]
    assert [begin for _, begin, _ in STAGES] == [0.0, *ends[:-1]] and ends[-1] == 1.0
    assert [stage_at(share) for share in (0.0, 0.49, 0.5, 0.8, 1.0)] == [
        "diagnosis", "diagnosis", "fit", "alterations", "next-reading",
    ]  # fmt: skip
