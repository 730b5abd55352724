"""Fitting a spring begins a state of the unit; the readings page shows and alters it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from bobweight.app.pages.readings import ReadingsPage
from bobweight.app.pages.springs.acts import use_as
from bobweight.app.pages.springs.part import Bench
from bobweight.app.store.display import Display
from bobweight.app.store.docket_store import Store
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.store.tray_store import TrayStore
from bobweight.core.design.tray import Tray, TraySpring
from bobweight.core.docket.states import unit_of

FRESH = TraySpring(label="Fresh", rate_n_per_mm=1.9, free_length_mm=17.0)


@pytest.fixture
def bench(qapp, demo, tmp_path) -> Iterator[Bench]:
    store, display = Store(demo), Display()
    tray = TrayStore(tmp_path)
    tray.replace("Fill", Tray(springs=(FRESH,)))
    yield Bench(store, OutcomeFeed(store, display), display, tray)
    store.release()
    tray.close()


def test_fitting_a_spring_leaves_the_readings_with_the_old_one(bench, demo):
    said = use_as(bench, 0, "primary")
    docket = bench.store.docket
    assert "stay with the unit as it was" in said
    assert len(docket.states) == 1 and len(docket.sessions) == len(demo.sessions) + 1
    assert bench.display.session_index(docket) == len(demo.sessions)
    assert unit_of(docket, 0).mechanism.springs[0].rate_n_per_mm == (
        demo.mechanism.springs[0].rate_n_per_mm
    )
    assert bench.feed.outcome.prediction is not None
    bench.store.undo_stack.undo()
    assert bench.store.docket == demo


def test_the_readings_page_shows_the_state_and_lets_it_be_altered(qtbot, bench, demo):
    page = ReadingsPage(bench.store, bench.feed, bench.display)
    qtbot.addWidget(page)
    page.show()
    assert not page.state_box.isVisibleTo(page)
    use_as(bench, 0, "primary")
    qtbot.waitUntil(lambda: page.state_box.isVisibleTo(page))
    assert page.state_box.currentText().startswith("after: “Fresh” fitted")
    page.state_box.setCurrentIndex(0)
    page.state_box.activated.emit(0)
    assert bench.store.docket.sessions[-1].state == 0
    page.add_session()
    assert bench.store.docket.sessions[-1].state == 1
    bench.store.undo_stack.undo()
    bench.store.undo_stack.undo()
    assert bench.store.docket.sessions[-1].state == 1
