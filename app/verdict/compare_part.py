"""Before and after: the session shown beside another, at every check point."""

from __future__ import annotations

from PySide6.QtWidgets import QHeaderView, QLabel, QWidget

from bobweight.app.display import Display
from bobweight.app.editors.choice import QuietComboBox
from bobweight.app.outcome_feed import OutcomeFeed
from bobweight.app.pages.comparison import ComparisonModel
from bobweight.app.pages.figure_table import FigureTable
from bobweight.app.springs.part import in_row
from bobweight.app.store import Store
from bobweight.app.theme import VERDICT_SIGNS
from bobweight.app.verdict.part import Part, words
from bobweight.app.words import translate
from bobweight.core.docket.docket import Docket


def session_title(docket: Docket, index: int) -> str:
    """What a session is called in a list."""
    session = docket.sessions[index]
    title = session.title or translate("pages", "Session {number}").format(number=index + 1)
    return f"{title}, {session.date}" if session.date else title


class CompareBox(QuietComboBox):
    """Chooses the session that the one shown is compared with, or none."""

    def __init__(self, store: Store, feed: OutcomeFeed, display: Display) -> None:
        super().__init__()
        self._store, self._display = store, display
        self.setAccessibleName(translate("verdict", "Compare with session"))
        self.setToolTip(
            translate("verdict", "Its readings stand on the board as small hollow marks.")
        )
        self.setMinimumContentsLength(12)
        self.setSizeAdjustPolicy(self.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.activated.connect(self._chosen)
        feed.changed.connect(self.follow)
        display.changed.connect(self.follow)
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
        self.setEnabled(len(items) > 1)

    def _chosen(self, row: int) -> None:
        self._display.compared = self.itemData(row)


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
