"""What the parts of Springs answer: seen wherever the button was, in the words of a hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from PySide6.QtWidgets import QLabel

from bobweight.app.messages.explanations import bent_text
from bobweight.app.messages.figures import field_text
from bobweight.app.pages.springs.acts import rates_changed, use_as
from bobweight.app.pages.springs.ideal_part import _not_held
from bobweight.app.widgets.lines import Facts
from bobweight.core.design.tray import TraySpring
from bobweight.core.design.wire import TensionState
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.spring_source import SpringSource
from bobweight.core.record import get, put
from bobweight.core.units import SPRING_RATE, parse
from tests.samples import sample


@pytest.mark.parametrize(("states", "said"), [
    ((TensionState.BELOW, TensionState.PREFERRED), ""),
    ((TensionState.BELOW, TensionState.BELOW), "too low; it would have to be higher, or none"),
    ((TensionState.ABOVE,), "too high; it would have to be lower"),
    ((), ""),
])  # fmt: skip
def test_springs_that_nobody_can_wind_are_not_told_as_wound(states, said):
    ways = tuple(SimpleNamespace(tension_state=state) for state in states)
    found = SimpleNamespace(springs=(SimpleNamespace(role="primary", windings=ways),))
    told = _not_held(found)
    assert said in told and bool(told) == bool(said)


def test_an_answer_is_scrolled_to_wherever_its_button_was(window, answers, qtbot):
    """A small window, both ends of the page."""
    window.store.open_docket(put(window.store.docket, ("target", "points"), ()), None)
    window.show()
    window.resize(1280, 600)
    window.show_page("springs")
    page = window.page("springs")
    for key in ("search", "ideal"):
        page.show_part(key)
        part = page.part(key)
        part.start()
        qtbot.waitUntil(lambda said=part.said: bool(said.text()))
        qtbot.waitUntil(lambda said=part.said: not said.visibleRegion().isEmpty())
        bar = page.scroll_area().verticalScrollBar()
        bar.setValue(bar.maximum())
        part.said.say("done")
        qtbot.waitUntil(lambda said=part.said: not said.visibleRegion().isEmpty())


def test_what_was_worked_out_is_never_shut(window, answers, qtbot):
    """However long it is, in however small a window, with the keyboard elsewhere."""
    window.begin()
    window.show()
    window.resize(1280, 500)
    window.show_page("springs")
    page = window.page("springs")
    springs = tuple(TraySpring(label=f"A name {n} " * 6, count=2, rate_n_per_mm=0.9 + n,
                               free_length_mm=20.0 + 0.2 * n) for n in range(9))  # fmt: skip
    page.tray.replace("Fill", put(page.tray.tray, ("springs",), springs))
    page.show_part("search")
    part = page.part("search")
    part.start()
    qtbot.waitUntil(lambda: not part.runner.busy and part.view.isVisibleTo(page), timeout=60_000)
    window.strip.setFocus()
    page.sections.fit()
    pairs = page.sections.main
    assert pairs.isAncestorOf(part.view) and pairs.is_open
    assert pairs.height_of_content() > page.scroll_area().viewport().height()


def test_the_history_says_which_rate_was_fitted_and_which_taken_out(window, demo):
    """“Fit “C”” tells nothing once the label has gone from the tin."""
    window.store.open_docket(demo, None)
    window.show_page("springs")
    page = window.page("springs")
    old = next(s for s in demo.mechanism.springs if s.role == "primary")
    fresh = TraySpring(label="C", count=9, rate_n_per_mm=2.375, free_length_mm=24.0)
    page.tray.replace("Fill", put(page.tray.tray, ("springs",), (fresh,)))
    use_as(page.part("tray").bench, 0, "primary")
    line = window.store.docket.history[-1]
    out = field_text(old, "rate_n_per_mm", window.display)
    assert line.note == f"Primary 2.375\u00a0N/mm; {out} taken out" and out[0].isdigit()
    unchanged = window.store.docket.mechanism
    assert rates_changed(unchanged, unchanged, window.display) == ""
    bare = unchanged.with_changes(springs=())
    assert rates_changed(bare, unchanged, window.display).startswith("Primary 2.375\u00a0N/mm. ")
    gone = rates_changed(unchanged, bare, window.display)
    assert gone.startswith("Primary: 2.375\u00a0N/mm taken out. ")


def test_undo_of_the_tray_says_what_and_where(window, qtbot):
    """The docket has an undo of its own, on the Edit menu."""
    window.show_page("springs")
    page = window.page("springs")
    part = page.part("tray")
    springs = (TraySpring(label="C", rate_n_per_mm=2.375),)
    page.tray.replace("Add “C”", put(page.tray.tray, ("springs",), springs))
    qtbot.waitUntil(lambda: "In the tray: Add “C”" in part.undo_button.toolTip())
    page.tray.undo_stack.undo()
    qtbot.waitUntil(lambda: "In the tray: Add “C”" in part.redo_button.toolTip())
    assert "nothing" in part.undo_button.toolTip()


def test_a_bent_post_is_told_by_its_way_and_not_by_a_sign():
    assert bent_text(-1.914, "outward") == "1.91\u00a0mm inward"
    assert bent_text(0.4, "outward") == "0.4\u00a0mm outward"
    assert bent_text(0.4, "round") == "0.4\u00a0mm towards advance"
    assert bent_text(-0.001, "outward") == "0\u00a0mm"


@pytest.mark.parametrize("inside", [True, False])
def test_a_search_among_blanks_says_where_no_spring_will_do(window, inside):
    window.begin()
    window.show_page("springs")
    part = window.page("springs").part("search")
    part.search = SimpleNamespace(is_rough=True, basis=lambda docket: docket)
    part.found = SimpleNamespace(candidates=(SimpleNamespace(inside=inside),), pairs=1, tuned=0,
                                 looked_at=1, finished=True)  # fmt: skip
    part._tray_of, part._docket_of = part.tray.tray, window.store.docket
    said = part._status_text(busy=False)
    assert "Figures are blank" in said and ("None meets the whole band" in said) != inside
    part.search = part.found = None


def test_tolerances_say_that_they_reckon_with_a_figure_that_is_doubted(window, qtbot):
    """Ten times the mass: a point in the wrong place (common practice)."""
    docket = sample("tractor_four")
    mass = ("mechanism", "weights", "mass_g")
    for times, said in ((1.0, ""), (10.0, "mass of each weight")):
        window.store.open_docket(put(docket, mass, times * get(docket, mass)), None)
        window.show()
        window.show_page("springs")
        page = window.page("springs")
        page.show_part("tolerance")
        part, decisions = page.part("tolerance"), window.feed.decisions
        qtbot.waitUntil(lambda d=decisions: d.current is not None, timeout=60_000)
        assert (decisions.doubts is not None) == bool(said) == part.doubted.isVisibleTo(page)
        assert said in part.doubted.text()
        assert (window.strip.state_of("mechanism") == "wrong") == bool(said)
        qtbot.waitUntil(lambda part=part: not part.runner.busy and not part.sobol_runner.busy
                        and part.influence is not None, timeout=60_000)  # fmt: skip


def test_springs_to_order_are_not_worked_out_without_a_table_to_keep(window, demo):
    window.store.open_docket(demo, None)
    window.show_page("springs")
    page, store = window.page("springs"), window.store
    page.show_part("ideal")
    part = page.part("ideal")
    assert part.start_button.isEnabled()
    for path in (("target", "points"), ("mechanism", "springs")):
        store.edit("None", path, ())
        page.feed.tell()
        assert not part.start_button.isEnabled()
        assert part.status.text() == f"○ {part.start_button.accessibleDescription()}"
        store.undo_stack.undo()
        page.feed.tell()
        assert part.start_button.isEnabled()


def test_a_unit_copied_from_the_facts_is_read_back(qtbot):
    facts = Facts()
    qtbot.addWidget(facts)
    facts.show_facts([("Rate", "2.6\u00a0N/mm")])
    shown = facts.findChildren(QLabel)[1].text()
    assert shown != facts.texts()["Rate"] == "2.6\u00a0N/mm", "a joiner keeps the unit whole"
    assert parse(shown, SPRING_RATE) == 2.6


def test_a_search_lacks_what_the_other_parts_lack(window, demo, qtbot):
    """Without figures and without readings in their place there is nothing to search with."""
    bare = put(put(demo, ("mechanism", "weights", "mass_g"), None), ("sessions",), ())
    window.store.open_docket(bare, None)
    window.show()
    window.show_page("springs")
    page = window.page("springs")
    page.tray.replace("Fill", put(page.tray.tray, ("springs",), (
        TraySpring(label="A", count=2, rate_n_per_mm=2.5, free_length_mm=23.6),)))  # fmt: skip
    page.show_part("search")
    part = page.part("search")
    page.feed.decisions.want("test")
    qtbot.waitUntil(lambda: not part.start_button.isEnabled(), timeout=60_000)
    page.show_part("tolerance")
    reason = page.part("tolerance").status.text()
    assert "mass of each weight" in reason and part.status.text() == f"○ {reason}"


def test_what_is_off_says_why_in_sight(window, qtbot):
    window.store.open_docket(new_docket(), None)
    window.show()
    window.show_page("springs")
    page = window.page("springs")
    page.tray.replace("Empty", put(page.tray.tray, ("springs",), ()))
    page.show_part("tray")
    part = page.part("tray")
    qtbot.waitUntil(lambda: part.wanting.text().count("○") == 2)
    for button in (part.primary_button, part.take_button):
        assert not button.isEnabled() and button.accessibleDescription() in part.wanting.text()
    coil = SpringSource(known_from="dimensions")
    page.tray.replace("Fill", put(page.tray.tray, ("springs",), (TraySpring(source=coil),)))
    qtbot.waitUntil(lambda: part.wanting.text().count("○") == 1)  # of the docket's springs alone
    page.show_part("spring")
    view = page.part("spring").coil
    assert view.rate_button.accessibleDescription() in view.set_risk.text()
    assert not view.set_risk.isHidden() and not view.rate_button.isEnabled()
