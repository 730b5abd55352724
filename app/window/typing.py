"""What a hand has typed and nothing has taken yet: in fields, in cells, in the editor in hand."""

from __future__ import annotations

from PySide6.QtWidgets import QLineEdit, QPlainTextEdit, QWidget
from shiboken6 import isValid

from bobweight.app.editors.field import Field
from bobweight.app.editors.row_model import RowModel
from bobweight.app.editors.table import RowView
from bobweight.app.messages import place_text
from bobweight.app.store import Store
from bobweight.app.store.journal import Typed

Editor = QLineEdit | QPlainTextEdit


def not_taken(window: QWidget, store: Store) -> list[Typed]:
    """What stands in fields of the docket and refused cells of its tables, to be mended."""
    found = []
    for field in window.findChildren(Field):
        for path, text in field.all_uncommitted() if field.store is store else ():
            found.append(Typed(list(path), place_text(path, store.docket), text))
    for view in window.findChildren(RowView):
        model = view.model()
        if not isinstance(model, RowModel) or model.store is not store:
            continue
        for path, draft in model.all_drafts():
            found.append(Typed(list(path), place_text(path, store.docket), draft.text))
    return found


def in_hand(editor: Editor | None) -> list[Typed]:
    """What is typed in the editor that has the keyboard, where no field knows of it."""
    if editor is None or not isValid(editor) or field_of(editor) is not None:
        return []
    text = editor.text() if isinstance(editor, QLineEdit) else editor.toPlainText()
    return [Typed([], editor.accessibleName(), text)] if text and is_modified(editor) else []


def field_of(widget: QWidget | None) -> Field | None:
    """The field that a widget is part of."""
    while widget is not None and not isinstance(widget, Field):
        widget = widget.parentWidget()
    return widget


def is_modified(editor: Editor) -> bool:
    """True if a hand has typed in it."""
    if isinstance(editor, QLineEdit):
        return editor.isModified()
    return editor.document().isModified()
