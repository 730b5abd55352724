"""What the parts of the Springs page share."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import (
    QFrame,
    QWidget,
)

from bobweight.app.pages.page import Page
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.store.tray_store import TrayStore
from bobweight.app.widgets.card import card
from bobweight.app.widgets.part import PagePart
from bobweight.app.widgets.words import Said


class Bench(QObject):
    """What the parts work on: docket, tray, and the spring of the tray that is chosen.

    Signals
    -------
    chosen()
        Another spring of the tray is chosen.
    part_asked(str)
        The key of a part that should be shown.
    """

    chosen = Signal()
    part_asked = Signal(str)

    def __init__(
        self, store: Store, feed: OutcomeFeed, display: Display, tray: TrayStore,
        parent: QObject | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self.store = store
        self.feed = feed
        self.display = display
        self.tray = tray
        self._row = 0

    @property
    def row(self) -> int:
        """Row of the spring chosen; −1 if the tray is empty."""
        return min(self._row, len(self.tray.tray.springs) - 1)

    def choose(self, row: int) -> None:
        """Choose the spring in a row."""
        if row != self._row and row >= 0:
            self._row = row
            self.chosen.emit()


class _SaidInView(Said):
    """What came of an act, scrolled to: an answer that is not seen is none."""

    def say(self, text: str, role: str = "faint") -> None:
        super().say(text, role)
        here: QWidget | None = self
        while text and here is not None:
            if isinstance(here, Page):
                here.bring_into_view(self)
            here = here.parentWidget()


class SpringsPart(PagePart):
    """A part that is chosen at the head of the page. Subclasses name ``key`` and ``title``."""

    key = ""
    title = ""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.tray = bench.tray
        self.said = _SaidInView(bench.store, bench.display)
        super().__init__(bench.store, bench.feed, bench.display)
        self.body.insertWidget(1, self.said)  # below the card with the first button

    def add_card(self, title: str, *widgets: QWidget) -> QFrame:
        """A titled group of widgets, one below the other."""
        made = card(title, *widgets)
        self.body.addWidget(made)
        return made
