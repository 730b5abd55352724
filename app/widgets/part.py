"""One part of a page: a column of widgets, plain or in a titled card, that its page has follow."""

from __future__ import annotations

from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import set_role
from bobweight.app.widgets.section import Section
from bobweight.core.problems import required


class PagePart(Section):
    """Subclasses fill ``body`` in :meth:`build`; one that names a title is a card under it.

    The page knows whether it is seen, and calls :meth:`follow` only then.
    """

    def __init__(self, store: Store, feed: OutcomeFeed, display: Display) -> None:
        title = self.shown_title()
        super().__init__(title)
        self.store, self.feed, self.display = store, feed, display
        if not title:  # no card of its own: it holds cards
            set_role(self, "")
            required(self.layout()).setContentsMargins(0, 0, 0, 0)
            self.body.setContentsMargins(0, 0, 0, 0)
            self.body.setSpacing(12)
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
