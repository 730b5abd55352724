"""A window that was long worked in and one just opened on the same docket: they say the same.

Edits, undos and redos are drawn from a seed and done through the pages: fields, tables, buttons,
lists, sessions, units. At the end every visible word of every part of every page, the answer, the
bar and what is painted on the board are compared with those of a window that was just opened on the
docket as it then stands.
"""

from __future__ import annotations

import random
import re
import time
from collections.abc import Iterator
from dataclasses import fields

from PySide6.QtCore import QEventLoop, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QTableView,
    QWidget,
)

from bobweight.app.board.curves import CurvePlot
from bobweight.app.editors.choice import ChoiceField, FlagField
from bobweight.app.editors.number import NumberField
from bobweight.app.editors.table import RecordTable
from bobweight.app.pages.springs.page import PARTS
from bobweight.app.store.display import SWITCHED_QUANTITIES
from bobweight.app.store.jobs import Runner
from bobweight.app.widgets.caution_box import CautionBox
from bobweight.app.widgets.words import Selectable
from bobweight.app.window.main_window import MainWindow
from bobweight.core.design.tray import Tray, TraySpring
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import docket_from_text, docket_to_text
from bobweight.core.figure.view import FRAMES
from bobweight.core.units import QUANTITIES

Words = dict[str, list[str]]
TRAY = Tray(
    springs=tuple(
        TraySpring(label=f"tin {rate}", rate_n_per_mm=rate, free_length_mm=length, count=2)
        for rate, length in ((1.4, 21.0), (2.6, 22.0), (11.0, 25.0))
    )
)
_SHARES = {
    "page": 14, "number": 26, "choice": 6, "flag": 3, "row": 16, "button": 14, "undo": 12,
    "redo": 6, "session": 4, "compare": 2, "state": 2, "frame": 3, "unit": 3, "rest": 3,
    "alter": 4, "spring": 3, "ghost": 1, "judged": 2, "part": 3,
}  # fmt: skip
_NEEDING = ("number", "choice", "flag", "row", "button")
_LONGEST_JUDGEMENT_S = 60.0
_ANSWERED_MS = 250
_OWN = ("tolerance", "search")
"""Parts of the springs with figures of their own that no docket has."""
_ELSEWHERE = re.compile("…|Print|Save|Stop|Work it out|Sheet|Timing|Find|Fit|Paste|^.$")


def settle(window: MainWindow) -> None:
    """All that an edit leads to is shown."""
    for _ in range(4):
        QApplication.processEvents()
    window.feed.tell()
    QApplication.processEvents()


def judged(window: MainWindow, again: bool = True) -> None:
    """The docket as it stands is judged; not again where a hand stopped that, if asked so."""
    ends = time.monotonic() + _LONGEST_JUDGEMENT_S
    settle(window)
    decisions = window.feed.decisions
    if again:
        decisions.again()
    runners = window.findChildren(Runner)
    while time.monotonic() < ends and (
        decisions.busy or decisions.awaited or any(each.busy for each in runners)
    ):
        QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 20)
        time.sleep(0.002)
    settle(window)


class LongHand:
    """Does what was drawn in a window; ``done`` names each act."""

    def __init__(self, window: MainWindow, seed: int) -> None:
        self.window, self.rng = window, random.Random(seed)
        self.done: list[str] = []

    def work(self, count: int) -> None:
        """So many acts."""
        kinds, weights = list(_SHARES), list(_SHARES.values())
        closer = QTimer(interval=30)
        closer.timeout.connect(_close_boxes)
        closer.start()
        for _ in range(count):
            kind = self.rng.choices(kinds, weights)[0]
            said = getattr(self, f"_{kind}")()
            self.done.append(f"{kind} {said}")
            if said is None and kind in _NEEDING:
                self.done.append(f"page {self._page()}")
            if self.rng.random() < 0.7:
                settle(self.window)
        closer.stop()
        self.window.commit()
        settle(self.window)

    # What a hand does -------------------------------------------------------------------------

    @property
    def _shown(self):
        return self.window.page(self.window.strip.current_key())

    def _one(self, kind: type) -> QWidget | None:
        here = [w for w in self._shown.findChildren(kind) if w.isVisible() and w.isEnabled()]
        return self.rng.choice(here) if here else None

    def _page(self) -> str:
        key = self.rng.choice(list(self.window.titles))
        self.window.show_page(key)
        return key

    def _number(self) -> object:
        field = self._one(NumberField)
        if field is None or not field.is_there:
            return None
        value = field.value
        new = "" if self.rng.random() < 0.1 else str(self.rng.choice((0.5, 1, 3, 12, 40, 1500)))
        if value is not None and self.rng.random() < 0.7:
            field.nudge(self.rng.choice((-5.0, -1.0, 1.0, 5.0)))
            return field.path, "nudged"
        field.edit.setText(new)
        if not field.commit():
            field.refresh()
        return field.path, new

    def _choice(self) -> object:
        field = self._one(ChoiceField)
        if field is None or not field.is_there:
            return None
        box = field._editor()
        row = self.rng.randrange(max(box.count(), 1))
        box.setCurrentIndex(row)
        box.activated.emit(row)
        return field.path, row

    def _flag(self) -> object:
        field = self._one(FlagField)
        if field is None or not field.is_there:
            return None
        field._editor().click()
        return field.path

    def _row(self) -> object:
        table = self._one(RecordTable)
        if table is None:
            return None
        model, act = table.model, self.rng.randrange(6)
        count = len(model.records())
        if act == 0 and count:
            model.remove_rows([self.rng.randrange(count)])
        elif act == 1:
            model.insert_row(self.rng.randrange(count + 1))
        else:
            index = model.index(
                self.rng.randrange(count + 1), self.rng.randrange(model.columnCount())
            )
            text = str(self.rng.choice((1, 4.5, 8, 12, 700, 1000, 1600, 2400, "x", "", "r")))
            if not model.setData(index, text):
                model.drop_draft(index.row(), index.column())
        return model.path, act

    def _button(self) -> object:
        here = [
            w for w in self._shown.findChildren(QPushButton)
            if w.isVisible() and w.isEnabled() and not _ELSEWHERE.search(w.text())
            and not w.menu() and self._may(w)
        ]  # fmt: skip
        if not here:
            return None
        found = self.rng.choice(here)
        text = found.text()
        found.click()
        return text

    def _may(self, button: QPushButton) -> bool:
        return self.window.strip.current_key() != "springs" or "se as" in button.text()

    def _undo(self) -> int:
        times = self.rng.choice((1, 1, 2, 5))
        for _ in range(times):
            self.window.store.undo_stack.undo()
        return times

    def _redo(self) -> int:
        times = self.rng.choice((1, 1, 2, 5))
        for _ in range(times):
            self.window.store.undo_stack.redo()
        return times

    def _session(self) -> object:
        count = len(self.window.store.docket.sessions)
        if count:
            self.window.display.session = self.rng.randrange(count)
        return self.window.display.session

    def _compare(self) -> object:
        count = len(self.window.store.docket.sessions)
        self.window.display.compared = self.rng.choice((None, *range(count)))
        return self.window.display.compared

    def _state(self) -> object:
        window = self.window
        window.show_page("readings")
        settle(window)
        page = window.page("readings")
        if page.state_box.isVisible():
            page.state_box.activated.emit(self.rng.randrange(page.state_box.count()))
        return page.state_box.count()

    def _frame(self) -> str:
        frame = self.rng.choice(FRAMES)
        if frame != FRAMES[2] or self.window.store.docket.setting_up.static_deg is not None:
            self.window.display.choose_frame(frame, self.window.store.docket)
        return frame

    def _unit(self) -> object:
        key = self.rng.choice(SWITCHED_QUANTITIES)
        unit = self.rng.choice(QUANTITIES[key].units).symbol
        self.window.display.set_unit(key, unit)
        return key, unit

    def _rest(self) -> None:
        ends = time.monotonic() + self.rng.uniform(0.0, 0.6)
        while time.monotonic() < ends:
            QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 20)

    def _judged(self) -> None:
        judged(self.window)

    def _alter(self) -> object:
        if self.rng.random() < 0.6:
            judged(self.window)
        if self.rng.random() < 0.5:
            self.window.answer.take()
        elif self.window.strip.current_key() == "verdict":
            for part in self._shown.parts:
                if hasattr(part, "take_button") and part.take_button.isEnabled():
                    part.take_button.click()
        return len(self.window.store.docket.states)

    def _spring(self) -> object:
        from bobweight.app.pages.springs.acts import use_as

        bench = self.window.page("springs").bench
        if bench.tray.tray != TRAY:
            bench.tray.replace("fill", TRAY)
        return use_as(bench, self.rng.randrange(3), self.rng.choice(("primary", "secondary")))

    def _ghost(self) -> None:
        self.window.display_bar.toggle_ghost()

    def _part(self) -> str:
        key = self.rng.choice([part.key for part in PARTS])
        if self.window.strip.current_key() == "springs":
            self.window.page("springs").show_part(key)
        return key


def _close_boxes() -> None:
    popup = QApplication.activePopupWidget()
    if popup is not None:
        popup.close()
    box = QApplication.activeModalWidget()
    if box is not None:
        box.close()


# What is said -------------------------------------------------------------------------------


def shown_alike(window: MainWindow, like: MainWindow) -> None:
    """Have a window show the same session in the same frame and units, at the same size."""
    display, other = window.display, like.display
    for key in SWITCHED_QUANTITIES:
        display.set_unit(key, other.unit(QUANTITIES[key]))
    display.frame = other.frame
    display.session = other.session
    display.compared = other.compared
    window.resize(like.size())


def said_now(window: MainWindow) -> Words:
    """What is seen at this moment, page and board as they are, part by part."""
    QTest.qWait(_ANSWERED_MS)  # the answer is wanted once the window is painted
    judged(window, again=False)
    key = window.strip.current_key()
    page = window.page(key)
    found = {"now answer": list(_words(window.answer)), "now board": _painted(window)}
    found["now heading"] = list(_words(page.problem_box))
    for section in page.parts_of_page():
        if section.is_open:
            found[f"now {key} {section.title}"] = list(_words(section))
    if not page.parts_of_page():
        found[f"now {key}"] = list(_words(page))
    return found


def shows_the_same_page(window: MainWindow, like: MainWindow) -> None:
    """Bring the page, and of the springs the part, to the front that another window shows."""
    key = like.strip.current_key()
    window.show_page(key)
    settle(window)
    if key == "springs":
        window.page(key).show_part(like.page(key)._here)
    settle(window)


def everything_said(window: MainWindow) -> Words:
    """All visible words, by page and part; what is in a shut part is opened first."""
    found: Words = {}
    window.show_page("verdict")
    judged(window)
    for key in window.titles:
        window.show_page(key)
        page = window.page(key)
        settle(window)
        judged(window)
        springs = [part.key for part in PARTS if part.key not in _OWN]
        parts = springs if key == "springs" else [""]
        for part in parts:
            if part:
                page.show_part(part)
                judged(window)
            page.sections.held = True
            for section in page.parts_of_page():
                page.sections.reveal(section.content)
                section.set_open(True)
                settle(window)
                found[f"{key} {part} {section.title}"] = list(_words(section))
            page.sections.held = False
            seen = [w for w in _words(page)]
            found[f"{key} {part} whole"] = seen if not page.parts_of_page() else []
        found[f"{key} heading"] = list(_words(page.problem_box))
        found[f"{key} board"] = _painted(window)
        found[f"{key} answer"] = list(_words(window.answer))
    found["bar"] = list(_words(window.display_bar))
    found["strip"] = list(_words(window.strip))
    return found


def _painted(window: MainWindow) -> list[str]:
    found = []
    for plot in window.board.findChildren(CurvePlot):
        if plot.isVisible():  # the others are a hand's choice
            for field in fields(plot.shown):
                said = getattr(plot.shown, field.name)
                lines = said if isinstance(said, tuple) else (said,)
                found += [_coarse(f"{type(plot).__name__} {field.name} {each}") for each in lines]
    return found


def _coarse(text: str) -> str:
    """Figures as far as they hang on the docket: the last digits hang on what was asked before."""
    return re.sub(r"-?\d+\.\d+(e-?\d+)?", lambda found: f"{float(found[0]):.6g}", text)


def _words(widget: QWidget) -> Iterator[str]:
    for each in (widget, *widget.findChildren(QWidget)):
        if not each.isVisibleTo(widget) or (each is not widget and not each.isVisible()):
            continue
        if isinstance(each, QTableView):
            yield from _cells(each)
        text = _own_words(each)
        if text is None or re.fullmatch("(Undo|Redo) False|Before you start.*", text):  # its own
            continue
        if isinstance(each, Selectable) and isinstance(each.parentWidget(), CautionBox):
            continue
        yield (
            f"{type(each).__name__} | {text} | {each.toolTip()} | {each.accessibleName()} | "
            f"{each.accessibleDescription()} | {'on' if each.isEnabled() else 'off'}"
        )


def _own_words(widget: QWidget) -> str | None:
    if isinstance(widget, QLabel):
        return widget.text()
    if isinstance(widget, QAbstractButton):
        return f"{widget.text()} {widget.isChecked()}"
    if isinstance(widget, QLineEdit):
        if isinstance(widget.parentWidget().parentWidget(), QTableView):
            return None  # a cell in hand
        return f"{widget.text()} ({widget.placeholderText()})"
    if isinstance(widget, QPlainTextEdit):
        return widget.toPlainText()
    if isinstance(widget, QComboBox):
        return f"{widget.currentIndex()} of {[widget.itemText(i) for i in range(widget.count())]}"
    if isinstance(widget, QProgressBar):
        return None
    return None


def _cells(view: QTableView) -> Iterator[str]:
    model, role, across = view.model(), Qt.ItemDataRole, Qt.Orientation.Horizontal
    for column in range(model.columnCount()):
        heading = str(model.headerData(column, across)).replace("-\n", "").replace("\n", " ")
        yield f"heading | {heading.replace(' ', '')}"
        for row in range(model.rowCount()):
            index = model.index(row, column)
            said = [model.data(index, each) for each in (role.DisplayRole, role.ToolTipRole)]
            yield f"{type(view).__name__} {row} {column} | {said[0]} | {said[1]}"


def differences(one: Words, other: Words) -> list[str]:
    """What the first says and the second does not, and the other way round, by part."""
    found = []
    for place in sorted({*one, *other}):
        seen = one.get(place) and other.get(place)
        if not seen and place.startswith("now"):
            continue  # open, or large on the board, in one of them alone
        a, b = one.get(place, []), other.get(place, [])
        if a != b:
            gone = [each for each in a if each not in b]
            new = [each for each in b if each not in a]
            found.append(f"{place}\n   long edited: {gone[:4]}\n   fresh: {new[:4]}")
    return found


def undone_and_done(window: MainWindow) -> list[str]:
    """Undo to the bottom and redo to where it was give the same file, byte for byte, twice."""
    stack, store, wrong = window.store.undo_stack, window.store, []
    here = stack.index()

    def walk() -> list[str]:
        texts = [docket_to_text(store.docket)]
        while stack.canUndo():
            stack.undo()
        texts.append(docket_to_text(store.docket))
        while stack.canRedo():
            stack.redo()
        texts.append(docket_to_text(store.docket))
        while stack.index() > here:
            stack.undo()
        return [*texts, docket_to_text(store.docket)]

    first, second = walk(), walk()
    if first != second or first[0] != first[3]:
        wrong.append("undo and redo give another docket")
    settle(window)
    return wrong


def compared(window: MainWindow, fresh: MainWindow, docket: Docket, seed: int, acts: int):
    """Work in one window, open the docket as it then stands in the other.

    Returns
    -------
    wrong : list of str
        What they say otherwise, and whether undo and redo lead elsewhere.
    done : list of str
        What the hand did.
    """
    window.store.open_docket(docket, None)
    settle(window)
    hand = LongHand(window, seed)
    hand.work(acts)
    if window.store.ghost is not None:
        window.store.clear_ghost()
    copy = docket_from_text(docket_to_text(window.store.docket))
    fresh.store.open_docket(copy, None)
    shown_alike(fresh, window)
    shows_the_same_page(fresh, window)
    wrong = differences(said_now(window), said_now(fresh))
    wrong += undone_and_done(window)
    stack, here = window.store.undo_stack, window.store.undo_stack.index()
    stack.setIndex(0)
    if docket_to_text(window.store.docket) != docket_to_text(docket):
        wrong.append("all undone, it is not the docket that was opened")
    stack.setIndex(here)
    if docket_to_text(window.store.docket) != docket_to_text(copy):
        wrong.append("redone, it is not the docket that was left")
    return wrong + differences(everything_said(window), everything_said(fresh)), hand.done
