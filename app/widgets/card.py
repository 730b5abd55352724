"""A titled card, and widgets beside each other in it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QUndoStack
from PySide6.QtWidgets import (
    QBoxLayout,
    QGridLayout,
    QHBoxLayout,
    QLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.widgets.plain import set_tip
from bobweight.app.widgets.section import Section
from bobweight.app.words import translate

_OWN_TIP = "own-tip"  # a property: what it does
_BUTTON = 28  # of the widest in a grid of them, in characters
_OF_ALL = 100  # parts of the room for a column


def card(title: str, *widgets: QWidget) -> Section:
    """A titled frame round widgets, one below the other; its heading opens and closes it."""
    made = Section(title)
    for widget in widgets:
        put_below(made.body, widget)
    return made


def put_below(column: QBoxLayout, widget: QWidget) -> None:
    """Add a widget to a column, as wide as that; a button only as wide as its words, a table as
    its figures."""
    flags = Qt.AlignmentFlag
    own = isinstance(widget, QPushButton) or getattr(widget, "is_own_width", False)
    column.addWidget(widget, 0, flags.AlignLeft if own else flags(0))


def button(text: str, tip: str, act: Callable[[], object]) -> QPushButton:
    """A button with its tip, which is its description for the ear too."""
    made = QPushButton(text)
    set_tip(made, tip)
    made.setAccessibleDescription(tip)
    made.clicked.connect(act)
    return made


def allow(made: QWidget, can: bool, why: str) -> None:
    """Let a button be pressed; while it cannot be, its tip says what is wanting."""
    own = made.property(_OWN_TIP)
    if own is None:
        own = made.accessibleDescription() or made.toolTip()
        made.setProperty(_OWN_TIP, own)
    made.setEnabled(can)
    set_tip(made, own if can else why)
    made.setAccessibleDescription(own if can else why)


def follow_stack(stack: QUndoStack, undo: QWidget, redo: QWidget, where: str = "{edit}") -> None:
    """Have two buttons say what of an undo stack they would take back and do again, and
    ``where`` that is, if it is not what stands about them."""
    for made, can, what, nothing in (
        (undo, stack.canUndo(), stack.undoText(), translate("pages", "There is nothing to undo.")),
        (redo, stack.canRedo(), stack.redoText(), translate("pages", "There is nothing to redo.")),
    ):
        made.setProperty(_OWN_TIP, where.format(edit=what))
        allow(made, can, nothing)


def stacked(holder: QWidget, *widgets: QWidget, spacing: int = -1) -> QVBoxLayout:
    """Widgets one below the other, filling a holder to its edges; spaced as the style has it, or by
    so many pixels."""
    column = QVBoxLayout(holder)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(spacing)
    for widget in widgets:
        put_below(column, widget)
    return column


def shorten(layout: QLayout, cards: list[Any], count: int) -> None:
    """Take away the last of the cards in a layout, until there are no more than ``count``."""
    while len(cards) > count:
        card = cards.pop()
        layout.removeWidget(card)
        card.hide()
        card.deleteLater()


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
    """Widgets in so many columns of equal width; buttons no wider than they need to be."""
    holder = QWidget()
    grid = QGridLayout(holder)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setSpacing(6)
    for place, widget in enumerate(widgets):
        grid.addWidget(widget, place // columns, place % columns)
        grid.setColumnStretch(place % columns, _OF_ALL)
        if isinstance(widget, QPushButton) and not widget.isCheckable():
            most = widget.fontMetrics().horizontalAdvance("0") * _BUTTON
            widget.setMaximumWidth(max(most, widget.sizeHint().width()))
            grid.setColumnStretch(columns, 1)  # what is left over
    return holder
