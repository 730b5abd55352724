"""Contrast of words, lines and frames, and the size of whatever is pressed.

    python -m tests.studies.legibility

Colours of the themes are paired as ``tests/app/test_contrast.py`` pairs them; frames of fields,
lists, buttons and boxes are measured in pixels as the style draws them. A target is whatever takes
a click of its own: 32 px high and wide at least, 44 px in the timing-light session; links
that stand in a sentence are not counted.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import bobweight.core.judgement.outcome  # noqa: F401  (before Qt)

# isort: split
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QCheckBox,
    QComboBox,
    QLineEdit,
    QPushButton,
    QRadioButton,
    QTabBar,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.store.session import Settings
from bobweight.app.theme import DARK, HIGH, LIGHT, apply_theme
from bobweight.app.window.main_window import MainWindow
from tests.app.test_contrast import LINES, WORDS, contrast, line_pairs, word_pairs
from tests.studies import room
from tests.studies.results import section, table

LEAST_PX, LEAST_TIMING_PX = 32, 44
THEMES = {
    ("light", "usual"): LIGHT, ("dark", "usual"): DARK,
    ("light", "high"): HIGH["light"], ("dark", "high"): HIGH["dark"],
}  # fmt: skip
FRAMED = {
    "field": QLineEdit, "list": QComboBox, "button": QPushButton, "check box": QCheckBox,
    "radio button": QRadioButton,
}  # fmt: skip


def frames(theme: str, high: str) -> dict[str, float]:
    """Contrast of each frame with the ground beside it, as drawn."""
    apply_theme(QApplication.instance(), theme, 100, high)
    holder = QWidget()
    column = QVBoxLayout(holder)
    made = {name: kind() for name, kind in FRAMED.items()}
    for widget in made.values():
        column.addWidget(widget)
    holder.setFocus()
    holder.resize(300, 300)
    holder.show()
    room.settle()
    image = holder.grab().toImage()
    found = {name: frame_contrast(image, widget) for name, widget in made.items()}
    holder.close()
    holder.deleteLater()
    room.settle()
    return found


def frame_contrast(image: QImage, widget: QWidget) -> float:
    """The strongest line met on the way from outside a widget's left edge into it, against the
    ground outside."""
    box, y = widget.geometry(), widget.geometry().center().y()
    ground = image.pixelColor(max(box.left() - 4, 0), y).name()
    inwards = [image.pixelColor(x, y) for x in range(box.left() - 1, box.left() + 8)]
    return max(contrast(ground, QColor(colour).name()) for colour in inwards)


def targets(root: QWidget) -> Iterator[tuple[str, int, int]]:
    """Name, width and height of whatever inside takes a click of its own."""
    for widget in root.findChildren(QWidget):
        if not widget.isVisible() or not widget.isEnabled():
            continue
        if isinstance(widget, QTabBar):
            for number in range(widget.count()):
                size = widget.tabRect(number).size()
                yield widget.tabText(number), size.width(), size.height()
        if not isinstance(widget, QAbstractButton | QComboBox | QLineEdit):
            continue
        inside = widget.parentWidget()
        if isinstance(inside, QComboBox | QTabBar | QLineEdit):
            continue
        text = getattr(widget, "text", str)()
        yield widget.accessibleName() or text or type(widget).__name__, *_size(widget)


def _size(widget: QWidget) -> tuple[int, int]:
    return widget.width(), widget.height()


def small(root: QWidget, least: int) -> tuple[int, list[str]]:
    """How many targets there are, and those that are too small."""
    found = list(targets(root))
    said = [f"“{room._short(n)}” {w} × {h}" for n, w, h in found if min(w, h) < least]
    return len(found), list(dict.fromkeys(said))


def places() -> Iterator[tuple[str, QWidget, int]]:
    """Pages, parts and dialogs of the demo, and the timing-light session."""
    from tests.studies.room_dialogs import _dialogs

    with tempfile.TemporaryDirectory() as folder:
        window = MainWindow(Settings(Path(folder)))
        window.resize(1350, 692)
        room.KINDS["demo"](window, Path(folder))
        window.show()
        room._work_done(window)
        for key, title in window.titles.items():
            window.show_page(key)
            for part in room.PARTS if key == "springs" else [None]:
                if part is not None:
                    window.page("springs").show_part(part.key)
                room._work_done(window)
                yield title if part is None else f"{title}, {part.title}", window, LEAST_PX
        for name, dialog in _dialogs(window):
            room.settle()
            timing = name.startswith("timing")
            yield name, window.timing if timing else dialog, LEAST_TIMING_PX if timing else LEAST_PX
            if dialog is not window:
                dialog.close()
            room.settle()
        window.files.may_leave = lambda: True
        window.close()
        window.deleteLater()
        room.settle()


def main() -> None:
    """Measure, and write the section."""
    application = QApplication.instance() or QApplication([])
    rows, said = [], []
    for (name, high), theme in THEMES.items():
        cells: list[object] = [f"{name}, {high} contrast"]
        for pairs, least in ((word_pairs(), WORDS), (line_pairs(), LINES)):
            found = {p: contrast(getattr(theme, p[0]), getattr(theme, p[1])) for p in pairs}
            lowest = min(found, key=lambda p: found[p])
            below = sum(value < least for value in found.values())
            cells.append(f"{found[lowest]:.2f} ({lowest[0]} on {lowest[1]}); {below} below {least}")
        cells += [f"{value:.2f}" for value in frames(name, high).values()]
        rows.append(cells)
    sizes = []
    for name, root, least in places():
        count, too_small = small(root, least)
        sizes.append([name, count, least, len(too_small)])
        said += [f"{name}: {one}" for one in too_small]
    with section("legibility", "Contrast, and the size of what is pressed") as out:
        out(
            table(
                ["theme", "words, lowest", "lines, lowest", *(f"{n}'s frame" for n in FRAMED)], rows
            )
        )
        out()
        out(table(["place", "targets", "at least, px", "smaller"], sizes))
        for line in said[:60]:
            out(f"- {line}")
    application.processEvents()


if __name__ == "__main__":
    main()
