"""The usual cautions of an act, whole at first, later in one line that unfolds."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QFrame, QToolButton, QVBoxLayout, QWidget

from bobweight.app.guard import guarded
from bobweight.app.messages.cautions import caution_lines
from bobweight.app.store.display import Display
from bobweight.app.widgets.card import card
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.words import translate


class CautionBox(QWidget):
    """Whole until they were once shown on this machine; then one line, whole again at a click.

    They are never out of sight: folded, their number stays, and all of them in its tip.
    """

    def __init__(self, display: Display, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._display = display
        self._act = ""
        self._lines: list[str] = []
        self.button = QToolButton()
        self.button.setCheckable(True)
        self.button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.button.setAutoRaise(True)
        self.button.setChecked(True)
        self.button.toggled.connect(self._fold)
        self.said = PlainLabel()
        self.said.setWordWrap(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        layout.addWidget(self.button)
        layout.addWidget(self.said)

    def show_act(self, act: str) -> None:
        """The cautions of an act (a key of ``CAUTIONS``), one below the other."""
        if act == self._act:
            return
        self._act, self._lines = act, caution_lines(act)
        self.button.setAccessibleDescription(" ".join(self._lines))
        self.button.setChecked(act not in self._display.cautions_seen)
        self._say()
        self._mark()

    @guarded
    def showEvent(self, event: QShowEvent) -> None:
        """What was shown whole once begins folded at the next start."""
        super().showEvent(event)
        self._mark()

    def _mark(self) -> None:
        if self._act and self.isVisible() and self.button.isChecked():
            self._display.cautions_seen.add(self._act)

    def _fold(self, _unfolded: bool) -> None:
        self._say()
        self._mark()

    def _say(self) -> None:
        unfolded = self.button.isChecked()
        self.said.setVisible(unfolded)
        arrow = Qt.ArrowType.DownArrow if unfolded else Qt.ArrowType.RightArrow
        self.button.setArrowType(arrow)
        if unfolded:
            self.button.setText(translate("pages", "Before you start"))
            self.said.setText("\n".join(f"• {line}" for line in self._lines))
            set_tip(self.button, "")
            return
        heading = translate("pages", "Before you start: read all {count} cautions")
        self.button.setText(heading.format(count=len(self._lines)))
        set_tip(self.button, "\n".join(self._lines))


def cautions(act: str, display: Display) -> QFrame:
    """The usual cautions of an act; they fold once they were shown."""
    box = CautionBox(display)
    box.show_act(act)
    return card("", box)
