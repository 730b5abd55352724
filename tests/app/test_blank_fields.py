"""A field left blank shows what is assumed, and keeps it apart from what was typed."""

import pytest
from PySide6.QtCore import Qt

from bobweight.app.editors.number import NumberField
from bobweight.app.pages.mechanism.page import MechanismPage
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.mechanism import Linkage, Spring, SwingPoint
from bobweight.core.record import get, put

MASS = ("mechanism", "weights", "mass_g")
PIVOT = ("mechanism", "weights", "pivot_radius_mm")
SLACK = ("mechanism", "springs", 1, "slack_mm")


@pytest.fixture
def page(qtbot):
    springs = (Spring(role="primary", given_by="distances"), Spring(role="secondary"))
    store = Store(put(new_docket(), ("mechanism", "springs"), springs))
    display = Display()
    page = MechanismPage(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(page)
    page.show()
    yield page
    store.release()


def field(page, path):
    return next(f for f in page.findChildren(NumberField) if f.path == path)


def test_a_blank_field_shows_the_usual_value_and_stores_nothing(page, qtbot):
    mass = field(page, MASS)
    assert (mass.edit.text(), mass.edit.placeholderText()) == ("", "≈ 27")
    assert mass.u_edit.placeholderText() == "14 usual"
    assert mass.edit.property("assumed") is True
    assert "about 27\u00a0±\u00a014\u00a0g assumed" in mass.edit.accessibleDescription()
    assert page.commit() and mass.uncommitted() == ""
    assert get(page.store.docket, MASS) is None and not page.store.undo_stack.count()
    mass.edit.setFocus()
    qtbot.keyClick(mass.edit, Qt.Key.Key_Up)  # there is nothing to step from
    qtbot.keyClick(mass.edit, Qt.Key.Key_Return)
    assert get(page.store.docket, MASS) is None


def test_what_is_typed_looks_different_and_an_emptied_field_is_blank_again(page, qtbot):
    mass = field(page, MASS)
    qtbot.keyClicks(mass.edit, "31")
    assert mass.edit.property("assumed") is False  # from the first key
    qtbot.keyClick(mass.edit, Qt.Key.Key_Return)
    page.feed.tell()
    assert get(page.store.docket, MASS) == 31.0
    assert mass.u_edit.placeholderText() == "not stated"
    assert "assumed" not in mass.edit.accessibleDescription()
    mass.edit.clear()
    qtbot.keyClick(mass.edit, Qt.Key.Key_Return)
    page.feed.tell()
    assert get(page.store.docket, MASS) is None and mass.edit.property("assumed") is True


def test_the_usual_value_is_shown_in_the_unit_chosen(page):
    page.display.set_unit("length", "in")
    pivot = field(page, PIVOT)
    assert pivot.edit.placeholderText() == "≈ 0.79"  # 20 mm; 1 in = 25.4 mm exactly
    assert pivot.u_edit.placeholderText() == "0.2 usual"


def test_a_slack_left_blank_is_assumed_and_a_nought_typed_is_entered(page, qtbot):
    slack = field(page, SLACK)
    assert slack.edit.text() == "" and slack.edit.placeholderText() == "≈ 1.0"
    assert slack.edit.property("assumed") is True and not slack.uncommitted()
    qtbot.keyClicks(slack.edit, "0")
    qtbot.keyClick(slack.edit, Qt.Key.Key_Return)
    page.feed.tell()
    assert get(page.store.docket, SLACK) == 0.0
    assert slack.edit.text() == "0" and slack.edit.property("assumed") is False
    assert not slack.said.text() and "assumed" not in slack.edit.accessibleDescription()


@pytest.mark.parametrize("key", ["heel_drag_nmm", "stick_nmm", "grip", "stop_give_deg"])
def test_what_nobody_entered_of_friction_and_stop_looks_assumed(page, qtbot, key):
    made = field(page, ("mechanism", key))
    assert made.edit.text() == "" and made.edit.property("assumed") is True
    assert "assumed" in made.edit.accessibleDescription()
    qtbot.keyClicks(made.edit, "0")
    qtbot.keyClick(made.edit, Qt.Key.Key_Return)
    page.feed.tell()
    assert made.edit.text() == "0" and made.edit.property("assumed") is False
    assert get(page.store.docket, ("mechanism", key)) == 0.0


def test_a_value_solved_for_beyond_the_usual_is_not_called_usual(page):
    """A light spring of 0.5 to 2.7 N/mm, a heavy one of 6 to 15: common practice."""
    rate = field(page, ("mechanism", "springs", 0, "rate_n_per_mm"))
    assert "as usual in the trade" in rate.blank_sentence()
    assert rate.u_edit.placeholderText().endswith("usual")
    page.store.edit("Pivot", PIVOT, 1.0)  # a slip: it asks for springs as weak as none is
    page.feed.tell()
    assert rate.blank_sentence().endswith("assumed, to suit the other figures.")
    assert float(rate.u_edit.placeholderText()) > 0  # grey, and not called usual


def test_how_sure_a_value_is_says_the_value_too(page, qtbot):
    """A ± typed beside what is assumed enters it: nobody is sure of what he does not know."""
    grip = field(page, ("mechanism", "grip"))
    grip.u_edit.setText("0.01")
    assert grip.commit_uncertainty()
    mechanism = page.store.docket.mechanism
    assert mechanism.grip == 0.0 and mechanism.u["grip"] == 0.01


def test_springs_that_are_not_entered_are_told_of(page, qtbot):
    page.store.replace("none", put(page.store.docket, ("mechanism", "springs"), ()))
    page.feed.tell()
    said = page._no_springs.text()
    assert said.startswith("No spring is entered: a primary of about") and "N/mm" in said


def test_a_linkage_assumed_for_its_half_filled_table_is_told_of(page):
    rows = tuple(SwingPoint(cam_deg=at, swing_deg=2.0 * at) for at in (0.0, 5.0, 10.0))
    for points, assumed in ((rows[:2], True), ((*rows, SwingPoint(cam_deg=15.0)), True),
                            (rows, False)):  # fmt: skip
        linkage = Linkage(kind="measured", measured_as="swing", points=points)
        page.store.replace("table", put(page.store.docket, ("mechanism", "linkage"), linkage))
        page.feed.tell()
        assert page._table_assumed.isVisibleTo(page) == assumed
        assert ("a usual linkage is assumed" in page._table_assumed.text()) == assumed


def test_a_spring_whose_fields_are_made_late_shows_what_is_assumed_of_it(page, qtbot):
    """Of many springs the last have their fields made as they are opened, one after another."""
    springs = page.store.docket.mechanism.springs * 4
    page.store.replace("Springs", put(page.store.docket, ("mechanism", "springs"), springs))
    qtbot.waitUntil(lambda: len(page._cards) == len(springs))
    late = [card for card in page._cards if card.form is None]
    assert len(late) > 2
    for card in late:
        card.set_open(True)
        free = field(page, ("mechanism", "springs", card.index, "free_length_mm"))
        assert free.edit.placeholderText().startswith("≈")
