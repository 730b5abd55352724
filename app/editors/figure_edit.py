"""The line in which a number is typed."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import (
    QContextMenuEvent,
    QFocusEvent,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QMouseEvent,
)
from PySide6.QtWidgets import QLineEdit

from bobweight.app.guard import guarded


def copy_figures(text: str) -> None:
    """Put figures on the clipboard, with the minus that other programs read."""
    QGuiApplication.clipboard().setText(text.replace("−", "-"))


class FigureLine(QLineEdit):
    """What is copied out of it has the minus that other programs read."""

    @guarded
    def copy(self) -> None:
        """Put what is chosen on the clipboard."""
        if self.hasSelectedText():
            copy_figures(self.selectedText())

    @guarded
    def cut(self) -> None:
        """The same, and take it away."""
        self.copy()
        self.del_()

    @guarded
    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Copy):
            self.copy()
        elif event.matches(QKeySequence.StandardKey.Cut):
            self.cut()
        else:
            super().keyPressEvent(event)

    @guarded
    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        menu = self.createStandardContextMenu()
        for action in menu.actions():
            act = {"edit-copy": self.copy, "edit-cut": self.cut}.get(action.objectName())
            if act is not None:
                action.triggered.disconnect()
                action.triggered.connect(act)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.popup(event.globalPos())


class FigureEdit(FigureLine):
    """The click that gives it the keyboard selects what stands there, as Tab does: a figure is
    mostly typed anew. A second click places the cursor."""

    _entered = False

    @guarded
    def focusInEvent(self, event: QFocusEvent) -> None:
        self._entered = event.reason() == Qt.FocusReason.MouseFocusReason
        super().focusInEvent(event)

    @guarded
    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        super().mouseReleaseEvent(event)
        if self._entered and not self.hasSelectedText():  # else a part of it was drawn over
            self.selectAll()
        self._entered = False
