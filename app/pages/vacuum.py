"""The vacuum capsules: each from its trade figures or from its dimensions."""

from __future__ import annotations

from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from bobweight.app.editors.form import Form
from bobweight.app.messages import sentence
from bobweight.app.pages.page import Page
from bobweight.app.theme import set_role
from bobweight.app.widgets.card import allow, put_below, shorten, stacked
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.widgets.words import AnswerLabel
from bobweight.app.widgets.worked_out import from_docket
from bobweight.app.words import translate
from bobweight.core.docket.states import with_rows
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.mechanics.capsule import (
    DIMENSIONS,
    TRIPLE,
    dimensions_from_triple,
    triple_from_dimensions,
    usable,
)
from bobweight.core.problems import BobweightError
from bobweight.core.record import put

_CAPSULES = ("capsules",)
_HEAD = ("given_as", "acts", "fed_from")
_PLATE = ("lever_mm", "offset_deg", "friction_n")


class CapsuleCard(QFrame):
    """One capsule: how it is known, its figures either way, its rod, and a way to take it off."""

    def __init__(self, page: VacuumPage, index: int) -> None:
        super().__init__(page)
        self._page, self.index = page, index
        store, display, path = page.store, page.display, (*_CAPSULES, index)
        set_role(self, "card")
        self.heading = PlainLabel()
        set_role(self.heading, "group")
        self.remove_button = QPushButton(translate("pages", "Remove"))
        self.remove_button.clicked.connect(self._remove)
        top = QHBoxLayout()
        top.addWidget(self.heading, 1)
        top.addWidget(self.remove_button)
        self._head = Form(Capsule, path, _HEAD, store, display)
        self._triple = Form(Capsule, path, TRIPLE, store, display)
        self._dimensions = Form(Capsule, path, DIMENSIONS, store, display)
        self._plate = Form(Capsule, path, _PLATE, store, display)
        self.other_button = QPushButton()
        self.other_button.clicked.connect(self.work_out_the_other)
        self._said = AnswerLabel()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(10, 8, 10, 10)
        layout.addLayout(top)
        for part in (
            self._head, self._triple, self._dimensions, self._plate, self.other_button, self._said
        ):  # fmt: skip
            put_below(layout, part)

    def follow(self, count: int) -> None:
        """Show what the capsule's own figures ask for; ``count`` is how many there are."""
        page, given = self._page, self._page.store.docket.capsules[self.index].given_as
        name = translate("pages", "Capsule")
        if count > 1:
            name = translate("pages", "Capsule {number}").format(number=self.index + 1)
        self.heading.setText(name)
        self.remove_button.setVisible(count > 1)
        self.remove_button.setAccessibleName(
            translate("pages", "Remove {capsule}").format(capsule=name)
        )
        self._head.show_only(_HEAD if given != "none" else _HEAD[:1])
        self._triple.setVisible(given == "triple")
        self._dimensions.setVisible(given == "dimensions")
        for part in (self._plate, self.other_button):
            part.setVisible(given != "none")
        wrong = any(p.grave for p in page.feed.outcome.problems_at(*_CAPSULES, self.index))
        allow(
            self.other_button,
            not wrong,
            translate(
                "pages", "First mend what is named above: the figures of this capsule do not agree."
            ),
        )
        said = ""
        if given == "triple":
            self.other_button.setText(translate("pages", "Work out area, spring and travel"))
            said = translate(
                "pages",
                "If the area is not known, 1000 mm² is taken: only the ratios of spring and "
                "preload to the area show in the curve.",
            )
        else:
            self.other_button.setText(translate("pages", "Work out start, full and degrees"))
        self._said.say(said)

    def work_out_the_other(self) -> None:
        """Fill the other figures from those in use, as one edit."""
        store, place = self._page.store, (*_CAPSULES, self.index)
        capsule = store.docket.capsules[self.index]
        try:
            if capsule.given_as == "triple":
                other = dimensions_from_triple(capsule, capsule.area_mm2 or 1000.0)
                name = translate("pages", "Work out area, spring and travel")
            else:
                other = triple_from_dimensions(capsule)
                name = translate("pages", "Work out start, full and degrees")
            store.replace(name, put(store.docket, place, other))
        except BobweightError as error:
            problem = error.problem.at(*place)
            self._said.say(sentence(problem, store.docket, self._page.display), "wrong")

    def _remove(self) -> None:
        self._page.remove_capsule(self.index)


class VacuumPage(Page):
    """The vacuum capsules as measured."""

    key = "vacuum"
    roots = (_CAPSULES,)

    def build(self) -> None:
        holder = QWidget()
        self._cards_layout = stacked(holder, spacing=12)
        self.cards: list[CapsuleCard] = []
        self.add_button = QPushButton(translate("pages", "Add a capsule on the same plate"))
        self.add_button.clicked.connect(self.add_capsule)
        self.worked = from_docket("capsule", self.store, self.display)
        self.body.addWidget(holder)
        put_below(self.body, self.add_button)
        self.body.addWidget(self.worked)

    def follow(self) -> None:
        super().follow()
        count = len(self.store.docket.capsules)
        shorten(self._cards_layout, self.cards, count)
        while len(self.cards) < count:
            card = CapsuleCard(self, len(self.cards))
            self.cards.append(card)
            self._cards_layout.addWidget(card)
            card.show()
        for card in self.cards:
            card.follow(count)
        self.worked.follow(bool(usable(self.store.docket.capsules)))
        self.add_button.setVisible(not count or self.store.docket.has_capsule)

    def add_another(self) -> None:
        if not self.add_button.isHidden():
            self.add_capsule()

    def add_capsule(self) -> None:
        """Add a capsule; its movement adds to that of the others."""
        capsules = (*self.store.docket.capsules, Capsule(given_as="triple"))
        name = translate("pages", "Add a capsule")
        self.store.replace(name, put(self.store.docket, _CAPSULES, capsules))

    def remove_capsule(self, index: int) -> None:
        """Take a capsule off."""
        docket, name = self.store.docket, translate("pages", "Remove a capsule")
        rows = [row for row in range(len(docket.capsules)) if row != index]
        self.store.replace(name, with_rows(docket, _CAPSULES, rows))
