"""Cam angle and swing of a weight from distances between two points, at rest and out."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget

from bobweight.app.editors.form import Form
from bobweight.app.messages import sentence
from bobweight.app.messages.figures import figure
from bobweight.app.pages.mechanism.measuring_dialog import MeasuringDialog
from bobweight.app.store import RecordStore, Store
from bobweight.app.store.display import Display
from bobweight.app.widgets.card import allow, button, card, in_row
from bobweight.app.widgets.dialogs import open_whole
from bobweight.app.widgets.words import note
from bobweight.app.words import translate
from bobweight.core.design.turned import (
    DISTANCES,
    Distances,
    SwingDistances,
    Turned,
    Turning,
    turned,
    with_turning,
)
from bobweight.core.problems import BobweightError, required


class TurnDialog(MeasuringDialog):
    """Distances as callipers take them; the angles as they follow; one edit fills the docket."""

    def __init__(self, store: Store, display: Display, parent: QWidget | None = None) -> None:
        super().__init__(store, display, parent)
        self.asked_store = RecordStore(Turning(), self)
        self.undo_stack = self.asked_store.undo_stack
        self.setWindowTitle(translate("springs", "Angles from distances"))
        self.forms = {
            part: Form(record, (part,), DISTANCES, self.asked_store, display)
            for part, record in (("cam", Distances), ("swing", SwingDistances))
        }
        self.fully = Form(Turning, (), ("at_stop",), self.asked_store, display)
        self.fill_button = button(
            translate("springs", "Fill in"),
            translate("springs", "The stop from the cam’s angle with the weights fully out; the "
                      "linkage from cam and swing together. One edit of the docket."),
            self.fill,
        )  # fmt: skip
        self.close_button = button(translate("springs", "Close"), "", self.accept)
        for made in (self.fill_button, self.close_button):
            made.setAutoDefault(False)
        how = note(
            translate(
                "springs",
                "Choose a point that stands and one that moves, about square to each other seen "
                "from the axis. Measure between them at rest, then hold the weights out and "
                "measure again.",
            )
        )
        cam = card(translate("springs", "Cam, about the shaft"), self.forms["cam"], self.fully)
        swing = card(translate("springs", "Weight, about its pivot"), self.forms["swing"])
        area = self.column(how, cam, swing)
        inner = required(area.widget())
        area.setMinimumWidth(max(inner.minimumSizeHint().width() + 24, 460))
        layout = QVBoxLayout(self)
        layout.addWidget(area, 1)
        layout.addWidget(self.said)
        layout.addWidget(self.facts)
        layout.addWidget(in_row(self.fill_button, self.close_button))
        open_whole(self, 500, area)
        self.asked_store.changed.connect(self._docket_changed)
        self.follow()

    @property
    def asked(self) -> Turning:
        """The distances as they stand."""
        asked: Turning = self.asked_store.docket
        return asked

    def follow(self) -> None:
        """Work the angles out and show them."""
        self.said.say("")
        cam, swing = self._angle("cam"), self._angle("swing")
        facts = []
        for name, found in (
            (translate("springs", "Turn of the cam"), cam),
            (translate("springs", "Swing of the weight"), swing),
        ):
            if found is not None:
                facts.append((name, f"{figure(found.deg, found.u_deg)}°"))
        self.facts.show_facts(facts)
        refused = bool(self.said.text())
        if not facts and not refused:
            self.said.say(
                translate(
                    "springs", "Enter the distances first, at rest and out, of the cam or a weight."
                )
            )
        allow(self.fill_button, bool(facts) and not refused, self.said.text())

    def _angle(self, part: str) -> Turned | None:
        distances = getattr(self.asked, part)
        try:
            return turned(distances)
        except BobweightError as error:
            self.said.say(sentence(error.problem, distances, self._display), "wrong")
            return None

    def fill(self) -> None:
        """Fill the docket, as one edit."""
        try:
            docket = with_turning(self._store.docket, self.asked)
        except BobweightError as error:
            self.said.refuse(error)
            return
        if docket == self._store.docket:
            self.said.say(
                translate("springs", "Nothing follows for the docket from these figures alone."),
                "advice",
            )
            return
        self._store.replace(translate("springs", "Angles from distances"), docket)
        self.said.say(translate("springs", "Filled in. Undo on the Edit menu takes it back."))
