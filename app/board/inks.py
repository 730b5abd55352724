"""Pens, brushes and type of the board, made once per theme."""

from __future__ import annotations

from itertools import product

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QImage,
    QPaintEngine,
    QPainter,
    QPainterPath,
    QPen,
    QStaticText,
    QTransform,
)

from bobweight.app.theme import VERDICT_SIGNS, Theme
from bobweight.core.docket.mechanism import SPRING_ROLES


def pen(colour: str, width: float = 1.0, dash: tuple[float, ...] = ()) -> QPen:
    """A pen with round joins, of a width in logical pixels."""
    made = QPen(QColor(colour), width)
    made.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    made.setCapStyle(Qt.PenCapStyle.FlatCap if dash else Qt.PenCapStyle.RoundCap)
    if dash:
        made.setDashPattern(dash)
    return made


def faded(colour: str, alpha: float) -> QColor:
    """A colour with an opacity of 0 to 1."""
    made = QColor(colour)
    made.setAlphaF(alpha)
    return made


ROLES = tuple(SPRING_ROLES)
HATCH_PX = 7.0
SMALL_SHARE = 0.72
"""Marks of another session, as a share of those of the session shown."""


class Inks:
    """All that a plot paints with, from one theme and one base font."""

    def __init__(self, theme: Theme, font: QFont) -> None:
        self.theme = theme
        self.font = QFont(font)
        self.font.setPointSizeF(theme.small_pt)
        self.strong = QFont(self.font)
        self.strong.setWeight(QFont.Weight.DemiBold)
        self.grid = pen(theme.grid)
        self.ink = pen(theme.ink)
        self.faint = pen(theme.faint)
        self.leader = pen(theme.faint, 1.0)
        self.contour = pen(theme.rising, 1.3)
        self.ceiling = pen(theme.wrong, 2.2, (5.0, 2.0))
        self.band = QBrush(QColor(theme.band))
        self._traces = {
            "rising": pen(theme.rising, theme.curve_px),
            "falling": pen(theme.falling, theme.curve_px, (5.0, 3.0)),
            "before": pen(theme.ghost, 1.4, (1.5, 2.5)),
            "doubted": pen(theme.ghost, 1.4, (1.5, 2.5)),
            "candidate": pen(theme.ghost, 1.0, (1.5, 2.5)),
            "chosen": pen(theme.ink, 1.8, (6.0, 2.0, 1.5, 2.0)),
            "fitted": pen(theme.jump, 1.4, (8.0, 3.0, 1.5, 3.0)),
            "expected": pen(theme.faint, 1.6, (2.0, 3.0)),
            "altered": pen(theme.ink, 2.2, (6.0, 2.0, 1.5, 2.0)),
            "held": pen(theme.ink, theme.curve_px),
            "pull": pen(theme.faint, 1.1),
            "pull-posed": pen(theme.pointer, 2.0),
            "even": pen(theme.target, 1.4, (7.0, 3.0)),
            "stem": pen(theme.target, 2.0),
            "all": pen(theme.falling, 1.6, (6.0, 3.0)),
            **{f"series-{n}": pen(c, 1.8, d) for n, (c, d) in enumerate(_series(theme))},
        }
        self._zones = {
            "fitted": (QBrush(faded(theme.jump, 0.15)), None),
            "expected": (QBrush(faded(theme.ink, 0.08)), pen(theme.faint, 1.0, (1.0, 3.0))),
            "builds": (QBrush(faded(theme.ink, 0.12)), pen(theme.ink, 1.0, (4.0, 3.0))),
            "builds-edge": (None, pen(theme.ink, 1.0, (1.0, 3.0))),
            "friction": (QBrush(faded(theme.ink, 0.22)), None),
            "allowed": (self.band, pen(theme.target, 1.0, (7.0, 3.0))),
            **{
                f"spring-{role}": (QBrush(faded(theme.spring(role), 0.22)), pen(theme.spring(role)))
                for role in ROLES
            },
        }
        self._words = {
            "rising": pen(theme.rising), "falling": pen(theme.falling), "before": pen(theme.ghost),
            "doubted": pen(theme.ghost), "candidate": pen(theme.ghost), "fitted": pen(theme.jump),
            "altered": pen(theme.ink),
            "bound": pen(theme.target), "band": pen(theme.target), "next": pen(theme.advice),
            "pull": self.faint, "pull-posed": pen(theme.pointer), "all": pen(theme.falling),
            **{f"series-{n}": pen(c) for n, (c, _) in enumerate(_series(theme))},
            **{f"spring-{role}": pen(theme.spring(role)) for role in ROLES},
            "expected": self.faint, "faint": self.faint, "other": self.faint,
            "wrong": pen(theme.wrong),
        }  # fmt: skip
        self.next, self.next_foot = pen(theme.advice, 2.2), pen(theme.advice, 1.2, (2.0, 3.0))
        self.ring = pen(theme.wrong, 1.8)
        self.other = pen(theme.faint, 1.2)
        self.band_edge = pen(theme.target, 1.0, (7.0, 3.0))
        self.limit = pen(theme.target, 1.2, (2.0, 3.0))
        self.hatch = pen(theme.target, 0.9)
        self._hatched: dict[tuple[float, float], QBrush] = {}
        self.bar = pen(theme.target, 2.0)
        self.bar_hot = pen(theme.accent, 3.0)
        self.handle = QBrush(QColor(theme.paper))
        self.reading = pen(theme.reading, 1.3)
        self.reading_bar = pen(theme.reading, 0.9)
        self.left_out = pen(theme.reading_left_out, 1.2)
        self._fills = {
            "rising": QBrush(QColor(theme.rising)),
            "falling": QBrush(QColor(theme.falling)),
            "unknown": QBrush(QColor(theme.paper)),
            "state": QBrush(QColor(theme.paper)),
        }
        self.no_fill = QBrush(Qt.BrushStyle.NoBrush)
        self.jump = pen(theme.jump, 1.4)
        self.pointer = pen(theme.pointer, 1.0)
        self.pointer_ring = pen(theme.pointer, 2.0)
        self.paper = QColor(theme.paper)
        self.halo = faded(theme.paper, 0.82)
        self.verdicts = {v: pen(theme.verdict(v), 2.0) for v in VERDICT_SIGNS}
        self.marks = mark_paths(theme.mark_px - 1.5)
        self.small_marks = mark_paths(theme.mark_px * SMALL_SHARE)
        self._metrics = QFontMetricsF(self.font)
        self.line_px = self._metrics.lineSpacing()
        self._texts: dict[str, tuple[QStaticText, float, float]] = {}

    def hatched(self, painter: QPainter, apart_px: float = HATCH_PX) -> QBrush:
        """The filling of what is forbidden, its lines so far apart across. On a screen it is drawn
        for its pixels: a brush's own pattern counts them, and is hardly seen on a fine one. Vectors
        have that pattern."""
        if painter.paintEngine().type() != QPaintEngine.Type.Raster:
            return QBrush(self.hatch.color(), Qt.BrushStyle.BDiagPattern)
        ratio = painter.device().devicePixelRatioF()
        key = ratio, apart_px
        if key not in self._hatched:
            side = max(round(apart_px * ratio), 2)
            tile = QImage(side, side, QImage.Format.Format_ARGB32)
            for x, y in product(range(side), repeat=2):
                along = (x + y + 1) % side  # a line runs through the middles of pixels
                away = min(along, side - along) / 2**0.5
                share = min(max(0.5 * (1.0 + self.hatch.widthF() * ratio) - away, 0.0), 1.0)
                tile.setPixelColor(x, y, faded(self.hatch.color().name(), share))
            brush = QBrush(tile)
            brush.setTransform(QTransform.fromScale(1.0 / ratio, 1.0 / ratio))
            self._hatched[key] = brush
        return self._hatched[key]

    def trace(self, role: str) -> QPen:
        """The pen of a line."""
        return self._traces.get(role, self.ink)

    def zone(self, role: str) -> tuple[QBrush | None, QPen | None]:
        """Filling and edge of an area."""
        return self._zones.get(role, (None, self.faint))

    def word(self, role: str) -> QPen:
        """The ink of words that speak of something."""
        return self._words.get(role, self.ink)

    def dots(self, role: str) -> QPen:
        """The outline of marks that are no readings."""
        pens = {"posed": self.pointer_ring, "state": self.bar_hot, "balance": self.reading}
        return pens.get(role, self.other)

    def fill(self, kind: str, reading: bool) -> QBrush:
        """The filling of a mark; those of another session are hollow."""
        return self._fills.get(kind, self.handle) if reading else self.handle

    def text(self, words: str) -> tuple[QStaticText, float, float]:
        """Laid-out words with their width and height in px, kept for the next paint."""
        found = self._texts.get(words)
        if found is None:
            if len(self._texts) > 400:
                self._texts.clear()
            made = QStaticText(words.replace("\n", "\u2028"))
            made.setTextFormat(Qt.TextFormat.PlainText)
            made.prepare(font=self.font)
            lines = words.split("\n")
            wide = max(self._metrics.horizontalAdvance(line) for line in lines)
            found = (made, wide, self.line_px * len(lines))
            self._texts[words] = found
        return found


def _series(theme: Theme) -> tuple[tuple[str, tuple[float, ...]], ...]:
    """Colour and dashes of lines of one kind, the first the strongest."""
    return (
        (theme.rising, ()), (theme.falling, (5.0, 3.0)), (theme.jump, (8.0, 3.0, 1.5, 3.0)),
        (theme.target, (2.0, 2.5)), (theme.ink, (1.5, 2.5)),
    )  # fmt: skip


def mark_paths(size_px: float) -> dict[str, QPainterPath]:
    """The outline of each mark about (0, 0), in pixels, y down."""
    h = size_px / 2
    up, down, ring, cross, tick = (QPainterPath() for _ in range(5))
    up.moveTo(0, -h)
    for x, y in ((h, h * 0.8), (-h, h * 0.8)):
        up.lineTo(x, y)
    up.closeSubpath()
    down.moveTo(0, h)
    for x, y in ((h, -h * 0.8), (-h, -h * 0.8)):
        down.lineTo(x, y)
    down.closeSubpath()
    ring.addEllipse(QPointF(0, 0), h * 0.85, h * 0.85)
    cross.moveTo(-h, -h)
    cross.lineTo(h, h)
    cross.moveTo(-h, h)
    cross.lineTo(h, -h)
    tick.moveTo(-h, 0)
    tick.lineTo(-h * 0.3, h * 0.8)
    tick.lineTo(h, -h)
    return {"rising": up, "falling": down, "unknown": ring, "cross": cross, "tick": tick}
