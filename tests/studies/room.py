"""Overlaps and clipped words, measured on every page of the window.

    python -m tests.studies.room            # every size, both themes, four dockets
    python -m tests.studies.room --size 1350x692

Looked at are the widgets as laid out: two that lie over each other without one holding the other,
a label, button or heading whose words need more room than it has, a field narrower than its text,
and anything that sticks out of what holds it.
"""

from __future__ import annotations

import argparse
import os
import tempfile
from collections.abc import Callable, Iterator
from itertools import combinations
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import bobweight.core.judgement.outcome  # noqa: F401  (before Qt)

# isort: split
from PySide6.QtCore import QEventLoop, QRect, Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QCheckBox,
    QLabel,
    QPushButton,
    QRadioButton,
    QScrollArea,
    QToolButton,
    QWidget,
)

from bobweight.app.pages.springs.page import PARTS
from bobweight.app.store.session import Settings
from bobweight.app.window.main_window import MainWindow
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.file import read_docket, write_docket
from bobweight.core.record import put
from tests.studies.results import section, table

SIZES = ((1280, 680), (1350, 692), (1920, 1040), (2560, 1400), (3840, 2120))
SAMPLES = Path(__file__).resolve().parents[2] / "sample_curves"
_LONG = "A name as long as they come, of a works number, a customer and his boat by the harbour "
_SLACK_PX = 2


def _demo() -> Docket:
    return read_docket(SAMPLES / "weak_primary.docket")


def _wrong() -> Docket:
    """Figures that are wanting, and a pivot where none can be."""
    docket = _demo()
    docket = put(docket, ("mechanism", "weights", "mass_g"), None)
    docket = put(docket, ("mechanism", "springs", 0, "rate_n_per_mm"), None)
    docket = put(docket, ("mechanism", "weights", "pivot_radius_mm"), 1.0)
    return put(docket, ("sessions", 0, "readings", 3, "speed_rpm"), None)


def _longest() -> Docket:
    """The longest words in every plain text of the particulars, and in the session's title."""
    docket = _demo()
    for key in ("title", "fitted_to", "owner", "restorer", "notes"):
        docket = put(docket, ("particulars", key), (_LONG * 3)[:120])
    return put(docket, ("sessions", 0, "title"), _LONG[:80])


def _kept(make: Callable[[], Docket]) -> Callable[[Path], Path]:
    def keep(folder: Path) -> Path:
        path = folder / "looked_at.docket"
        write_docket(make(), path)
        return path

    return keep


KINDS: dict[str, Callable[[Path], Path]] = {
    "demo": _kept(_demo),
    "empty": _kept(new_docket),
    "wrong": _kept(_wrong),
    "longest words": _kept(_longest),
}


def settle() -> None:
    """Let layouts and timers have their turn."""
    for _ in range(4):
        QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 10)


def faults_of_window(window: MainWindow, path: Path, size: tuple[int, int]) -> list[str]:
    """What is clipped or lies over another on any page, in words."""
    window.files.open_path(path)
    window.resize(*size)
    settle()
    found = []
    if (window.width(), window.height()) != size:
        found.append(f"the window does not fit: {window.width()} × {window.height()}")
    for key in window.titles:
        window.show_page(key)
        for part in [part.key for part in PARTS] if key == "springs" else [""]:
            if part:
                window.page("springs").show_part(part)
            settle()
            place = f"{key} {part}".strip()
            found += [f"{place}: {fault}" for fault in faults_in(window.centralWidget())]
            area = window.stack.currentWidget()
            if isinstance(area, QScrollArea) and area.horizontalScrollBar().maximum():
                found.append(f"{place}: scrolls sideways")
    return list(dict.fromkeys(found))


def faults_in(root: QWidget) -> Iterator[str]:
    """What is clipped or overlaps inside a widget."""
    for widget in (root, *root.findChildren(QWidget)):
        if not widget.isVisible() or widget.width() < 1 or widget.window() is not root.window():
            continue
        fault = clipped(widget)
        if fault:
            yield fault
        for one, other in combinations(_laid_out(widget), 2):
            shared = one.geometry().intersected(other.geometry())
            if shared.width() > _SLACK_PX and shared.height() > _SLACK_PX:
                yield f"{_name(one)} lies over {_name(other)}"


def _laid_out(parent: QWidget) -> list[QWidget]:
    layout = parent.layout()
    if layout is None:
        return []
    there = parent.findChildren(QWidget, options=Qt.FindChildOption.FindDirectChildrenOnly)
    return [w for w in there if w.isVisible() and layout.indexOf(w) >= 0]


def clipped(widget: QWidget) -> str:
    """Why the words of a widget do not fit it; empty if they do."""
    if isinstance(widget, QLabel) and widget.text() and not widget.pixmap():
        return _clipped_label(widget)
    if isinstance(widget, QPushButton | QRadioButton | QCheckBox | QToolButton) and widget.text():
        return _clipped_button(widget)
    return ""


def _clipped_label(label: QLabel) -> str:
    inner = label.contentsRect()
    if label.wordWrap():
        need = label.heightForWidth(label.width())
        if need > label.height() + _SLACK_PX:
            return f"“{_short(label.text())}” needs {need} px of height, has {label.height()}"
        return ""
    need = label.sizeHint().width()
    if need > label.width() + _SLACK_PX and label.textFormat() != Qt.TextFormat.RichText:
        return f"“{_short(label.text())}” needs {need} px, has {inner.width()}"
    return ""


def _clipped_button(button: QAbstractButton) -> str:
    words = button.fontMetrics().size(Qt.TextFlag.TextShowMnemonic, button.text()).width()
    if words > button.contentsRect().width() + _SLACK_PX:
        return f"“{_short(button.text())}” needs {words} px, has {button.contentsRect().width()}"
    return ""


def _short(text: str) -> str:
    return text if len(text) < 48 else text[:45] + "…"


def _name(widget: QWidget) -> str:
    text = getattr(widget, "text", None)
    words = _short(text()) if callable(text) else widget.accessibleName()
    rect: QRect = widget.geometry()
    return f"{type(widget).__name__} “{words}” ({rect.x()}, {rect.y()})"


def looked_at(size: tuple[int, int], theme: str, kind: str) -> list[str]:
    """The faults of one size, theme and docket."""
    with tempfile.TemporaryDirectory() as folder:
        settings = Settings(Path(folder))
        settings.theme = theme
        window = MainWindow(settings)
        window.resize(*size)
        window.show()
        try:
            return faults_of_window(window, KINDS[kind](Path(folder)), size)
        finally:
            window.close()
            window.deleteLater()
            settle()


def main() -> None:
    """Measure the grid, and write the section."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--size", default="", help="one size only, such as 1350x692")
    size = asked.parse_args().size
    sizes = [tuple(map(int, size.split("x")))] if size else SIZES
    application = QApplication.instance() or QApplication([])
    rows, said = [], []
    for one in sizes:
        for theme in ("light", "dark"):
            counts = []
            for kind in KINDS:
                faults = looked_at((one[0], one[1]), theme, kind)
                counts.append(len(faults))
                said += [f"{one[0]} × {one[1]} {theme} {kind}: {fault}" for fault in faults]
            rows.append([f"{one[0]} × {one[1]}, {theme}", *counts])
    with section("room", "Overlaps and clipped words: faults found on all pages") as out:
        out(table(["window", *KINDS], rows))
        for line in said[:60]:
            out(f"- {line}")
    application.processEvents()


if __name__ == "__main__":
    main()
