"""The open docket, its undo stack and its file: the only place where a docket is replaced."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from bobweight.app.guard import guarded
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.entry import Gate
from bobweight.core.problems import Path
from bobweight.core.record import get, put, put_uncertainty

_MERGE_ID = 1


@dataclass(frozen=True)
class Change:
    """What an edit, an undo, a redo or an opening did."""

    before: Docket
    after: Docket

    def touches(self, path: Path) -> bool:
        """True if the value at a path differs or is there on one side only; a path that ends in
        ``"u", key`` asks for a stated uncertainty."""
        return _at(self.before, path) != _at(self.after, path)


class _Gone:
    """Stands for a value whose path leads nowhere."""


def _at(docket: Docket, path: Path) -> Any:
    try:
        if len(path) > 1 and path[-2] == "u":
            return get(docket, path[:-1]).get(path[-1])
        return get(docket, path)
    except (AttributeError, IndexError, TypeError):
        return _Gone


class _Replace(QUndoCommand):
    """The docket before and after: one class serves every edit, since dockets never change."""

    def __init__(self, store: Store, name: str, after: Docket, gesture: object | None) -> None:
        super().__init__(name)
        self._store = store
        self._before = store.docket
        self._after = after
        self._gesture = gesture

    @guarded
    def redo(self) -> None:
        self._store._show(self._after)

    @guarded
    def undo(self) -> None:
        self._store._show(self._before)

    @guarded
    def id(self) -> int:
        return -1 if self._gesture is None else _MERGE_ID

    @guarded
    def mergeWith(self, other: QUndoCommand) -> bool:
        """Later steps of the same gesture join this one, under the latest name (the names of a
        drag carry its value)."""
        if not isinstance(other, _Replace) or other._gesture != self._gesture:
            return False
        self._after = other._after
        self.setText(other.text())
        self.setObsolete(self._after == self._before)
        return True


class Store(QObject):
    """Holds the open docket. Edits are named, checked before they are pushed, and undoable.

    Signals
    -------
    changed(Change)
        After every edit, undo, redo or opening.
    file_changed()
        The file's path or the dirty mark is another.
    ghost_changed()
        The docket kept for comparison is another.
    saved(Path or None)
        The docket was written to its file; where it was kept before.
    """

    changed = Signal(object)
    file_changed = Signal()
    ghost_changed = Signal()
    saved = Signal(object)

    def __init__(self, docket: Docket | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._docket = docket or new_docket()
        self._file_path: FilePath | None = None
        self._ghost: Docket | None = None
        self._gate = Gate()
        self._unsaved_from_start = False
        self.undo_stack = QUndoStack(self)
        self.undo_stack.cleanChanged.connect(self._clean_changed)

    @property
    def docket(self) -> Docket:
        return self._docket

    @property
    def file_path(self) -> FilePath | None:
        """Where the docket is kept; None while it has no name."""
        return self._file_path

    @property
    def dirty(self) -> bool:
        """True if the docket differs from its file (or from what was opened)."""
        return self._unsaved_from_start or not self.undo_stack.isClean()

    @property
    def ghost(self) -> Docket | None:
        """The docket as it was before the present alteration, kept for comparison."""
        return self._ghost

    def edit(self, name: str, path: Path, value: Any, gesture: object | None = None) -> None:
        """Put a value at a path, as one undoable edit; edits of one gesture join.

        Raises
        ------
        BobweightError
            If the value is beyond its limits or of the wrong kind; nothing is pushed.
        """
        self.replace(name, put(self._docket, path, value), gesture)

    def state_uncertainty(self, name: str, path: Path, u: float | None) -> None:
        """State the standard uncertainty of the number at a path (stored unit), or withdraw it.

        Raises
        ------
        BobweightError
            ``uncertainty-not-positive``; nothing is pushed.
        """
        self.replace(name, put_uncertainty(self._docket, path, u))

    def replace(self, name: str, docket: Docket, gesture: object | None = None) -> None:
        """Take another docket as one undoable edit. An equal docket is no edit.

        Raises
        ------
        BobweightError
            If something in it is beyond its limits, or all of it is too large to be written and
            read again; nothing is pushed.
        """
        if docket != self._docket:
            self._gate.check(docket)
            self.undo_stack.push(_Replace(self, name, docket, gesture))

    def open_docket(
        self, docket: Docket, file_path: FilePath | str | None, unsaved: bool = False
    ) -> None:
        """Begin with another docket: no undo, no ghost; ``unsaved`` for one that was recovered."""
        self.undo_stack.clear()
        self._file_path = FilePath(file_path) if file_path else None
        self._unsaved_from_start = unsaved
        if self._ghost is not None:
            self._ghost = None
            self.ghost_changed.emit()
        self._show(docket)
        self.file_changed.emit()

    def mark_saved(self, file_path: FilePath | str) -> None:
        """The docket as it stands is now in this file."""
        before, self._file_path = self._file_path, FilePath(file_path)
        self._unsaved_from_start = False
        self.undo_stack.setClean()
        self.file_changed.emit()
        self.saved.emit(before)

    def set_ghost(self) -> None:
        """Keep the present docket for comparison."""
        self._ghost = self._docket
        self.ghost_changed.emit()

    def clear_ghost(self) -> None:
        """Drop the docket kept for comparison."""
        self._ghost = None
        self.ghost_changed.emit()

    def release(self) -> None:
        """Stop listening to the undo stack, which emits from its destructor."""
        self.undo_stack.cleanChanged.disconnect(self._clean_changed)

    def _clean_changed(self, _clean: bool) -> None:
        self.file_changed.emit()

    def _show(self, docket: Docket) -> None:
        before, self._docket = self._docket, docket
        self.changed.emit(Change(before, docket))
