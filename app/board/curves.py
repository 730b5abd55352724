"""Advance against speed, and the deviations beneath on the same speed axis."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QPainter

from bobweight.app.board import paint
from bobweight.app.board.drags import Grip
from bobweight.app.board.figure_plot import FigurePlot
from bobweight.app.board.plots import PixelScale, PlotArea
from bobweight.app.guard import guarded
from bobweight.app.messages.figure_words import said
from bobweight.app.theme import set_role
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.words import translate
from bobweight.core.figure.description import Figure, alike
from bobweight.core.figure.numbers import figure as written
from bobweight.core.figure.points import decision
from bobweight.core.problems import required

STRIP_LEAST_PX, STRIP_SHARE = 118, 0.27
STRIP_FROM_PX = 300
"""In a lower picture the curve stands alone: beside the deviations neither could be read."""
SIGN_HALF_PX = 7.0
_BARE_AXIS_PX = 6
VERDICT_ROOM = 0.75
"""Room above the strip's marks for the verdicts' words, as a share of half its range."""


class CurvePlot(FigurePlot):
    """Predicted curves, target and readings; deviations in the strip below.

    Signals
    -------
    pointed(float)
        The mouse points at this speed, in shown units.
    """

    GATE, READING = "check", "reading"
    pointed = Signal(float)

    def __init__(self) -> None:
        self.deviations: Figure | None = None
        self.pointer: tuple[float, float | None] | None = None
        super().__init__()
        self.setAccessibleName(translate("Board", "Advance against speed"))

    def make_rest(self) -> None:
        self.strip = self.add_view(1)
        self.main.axes["bottom"].setHeight(_BARE_AXIS_PX)
        self.ci.layout.setRowStretchFactor(0, 1)
        self.strip.axes["left"].setStyle(maxTickLevel=0)
        self.strip.add(5, self._draw_strip)
        self.note = PlainLabel(parent=self)
        self.note.setWordWrap(True)
        self.note.setTextInteractionFlags(Qt.TextInteractionFlag.NoTextInteraction)
        self.note.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        set_role(self.note, "note")
        self.note.hide()

    def make_main(self) -> PlotArea:
        return self.add_view(0, bottom=False)

    def show_figures(self, figure: Figure, deviations: Figure) -> None:
        """Show another curve with its deviations; nothing is painted where they are alike. While
        something is held the axes stand still."""
        if self.holding is None or self.strip.scale() is None:
            low, high = deviations.y.low, deviations.y.high
            self.strip.set_range((figure.x.low, figure.x.high), (low, high + VERDICT_ROOM * high))
        if not alike(deviations, self.deviations):
            self.deviations = deviations
            self.strip.set_labels(said(deviations.y.title), said(deviations.x.title))
            self.strip.update()
        self.show_figure(figure)

    def painted(self, figure: Figure) -> Figure:
        """Verdicts stand in the strip."""
        gates = tuple(replace(gate, verdict="", predicted=None) for gate in figure.gates)
        return replace(figure, gates=gates)

    def words_below(self, figure: Figure) -> str:
        return super().words_below(figure) if self.stands_alone else ""

    def forget_words(self) -> None:
        super().forget_words()
        self.deviations = None

    def set_pointer(self, speed: float, advance: float | None) -> None:
        """Where the plan view is posed, in shown units."""
        if (speed, advance) != self.pointer:
            self.pointer = (speed, advance)
            self.update_views()

    def show_note(self, words: str) -> None:
        """Words on the plot that say what is missing; empty for none."""
        if words or not self.note.isHidden():
            self.note.show_text(words)
            self._place_note()

    @guarded
    def resizeEvent(self, event) -> None:
        super().resizeEvent(event)
        if hasattr(self, "note"):
            self._share_out()
            self._place_note()

    @property
    def stands_alone(self) -> bool:
        """Whether there is no room for the deviations."""
        return self.height() < STRIP_FROM_PX

    def _share_out(self) -> None:
        """The speeds stand under the lower of both views."""
        alone, axis = self.stands_alone, self.main.axes["bottom"]
        if self.strip.plot.isVisible() == alone:
            self.strip.plot.setVisible(not alone)
            axis.setStyle(showValues=alone)
            axis.setHeight(None if alone else _BARE_AXIS_PX)
            if self.figure is not None:
                title = said(self.figure.y.title)
                self.main.set_labels(title, self.words_below(self.figure))
        self.strip.plot.setFixedHeight(self._strip_px())
        self.ci.layout.activate()  # a thumbnail is drawn at once

    def _strip_px(self) -> int:
        """Height of the strip with its axis, which is the curve's too."""
        if self.stands_alone:
            return 0
        return max(STRIP_LEAST_PX, int(STRIP_SHARE * self.height()))

    def _place_note(self) -> None:
        width = min(int(self.width() * 0.62), 460)
        height = self.note.heightForWidth(width)
        room = self.height() - self._strip_px()
        left = (self.width() + 58 - width) // 2
        self.note.setGeometry(left, max((room - height) // 2, 8), width, height)

    # Painting

    def draw_between(self, painter: QPainter, scale: PixelScale) -> None:
        self._draw_pointer(painter, scale, ring=True)

    def _draw_pointer(self, painter: QPainter, scale: PixelScale, ring: bool) -> None:
        if self.pointer is None:
            return
        speed, advance = self.pointer
        x = float(scale.x(speed))
        painter.setPen(self.inks.pointer)
        under_words = self.inks.line_px + 3.0
        for top, bottom in self._free(x, scale) if ring else [(under_words, scale.height)]:
            painter.drawLine(QLineF(x, top, x, bottom))
        if ring and advance is not None:
            painter.setPen(self.inks.pointer_ring)
            painter.setBrush(self.inks.handle)
            painter.drawEllipse(QPointF(x, float(scale.y(advance))), 5.0, 5.0)

    def _free(self, x: float, scale: PixelScale) -> list[tuple[float, float]]:
        """The stretches of an upright line through the plot where no words stand."""
        unit, at, found = self.inks.line_px, 0.0, []
        across = [p for p in self.label_places(scale).values()
                  if p.x * unit - 2 < x < (p.x + p.width) * unit + 2]  # fmt: skip
        for placed in sorted(across, key=lambda placed: placed.y):
            found.append((at, placed.y * unit))
            at = (placed.y + placed.height) * unit
        return [*found, (at, scale.height)]

    def _draw_strip(self, painter: QPainter, scale: PixelScale) -> None:
        inks, figure = self.inks, self.deviations
        paint.draw_grid(painter, self.strip, scale, inks)
        if figure is None:
            return
        self._draw_pointer(painter, scale, ring=False)
        painter.setFont(inks.font)
        if not figure.traces:
            self._words_in_strip(
                painter, scale, translate("Board", "No predicted curve to measure from")
            )
        paint.draw_traces(painter, scale, figure.traces, inks)
        paint.draw_gates(painter, scale, figure.gates, inks, handles=False)
        paint.draw_dots(painter, scale, figure.marks(), inks)
        self._draw_verdicts(painter, scale)

    def _words_in_strip(self, painter: QPainter, scale: PixelScale, words: str) -> None:
        text, width, height = self.inks.text(words)
        at = QPointF((scale.width - width) / 2, (scale.height - height) / 2)
        painter.fillRect(QRectF(at.x() - 3, at.y(), width + 6, height), self.inks.paper)
        painter.setPen(self.inks.faint)
        painter.drawStaticText(at, text)

    def _draw_verdicts(self, painter: QPainter, scale: PixelScale) -> None:
        """Sign and word of each check point along the strip's upper edge."""
        gates = self.figure.gates if self.figure else ()
        places = [float(scale.x(gate.x)) for gate in gates]
        right = -1e9
        for gate, x, following in zip(gates, places, [*places[1:], 1e9], strict=False):
            text = said(decision(gate.verdict))
            half = self.inks.text(f"? {text}")[1] / 2 + 5
            x = min(max(x, half), scale.width - half)
            if x - half < right or x + half > following - SIGN_HALF_PX:
                text, half = "", SIGN_HALF_PX  # no room for the word; the tip says it
            right = x + half
            paint.draw_verdict(painter, x, 1.0, gate.verdict, text, self.inks)

    # The mouse

    def hovered(self, point: QPointF, grip: Grip | None) -> None:
        if self.figure is None or self.main.scale() is None:
            return
        in_strip = not self.stands_alone and self.strip.box.rect().contains(self.strip.at(point))
        set_tip(self, self._words_at(point, grip, in_strip))
        inside = in_strip or self.main.box.rect().contains(self.main.at(point))
        if inside and grip is None:
            self.pointed.emit(min(max(self.value_at(point)[0], 0.0), self.figure.x.high))

    @guarded
    def keyPressEvent(self, event) -> None:
        """Left and right move the pointer along the speed axis; with Shift further."""
        ways = {Qt.Key.Key_Left: -1.0, Qt.Key.Key_Right: 1.0}
        if event.key() not in ways or self.pointer is None or self.figure is None:
            super().keyPressEvent(event)
            return
        far = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
        speed = self.pointer[0] + ways[event.key()] * (100.0 if far else 10.0)
        self.pointed.emit(min(max(speed, 0.0), self.figure.x.high))

    def place_words(self, x: float) -> str:
        return translate("Board", "{0} rev/min").format(written(x, 0))

    def reading_tip(self, grip: Grip) -> str:
        words = translate("Board", "Reading {0}: {1} rev/min, {2}°. Drag to correct it.")
        words = words.format(grip.index + 1, written(grip.x, 0), written(grip.y))
        readings = self.shown.marks()
        mistaken = grip.index in readings.row[readings.mistaken]
        return f"{words} {translate('board', 'It looks like a misreading.')}" if mistaken else words

    def _words_at(self, point: QPointF, grip: Grip | None, in_strip: bool) -> str:
        if grip is not None:
            return self.tip(grip)
        return self._strip_tip(point) if in_strip else self.pool_tip(point)

    def _strip_tip(self, point: QPointF) -> str:
        """What is said of the check point nearest across in the strip."""
        scale, x = required(self.strip.scale()), self.strip.at(point).x()
        gates = [(abs(float(scale.x(gate.x)) - x), gate) for gate in self.shown.gates]
        if not gates:
            return ""
        away, gate = min(gates, key=lambda each: each[0])
        return self.gate_words(gate) if away < 12 else ""
