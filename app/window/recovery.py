"""Work that was left when the program last ended: a list, each taken or deleted by itself."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.messages.recovery import (
    leftover_title,
    leftover_words,
    typed_words,
    unchanged,
)
from bobweight.app.store.journal import Leftover, delete_leftover, leftovers, read_leftover
from bobweight.app.theme import set_role
from bobweight.app.widgets.card import allow
from bobweight.app.window.notice import NoticeBar
from bobweight.app.words import translate, visible
from bobweight.core.docket.docket import Docket
from bobweight.core.problems import BobweightError
from bobweight.core.record import parameter_at, put


class Desk(Protocol):
    """What takes recovered work."""

    def take_left(self, docket: Docket, path: Path | None, base: str | None) -> bool:
        """Take it in place of what is open; False if it was not."""


class Recovery(QObject):
    """Offers what was left. Nothing goes from the disk but what is opened or deleted here."""

    def __init__(self, desk: Desk, window: QWidget, folder: Path, notices: NoticeBar) -> None:
        super().__init__(window)
        self._desk, self._window, self._folder = desk, window, folder
        self._notices = notices
        self.dialog: RecoveryDialog | None = None

    def left(self) -> list[Leftover]:
        """All that was left, the newest first; what its file holds already is taken away."""
        found = [read_leftover(path) for path in leftovers(self._folder)]
        for same in [left for left in found if unchanged(left)]:
            delete_leftover(same.path)
            found.remove(same)
        return sorted(found, key=lambda left: (-left.number, left.path.name))

    def offer(self) -> None:
        """Say that there is something, if there is."""
        count = len(leftovers(self._folder))
        if (count == 1 and not self.left()) or not count:
            return
        if count == 1:
            text = translate("files", "Work was not saved when the program last ended.")
        else:
            said = translate("files", "{count} pieces of work were not saved.")
            text = said.format(count=count)
        acts = ((translate("files", "Show what is there"), self.show),)
        self._notices.say(text, acts, "advice", "recovery")

    def show(self) -> None:
        """Show the list."""
        self._notices.clear("recovery")
        left = self.left()
        if not left:
            return
        self.dialog = RecoveryDialog(left, self, self._window)
        self.dialog.open()

    def take(self, left: Leftover) -> bool:
        """Open a leftover. It goes from the disk once the work is written down anew."""
        if left.docket is None:
            return False
        docket, typed = with_typed(left)
        if not self._desk.take_left(docket, left.file_path, left.fingerprint):
            return False
        delete_leftover(left.path)
        if typed:
            self._notices.say("\n".join(typed), (), "advice", "typed")
        return True


def with_typed(left: Leftover) -> tuple[Docket, list[str]]:
    """The docket with the texts that stood in its fields taken in; what else was typed, in
    sentences."""
    docket, others = left.docket, []
    assert docket is not None
    for each in left.typed:
        path = tuple(each.path)
        try:
            if path and parameter_at(docket, path).kind == "text":
                docket = put(docket, path, each.text)
                continue
        except (BobweightError, KeyError, IndexError, TypeError, AttributeError):
            pass
        others.append(each)
    return docket, typed_words(others)


class RecoveryDialog(QDialog):
    """The list."""

    def __init__(self, left: list[Leftover], recovery: Recovery, parent: QWidget) -> None:
        super().__init__(parent)
        self._left, self._recovery = left, recovery
        self.setWindowTitle(translate("files", "Work that was not saved"))
        self.list = QListWidget()
        self.list.setWordWrap(True)
        set_role(self.list, "list")
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.list.setAccessibleName(self.windowTitle())
        for each in left:
            words = f"{leftover_title(each)}\n{leftover_words(each)}"
            self.list.addItem(QListWidgetItem(visible(words)))
        self.open_button = QPushButton(translate("files", "Open"))
        self.delete_button = QPushButton(translate("files", "Delete"))
        self.close_button = QPushButton(translate("files", "Leave it for later"))
        row = QHBoxLayout()
        for button in (self.open_button, self.delete_button, self.close_button):
            row.addWidget(button)
        row.insertStretch(2)
        column = QVBoxLayout(self)
        column.addWidget(self.list)
        column.addLayout(row)
        self.open_button.clicked.connect(self._open)
        self.delete_button.clicked.connect(self._delete)
        self.close_button.clicked.connect(self.accept)
        self.list.currentRowChanged.connect(self._chosen)
        self.list.setCurrentRow(0)
        self.list.setFocus(Qt.FocusReason.OtherFocusReason)
        self.resize(680, 420)

    def _chosen(self, row: int) -> None:
        none = translate("files", "Choose a piece of work first.")
        lost = translate("files", "Of this one no docket can be read.")
        there = row >= 0
        allow(self.open_button, there and self._left[row].docket is not None,
              lost if there else none)  # fmt: skip
        allow(self.delete_button, there, none)

    def _open(self) -> None:
        row = self.list.currentRow()
        if self._recovery.take(self._left[row]):
            self.accept()

    def _delete(self) -> None:
        row = self.list.currentRow()
        delete_leftover(self._left[row].path)
        del self._left[row]
        self.list.takeItem(row)
        self._chosen(self.list.currentRow())
        if not self._left:
            self.accept()
