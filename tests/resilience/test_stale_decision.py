"""A decision is worded of the docket it was made for, whatever was edited since."""

from __future__ import annotations

import pytest

from bobweight.core.record import put
from tests.samples import sample
from tests.waiting import PATIENCE_MS


@pytest.mark.parametrize("left", [0, 1])
def test_springs_are_taken_out_under_a_decision(qtbot, window, left):
    demo = sample("weak_primary")
    window.store.open_docket(demo, None)
    window.show_page("verdict")
    decisions = window.feed.decisions
    qtbot.waitUntil(lambda: decisions.found is not None, timeout=PATIENCE_MS)
    page = window.page("verdict")
    rows = page.parts[0].rows
    said = [row.said.text() for row in rows if row.isVisible()]
    window.show_page("mechanism")
    springs = demo.mechanism.springs[:left]
    window.store.replace("x", put(demo, ("mechanism", "springs"), springs))
    window.show_page("verdict")  # an exception in an event of Qt's own fails this test
    assert [row.said.text() for row in rows if row.isVisible()] == said
    assert "before the last edit" in page.status.text()
    decisions.stop()
