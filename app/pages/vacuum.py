"""The vacuum capsule: from its trade figures or from its dimensions."""

from __future__ import annotations

from PySide6.QtCore import QT_TRANSLATE_NOOP
from PySide6.QtWidgets import QLabel, QPushButton

from bobweight.app.editors import form
from bobweight.app.messages import sentence
from bobweight.app.pages.page import Page
from bobweight.app.theme import set_role
from bobweight.app.words import translate
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.mechanics.capsule import dimensions_from_triple, triple_from_dimensions
from bobweight.core.problems import BobweightError
from bobweight.core.record import put

_CAPSULE = ("capsule",)
_TRIPLE = ("start_kpa", "full_kpa", "full_deg")
_DIMENSIONS = ("area_mm2", "spring_rate_n_per_mm", "preload_n", "travel_mm")
_PLATE = ("lever_mm", "offset_deg", "friction_n")


class VacuumPage(Page):
    """The vacuum capsule as measured."""

    key = "vacuum"
    title = QT_TRANSLATE_NOOP("pages", "Vacuum")
    roots = (_CAPSULE,)

    def build(self) -> None:
        store, display = self.store, self.display
        self._head = form(Capsule, _CAPSULE, ("given_as", "acts"), store, display)
        self.add_group(translate("pages", "Capsule"), self._head)
        triple = form(Capsule, _CAPSULE, _TRIPLE, store, display)
        self._triple = self.add_group(translate("pages", "Start, full and degrees"), triple)
        dimensions = form(Capsule, _CAPSULE, _DIMENSIONS, store, display)
        self._dimensions = self.add_group(translate("pages", "Area, spring and travel"), dimensions)
        plate = form(Capsule, _CAPSULE, _PLATE, store, display)
        self._plate = self.add_group(translate("pages", "Rod and plate"), plate)
        self.other_button = QPushButton()
        self.other_button.clicked.connect(self.work_out_the_other)
        self._said = QLabel()
        self._said.setWordWrap(True)
        set_role(self._said, "faint")
        self.body.addWidget(self.other_button)
        self.body.addWidget(self._said)

    def follow(self) -> None:
        super().follow()
        given = self.store.docket.capsule.given_as
        self._head.show_only(("given_as",) if given == "none" else ("given_as", "acts"))
        self._triple.setVisible(given == "triple")
        self._dimensions.setVisible(given == "dimensions")
        self._plate.setVisible(given != "none")
        self.other_button.setVisible(given != "none")
        wrong = any(p.grave for p in self.feed.outcome.problems_at("capsule"))
        self.other_button.setEnabled(not wrong)
        self._said.setVisible(given != "none")
        if given == "triple":
            self.other_button.setText(translate("pages", "Work out area, spring and travel"))
            self._said.setText(
                translate(
                    "pages",
                    "If the area is not known, 1000 mm² is taken: only the ratios of spring and "
                    "preload to the area show in the curve.",
                )
            )
        else:
            self.other_button.setText(translate("pages", "Work out start, full and degrees"))
            self._said.setText("")
        set_role(self._said, "faint")

    def work_out_the_other(self) -> None:
        """Fill the other form from the one in use, as one edit."""
        capsule = self.store.docket.capsule
        try:
            if capsule.given_as == "triple":
                other = dimensions_from_triple(capsule, capsule.area_mm2 or 1000.0)
                name = translate("pages", "Work out area, spring and travel")
            else:
                other = triple_from_dimensions(capsule)
                name = translate("pages", "Work out start, full and degrees")
            self.store.replace(name, put(self.store.docket, _CAPSULE, other))
        except BobweightError as error:
            problem = error.problem.at("capsule")
            self._said.setText(sentence(problem, self.store.docket, self.display))
            set_role(self._said, "wrong")
