"""The line under a result: closed and made of nothing at first, then formula and figures."""

from __future__ import annotations

from bobweight.app.messages.workings import FORMULAS, ORIGINS, formula_lines
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.widgets.table import ReadTable
from bobweight.app.widgets.worked_out import from_docket
from bobweight.core.judgement import workings
from bobweight.core.record import put
from tests.samples import sample


def test_every_result_and_origin_has_its_words() -> None:
    assert set(FORMULAS) == set(workings.RESULTS)
    assert set(ORIGINS) == set(workings.ORIGINS)
    assert all(formula_lines(key) for key in FORMULAS)


def test_it_opens_and_follows(qtbot) -> None:
    store, display = Store(sample("weak_primary")), Display()
    made = from_docket("capsule", store, display)
    qtbot.addWidget(made)
    made.show()
    assert not made.findChildren(ReadTable)
    made.head.click()
    (table,) = made.findChildren(ReadTable)
    assert ["Capsule, starts at", "13.5\u00a0kPa", "typed"] in table.texts()
    store.replace("test", put(store.docket, ("capsules", 0, "start_kpa"), 14.0))
    made.follow()
    assert ["Capsule, starts at", "14\u00a0kPa", "typed"] in table.texts()
    made.head.click()
    assert not table.isVisible()
