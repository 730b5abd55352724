"""Chooses the session that the one shown is compared with."""

from __future__ import annotations

from bobweight.app.messages.figures import session_title
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.widgets.card import allow
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.plain import set_tip
from bobweight.app.words import translate


class CompareBox(QuietComboBox):
    """Chooses the session that the one shown is compared with, or none."""

    def __init__(self, store: Store, display: Display) -> None:
        super().__init__(12)
        self._store, self._display = store, display
        self.setAccessibleName(translate("verdict", "Compare with session"))
        set_tip(
            self, translate("verdict", "Its readings stand on the board as small hollow marks.")
        )
        self.activated.connect(self._chosen)
        self.follow()

    def follow(self) -> None:
        """List the sessions there are."""
        docket = self._store.docket
        shown, compared = self._display.session_index(docket), self._display.compared_index(docket)
        items: list[tuple[str, int | None]] = [(translate("verdict", "no other session"), None)]
        items += [(session_title(docket, i), i) for i in range(len(docket.sessions)) if i != shown]
        there = [(self.itemText(i), self.itemData(i)) for i in range(self.count())]
        if items != there:
            self.clear()
            for text, index in items:
                self.addItem(text, index)
        self.setCurrentIndex(next(i for i, (_, index) in enumerate(items) if index == compared))
        allow(
            self, len(items) > 1, translate("verdict", "There is no other session to compare with.")
        )

    def _chosen(self, row: int) -> None:
        self._display.compared = self.itemData(row)
