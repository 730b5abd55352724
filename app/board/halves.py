"""The curve over the other pictures, and how the two share the height of the board."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSplitter, QWidget

from bobweight.app.guard import guarded

_CURVE_SHARE = 1150, 1000
_UPPER_PX, _LOWER_PX = 230, 200


class Halves(QSplitter):
    """The upper and the lower half.

    Where the drawing of the mechanism is a form it has its square, as wide as it is, and the curve
    the rest of the height: more would be empty paper over and under the drawing. What a hand has
    shared out stays so.
    """

    def __init__(self, upper: QWidget, under: QWidget, drawing: QWidget) -> None:
        super().__init__(Qt.Orientation.Vertical)
        self._drawing = drawing
        self._as_form = self._by_hand = False
        self._usual: list[int] = []
        for half, share, least in ((upper, 11, _UPPER_PX), (under, 10, _LOWER_PX)):
            self.addWidget(half)
            self.setStretchFactor(self.count() - 1, share)
            half.setMinimumHeight(least)
        self.setChildrenCollapsible(False)
        self.setSizes([*_CURVE_SHARE])
        self.splitterMoved.connect(self._moved)

    def set_small(self, small: bool) -> None:
        """One picture alone may be as low as either, or the hidden half counts."""
        self.setMinimumHeight(_UPPER_PX if small else 0)
        self._as_form = False
        self._usual = []

    def show_form(self, on: bool) -> None:
        """Give the drawing the room of a form, or both what they had before."""
        self._as_form, self._by_hand = on, False
        if on:
            self._usual = self.sizes()
            self._fit()
        else:
            self.setSizes(self._usual or [*_CURVE_SHARE])

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._as_form and not self._by_hand:
            self._fit()

    def _fit(self) -> None:
        whole = self.height() - self.handleWidth()
        square = min(self._drawing.width(), whole - _UPPER_PX)
        self.setSizes([whole - square, square])

    def _moved(self, _place: int, _index: int) -> None:
        self._by_hand = True
