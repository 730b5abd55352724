"""Overlaps and clipped words, measured on every page, every part of Springs, every dialog and every
print.

    python -m tests.studies.room                       # every screen, both themes, five dockets
    python -m tests.studies.room --screen "1366 × 768" --pictures FOLDER

Looked at are the widgets as laid out: two that lie over each other without one holding the other,
a label, button or heading whose words need more room than it has, a field narrower than its text,
a table that scrolls sideways or cuts a heading, and anything that sticks out of what holds it; a
dialog that is larger than its screen. Each page is looked at as it opens, and again with every
section of it open; the parts of Springs with a full tray and, for the longest words, with what
they work out. On paper: texts over each other or off the page. ``--pictures`` keeps what was looked
at, for eyes.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import combinations, product
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import bobweight.core.judgement.outcome  # noqa: F401  (before Qt)

# isort: split
from PySide6.QtCore import QEvent, QRect, Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QCheckBox,
    QComboBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QRadioButton,
    QScrollArea,
    QTableView,
    QToolButton,
    QWidget,
)

from bobweight.app.pages.page import Page
from bobweight.app.pages.springs.page import PARTS
from bobweight.app.store.jobs import Runner
from bobweight.app.store.session import Settings
from bobweight.app.widgets.fold import Fold
from bobweight.app.widgets.plain import tip_text
from bobweight.app.widgets.section import Section
from bobweight.app.window.main_window import MainWindow
from bobweight.core.design.tray import TraySpring
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.file import read_docket, write_docket
from bobweight.core.docket.mechanism import Linkage, OwnWeight
from bobweight.core.mechanics.typical import completed
from bobweight.core.record import put
from tests.studies.results import section, table

SCREENS = {
    "1366 × 768": (1366, 768, 1.0, (1350, 692)),
    "1280 × 720 at 1.5": (1280, 720, 1.5, (1280, 680)),
    "1920 × 1080": (1920, 1080, 1.0, (1920, 1040)),
    "2560 × 1440": (2560, 1440, 1.0, (2560, 1400)),
    "3840 × 2160 at 2": (1920, 1080, 2.0, (1920, 1040)),
}
"""By what a system calls them: logical width and height, device pixels per logical one, and what a
window has of it, frame and taskbar taken off."""
THEMES = ("light", "dark")
SAMPLES = Path(__file__).resolve().parents[2] / "sample_curves"
_LONG = "A name as long as they come, of a works number, a customer and his boat by the harbour "
_SLACK_PX = 2
_FRAME_PX = 0, 40
_WORKED_OUT = "longest words"  # where results are waited for: the others cost no time
_PATIENCE_S = 60.0
_QUIET_S = 0.2  # longer than a picture in small is put off


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


def _fullest() -> Docket:
    """A mechanism with links whose weights are not alike: the tables with the most columns."""
    docket = _demo()
    linked = put(docket.mechanism, ("linkage",), Linkage(kind="link", lies="behind"))
    each = (OwnWeight(mass_g=24.25, pivot_radius_mm=17.05), OwnWeight(cg_mm=10.35, link_mm=12.5))
    linked = put(completed(linked).mechanism, ("weights", "each"), each)
    return put(docket, ("mechanism",), linked)


_TRAY = tuple(
    TraySpring(label=_LONG[: 3 + 5 * n], count=1 + n % 2, rate_n_per_mm=2.35 + 1.45 * n,
               free_length_mm=17.25 + 0.35 * n, u={"rate_n_per_mm": 0.05})
    for n in range(7)
)  # fmt: skip


def _first_start(window: MainWindow, _folder: Path) -> None:
    window.begin()


def _kept(make: Callable[[], Docket]) -> Callable[[MainWindow, Path], None]:
    def keep(window: MainWindow, folder: Path) -> None:
        path = folder / "looked_at.docket"
        write_docket(make(), path)
        window.files.open_path(path)

    return keep


KINDS: dict[str, Callable[[MainWindow, Path], None]] = {
    "demo": _kept(_demo),
    "longest words": _kept(_longest),
    "most columns": _kept(_fullest),
    "empty": _kept(new_docket),
    "wrong": _kept(_wrong),
    "first start": _first_start,
}
_BARE = {"empty", "first start"}  # with nothing in the tray


def fill_tray(window: MainWindow, kind: str) -> None:
    """Springs in the tray, and none in a beginner's, whatever was looked at before."""
    tray = window.page("springs").tray
    tray.replace("Fill", put(tray.tray, ("springs",), () if kind in _BARE else _TRAY))


def settle() -> None:
    """Let layouts and timers have their turn, however long they take on a busy machine."""
    for _ in range(8):
        QApplication.processEvents()
        QApplication.sendPostedEvents(None, QEvent.Type.LayoutRequest.value)


def _work_done(window: MainWindow) -> None:
    """Let what is worked out behind the window come to its end."""
    ends = time.monotonic() + _PATIENCE_S
    while time.monotonic() < ends:
        settle()
        jobs = any(runner.busy for runner in window.findChildren(Runner))
        if not window.feed.decisions.busy and not jobs:
            break
        time.sleep(0.01)  # a loop that only looks takes the interpreter from the work
    settle()


Look = Callable[[str, QWidget], None]
"""What is done with each thing looked at, by its name."""


def no_look(_name: str, _widget: QWidget) -> None:
    """Nothing is kept of it."""


def lasting_faults(root: QWidget) -> list[str]:
    """What is still wrong once a result that came just then has been laid out."""
    found = list(faults_in(root))
    if found:
        time.sleep(0.05)
        settle()
        found = list(faults_in(root))
    return found


def faults_of_window(
    window: MainWindow, size: tuple[int, int], look: Look = no_look, wait: bool = True,
    opened: bool = True,
) -> list[str]:  # fmt: skip
    """What is clipped or lies over another on any page, as it opens and with all of it opened."""
    window.resize(*size)
    settle()
    found = []
    if (window.width(), window.height()) != size:
        found.append(f"the window does not fit: {window.width()} × {window.height()}")
    for key in window.titles:
        window.show_page(key)
        for part in _SPRINGS if key == "springs" else [""]:
            if part:
                _show_part(window, part, wait)
            _work_done(window) if wait else settle()
            place = f"{key} {part}".strip()
            look(place, window)
            found += [f"{place}: {fault}" for fault in lasting_faults(window.centralWidget())]
            area = window.stack.currentWidget()
            assert isinstance(area, QScrollArea)
            if not opened:
                continue
            with _all_open(window.page(key)):
                _work_done(window) if wait else settle()
                look(f"{place} whole", area.widget())
                found += [f"{place}, opened: {fault}" for fault in lasting_faults(area.widget())]
                if area.horizontalScrollBar().maximum():
                    found.append(f"{place}: scrolls sideways")
    return list(dict.fromkeys(found))


_SPRINGS = [part.key for part in PARTS] + ["spring hang", "spring dimensions"]
"""The parts of Springs, and the ways in which one spring is known besides typing."""


def _show_part(window: MainWindow, name: str, wait: bool) -> None:
    """A part of Springs, with what it works out where there is time for it."""
    page = window.page("springs")
    key, _, way = name.partition(" ")
    page.show_part(key)
    made = page.part(key)
    ways = getattr(made, "way_buttons", {})  # none while there is no spring
    if way in ways:
        ways[way].click()
    if wait and hasattr(made, "start") and made.start_button.isEnabled():
        made.start_button.click()
        _work_done(window)
        view = getattr(made, "view", None)
        if isinstance(view, QTableView) and view.model().rowCount():
            view.selectRow(0)


@contextmanager
def _all_open(page: Page) -> Iterator[None]:
    """Everything of a page that one opens stands open, however long it becomes."""
    page.sections.held = True
    closed = [s for s in page.findChildren(Section) if not s.is_open]
    folds = [f for f in page.findChildren(Fold) if not f.isChecked()]
    for part in closed:
        part.set_open(True)
    for fold in folds:
        fold.setChecked(True)
    try:
        yield
    finally:
        for fold in folds:
            fold.setChecked(False)
        for part in closed:
            part.set_open(False)
        page.sections.held = False


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


_ARROW_PX = 20  # what a list's arrow and frame take at least


def clipped(widget: QWidget) -> str:
    """Why the words of a widget do not fit it; empty if they do."""
    if isinstance(widget, QLabel) and widget.text() and not widget.pixmap():
        return _clipped_label(widget)
    if isinstance(widget, QPushButton | QRadioButton | QCheckBox | QToolButton) and widget.text():
        return _clipped_button(widget)
    if isinstance(widget, QComboBox) and widget.currentText():
        need = widget.fontMetrics().horizontalAdvance(widget.currentText())
        has = widget.width() - _ARROW_PX
        told = tip_text(widget.currentText()) in widget.toolTip()
        if need > has + _SLACK_PX and not told:
            return f"“{_short(widget.currentText())}” needs {need} px, has {has}"
    if isinstance(widget, QTableView):
        return _clipped_table(widget)
    if isinstance(widget, QLineEdit) and not widget.text() and widget.placeholderText():
        need = widget.fontMetrics().horizontalAdvance(widget.placeholderText())
        if need > widget.contentsRect().width() + _SLACK_PX:
            return f"“{_short(widget.placeholderText())}” needs {need} px of its field"
    return ""


def _clipped_table(view: QTableView) -> str:
    name = view.accessibleName()
    beyond = view.horizontalScrollBar().maximum()
    if beyond > 0:
        return f"the table “{name}” scrolls {beyond} px sideways"
    header = view.horizontalHeader()
    cut = [] if header.isHidden() else [head for head, need, has in _heads(header) if need > has]
    return f"the table “{name}” cuts the headings {', '.join(cut)}" if cut else ""


def _heads(header: QHeaderView) -> Iterator[tuple[str, int, int]]:
    """Each heading, the width of its longest line, and what it has."""
    metrics = header.fontMetrics()
    for column in range(header.count()):
        text = str(header.model().headerData(column, Qt.Orientation.Horizontal) or "")
        need = max((metrics.horizontalAdvance(line) for line in text.split("\n")), default=0)
        if not header.isSectionHidden(column):
            yield text.replace("\n", " "), need, header.sectionSize(column)


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


def looked_at(screen: str, theme: str, kind: str, look: Look = no_look) -> dict[str, list[str]]:
    """The faults of one screen, theme and docket: of the pages, and of the dialogs."""
    from tests.studies.room_dialogs import faults_of_dialogs

    width, height, _, size = SCREENS[screen]
    left = width - _FRAME_PX[0], height - _FRAME_PX[1]
    with tempfile.TemporaryDirectory() as folder:
        settings = Settings(Path(folder))
        settings.theme = theme
        window = MainWindow(settings)
        window.resize(*size)
        KINDS[kind](window, Path(folder))
        fill_tray(window, kind)
        window.show()
        try:
            return {
                "pages": faults_of_window(window, size, look, wait=kind == _WORKED_OUT),
                "dialogs": faults_of_dialogs(window, left, look),
            }
        finally:
            window.files.may_leave = lambda: True  # type: ignore[method-assign]
            window.close()
            window.deleteLater()
            settle()


def _keeper(folder: Path | None, name: str) -> Look:
    """Keeps a picture of each thing looked at, if a folder is named."""
    if folder is None:
        return no_look

    def keep(place: str, widget: QWidget) -> None:
        ends = time.monotonic() + _QUIET_S
        while time.monotonic() < ends:
            settle()
        widget.grab().save(str(folder / f"{name} {place}.png".replace(" ", "_")))

    return keep


def _in_child(screen: str, arguments: list[str]) -> dict[str, dict[str, list[str]]]:
    """All of one screen, in a process that has such a screen."""
    width, height, scale, _ = SCREENS[screen]
    with tempfile.TemporaryDirectory() as folder:
        config = Path(folder) / "screen.json"
        one = {"name": "one", "x": 0, "y": 0, "logicalDpi": 96, "logicalBaseDpi": 96, "dpr": 1.0}
        one |= {"width": round(width * scale), "height": round(height * scale)}
        config.write_text(json.dumps({"screens": [one]}))
        environment = os.environ | {
            "BOBWEIGHT_HOME": str(Path(folder) / "home"),
            "QT_QPA_PLATFORM": f"offscreen:configfile={config}",
            "QT_SCALE_FACTOR": str(scale),
        }
        command = [sys.executable, "-m", "tests.studies.room", "--child", screen, *arguments]
        done = subprocess.run(command, env=environment, stdout=subprocess.PIPE, check=True)
        found: dict[str, dict[str, list[str]]] = {}
        for line in done.stdout.splitlines():
            if line.startswith(b"{"):
                found |= json.loads(line)
        return found


def _child(
    screen: str, themes: list[str], kinds: list[str], folder: Path | None, minutes: float
) -> None:
    """Say what is found, a line a docket and theme, until the time is up."""
    application = QApplication.instance() or QApplication([])
    ends = time.monotonic() + 60.0 * minutes
    for theme, kind in product(themes, kinds):
        if time.monotonic() < ends:
            keep = _keeper(folder, f"{screen} {theme} {kind}")
            faults = looked_at(screen, theme, kind, keep)
            print(json.dumps({f"{theme}, {kind}": faults}), flush=True)
    application.processEvents()


def main() -> None:
    """Measure the grid, and write the section."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--screen", choices=[*SCREENS], help="one screen only")
    asked.add_argument("--child", choices=[*SCREENS], help=argparse.SUPPRESS)
    asked.add_argument("--theme", choices=THEMES, help="one theme only")
    asked.add_argument("--kind", choices=[*KINDS], help="one docket only")
    asked.add_argument("--minutes", type=float, default=1e6, help="begin nothing after, a screen")
    asked.add_argument("--pictures", type=Path, help="keep a picture of all that is looked at")
    given = asked.parse_args()
    themes = [given.theme] if given.theme else list(THEMES)
    kinds = [given.kind] if given.kind else list(KINDS)
    if given.child:
        _child(given.child, themes, kinds, given.pictures, given.minutes)
        return
    arguments = [f"--{name}={value}" for name in ("kind", "minutes", "pictures")
                 if (value := getattr(given, name))]  # fmt: skip
    if given.pictures:
        given.pictures.mkdir(parents=True, exist_ok=True)
    from tests.studies.room_dialogs import faults_of_prints

    _application = QApplication.instance() or QApplication([])
    prints = faults_of_prints(given.pictures)
    rows, said = [], []
    for theme, screen in product(themes, [given.screen] if given.screen else SCREENS):
        found = _in_child(screen, [*arguments, f"--theme={theme}"])
        rows.append([f"{screen}, {theme}", *_cells(found, theme, kinds)])
        for of, faults in found.items():
            said += [f"{screen} {of}: {fault}" for some in faults.values() for fault in some]
        _write(rows, said, prints, kinds)


def _cells(found: dict[str, dict[str, list[str]]], theme: str, kinds: list[str]) -> Iterator[str]:
    for kind in kinds:
        faults = found.get(f"{theme}, {kind}")
        counts = "" if faults is None else " + ".join(str(len(some)) for some in faults.values())
        yield counts or "not measured"


def _write(rows: list[list[str]], said: list[str], prints: list[str], kinds: list[str]) -> None:
    """What is known so far: a run that is ended early has its rows."""
    note = f"Faults on pages and parts + in dialogs. On paper: {len(prints)}."
    with section("room", "Overlaps and clipped words", note=note) as out:
        out(table(["screen", *kinds], rows))
        for line in [*said, *prints][:80]:
            out(f"- {line}")


if __name__ == "__main__":
    main()
