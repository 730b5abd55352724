"""The reassembly page: the list for this unit, its ticks, and the plan."""

from __future__ import annotations

import pytest

from bobweight.app.pages.reassembly import ReassemblyPage
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.core.docket.docket import new_docket

pytestmark = pytest.mark.usefixtures("told_at_once")


@pytest.fixture
def page(qtbot, store):
    display = Display()
    page = ReassemblyPage(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(page)
    page.resize(520, 900)
    page.show()
    return page


def test_ticks_are_kept_in_the_docket_as_edits(page, store):
    box = page.rows["cam_way_round"].field.box
    assert page.progress.text() == "3 of 27 steps ticked."
    box.click()
    assert store.docket.reassembly.cam_way_round and page.progress.text().startswith("4 of")
    store.undo_stack.undo()
    assert not box.isChecked() and page.progress.text().startswith("3 of")


def test_traps_are_told_for_this_unit(page, store):
    assert "Trap" in page.rows["cam_way_round"].said.text()
    assert "4 lobes look the same" in page.rows["cam_way_round"].said.text()
    assert "clockwise" in page.rows["advance_way"].said.text()
    store.edit("Rotation", ("particulars", "rotation"), "anticlockwise")
    store.edit("Lobes", ("particulars", "lobes"), 3)
    assert "anticlockwise" in page.rows["advance_way"].said.text()
    assert "(60°)" in page.rows["cam_way_round"].said.text(), "half of 120"


def test_the_list_follows_drive_and_capsule(page, store):
    assert page.rows["dog_against_slot"].isVisibleTo(page)
    assert not page.rows["gear_against_slot"].isVisibleTo(page)
    store.edit("Drive", ("reassembly", "drive"), "gear")
    assert page.rows["gear_against_slot"].isVisibleTo(page)
    assert not page.plan.isVisibleTo(page)
    assert "stops the capsule" in page.rows["earth_lead"].said.text()
    store.edit("Capsule", ("capsules", 0, "given_as"), "none")
    assert not page.rows["vernier_clip"].isVisibleTo(page)
    assert "capsule" not in page.rows["earth_lead"].said.text()


def test_the_plan_is_drawn_at_the_size_of_the_part(page):
    """At 1 : 1 a shaft of 14 mm is 14 mm by the screen's own figure, and by the bar's once it was
    measured: half as long a bar means twice the drawing."""
    page.size_box.setCurrentIndex(0)
    view = page.plan
    assert view.times == 1
    by_screen = view.screen().physicalDotsPerInch() / 25.4
    assert view.px_per_mm == pytest.approx(by_screen)
    side = view.cells()[0].width()
    assert side == pytest.approx(2 * view.plan.extent_mm * by_screen)
    page.bar_entry.edit.setText("25")
    assert page.bar_entry.commit()
    assert view.px_per_mm == pytest.approx(2 * by_screen)
    page.bar_entry.edit.setText("3")
    assert not page.bar_entry.commit() and "10" in page.bar_entry.said.text()


def test_the_painted_shaft_measures_what_it_should(page, store):
    """Measured in pixels on the painted widget: a chord of the circle against shaft times scale."""
    store.edit("Cam", ("reassembly", "cam_across_mm"), 8.0)  # so that the shaft is seen past it
    page.size_box.setCurrentIndex(2)
    view = page.plan
    image = view.grab().toImage()
    ratio = image.devicePixelRatio()
    cell = view.cells()[0]
    y = int((cell.center().y() - 0.75 * view.plan.shaft_mm * view.px_per_mm * view.times) * ratio)
    desk = image.pixelColor(int((cell.left() + 2) * ratio), y)
    inside = [
        x for x in range(int(cell.left() * ratio) + 2, int(cell.right() * ratio) - 2)
        if abs(image.pixelColor(x, y).lightness() - desk.lightness()) > 6
    ]  # fmt: skip
    chord_mm = 2 * view.plan.shaft_mm * (1 - 0.75**2) ** 0.5
    measured = (max(inside) - min(inside)) / ratio / (view.px_per_mm * view.times)
    stroke_mm = 4 / (view.px_per_mm * view.times)  # the line itself and its soft edges
    assert measured == pytest.approx(chord_mm, abs=stroke_mm)


def test_sizes_that_cannot_be_are_told(page, store):
    store.edit("Offset", ("reassembly", "dog_offset_mm"), 9.0)
    assert "passes the shaft" in page.plan_said.text() and page.plan.plan is None


def test_an_empty_docket(page, store):
    store.open_docket(new_docket(), None)
    assert page.state() == "empty"
    assert "once the sizes are known" in page.plan_said.text()
    assert "Petrol" in page.cautions.said.text()


def test_one_lobe_is_told_in_the_singular(page, store):
    store.edit("Lobes", ("particulars", "lobes"), 1)
    assert "with 1 lobe (" in page.turns.text()


def test_nothing_is_told_of_a_unit_that_nobody_entered(page, store):
    """The page in one voice, and in that of its printed list."""
    store.open_docket(new_docket(), None)
    assert page.turns.text() == "Rotation and lobes were not entered (Particulars)."
    assert page.rows["dog_against_slot"].field.box.text() == "Drive checked against the rotor slot"


def test_a_unit_without_a_capsule_is_not_asked_for_one(page, store, demo):
    store.open_docket(demo.with_changes(capsules=(), sessions=()), None)
    assert not store.docket.may_have_capsule
    assert page.groups["plate"].title == "Plate and contacts"
    assert page.rows["rotor_post_off"].field.box.text() == "Rotor arm at its cap segment"
    store.open_docket(demo, None)
    assert page.groups["plate"].title == "Plate, capsule and contacts"
