"""What the dialogs share that measure a part beside the page and fill the docket in one edit."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent, QUndoStack
from PySide6.QtWidgets import QDialog, QFrame, QScrollArea, QVBoxLayout, QWidget

from bobweight.app.editors.field import undone_here, wants_undo
from bobweight.app.guard import guarded
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.widgets.lines import Facts
from bobweight.app.widgets.words import Said


class MeasuringDialog(QDialog):
    """Undo and redo are those of ``undo_stack``; Enter closes nothing; a dialog that was closed
    hears no more of docket and units. Subclasses implement ``follow``."""

    def __init__(self, store: Store, display: Display, parent: QWidget | None) -> None:
        super().__init__(parent)
        self._store, self._display = store, display
        self._closed = False
        self.undo_stack: QUndoStack = store.undo_stack
        self.said, self.facts = Said(store, display), Facts()
        store.changed.connect(self._docket_changed)
        display.changed.connect(self.follow)

    def follow(self) -> None:
        """Work the figures out and show them."""
        raise NotImplementedError

    def _docket_changed(self, _change: object) -> None:
        self.follow()

    @staticmethod
    def column(*parts: QWidget) -> QScrollArea:
        """Parts one below the other, scrolled where there is too little room."""
        inner = QWidget()
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, 6, 0)
        for part in parts:
            column.addWidget(part)
        column.addStretch(1)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setWidget(inner)
        return area

    @guarded
    def event(self, event: QEvent) -> bool:
        """Undo and redo, before a line editor keeps them for itself."""
        if wants_undo(event):
            return undone_here(event, self.undo_stack)
        return super().event(event)

    @guarded
    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter marks, clicks and edits; it closes nothing."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            event.accept()
            return
        super().keyPressEvent(event)

    @guarded
    def done(self, result: int) -> None:
        """The dialog closes for good."""
        if not self._closed:  # a dialog that was accepted is closed once more when it is deleted
            self._closed = True
            self._store.changed.disconnect(self._docket_changed)
            self._display.changed.disconnect(self.follow)
        super().done(result)
