"""Where to take the next reading, and why; or that another would not change the decision."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bobweight.app.messages.explanations import next_reading_sentences
from bobweight.app.messages.misreadings import slip_sentences
from bobweight.app.pages.verdict.part import VerdictPart
from bobweight.app.widgets.words import Links, words
from bobweight.app.words import QT_TRANSLATE_NOOP, translate

if TYPE_CHECKING:
    from bobweight.core.judgement.consequences import Consequences


class NextPart(VerdictPart):
    """The next reading, and readings that look like misreadings, with a link to each."""

    title = QT_TRANSLATE_NOOP("verdict", "The next reading")

    def fill(self) -> None:
        self.said, self.why, self.slips = words(bold=True), words(role="faint"), Links("advice")
        self.slips.linkActivated.connect(self._follow)
        for widget in (self.said, self.why, self.slips):
            self.body.addWidget(widget)

    def show_found(self, found: Consequences) -> None:
        decision = found.decision
        said, why = translate("verdict", "Only one explanation fits."), ""
        if decision.advice is not None:
            said, why = next_reading_sentences(
                decision.advice, decision.docket, decision.session, self.display
            )
        if decision.advice is not None and decision.advice.worth_taking and found.spot:
            why += " " + translate("verdict", "The place is marked on the board.")
        self.said.setText(said)
        self.why.show_text(why)
        self._show_slips(found)

    def show_current(self, found: Consequences, current: bool) -> None:
        self._session = self.display.session_index(self.store.docket)

    def _show_slips(self, found: Consequences) -> None:
        show = translate("verdict", "Show")
        lines = [(f"△ {text}", show, str(row)) for text, row in slip_sentences(found.slips)]
        self.slips.show_lines(lines)

    def _follow(self, link: str) -> None:
        self.decisions.path_asked.emit(
            ("sessions", self._session, "readings", int(link), "angle_deg")
        )
