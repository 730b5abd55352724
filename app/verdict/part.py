"""What the parts of the Verdict page share."""

from __future__ import annotations

import html
from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QFrame, QLabel, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from bobweight.app.display import Display
from bobweight.app.editors.field import set_role
from bobweight.app.outcome_feed import OutcomeFeed
from bobweight.app.store import Store
from bobweight.app.theme import theme_for
from bobweight.app.words import unbroken, without_joiners

if TYPE_CHECKING:
    from bobweight.core.judgement.consequences import Consequences


class Part(QFrame):
    """A titled card. Subclasses name ``title``, fill ``body`` in ``build`` and show what was found
    in ``show_found``."""

    title = ""

    def __init__(self, store: Store, feed: OutcomeFeed, display: Display) -> None:
        super().__init__()
        self.store, self.feed, self.display = store, feed, display
        self.decisions = feed.decisions
        set_role(self, "card")
        self.body = QVBoxLayout(self)
        self.body.setContentsMargins(10, 8, 10, 10)
        self.body.setSpacing(8)
        self.heading = QLabel(self.shown_title())
        set_role(self.heading, "group")
        self.body.addWidget(self.heading)
        self.build()

    @classmethod
    def shown_title(cls) -> str:
        """The title in the user's language."""
        return cls.title

    def build(self) -> None:
        """Fill the card."""

    def show_found(self, found: Consequences, current: bool) -> None:
        """Show a decision; ``current`` if it is of the docket as it stands."""


class Words(QLabel):
    """Words whose units, such as N/mm, are not broken over lines."""

    def setText(self, text: str) -> None:
        super().setText(unbroken(text))

    def text(self) -> str:
        """What was set."""
        return without_joiners(super().text())


def words(text: str = "", role: str = "") -> QLabel:
    """Words to read: wrapped, selectable, never wider than the page."""
    made = Words()
    made.setText(text)
    made.setWordWrap(True)
    made.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    made.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    if role:
        set_role(made, role)
    return made


class Links(QLabel):
    """Lines with links that mouse and keyboard can follow; hidden while there are none."""

    def __init__(self, role: str = "") -> None:
        super().__init__()
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.RichText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        set_role(self, role)
        self.hide()

    def show_lines(self, lines: Sequence[tuple[str, str, str]]) -> None:
        """Show (text, words of the link, its target) one below the other."""
        texts = [
            f'{html.escape(text)} <a href="{html.escape(target)}">{html.escape(link)}</a>'
            for text, link, target in lines
        ]
        flags = Qt.TextInteractionFlag
        self.setText("<br>".join(texts))
        self.setAccessibleName(" ".join(text for text, _, _ in lines))
        self.setTextInteractionFlags(
            flags.LinksAccessibleByMouse | flags.LinksAccessibleByKeyboard
            if lines
            else flags.NoTextInteraction
        )
        self.setVisible(bool(lines))


class Fold(QToolButton):
    """A heading that opens and closes what lies under it."""

    def __init__(self, text: str, *under: QWidget) -> None:
        super().__init__()
        self._under = under
        self.setText(text)
        self.setCheckable(True)
        self.setAutoRaise(True)
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.toggled.connect(self._fold)
        self._fold(False)

    def _fold(self, open_: bool) -> None:
        self.setArrowType(Qt.ArrowType.DownArrow if open_ else Qt.ArrowType.RightArrow)
        for widget in self._under:
            widget.setVisible(open_)


class ProbabilityBar(QWidget):
    """A probability as a length between two end marks; the word and the number stand beside it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._share = 0.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_share(self, share: float, said: str) -> None:
        """Show this share; ``said`` is the same in words, for the ear."""
        self._share = min(max(share, 0.0), 1.0)
        self.setAccessibleName(said)
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(120, max(self.fontMetrics().lineSpacing() // 2, 9))

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.ApplicationPaletteChange):
            self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        theme = theme_for(self.palette())
        painter = QPainter(self)
        whole = QRectF(0.5, 0.5, self.width() - 1, self.height() - 1)
        painter.fillRect(whole, QColor(theme.paper))
        done = QRectF(whole)
        done.setWidth(max(whole.width() * self._share, 1.5))
        painter.fillRect(done, QColor(theme.accent))
        painter.setPen(QPen(QColor(theme.line), 1.0))
        painter.drawRect(whole)
        painter.end()
