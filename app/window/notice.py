"""Sentences at the head of the window, with what can be done about them. Never a box in the way."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleEvent, QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QWidget

from bobweight.app.guard import guarded
from bobweight.app.theme import set_role
from bobweight.app.widgets.card import stacked
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.words import translate

Act = tuple[str, Callable[[], None]]


class Notice(QFrame):
    """One sentence, its acts, and a way to put it aside."""

    def __init__(self, text: str, acts: Sequence[Act], kind: str, topic: str) -> None:
        super().__init__()
        self.topic = topic
        self.setAutoFillBackground(True)
        set_role(self, "card")
        self.said = PlainLabel(("▲ " if kind == "wrong" else "") + text)
        self.said.setWordWrap(True)
        self.said.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        set_role(self.said, kind)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(12, 6, 8, 6)
        layout.addWidget(self.said, 1)
        self.buttons: list[QPushButton] = []
        self._acts = dict(enumerate(act for _, act in acts))
        for number, (name, _) in enumerate(acts):
            button = QPushButton(name)
            button.setProperty("number", number)
            button.clicked.connect(self._act)
            layout.addWidget(button)
            self.buttons.append(button)
        self.close_button = QPushButton(translate("notice", "Close"))
        self.close_button.setAccessibleName(translate("notice", "Close this notice"))
        self.close_button.clicked.connect(self.put_aside)
        layout.addWidget(self.close_button)

    def _act(self) -> None:
        act = self._acts[self.sender().property("number")]
        self.put_aside()
        act()

    def put_aside(self) -> None:
        """Take the notice away."""
        self.hide()
        self.deleteLater()
        bar = self.parentWidget()
        if isinstance(bar, NoticeBar):
            bar.drop(self)

    @guarded
    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.put_aside()
        else:
            super().keyPressEvent(event)


class NoticeBar(QWidget):
    """The notices that stand, the newest on top; one a topic."""

    def __init__(self) -> None:
        super().__init__()
        self.notices: list[Notice] = []
        self._layout = stacked(self, spacing=4)
        self.hide()

    def say(
        self, text: str, acts: Sequence[Act] = (), kind: str = "wrong", topic: str = "said"
    ) -> None:
        """Show a sentence. ``kind`` is ``wrong``, ``advice`` or ``plain``; a notice of the same
        topic gives way."""
        self.clear(topic)
        notice = Notice(text, acts, kind, topic)
        self.notices.append(notice)
        self._layout.insertWidget(0, notice)
        self.show()
        QAccessible.updateAccessibility(QAccessibleEvent(notice.said, QAccessible.Event.Alert))

    def clear(self, topic: str) -> None:
        """Take away the notice of a topic."""
        for notice in [n for n in self.notices if n.topic == topic]:
            notice.put_aside()

    def drop(self, notice: Notice) -> None:
        """A notice was put aside."""
        if notice in self.notices:
            self.notices.remove(notice)
        self.setVisible(bool(self.notices))

    def texts(self) -> list[str]:
        """The sentences that stand."""
        return [notice.said.text() for notice in self.notices]
