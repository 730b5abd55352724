"""A printed page on the screen: the same description, painted at the screen's resolution."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QRect, QSize, Qt, QTimer, Signal
from PySide6.QtGui import (
    QColor,
    QImage,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QShowEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QFrame, QScrollArea, QSizePolicy, QWidget

from bobweight.app.guard import guarded
from bobweight.app.paper.output import page_image
from bobweight.app.paper.painter import MM_PER_INCH
from bobweight.core.sheet.description import Description, PaperPage

WAIT_MS = 80  # a drag on the board goes on undisturbed; the sheet follows when the hand rests
ZOOMS = (1.0, 4.0)
STEP = 1.25
_MOST_DPI = 450.0
_EDGE_PX = 1
_GAP_PX = 10  # between pages


class _PaperSheet(QWidget):
    """The paper itself, as wide as its parent says, page below page."""

    def __init__(self) -> None:
        super().__init__()
        self.description: Description | None = None
        self._images: dict[int, QImage] = {}

    def show_description(self, description: Description) -> None:
        self.description = description
        self._images = {}
        self.update()

    def height_for(self, width: int) -> int:
        """The height of all pages at a width."""
        return self._page_px(width) * len(self._pages) + _GAP_PX * (len(self._pages) - 1)

    @property
    def _pages(self) -> tuple[PaperPage, ...]:
        return self.description.pages if self.description is not None else ()

    def _page_px(self, width: int) -> int:
        page = self._pages[0]
        return round(width * page.height_mm / page.width_mm)

    @guarded
    def paintEvent(self, event: QPaintEvent) -> None:
        if self.description is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        tall = self._page_px(self.width())
        for number, page in enumerate(self._pages):
            whole = QRect(0, number * (tall + _GAP_PX), self.width(), tall)
            if not whole.intersects(event.rect()):
                continue  # painted when it is scrolled to
            inner = whole.adjusted(_EDGE_PX, _EDGE_PX, -_EDGE_PX, -_EDGE_PX)
            painter.drawImage(inner, self._image(number, page, inner.width()))
            painter.setPen(QPen(QColor("#808080"), _EDGE_PX))
            painter.drawRect(whole.adjusted(0, 0, -1, -1))

    def _image(self, number: int, page: PaperPage, inner_px: int) -> QImage:
        dpi = min(inner_px * self.devicePixelRatioF() * MM_PER_INCH / page.width_mm, _MOST_DPI)
        wide = round(page.width_mm * dpi / MM_PER_INCH)
        image = self._images.get(number)
        if image is None or image.width() != wide:
            image = self._images[number] = page_image(page, dpi)
        return image


class Preview(QScrollArea):
    """Shows what ``describe`` says, fitted to the width or magnified.

    Ctrl with the wheel, or the keys + − 0, change the magnification.

    Signals
    -------
    zoomed(float)
        The magnification, 1 when the page is as wide as the preview.
    """

    zoomed = Signal(float)

    def __init__(self, describe: Callable[[], Description]) -> None:
        super().__init__()
        self._describe = describe
        self._zoom = 1.0
        self._stale = True
        self._sheet = _PaperSheet()
        self.setWidget(self._sheet)
        self.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(240, 320)
        self._timer = QTimer(self, singleShot=True, interval=WAIT_MS)
        self._timer.timeout.connect(self._take)

    @property
    def description(self) -> Description | None:
        """What is shown; None before it was first seen."""
        return self._sheet.description

    @property
    def zoom(self) -> float:
        """Magnification; 1 fits the width."""
        return self._zoom

    @zoom.setter
    def zoom(self, zoom: float) -> None:
        zoom = min(max(zoom, ZOOMS[0]), ZOOMS[1])
        if zoom != self._zoom:
            self._zoom = zoom
            self._fit()
            self.zoomed.emit(zoom)

    def zoom_in(self) -> None:
        """A step larger."""
        self.zoom *= STEP

    def zoom_out(self) -> None:
        """A step smaller, at least as wide as the preview."""
        self.zoom /= STEP

    def fit_width(self) -> None:
        """As wide as the preview."""
        self.zoom = 1.0

    def follow(self, at_once: bool = False) -> None:
        """What is described has changed: show it when the changes pause, if anybody looks."""
        self._stale = True
        if not self.isVisible():
            return
        if at_once:
            self._take()
        else:
            self._timer.start()

    def stop(self) -> None:
        """Follow no more."""
        self._timer.stop()

    def _take(self) -> None:
        self._timer.stop()
        self._stale = False
        self._sheet.show_description(self._describe())
        self._fit()

    def _fit(self) -> None:
        description = self._sheet.description
        if description is None:
            return
        bar = self.verticalScrollBar().sizeHint().width()  # room for it, or it would come and go
        width = max(round((self.contentsRect().width() - bar) * self._zoom), 1)
        self._sheet.resize(QSize(width, self._sheet.height_for(width)))

    @guarded
    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._stale:
            self._take()

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    @guarded
    def wheelEvent(self, event: QWheelEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            if event.angleDelta().y() > 0:
                self.zoom_in()
            elif event.angleDelta().y() < 0:
                self.zoom_out()
            event.accept()
        else:
            super().wheelEvent(event)

    @guarded
    def keyPressEvent(self, event: QKeyEvent) -> None:
        acts: dict[int, Callable[[], None]] = {
            Qt.Key.Key_Plus: self.zoom_in,
            Qt.Key.Key_Minus: self.zoom_out,
            Qt.Key.Key_0: self.fit_width,
        }
        act = acts.get(event.key())
        if act is None:
            super().keyPressEvent(event)
        else:
            act()
