"""A picture of the board in small, which a click makes the large one."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QPointF, QRect, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPixmap
from PySide6.QtWidgets import QAbstractButton, QSplitter, QWidget

from bobweight.app.guard import guarded
from bobweight.app.theme import theme_for
from bobweight.app.widgets.plain import set_tip

SIZE = QSize(136, 84)
_FRAME = QSize(6, 6)  # both sides of it, which would cover what stands at the picture's edge
_DRAWN = 2.4  # the picture is drawn so many times as large, so that its words do not cover it
REST_MS = 120
"""So long after the last change it is drawn anew: never in the frame of a drag."""


class Thumbnail(QAbstractButton):
    """Another widget in small, kept up to date while it is hidden.

    Signals
    -------
    drawing()
        It is about to be drawn.
    """

    drawing = Signal()

    def __init__(self, source: QWidget, name: str) -> None:
        super().__init__()
        self.source = source
        self._image = QPixmap()
        self.setText(name)
        set_tip(self, name)
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFixedSize(SIZE)
        self._timer = QTimer(self, singleShot=True, interval=REST_MS)
        self._timer.timeout.connect(self.draw)

    def draw_soon(self) -> None:
        """What is shown changed."""
        if not self.isHidden():
            self._timer.start()

    @guarded
    def draw(self) -> None:
        """Draw the picture in small."""
        if not self.isVisible() or self.source.isVisible():
            return
        self.drawing.emit()
        least, most = self.source.minimumSize(), self.source.maximumSize()
        self.source.setFixedSize(SIZE * _DRAWN)  # else what holds it lays it out anew for the grab
        ratio = self.devicePixelRatioF()
        self._image = self.source.grab().scaled(
            (SIZE - _FRAME) * ratio, Qt.AspectRatioMode.KeepAspectRatio,
            Qt.TransformationMode.SmoothTransformation,
        )  # fmt: skip
        self.source.setMinimumSize(least)
        self.source.setMaximumSize(most)
        self._image.setDevicePixelRatio(ratio)
        above = self.source.parentWidget()
        while isinstance(above, QSplitter):  # to the grab it was shown, and was given room
            above.refresh()
            above = above.parentWidget()
        self.update()

    @guarded
    def paintEvent(self, _event: QPaintEvent) -> None:
        theme = theme_for(self.palette())
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(theme.paper))
        if not self._image.isNull():
            size = self._image.deviceIndependentSize()
            painter.drawPixmap(
                QPointF((SIZE.width() - size.width()) / 2, (SIZE.height() - size.height()) / 2),
                self._image,
            )
        painter.setPen(QPen(QColor(theme.accent if self.hasFocus() else theme.line), 1.5))
        painter.drawRect(QRect(QPoint(), SIZE).adjusted(1, 1, -1, -1))
        painter.end()
