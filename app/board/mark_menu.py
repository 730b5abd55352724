"""The menu of a reading or a check point on the board."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPoint
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QWidget

from bobweight.app.board import drags
from bobweight.app.board.drags import Grip
from bobweight.app.store import Store
from bobweight.app.words import translate
from bobweight.core.problems import Path, required
from bobweight.core.record import get


class MarkMenu(QMenu):
    """Leaves a reading out, and deletes a reading or a check point.

    Parameters
    ----------
    path_of : callable
        Where in the docket the thing under the mouse is.
    """

    def __init__(
        self, store: Store, path_of: Callable[[Grip], Path], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._store, self._path_of = store, path_of
        self._grip: Grip | None = None
        self.leave_out = QAction(translate("Board", "Leave this reading out"), self)
        self.leave_out.setCheckable(True)
        self.delete = QAction(self)
        self.addAction(self.leave_out)
        self.addAction(self.delete)
        self.leave_out.triggered.connect(self._leave_out)
        self.delete.triggered.connect(self._delete)

    def ask(self, grip: Grip, at: QPoint) -> None:
        """Open over the thing."""
        self.fill(grip)
        self.popup(at)

    def fill(self, grip: Grip) -> None:
        """Become the menu of a reading or a check point."""
        self._grip = grip
        reading = grip.kind in ("reading", "vacuum reading")
        self.leave_out.setVisible(reading)
        if reading:
            row = get(self._store.docket, self._path_of(grip))
            self.leave_out.setChecked(row.left_out)
            self.delete.setText(translate("Board", "Delete this reading"))
        else:
            self.delete.setText(translate("Board", "Delete this check point"))

    def _leave_out(self, on: bool) -> None:
        grip = required(self._grip)
        words = translate("Board", "Use reading {0} again")
        if on:
            words = translate("Board", "Leave reading {0} out")
        path = (*self._path_of(grip), "left_out")
        self._store.edit(words.format(grip.index + 1), path, on)

    def _delete(self) -> None:
        grip = required(self._grip)
        path = self._path_of(grip)
        words = translate("Board", "Delete check point {0}")
        if "readings" in path:
            words = translate("Board", "Delete reading {0}")
        after = drags.without(self._store.docket, path)
        self._store.replace(words.format(grip.index + 1), after)
