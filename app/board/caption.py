"""The words over the pictures of the board."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRect, QSize, Qt
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from bobweight.app.guard import guarded
from bobweight.app.widgets.plain import PlainLabel, set_tip

_MOST_LINES, _LOW_LINES = 3, 30  # one less in a window of fewer lines than these
_LEAST_PX = 180
_TALL_PX = 10_000


class Caption(PlainLabel):
    """On three lines at most, or large type leaves the pictures no room; the whole is in the
    tip, and is read out."""

    def __init__(self) -> None:
        self._words = ""  # before Qt tells of a font
        super().__init__("")
        self.setWordWrap(True)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.setMinimumSize(_LEAST_PX, self.fontMetrics().lineSpacing())

    def show_words(self, words: str) -> bool:
        """Show these, as far as there is room. True if they are others than before."""
        if words == self._words:
            return False
        self._words = words
        self.setAccessibleName(words)
        self._fit()
        return True

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.ApplicationPaletteChange):
            self._fit()

    @guarded
    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._fit()

    def _fit(self) -> None:
        fits, too_long = 0, len(self._words) + 1
        if self._holds(self._words):
            fits = len(self._words)
        else:
            while too_long - fits > 1:
                middle = (fits + too_long) // 2
                if self._holds(self._words[:middle].rstrip() + "…"):
                    fits = middle
                else:
                    too_long = middle
        whole = fits == len(self._words)
        shown = self._words if whole else self._words[:fits].rstrip() + "…"
        if shown != self.text():
            self.setText(shown)
            set_tip(self, "" if whole else self._words)

    def _holds(self, words: str) -> bool:
        metrics = self.fontMetrics()
        if "\n" not in words and metrics.horizontalAdvance(words) <= self.width():
            return True  # asked at every edit, and Qt lays wrapped words out for their height
        room = QRect(0, 0, self.width(), _TALL_PX)
        tall = metrics.boundingRect(room, Qt.TextFlag.TextWordWrap.value, words).height()
        low = self.window().height() < _LOW_LINES * metrics.lineSpacing()
        return tall < (_MOST_LINES - low + 0.5) * metrics.lineSpacing()  # Qt rounds up


class CaptionRoom(QWidget):
    """Holds the caption: other words of the same height lay out nothing about them, where Qt would
    lay out the whole window anew."""

    def __init__(self, caption: Caption) -> None:
        super().__init__()
        self._caption, self._tall = caption, -1
        caption.setParent(self)
        self.setSizePolicy(caption.sizePolicy())

    @guarded
    def sizeHint(self) -> QSize:
        return self._caption.sizeHint()

    @guarded
    def minimumSizeHint(self) -> QSize:
        return self._caption.minimumSize()

    @guarded
    def hasHeightForWidth(self) -> bool:
        return True

    @guarded
    def heightForWidth(self, width: int) -> int:
        return self._caption.heightForWidth(width)

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._caption.setGeometry(self.rect())

    @guarded
    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.LayoutRequest:
            before, self._tall = self._tall, self._caption.heightForWidth(self.width())
            if self._tall != before:
                self.updateGeometry()
        return super().event(event)
