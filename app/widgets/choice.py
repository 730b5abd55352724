"""A box of choices that leaves the wheel to what scrolls it."""

from __future__ import annotations

from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QComboBox

from bobweight.app.guard import guarded
from bobweight.app.widgets.plain import set_tip


class QuietComboBox(QComboBox):
    """A combo box that leaves the wheel to the page, so that scrolling changes no value, and whose
    tip is its text where it has no other: a session's name may be longer than the box."""

    def __init__(self) -> None:
        super().__init__()
        self._told = ""
        self.currentTextChanged.connect(self._tell_whole)

    def _tell_whole(self, text: str) -> None:
        if self.toolTip() == self._told:
            set_tip(self, text)
            self._told = self.toolTip()

    @guarded
    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()
