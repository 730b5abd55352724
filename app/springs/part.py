"""What the parts of the Springs page share."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QSizePolicy,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.display import Display
from bobweight.app.editors.field import set_role
from bobweight.app.messages import sentence
from bobweight.app.outcome_feed import OutcomeFeed
from bobweight.app.pages.caution_box import CautionBox
from bobweight.app.store import Store
from bobweight.app.tray_store import TrayStore
from bobweight.app.words import unbroken, without_joiners
from bobweight.core.problems import BobweightError, Problem
from bobweight.core.record import Record


class Bench(QObject):
    """What the parts work on: docket, tray, and the spring of the tray that is chosen.

    Signals
    -------
    chosen()
        Another spring of the tray is chosen.
    part_asked(str)
        The key of a part that should be shown.
    """

    chosen = Signal()
    part_asked = Signal(str)

    def __init__(
        self, store: Store, feed: OutcomeFeed, display: Display, tray: TrayStore,
        parent: QObject | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self.store = store
        self.feed = feed
        self.display = display
        self.tray = tray
        self._row = 0

    @property
    def row(self) -> int:
        """Row of the spring chosen; −1 if the tray is empty."""
        return min(self._row, len(self.tray.tray.springs) - 1)

    def choose(self, row: int) -> None:
        """Choose the spring in a row."""
        if row != self._row and row >= 0:
            self._row = row
            self.chosen.emit()


class Part(QWidget):
    """One part of the page. Subclasses name ``key`` and ``title`` and fill ``body``."""

    key = ""
    title = ""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self.store, self.feed, self.display = bench.store, bench.feed, bench.display
        self.tray = bench.tray
        self.body = QVBoxLayout(self)
        self.body.setContentsMargins(0, 0, 0, 0)
        self.body.setSpacing(12)
        self.said = Said(self.store, self.display)
        self.build()
        self.body.addWidget(self.said)

    def build(self) -> None:
        """Fill the part."""

    def follow(self) -> None:
        """Docket, tray, choice or display changed, or the part is shown again."""

    def leave(self) -> None:
        """Another part or page is shown; what was laid over the board is taken away anyhow."""

    def close_down(self) -> None:
        """The window closes."""

    def add_card(self, title: str, *widgets: QWidget) -> QFrame:
        """A titled group of widgets, one below the other."""
        made = card(title, *widgets)
        self.body.addWidget(made)
        return made


class Said(QLabel):
    """What came of an act, or why it was not done; hidden while there is nothing to say."""

    def __init__(self, store: Store, display: Display, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._store, self._display = store, display
        self.setWordWrap(True)
        self.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.hide()

    def say(self, text: str, role: str = "faint") -> None:
        """Show a sentence; an empty one hides the label."""
        set_role(self, role)
        sign = {"wrong": "▲ ", "advice": "△ "}.get(role, "")
        self.setText(sign + text if text else "")
        self.setVisible(bool(text))

    def refuse(self, error: BobweightError, root: Record | None = None) -> None:
        """Say why the core refused."""
        self.say(sentence(error.problem, root or self._store.docket, self._display), "wrong")

    def advise(self, problems: Iterable[Problem], root: Record | None = None) -> None:
        """Say what the core advises, a line each."""
        root = root or self._store.docket
        texts = [sentence(p, root, self._display) for p in problems]
        self.say("\n△ ".join(texts), "advice")


class Facts(QWidget):
    """Names with their values, one a line; the values can be copied."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(10)
        self._grid.setVerticalSpacing(3)
        self._grid.setColumnStretch(1, 1)
        self._rows: list[tuple[QLabel, QLabel]] = []

    def show_facts(self, facts: Iterable[tuple[str, str]]) -> None:
        """Show these in place of those before."""
        facts = list(facts)
        while len(self._rows) < len(facts):
            row = (QLabel(), QLabel())
            set_role(row[0], "faint")
            for column, made in enumerate(row):
                made.setWordWrap(True)
                self._grid.addWidget(made, len(self._rows), column, Qt.AlignmentFlag.AlignTop)
            row[0].setFixedWidth(self.fontMetrics().horizontalAdvance("0") * 15)
            row[1].setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            self._rows.append(row)
        for index, row in enumerate(self._rows):
            there = index < len(facts)
            for made, text in zip(row, facts[index] if there else ("", ""), strict=True):
                made.setText(unbroken(text))
                made.setVisible(there)
            if there:
                row[1].setAccessibleName(f"{facts[index][0]}: {facts[index][1]}")
        self.setVisible(bool(facts))

    def texts(self) -> dict[str, str]:
        """What is shown."""
        texts = ([without_joiners(made.text()) for made in row] for row in self._rows)
        return {name: value for name, value in texts if name}


class ReadTable(QTableView):
    """A table to read and choose a row in; Tab leaves it, as tall as its rows within reason."""

    def __init__(self, name: str, most_rows: int = 10, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._most = most_rows
        self.setAccessibleName(name)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setWordWrap(False)
        self.setAlternatingRowColors(True)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().lineSpacing() + 10)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setStretchLastSection(True)
        header.setHighlightSections(False)

    def fit_height(self) -> None:
        """As tall as its rows."""
        rows = min(max(self.model().rowCount(), 2), self._most)
        section = self.verticalHeader().defaultSectionSize()
        head = self.horizontalHeader().sizeHint().height()
        bar = self.horizontalScrollBar().sizeHint().height()
        self.setFixedHeight(head + rows * section + bar + 4)

    def chosen_row(self) -> int:
        """The row chosen; −1 for none."""
        index = self.currentIndex()
        return index.row() if index.isValid() else -1


def card(title: str, *widgets: QWidget) -> QFrame:
    """A titled frame round widgets, one below the other."""
    frame = QFrame()
    set_role(frame, "card")
    layout = QVBoxLayout(frame)
    layout.setContentsMargins(10, 8, 10, 10)
    layout.setSpacing(8)
    if title:
        heading = QLabel(title)
        set_role(heading, "group")
        layout.addWidget(heading)
    for widget in widgets:
        layout.addWidget(widget)
    return frame


def note(text: str, role: str = "faint") -> QLabel:
    """Words to read, as wide as there is room."""
    made = QLabel(text)
    made.setWordWrap(True)
    made.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    set_role(made, role)
    return made


def cautions(act: str, display: Display) -> QFrame:
    """The usual cautions of an act; they fold once they were shown."""
    box = CautionBox(display)
    box.show_act(act)
    return card("", box)


def button(text: str, tip: str, act: Callable[[], object]) -> QPushButton:
    """A button with its tip, which is its description for the ear too."""
    made = QPushButton(text)
    made.setToolTip(tip)
    made.setAccessibleDescription(tip)
    made.clicked.connect(act)
    return made


def in_row(*widgets: QWidget, stretch: bool = True) -> QWidget:
    """Widgets side by side."""
    holder = QWidget()
    row = QHBoxLayout(holder)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(6)
    for widget in widgets:
        row.addWidget(widget)
    if stretch:
        row.addStretch(1)
    return holder


def in_grid(columns: int, *widgets: QWidget) -> QWidget:
    """Widgets in so many columns of equal width."""
    holder = QWidget()
    grid = QGridLayout(holder)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setSpacing(6)
    for place, widget in enumerate(widgets):
        grid.addWidget(widget, place // columns, place % columns)
        grid.setColumnStretch(place % columns, 1)
    return holder
