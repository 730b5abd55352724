"""The fitted figures: value ± uncertainty, or that the readings do not determine them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QPushButton

from bobweight.app.messages import place_text
from bobweight.app.messages.explanations import before_text, correlation_sentence, estimate_text
from bobweight.app.pages.verdict.part import VerdictPart, being_judged
from bobweight.app.theme import theme_for
from bobweight.app.widgets.card import allow, put_below
from bobweight.app.widgets.fold import Fold
from bobweight.app.widgets.plain import set_tip
from bobweight.app.widgets.table import FigureTable
from bobweight.app.widgets.words import words
from bobweight.app.words import QT_TRANSLATE_NOOP, translate
from bobweight.core.docket.docket import Docket

if TYPE_CHECKING:
    from bobweight.core.judgement.consequences import Consequences
    from bobweight.core.judgement.fit import Estimate

_ALIKE_SHOWN = 2


class FitPart(VerdictPart):
    """What the readings say of each figure of the docket."""

    title = QT_TRANSLATE_NOOP("verdict", "What the readings say of each figure")

    def fill(self) -> None:
        fitted, before = translate("verdict", "Fitted"), translate("verdict", "Before")
        figure = translate("verdict", "Figure")
        self.known = _table(translate("verdict", "Fitted figures"), [figure, fitted, before])
        self.rest = _table(
            translate("verdict", "Figures that the readings do not determine"), [figure, before]
        )
        self.none = words(
            translate("verdict", "These readings determine none of the docket’s figures.")
        )
        self.alike, self.more_alike = words(), words()
        self.alike_fold = Fold("", self.more_alike)
        self.fold = Fold("", self.rest)
        self.take_button = QPushButton(translate("verdict", "Take the fitted figures"))
        set_tip(
            self.take_button,
            translate(
                "verdict",
                "Puts the figures that these readings moved into the docket, as one edit. From "
                "then on they stand for the sound unit.",
            ),
        )
        self.take_button.clicked.connect(self.take)
        self.note = words(
            translate(
                "verdict",
                "Two times in three the truth lies within ±. Here any figure may be off; an "
                "explanation takes the rest of the unit for sound, so its ± differs. The ± before "
                "is the one stated, else the trade’s usual one; a figure without it is left open "
                "by a likely fault.",
            ),
            "faint",
        )
        set_tip(self.note, translate("verdict", "± is one standard uncertainty."))
        parts = (
            self.known, self.none, self.take_button, self.note, self.alike, self.alike_fold,
            self.more_alike, self.fold, self.rest,
        )  # fmt: skip
        for widget in parts:
            put_below(self.body, widget)

    def show_found(self, found: Consequences) -> None:
        fit = found.decision.fit
        self.setVisible(fit is not None)
        if fit is None:
            return
        docket = found.decision.judgement.described
        known = [e for e in fit.estimates if e.state != "not-determined"]
        rest = [e for e in fit.estimates if e.state == "not-determined"]
        self.known.show_rows([self._known_row(e, docket) for e in known])
        self.rest.show_rows([[self._name(e, docket), self._before(e)] for e in rest])
        self.none.setVisible(not known)
        self.fold.setVisible(bool(rest))
        text = translate("verdict", "Not determined by these readings ({count})")
        self.fold.setText(text.format(count=len(rest)))
        self.rest.setVisible(bool(rest) and self.fold.isChecked())
        self._show_alike([f"• {correlation_sentence(a, docket)}" for a in fit.alike])

    def show_current(self, found: Consequences, current: bool) -> None:
        described = found.decision.judgement.described
        moved = found.taken not in (None, described)
        none = translate("verdict", "These readings moved none of the docket’s figures.")
        allow(self.take_button, current and moved, none if current else being_judged())

    def _known_row(self, e: Estimate, docket: Docket) -> list[str]:
        return [self._name(e, docket), estimate_text(e, self.display), self._before(e)]

    def _before(self, e: Estimate) -> str:
        """What was known before; no uncertainty of a figure that a likely fault left open."""
        if e.source == "suspected":
            return before_text(replace(e, u_before=0.0), self.display)
        return before_text(e, self.display)

    def _show_alike(self, sentences: list[str]) -> None:
        """What cannot be told apart: the first ones open, the rest under a fold."""
        shown, more = sentences[:_ALIKE_SHOWN], sentences[_ALIKE_SHOWN:]
        self.alike.show_text("\n".join(shown))
        self.more_alike.setText("\n".join(more))
        text = translate("verdict", "More that cannot be told apart ({count})")
        self.alike_fold.setText(text.format(count=len(more)))
        self.alike_fold.setVisible(bool(more))
        self.more_alike.setVisible(bool(more) and self.alike_fold.isChecked())

    def _name(self, estimate: Estimate, docket: Docket) -> str:
        path = estimate.path
        if path[0] == "sessions":
            path = path[2:]  # of the session shown
            return place_text(("sessions", 0, *path), None)
        return place_text(path, docket)

    def take(self) -> None:
        """Take the figures that the readings moved into the docket, as one edit."""
        found = self.decisions.current
        if found is not None and found.taken is not None:
            from bobweight.core.judgement.consequences import with_taken

            taken = with_taken(self.store.docket, found.taken, found.decision.session)
            self.store.set_ghost()
            self.store.replace(translate("verdict", "Take the fitted figures"), taken)


def _table(name: str, headings: list[str]) -> FigureTable:
    made = FigureTable(name, headings)
    font = made.font()
    font.setPointSizeF(theme_for().small_pt)
    made.setFont(font)
    made.horizontalHeader().setFont(font)
    return made
