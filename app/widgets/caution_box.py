"""The usual cautions of an act, whole at first, once read in one line that unfolds."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QPaintEvent, QShowEvent
from PySide6.QtWidgets import QFrame, QToolButton, QWidget

from bobweight.app.guard import guarded
from bobweight.app.messages.cautions import caution_lines
from bobweight.app.store.display import Display
from bobweight.app.theme import set_role
from bobweight.app.widgets.card import card, stacked
from bobweight.app.widgets.plain import set_tip
from bobweight.app.widgets.words import Selectable
from bobweight.app.words import translate


class CautionBox(QWidget):
    """Whole until they were once looked at in the open docket; from the next visit on one line,
    whole again at a click.

    They are never out of sight: folded, their number stays, and all of them in its tip.
    """

    def __init__(self, display: Display) -> None:
        super().__init__()
        self._display = display
        self._act = ""
        self._lines: list[str] = []
        self.button = QToolButton()
        self.button.setCheckable(True)
        self.button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        set_role(self.button, "fold")
        self.button.setMinimumHeight(32)
        self.button.setChecked(True)
        self.button.toggled.connect(self._say)
        self.said = Selectable()
        self.said.setWordWrap(True)
        stacked(self, self.button, self.said, spacing=2)
        display.cautions_changed.connect(self._begin)

    def show_act(self, act: str) -> None:
        """The cautions of an act (a key of ``CAUTIONS``), one below the other."""
        if act == self._act:
            return
        self._act, self._lines = act, caution_lines(act)
        self.button.setAccessibleDescription(" ".join(self._lines))
        self._begin()

    def _begin(self) -> None:
        if self._act:
            self.button.setChecked(self._act not in self._display.cautions_seen)
            self._say()

    @guarded
    def showEvent(self, event: QShowEvent) -> None:
        """What was looked at whole is one line when the page is come back to."""
        super().showEvent(event)
        if not event.spontaneous():
            self._begin()

    @guarded
    def paintEvent(self, event: QPaintEvent) -> None:
        """They are read where they are on the screen: not while scrolled out of sight."""
        super().paintEvent(event)
        if self._act and self.button.isChecked():
            self._display.cautions_seen.add(self._act)

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
    """The usual cautions of an act; they fold once they were read."""
    box = CautionBox(display)
    box.show_act(act)
    return card("", box)
