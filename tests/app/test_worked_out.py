"""The line under a result: closed and made of nothing at first, then formula and figures."""

from __future__ import annotations

from bobweight.app.messages.workings import FORMULAS, ORIGINS, formula_lines
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.widgets.table import ReadTable
from bobweight.app.widgets.worked_out import WorkedOut, from_docket
from bobweight.core.docket.docket import new_docket
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


PAGES = {"verdict": "verdict", "vacuum": "capsule", "setting_up": "setting", "springs": "search"}


def test_it_stands_only_where_something_was_worked_out(window):
    """Of an empty docket nothing is; of one with curve, static, capsule and table all but a search
    that nobody began."""
    for docket, there in ((new_docket(), set()), (sample("weak_primary"), set(PAGES.values()))):
        window.store.open_docket(docket, None)
        shown = set()
        for page in PAGES:
            window.show_page(page)
            window.feed.tell()
            lines = window.page(page).findChildren(WorkedOut)
            shown |= {line._key for line in lines if not line.isHidden()}
        assert shown - {"tolerance"} == there - {"search"}


def test_a_capsule_with_blank_figures_and_a_static_left_blank_give_nothing_to_explain(window):
    docket = sample("weak_primary")
    blank = (("capsules", 0, "start_kpa"), ("setting_up", "static_deg"),
             ("setting_up", "wanted_total_deg"))  # fmt: skip
    for path in blank:
        docket = put(docket, path, None)
    window.store.open_docket(docket, None)
    for page in ("vacuum", "setting_up"):
        window.show_page(page)
        window.feed.tell()
        assert all(line.isHidden() for line in window.page(page).findChildren(WorkedOut))
