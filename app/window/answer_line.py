"""The answer, over everything: the unit, the one sentence of judgement, and what can be done."""

from __future__ import annotations

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QWidget

from bobweight.app.editors.take_alteration import take_alteration
from bobweight.app.guard import guarded
from bobweight.app.messages.lacking import lacking
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import VERDICT_SIGNS, set_colour, theme_for
from bobweight.app.widgets.card import button
from bobweight.app.widgets.follower import Follower
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.widgets.words import Words
from bobweight.app.words import translate, unit_title, weighing
from bobweight.core.frozen import frozen

HEIGHT_PX = 56
_TWO_LINES = 110  # a line so many characters wide says all in two lines
_REST_MS = 200
_NAME = "answer"
_VERDICTS = {
    "inside": "inside", "looks inside": "inside", "outside": "outside", "looks outside": "outside",
}  # fmt: skip


@frozen
class Answer:
    """What is said, with its colour by ``verdict``; ``page`` is where it is shown, ``done`` whether
    there is an alteration that may be said to be done."""

    text: str
    verdict: str = "cannot tell"
    page: str = "verdict"
    done: bool = False
    stale: bool = False


def answer_of(feed: OutcomeFeed, frame: str = "") -> Answer:
    """The answer for the docket as it stands, as far as it is known, in the frame shown."""
    outcome = feed.outcome
    grave = [p for p in outcome.problems if p.grave]
    if not len(outcome.reduced.index):
        known = feed.decisions.current
        if known is not None and known.decision.action == "read-first":
            from bobweight.app.messages.judgement import judgement_sentence

            judgement = known.decision.judgement
            first = judgement.helps_most[0].what if judgement.helps_most else "read"
            page = "target" if first == "enter-table" else "readings"
            return Answer(judgement_sentence(judgement, frame), page=page)
        from bobweight.core.judgement.blanks import blanks

        if outcome.prediction is None and grave and not blanks(outcome.docket):
            why = lacking(outcome)
            text = translate("answer", "Something typed cannot be: see Mechanism.")
            return Answer(why[0].text if why else text, page="mechanism")
        said = translate("answer", "No readings yet: take some on the Readings page.")
        return Answer(said, page="readings")
    found = feed.decisions.found
    if found is None:
        return Answer(weighing(), stale=True)
    from bobweight.app.messages.judgement import judgement_sentence

    judgement, current = found.decision.judgement, feed.decisions.is_current
    return Answer(
        judgement_sentence(judgement, frame),
        _VERDICTS.get(judgement.decision, "cannot tell"),
        "sheet" if judgement.action == "leave-alone" else "verdict",
        done=current and judgement.action == "alter" and bool(found.options),
        stale=not current,
    )


class AnswerLine(Follower):
    """One line over everything, the same height whatever it says: taller in a narrow window.

    Signals
    -------
    page_asked(str)
        What the answer speaks of should be shown.
    """

    page_asked = Signal(str)

    def __init__(self, store: Store, feed: OutcomeFeed, display: Display) -> None:
        super().__init__(store, feed, display)
        self.setObjectName("answer")
        self.answer = Answer("")
        self.unit, self.said = PlainLabel(), Words()
        self.said.setWordWrap(True)
        self.said.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.said.setAccessibleName(translate("answer", "The answer"))
        font = self.said.font()
        font.setBold(True)
        self.unit.setFont(font)
        self.show_button = button(
            translate("answer", "Show"), translate("answer", "Show what this rests on."), self._show
        )
        self.done_button = button(
            translate("answer", "Done"),
            translate("answer", "It is done: take it into the docket, and read the unit again."),
            self.take,
        )
        # In a widget of its own: what comes and goes in it would lay out the whole window anew.
        self._content = QWidget(self)
        row = QHBoxLayout(self._content)
        row.setContentsMargins(12, 4, 10, 4)
        row.setSpacing(12)
        row.addWidget(self.unit)
        row.addWidget(self.said, 1)
        row.addWidget(self.show_button)
        row.addWidget(self.done_button)
        self._wanting = QTimer(
            self, singleShot=True, interval=_REST_MS
        )  # the window is painted first
        self._wanting.timeout.connect(self._want)

    @guarded
    def showEvent(self, event: QShowEvent) -> None:
        self._stale = True
        super().showEvent(event)
        self._wanting.start()

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._fit_height()
        self._content.setGeometry(self.contentsRect())  # of the height that it has now

    def _fit_height(self) -> None:
        metrics = self.said.fontMetrics()
        lines = 2 if self.width() >= _TWO_LINES * metrics.horizontalAdvance("0") else 3
        self.setFixedHeight(max(HEIGHT_PX, lines * metrics.lineSpacing() + 12))

    def _want(self) -> None:
        decisions = self.feed.decisions
        decisions.changed.connect(self.follow_when_seen)
        decisions.want(_NAME)
        self.follow()

    def follow(self) -> None:
        """The unit, the sentence and the buttons, of the docket as it stands."""
        self._fit_height()
        docket = self.store.docket
        title = unit_title(docket)
        room = max(self.width() // 6, 120)
        self.unit.setText(
            self.unit.fontMetrics().elidedText(title, Qt.TextElideMode.ElideRight, room)
        )
        set_tip(self.unit, title)
        self.answer = answer = answer_of(self.feed, self.display.frame)
        sign = VERDICT_SIGNS.get(answer.verdict, "?")
        self.said.setText(f"{sign} {answer.text}")
        set_tip(self.said, answer.text)
        theme = theme_for(self.palette())
        set_colour(self.said, theme.faint if answer.stale else theme.verdict(answer.verdict))
        self.done_button.setVisible(answer.done)

    def take(self) -> None:
        """The alteration was made: put it into the docket, and go to the readings after it."""
        if self.answer.done and take_alteration(self.store, self.feed, self.display):
            self.page_asked.emit("readings")

    def _show(self) -> None:
        if self.answer.done:
            self.feed.decisions.choose(0)
        self.page_asked.emit(self.answer.page)

    def close_down(self) -> None:
        """The window closes."""
        self._wanting.stop()
