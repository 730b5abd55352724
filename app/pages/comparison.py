"""Each check point: the band, the prediction, what the readings say, the decision."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLabel,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.guard import guarded
from bobweight.app.messages.figure_words import said
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import VERDICT_SIGNS, set_role, theme_for
from bobweight.app.words import translate
from bobweight.core.figure.numbers import short
from bobweight.core.figure.view import View
from bobweight.core.judgement.compare import PointResult
from bobweight.core.units import percent

_Index = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()
_COLUMNS = 6
_BRANCH_SIGNS = {"rising": "▲", "falling": "▼"}
"""As the readings are marked on the board."""


class ComparisonModel(QAbstractTableModel):
    """Rows of the comparison, in the frame shown."""

    def __init__(self, feed: OutcomeFeed, display: Display, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._feed = feed
        self._display = display
        self.points: tuple[PointResult, ...] = ()
        feed.changed.connect(self.read)
        display.changed.connect(self.read)
        self.read()

    def read(self) -> None:
        """Take the comparison as it now is."""
        self.beginResetModel()
        self.points = self._feed.outcome.comparison.all_points
        self._view = self._display.view(self._feed.outcome.docket)
        self.endResetModel()

    @guarded
    def rowCount(self, parent: _Index = _ROOT) -> int:
        return 0 if parent.isValid() else len(self.points)

    @guarded
    def columnCount(self, parent: _Index = _ROOT) -> int:
        return 0 if parent.isValid() else _COLUMNS

    @guarded
    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        if role != Qt.ItemDataRole.DisplayRole or orientation != Qt.Orientation.Horizontal:
            return None
        return (
            translate("pages", "At\nrev/min"),
            translate("pages", "Decision"),
            translate("pages", "Inside"),
            translate("pages", "Readings\n°"),
            translate("pages", "Band\n°"),
            translate("pages", "Predicted\n°"),
        )[section]

    @guarded
    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        point = self.points[index.row()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            said = self.texts(point)[index.column()]
            if role == Qt.ItemDataRole.AccessibleTextRole and index.column() == 5:
                for direction, sign in _BRANCH_SIGNS.items():
                    said = said.replace(sign, _branch_word(direction))
            return said
        if role == Qt.ItemDataRole.ForegroundRole:
            theme = theme_for()
            if index.column() == 1:
                return QColor(theme.verdict(str(point.verdict.value)))
            if index.column() == 5 and point.predicted_inside is False:
                return QColor(theme.wrong)
        return None

    def texts(self, point: PointResult) -> tuple[str, ...]:
        """The cells of a check point: where, decision, inside, readings, band, predicted."""
        return (
            self._where(point), self._decision(point), self._probability(point),
            self._measured(point), self._band(point), self._predicted(point),
        )  # fmt: skip

    def _where(self, point: PointResult) -> str:
        if point.kind == "ceiling":
            return translate("pages", "ceiling")
        if point.depression_kpa is not None:
            return f"{self._view.depression(point.depression_kpa)} {self._view.depression_unit}"
        speed = self._view.speed(point.speed_rpm or 0.0)
        if point.kind == "start":
            return translate("pages", "< {speed}").format(speed=speed)
        return speed

    def _stands(self, point: PointResult) -> View:
        return self._view.moving if point.kind == "vacuum" else self._view

    def _band(self, point: PointResult) -> str:
        return said(self._stands(point).between(point.low_deg, point.high_deg))

    def _predicted(self, point: PointResult) -> str:
        if point.predicted_deg is None:
            return "–"
        sign = {True: "✓ ", False: "✗ "}.get(point.predicted_inside, "")
        branch = point.predicted_branch
        of_branch = f"{_BRANCH_SIGNS[branch]} " if branch else ""
        return sign + of_branch + self._stands(point).at(point.predicted_deg)

    def branches(self) -> list[str]:
        """Branches that a cell names because only there the prediction lies outside."""
        told = {point.predicted_branch for point in self.points}
        return [direction for direction in _BRANCH_SIGNS if direction in told]

    def _measured(self, point: PointResult) -> str:
        if point.estimate_deg is None:
            return "–"
        return self._stands(point).at_u(point.estimate_deg, point.u_deg)

    def _decision(self, point: PointResult) -> str:
        verdict = str(point.verdict.value)
        words = {
            "inside": translate("pages", "inside"),
            "outside": translate("pages", "outside"),
        }.get(verdict, translate("pages", "cannot tell"))
        if point.estimate_deg is None:
            words = translate("pages", "not read")
        return f"{VERDICT_SIGNS.get(verdict, '?')} {words}"

    def _probability(self, point: PointResult) -> str:
        """How probable it is that the true value lies inside the band."""
        if point.probability_inside is None:
            return "–"
        return percent(point.probability_inside)


def frame_sentence(view: View) -> str:
    """In which frame a table's figures stand."""
    if view.frame == "distributor":
        return translate("pages", "Distributor degrees and speed.")
    if view.frame == "crank":
        return translate("pages", "Crank degrees without static, engine speed.")
    words = translate("pages", "Crank degrees with {static}° static, engine speed.")
    return words.format(static=short(view.static_deg))


def _branch_word(direction: str) -> str:
    words = {"rising": translate("pages", "rising"), "falling": translate("pages", "falling")}
    return words[direction]


class ComparisonView(QWidget):
    """The comparison as a table to read, with what its numbers are."""

    def __init__(self, feed: OutcomeFeed, display: Display, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._feed = feed
        self._display = display
        self.model = ComparisonModel(feed, display, self)
        self.view = QTableView()
        self.view.setModel(self.model)
        self.view.setAccessibleName(translate("pages", "Check points and decisions"))
        self.view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.view.setTabKeyNavigation(False)
        self.view.setWordWrap(False)
        self.view.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.view.setStyleSheet(f"font-size: {theme_for().small_pt}pt")  # six columns
        self.view.verticalHeader().hide()
        self.view.verticalHeader().setDefaultSectionSize(self.fontMetrics().lineSpacing() + 10)
        self.said = QLabel()
        self.said.setWordWrap(True)
        set_role(self.said, "faint")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.view)
        layout.addWidget(self.said)
        self.model.modelReset.connect(self._follow)
        self._follow()

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._share_width()

    def _share_width(self) -> None:
        """Columns of one width where there is room, else as narrow as their texts."""
        header, columns = self.view.horizontalHeader(), range(_COLUMNS)
        widest = max(
            max(header.sectionSizeHint(i), self.view.sizeHintForColumn(i)) for i in columns
        )
        modes = QHeaderView.ResizeMode
        roomy = _COLUMNS * widest <= self.view.width() - 4
        header.setSectionResizeMode(modes.Stretch if roomy else modes.ResizeToContents)
        header.setSectionResizeMode(_COLUMNS - 1, modes.Stretch)

    def _follow(self) -> None:
        rows = self.model.rowCount()
        self.view.setVisible(rows > 0)
        height = self.view.horizontalHeader().sizeHint().height()
        section = self.view.verticalHeader().defaultSectionSize()
        self.view.setFixedHeight(height + rows * section + 4)
        self._share_width()
        if not rows:
            self.said.setText(translate("pages", "The target has no check points yet."))
            return
        told = [frame_sentence(self._display.view(self._feed.outcome.docket))]
        words = translate(
            "pages", "Predicted: the middle of both branches; {branch} where that is outside."
        )
        branches = ", ".join(f"{_BRANCH_SIGNS[d]} {_branch_word(d)}" for d in self.model.branches())
        if branches:
            told.append(words.format(branch=branches))
        self.said.setText(" ".join(told))
