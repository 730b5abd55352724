"""The user's springs: the tray, what each is, which suit, what to order, and what may differ."""

from __future__ import annotations

from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QButtonGroup, QPushButton

from bobweight.app.guard import guarded
from bobweight.app.pages.page import Page
from bobweight.app.pages.springs.ideal_part import IdealPart
from bobweight.app.pages.springs.learn_part import LearnPart
from bobweight.app.pages.springs.part import Bench, SpringsPart
from bobweight.app.pages.springs.search_part import SearchPart
from bobweight.app.pages.springs.spring_part import SpringPart
from bobweight.app.pages.springs.tolerance_part import TolerancePart
from bobweight.app.pages.springs.tray_part import TrayPart
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.store.tray_store import TrayStore
from bobweight.app.widgets.card import in_grid
from bobweight.app.widgets.section import Section
from bobweight.app.words import translate
from bobweight.core.problems import Problem

PARTS: tuple[type[SpringsPart], ...] = (
    TrayPart, SpringPart, SearchPart, IdealPart, TolerancePart, LearnPart
)  # fmt: skip


class SpringsPage(Page):
    """One part at a time, chosen at the head of the page."""

    key = "springs"

    @classmethod
    def state_of(cls, feed: OutcomeFeed) -> str:
        """``empty`` without springs; ``begun`` while one of them is not known or its figures were
        only typed in; ``done`` once each was measured."""
        springs = feed.outcome.docket.mechanism.springs
        if not springs:
            return "empty"
        known = all(s.rate_n_per_mm is not None and s.free_length_mm is not None for s in springs)
        measured = all(s.source.known_from != "typed" for s in springs)
        return "done" if known and measured else "begun"

    @classmethod
    def problems_of(cls, _feed: OutcomeFeed) -> tuple[Problem, ...]:
        """None: what is missing of the docket's springs is said on the Mechanism page."""
        return ()

    def build(self) -> None:
        self._parts: dict[str, SpringsPart] = {}
        self._here = PARTS[0].key
        self.tray = TrayStore(parent=self)
        self.bench = Bench(self.store, self.feed, self.display, self.tray, self)
        self._choice = QButtonGroup(self)
        self._choice.setExclusive(True)
        self.buttons: dict[str, QPushButton] = {}
        for number, part in enumerate(PARTS):
            made = QPushButton(translate("springs", part.title))
            made.setCheckable(True)
            self._choice.addButton(made, number)
            self.buttons[part.key] = made
        self._choice.idClicked.connect(self._chosen)
        self.body.addWidget(in_grid(3, *self.buttons.values()))
        self.bench.part_asked.connect(self.show_part)
        self.bench.chosen.connect(self._follow_part)
        self.tray.changed.connect(self._follow_part)
        self.show_part(self._here)

    def begins_at(self) -> QPushButton:
        """The part that is shown: arrows lead to the others."""
        return self.buttons[self._here]

    def part(self, key: str) -> SpringsPart:
        """A part, built when first asked for."""
        if key not in self._parts:
            made = next(part for part in PARTS if part.key == key)(self.bench)
            self._parts[key] = made
            self.body.insertWidget(self.body.indexOf(self.problem_box) + 1 + len(self._parts), made)
        return self._parts[key]

    def show_part(self, key: str) -> None:
        """Show one part in place of the other."""
        made = self.part(key)
        for other, part in self._parts.items():
            if other != key and other == self._here:
                part.leave()
                self.feed.show_overlay(None)
            part.setVisible(other == key)
        self._here = key
        # What a part works out stands in its first card: never shut, however long it becomes.
        self.sections.main = next((s for s in made.findChildren(Section) if s.heading), None)
        self.buttons[key].setChecked(True)
        made.follow()

    def _chosen(self, number: int) -> None:
        self.show_part(PARTS[number].key)

    def follow(self) -> None:
        super().follow()
        self._follow_part()

    def _follow_part(self, _change: object = None) -> None:
        if self._here in self._parts:
            self._parts[self._here].follow()

    @guarded
    def showEvent(self, event: QShowEvent) -> None:
        self._stale = True  # what lay over the board was taken away
        super().showEvent(event)

    @guarded
    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        if self._here in self._parts:
            self._parts[self._here].leave()
        self.feed.show_overlay(None)

    def close_down(self) -> None:
        """The window closes: what runs is waited for, the tray is written."""
        for part in self._parts.values():
            part.close_down()
        self.tray.close()
