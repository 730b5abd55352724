"""Random hands on the real window: keys, text, clicks, drags, wheel, sizes, themes, pages, menus.

The events are drawn from a seed beforehand and hang on nothing in the window (a place is a share of
its width and height), so that any part of them can be played again alone: that is how a failure is
shrunk.
"""

from __future__ import annotations

import gc
import random
import resource
import shutil
import time
import traceback
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt, QTimer, qInstallMessageHandler
from PySide6.QtGui import QAction, QDrag, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QFileDialog, QMessageBox, QWidget

from bobweight.app import guard
from bobweight.app.widgets.dialogs import Dialogs
from bobweight.app.window.main_window import MainWindow
from bobweight.core.problems import BobweightError
from tests.samples import FOLDER

Event = list[Any]
KEYS = (
    "Tab", "Return", "Escape", "Up", "Down", "Left", "Right", "Home", "End", "PageUp", "PageDown",
    "Delete", "Backspace", "Space", "F2", "F6", "Insert", "A", "Z", "Y", "C", "V", "X", "Plus",
)  # fmt: skip
TEXTS = (
    "0", "1", "12,5", "-3", "1e9", "0.0001", "5 %", "12 inHg", "0.35 in", "x", "é", "𝄞", "\u202e",
    "<img src=/dev/zero>", "=1+1", "3;4;5\n", "999999999999", "nan", "inf", "±", " ", "0x10", "1/3",
)  # fmt: skip
_IGNORED = ("propagateSizeHints", "This plugin does not support", "This plugin supports grabbing")
_SHARES = {
    "key": 22, "text": 14, "click": 24, "double": 4, "drag": 8, "wheel": 6, "resize": 2, "page": 6,
    "theme": 1, "font": 0.5, "undo": 4, "redo": 3, "action": 4, "rest": 2, "open": 1, "collect": 1,
}  # fmt: skip


def draw(seed: int, count: int) -> list[Event]:
    """Events, the same for the same seed."""
    rng = random.Random(seed)
    kinds, weights = list(_SHARES), list(_SHARES.values())
    return [_draw_one(rng, rng.choices(kinds, weights)[0]) for _ in range(count)]


def _draw_one(rng: random.Random, kind: str) -> Event:
    place = [round(rng.random(), 3), round(rng.random(), 3)]
    if kind == "key":
        modifiers = rng.choices(["", "Ctrl", "Shift", "Ctrl+Shift", "Alt"], [10, 3, 3, 1, 0.5])[0]
        return [kind, rng.choice(KEYS), modifiers]
    if kind == "text":
        return [kind, rng.choice(TEXTS)]
    if kind == "drag":
        return [kind, *place, round(rng.uniform(-0.2, 0.2), 3), round(rng.uniform(-0.2, 0.2), 3)]
    if kind == "wheel":
        return [kind, *place, rng.choice([-480, -120, 120, 480])]
    if kind == "click":
        return [kind, *place, rng.choices(["Left", "Right"], [9, 1])[0]]
    if kind == "double":
        return [kind, *place]
    if kind == "resize":
        return [kind, rng.randrange(200, 2200), rng.randrange(150, 1300)]
    return [kind, rng.randrange(10_000)]


def copies_of_samples(folder: Path) -> list[Path]:
    """The samples, where saving them harms nobody."""
    place = folder / "samples"
    place.mkdir(parents=True, exist_ok=True)
    return [Path(shutil.copy(path, place)) for path in sorted(FOLDER.glob("*.docket"))]


class Answering(Dialogs):
    """Answers every question at once, now so, now otherwise."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.count = folder, 0
        self.samples = copies_of_samples(folder)

    def _next(self) -> int:
        self.count += 1
        return self.count

    def open_docket(self, parent, folder):
        return self.samples[self._next() % len(self.samples)]

    def save_docket(self, parent, suggestion):
        return self.folder / f"saved {self._next() % 5}.docket"

    def open_table(self, parent, title, folder):
        path = self.folder / "table.csv"
        path.write_text("speed,angle\n1000,5\n2000,x\n3000,15\n", "utf-8")
        return path

    def save_table(self, parent, title, suggestion):
        return self.folder / f"table {self._next() % 3}.csv"

    def unsaved(self, parent, title):
        return "save" if self._next() % 3 == 0 else "discard"

    def overwrite(self, parent, path):
        return self._next() % 2 == 0

    def refused(self, parent, words):
        return True

    def about(self, parent, title, text):
        return None


class Monkey:
    """Plays events on a window and collects what must not be.

    Attributes
    ----------
    wrong : list of str
        Exceptions that the guard was told of, and messages of Qt.
    """

    def __init__(self, window: MainWindow, folder: Path) -> None:
        self.window, self.folder = window, folder
        self.wrong: list[str] = []
        self.at = -1
        self._since = 0.0
        self._loosen = QTimer()
        self._loosen.setInterval(100)
        self._loosen.timeout.connect(self._let_go)

    def __enter__(self) -> Monkey:
        guard.listen(self._hear)
        self._handler = qInstallMessageHandler(self._qt_says)
        self._kept = {}
        for name in ("getOpenFileName", "getSaveFileName", "getOpenFileNames"):
            self._kept[name] = getattr(QFileDialog, name)
        picture, out = self.folder / "picture.png", self.folder / "out.pdf"
        shutil.copy(FOLDER.parent / "app" / "icons" / "tick-dark.svg", picture)
        QFileDialog.getOpenFileName = staticmethod(lambda *_a, **_k: (str(picture), ""))
        QFileDialog.getOpenFileNames = staticmethod(lambda *_a, **_k: ([str(picture)], ""))
        QFileDialog.getSaveFileName = staticmethod(lambda *_a, **_k: (str(out), ""))
        self._loosen.start()
        return self

    def __exit__(self, *_error: object) -> None:
        self._loosen.stop()
        guard.unlisten(self._hear)
        qInstallMessageHandler(self._handler)
        for name, function in self._kept.items():
            setattr(QFileDialog, name, function)

    def _hear(self, error: BaseException, where: str) -> None:
        if not isinstance(error, BobweightError):
            lines = "".join(traceback.format_exception(error)[-6:])
            self.wrong.append(f"event {self.at}: {where}: {lines}")

    def _qt_says(self, _kind: object, _context: object, text: str) -> None:
        if not any(each in text for each in _IGNORED):
            self.wrong.append(f"event {self.at}: Qt: {text}")

    def _let_go(self) -> None:
        """Close what waits for an answer while an event is being played."""
        dragging = QApplication.platformName() == "xcb"  # elsewhere no drag waits
        if dragging and time.monotonic() - self._since > 1.0:
            QDrag.cancel()  # a text dragged waits for the release of a real button
        popup = QApplication.activePopupWidget()
        if popup is not None and time.monotonic() - self._since > 0.3:
            popup.close()
        box = QApplication.activeModalWidget()
        late = 3.0 if isinstance(box, QDialog) and not isinstance(box, QMessageBox) else 0.3
        if box is not None and time.monotonic() - self._since > late:
            box.close()

    def play(self, events: Sequence[Event], told: Callable[[int], None] | None = None) -> list[str]:
        """Play the events; what went wrong, until the first that did."""
        for number, event in enumerate(events):
            self.at, self._since = number, time.monotonic()
            if told is not None:
                told(number)
            try:
                getattr(self, f"_{event[0]}")(*event[1:])
                QApplication.processEvents()
            except RuntimeError:
                pass  # the widget under the hand went as it was pressed: a slot's own errors do
                # not come this way
            except Exception as error:
                self._hear(error, f"event {event}")
            if number % 25 == 24:  # dialogs that wait beside the window are left now and then
                for box in self.window.findChildren(QDialog):
                    if box.isVisible() and number % 100 == 99:
                        box.close()
            if self.wrong:
                break
        return self.wrong

    def undo_and_redo_all(self) -> list[str]:
        """Undo to the bottom, redo to the top: the same docket, and down again."""
        store = self.window.store
        self.window.commit()
        stack = store.undo_stack
        while stack.canRedo():  # what was undone last stands above
            stack.redo()
        top = store.docket
        while stack.canUndo():
            stack.undo()
        bottom = store.docket
        while stack.canRedo():
            stack.redo()
        if store.docket != top:
            self.wrong.append("redo to the top gives another docket")
        while stack.canUndo():
            stack.undo()
        if store.docket != bottom:
            self.wrong.append("undo to the bottom gives another docket")
        return self.wrong

    # What a hand does -------------------------------------------------------------------------

    def _target(self) -> QWidget:
        return QApplication.activePopupWidget() or QApplication.activeModalWidget() or self.window

    def _at(self, x: float, y: float) -> tuple[QWidget, QPoint]:
        """The widget at a place of the window in front, and the place in it."""
        target = self._target()
        place = QPoint(int(x * max(target.width() - 1, 1)), int(y * max(target.height() - 1, 1)))
        child = target.childAt(place) or target
        return child, child.mapFrom(target, place) if child is not target else place

    def _key(self, key: str, modifiers: str) -> None:
        held = Qt.KeyboardModifier.NoModifier
        for name, flag in (
            ("Ctrl", Qt.KeyboardModifier.ControlModifier),
            ("Shift", Qt.KeyboardModifier.ShiftModifier),
            ("Alt", Qt.KeyboardModifier.AltModifier),
        ):
            if name in modifiers:
                held |= flag
        QTest.keyClick(QApplication.focusWidget() or self._target(), Qt.Key["Key_" + key], held)

    def _text(self, text: str) -> None:
        target = QApplication.focusWidget() or self._target()
        for sign in text:
            QTest.sendKeyEvent(QTest.KeyAction.Click, target, Qt.Key.Key_unknown, sign,
                               Qt.KeyboardModifier.NoModifier)  # fmt: skip

    def _click(self, x: float, y: float, button: str) -> None:
        child, place = self._at(x, y)
        QTest.mouseClick(child, Qt.MouseButton[button + "Button"], pos=place)

    def _double(self, x: float, y: float) -> None:
        child, place = self._at(x, y)
        QTest.mouseDClick(child, Qt.MouseButton.LeftButton, pos=place)

    def _drag(self, x: float, y: float, right: float, down: float) -> None:
        child, place = self._at(x, y)
        end = place + QPoint(int(right * self.window.width()), int(down * self.window.height()))
        QTest.mousePress(child, Qt.MouseButton.LeftButton, pos=place)
        for step in (0.3, 0.7, 1.0):
            QTest.mouseMove(child, place + (end - place) * step)
            QApplication.processEvents()
        QTest.mouseRelease(child, Qt.MouseButton.LeftButton, pos=end)

    def _wheel(self, x: float, y: float, turn: int) -> None:
        child, place = self._at(x, y)
        event = QWheelEvent(
            QPointF(place), QPointF(child.mapToGlobal(place)), QPoint(), QPoint(0, turn),
            Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier,
            Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QApplication.sendEvent(child, event)

    def _resize(self, width: int, height: int) -> None:
        self.window.resize(width, height)

    def _page(self, number: int) -> None:
        keys = list(self.window.titles)
        self.window.show_page(keys[number % len(keys)])

    def _theme(self, number: int) -> None:
        self.window.set_theme(("light", "dark", "system")[number % 3])

    def _font(self, number: int) -> None:
        font = QApplication.font()
        font.setPointSize((8, 9, 11, 16)[number % 4])
        QApplication.setFont(font)

    def _undo(self, number: int) -> None:
        for _ in range(1 + number % 4):
            self.window.store.undo_stack.undo()

    def _redo(self, number: int) -> None:
        for _ in range(1 + number % 4):
            self.window.store.undo_stack.redo()

    def _action(self, number: int) -> None:
        actions = [a for a in _acts(self.window.menuBar()) if a.isEnabled() and not _ends(a)]
        if actions:
            actions[number % len(actions)].trigger()

    def _open(self, number: int) -> None:
        samples = self.window.dialogs.samples
        self.window.files.open_path(samples[number % len(samples)])

    def _rest(self, number: int) -> None:
        """The hand rests for a moment: what works behind the window may come in."""
        QTest.qWait(20 + number % 200)

    def _collect(self, _number: int) -> None:
        gc.collect()
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def _acts(menu: QWidget) -> list[QAction]:
    """The acts of a menu and of the menus in it."""
    found = []
    for action in menu.actions():
        inner = action.menu()
        found += _acts(inner) if inner is not None else [action]
    return found


def _ends(action: QAction) -> bool:
    """True for an act that ends the program or hands over to the system's own printing."""
    return any(word in action.text().replace("&", "").lower() for word in ("quit", "exit", "close"))


def resident_mb() -> float:
    """Memory of this process that is in use now, in megabytes."""
    try:
        pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
        return pages * resource.getpagesize() / 1e6
    except OSError:
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
