"""Records that are edited, each with its undo stack, and the open docket with its file: the only
place where a docket is replaced."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any, Generic, TypeVar, cast

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from bobweight.app.guard import guarded
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.entry import Gate
from bobweight.core.problems import Path
from bobweight.core.record import Record, get, put, put_uncertainty

_MERGE_ID = 1
Stored = TypeVar("Stored", bound=Record)


@dataclass(frozen=True)
class Change:
    """What an edit, an undo, a redo or an opening did.

    Attributes
    ----------
    begun : bool
        Another record was begun with: nothing of the one before goes on.
    """

    before: Any
    after: Any
    begun: bool = False
    _others: dict[Path, bool] = field(default_factory=dict, init=False, repr=False, compare=False)

    def touches(self, path: Path) -> bool:
        """True if the value at a path differs or is there on one side only; a path that ends in
        ``"u", key`` asks for a stated uncertainty."""
        return self.touches_within(path[:-1]) and _at(self.before, path) != _at(self.after, path)

    def touches_within(self, place: Path) -> bool:
        """True if the record at a place is another, as every field and table of it asks."""
        other = self._others.get(place)
        if other is None:
            other = self._others[place] = _at(self.before, place) is not _at(self.after, place)
        return other

    def followed(self, path: Path) -> Path | None:
        """Where that stands now which stood at a path, if rows before it were put in or taken out;
        None if it is there no more."""
        place = next((k for k, step in enumerate(path) if isinstance(step, int)), None)
        if place is None:
            return path
        old, new = _at(self.before, path[:place]), _at(self.after, path[:place])
        if old is _Gone or new is _Gone:
            return None
        if len(old) == len(new):
            return path
        row = cast(int, path[place])
        now = [k for k, record in enumerate(new) if row < len(old) and record is old[row]]
        return (*path[:place], now[0], *path[place + 1 :]) if now else None


class _Gone:
    """Stands for a value whose path leads nowhere."""


def _at(docket: Record, path: Path) -> Any:
    try:
        if len(path) > 1 and path[-2] == "u":
            return get(docket, path[:-1]).get(path[-1])
        return get(docket, path)
    except (AttributeError, IndexError, TypeError):
        return _Gone


class _Replace(QUndoCommand):
    """The record before and after: one class serves every edit, since records never change."""

    def __init__(
        self, store: RecordStore[Any], name: str, after: Record, gesture: object | None
    ) -> None:
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


class PlaceFeed(QObject):
    """A record inside the one that is held, for those who follow it alone.

    Signals
    -------
    changed(Change)
        It is another; told after the store's own ``changed``.
    """

    changed = Signal(object)


class RecordStore(QObject, Generic[Stored]):
    """Holds a record. Edits are named, checked before they are pushed, and undoable.

    Signals
    -------
    changed(Change)
        After every edit, undo, redo or opening. Who follows one figure follows its place
        (:meth:`at`): a window has some 200 fields, and an edit is of few.
    refusal(object)
        An editor refused a text, or holds it no longer.
    """

    changed = Signal(object)
    refusal = Signal(object)

    def __init__(self, record: Stored, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._docket = record
        self._gate = Gate()
        self._places: dict[Path, PlaceFeed] = {}
        self.undo_stack = QUndoStack(self)

    @property
    def docket(self) -> Stored:
        """The record as it stands."""
        return self._docket

    def at(self, place: Path) -> PlaceFeed:
        """What tells that the record at a place is another."""
        if place not in self._places:
            self._places[place] = PlaceFeed(self)
        return self._places[place]

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

    def replace(self, name: str, record: Stored, gesture: object | None = None) -> None:
        """Take another record as one undoable edit. An equal one is no edit.

        Raises
        ------
        BobweightError
            If something in it is beyond its limits, or all of it is too large to be written and
            read again; nothing is pushed.
        """
        if record != self._docket:
            self._gate.check(record)
            self.undo_stack.push(_Replace(self, name, record, gesture))

    def begin(self, record: Stored) -> None:
        """Begin with another record: no undo."""
        self.undo_stack.clear()
        self._show(record, begun=True)

    def _show(self, record: Stored, begun: bool = False) -> None:
        before, self._docket = self._docket, record
        change = Change(before, record, begun)
        self.changed.emit(change)
        for place, told in list(self._places.items()):
            if begun or change.touches_within(place):
                told.changed.emit(change)


class Store(RecordStore[Docket]):
    """Holds the open docket: where its file is, whether it differs from that, and a ghost.

    Signals
    -------
    file_changed()
        The file's path or the dirty mark is another.
    ghost_changed()
        The docket kept for comparison is another.
    saved(Path or None)
        The docket was written to its file; where it was kept before.
    """

    file_changed = Signal()
    ghost_changed = Signal()
    saved = Signal(object)

    def __init__(self, docket: Docket | None = None, parent: QObject | None = None) -> None:
        super().__init__(docket or new_docket(), parent)
        self._file_path: FilePath | None = None
        self._ghost: Docket | None = None
        self._unsaved_from_start = False
        self.undo_stack.cleanChanged.connect(self._clean_changed)

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
        self._show(docket, begun=True)
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
        """Stop listening to the undo stack, which emits from its destructor, and empty it: commands
        that are collected with it, in no order, end the program."""
        self.undo_stack.cleanChanged.disconnect(self._clean_changed)
        self.undo_stack.clear()

    def _clean_changed(self, _clean: bool) -> None:
        self.file_changed.emit()
