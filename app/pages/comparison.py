"""Each check point: the band, the prediction, what the readings say, the decision."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QWidget,
)

from bobweight.app.messages.figure_words import said
from bobweight.app.messages.judgement import branches_sentence
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import VERDICT_SIGNS, set_role, theme_for
from bobweight.app.widgets.card import stacked
from bobweight.app.widgets.follower import Follower
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.widgets.table import Column, ReadTable
from bobweight.app.words import translate
from bobweight.core.figure import points
from bobweight.core.figure.description import word
from bobweight.core.figure.numbers import short
from bobweight.core.figure.view import View
from bobweight.core.judgement.compare import PointResult


class PointWords:
    """A check point in words, in the frame shown."""

    def __init__(self, view: View) -> None:
        self.view = view

    def columns(self) -> tuple[Column, ...]:
        """Where, decision, inside, found, band, predicted."""
        return (
            Column(translate("pages", "At\nrev/min"), self.where, True),
            Column(translate("pages", "Decision"), self.decision, colour=_verdict_colour),
            Column(translate("pages", "Inside"), self.probability, True),
            Column(translate("pages", "Found\n°"), self.measured, True,
                   spoken=self.measured_spoken),
            Column(translate("pages", "Band\n°"), self.band, True),
            Column(
                translate("pages", "Predicted\n°"), self.predicted, True,
                colour=_predicted_colour, spoken=self.predicted_spoken,
                short=translate("pages", "Pred.\n°"),
            ),
        )  # fmt: skip

    def predicted_spoken(self, point: PointResult) -> str:
        """The prediction with its branch as a word."""
        return _with_sign(point, said(points.predicted(point, self.view, spelt=True)), " ")

    def measured_spoken(self, point: PointResult) -> str:
        """The same of what was found."""
        return said(points.found(point, self.view, spelt=True)) or "–"

    def where(self, point: PointResult) -> str:
        """Speed or depression, or that it is the ceiling."""
        return said(points.place(point, self.view))

    def band(self, point: PointResult) -> str:
        """Least and most."""
        return said(points.band(point, self.view))

    def predicted(self, point: PointResult) -> str:
        """The prediction and whether it lies inside."""
        told = said(points.predicted(point, self.view))
        return _with_sign(point, told, "" if point.predicted_branch else "\u00a0")

    def measured(self, point: PointResult) -> str:
        """Where the curve runs there by all that is known."""
        return said(points.found(point, self.view)) or "–"

    def decision(self, point: PointResult) -> str:
        """Inside, outside, that it cannot be told, or not yet."""
        return f"{VERDICT_SIGNS[point.told]} {said(points.decision(point.told))}"

    def probability(self, point: PointResult) -> str:
        """How probable it is that the true value lies inside the band."""
        return points.chance(point) or "–"


def _with_sign(point: PointResult, predicted: str, gap: str) -> str:
    """A prediction behind the sign that says whether it lies inside."""
    sign = {True: f"✓{gap}", False: f"✗{gap}", None: ""}[point.predicted_inside]
    return f"{sign}{predicted}" if predicted else "–"


def frame_sentence(view: View) -> str:
    """In which frame a table's figures stand."""
    if view.frame == "distributor":
        return translate("pages", "Distributor degrees and speed.")
    if view.frame == "crank":
        return translate("pages", "Crank degrees without static, engine speed.")
    words = translate("pages", "Crank degrees with {static}° static, engine speed.")
    return words.format(static=short(view.static_deg))


def _verdict_colour(point: PointResult) -> str:
    return theme_for().verdict(point.told)


def _predicted_colour(point: PointResult) -> str:
    return theme_for().wrong if point.predicted_inside is False else ""


class ComparisonView(Follower):
    """The comparison as a table to read, with what its numbers are."""

    def __init__(
        self, store: Store, feed: OutcomeFeed, display: Display, parent: QWidget | None = None
    ) -> None:
        super().__init__(store, feed, display, parent)
        self.words = PointWords(display.view(feed.outcome.docket))
        self._told: tuple[object, ...] = ()
        name = translate("pages", "Check points and decisions")
        self.view = ReadTable(name, self.words.columns(), None)
        self.said = PlainLabel()
        stacked(self, self.view, self.said)  # before they are styled
        self.model = self.view.table_model
        self.view.setWordWrap(False)
        self.view.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.view.setStyleSheet(f"font-size: {theme_for().small_pt}pt")  # six columns
        self.said.setWordWrap(True)
        self.said.setAlignment(Qt.AlignmentFlag.AlignTop)
        set_role(self.said, "faint")
        feed.decisions.changed.connect(self.follow_when_seen)
        self.follow()

    def _rows(self) -> tuple[PointResult, ...]:
        """The check points as judged by everything that is known, as far as that is worked out."""
        return self.feed.decisions.judged.comparison.all_points

    def follow(self) -> None:
        rows, view = self._rows(), self.display.view(self.feed.outcome.docket)
        told = (rows, view, self.display.shown, theme_for())
        if told == self._told:
            return
        self._told = told
        self.words.view = view
        self.view.show_rows(rows)
        if not rows:
            self.said.setText(translate("pages", "The target has no check points yet."))
            return
        lines = [frame_sentence(view)]
        branches = points.branches(rows)
        if branches:
            lines.append(branches_sentence([said(word(f"branch-{b}-key")) for b in branches]))
        self.said.setText(" ".join(lines))
