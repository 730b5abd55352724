"""How far each page scrolls, and how large the curve is, at the usual sizes of screen.

    python -m tests.studies.window_fit            # as the window is
    python -m tests.studies.window_fit --as before

The window is shown offscreen with the demo, each page in turn, as a first start shows it.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import bobweight.core.judgement.outcome  # noqa: F401  (before Qt)

# isort: split
from PySide6.QtCore import QEventLoop
from PySide6.QtWidgets import QApplication, QScrollArea

from bobweight.app.pages.springs.page import PARTS
from bobweight.app.store.session import Settings
from bobweight.app.window.main_window import MainWindow
from tests.studies.results import section, table

SIZES = ((1280, 680), (1366, 700), (1920, 1040), (2560, 1400))
"""What a window has of a screen, its frame and a taskbar taken off, in logical pixels."""


def settle(window: MainWindow) -> None:
    """Let what is worked out come to its end, and every layout and timer have its turn."""
    ends = time.monotonic() + 60.0
    for _ in range(8):
        while window.feed.decisions.busy and time.monotonic() < ends:
            QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 20)
            time.sleep(0.01)
        QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 20)


def places(window: MainWindow) -> Iterator[tuple[str, str]]:
    """Shows page after page, and every part of Springs: its title and the key of the part."""
    for key, title in window.titles.items():
        window.show_page(key)
        parts = [(part.key, part.title) for part in PARTS] if key == "springs" else [("", "")]
        for part, name in parts:
            yield f"{title}, {name}" if name else title, part


def measured(size: tuple[int, int]) -> list[tuple[str, int, float, int]]:
    """Page, pixels to scroll, screens and height of the curve in pixels."""
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        window = MainWindow(Settings(Path(folder)))
        window.resize(*size)
        window.begin()
        window.show()
        for title, part in places(window):
            settle(window)
            if part:
                window.page("springs").show_part(part)
                settle(window)
            area = window.stack.currentWidget()
            assert isinstance(area, QScrollArea)
            scrolled = area.verticalScrollBar().maximum()
            seen = area.viewport().height()
            curves = window.board.curves
            high = curves.height() if curves.isVisible() else 0
            rows.append((title, scrolled, (scrolled + seen) / seen, high))
        assert (window.width(), window.height()) == size, "the window does not fit"
        window.close()
        window.deleteLater()
        QApplication.processEvents()
    return rows


def main() -> None:
    """Measure, and write the section."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--as", dest="name", default="", help="keep it under this name as well")
    name = asked.parse_args().name
    application = QApplication.instance() or QApplication([])
    found = {size: measured(size) for size in SIZES}
    heads = ["page", *(f"{w} × {h}" for w, h in SIZES)]
    titles = [row[0] for row in found[SIZES[0]]]
    rows: list[list[object]] = []
    for place, title in enumerate(titles):
        cells = [found[size][place] for size in SIZES]
        rows.append([title, *(f"{px} px, {screens:.1f}" for _, px, screens, _ in cells)])
    total = ["all pages", *(f"{sum(row[1] for row in found[size])} px" for size in SIZES)]
    curve = ["curve, pixels high", *(f"{max(row[3] for row in found[s])}" for s in SIZES)]
    key = f"window-fit-{name}" if name else "window-fit"
    with section(key, f"Pixels to scroll, and screens a page {name}".rstrip()) as out:
        out(table(heads, [*rows, total, curve]))
    application.processEvents()


if __name__ == "__main__":
    main()
