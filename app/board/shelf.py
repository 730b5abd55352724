"""Under the large picture of a small screen: the others in small, and the slider of the speed."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QEvent, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QWidget

from bobweight.app.board.speed_bar import SpeedBar
from bobweight.app.board.thumbnail import SIZE, Thumbnail
from bobweight.app.guard import guarded
from bobweight.app.widgets.card import stacked
from bobweight.core.problems import required

_BAR_PX = 240


class Shelf(QWidget):
    """Thumbnails by key; each asks for its picture to be the large one.

    Signals
    -------
    asked(str)
        A thumbnail was chosen.
    drawing(str)
        A picture is about to be drawn in small, and should show what there is now.
    """

    asked = Signal(str)
    drawing = Signal(str)

    def __init__(self, pictures: Mapping[str, tuple[QWidget, str]]) -> None:
        super().__init__()
        self._offered = set(pictures)
        self._large = ""
        self._row = QHBoxLayout()
        self._row.setSpacing(8)
        self._both = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._both.setContentsMargins(8, 2, 8, 4)
        self._both.setSpacing(8)
        self._both.addLayout(self._row)
        self.thumbnails: dict[str, Thumbnail] = {}
        for key, (source, name) in pictures.items():
            made = Thumbnail(source, name)
            made.setObjectName(key)
            made.clicked.connect(self._clicked)
            made.drawing.connect(self._drawing)
            self.thumbnails[key] = made
            self._row.addWidget(made)
        self._row.addStretch(0)  # they stand together where the slider is not beside them
        self._slot = QWidget()  # what hides the slider for want of room leaves its own state
        stacked(self._slot)
        self._both.addWidget(self._slot, 1)
        self._bar: SpeedBar | None = None
        self.fit_height()

    def fit_height(self) -> None:
        """As tall as the pictures, and as the slider with its words one below the other; where
        the slider finds no room beside the pictures it stands below them, with the plan alone."""
        bar_px = self._bar.tallest_px() if self._bar is not None else 0
        ways, narrow = QBoxLayout.Direction, False
        if self._bar is not None and self.isVisible():
            shown = sum(not made.isHidden() for made in self.thumbnails.values())
            beside = shown * (SIZE.width() + 8) + self._bar.narrowest_px() + 16
            narrow = self.width() < beside
        self._both.setDirection(ways.TopToBottom if narrow else ways.LeftToRight)
        tall = max(SIZE.height(), bar_px)
        if self._bar is not None and self.isVisible():
            posed = (not narrow or self._large == "plan") and not self._bar.isHidden()
            self._slot.setVisible(posed)
            if narrow:
                tall = SIZE.height()
                tall += (8 + self._bar.minimumSizeHint().height()) * posed
        self.setFixedHeight(tall + 6)

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fit_height()

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.ApplicationPaletteChange:  # type may have another size
            self.fit_height()

    def take_bar(self, bar: SpeedBar) -> None:
        """Hold the slider of the speed."""
        self._bar = bar
        bar.stacked.connect(self.fit_height)
        self.fit_height()
        bar.setMinimumWidth(_BAR_PX)  # it may be squeezed, so that the window may be small
        required(self._slot.layout()).addWidget(bar)
        self._slot.show()

    def offer(self, key: str, there: bool) -> None:
        """Whether there is anything to be seen in a picture."""
        if there != (key in self._offered):
            (self._offered.add if there else self._offered.discard)(key)
            self.show_others(self._large)

    def show_others(self, large: str) -> None:
        """Show the thumbnails of all but the large picture."""
        self._large = large
        for key, made in self.thumbnails.items():
            made.setVisible(key != large and key in self._offered)
        self.fit_height()
        self.draw_soon()

    def draw_soon(self) -> None:
        """Pictures changed."""
        for made in self.thumbnails.values():
            made.draw_soon()

    def _clicked(self) -> None:
        self.asked.emit(self.sender().objectName())

    def _drawing(self) -> None:
        self.drawing.emit(self.sender().objectName())
