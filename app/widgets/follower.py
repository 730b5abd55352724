"""What follows the docket: told once an edit, worked out only while it is seen."""

from __future__ import annotations

from PySide6.QtCore import QEvent
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QFrame, QWidget

from bobweight.app.guard import guarded
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed


class Follower(QFrame):
    """Shows something of the docket. Subclasses show it in :meth:`follow`.

    What is out of sight only notes that it is stale, and follows when it is shown next: so a drag
    on the board and a key stroke cost what can be seen of them.
    """

    def __init__(
        self, store: Store, feed: OutcomeFeed, display: Display, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.store, self.feed, self.display = store, feed, display
        self._stale = False
        feed.changed.connect(self.follow_when_seen)

    def follow(self) -> None:
        """Docket, outcome, display or theme are others."""

    def follow_when_seen(self) -> None:
        """What is shown is of before: follow now, or when it is shown next."""
        self._stale = not self.isVisible()
        if not self._stale:
            self.follow()

    @guarded
    def showEvent(self, event: QShowEvent) -> None:
        """Catch up with what changed while this was hidden."""
        super().showEvent(event)
        if self._stale:
            self._stale = False
            self.follow()

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        """Another theme has other colours."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ApplicationPaletteChange:
            self.follow_when_seen()
