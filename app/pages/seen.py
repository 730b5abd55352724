"""A page that works things out only while it is seen, so that a drag on the board stays quick."""

from __future__ import annotations

from PySide6.QtCore import QEvent
from PySide6.QtGui import QShowEvent

from bobweight.app.guard import guarded
from bobweight.app.pages.page import Page


class SeenPage(Page):
    """Subclasses implement ``follow_seen``, which is put off while the page is hidden."""

    _stale = True

    def follow_seen(self) -> None:
        """The docket, its outcome or the display changed, and the page is seen."""

    def follow(self) -> None:
        super().follow()
        self._stale = not self.isVisible()
        if not self._stale:
            self.follow_seen()

    @guarded
    def showEvent(self, event: QShowEvent) -> None:
        """Catch up with what changed while the page was hidden."""
        super().showEvent(event)
        if self._stale:
            self.follow()

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        """Another theme has other colours."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ApplicationPaletteChange and not self._stale:
            self.follow()
