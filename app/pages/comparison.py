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
from bobweight.core.figure.numbers import short
from bobweight.core.figure.view import View
from bobweight.core.judgement.compare import PointResult
from bobweight.core.units import percent

_BRANCH_SIGNS = {"rising": "▲", "falling": "▼"}
"""As the readings are marked on the board."""


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
                translate("pages", "Pre-\ndicted\n°"), self.predicted, True,
                colour=_predicted_colour, spoken=self.predicted_spoken,
            ),
        )  # fmt: skip

    def predicted_spoken(self, point: PointResult) -> str:
        """The prediction with its branch as a word."""
        return _spoken(self.predicted(point))

    def measured_spoken(self, point: PointResult) -> str:
        """The same with its branch as a word."""
        return _spoken(self.measured(point))

    def where(self, point: PointResult) -> str:
        """Speed or depression, or that it is the ceiling."""
        if point.kind == "ceiling":
            return translate("pages", "ceiling")
        if point.depression_kpa is not None:
            return f"{self.view.depression(point.depression_kpa)} {self.view.depression_unit}"
        speed = self.view.speed(point.speed_rpm or 0.0)
        if point.kind == "start":
            return translate("pages", "< {speed}").format(speed=speed)
        return speed

    def _stands(self, point: PointResult) -> View:
        return self.view.moving if point.kind == "vacuum" else self.view

    def band(self, point: PointResult) -> str:
        """Least and most."""
        return said(self._stands(point).between(point.low_deg, point.high_deg))

    def predicted(self, point: PointResult) -> str:
        """The prediction and whether it lies inside."""
        if point.predicted_deg is None:
            return "–"
        sign = {True: "✓", False: "✗", None: ""}[point.predicted_inside]
        branch = point.predicted_branch
        sign += _BRANCH_SIGNS[branch] if branch else ""
        said = self._stands(point).at(point.predicted_deg)
        return f"{sign}\u00a0{said}" if sign else said

    def measured(self, point: PointResult) -> str:
        """Where the curve runs there by all that is known."""
        if point.estimate_deg is None:
            return "–"
        said = self._stands(point).at_u(point.estimate_deg, point.u_deg)
        branch = point.estimate_branch
        return f"{_BRANCH_SIGNS[branch]} {said}" if branch else said

    def decision(self, point: PointResult) -> str:
        """Inside, outside, or that it cannot be told."""
        verdict = point.word
        words = {
            "inside": translate("pages", "inside"),
            "looks inside": translate("pages", "looks in"),
            "looks outside": translate("pages", "looks out"),
            "outside": translate("pages", "outside"),
        }.get(verdict, translate("pages", "can’t tell"))
        if point.not_read:
            words = translate("pages", "not read")
        return f"{VERDICT_SIGNS.get(verdict, '?')} {words}"

    def probability(self, point: PointResult) -> str:
        """How probable it is that the true value lies inside the band."""
        if point.probability_inside is None:
            return "–"
        return percent(point.probability_inside)


def frame_sentence(view: View) -> str:
    """In which frame a table's figures stand."""
    if view.frame == "distributor":
        return translate("pages", "Distributor degrees and speed.")
    if view.frame == "crank":
        return translate("pages", "Crank degrees without static, engine speed.")
    words = translate("pages", "Crank degrees with {static}° static, engine speed.")
    return words.format(static=short(view.static_deg))


def _verdict_colour(point: PointResult) -> str:
    return theme_for().verdict(point.word)


def _predicted_colour(point: PointResult) -> str:
    return theme_for().wrong if point.predicted_inside is False else ""


def _spoken(said: str) -> str:
    for direction, sign in _BRANCH_SIGNS.items():
        said = said.replace(sign, f" {_branch_word(direction)} ")
    return " ".join(said.split())


def _branch_word(direction: str) -> str:
    words = {"rising": translate("pages", "rising"), "falling": translate("pages", "falling")}
    return words[direction]


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
        outside = {b for p in rows for b in (p.predicted_branch, p.estimate_branch)}
        branches = [direction for direction in _BRANCH_SIGNS if direction in outside]
        if branches:
            named = [f"{_BRANCH_SIGNS[d]} {_branch_word(d)}" for d in branches]
            lines.append(branches_sentence(named))
        self.said.setText(" ".join(lines))
