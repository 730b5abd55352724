"""The sheet's page in the window: preview, choices, saving and printing with stand-in dialogs."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pypdf
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QComboBox, QPushButton, QWidget

from bobweight.app.messages.judgement import judgement_sentence
from bobweight.app.pages.sheet import SheetPage
from bobweight.app.paper.words import worded
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.core.sheet.description import Text
from tests.sheet import dockets
from tests.sheet.measuring import grey_of_image
from tests.waiting import PATIENCE_MS


@pytest.fixture
def page(qtbot) -> SheetPage:
    store, display = Store(dockets.usual()), Display()
    made = SheetPage(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(made)
    made.resize(520, 800)
    made.show()
    qtbot.waitExposed(made)
    yield made
    made.close_down()


def said(page: SheetPage) -> list[str]:
    elements = page.preview.description.pages[0].elements
    return [worded(e.text) for e in elements if isinstance(e, Text)]


def test_preview_shows_the_sheet_as_wide_as_the_page(page: SheetPage) -> None:
    sheet = page.preview.widget()
    assert sheet.width() == page.preview.viewport().width()
    count = len(page.preview.description.pages)
    assert sheet.height() / sheet.width() / count == pytest.approx(297 / 210, abs=0.02)
    assert "Marsh lane pump engine" in said(page)
    grey = grey_of_image(sheet.grab().toImage())
    assert (grey > 250).mean() > 0.6  # paper stays white in every theme
    assert (grey < 90).any()
    assert np.abs(np.diff(grey.astype(int), axis=0)).max() > 150


def test_preview_follows_the_docket_and_undo(page: SheetPage, qtbot) -> None:
    page.store.edit("Title", ("particulars", "title"), "Another name")
    qtbot.waitUntil(lambda: "Another name" in said(page))
    page.store.undo_stack.undo()
    qtbot.waitUntil(lambda: "Marsh lane pump engine" in said(page))


def test_preview_follows_frame_and_unit(page: SheetPage, qtbot) -> None:
    page.display.depression_unit = "inHg"
    qtbot.waitUntil(lambda: "Depression, inHg" in said(page))
    page.display.frame = "crank"
    point = page.feed.outcome.comparison.check_points[0]
    qtbot.waitUntil(lambda: f"{2 * point.speed_rpm:.0f}" in said(page))


def test_hidden_preview_waits_until_it_is_seen(page: SheetPage, qtbot) -> None:
    page.hide()
    page.store.edit("Title", ("particulars", "title"), "Unseen")
    assert "Unseen" not in said(page)
    page.show()
    qtbot.waitUntil(lambda: "Unseen" in said(page))


def test_no_sheet_leaves_with_another_headline_than_the_judgement_it_waits_for(page, qtbot):
    """By the readings alone a unit may be outside that is judged to be inside, and the other way
    about: for the second that a judgement takes, the sheet says that it is to come."""
    decisions = page.feed.decisions
    assert page.print_button.isEnabled()
    decisions.want("test")
    assert decisions.busy
    qtbot.waitUntil(lambda: not page.print_button.isEnabled())
    assert "judged" in page.print_button.toolTip()
    qtbot.waitUntil(lambda: "Being judged…" in said(page))
    assert not any(line.startswith("Measured:") for line in said(page))
    qtbot.waitUntil(lambda: decisions.current is not None, timeout=PATIENCE_MS)
    sentence = judgement_sentence(decisions.current.decision.judgement, page.view().frame)
    qtbot.waitUntil(lambda: page.print_button.isEnabled())
    qtbot.waitUntil(lambda: sentence.split(".")[0][:40] in " ".join(said(page)))
    decisions.leave("test")


def test_paper_is_chosen(page: SheetPage) -> None:
    page.paper_box.setCurrentIndex(page.paper_box.findData("letter"))
    assert page.preview.description.paper == "letter"
    sheet = page.preview.widget()
    count = len(page.preview.description.pages)
    assert sheet.height() / sheet.width() / count == pytest.approx(279.4 / 215.9, abs=0.02)


def test_zoom_by_buttons_keys_and_wheel(page: SheetPage, qtbot) -> None:
    width = page.preview.widget().width()
    assert not page.zoom_out_button.isEnabled()
    qtbot.mouseClick(page.zoom_in_button, Qt.MouseButton.LeftButton)
    assert page.preview.widget().width() > 1.2 * width
    qtbot.keyClick(page.preview, Qt.Key.Key_Plus)
    assert page.preview.zoom == pytest.approx(1.25**2)
    qtbot.keyClick(page.preview, Qt.Key.Key_0)
    assert page.preview.widget().width() == width
    wheel = QWheelEvent(
        QPointF(50, 50), QPointF(50, 50), QPoint(), QPoint(0, 120), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.ControlModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    page.preview.wheelEvent(wheel)
    assert page.preview.zoom == pytest.approx(1.25)
    qtbot.mouseClick(page.fit_button, Qt.MouseButton.LeftButton)
    assert page.preview.zoom == 1.0


@pytest.mark.parametrize("suffix", ["pdf", "svg", "png", "csv"])
def test_buttons_save_what_they_say(page: SheetPage, qtbot, tmp_path: Path, suffix: str) -> None:
    asked: list[tuple[Path, str]] = []

    def answer(_parent: QWidget, _title: str, suggestion: Path, kind: str) -> Path:
        asked.append((suggestion, kind))
        return tmp_path / "saved"

    page.ask_path = answer
    qtbot.mouseClick(page.save_buttons[suffix], Qt.MouseButton.LeftButton)
    assert asked[0][1] == suffix
    assert asked[0][0].name == f"Marsh lane pump engine.{suffix}"
    assert (tmp_path / f"saved.{suffix}").stat().st_size > 1000
    assert f"saved.{suffix}" in page.said.text()
    before = (tmp_path / f"saved.{suffix}").read_bytes()
    qtbot.mouseClick(page.save_buttons[suffix], Qt.MouseButton.LeftButton)
    assert "Choose another name" in page.said.text()  # never over a file that was not asked about
    assert (tmp_path / f"saved.{suffix}").read_bytes() == before


def test_printed_table_is_the_core_s(page: SheetPage, tmp_path: Path) -> None:
    page.ask_path = lambda *_: tmp_path / "sheet.pdf"
    page.save("pdf")
    text = " ".join(pypdf.PdfReader(tmp_path / "sheet.pdf").pages[0].extract_text().split())
    for point in page.feed.outcome.comparison.check_points:
        assert f"{point.predicted_deg:.1f}" in text
        assert f"{point.estimate_deg:.1f} ± {point.u_deg:.1f}" in text


def test_nothing_is_saved_when_the_dialog_is_left(page: SheetPage, tmp_path: Path) -> None:
    page.ask_path = lambda *_: None
    page.save("pdf")
    assert page.said.isHidden()
    assert not list(tmp_path.iterdir())


def test_what_cannot_be_written_is_said_in_a_sentence(page: SheetPage, tmp_path: Path) -> None:
    page.ask_path = lambda *_: tmp_path / "nowhere" / "sheet.pdf"
    page.save("pdf")
    assert page.said.isVisible()
    assert page.said.text().endswith(".")
    assert "folder" in page.said.text()


def test_suggestion_stands_beside_the_docket(page: SheetPage, tmp_path: Path) -> None:
    page.store.mark_saved(tmp_path / "pump.docket")
    asked: list[Path] = []
    page.ask_path = lambda _p, _t, suggestion, _s: asked.append(suggestion)
    page.save("svg")
    assert asked == [tmp_path / "pump.svg"]


def test_print_asks_first(page: SheetPage) -> None:
    asked: list[object] = []
    page.ask_printer = lambda printer: bool(asked.append(printer))
    page.print_button.click()
    assert len(asked) == 1
    assert page.said.isHidden()


def test_state(qtbot) -> None:
    for docket, state in ((dockets.empty(), "empty"), (dockets.usual(), "done"),
                          (dockets.capsule_only(), "done")):  # fmt: skip
        store, display = Store(docket), Display()
        feed = OutcomeFeed(store, display)
        assert SheetPage.state_of(feed) == state


def test_every_control_has_a_name_and_the_keyboard_reaches_it(page: SheetPage) -> None:
    controls = [*page.findChildren(QPushButton), page.findChild(QComboBox), page.preview]
    assert len(controls) >= 10
    for control in controls:
        assert control.accessibleName() or control.text()
        assert control.focusPolicy() & Qt.FocusPolicy.TabFocus
