"""The findings page: states by sign and word, limits, what wear costs, photographs."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtGui import QColor, QImage

from bobweight.app.pages.findings import FindingsPage
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.store.photographs import Photographs, copy_name, folder_of
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.file import write_docket
from bobweight.core.docket.photographs import Photograph, is_plain_name, photographs_folder
from bobweight.core.record import put

pytestmark = pytest.mark.usefixtures("told_at_once")


@pytest.fixture
def page(qtbot, store, own_home):
    display = Display()
    page = FindingsPage(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(page)
    page.resize(520, 700)
    page.show()
    return page


@pytest.fixture
def picture(tmp_path) -> Path:
    image = QImage(400, 300, QImage.Format.Format_RGB32)
    image.fill(QColor("#336699"))
    path = tmp_path / "camera" / "IMG 0042.JPG"
    path.parent.mkdir()
    assert image.save(str(path), "JPG")
    return path


def said(page, key: str) -> str:
    return page.rows[key].said.text()


def test_states_by_sign_and_word(page, store):
    for value, expected in ((0.03, "✓ pass"), (0.099, "? borderline"), (0.2, "✗ fail")):
        store.edit("Side play", ("findings", "side_play_mm"), value)
        assert said(page, "side_play_mm").startswith(expected)
    assert "±\u00a00.01\u00a0mm\u00a0assumed" not in said(page, "side_play_mm")
    store.edit("Side play", ("findings", "side_play_mm"), 0.095)
    assert "±\u00a00.01\u00a0mm\u00a0assumed" in said(page, "side_play_mm")
    store.edit("Side play", ("findings", "side_play_mm"), None)
    assert said(page, "side_play_mm").startswith("○ not measured")
    assert "at most 0.1\u00a0mm (common\u00a0practice)" in said(page, "side_play_mm")


def test_side_play_tells_its_cost_at_the_crank(page, store):
    assert "2.1° of scatter at the crank" in page.rows["side_play_mm"].cost.text()
    assert page.scatter.isVisibleTo(page) and "±\u00a02.0°" in page.scatter.text()
    store.edit("Gap", ("findings", "gap_mm"), 1.9)
    assert "a gap that it can open" in page.rows["side_play_mm"].cost.text(), "the lift is 1.66 mm"
    store.edit("Gap", ("findings", "gap_mm"), 0.38)
    store.edit("Flat", ("points", "flat_mm"), None)
    assert "Setting up" in page.rows["side_play_mm"].cost.text()


def test_usual_dwell_follows_the_lobes_and_an_own_figure_judges(page, store):
    assert "usual: 45 to 63°" in said(page, "dwell_deg")
    store.edit("Lobes", ("particulars", "lobes"), 6)
    assert "outside the usual 33 to 42°" in said(page, "dwell_deg")
    assert "◇ shown, not judged" in said(page, "dwell_deg")
    store.edit("Dwell", ("findings", "limits", "dwell_nominal_deg"), 35.0)
    assert "32 to 38°" in said(page, "dwell_deg") and "✗ fail" in said(page, "dwell_deg")


def test_limits_are_altered_where_asked_for(page, store):
    row = page.rows["side_play_mm"]
    assert not row.limits.isVisibleTo(page)
    page.limits_box.setChecked(True)
    assert row.limits.isVisibleTo(page)
    field = row.limits.fields["side_play_most_mm"]
    field.edit.setText("0.006 in")
    assert field.commit()
    limit = store.docket.findings.limits.side_play_most_mm
    assert limit == pytest.approx(0.1524)
    assert "common\u00a0practice" not in said(page, "side_play_mm")
    assert said(page, "side_play_mm").startswith("✓ pass")
    store.undo_stack.undo()
    assert "common\u00a0practice" in said(page, "side_play_mm")


def test_a_part_that_is_shut_tells_what_is_to_be_looked_at_in_it(page, store):
    """By the states of its rows; a pass is not told."""
    heads = {group: section.heading.text() for group, section in page.groups.items()}
    assert heads["contacts"] == "Contacts   ?\u00a01\u00a0borderline"
    assert heads["capsule"] == "Plate and capsule"
    store.edit("Dwell", ("findings", "limits", "dwell_nominal_deg"), 35.0)
    assert "✗\u00a01\u00a0fail   ?\u00a01\u00a0borderline" in page.groups["contacts"].heading.text()


def test_a_wrong_lobe_angle_is_told_at_its_row(page, store):
    store.edit("Lobe", ("findings", "lobes_deg", 1, "firing_deg"), 150.0)
    assert said(page, "lobes_deg").startswith("△ ") and "150" in said(page, "lobes_deg")


def test_cautions_stand_here(page):
    text = page.cautions.said.text()
    assert "Petrol" in text and "eye protection" in text and "burns the coil" in text


# Photographs -----------------------------------------------------------------------------------


def test_pending_until_saved_then_beside_the_file(page, store, picture, own_home, tmp_path):
    view = page.photographs
    view.ask_files = lambda _parent: [picture]
    view.add_button.click()
    (kept,) = store.docket.photographs
    assert kept.file == copy_name(picture) and kept.caption == "IMG 0042"
    assert is_plain_name(kept.file)
    pending = own_home / "photographs" / kept.file
    assert pending.read_bytes() == picture.read_bytes()
    assert "until the docket is saved" in view.where.text()
    assert not view.cards[0].missing.isVisibleTo(page)
    assert not view.cards[0].picture.pixmap().isNull()
    # Its room was kept: of three hundred each would lay out all of them anew.
    assert view.cards[0].picture.minimumSize() == view.cards[0].picture.maximumSize()

    path = tmp_path / "mine.docket"
    write_docket(store.docket, path)
    store.mark_saved(path)
    beside = tmp_path / photographs_folder("mine.docket") / kept.file
    assert beside.parent.name == "mine.photos"
    assert beside.read_bytes() == picture.read_bytes()
    assert "mine.photos" in view.where.text()
    picture.unlink()
    assert view.keeper.path_of_name(kept.file) == beside, "the copy stands on its own"


def test_saving_under_another_name_takes_the_photographs_along(page, store, picture, tmp_path):
    first, second = tmp_path / "a" / "one.docket", tmp_path / "b" / "two.docket"
    second.parent.mkdir()
    first.parent.mkdir()
    store.mark_saved(first)
    page.photographs.ask_files = lambda _parent: [picture]
    page.photographs.add()
    name = store.docket.photographs[0].file
    assert (folder_of(first) / name).is_file()
    store.mark_saved(second)
    assert (folder_of(second) / name).is_file() and (folder_of(first) / name).is_file()


def test_a_missing_photograph_is_told_in_words(page, store, tmp_path):
    store.open_docket(
        put(store.docket, ("photographs",), (Photograph(file="gone-1a2b3c4d.jpg"),)),
        tmp_path / "mine.docket",
    )
    card = page.photographs.cards[0]
    assert card.missing.isVisibleTo(page)
    assert "“gone-1a2b3c4d.jpg” is missing" in card.missing.text()
    assert "mine.photos" in card.missing.text()


@pytest.mark.parametrize(
    "name", ["../secret.jpg", "/etc/secret.jpg", "a\\b.jpg", "..", "", " a.jpg"]
)
def test_a_name_cannot_lead_out_of_the_folder(store, own_home, name):
    (own_home / "secret.jpg").write_bytes(b"x")
    assert not is_plain_name(name)
    assert Photographs.of(store).path_of_name(name) is None


def test_what_is_no_picture_is_refused_with_its_reason(page, store, tmp_path):
    text, gone = tmp_path / "notes.txt", tmp_path / "gone.png"
    text.write_text("x")
    page.photographs.ask_files = lambda _parent: [text, gone]
    page.photographs.add()
    assert store.docket.photographs == () and not store.undo_stack.count()
    said = page.photographs.said.text().splitlines()
    assert "“notes.txt” is not a picture" in said[0] and "“gone.png” could not be copied" in said[1]


def test_removing_is_undone_and_the_copy_still_there(page, store, picture):
    page.photographs.ask_files = lambda _parent: [picture]
    page.photographs.add()
    page.photographs.cards[0].remove_button.click()
    assert store.docket.photographs == () and page.photographs.cards == []
    store.undo_stack.undo()
    assert not page.photographs.cards[0].missing.isVisibleTo(page)


def test_an_empty_docket_shows_an_empty_page(page, store):
    store.open_docket(new_docket(), None)
    assert page.state() == "empty"
    assert page.summary.text() == f"○ {len(page.rows)} not measured".replace(" ", "\u00a0")


def test_a_folder_that_cannot_be_written_is_told(window, demo, picture, tmp_path):
    window.store.open_docket(demo, None)
    keeper = Photographs.of(window.store)
    kept = keeper.attach(picture)
    docket = put(window.store.docket, ("photographs",), (kept,))
    window.store.replace("Add a photograph", docket)
    blocked = tmp_path / "mine.photos"
    blocked.write_text("a file where the folder should be")
    window.store.mark_saved(tmp_path / "mine.docket")
    assert any("could not be copied" in text for text in window.notices.texts())


def test_scatter_is_not_called_good_while_a_play_is_left_out(page, store):
    """Fails of the shaft must not be told as a good scatter of the lobes alone."""
    for key in ("flat_mm", "known_gap_mm"):
        store.edit("Points", ("points", key), None)
    store.edit("Side play", ("findings", "side_play_mm"), 1.5)
    text = page.scatter.text()
    assert text.startswith("○") and "not known yet" in text and "good" not in text
    store.edit("Side play", ("findings", "side_play_mm"), None)
    assert "good" in page.scatter.text()


def test_limits_of_what_is_not_measured_say_of_what(page, store):
    store.edit("Lobes", ("findings", "lobes_deg"), ())
    assert "worst lobe off by at most 1°" in said(page, "lobes_deg")
    store.edit("Leak", ("findings", "leak"), ())
    # 1 inHg, common practice: 3.386389 kPa (NIST SP 811, App. B.8)
    assert "loss in 60\u00a0s at most 3.39\u00a0kPa" in said(page, "leak")
