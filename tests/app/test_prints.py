"""Prints asked for in the window, and the workshop's heading, with dialogs that a test answers."""

from __future__ import annotations

from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage

from bobweight.app.prints.kinds import KINDS
from bobweight.app.store.workshop import kept_workshop
from tests.waiting import PATIENCE_MS


def saved(dialog, path: Path) -> str:
    dialog.ask_path = lambda parent, title, suggestion, suffix: path
    dialog.save()
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(path).pages)


HEADINGS = {
    "tape": "Timing tape", "ring": "Degree ring", "card": "Lamp card",
    "session": "Timing session", "steps": "Reassembly",
    "measuring": "Measuring card",
}  # fmt: skip


@pytest.mark.parametrize("key", KINDS)
def test_every_print_shows_and_saves(key, window, demo, qtbot, tmp_path):
    assert f"print_{key}" in window.menus.actions
    window.store.open_docket(demo, None)
    dialog = window.show_print(key)
    qtbot.waitUntil(lambda: dialog.preview.description is not None)
    # the card bears the judgement, which it waits for
    qtbot.waitUntil(dialog.print_button.isEnabled, timeout=PATIENCE_MS)
    bar = dialog.preview.verticalScrollBar()
    qtbot.waitUntil(lambda: bar.isVisible() == (bar.maximum() > 0))  # none for what is seen whole
    assert dialog.preview.horizontalScrollBar().maximum() == 0
    text = saved(dialog, tmp_path / f"{key}.pdf")
    text = " ".join(text.split())
    assert HEADINGS[key] in text
    # the bar of true length stands only where something is drawn or ruled at its true size
    assert ("This bar is 100 mm long" in text) == (key not in ("card", "session", "measuring"))
    assert ("then measure the" in text) == dialog.how.isVisibleTo(dialog)
    # which has a line of its own
    assert ("then measure the 150 mm line." in text) == (key == "measuring")
    dialog.close()


def test_the_tape_follows_what_is_typed_in_any_unit(window, demo, qtbot):
    window.store.open_docket(demo, None)
    dialog = window.show_print("tape")
    edit = dialog.form.fields["diameter_mm"].edit
    edit.setFocus()
    edit.selectAll()
    qtbot.keyClicks(edit, "6 in")
    qtbot.keyClick(edit, Qt.Key.Key_Return)
    assert dialog.form.asked.diameter_mm == pytest.approx(152.4)
    edit.selectAll()
    qtbot.keyClicks(edit, "20")
    qtbot.keyClick(edit, Qt.Key.Key_Return)
    assert "Marks" in dialog.said.text()
    assert not dialog.save_button.isEnabled()
    edit.selectAll()
    qtbot.keyClicks(edit, "150")
    qtbot.keyClick(edit, Qt.Key.Key_Return)
    assert dialog.save_button.isEnabled()
    assert dialog.isVisible()  # Enter takes a number, it does not close or print
    dialog.close()


def test_a_card_that_cannot_be_made_says_why(window, qtbot):
    dialog = window.show_print("card")
    qtbot.waitUntil(lambda: dialog.preview.description is not None)
    assert "mechanism (stop)" in dialog.said.text()
    (paragraph,) = dialog.preview.description.pages[0].elements  # the paper was empty
    assert paragraph.text.endswith(dialog.said.text().removeprefix("▲ "))
    assert not dialog.print_button.isEnabled()
    dialog.close()


def test_printing_asks_first(window, demo):
    window.store.open_docket(demo, None)
    dialog = window.show_print("ring")
    asked = []
    dialog.ask_printer = lambda printer, parent, title: asked.append(title) or False
    dialog.print_it()
    assert asked == ["Degree ring"]
    assert "Sent" not in dialog.said.text()
    dialog.close()


def test_the_menu_has_them_all(window):
    for key in KINDS:
        assert f"print_{key}" in window.menus.actions
    assert "workshop" in window.menus.actions


def test_the_workshop_heads_the_sheet(window, demo, qtbot, tmp_path):
    window.store.open_docket(demo, None)
    window.show_page("sheet")
    page = window.page("sheet")
    picture = tmp_path / "sign.png"
    image = QImage(90, 30, QImage.Format.Format_RGB32)
    image.fill(0)
    assert image.save(str(picture))
    dialog = window.show_workshop()
    dialog.name_edit.setText("Tern & Daughter")
    dialog.address_edit.setPlainText("The Old Forge\nMarsh Lane")
    dialog.logo_edit.setText(str(tmp_path / "none.png"))
    dialog.accept()
    assert dialog.isVisible() and "none.png" in dialog.said.text()
    dialog.logo_edit.setText(str(picture))
    dialog.accept()
    kept = kept_workshop(window.settings)
    assert kept.name == "Tern & Daughter"
    assert kept.lines == ("The Old Forge", "Marsh Lane")
    assert kept.logo.aspect == pytest.approx(3.0)
    page.ask_path = lambda parent, title, suggestion, suffix: tmp_path / "sheet.pdf"
    page.second_box.setChecked(True)
    page.save("pdf")
    pages = pypdf.PdfReader(tmp_path / "sheet.pdf").pages
    assert len(pages) == 2  # the sheet, and what did not fit on it with the record asked for
    assert "Tern & Daughter" in " ".join(pages[0].extract_text().split())
    page.ask_path = lambda parent, title, suggestion, suffix: tmp_path / "sheet.png"
    page.save("png")
    assert "PDF" in page.said.text() and not (tmp_path / "sheet.png").exists()


def test_alterations_are_typed_and_undone(window, demo, qtbot):
    window.store.open_docket(demo, None)
    window.show_page("readings")
    table = window.page("readings").history
    model = table.model
    what = next(c for c in range(model.columnCount()) if model.parameter(c).key == "what")
    assert model.setData(model.index(0, what), "Primary post bent out")
    assert window.store.docket.history[0].what == "Primary post bent out"
    window.store.undo_stack.undo()
    assert window.store.docket.history == ()
