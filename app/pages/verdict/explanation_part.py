"""What explains the readings: every explanation with its probability and its sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QGridLayout, QWidget

from bobweight.app.messages.explanations import (
    alike_sentence,
    explanation_sentence,
    explanation_title,
    percent,
    probability_word,
    side_word,
)
from bobweight.app.pages.verdict.part import VerdictPart
from bobweight.app.widgets.bars import ProbabilityBar
from bobweight.app.widgets.card import stacked
from bobweight.app.widgets.fold import Fold
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.widgets.words import words
from bobweight.app.words import QT_TRANSLATE_NOOP, translate
from bobweight.core.problems import required

if TYPE_CHECKING:
    from bobweight.app.store.display import Display
    from bobweight.core.judgement.answer import Judgement
    from bobweight.core.judgement.consequences import Consequences
    from bobweight.core.judgement.diagnosis import Explanation

SHOWN = 0.01
"""Less probable explanations are folded away."""
_LEAST, _MOST_UNLIKELY = 2, 10


def _chances() -> list[str]:
    """The longest that stands beside a bar, with each word."""
    return [f"{percent(0.999)}, {probability_word(0.05 * n)}" for n in range(21)]


class ExplanationRow(QWidget):
    """One explanation: place and title, bar with word and number, sentence."""

    def __init__(self) -> None:
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 2, 0, 4)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(2)
        self.place = PlainLabel()
        self.title, self.side = words(bold=True), words(role="faint")
        self.bar = ProbabilityBar()
        self.number = PlainLabel()
        self.said, self.alike = words(), words(role="advice")
        self.place.setFont(self.title.font())
        self.place.setMinimumWidth(self.fontMetrics().horizontalAdvance("=88"))
        widest = max(map(self.fontMetrics().horizontalAdvance, _chances()))
        self.number.setMinimumWidth(widest)  # or each bar would have a length of its own
        grid.addWidget(self.place, 0, 0)
        grid.addWidget(self.title, 0, 1, 1, 2)
        grid.addWidget(self.bar, 1, 1)
        grid.addWidget(self.number, 1, 2)
        grid.addWidget(self.side, 2, 1, 1, 2)
        grid.addWidget(self.said, 3, 1, 1, 2)
        grid.addWidget(self.alike, 4, 1, 1, 2)
        grid.setColumnStretch(1, 1)

    def show_explanation(
        self, e: Explanation, judgement: Judgement, display: Display, shared: bool
    ) -> None:
        """Show an explanation of a judgement; each of those that share a place has an equals sign,
        the first as well, since the others may be folded away."""
        number = f"{percent(e.probability)}, {probability_word(e.probability)}"
        title = explanation_title(e.name)
        self.place.setText(f"={e.place}" if shared else str(e.place))
        self.place.setAccessibleName(translate("verdict", "Place {place}").format(place=e.place))
        self.title.setText(title)
        self.number.setText(number)
        self.bar.show_share(e.probability, f"{title}: {number}")
        self.side.show_text(side_word(e.side))
        said = explanation_sentence(e, judgement.described, display, judgement.assumed)
        self.said.setText(said)
        self.alike.show_text(alike_sentence(e))


class ExplanationPart(VerdictPart):
    """The explanations in their places, the least likely ones folded away."""

    title = QT_TRANSLATE_NOOP("verdict", "What explains the readings")

    def fill(self) -> None:
        self.rows: list[ExplanationRow] = []
        self._folded: list[ExplanationRow] = []
        self._likely, self._unlikely = QWidget(), QWidget()
        for holder in (self._likely, self._unlikely):
            stacked(holder, spacing=4)
        self.fold = Fold("", self._unlikely)
        self.note = words(
            translate(
                "verdict",
                "Each fault is a departure from the sound unit, as figures and table together have "
                "it. Those that share a place look alike to these readings.",
            ),
            "faint",
        )
        for widget in (self._likely, self.fold, self._unlikely, self.note):
            self.body.addWidget(widget)

    def show_found(self, found: Consequences) -> None:
        order = sorted(found.decision.explanations, key=lambda e: (e.place, -e.probability))
        likely = [e for e in order if e.probability >= SHOWN]
        likely = likely if len(likely) >= _LEAST else order[:_LEAST]
        unlikely = [e for e in order if e not in likely][:_MOST_UNLIKELY]
        judgement = found.decision.judgement
        places = [e.place for e in order]
        self._fill(self._likely, self.rows, likely, judgement, places)
        self._fill(self._unlikely, self._folded, unlikely, judgement, places)
        self.fold.setVisible(bool(unlikely))
        text = translate("verdict", "Less than {limit} each ({count})")
        self.fold.setText(text.format(limit=percent(SHOWN), count=len(unlikely)))
        if not unlikely:
            self.fold.setChecked(False)

    def _fill(
        self, holder: QWidget, rows: list[ExplanationRow], shown: list[Explanation],
        judgement: Judgement, places: list[int],
    ) -> None:  # fmt: skip
        """Show these in the rows of a holder; rows once made stay."""
        while len(rows) < len(shown):
            rows.append(ExplanationRow())
            required(holder.layout()).addWidget(rows[-1])
        for index, row in enumerate(rows):
            row.setVisible(index < len(shown))
            if index < len(shown):
                shared = places.count(shown[index].place) > 1
                row.show_explanation(shown[index], judgement, self.display, shared)
