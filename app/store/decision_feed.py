"""From readings to a decision, worked out behind the window while someone looks at it.

A decision takes about a second. It is begun once the hand has rested for a moment, stopped and
dropped as soon as the docket is another one, and never waited for.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QTimer, Signal

from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.jobs import Runner, Ticket

if TYPE_CHECKING:
    from bobweight.app.store.outcome_feed import OutcomeFeed
    from bobweight.core.judgement.consequences import Consequences
    from bobweight.core.judgement.decision import Decision
    from bobweight.core.judgement.outcome import Outcome
    from bobweight.core.mechanics.predict import Prediction
    from bobweight.core.problems import Path

REST_MS = 400
"""The hand has rested this long before a decision is begun."""
STAGES = (
    ("diagnosis", 0.0, 0.5),
    ("fit", 0.5, 0.75),
    ("alterations", 0.75, 0.9),
    ("next-reading", 0.9, 1.0),
)
"""Each stage of the work, with the shares at which it begins and ends."""
_OF_THE_TABLE = 0, 1, 4, 5
"""Of a key, what check points hang on: session, particulars, target and setting up."""
_USUAL_POLLS = 40.0
_REMEMBERED = 6
Key = tuple[Any, ...]


def stage_at(share: float) -> str:
    """The stage that the work is in at a share done."""
    return [name for name, begins, _ in STAGES if share >= begins][-1]


class DecisionFeed(QObject):
    """The decision for the session shown, for whoever says that it is wanted.

    Signals
    -------
    changed()
        Another decision, work that began or ended, other layers shown on the board. An edit is told
        by the feed of outcomes alone, though the decision is of the docket before it.
    progressed(float)
        Share done.
    path_asked(path)
        A link to a value of the docket was followed.
    """

    changed = Signal()
    progressed = Signal(float)
    path_asked = Signal(object)

    def __init__(self, store: Store, feed: OutcomeFeed, display: Display) -> None:
        super().__init__(feed)
        self._store, self._feed, self._display = store, feed, display
        self._wanted: set[str] = set()
        self._layers: dict[str, frozenset[str]] = {}
        self._found: Consequences | None = None
        self._found_for: Key = ()
        self._asked_for: Key = ()
        self._refused_for: Key = ()
        self._judged: tuple[Outcome, Consequences | None, Outcome] | None = None
        self._recent: list[tuple[Key, Consequences]] = []
        self._chosen = 0
        self.failure: Exception | None = None
        self._timer = QTimer(self, singleShot=True, interval=REST_MS)
        self._timer.timeout.connect(self._begin)
        self._runner = Runner(self)
        self._runner.progressed.connect(self.progressed)
        self._runner.finished.connect(self._take)
        self._runner.failed.connect(self._fail)

    # What there is --------------------------------------------------------------------------

    @property
    def found(self) -> Consequences | None:
        """The latest decision and what follows from it; None before there is one."""
        return self._found

    @property
    def decision(self) -> Decision | None:
        """The latest decision; None before there is one."""
        return None if self._found is None else self._found.decision

    @property
    def is_current(self) -> bool:
        """True if the decision is of the docket and session as they stand."""
        return self._found is not None and self._found_for == self._key()

    @property
    def current(self) -> Consequences | None:
        """The decision's consequences if they are of the docket as it stands, else None."""
        return self._found if self.is_current else None

    @property
    def judged(self) -> Outcome:
        """The outcome of the docket as it stands, its check points as the decision has them. While
        one is awaited they stand as they were judged before, or untold; by the readings alone they
        are where none will come."""
        outcome, found = self._feed.outcome, self.current
        if found is None and not self.awaited:
            return outcome
        found = found or self._before()
        kept = self._judged
        if kept is None or kept[0] is not outcome or kept[1] is not found:
            kept = self._judged = outcome, found, _judged(outcome, found)
        return kept[2]

    def _before(self) -> Consequences | None:
        """The decision before this one, of the same session and check points."""
        found, key = self._found, self._key()
        if found is None or found.decision.judgement.bare:
            return None
        same = all(key[i] == self._found_for[i] for i in _OF_THE_TABLE)
        return found if same else None

    @property
    def awaited(self) -> bool:
        """Whether the docket as it stands will be judged in a moment."""
        return bool(self._wanted) and self._key() not in (self._found_for, self._refused_for)

    @property
    def doubted(self) -> Prediction | None:
        """The prediction by figures of which one cannot be right; None where they may be right."""
        return None if self.doubts is None else self._feed.outcome.prediction

    @property
    def doubts(self) -> tuple[Path, ...] | None:
        """Where one of the figures cannot be right, so that the docket as it stands was judged as
        if none were known: those that may be it, the likeliest first. None where they may be
        right."""
        found = self.current
        judgement = None if found is None else found.decision.judgement
        return judgement.doubted if judgement is not None and judgement.bare else None

    @property
    def busy(self) -> bool:
        """True while a decision is worked out or about to be."""
        return self._runner.busy or self._timer.isActive()

    @property
    def chosen(self) -> int:
        """Which of the lists of alterations is shown on the board; −1 for none."""
        return self._chosen

    def choose(self, option: int) -> None:
        """Show another list of alterations on the board, or (−1) none."""
        if option != self._chosen:
            self._chosen = option
            self.changed.emit()
            self._feed.followed.emit()  # the board is painted with the button that was clicked

    @property
    def layers(self) -> frozenset[str]:
        """What the board should show of it: any of ``fit``, ``preview``, ``next``, ``slips``."""
        return frozenset().union(*self._layers.values())

    # Who wants it ---------------------------------------------------------------------------

    def serve(self, page: QObject, who: str) -> None:
        """Have a page leave when it is destroyed without having been hidden."""
        page.destroyed.connect(lambda _page=None: self.leave(who))

    def want(self, who: str, layers: tuple[str, ...] = ()) -> None:
        """Somebody looks: keep the decision up to date, and show these layers on the board."""
        if who in self._wanted and self._layers.get(who) == frozenset(layers):
            return
        self._wanted.add(who)
        self._layers[who] = frozenset(layers)
        self._see_to_it(0)
        self.changed.emit()

    def leave(self, who: str) -> None:
        """Somebody looks away; what is being worked out for nobody is stopped."""
        if who not in self._wanted:
            return
        self._wanted.discard(who)
        self._layers.pop(who, None)
        if not self._wanted:
            self._timer.stop()
            self._runner.stop()
        self.changed.emit()

    def stop(self) -> None:
        """The user has waited enough: keep what is ready, and begin again only when asked."""
        self._refused_for = self._key()
        self._timer.stop()
        self._runner.stop()
        self.changed.emit()

    def again(self) -> None:
        """Work it out now, stopped before or not."""
        self._refused_for = ()
        if self._found is not None and not self._found.decision.complete:
            self._found_for = ()
        self._see_to_it(0)
        self.changed.emit()

    def close(self) -> None:
        """The window closes: nothing is begun any more, what runs is waited for."""
        self._timer.stop()
        self._wanted.clear()
        self._runner.close()

    # The work -------------------------------------------------------------------------------

    def _key(self) -> Key:
        """The session and records that a decision hangs on."""
        docket = self._store.docket
        session = self._display.session_index(docket)
        return (
            session, docket.particulars, docket.mechanism, docket.capsules, docket.target,
            docket.setting_up, docket.sessions, docket.states, docket.history,
        )  # fmt: skip

    def follow_outcome(self) -> None:
        """The docket or the session is another."""
        key = self._key()
        if self._runner.busy and self._asked_for != key:
            self._runner.stop()
        if key != self._found_for:
            self._recall(key)
        if self._wanted:
            self._see_to_it(REST_MS)

    def _see_to_it(self, rest_ms: int) -> None:
        """Begin after a rest, if there is anything to be worked out."""
        key = self._key()
        if not self._wanted or key in (self._found_for, self._refused_for):
            self._timer.stop()
        elif not (self._runner.busy and self._asked_for == key):
            self._timer.start(rest_ms)

    def _begin(self) -> None:
        key = self._key()
        if not self._wanted or key == self._found_for:
            return
        self._asked_for = key
        self.failure = None
        self._runner.start(_DecisionWork(self._feed.outcome))
        self.changed.emit()

    def _take(self, found: Consequences) -> None:
        """A superseded decision, and one that nobody waits for, is dropped."""
        key = self._asked_for
        if key == self._key() and (found.decision.complete or key == self._refused_for):
            self._found, self._found_for, self._chosen = found, key, 0
            if found.decision.complete:
                self._recent = [(key, found), *self._recent][:_REMEMBERED]
        if not self._timer.isActive():  # else the hand that ended it has not rested yet
            self._see_to_it(0)
        self.changed.emit()
        self._feed.followed.emit()  # the board is painted with the pages that tell of it

    def _recall(self, key: Key) -> None:
        """An undo, or another session, may bring back what has been decided before."""
        for known, found in self._recent:
            if known == key:
                self._found, self._found_for, self._chosen = found, key, 0
                return

    def _fail(self, error: Exception) -> None:
        self.failure = error
        self._refused_for = self._asked_for
        self.changed.emit()


def _judged(outcome: Outcome, found: Consequences | None) -> Outcome:
    """An outcome as a decision has it, untold without one."""
    from bobweight.core.judgement.judged import judged_outcome, unjudged

    return unjudged(outcome) if found is None else judged_outcome(outcome, found.decision.judgement)


class _DecisionWork:
    """The work of one decision, as the runner calls it."""

    def __init__(self, known: Outcome) -> None:
        self._known = known
        self._stage = STAGES[0]
        self._polls = 0

    def __call__(self, ticket: Ticket) -> Consequences:
        from bobweight.core.judgement.consequences import consequences
        from bobweight.core.judgement.decision import decide_docket

        self._ticket = ticket
        known = self._known
        return consequences(
            decide_docket(known.docket, known.session, self._progress, self._cancelled, known)
        )

    def _progress(self, stage: str, share: float) -> None:
        self._stage = next((s for s in STAGES if s[0] == stage), ("done", 1.0, 1.0))
        self._polls = 0
        self._ticket.tell(share)

    def _cancelled(self) -> bool:
        """Asked before every batch: the share creeps towards the end of its stage."""
        self._polls += 1
        _, begins, ends = self._stage
        share = begins + (ends - begins) * (1.0 - math.exp(-self._polls / _USUAL_POLLS))
        self._ticket.tell(share)
        return self._ticket.stopped
