"""Words to read on a page: notes, answers, links, and what came of an act."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from bobweight.app.guard import guarded
from bobweight.app.messages import sentence
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.theme import set_role
from bobweight.app.widgets.plain import HungLabel, PlainLabel, RichLabel, escaped, hanging
from bobweight.app.words import unbroken, without_joiners
from bobweight.core.problems import BobweightError, Problem
from bobweight.core.record import Record


class Selectable(HungLabel):
    """A label whose words can be selected.

    Qt lays such words out anew to tell their height at a width, and paints them again after that:
    each height is asked once.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        self._heights: dict[int, int] = {}
        super().__init__(parent=parent)
        self.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)

    def _write(self) -> None:
        self._heights.clear()
        super()._write()

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        if event.type() in (
            QEvent.Type.FontChange,
            QEvent.Type.StyleChange,
        ):  # another colour is none
            self._heights.clear()
        super().changeEvent(event)

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        super().heightForWidth(self.width())  # laid out while they are painted, they are so twice

    @guarded
    def heightForWidth(self, width: int) -> int:
        if width not in self._heights:
            self._heights[width] = super().heightForWidth(width)
        return self._heights[width]


class AnswerLabel(Selectable):
    """An answer: wraps, can be selected, takes no room while it has nothing to say."""

    def __init__(self, role: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWordWrap(True)
        if role:
            set_role(self, role)
        self.hide()

    @guarded
    def setText(self, text: str) -> None:
        super().setText(text)
        self.setVisible(bool(text))

    def say(self, text: str, role: str = "faint") -> None:
        """Show a sentence with the sign of its role; an empty one hides the label."""
        set_role(self, role)
        sign = {"wrong": "▲ ", "advice": "△ "}.get(role, "")
        self.setText(sign + text if text else "")


class Words(Selectable):
    """Words whose units, such as N/mm, are not broken over lines."""

    @guarded
    def setText(self, text: str) -> None:
        super().setText(unbroken(text))

    @guarded
    def text(self) -> str:
        """What was set."""
        return without_joiners(super().text())


def words(text: str = "", role: str = "", bold: bool = False) -> PlainLabel:
    """Words to read: wrapped, selectable, never wider than the page."""
    made = Words()
    if bold:
        font = made.font()
        font.setBold(True)
        made.setFont(font)
    made.setText(text)
    made.setWordWrap(True)
    made.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    if role:
        set_role(made, role)
    return made


class Links(RichLabel):
    """Lines with links that mouse and keyboard can follow; hidden while there are none."""

    def __init__(self, role: str = "") -> None:
        super().__init__()
        self.setWordWrap(True)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        set_role(self, role)
        self.hide()

    def show_lines(self, lines: Sequence[tuple[str, str, str]]) -> None:
        """Show (text, words of the link, its target) one below the other."""
        texts = [
            f'<p style="{hanging(text, self.fontMetrics())}">'
            f'{escaped(text)} <a href="{escaped(target)}">{escaped(link)}</a></p>'
            for text, link, target in lines
        ]
        self.setText("".join(texts))
        self.setAccessibleName(" ".join(text for text, _, _ in lines))
        self.take_links(bool(lines))
        self.setVisible(bool(lines))


class Said(AnswerLabel):
    """What came of an act, or why it was not done."""

    def __init__(self, store: Store, display: Display, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self._store, self._display = store, display

    def refuse(self, error: BobweightError, root: Record | None = None) -> None:
        """Say why the core refused."""
        self.say(sentence(error.problem, root or self._store.docket, self._display), "wrong")

    def advise(self, problems: Iterable[Problem], root: Record | None = None) -> None:
        """Say what the core advises, a line each."""
        root = root or self._store.docket
        texts = [sentence(p, root, self._display) for p in problems]
        self.say("\n△ ".join(texts), "advice")


def note(text: str, role: str = "faint") -> PlainLabel:
    """Words to read, as wide as there is room."""
    made = Selectable()
    made.setText(text)
    made.setWordWrap(True)
    made.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    set_role(made, role)
    return made
