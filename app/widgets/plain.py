"""Text that is shown as text: the only labels, tips and boxes of the program.

Qt takes what looks like markup for markup, and markup from a stranger's file may load whatever it
names. A label of this module shows every sign as that sign; where the program itself makes links,
:class:`RichLabel` is given text by :func:`escaped` alone.
"""

from __future__ import annotations

from typing import Protocol

from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QApplication, QLabel, QMessageBox, QToolTip, QWidget

from bobweight.app.guard import guarded
from bobweight.app.words import visible

LONGEST_TIP = 600
_SIGNS = "•△▲✓✗?◇○"


class PlainLabel(QLabel):
    """A label that shows its text as it is written."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        if text:
            self.setText(text)

    @guarded
    def setText(self, text: str) -> None:
        super().setText(visible(text))

    def show_text(self, text: str) -> None:
        """Show a text; without one the label is hidden."""
        self.setText(text)
        self.setVisible(bool(text))


class HungLabel(PlainLabel):
    """A label of plain text in which the further lines of what begins with a sign stand beside the
    sign, not under it."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        self._written = ""
        super().__init__(text, parent)

    @guarded
    def setText(self, text: str) -> None:
        text = visible(text)
        if text != self._written:
            self._written = text
            self._write()

    @guarded
    def text(self) -> str:
        """What was set."""
        return self._written

    def _write(self) -> None:
        rich = _hung(self._written, self.fontMetrics())
        self.setTextFormat(Qt.TextFormat.RichText if rich else Qt.TextFormat.PlainText)
        QLabel.setText(self, rich or self._written)

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._write()


class RichLabel(QLabel):
    """A label with links or colours that the program itself writes; all else :func:`escaped`."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.RichText)

    def take_links(self, there: bool) -> None:
        """Have mouse and keyboard follow the links, where there are any."""
        flags = Qt.TextInteractionFlag
        both = flags.LinksAccessibleByMouse | flags.LinksAccessibleByKeyboard
        self.setTextInteractionFlags(both if there else flags.NoTextInteraction)


_ENTITIES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#x27;"})


def escaped(text: str) -> str:
    """Text for a :class:`RichLabel`."""
    return visible(text).translate(_ENTITIES)


def hanging(text: str, metrics: QFontMetrics) -> str:
    """The style of a paragraph: one that begins with a sign has its further lines beside it."""
    if text[1:2] != " " or text[0] not in _SIGNS:
        return "margin: 0; white-space: pre-wrap;"
    px = metrics.horizontalAdvance(text[:2])
    return f"margin: 0 0 0 {px}px; text-indent: -{px}px; white-space: pre-wrap;"


def _hung(text: str, metrics: QFontMetrics) -> str:
    """Rich text of such paragraphs; empty where no line begins with a sign."""
    lines = text.split("\n")
    if not any(line[1:2] == " " and line[0] in _SIGNS for line in lines):
        return ""
    return "".join(f'<p style="{hanging(line, metrics)}">{escaped(line)}</p>' for line in lines)


def tip_text(text: str) -> str:
    """Text for a tip, which Qt will not take for markup."""
    text = visible(text, LONGEST_TIP)
    if "<" not in text and "&lt;" not in text:  # without these Qt takes nothing for markup
        return text
    return f"<qt>{text.translate(_ENTITIES)}</qt>".replace("\n", "<br>")


class _Tipped(Protocol):
    """A widget, an act or a cell."""

    def toolTip(self) -> str: ...

    def setToolTip(self, text: str, /) -> None: ...


def application() -> QApplication:
    """The one application, where there is a window."""
    found = QApplication.instance()
    assert isinstance(found, QApplication)
    return found


def set_tip(thing: _Tipped, text: str) -> None:
    """Give a widget, an act or a cell its tip; most edits leave it what it is."""
    text = tip_text(text)
    if text != thing.toolTip():
        thing.setToolTip(text)


def message_box(parent: QWidget | None, icon: QMessageBox.Icon, text: str) -> QMessageBox:
    """A box with a question or a sentence."""
    box = QMessageBox(parent)
    box.setIcon(icon)
    box.setTextFormat(Qt.TextFormat.PlainText)
    box.setText(visible(text))
    return box


def show_tip(place: QPoint, text: str, widget: QWidget) -> None:
    """Show a tip now, at a place of the screen."""
    QToolTip.showText(place, tip_text(text), widget)
