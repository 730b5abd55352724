"""What a hand expects of any window: full screen, size of type, finding a field, copying the
curve, preferences."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QMimeData, QObject, QSize
from PySide6.QtGui import QGuiApplication, QPainter, QStandardItemModel
from PySide6.QtWidgets import QGraphicsView

from bobweight.app.messages import sentence
from bobweight.app.store.images import byte_buffer
from bobweight.app.theme import ZOOMS
from bobweight.app.words import translate
from bobweight.core.problems import BobweightError

if TYPE_CHECKING:
    from bobweight.app.window.finder import Finder
    from bobweight.app.window.main_window import MainWindow
    from bobweight.app.window.preferences import Preferences


class Habits(QObject):
    """Acts of the window that are not of the docket."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window

    def full_screen(self) -> None:
        """Fill the screen, or go back to a window."""
        window = self._window
        window.showNormal() if window.isFullScreen() else window.showFullScreen()

    # Size of type

    def larger(self) -> None:
        """Larger type."""
        self._step_zoom(1)

    def smaller(self) -> None:
        """Smaller type."""
        self._step_zoom(-1)

    def usual(self) -> None:
        """Type of the system's size."""
        self._window.set_zoom(100)

    def _step_zoom(self, step: int) -> None:
        place = ZOOMS.index(self._window.settings.zoom) + step
        self._window.set_zoom(ZOOMS[min(max(place, 0), len(ZOOMS) - 1)])

    # Finding and setting

    def find(self) -> Finder:
        """Ask for part of a field's name."""
        from bobweight.app.window.finder import Finder

        finder = Finder(self._window.store.docket, self._window)
        finder.found.connect(self._window.open_path_on_page)
        finder.open()
        finder.edit.setFocus()
        return finder

    def preferences(self) -> Preferences:
        """Open what one sets once."""
        from bobweight.app.window.preferences import Preferences

        window = self._window
        dialog = Preferences(
            window.settings,
            window.display,
            window.set_theme,
            window.set_zoom,
            window.set_contrast,
            window,
        )
        dialog.open()
        return dialog

    # Copying the curve

    def copy_picture(self) -> None:
        """Put the curve on the clipboard as a picture and as vectors."""
        curves = self._window.board.curves
        data = _mime_data()
        data.setImageData(curves.grab().toImage())
        data.setData("image/svg+xml", vectors_of(curves))
        self._copied(data)

    def copy_vectors(self) -> None:
        """Put the curve on the clipboard as a drawing of vectors, its source as text."""
        svg = vectors_of(self._window.board.curves)
        data = _mime_data()
        data.setData("image/svg+xml", svg)
        data.setText(bytes(svg.data()).decode())
        self._copied(data)

    def copy_table(self) -> None:
        """Put the predicted curve on the clipboard as rows for a spreadsheet."""
        from bobweight.core.tables.export import table_rows

        window = self._window
        docket = window.store.docket
        try:
            rows = table_rows(docket, "curve", window.display.session_index(docket))
        except BobweightError as error:
            window.notices.say(sentence(error.problem, docket, window.display), topic="copied")
            return
        data = _mime_data()
        data.setText("\n".join("\t".join(map(_cell, row)) for row in rows))
        self._copied(data)

    def _copied(self, data: QMimeData) -> None:
        QGuiApplication.clipboard().setMimeData(data)
        said = translate("window", "The curve is on the clipboard.")
        self._window.notices.say(said, kind="plain", topic="copied")


def _mime_data() -> QMimeData:
    """Empty data for the clipboard, made by Qt itself: the clipboard outlives Python, and data made
    here would call into it at its end (PySide 6.11)."""
    model = QStandardItemModel(1, 1)
    data = model.mimeData([model.index(0, 0)])
    data.clear()
    return data


def _cell(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.6g}"
    return "" if value is None else str(value)


def vectors_of(view: QGraphicsView) -> QByteArray:
    """A view's picture as SVG."""
    from PySide6.QtSvg import QSvgGenerator

    data, buffer = byte_buffer()
    generator = QSvgGenerator()
    generator.setOutputDevice(buffer)
    generator.setSize(QSize(view.size()))
    generator.setViewBox(view.rect())
    generator.setTitle(translate("window", "Advance curve"))
    painter = QPainter(generator)
    try:
        view.render(painter)
    finally:  # a painter that outlives its generator ends the process
        painter.end()
        buffer.close()
    return data


def dropped_docket(data: QMimeData) -> Path | None:
    """The docket among what is dragged; None if there is none on this machine."""
    paths = [Path(url.toLocalFile()) for url in data.urls() if url.isLocalFile()]
    return next((path for path in paths if path.suffix.lower() == ".docket"), None)
