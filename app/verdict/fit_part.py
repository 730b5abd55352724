"""The fitted figures: value ± uncertainty, or that the readings do not determine them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QHeaderView, QPushButton

from app.messages import place_text
from app.messages.explanations import before_text, correlation_sentence, estimate_text
from app.pages.figure_table import FigureTable
from app.verdict.part import Fold, Part, words
from app.words import translate

if TYPE_CHECKING:
    from core.judgement.consequences import Consequences
    from core.judgement.fit import Estimate


class FitPart(Part):
    """What the readings say of each figure of the docket."""

    @classmethod
    def shown_title(cls) -> str:
        return translate("verdict", "What the readings say of each figure")

    def build(self) -> None:
        fitted, before = translate("verdict", "Fitted"), translate("verdict", "Before")
        figure = translate("verdict", "Figure")
        self.known = _table(translate("verdict", "Fitted figures"), [figure, fitted, before])
        self.rest = _table(
            translate("verdict", "Figures that the readings do not determine"), [figure, before]
        )
        self.none = words(
            translate("verdict", "These readings determine none of the docket's figures.")
        )
        self.alike = words(role="advice")
        self.fold = Fold("", self.rest)
        self.take_button = QPushButton(translate("verdict", "Take the fitted figures"))
        self.take_button.setToolTip(
            translate(
                "verdict",
                "Puts the figures that these readings moved into the docket, as one edit. From "
                "then on they stand for the sound unit.",
            )
        )
        self.take_button.clicked.connect(self.take)
        self.note = words(
            translate(
                "verdict",
                "± is one standard uncertainty. The uncertainty before is the one stated, else "
                "the trade's usual one.",
            ),
            "faint",
        )
        parts = (self.known, self.none, self.note, self.alike, self.fold, self.rest)
        for widget in (*parts, self.take_button):
            self.body.addWidget(widget)

    def show_found(self, found: Consequences, current: bool) -> None:
        fit = found.decision.fit
        self.setVisible(fit is not None)
        if fit is None:
            return
        docket = found.decision.docket
        known = [e for e in fit.estimates if e.state != "not-determined"]
        rest = [e for e in fit.estimates if e.state == "not-determined"]
        self.known.show_rows([
            [self._name(e, docket), estimate_text(e, self.display), before_text(e, self.display)]
            for e in known
        ])  # fmt: skip
        self.rest.show_rows([[self._name(e, docket), before_text(e, self.display)] for e in rest])
        self.none.setVisible(not known)
        self.fold.setVisible(bool(rest))
        text = translate("verdict", "Not determined by these readings ({count})")
        self.fold.setText(text.format(count=len(rest)))
        self.rest.setVisible(bool(rest) and self.fold.isChecked())
        self.alike.setText("\n".join(correlation_sentence(a, docket) for a in fit.alike))
        self.alike.setVisible(bool(fit.alike))
        self.take_button.setEnabled(current and found.taken not in (None, docket))

    def _name(self, estimate: Estimate, docket) -> str:
        path = estimate.path
        if path[0] == "sessions":
            path = path[2:]  # of the session shown
            return place_text(("sessions", 0, *path), None)
        return place_text(path, docket)

    def take(self) -> None:
        """Take the figures that the readings moved into the docket, as one edit."""
        found = self.decisions.current
        if found is not None and found.taken is not None:
            self.store.set_ghost()
            self.store.replace(translate("verdict", "Take the fitted figures"), found.taken)


def _table(name: str, headings: list[str]) -> FigureTable:
    made = FigureTable(name, headings)
    header = made.horizontalHeader()
    header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
    header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
    return made
