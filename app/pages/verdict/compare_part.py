"""Before and after: the session shown beside another, at every check point."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from bobweight.app.messages.figures import session_title
from bobweight.app.pages.compare_box import CompareBox
from bobweight.app.pages.comparison import PointWords
from bobweight.app.pages.verdict.part import VerdictPart
from bobweight.app.theme import VERDICT_SIGNS
from bobweight.app.widgets.card import in_row, put_below
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.widgets.table import FigureTable
from bobweight.app.widgets.words import words
from bobweight.app.words import QT_TRANSLATE_NOOP, translate
from bobweight.core.judgement.compare import PointResult, paired


class ComparePart(VerdictPart):
    """The other session, and what became of each check point."""

    title = QT_TRANSLATE_NOOP("verdict", "Before and after")

    def fill(self) -> None:
        self.box = CompareBox(self.store, self.display)
        label = PlainLabel(translate("verdict", "Compare with"))
        label.setBuddy(self.box)
        self.row: QWidget = in_row(label, self.box, stretch=False)
        self.table = FigureTable(
            translate("verdict", "Check points of both sessions"),
            [translate("verdict", "At rev/min"), translate("verdict", "Compared with"),
             translate("verdict", "Shown now")], figures=True,
        )  # fmt: skip
        self.said = words(role="faint")
        self.words = PointWords(self.display.view(self.store.docket))
        for widget in (self.row, self.table, self.said):
            put_below(self.body, widget)

    def follow(self) -> None:
        """Docket, session or display changed."""
        self.box.follow()
        docket, other = self.store.docket, self.feed.other_outcome
        self.setVisible(len(docket.sessions) > 1)
        if other is None:
            self.table.show_rows([])
            self.said.setText(
                translate("verdict", "Choose a session to see before and after side by side.")
            )
            return
        self.words.view = self.display.view(docket)
        self.table.show_rows([
            [self.words.where(now), self._cell(before), self._cell(now)]
            for now, before in paired(self.feed.outcome.comparison, other.comparison)
        ])  # fmt: skip
        text = translate(
            "verdict",
            "“{before}” against “{now}”: degrees by the readings; ✓ inside the band, ✗ outside, "
            "? can’t tell.",
        )
        shown = self.display.session_index(docket)
        self.said.setText(
            text.format(
                before=session_title(docket, other.session), now=session_title(docket, shown)
            )
        )

    def _cell(self, point: PointResult) -> str:
        measured = self.words.measured(point)
        sign = VERDICT_SIGNS.get(str(point.verdict.value), "?")
        return measured if point.estimate_deg is None else f"{measured} {sign}"
