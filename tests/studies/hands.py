"""The restorer's whole job through the real window, by keys alone and by mouse alone, counted.

    python -m tests.studies.hands                    # the window as it is, and as it was

An empty docket is filled with the demo's figures and readings, judged, the first alteration taken
in, the springs to order worked out and the sheet saved. Every key and click is sent to the window
as Qt would send it, and the docket is compared with what was to be typed. Counted are keys besides
the characters of figures and words (a chord is one), clicks, and turns of a wheel to bring a field
into view; characters are told apart. By mouse alone figures are typed too, a row of a table in one
go where the window takes it ("1200;6.5"); the semicolons count as characters. The hand knows the
pages: it goes the shortest way that the window offers, but for search by name.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import bobweight.core.judgement.outcome  # noqa: F401  (before Qt)

# isort: split
from PySide6.QtCore import QEventLoop, QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QLineEdit,
    QScrollArea,
    QTableView,
    QWidget,
)
from shiboken6 import isValid

from bobweight.app.editors.field import Field
from bobweight.app.editors.table import RecordTable
from bobweight.app.store.places import sample_curve
from bobweight.app.store.session import Settings
from bobweight.app.window.main_window import MainWindow
from bobweight.core.docket.file import read_docket
from bobweight.core.record import get, parameters
from bobweight.core.units import shown

BEFORE = "b518563^"
"""The last commit before the answer stood over everything and small windows had a rail."""
SIZE = (1350, 692)
KEY, LEFT = Qt.Key, Qt.MouseButton.LeftButton
NONE, CTRL = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ControlModifier
_MOST_TABS = 200


def settle() -> None:
    for _ in range(4):
        QApplication.processEvents()


def worked_out(window: MainWindow) -> None:
    """Wait until the docket as it stands is judged."""
    ends = time.monotonic() + 120.0
    while (window.feed.decisions.current is None or window.feed.decisions.busy) and (
        time.monotonic() < ends
    ):
        QApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 20)
        time.sleep(0.01)
    settle()


class Hand:
    """Fills the window and counts; subclasses say how a place is reached."""

    in_one = False
    """Whether the figures of a row are typed into its first cell, where the window takes that."""

    def __init__(self, window: MainWindow) -> None:
        self.window, self.stage = window, ""
        self.counts: dict[str, Counter[str]] = {}

    def begin(self, stage: str) -> None:
        self.stage = stage
        self.counts[stage] = Counter()

    def count(self, what: str, times: int = 1) -> None:
        self.counts[self.stage][what] += times

    @property
    def page(self):
        return self.window.page(self.window.strip.current_key())

    def type(self, text: str) -> None:
        for letter in text:  # the first may open the editor that takes the others
            QTest.keyClicks(QApplication.focusWidget(), letter)
        self.count("characters", len(text))

    def go(self, key: str) -> None:
        raise NotImplementedError

    def to(self, widget: QWidget) -> None:
        """Give a widget the keyboard."""
        raise NotImplementedError

    def press(self, button: QWidget) -> None:
        raise NotImplementedError

    def pick(self, group, button: QWidget) -> None:
        """One of a group of which one is on."""
        self.press(button)

    def choose(self, box: QComboBox, row: int) -> None:
        raise NotImplementedError

    def clear(self, editor: QLineEdit) -> None:
        """Have what is typed replace what stands there."""
        raise NotImplementedError

    def next_cell(self, table: RecordTable, row: int, column: int, first: bool) -> None:
        """Open the editor of a cell; the cells come in the order of reading."""
        raise NotImplementedError

    def take_done(self, button: QWidget) -> None:
        """Say that what the answer asks for is done."""
        self.press(button)

    def add_spring(self, page: QWidget) -> None:
        """Another spring on the Mechanism page."""
        self.reveal(page.add_spring_button)
        self.press(page.add_spring_button)

    def reveal(self, widget: QWidget) -> None:
        """Open the part of the page that holds a widget, if it is shut."""
        above = widget.parentWidget()
        while above is not None and above is not self.page:
            outer = above.parentWidget()
            heading = getattr(outer, "heading", None)
            held = heading is not None and getattr(outer, "content", None) is above
            if held and above.isHidden():
                self.press(heading)
                settle()
            above = outer

    def fill(self, path, value) -> None:
        """Put a value into its field, if another stands there."""
        store = self.window.store
        if value == get(store.docket, path):
            return
        field = next(f for f in self.page.findChildren(Field) if f.path == path)
        editor = field._editor()
        self.reveal(editor)
        if isinstance(editor, QComboBox):
            self.choose(editor, editor.findData(value))
        elif isinstance(editor, QCheckBox):
            self.press(editor)
        else:
            self.to(editor)
            if isinstance(editor, QLineEdit) and editor.text():
                self.clear(editor)
            self.type(value if isinstance(value, str) else f"{value:g}")
        settle()

    def fill_record(self, path, wanted) -> None:
        plain = [p for p in parameters(wanted).values() if p.kind not in ("one", "many")]
        for parameter in sorted(plain, key=lambda p: p.kind != "choice"):
            self.fill((*path, parameter.key), getattr(wanted, parameter.key))

    def rows(self, table: RecordTable, rows, columns: int) -> None:
        model = table.model
        self.reveal(table.view)
        for number, row in enumerate(rows):
            texts = []
            for column, key in enumerate(model.keys[:columns]):
                parameter = model.parameter(column)
                texts.append(shown(getattr(row, key), parameter.quantity, model.symbol(parameter)))
            if self.in_one and hasattr(model, "_set_several"):
                texts = [";".join(texts)]
            for column, text in enumerate(texts):
                self.next_cell(table, number, column, not (number or column))
                self.type(text)


class Keys(Hand):
    """No mouse."""

    def key(self, key, held=NONE) -> None:
        QTest.keyClick(QApplication.focusWidget() or self.window, key, held)
        settle()
        self.count("keys")

    def go(self, key: str) -> None:
        number = list(self.window.titles).index(key) + 1
        held = CTRL | Qt.KeyboardModifier.ShiftModifier if number > 9 else CTRL
        if not self._act(f"Ctrl+{'Shift+' if number > 9 else ''}{number % 10}"):
            self.key(KEY(KEY.Key_0 + number % 10), held)
        if self.window.strip.current_key() != key:  # keys of an older window
            self.window.show_page(key)
            self.window._focus_page()

    def _act(self, keys: str) -> bool:
        """Choose the act of the menus with these keys; offscreen no window is the active one."""
        for act in self.window.menus.actions.values():
            if isValid(act) and keys in [one.toString() for one in act.shortcuts()]:
                act.trigger()
                settle()
                self.count("keys")
                return True
        return False

    def take_done(self, button: QWidget) -> None:
        if not self._act("Ctrl+Return"):
            super().take_done(button)

    def add_spring(self, page: QWidget) -> None:
        if not self._act("Ctrl+Shift+N"):
            super().add_spring(page)

    def reveal(self, widget: QWidget) -> None:
        if not self._to_part(widget, _MOST_TABS):
            super().reveal(widget)

    def _to_part(self, widget: QWidget, tabs: int) -> bool:
        """Go to the part of the page that a widget is in, if that is shorter than so many tabs."""
        if not hasattr(self.page, "parts_of_page"):
            return False
        parts = self.page.parts_of_page()
        at = next((n for n, part in enumerate(parts) if part.isAncestorOf(widget)), None)
        focus = QApplication.focusWidget()
        if at is None or focus is None or parts[at].isAncestorOf(focus):
            return False
        inside = [w for w in parts[at].content.findChildren(QWidget) if self._takes_tab(w)]
        ahead = next((n for n, w in enumerate(inside) if w is widget), 0)
        height = focus.mapTo(self.page, QPoint()).y()
        above = sum(part.mapTo(self.page, QPoint()).y() <= height for part in parts)
        forward = (at - above) % len(parts) + 1
        keys = {"F8": forward, "Shift+F8": len(parts) + 1 - forward}
        key = min(keys, key=keys.__getitem__)
        if keys[key] + ahead >= tabs:
            return False
        for _ in parts:
            if not parts[at].isAncestorOf(QApplication.focusWidget()):
                self._act(key)
        return True

    @staticmethod
    def _takes_tab(widget: QWidget) -> bool:
        return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) and not widget.isHidden()

    def to(self, widget: QWidget) -> None:
        self._to_part(widget, min(self._far(widget, False), self._far(widget, True)))
        back = self._far(widget, False) < self._far(widget, True)
        for _ in range(_MOST_TABS):
            focus = QApplication.focusWidget()
            if focus is widget or (focus is not None and widget.isAncestorOf(focus)):
                return
            if isinstance(focus, QLineEdit) and isinstance(focus.parent().parent(), QTableView):
                self.key(KEY.Key_Escape)
            self.key(KEY.Key_Backtab if back else KEY.Key_Tab)
        raise RuntimeError(f"no Tab leads to {widget} on {self.window.strip.current_key()}")

    def _far(self, widget: QWidget, forward: bool) -> int:
        here, steps = QApplication.focusWidget(), 0
        while here is not None and steps < _MOST_TABS:
            if here is widget:
                return steps
            here = here.nextInFocusChain() if forward else here.previousInFocusChain()
            if here.focusPolicy() & Qt.FocusPolicy.TabFocus and here.isVisible():
                steps += 1
        return _MOST_TABS

    def press(self, button: QWidget) -> None:
        self.to(button)
        self.key(KEY.Key_Space)

    def pick(self, group, button) -> None:
        self.to(next(one for one in group if one.isChecked()))
        for _ in group:
            here = QApplication.focusWidget()
            if here is not None and not button.isChecked():
                down = button.y() > here.y() + here.height() // 2
                self.key(KEY.Key_Down if down else KEY.Key_Right)
        assert button.isChecked()

    def choose(self, box: QComboBox, row: int) -> None:
        self.to(box)
        while box.currentIndex() != row:
            self.key(KEY.Key_Down if box.currentIndex() < row else KEY.Key_Up)

    def clear(self, editor: QLineEdit) -> None:
        if editor.selectedText() != editor.text():
            self.key(KEY.Key_A, CTRL)

    def next_cell(self, table: RecordTable, row: int, column: int, first: bool) -> None:
        if first:
            self.to(table.view)
            if table.view.currentIndex().column() > 0:  # come from below
                self.key(KEY.Key_Home)
            self.key(KEY.Key_Return)
        else:
            self.key(KEY.Key_Tab if column else KEY.Key_Return)

    def end_rows(self, table: RecordTable) -> None:
        self.key(KEY.Key_Return)
        self.key(KEY.Key_Escape)


class Mouse(Hand):
    """No keys but the characters of figures and words."""

    in_one = True

    def click(self, widget: QWidget, at: QPoint | None = None) -> None:
        area = widget.parentWidget()
        while area is not None and not isinstance(area, QScrollArea):
            area = area.parentWidget()
        if area is not None and widget.visibleRegion().isEmpty():
            area.ensureWidgetVisible(widget)
            settle()
            self.count("wheel")
        QTest.mouseClick(widget, LEFT, NONE, at or widget.rect().center())
        settle()
        self.count("clicks")

    def go(self, key: str) -> None:
        here = self.window.strip
        lists = [here, *here.findChildren(QWidget)]
        view = next(w for w in lists if hasattr(w, "visualRect"))
        row = list(self.window.titles).index(key)
        rect = view.visualRect(view.model().index(row, 0))
        self.click(view.viewport(), rect.center())
        assert self.window.strip.current_key() == key

    def to(self, widget: QWidget) -> None:
        self.click(widget)

    def press(self, button: QWidget) -> None:
        at = QPoint(12, button.height() // 2) if isinstance(button, QCheckBox) else None
        self.click(button, at)

    def choose(self, box: QComboBox, row: int) -> None:
        self.click(box)
        view = box.view()
        QTest.mouseClick(
            view.viewport(), LEFT, NONE, view.visualRect(box.model().index(row, 0)).center()
        )
        settle()
        self.count("clicks")
        if box.currentIndex() != row:  # a list that offscreen does not open
            box.hidePopup()
            box.setCurrentIndex(row)
            box.activated.emit(row)

    def clear(self, editor: QLineEdit) -> None:
        if editor.selectedText() != editor.text():
            editor.selectAll()  # a double click for a word, a third for the line
            self.count("clicks", 2)

    def next_cell(self, table: RecordTable, row: int, column: int, first: bool) -> None:
        view, index = table.view, table.model.index(row, column)
        view.scrollTo(index)
        self.click(view.viewport(), view.visualRect(index).center())

    def end_rows(self, table: RecordTable) -> None:
        heading = self.page.findChildren(QWidget)[0]
        QTest.mouseClick(heading, LEFT)
        table.view.setFocus()
        self.count("clicks")


def job(hand: Hand, folder: Path) -> None:
    """The whole of it."""
    window, store, demo = hand.window, hand.window.store, read_docket(DEMO)
    hand.begin("particulars")
    hand.go("particulars")
    for key in ("title", "unit_number", "owner", "job_number", "lobes", "rotation"):
        hand.fill(("particulars", key), getattr(demo.particulars, key))

    hand.begin("mechanism")
    hand.go("mechanism")
    wanted = demo.mechanism
    page = window.page("mechanism")
    hand.fill_record(("mechanism", "weights"), wanted.weights)
    hand.fill_record(("mechanism", "linkage"), wanted.linkage)
    for key in ("stop_deg", "heel_drag_nmm", "stick_nmm", "grip"):
        hand.fill(("mechanism", key), getattr(wanted, key))
    for index, spring in enumerate(wanted.springs):
        if index >= len(store.docket.mechanism.springs):  # at first a primary and a secondary
            hand.add_spring(page)
            settle()
        if get(store.docket, ("mechanism", "springs", index, "given_by")) != spring.given_by:
            hand.reveal(page._cards[index].places_button)
            hand.press(page._cards[index].places_button)  # radius and angle, as the demo has them
            settle()
        hand.fill_record(("mechanism", "springs", index), spring)
    hand.fill(("mechanism", "grip"), wanted.grip)

    hand.begin("target")
    hand.go("target")
    hand.fill(("target", "no_advance_below_rpm"), demo.target.no_advance_below_rpm)
    hand.rows(window.page("target").points, demo.target.points, 3)
    hand.end_rows(window.page("target").points)

    hand.begin("readings")
    hand.go("readings")
    page, session = window.page("readings"), demo.sessions[0]
    hand.fill(("sessions", 0, "instrument", "static_deg"), session.instrument.static_deg)
    taken = [r for r in session.readings if r.depression_kpa is None]
    hand.rows(page.table, taken, 2)
    hand.end_rows(page.table)
    hand.press(page.guess_button)

    hand.begin("verdict")
    hand.go("verdict")
    worked_out(window)
    typed = store.docket
    assert typed.target.points == demo.target.points, typed.target.points
    assert [(r.speed_rpm, r.angle_deg) for r in typed.sessions[0].readings] == [
        (r.speed_rpm, r.angle_deg) for r in taken
    ]
    for mine, its in zip(typed.mechanism.springs, wanted.springs, strict=True):
        assert (mine.rate_n_per_mm, mine.post_angle_deg) == (its.rate_n_per_mm, its.post_angle_deg)
    over = getattr(window, "answer", None)
    if over is not None and over.done_button.isVisible():
        hand.take_done(over.done_button)
    else:
        part = next(p for p in page_parts(window) if type(p).__name__ == "AlterPart")
        hand.reveal(part.take_button)
        hand.press(part.take_button)
    settle()
    assert store.docket != typed, "the alteration was not taken"

    hand.begin("springs")
    hand.go("springs")
    hand.pick(
        list(window.page("springs").buttons.values()), window.page("springs").buttons["ideal"]
    )

    hand.begin("sheet")
    hand.go("sheet")
    page, file = window.page("sheet"), folder / "job.pdf"
    page.ask_path = lambda *_: file
    worked_out(window)
    hand.press(page.save_buttons["pdf"])
    assert file.exists()


def page_parts(window: MainWindow):
    return window.page("verdict").parts


DEMO = sample_curve("weak_primary.docket")


def counted(kind: type[Hand]) -> dict[str, dict[str, int]]:
    """The counts of one hand, by stage."""
    with tempfile.TemporaryDirectory() as folder:
        window = MainWindow(Settings(Path(folder)))
        window.resize(*SIZE)
        window.files.may_leave = lambda: True  # type: ignore[method-assign]
        window.files.new()
        window.show()
        window.activateWindow()
        settle()
        hand = kind(window)
        job(hand, Path(folder))
        window.close()
        window.deleteLater()
        settle()
    return {stage: dict(counts) for stage, counts in hand.counts.items()}


def as_it_was(commit: str) -> dict[str, dict[str, dict[str, int]]] | str:
    """The same job in the window of an older commit; what stood in the way if it cannot be done."""
    root = Path(__file__).parents[2]
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder) / "bobweight"
        tree.mkdir()
        packed = subprocess.run(
            ["git", "archive", commit], cwd=root, capture_output=True, check=True
        )
        subprocess.run(["tar", "-x", "-C", str(tree)], input=packed.stdout, check=True)
        done = subprocess.run(
            [sys.executable, str(Path(__file__).resolve()), "--counts"],
            env=os.environ | {"PYTHONPATH": folder}, cwd=folder, capture_output=True, text=True,
            check=False,
        )  # fmt: skip
    lines = done.stdout.splitlines()
    return json.loads(lines[-1]) if done.returncode == 0 else done.stderr.splitlines()[-1]


def main() -> None:
    """Count, and write the section."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--counts", action="store_true", help="print the counts alone")
    given = asked.parse_args()
    application = QApplication.instance() or QApplication([])
    application.setApplicationName("Bobweight")
    now = {kind.__name__.lower(): counted(kind) for kind in (Keys, Mouse)}
    if given.counts:
        print(json.dumps(now), flush=True)
        os._exit(0)  # everything is counted; an old window may yet die while Qt is taken down
    from tests.studies.results import section, table

    before = as_it_was(BEFORE)
    with section("hands", "The whole job by keys alone and by mouse alone") as out:
        rows = []
        for stage in now["keys"]:
            rows.append([stage, *_cells(now, before, stage)])
        rows.append(["**whole job**", *_cells(now, before, "")])
        out(table(["", "keys", "before", "clicks (wheel)", "before", "characters typed"], rows))
        if isinstance(before, str):
            out(f"\nBefore cannot be counted: the window of `{BEFORE}` says {before}.")
        else:
            out(f"\nBefore is the window of `{BEFORE}`, the same hand.")


def _cells(now, before, stage: str) -> list[object]:
    def total(counts: dict[str, dict[str, int]], *kinds: str) -> int:
        return sum(c.get(kind, 0) for s, c in counts.items() if stage in ("", s) for kind in kinds)

    cells: list[object] = []
    for hand, kinds in (("keys", ("keys",)), ("mouse", ("clicks", "wheel"))):
        told = str(total(now[hand], kinds[0]))
        was = "–" if isinstance(before, str) else str(total(before[hand], kinds[0]))
        for kind in kinds[1:]:
            told += f" ({total(now[hand], kind)})"
            was += "" if isinstance(before, str) else f" ({total(before[hand], kind)})"
        cells += [told, was]
    typed, by_mouse = (total(now[hand], "characters") for hand in ("keys", "mouse"))
    return [*cells, typed if typed == by_mouse else f"{typed} ({by_mouse} by mouse alone)"]


if __name__ == "__main__":
    main()
