"""From readings to a decision: conformity, explanations, the next reading, what to alter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton

from bobweight.app.guard import guarded
from bobweight.app.messages.explanations import action_sentence
from bobweight.app.messages.figures import judged_by
from bobweight.app.pages.comparison import ComparisonView
from bobweight.app.pages.page import Page
from bobweight.app.pages.verdict.compare_part import ComparePart
from bobweight.app.store.decision_feed import stage_at
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import VERDICT_SIGNS
from bobweight.app.widgets.card import in_row
from bobweight.app.widgets.plain import set_tip
from bobweight.app.widgets.words import words
from bobweight.app.widgets.worked_out import Group, WorkedOut
from bobweight.app.words import translate, weighing
from bobweight.core.figure.decided import UNREAD
from bobweight.core.judgement.compare import Comparison
from bobweight.core.judgement.outcome import Outcome
from bobweight.core.problems import Path, Problem
from bobweight.core.statistics.conformity import Conformity

if TYPE_CHECKING:
    from bobweight.app.pages.verdict.part import VerdictPart

_LAYERS = ("fit", "preview", "next", "slips")
_STATES = {"inside": "done", "looks inside": "done", "outside": "wrong", "looks outside": "wrong"}


class VerdictPage(Page):
    """Conformity at once; the rest follows from behind the window."""

    key = "verdict"

    @classmethod
    def state_of(cls, feed: OutcomeFeed) -> str:
        """``empty`` without readings; ``wrong`` while they cannot be judged or the unit is outside
        its band; ``begun`` while it cannot be told; else ``done``."""
        outcome = feed.outcome
        if not len(outcome.reduced.index):
            return "empty"
        known = outcome.prediction is not None or _is_partly_known(outcome)
        if not known or not outcome.comparison.all_points:
            return "wrong"
        judged = feed.decisions.judged.comparison
        if judged.decision:
            return _STATES.get(judged.decision, "begun")
        states = {Conformity.INSIDE: "done", Conformity.OUTSIDE: "wrong"}
        return states.get(judged.overall, "begun")

    @classmethod
    def problems_of(cls, feed: OutcomeFeed) -> tuple[Problem, ...]:
        """Why there is no decision, and advice on the readings."""
        found = feed.decisions.current
        return () if found is None else found.decision.problems

    def build(self) -> None:
        self.decisions = self.feed.decisions
        self.decisions.serve(self, self.key)
        self.overall, self.judged = words(bold=True), words(role="faint")
        self._build_work()
        self.told = self.add_group(
            "", self.overall, self.judged, self.action, self.helps, self.stale
        )
        self.told.body.addStretch(1)  # takes the room that is held
        points = self.add_group(translate("verdict", "Check points"))  # made where they stand
        self.comparison = ComparisonView(self.store, self.feed, self.display, points.content)
        self.worked = WorkedOut("verdict", self.display, self._went_in)
        for widget in (self.comparison, self.worked):
            points.body.addWidget(widget)
        self.compare = ComparePart(self.store, self.feed, self.display)
        self.body.addWidget(self.compare)
        self.parts: list[VerdictPart] = []
        self._shown: tuple[object, ...] = ()
        self.decisions.changed.connect(self.follow_when_seen)
        self.decisions.progressed.connect(self._progressed)

    def _build_work(self) -> None:
        """What to do now, and how far the work behind the window is."""
        self.action, self.helps, self.stale = words(), words(), words(role="advice")
        self.action.setFont(self.overall.font())
        self.status = words(role="faint")
        self.progress = QProgressBar()
        self.progress.setRange(0, 100)
        self.progress.setValue(0)  # Qt's own first value lies below the range
        self.progress.setAccessibleName(translate("verdict", "Progress of the verdict"))
        self.stop_button = QPushButton(translate("verdict", "Stop"))
        set_tip(self.stop_button, translate("verdict", "Keeps what is ready."))
        self.stop_button.clicked.connect(self.decisions.stop)
        self.again_button = QPushButton(translate("verdict", "Work it out"))
        self.again_button.clicked.connect(self.decisions.again)
        self.progress.setFixedWidth(6 * self.fontMetrics().averageCharWidth())
        self.progress.setTextVisible(False)
        self.progress.setFixedHeight(8)
        # Beside the heading, and as tall while nothing is worked out: an edit moves nothing.
        work = (self.status, self.progress, self.stop_button, self.again_button)
        self.work = in_row(self.heading, *work, stretch=False)
        row = self.work.layout()
        assert isinstance(row, QHBoxLayout)
        row.setStretchFactor(self.status, 1)
        height = max(self.stop_button.sizeHint().height(), 2 * self.fontMetrics().lineSpacing())
        self.work.setFixedHeight(height)
        # So that the heading stands where every page has it.
        edge = self.body.contentsMargins()
        over = (height - self.heading.sizeHint().height()) // 2
        edge.setTop(max(0, edge.top() - over))
        self.body.setContentsMargins(edge)
        self.body.insertWidget(0, self.work)

    # Following ------------------------------------------------------------------------------

    @guarded
    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.decisions.want(self.key, _LAYERS)

    @guarded
    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.decisions.leave(self.key)

    def focus_path(self, path: Path) -> bool:
        """Nothing is entered here: the window is asked for the page that has the value."""
        self.decisions.path_asked.emit(path)
        return True

    def follow(self) -> None:
        super().follow()
        outcome = self.feed.outcome
        self.overall.setText(self._overall_text(outcome))
        self.compare.follow()
        told = self.decisions.judged.comparison.all_points
        self.worked.follow(any((p.predicted_deg, p.estimate_deg) != (None, None) for p in told))
        self._follow_decision()

    def _went_in(self) -> Sequence[Group]:
        from bobweight.core.judgement.workings import inputs

        outcome = self.feed.outcome
        return ((outcome.unit, inputs("verdict", outcome.unit, outcome.session)),)

    def _follow_decision(self) -> None:
        decisions = self.decisions
        found, current, busy = decisions.found, decisions.is_current, decisions.busy
        empty = self.state() == "empty"
        there = found is not None and bool(found.decision.explanations) and not empty
        held = there and busy and self.isVisible()  # the next one's words come to stand there
        for place in (self.told, self.comparison.said):
            place.setMinimumHeight(place.height() if held else 0)
        also = found.decision.judgement.also_read if found is not None and current else ()
        self.judged.setText(judged_by(self.feed.outcome, also))
        for widget in (self.progress, self.stop_button):
            widget.setVisible(busy and not empty)
        if not busy:
            self.progress.setValue(0)
        self.status.setText("" if empty else self._status_text(there))
        complete = found is not None and found.decision.complete
        stopped = not busy and not (current and complete)
        self.again_button.setVisible(stopped and self.isVisible() and not empty)
        self.action.show_text(self._action_text(empty))
        self.helps.show_text(self._helps_text())
        self.stale.show_text(self._stale_text(empty))
        if there and not self.parts:
            self._make_parts()
        for part in self.parts:
            if not there:
                part.hide()
        if found is None or not there:
            self._shown = ()
            return
        to_show = (found, self.display.shown)
        for part in self.parts:
            if self._shown != to_show:
                part.show()
                part.show_found(found)
            part.show_current(found, current)
        self._shown = to_show

    def _make_parts(self) -> None:
        """The cards of what was found: the page is first shown before there is anything."""
        from bobweight.app.pages.verdict.alter_part import AlterPart
        from bobweight.app.pages.verdict.explanation_part import ExplanationPart
        from bobweight.app.pages.verdict.fit_part import FitPart
        from bobweight.app.pages.verdict.next_part import NextPart
        from bobweight.app.pages.verdict.sensitivity_part import SensitivityPart

        kinds = (ExplanationPart, NextPart, AlterPart, SensitivityPart, FitPart)
        self.parts = [part(self.store, self.feed, self.display) for part in kinds]
        at = self.body.indexOf(self.compare) + 1
        for place, part in enumerate(self.parts, at):
            self.body.insertWidget(place, part)

    def _overall_text(self, outcome: Outcome) -> str:
        """The one sentence of the judgement, once it is made; where none can be, what the readings
        alone say."""
        found = self.decisions.current
        if found is None:
            return weighing() if self.decisions.awaited else overall_text(outcome)
        from bobweight.app.messages.judgement import judgement_sentence

        if found.decision.action == UNREAD:
            return f"? {judgement_sentence(found.decision.judgement, self.display.frame)}"
        if not found.decision.explanations:
            return overall_text(outcome)
        judgement = found.decision.judgement
        if judgement.probability_inside is None:
            return f"? {judgement_sentence(judgement, self.display.frame)}"
        word = {"looks inside": "inside", "looks outside": "outside"}.get(
            judgement.decision, judgement.decision
        )
        return f"{VERDICT_SIGNS.get(word, '?')} {judgement_sentence(judgement, self.display.frame)}"

    def _action_text(self, empty: bool) -> str:
        decisions = self.decisions
        if empty:
            found = decisions.current
            if found is not None and found.decision.action == UNREAD:
                return ""  # its one sentence says what comes first
            return translate("verdict", "Take readings first, on the Readings page.")
        if decisions.failure is not None:
            text = translate("verdict", "The verdict could not be worked out ({error}).")
            return text.format(error=decisions.failure)
        if decisions.found is None:
            return ""  # the heading says how far it is
        from bobweight.app.messages.judgement import (
            error_sentences,
            judgement_sentence,
            reason_sentence,
        )

        decision = decisions.found.decision
        judgement = decision.judgement
        frame = self.display.frame
        if not decision.explanations:
            return action_sentence(decision.action)
        lines = error_sentences(judgement, frame)
        lines += [reason_sentence(reason, judgement, frame) for reason in judgement.reasons]
        sentence = judgement_sentence(judgement, frame)  # stands above
        lines = [line for line in lines if line not in sentence]
        return "\n".join(lines)

    def _helps_text(self) -> str:
        """What would help the decision besides what its one sentence says."""
        found = self.decisions.current
        judgement = None if found is None else found.decision.judgement
        if judgement is None or (self.state() == "empty" and judgement.action != UNREAD):
            return ""
        from bobweight.app.messages.judgement import help_sentence, judgement_sentence

        frame = self.display.frame
        said = judgement_sentence(judgement, frame)
        more = [h for h in judgement.helps_most if help_sentence(h, judgement, frame) not in said]
        shown = self.display.view(
            judgement.docket
        ).frame  # the board's, be it chosen or the table's
        lines = [help_sentence(helps, judgement, shown) for helps in more]
        if not lines:
            return ""
        listed = [f"• {line}" for line in lines]
        return "\n".join([translate("verdict", "What would help most:"), *listed])

    def _status_text(self, there: bool) -> str:
        """What the decision shown is of, and how far the next one is."""
        decisions, found = self.decisions, self.decisions.found
        if there and found is not None and not decisions.is_current:
            return "△ " + translate("verdict", "This is of the docket before the last edit.")
        if there and found is not None and not found.decision.complete and not decisions.busy:
            return "△ " + translate("verdict", "Stopped: what was ready by then is shown.")
        return stage_words(stage_at(self.progress.value() / 100)) if decisions.busy else ""

    def _stale_text(self, empty: bool) -> str:
        """What the decision shown is not."""
        found = self.decisions.current
        if empty or found is None or not found.decision.complete:
            return ""
        from bobweight.core.judgement.consequences import read_before

        later = read_before(self.store.docket, found.decision.session)
        if not later:
            return ""
        text = translate(
            "verdict",
            "These readings were taken before “{what}”; the docket describes the unit after it.",
        )
        return "△ " + text.format(what=later[0].what)

    def _progressed(self, share: float) -> None:
        self.progress.setValue(round(100 * share))
        if self.state() != "empty":
            self.status.setText(self._status_text(bool(self._shown)))

    def close_down(self) -> None:
        """The window closes."""
        self.decisions.close()


def stage_words(stage: str) -> str:
    """What is being worked out."""
    return {
        "diagnosis": translate("verdict", "Weighing what could explain the readings."),
        "fit": translate("verdict", "Fitting the docket’s figures to the readings."),
        "alterations": translate("verdict", "Trying alterations."),
        "next-reading": translate("verdict", "Looking for the reading that tells most."),
    }.get(stage, "")


def _is_partly_known(outcome: Outcome) -> bool:
    from bobweight.core.judgement.assume import assume

    return bool(assume(outcome.unit).known)


def overall_text(outcome: Outcome) -> str:
    """Whether the unit conforms, in a sentence with its sign."""
    comparison: Comparison = outcome.comparison
    points = comparison.all_points
    if not points:
        return translate("verdict", "? There is no target to judge by.")
    verdict = str(comparison.overall.value)
    sign = VERDICT_SIGNS.get(verdict, "?")
    verdicts = [str(point.verdict.value) for point in points]
    facts = {
        "outside": verdicts.count("outside"),
        "open": len(verdicts) - verdicts.count("outside") - verdicts.count("inside"),
        "count": len(points),
    }
    text = {
        "inside": translate("verdict", "Conforms: inside at its one point.")
        if len(points) == 1
        else translate("verdict", "Conforms: inside at all {count} points."),
        "outside": translate("verdict", "Does not conform: outside at {outside} of {count}."),
    }.get(
        verdict,
        translate(
            "verdict",
            "By the readings alone it cannot be told yet: open at {open} of {count}.",
        ),
    )
    return f"{sign} {text.format(**facts)}"
