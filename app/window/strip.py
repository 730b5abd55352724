"""The strip of pages: each with its state by shape and word."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListWidget,
    QListWidgetItem,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from bobweight.app.guard import guarded
from bobweight.app.theme import STATE_SIGNS, Theme, theme_for
from bobweight.app.widgets.plain import set_tip
from bobweight.app.words import translate

_STATE = Qt.ItemDataRole.UserRole
_KEY = Qt.ItemDataRole.UserRole + 1
_Index = QModelIndex | QPersistentModelIndex


def page_keys(number: int) -> str:
    """The keys of a page by its place from 1: Ctrl with 1 to 9, then Ctrl+Shift from 0."""
    return f"Ctrl+{'Shift+' if number > 9 else ''}{number % 10}"


def state_word(state: str) -> str:
    """The word for a page's state."""
    return {
        "empty": translate("strip", "empty"),
        "begun": translate("strip", "begun"),
        "wrong": translate("strip", "to correct"),
        "done": translate("strip", "done"),
    }.get(state, "")


class _Painter(QStyledItemDelegate):
    """Title above, sign and word of the state below; a bar at the edge of the chosen one. On a
    rail the sign stands above the title, and its word is for the tip and the ear."""

    rail = False

    @guarded
    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:
        line = option.fontMetrics.lineSpacing()
        width = option.fontMetrics.horizontalAdvance(str(index.data())) + 36
        return QSize(0 if self.rail else width, 2 * line + (10 if self.rail else 18))

    def _paint_rail(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        theme = theme_for(option.palette)
        line = option.fontMetrics.lineSpacing()
        inner = option.rect.adjusted(4, 4, 0, -4)
        state = index.data(_STATE) or ""
        centred = Qt.AlignmentFlag.AlignHCenter
        painter.setFont(option.font)
        painter.setPen(QColor(_state_colour(theme, state)))
        painter.drawText(inner.adjusted(0, 0, 0, -line), centred, STATE_SIGNS.get(state, ""))
        font = QFont(option.font)
        font.setPointSizeF(theme.small_pt)
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        font.setWeight(QFont.Weight.DemiBold if chosen else QFont.Weight.Normal)
        painter.setFont(font)
        painter.setPen(QColor(theme.ink))
        painter.drawText(inner.adjusted(0, line, 0, 4), centred, index.data())

    @guarded
    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        theme = theme_for(option.palette)
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        focused = bool(option.state & QStyle.StateFlag.State_HasFocus)
        rect = option.rect
        painter.save()
        if chosen:
            painter.fillRect(rect, QColor(theme.paper))
            painter.fillRect(QRect(rect.left(), rect.top(), 4, rect.height()), QColor(theme.accent))
        if focused:
            painter.setPen(QColor(theme.accent))
            painter.drawRect(rect.adjusted(5, 1, -2, -2))
        if self.rail:
            self._paint_rail(painter, option, index)
            painter.restore()
            return
        inner = rect.adjusted(14, 7, -8, -7)
        line = option.fontMetrics.lineSpacing()
        font = QFont(option.font)
        font.setWeight(QFont.Weight.DemiBold if chosen else QFont.Weight.Normal)
        painter.setFont(font)
        painter.setPen(QColor(theme.ink))
        painter.drawText(inner.adjusted(0, 0, 0, -line), Qt.AlignmentFlag.AlignLeft, index.data())
        state = index.data(_STATE) or ""
        colour = _state_colour(theme, state)
        font.setWeight(QFont.Weight.Normal)
        font.setPointSizeF(theme.small_pt)
        painter.setFont(font)
        painter.setPen(QColor(colour))
        text = f"{STATE_SIGNS.get(state, '')} {state_word(state)}"
        painter.drawText(inner.adjusted(0, line + 3, 0, 4), Qt.AlignmentFlag.AlignLeft, text)
        painter.restore()


def _state_colour(theme: Theme, state: str) -> str:
    colours = {"begun": theme.advice, "wrong": theme.wrong, "done": theme.good}
    return colours.get(state, theme.faint)


class PageStrip(QListWidget):
    """Chooses the page.

    Signals
    -------
    chosen(str)
        Key of the page.
    """

    chosen = Signal(str)

    def __init__(self, titles: dict[str, str], parent: QWidget) -> None:
        super().__init__(parent)
        self._painter = _Painter(self)
        self.setItemDelegate(self._painter)
        self.setFrameShape(QListWidget.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName(translate("strip", "Pages"))
        self.setStyleSheet("QListWidget { background: palette(window); border: none; }")
        for number, (key, title) in enumerate(titles.items(), start=1):
            item = QListWidgetItem(title)
            item.setData(_KEY, key)
            set_tip(item, page_keys(number))
            self.addItem(item)
        self._titles = tuple(titles.values())
        self._rows = {key: row for row, key in enumerate(titles)}
        self.set_rail(False)
        self.currentItemChanged.connect(self._current_changed)

    def set_rail(self, rail: bool) -> None:
        """Stand as a narrow rail of signs and titles, or with the words of the states."""
        self._painter.rail = rail
        font = QFont(self.font())
        font.setWeight(QFont.Weight.DemiBold)
        if rail:
            font.setPointSizeF(theme_for(self.palette()).small_pt)
        metrics = QFontMetrics(font)
        widest = max(metrics.horizontalAdvance(title) for title in self._titles)
        self.setMinimumWidth(widest + (14 if rail else 40))
        self.setMaximumWidth(widest + (14 if rail else 60))
        self.scheduleDelayedItemsLayout()

    def show_state(self, key: str, state: str) -> None:
        """Say that a page is ``empty``, ``begun``, ``wrong`` or ``done``."""
        item = self._item(key)
        if item is not None and item.data(_STATE) != state:
            item.setData(_STATE, state)
            keys = page_keys(self.row(item) + 1)
            set_tip(item, f"{item.text()}: {state_word(state)} ({keys})")
            item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{item.text()}, {state_word(state)}")

    @guarded
    def dataChanged(self, first: _Index, last: _Index, roles: Sequence[int] = ()) -> None:
        """Paint what changed: no state alters how large an item is, and Qt would lay all out."""
        QAbstractItemView.dataChanged(self, first, last, roles)

    @guarded
    def state_of(self, key: str) -> str:
        """The state shown for a page."""
        item = self._item(key)
        return item.data(_STATE) if item is not None else ""

    def choose(self, key: str) -> None:
        """Choose a page."""
        item = self._item(key)
        if item is not None:
            self.setCurrentItem(item)

    def current_key(self) -> str:
        """Key of the page chosen."""
        item = self.currentItem()
        return item.data(_KEY) if item is not None else ""

    def _item(self, key: str) -> QListWidgetItem | None:
        row = self._rows.get(key)
        return None if row is None else self.item(row)

    def _current_changed(self, item: QListWidgetItem | None, _before: object) -> None:
        if item is not None:
            self.chosen.emit(item.data(_KEY))
