"""Values at the edge of what may be entered, through the calculations."""

from __future__ import annotations

import math
import tracemalloc
import warnings

import numpy as np
import pytest
from PySide6.QtWidgets import QApplication

from bobweight.app.widgets.table import Column, ReadTable
from bobweight.core.figure.plan import plan_frame
from bobweight.core.judgement import outcome as outcome_module
from bobweight.core.judgement.alter import _all_inside
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.problems import BobweightError, required
from bobweight.core.record import put, walk
from tests.samples import sample


@pytest.mark.parametrize(
    ("name", "peg_radius_mm"),
    [("weak_primary", None), ("small_four", 200.0), ("retard_capsule", None)],
)
def test_a_stop_at_its_lower_limit_is_decided(name, peg_radius_mm):
    """The springs as they are or pulled far out: one of the two with each sample."""
    docket = put(sample(name), ("mechanism", "stop_deg"), 0.1)
    if peg_radius_mm is not None:
        docket = put(docket, ("mechanism", "springs", 0, "peg_radius_mm"), peg_radius_mm)
    assert decide_docket(docket).complete


def test_a_fault_in_the_sums_is_a_problem_of_that_docket_only(monkeypatch):
    docket, reduce = sample("weak_primary"), outcome_module.reduce_session

    def fault(session, *arguments):
        if session.readings:
            raise IndexError
        return reduce(session, *arguments)

    monkeypatch.setattr(outcome_module, "reduce_session", fault)
    found = outcome_module.outcome(docket)
    assert found.docket is docket and [p.code for p in found.problems] == ["not-computed"]
    monkeypatch.undo()
    after = outcome_module.outcome(docket, previous=found)
    assert after.prediction is not None and len(after.reduced.index)


EDGES = [
    (path, value)
    for path, parameter, _ in walk(sample("weak_primary"))
    if (parameter.kind in ("number", "whole") and path[:2] != ("sessions", 0))
    or (path[:3] == ("sessions", 0, "instrument") and parameter.kind == "number")
    for value in parameter.hard
]  # fmt: skip


@pytest.mark.parametrize("start", range(0, 240, 60))
def test_every_number_at_either_limit_is_computed_or_explained(start):
    docket = sample("weak_primary")
    for path, value in EDGES[start : start + 60]:
        try:
            changed = put(docket, path, value)
        except BobweightError:
            continue
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            found = outcome_module.outcome(changed)
        assert [p for p in found.problems if p.code == "not-computed"] == [], (path, value)
        if found.prediction is None:
            assert any(p.grave for p in found.problems), (path, value)
        for beyond in (math.nextafter(value, math.inf), math.nextafter(value, -math.inf)):
            try:
                outcome_module.outcome(put(docket, path, beyond))
            except BobweightError as error:
                assert error.problem.path == path


@pytest.mark.parametrize("key", ["cam_deg", "swing_deg"])
def test_points_of_a_linkage_that_only_the_last_digit_parts_are_explained(key):
    docket = sample("vee_eight")
    for apart in (5e-324, 1e-15):
        place = ("mechanism", "linkage", "points", 1, key)
        found = outcome_module.outcome(put(docket, place, apart))
        told = [(p.code, p.path) for p in found.problems if p.grave]
        assert told == [("measured-not-rising", place)]


def test_a_linkage_short_of_its_stop_is_drawn_as_far_as_it_goes(qapp):
    docket = put(sample("vee_eight"), ("mechanism", "stop_deg"), 16.0)
    found = outcome_module.outcome(docket)
    assert "linkage-short-of-stop" in [problem.code for problem in found.problems]
    assert plan_frame(docket).weights


def test_many_springs_do_not_hold_the_window_up(window, qtbot):
    """Their cards are made one a turn of the loop; one that is asked for is there at once."""
    docket = sample("weak_primary")
    springs = tuple(docket.mechanism.springs[n % 2] for n in range(18))
    window.store.open_docket(put(docket, ("mechanism", "springs"), springs), None)
    window.show_page("mechanism")
    page = window.page("mechanism")
    assert 0 < len(page._cards) < 18
    assert page.focus_path(("mechanism", "springs", 8, "rate_n_per_mm"))
    assert 9 <= len(page._cards) < 18
    qtbot.waitUntil(lambda: len(page._cards) == 18, timeout=20_000)
    assert sum(card.form is not None for card in page._cards) < 9, "no more than are open"
    page._cards[12].heading.click()
    fields = required(page._cards[12].form).fields
    assert fields["rate_n_per_mm"].isVisible() and fields["rate_n_per_mm"].edit.text()
    window.store.undo_stack.clear()
    decided = decide_docket(window.store.docket)
    assert [problem.code for problem in decided.problems] == ["too-many-springs"]


def test_a_long_table_to_read_is_not_measured_whole_whenever_a_cell_changes(qtbot):
    asked: list[int] = []

    def text(row: int) -> str:
        asked.append(row)
        return str(row)

    table = ReadTable("rows", [Column("a", text), Column("b", text)])
    qtbot.addWidget(table)
    table.show_rows(range(2000))
    table.show()
    QApplication.processEvents()
    asked.clear()
    table.show_rows(range(2000))
    QApplication.processEvents()
    assert 0 < len(asked) < 300


def test_a_table_of_a_thousand_points_does_not_fill_the_memory():
    rng = np.random.default_rng(1)
    base = rng.normal(0.0, 1.0, (100, 1500))
    one, two = rng.normal(0.0, 0.3, (2, 8, 1500))
    low, high = np.full(1500, -3.0), np.full(1500, 4.0)
    low[::2] = -5.0
    tracemalloc.start()
    found = _all_inside(base, one, two, low, high)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    total = base[None, None] + one[:, None, None] + two[None, :, None]
    told = ((total >= low) & (total <= high)).all(axis=3).mean(axis=2)
    assert np.array_equal(found, told) and told.max() > 0 and peak < 20e6
