"""The line in which a number is typed."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QFocusEvent, QMouseEvent
from PySide6.QtWidgets import QLineEdit

from bobweight.app.guard import guarded


class FigureEdit(QLineEdit):
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
