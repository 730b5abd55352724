"""A part that works on a spring of the tray: its undo is the tray's while the keyboard is in it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QWidget

from bobweight.app.editors.field import undone_here, wants_undo
from bobweight.app.guard import guarded
from bobweight.app.pages.springs.acts import use_as
from bobweight.app.pages.springs.part import SpringsPart
from bobweight.app.widgets.card import button, follow_stack, in_grid
from bobweight.app.words import translate


class OwnUndo(SpringsPart):
    """A part with buttons that undo and redo the tray, and the usual keys for the same; and with
    those that put the chosen spring into the docket."""

    def use_row(self) -> QWidget:
        """The two buttons that hook the chosen spring in."""
        self.primary_button = button(
            translate("springs", "Use as primary"),
            translate("springs", "A copy of the spring goes into the docket, as one edit."),
            self._use_primary,
        )
        self.secondary_button = button(
            translate("springs", "Use as secondary"),
            translate("springs", "A copy of the spring goes into the docket, as one edit."),
            self._use_secondary,
        )
        return in_grid(2, self.primary_button, self.secondary_button)

    def _use_primary(self) -> None:
        self.said.say(use_as(self.bench, self.bench.row, "primary"))

    def _use_secondary(self) -> None:
        self.said.say(use_as(self.bench, self.bench.row, "secondary"))

    def undo_row(self) -> QWidget:
        """The two buttons."""
        stack = self.tray.undo_stack
        self.undo_button = button(translate("springs", "Undo"), "", stack.undo)
        self.redo_button = button(translate("springs", "Redo"), "", stack.redo)
        # Queued, since a change is told before the stack has moved; and not by the stack's own
        # signal, which comes from its destructor too.
        self.tray.changed.connect(self.follow_undo, Qt.ConnectionType.QueuedConnection)
        return in_grid(2, self.undo_button, self.redo_button)

    def follow_undo(self, _change: object = None) -> None:
        """Say what would be undone and redone in the tray."""
        where = translate("springs", "In the tray: {edit}")
        follow_stack(self.tray.undo_stack, self.undo_button, self.redo_button, where)

    @guarded
    def event(self, event: QEvent) -> bool:
        """Undo and redo here are those of the tray."""
        if wants_undo(event):
            return undone_here(event, self.tray.undo_stack)
        return super().event(event)
