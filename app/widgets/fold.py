"""A heading that folds."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QToolButton, QWidget

from bobweight.app.theme import set_role


class Fold(QToolButton):
    """A heading that opens and closes what lies under it."""

    def __init__(self, text: str, *under: QWidget) -> None:
        super().__init__()
        self._under = under
        self.setText(text)
        self.setCheckable(True)
        set_role(self, "fold")
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.toggled.connect(self._fold)
        self._fold(False)

    def _fold(self, open_: bool) -> None:
        self.setArrowType(Qt.ArrowType.DownArrow if open_ else Qt.ArrowType.RightArrow)
        for widget in self._under:
            widget.setVisible(open_)
