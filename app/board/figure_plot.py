"""A plot that shows a figure: its layers, its words, and what lies under the mouse."""

from __future__ import annotations

import math
from dataclasses import replace

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from bobweight.app.board import paint
from bobweight.app.board.drags import Grip
from bobweight.app.board.plots import PixelScale, PlotArea, PlotSheet
from bobweight.app.messages.figure_words import said
from bobweight.app.widgets.plain import set_tip
from bobweight.app.words import translate
from bobweight.core.figure.description import CheckSpan, Content, Figure, Label, alike
from bobweight.core.figure.numbers import figure as written
from bobweight.core.figure.numbers import span, typed
from bobweight.core.figure.place import Placed, named_events, place_labels
from bobweight.core.figure.points import decision
from bobweight.core.judgement.answer import BEING_JUDGED, NOT_READ
from bobweight.core.problems import required


class FigurePlot(PlotSheet):
    """One figure; a plot below it may share its axis."""

    MOST_HEIGHTS = 15.0
    """Words longer than so many times their height stand in two lines."""
    GATE, READING = "", ""
    """What a check point and a reading are called that the hand takes; empty if it takes none."""

    def __init__(self) -> None:
        super().__init__()
        self.figure: Figure | None = None
        self._painted: Figure | None = None
        self.bare_words = ""
        self.main = self.make_main()
        self.main.add(-5, self._draw_under)
        self.main.add(5, self._draw_over)
        self._kept: dict[str, int] = {}
        self._texts: dict[str, str] = {}
        self._placed: tuple[object, dict[str, Placed]] | None = None
        self.make_rest()
        self.read_theme()

    def make_main(self) -> PlotArea:
        """The view of the figure."""
        return self.add_view(0)

    def make_rest(self) -> None:
        """What a plot of its own kind has besides."""

    @property
    def shown(self) -> Figure:
        """The figure, where one is shown."""
        return required(self.figure)

    def show_figure(self, figure: Figure) -> None:
        """Show another figure; nothing is painted for one alike. While something is held the axes
        stand still."""
        if self.holding is not None and self.figure is not None:
            figure = replace(figure, x=self.figure.x, y=self.figure.y)
        self.figure, before = figure, self._painted
        self._painted = self.painted(figure)
        if before is not None and alike(self._painted, before):
            return
        self.main.set_range((figure.x.low, figure.x.high), (figure.y.low, figure.y.high))
        self.main.set_labels(said(figure.y.title), self.words_below(figure))
        self.update_views()

    def painted(self, figure: Figure) -> Figure:
        """As much of a figure as is painted here."""
        return figure

    def words_below(self, figure: Figure) -> str:
        """What is said under the view of the figure."""
        return said(figure.x.title)

    def read_theme(self) -> None:
        super().read_theme()
        self._placed = None

    def forget_words(self) -> None:
        self.figure = self._painted = self._placed = None  # it is shown again, in the other words

    # Painting

    def _draw_under(self, painter: QPainter, scale: PixelScale) -> None:
        painter.setClipRect(QRectF(0, 0, scale.width, scale.height).adjusted(-4, -4, 4, 4))
        if self.figure is None:
            paint.draw_grid(painter, self.main, scale, self.inks)
        else:
            paint.draw_under(painter, self.main, scale, self.figure, self.inks)

    def _draw_over(self, painter: QPainter, scale: PixelScale) -> None:
        if self.figure is None:
            return
        painter.setClipRect(QRectF(0, 0, scale.width, scale.height).adjusted(-4, -4, 4, 4))
        painter.setFont(self.inks.font)
        self.draw_between(painter, scale)
        grip = self.holding
        held = (grip.kind, grip.index) if grip is not None else ("", -1)
        places = self.label_places(scale)
        paint.draw_over(
            painter, scale, self.figure, named_events(self.figure, places), self.inks,
            held[1] if held[0] == self.GATE else None,
            held[1] if held[0] == self.READING else None,
        )  # fmt: skip
        self.draw_signs(painter, scale)
        paint.draw_labels(painter, self.figure, self._texts, places, self.inks)

    def draw_between(self, painter: QPainter, scale: PixelScale) -> None:
        """What a plot of its own kind has over the quiet parts and under the curves; here what is
        said where there is nothing to draw."""
        if self.bare_words and self.shown.bare:
            room = QRectF(0, 0, scale.width, scale.height)
            room = room.adjusted(*(self.inks.line_px * way for way in (1, 1, -1, -1)))
            flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            taken = painter.boundingRect(room, flags, self.bare_words)
            painter.fillRect(taken.adjusted(-6, -2, 6, 2), self.inks.paper)
            painter.setPen(self.inks.faint)
            painter.drawText(room, flags, self.bare_words)

    def draw_signs(self, painter: QPainter, scale: PixelScale) -> None:
        """What a plot of its own kind has over everything but the words."""

    def taken(self, scale: PixelScale) -> list[QRectF]:
        """Where a plot of its own kind has something besides the figure: no words stand there."""
        return []

    # Words

    def label_places(self, scale: PixelScale) -> dict[str, Placed]:
        """Where the words stand, in heights of a line, kept while figure and size stay."""
        key = (self.figure, scale)
        if self._placed is None or self._placed[0] != key:
            assert self.figure is not None
            unit = self.inks.line_px
            self._texts = {
                label.key: self._in_lines(label.words, scale.width) for label in self.figure.labels
            }
            taken = [(box.left() / unit, box.top() / unit, box.right() / unit, box.bottom() / unit)
                     for box in self.taken(scale)]  # fmt: skip
            places = place_labels(
                self.figure, scale.width / unit, scale.height / unit, self._size, self._kept, taken
            )
            self._placed = (key, places)
        return self._placed[1]

    def _size(self, label: Label) -> tuple[float, float]:
        _, width, height = self.inks.text(self._texts[label.key])
        return width / self.inks.line_px, height / self.inks.line_px

    def _in_lines(self, words: Content, width: float) -> str:
        """The text, in two lines if it is long or the plot narrow."""
        text = said(words)
        most = min(self.MOST_HEIGHTS * self.inks.line_px, width / 2)
        return in_two_lines(text) if self.inks.text(text)[1] > most else text

    # The mouse

    def value_at(self, point: QPointF) -> tuple[float, float]:
        at, scale = self.main.at(point), self.main.scale()
        return scale.value(at.x(), at.y()) if scale else (0.0, 0.0)

    def grip_at(self, point: QPointF) -> Grip | None:
        scale, figure = self.main.scale(), self.figure
        at = self.main.at(point)
        if scale is None or figure is None or not self.GATE:
            return None
        if not self.main.box.rect().contains(at):
            return None
        readings = figure.marks()
        i = paint.nearest(scale, readings, at)
        if i is not None and readings.count[i] > 1:
            return None  # what many readings say is not one hand's to correct
        if i is not None:
            place = float(readings.x[i]), float(readings.y[i])
            return Grip(self.READING, int(readings.row[i]), "whole", *place)
        found = paint.gate_part(scale, figure.gates, at)
        if found is None:
            return None
        gate, part = found
        y = {"least": gate.low, "most": gate.high}.get(part, 0.0)
        return Grip(self.GATE, gate.index, part, gate.x, y, gate.low, gate.high)

    def hovered(self, point: QPointF, grip: Grip | None) -> None:
        set_tip(self, self.tip(grip) if grip else self.pool_tip(point))

    def pool_tip(self, point: QPointF) -> str:
        """What is said of the pooled readings under the mouse; empty if there are none."""
        scale = self.main.scale()
        if scale is None or self.figure is None:
            return ""
        readings = self.figure.marks()
        i = paint.nearest(scale, readings, self.main.at(point))
        if i is None or readings.count[i] < 2:
            return ""
        words = translate(
            "board", "{0} readings near {1}: {2}° ± {3}°; single ones scatter by ± {4}°."
        )
        return words.format(
            int(readings.count[i]), self.place_words(float(readings.x[i])),
            written(float(readings.y[i])), written(float(readings.u_y[i]), 2),
            written(float(readings.scatter[i]), 2),
        )  # fmt: skip

    def tip(self, grip: Grip) -> str:
        """What is said of the thing under the mouse."""
        if grip.kind == self.READING:
            return self.reading_tip(grip)
        gate = next(gate for gate in self.shown.gates if gate.index == grip.index)
        return translate("board", "{0} Drag an end or the bar.").format(self.gate_words(gate))

    def reading_tip(self, grip: Grip) -> str:
        """What is said of a reading."""
        raise NotImplementedError

    def place_words(self, x: float) -> str:
        """A place on the axis with its unit."""
        raise NotImplementedError

    def gate_words(self, gate: CheckSpan) -> str:
        """A check point with its limits and what the readings say of it."""
        words = {
            NOT_READ: translate("board", "Check point at {0}, {1}: {2}."),
            BEING_JUDGED: translate("board", "Check point at {0}, {1}: it is being judged."),
        }.get(gate.verdict, translate("board", "Check point at {0}, {1}: {2} by the readings."))
        limits = said(span(typed(gate.low), typed(gate.high), "°"))
        return words.format(self.place_words(gate.x), limits, said(decision(gate.verdict)))


def in_two_lines(words: str) -> str:
    """The words broken at the space nearest their middle."""
    spaces = [i for i, letter in enumerate(words) if letter == " "]
    if not spaces or not math.isfinite(len(words)):
        return words
    at = min(spaces, key=lambda i: abs(i - len(words) / 2))
    return f"{words[:at]}\n{words[at + 1 :]}"
