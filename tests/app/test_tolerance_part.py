"""The Tolerance part of the Springs page, left and edited while it works something out."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from bobweight.app.pages.springs import SpringsPage, tolerance_part
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.core.problems import BobweightError

pytestmark = pytest.mark.usefixtures("told_at_once")

PATIENCE_MS = 60_000


@pytest.fixture
def page(qtbot, store) -> Iterator[SpringsPage]:
    display = Display()
    page = SpringsPage(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(page)
    page.show()
    yield page
    page.close_down()


def test_shares_left_before_they_were_begun_are_begun_again(qtbot, page):
    page.show_part("tolerance")
    part = page.part("tolerance")
    page.hide()
    qtbot.waitUntil(lambda: not part.runner.busy, timeout=PATIENCE_MS)
    assert part.influence is None
    page.show()
    qtbot.waitUntil(lambda: part.influence is not None, timeout=PATIENCE_MS)
    assert not part.which_status.isVisibleTo(page)


def test_tolerance_of_what_was_edited_while_the_one_before_failed(qtbot, page, store, monkeypatch):
    first, work = store.docket, tolerance_part.worked_out

    def fails_once(docket):
        if docket is first:
            raise BobweightError("not-computed", (), error="x")
        return work(docket)

    monkeypatch.setattr(tolerance_part, "worked_out", fails_once)
    page.show_part("tolerance")
    part = page.part("tolerance")
    store.edit("Stop", ("mechanism", "stop_deg"), 11.0)
    qtbot.waitUntil(lambda: part.influence is not None, timeout=PATIENCE_MS)
    assert part._of is store.docket and "built at random" in part.status.text()
