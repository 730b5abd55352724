"""Everything computed of the open docket, once per docket, for all who show it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal

from bobweight.app.layouts import lay_out
from bobweight.app.store import Store
from bobweight.app.store.display import Display

if TYPE_CHECKING:
    from collections.abc import Callable

    from bobweight.app.store.decision_feed import DecisionFeed
    from bobweight.core.docket.docket import Docket
    from bobweight.core.figure.description import Figure
    from bobweight.core.figure.overlay import Overlay
    from bobweight.core.figure.view import View
    from bobweight.core.judgement.outcome import Outcome


class OutcomeFeed(QObject):
    """The outcome of the present docket and of its ghost, computed when first asked for.

    Signals
    -------
    changed()
        The docket, the ghost, the session or how values are shown is another. It is told once the
        program is back in its loop, however many edits came together: whoever edits does not
        wait for what follows, and what follows is worked out once.
    followed()
        All have followed that, or a decision; what is drawn of what several say may be drawn.
    overlay_changed()
        Other curves are laid over the board, or none any more.
    """

    changed = Signal()
    followed = Signal()
    overlay_changed = Signal()
    _due = Signal()

    def __init__(self, store: Store, display: Display, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._display = display
        self._session = display.session
        self._outcome: Outcome | None = None
        self._ghost_outcome: Outcome | None = None
        self._last: Outcome | None = None  # what an edit did not touch is taken from it
        self._overlay: Overlay | None = None
        self._other_outcome: Outcome | None = None
        self.pictures: dict[str, Callable[[View], Figure | None]] = {}
        self._decisions: DecisionFeed | None = None
        self._to_tell = False
        self._due.connect(self.tell, Qt.ConnectionType.QueuedConnection)
        store.changed.connect(self._docket_changed)
        store.ghost_changed.connect(self._ghost_changed)
        display.changed.connect(self._display_changed)

    @property
    def outcome(self) -> Outcome:
        """The outcome of the docket as it stands, for the session shown."""
        if self._outcome is None:
            self._outcome = self._computed(self._store.docket)
        return self._outcome

    @property
    def ghost_outcome(self) -> Outcome | None:
        """The outcome of the docket kept for comparison; None if there is none."""
        if self._ghost_outcome is None and self._store.ghost is not None:
            self._ghost_outcome = self._computed(self._store.ghost)
        return self._ghost_outcome

    @property
    def other_outcome(self) -> Outcome | None:
        """The outcome for the session that the one shown is compared with; None for none."""
        docket = self._store.docket
        session = self._display.compared_index(docket)
        if session is None:
            return None
        kept = self._other_outcome
        if kept is None or kept.docket is not docket or kept.session != session:
            from bobweight.core.judgement.outcome import outcome

            self._other_outcome = outcome(docket, session, kept)
        return self._other_outcome

    @property
    def decisions(self) -> DecisionFeed:
        """The decision for the session shown, worked out behind the window when it is wanted."""
        if self._decisions is None:
            from bobweight.app.store.decision_feed import DecisionFeed

            self._decisions = DecisionFeed(self._store, self, self._display)
        return self._decisions

    @property
    def overlay(self) -> Overlay | None:
        """What is laid over the board for comparison; None for nothing."""
        return self._overlay

    def tell(self) -> None:
        """Tell now of what is another, for whoever goes on with what follows from an edit."""
        if self._to_tell:
            self._to_tell = False
            if self._decisions is not None:  # first: who follows both follows once
                self._decisions.follow_outcome()
            self.changed.emit()
            self.followed.emit()
            lay_out()

    def show_overlay(self, overlay: Overlay | None) -> None:
        """Lay curves over the board, or (None) take them away."""
        if overlay is not self._overlay:
            self._overlay = overlay
            self.overlay_changed.emit()

    def offer_picture(self, key: str, make: Callable[[View], Figure | None] | None) -> None:
        """Offer a picture of what a page works on for the board's third pane, made in the frame
        shown; None takes it away."""
        if make is not None:
            self.pictures[key] = make
        elif self.pictures.pop(key, None) is None:
            return
        self.overlay_changed.emit()

    def _computed(self, docket: Docket) -> Outcome:
        from bobweight.core.judgement.outcome import outcome

        session = self._display.session_index(docket)
        self._last = outcome(docket, session=session, previous=self._last)
        return self._last

    def _docket_changed(self, _change: object) -> None:
        self._outcome = None
        self._tell_soon()

    def _ghost_changed(self) -> None:
        self._ghost_outcome = None
        self._tell_soon()

    def _display_changed(self) -> None:
        if self._display.session != self._session:
            self._session = self._display.session
            self._outcome = self._ghost_outcome = None
        self._tell_soon()

    def _tell_soon(self) -> None:
        if not self._to_tell:
            self._to_tell = True
            self._due.emit()
