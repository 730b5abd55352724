"""A box of choices that leaves the wheel to what scrolls it."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QComboBox, QStyle, QStyleOptionComboBox

from bobweight.app.guard import guarded
from bobweight.app.widgets.plain import set_tip

_MARGIN_PX = 4  # of the style, before and after the text


class QuietComboBox(QComboBox):
    """A combo box that leaves the wheel to the page, so that scrolling changes no value, and whose
    tip is its text where it has no other: a session's name may be longer than the box.

    With a ``least`` number of characters it asks for no more room than they take, however long its
    texts are: a long title must not widen the page.
    """

    def __init__(
        self, least: int = 0, elide: Qt.TextElideMode = Qt.TextElideMode.ElideRight
    ) -> None:
        super().__init__()
        if least:
            self.setSizeAdjustPolicy(self.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            self.setMinimumContentsLength(least)
        self._told, self._elide = "", elide
        self.currentTextChanged.connect(self._tell_whole)

    def _tell_whole(self, text: str) -> None:
        if self.toolTip() == self._told:
            set_tip(self, text)
            self._told = self.toolTip()

    @guarded
    def initStyleOption(self, option: QStyleOptionComboBox) -> None:
        """As the style has it, with a sign that a text goes on, which the style leaves out."""
        super().initStyleOption(option)
        if option.currentText:
            edit = QStyle.SubControl.SC_ComboBoxEditField
            kind = QStyle.ComplexControl.CC_ComboBox
            room = self.style().subControlRect(kind, option, edit, self).width() - _MARGIN_PX
            option.currentText = self.fontMetrics().elidedText(
                option.currentText, self._elide, room
            )

    @guarded
    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()
