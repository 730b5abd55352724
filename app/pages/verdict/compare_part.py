"""Before and after: the session shown beside another, at every check point."""

from __future__ import annotations

from PySide6.QtWidgets import QHeaderView, QLabel, QWidget

from bobweight.app.messages.figures import session_title
from bobweight.app.pages.compare_box import CompareBox
from bobweight.app.pages.comparison import ComparisonModel
from bobweight.app.pages.verdict.part import Part
from bobweight.app.theme import VERDICT_SIGNS
from bobweight.app.widgets.card import in_row
from bobweight.app.widgets.figure_table import FigureTable
from bobweight.app.widgets.words import words
from bobweight.app.words import translate


class ComparePart(Part):
    """The other session, and what became of each check point."""

    @classmethod
    def shown_title(cls) -> str:
        return translate("verdict", "Before and after")

    def build(self) -> None:
        self.box = CompareBox(self.store, self.feed, self.display)
        label = QLabel(translate("verdict", "Compare with"))
        label.setBuddy(self.box)
        self.row: QWidget = in_row(label, self.box, stretch=False)
        self.table = FigureTable(
            translate("verdict", "Check points of both sessions"),
            [translate("verdict", "At rev/min"), translate("verdict", "Compared with"),
             translate("verdict", "Shown now")],
        )  # fmt: skip
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.said = words(role="faint")
        self.model = ComparisonModel(self.feed, self.display, self)
        for widget in (self.row, self.table, self.said):
            self.body.addWidget(widget)
        self.feed.changed.connect(self.follow)
        self.display.changed.connect(self.follow)
        self.follow()

    def follow(self) -> None:
        """Docket, session or display changed."""
        docket, other = self.store.docket, self.feed.other_outcome
        self.setVisible(len(docket.sessions) > 1)
        if other is None:
            self.table.show_rows([])
            self.said.setText(
                translate("verdict", "Choose a session to see before and after side by side.")
            )
            return
        self.model.read()
        pairs = zip(self.model.points, other.comparison.all_points, strict=True)
        self.table.show_rows([
            [self.model.texts(now)[0], self._cell(before), self._cell(now)]
            for now, before in pairs
        ])  # fmt: skip
        text = translate(
            "verdict",
            "“{before}” against “{now}”: degrees by the readings; ✓ inside the band, ✗ outside, "
            "? cannot be told.",
        )
        shown = self.display.session_index(docket)
        self.said.setText(
            text.format(
                before=session_title(docket, other.session), now=session_title(docket, shown)
            )
        )

    def _cell(self, point) -> str:
        _, _, _, measured, *_ = self.model.texts(point)
        sign = VERDICT_SIGNS.get(str(point.verdict.value), "?")
        return measured if point.estimate_deg is None else f"{measured} {sign}"
