"""One part of a page: a column of widgets, plain or in a titled card, that its page has follow."""

from __future__ import annotations

from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import set_role
from bobweight.app.widgets.plain import PlainLabel


class PagePart(QFrame):
    """Subclasses fill ``body`` in :meth:`build`; one that names a title is a card under it.

    The page knows whether it is seen, and calls :meth:`follow` only then.
    """

    def __init__(
        self, store: Store, feed: OutcomeFeed, display: Display, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.store, self.feed, self.display = store, feed, display
        self.body = QVBoxLayout(self)
        title = self.shown_title()
        if title:
            set_role(self, "card")
            heading = PlainLabel(title)
            set_role(heading, "group")
            self.body.addWidget(heading)
        self.body.setContentsMargins(*((10, 8, 10, 10) if title else (0, 0, 0, 0)))
        self.body.setSpacing(8 if title else 12)
        self.build()

    @classmethod
    def shown_title(cls) -> str:
        """The heading of the card in the user's language; empty for a part without a card."""
        return ""

    def build(self) -> None:
        """Fill the part."""

    def follow(self) -> None:
        """Docket, outcome, display or theme are others, or the part is shown again."""

    def leave(self) -> None:
        """Another part or page is shown."""

    def close_down(self) -> None:
        """The window closes."""
