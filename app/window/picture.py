"""The real window as an image, painted in memory: for documentation and for eyes."""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QEventLoop, QPoint, QSize
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QWidget

from bobweight.app.store.images import image_bytes
from bobweight.core.docket.file import write_atomically
from bobweight.core.problems import BobweightError

_PATIENCE_S = 10.0
_WORK_PATIENCE_S = 60.0  # for what is worked out behind the window
_QUIET_S = 0.15  # longer than any redraw is put off
_PAUSE_S = 0.005


def take(
    docket_path: str | os.PathLike[str], page: str, size: tuple[int, int], scale: float,
    theme: str, out: str | os.PathLike[str], frame: str = "",
) -> None:  # fmt: skip
    """Save the window, showing a page of a docket, as a PNG file.

    The user's settings, recent files and journal are not touched.

    Parameters
    ----------
    page : str
        Key of the page.
    size : (int, int)
        Width and height of the window in logical pixels.
    scale : float
        Device pixels per logical pixel.
    theme : {'light', 'dark'}
    frame : str
        One of :data:`core.figure.view.FRAMES`; empty for that of the docket’s table.

    Raises
    ------
    BobweightError
        ``unknown-page``, ``cannot-paint``, and those of reading and writing the files.
    """
    from bobweight.app.pages import PAGES
    from bobweight.app.store.session import Settings
    from bobweight.app.window.main_window import MainWindow

    keys = [known.key for known in PAGES]
    if page not in keys:
        raise BobweightError("unknown-page", (), value=page, known=", ".join(keys))
    with tempfile.TemporaryDirectory(prefix="bobweight-") as folder:
        settings = Settings(Path(folder))
        settings.theme = theme
        window = MainWindow(settings)
        try:
            window.stack.load_all()
            window.begin(Path(docket_path))
            window.display.frame = frame
            window.show_page(page)
            window.resize(QSize(*size))
            window.show()
            decisions = window.feed.decisions
            _until(
                lambda: decisions.current is not None or decisions.failure is not None,
                _WORK_PATIENCE_S,
            )
            data = png_of(window, scale)
        finally:
            window.close()
            window.deleteLater()
            QApplication.processEvents()
    write_atomically(out, data)


def png_of(widget: QWidget, scale: float = 1.0) -> bytes:
    """A shown widget as PNG data, once it has stopped changing.

    Raises
    ------
    BobweightError
        ``cannot-paint`` if there is no memory for the image.
    """
    _until(widget.isVisible)
    image, quiet_since = _painted(widget, scale), time.monotonic()
    ends = quiet_since + _PATIENCE_S
    while time.monotonic() < min(quiet_since + _QUIET_S, ends):
        _turn()
        again = _painted(widget, scale)
        if again != image:
            image, quiet_since = again, time.monotonic()
    return image_bytes(image)


def _painted(widget: QWidget, scale: float) -> QImage:
    image = QImage(widget.size() * scale, QImage.Format.Format_RGB32)
    if image.isNull():
        raise BobweightError("cannot-paint")
    image.setDevicePixelRatio(scale)
    image.fill(0)
    widget.render(image, QPoint())
    return image


def _until(done: Callable[[], bool], patience_s: float = _PATIENCE_S) -> None:
    ends = time.monotonic() + patience_s
    while not done() and time.monotonic() < ends:
        _turn()


def _turn() -> None:
    """One turn of the loop, and the interpreter left to the work behind the window."""
    QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 20)
    time.sleep(_PAUSE_S)
