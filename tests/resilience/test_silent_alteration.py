"""What is stored is not altered by being shown, opened and left again."""

from __future__ import annotations

from PySide6.QtWidgets import QAbstractItemDelegate, QLineEdit, QPlainTextEdit

from bobweight.app.editors.field import Field
from bobweight.core.docket.readings import Reading
from bobweight.core.record import put
from tests.samples import sample

TEXTS = [
    "t" * 401, "n" * 250_000, "one\r\ntwo\r\n", "a\u00a0b", "tab\there", "  spaces  ", "a\u2028b",
    "\u202eright to left", "e\u0301", "𝄞", "x\ny", "a\rb", "\x07bell", "\ufeffmark",
]  # fmt: skip


def test_a_field_left_untouched_keeps_its_text(qtbot, window):
    window.show_page("particulars")
    for text in TEXTS:
        docket = put(sample("weak_primary"), ("particulars", "notes"), text)
        docket = put(docket, ("particulars", "title"), text)
        window.store.open_docket(docket, None)
        for field in window.page("particulars").findChildren(Field):
            field._editor().setFocus()
            field.commit()
        window.commit()
        assert window.store.docket == docket, ascii(text[:20])
        assert not window.store.dirty and window.typed() == [], ascii(text[:20])


def test_a_cell_that_was_only_opened_keeps_its_text(qtbot, window):
    window.show_page("readings")
    table = window.page("readings").table
    for text in TEXTS:
        rows = (Reading(speed_rpm=1000.0, angle_deg=5.0, note=text),)
        docket = put(sample("weak_primary"), ("sessions", 0, "readings"), rows)
        window.store.open_docket(docket, None)
        qtbot.wait(20)
        index = table.view.model().index(0, table.model.keys.index("note"))
        table.view.setCurrentIndex(index)
        table.view.edit(index)
        editor = table.view.findChild(QLineEdit)
        assert editor is not None
        table.view.commitData(editor)
        table.view.closeEditor(editor, QAbstractItemDelegate.EndEditHint.NoHint)
        editor.setParent(None)
        editor.deleteLater()
        assert window.store.docket == docket, ascii(text[:20])


def test_a_text_that_was_altered_keeps_its_line_ends_and_spaces(qtbot, window):
    docket = put(sample("weak_primary"), ("particulars", "notes"), "5\u00a0mm\r\nand more")
    window.store.open_docket(docket, None)
    window.show_page("particulars")
    edit = window.page("particulars").findChildren(QPlainTextEdit)[-1]
    edit.setFocus()
    edit.moveCursor(edit.textCursor().MoveOperation.End)
    qtbot.keyClicks(edit, "!")
    window.commit()
    assert window.store.docket.particulars.notes == "5\u00a0mm\r\nand more!"
