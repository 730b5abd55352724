"""What all editors of one value share: path, tip, name for the ear, sentence below the field."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeGuard

from PySide6.QtCore import QEvent, QKeyCombination, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence, QUndoStack
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from bobweight.app.messages import edit_name, place_text, sentence
from bobweight.app.store import Change, RecordStore
from bobweight.app.store.display import Display
from bobweight.app.widgets.card import stacked
from bobweight.app.widgets.plain import set_tip
from bobweight.app.widgets.words import AnswerLabel
from bobweight.app.words import help_text, label
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError, Path, Problem
from bobweight.core.record import Parameter, get, put

_MORE_REDO = (
    QKeyCombination(Qt.KeyboardModifier.ControlModifier, Qt.Key.Key_Y),
    QKeyCombination(
        Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier, Qt.Key.Key_Z
    ),
)


def wants_undo(event: QEvent) -> TypeGuard[QKeyEvent]:
    """True if a line editor is about to keep undo or redo for itself."""
    keys = QKeySequence.StandardKey
    return (
        event.type() == QEvent.Type.ShortcutOverride
        and isinstance(event, QKeyEvent)
        and (
            event.matches(keys.Undo)
            or event.matches(keys.Redo)
            or event.keyCombination() in _MORE_REDO
        )
    )


def undone_here(event: QKeyEvent, stack: QUndoStack) -> bool:
    """Undo or redo on a stack of one's own at an event that wants it; True, as it is dealt with.

    It is done at this event and not at the key press that follows, which a line editor keeps for
    itself even with nothing of its own to undo, and before the window's menu takes it.
    """
    undo = event.matches(QKeySequence.StandardKey.Undo)
    (stack.undo if undo else stack.redo)()
    event.accept()
    return True


def _rows_of(path: Path) -> Path | None:
    """Where the first list on the way to a value stands; None for none."""
    return next((path[:k] for k, step in enumerate(path) if isinstance(step, int)), None)


@frozen
class _Held:
    """What was typed and not taken: as one text, as the editors have it, and why not."""

    text: str
    typed: tuple[str | None, ...]
    problem: Problem | None


class Field(QWidget):
    """Editor of the value at one path. Subclasses put it into ``row`` and implement ``_show``.

    A value that is refused stays in the editor to be mended, with the reason below it; the docket
    keeps the old value.
    """

    def __init__(
        self, parameter: Parameter, store: RecordStore, path: Path, display: Display,
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self.parameter = parameter
        self.store = store
        self.along: Callable[[Any, Any], Any] | None = None
        """The record with a value of this field, where other figures go along with it."""
        self.path = path
        self._elsewhere: dict[Path, _Held] = {}
        self.display = display
        self.problem: Problem | None = None
        self._beside: QLabel | None = None
        self._place = ""
        outer = stacked(self, spacing=2)
        self.row = QHBoxLayout()
        self.row.setSpacing(6)
        outer.addLayout(self.row)
        self.said = AnswerLabel()
        outer.addWidget(self.said)
        store.at(path[:-1]).changed.connect(self._place_changed)
        if (rows := _rows_of(path)) is not None:
            store.at(rows).changed.connect(self._rows_changed)
        display.changed.connect(self._display_changed)
        self._build()
        self.refresh()

    # For subclasses -------------------------------------------------------------------------

    def _build(self) -> None:
        """Put the editor into ``row``."""
        raise NotImplementedError

    def _editor(self) -> QWidget:
        """The widget that takes the keyboard."""
        raise NotImplementedError

    def _show(self, value: Any) -> None:
        """Put a stored value into the editor."""
        raise NotImplementedError

    def _take(self) -> bool:
        """Take what is in the editor into the docket. False if it was refused."""
        return True

    def _in_editor(self) -> tuple[str | None, ...]:
        """What stands in the editor, as :meth:`_retype` takes it."""
        return ()

    def _retype(self, typed: tuple[str | None, ...]) -> None:
        """Put it into the editor again; it is not taken by that."""

    def _hold(self) -> _Held:
        return _Held(self.uncommitted(), self._in_editor(), self.problem)

    def _give_back(self, held: _Held) -> None:
        self._retype(held.typed)
        self._say(held.problem)

    def _display_changed(self) -> None:
        """Other units, another session: what is typed and not taken stays."""
        if not (self.is_there and self.uncommitted()):
            self.refresh()
        elif self._in_editor():
            held = self._hold()
            self.refresh()
            self._give_back(held)

    # ----------------------------------------------------------------------------------------

    @property
    def value(self) -> Any:
        """The stored value."""
        return get(self.store.docket, self.path)

    @property
    def is_there(self) -> bool:
        """False once the record that the field edits was taken out of the docket."""
        try:
            get(self.store.docket, self.path)
        except (IndexError, AttributeError):
            return False
        return True

    def commit(self) -> bool:
        """Take what is in the editor into the docket. False if it was refused."""
        return not self.is_there or self._take()

    def uncommitted(self) -> str:
        """What stands in the editor and is not taken yet; empty for nothing."""
        return ""

    @property
    def refuses(self) -> bool:
        """True while a text stands in it, or is held for another path, that was refused."""
        held = (each.problem for each in self._elsewhere.values())
        here = self.problem if self.is_there else None
        return any(problem is not None and problem.grave for problem in (here, *held))

    def all_uncommitted(self) -> list[tuple[Path, str]]:
        """The same, with its path, also of paths that are not shown."""
        found = [(path, held.text) for path, held in self._elsewhere.items()]
        here = self.uncommitted() if self.is_there else ""
        return [(self.path, here), *found] if here else found

    def text_label(self) -> str:
        """What the form writes beside the field."""
        return label(self.parameter)

    def set_path(self, path: Path) -> None:
        """Edit the value at another path, of the same description. What was refused here stays,
        and is here again with the path."""
        if path != self.path:
            self.commit()
            if self.is_there and self.uncommitted():
                self._hold_back()
            if path[:-1] != self.path[:-1]:
                self.store.at(self.path[:-1]).changed.disconnect(self._place_changed)
                self.store.at(path[:-1]).changed.connect(self._place_changed)
            was, now = _rows_of(self.path), _rows_of(path)
            if was != now:
                if was is not None:
                    self.store.at(was).changed.disconnect(self._rows_changed)
                if now is not None:
                    self.store.at(now).changed.connect(self._rows_changed)
            self.path = path
            self.refresh()
            if path in self._elsewhere:
                held = self._elsewhere.pop(path)
                if not self._elsewhere:
                    self.store.changed.disconnect(self._held_moved)
                self._give_back(held)

    def take_label(self, beside: QLabel) -> None:
        """Make a label the field's own: its mnemonic, its tip."""
        self._beside = beside
        beside.setBuddy(self._editor())
        set_tip(beside, self._tip())

    def refresh(self) -> None:
        """Show the docket's value again, dropping what was typed and refused."""
        if not self.is_there:
            return  # the page is about to drop this field
        value = self.value
        self._show(value)
        self._say(None if value is None else self.parameter.advise(value))

    def focus(self) -> None:
        """Give the editor the keyboard, its text selected."""
        editor = self._editor()
        editor.setFocus(Qt.FocusReason.OtherFocusReason)
        if hasattr(editor, "selectAll"):
            editor.selectAll()

    def _put(self, value: Any, gesture: object | None = None) -> bool:
        """Edit the docket. False, with the reason shown, if the value is refused."""
        try:
            name = edit_name(self.path, self.store.docket, value, self.display)
            docket = self.store.docket
            with_it = put(docket, self.path, value)
            if self.along is not None:
                with_it = self.along(docket, value)
            self.store.replace(name, with_it, gesture)
        except BobweightError as error:
            self._say(error.problem)
            return False
        self._say(None if value is None else self.parameter.advise(value))
        return True

    def _say(self, problem: Problem | None) -> None:
        """Show why a value was refused, or advice on it, below the field; None clears it."""
        self.problem = problem
        refused = problem is not None and problem.grave
        editor = self._editor()
        before = editor.property("refused")
        if before != refused:
            editor.setProperty("refused", refused)
            editor.style().unpolish(editor)
            editor.style().polish(editor)
        if before or refused:
            self.store.refusal.emit(self)
        if problem is None:
            self.said.say("")
        else:
            place = problem if problem.path else Problem(problem.code, self.path, problem.facts)
            if len(place.path) < len(self.path):
                place = place.at(*self.path[:-1])
            text = sentence(place, self.store.docket, self.display)
            self.said.say(text, "wrong" if refused else "advice")
        self._describe()

    def _tip(self) -> str:
        return help_text(self.parameter)

    def _describe(self) -> None:
        """Tip, and name and description for a screen reader."""
        editor, tip = self._editor(), self._tip()
        for each in (editor, self._beside):
            if each is not None:
                set_tip(each, tip)
        self._place = place_text(self.path, self.store.docket)
        editor.setAccessibleName(self._place)
        said = self.said.text() if self.problem else ""
        editor.setAccessibleDescription(" ".join(part for part in (said, tip) if part))

    def _hold_back(self) -> None:
        """Keep what was refused here for when the path is shown again, wherever that moves."""
        if not self._elsewhere:
            self.store.changed.connect(self._held_moved)
        self._elsewhere[self.path] = self._hold()

    def _held_moved(self, change: Change) -> None:
        moved = ((change.followed(path), typed) for path, typed in self._elsewhere.items())
        self._elsewhere = {path: typed for path, typed in moved if path and not change.begun}
        if not self._elsewhere:
            self.store.changed.disconnect(self._held_moved)

    def _place_changed(self, change: Change) -> None:
        if change.begun or self._touched(change):
            self.refresh()

    def _rows_changed(self, change: Change) -> None:
        """The rows are others of which the field edits one: what it is called hangs on them."""
        if self.is_there and place_text(self.path, change.after) != self._place:
            self._say(self.problem)

    def _touched(self, change: Change) -> bool:
        *place, key = self.path
        u = (*place, "u", key)
        return change.touches(self.path) or (self.parameter.uncertain and change.touches(u))
