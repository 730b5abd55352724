"""What the parts of the Verdict page share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFrame, QLabel, QVBoxLayout

from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import set_role

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
