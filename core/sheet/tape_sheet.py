"""A timing tape on paper at true size: strips to cut out, joined where they are long.

The strip lies printed side up with its lower edge to the front of the engine; see
:mod:`core.bench.tape`. Marks stand on the lower edge, where the pointer is.
"""

from __future__ import annotations

from collections.abc import Sequence

from bobweight.core.bench.tape import Strip, Tape, TapeMark, TapeSpec, split, timing_tape
from bobweight.core.figure.description import Content, word
from bobweight.core.figure.numbers import figure, short
from bobweight.core.problems import BobweightError
from bobweight.core.record import is_assumed
from bobweight.core.sheet.description import (
    Description,
    Element,
    Line,
    Polygon,
    Rect,
    Ruler,
    Text,
    plain,
)
from bobweight.core.sheet.layout import SMALL_PT
from bobweight.core.sheet.pages import LEADING_MM, Pages
from bobweight.core.sheet.workshop import Workshop

OVERLAP_MM = 20.0
LEAST_MARK_MM = 0.45
"""Marks nearer to each other than that cannot be told apart beside a running engine."""
MOST_STRIPS = 24
_BESIDE_MM = 1.5  # by how much a pointer is off, to say what that is worth
_ABOVE_MM, _BELOW_MM = 6.5, 7.0  # words outside the cut line
_SHARES = {"major": 0.42, "mid": 0.30, "minor": 0.19}
_LINES_MM = {"major": 0.35, "mid": 0.3, "minor": 0.25}
_WORDS_MM = 92.0  # words may be longer than a short strip
_FIGURE_PT, _NAME_PT = 9.0, 7.5
_DASH = (1.2, 1.0)


def tape_sheet(
    spec: TapeSpec, paper: str, ruler: Ruler, *, workshop: Workshop | None = None
) -> Description:  # fmt: skip
    """The pages of a timing tape.

    Parameters
    ----------
    paper : str
        Key of :data:`core.sheet.description.PAPERS`.
    workshop : Workshop, optional
        Heads the first page.

    Raises
    ------
    BobweightError
        ``tape-marks-too-close`` with their distance and the least; ``tape-too-long`` with its
        length and the most; those of :func:`core.bench.tape.timing_tape`.
    """
    spec.check()
    width_mm, order = spec.width_mm, spec.names
    apart = spec.steps.minor_deg * spec.mm_per_deg
    if apart < LEAST_MARK_MM:
        raise BobweightError("tape-marks-too-close", ("diameter_mm",), apart_mm=round(apart, 3),
                             least_mm=LEAST_MARK_MM)  # fmt: skip
    tape = timing_tape(spec)
    pages = Pages(paper, ruler, word("tape-title"), plain(spec.title), workshop)
    most = MOST_STRIPS * (pages.room - OVERLAP_MM)
    if tape.length_mm > most:
        raise BobweightError("tape-too-long", ("diameter_mm",), length_mm=round(tape.length_mm),
                             most_mm=round(most))  # fmt: skip
    strips = split(tape, pages.room, overlap_mm=OVERLAP_MM)
    pages.facts(_facts(spec, tape))
    rim, off = short(spec.diameter_mm or 0.0, 2), figure(_BESIDE_MM / tape.mm_per_deg, 1)
    for code in _how(spec, len(strips), bool(order)):
        pages.paragraph(word(code, rim=rim, off=off))
    pages.y += 2.0
    for number, strip in enumerate(strips):
        pages.need(_ABOVE_MM + width_mm + _BELOW_MM)
        first, last = number == 0, number == len(strips) - 1
        corner = (pages.left, pages.y + _ABOVE_MM)
        drawn = _Strip(spec, tape, strip, corner, width_mm, order, ruler)
        pages.add(drawn.elements(first, last, number, len(strips)))
        pages.y += _ABOVE_MM + width_mm + _BELOW_MM + 3.0
    pages.need(LEADING_MM * 6)
    pages.heading(word("cautions-heading"))
    pages.paragraph(word("engine-cautions"), SMALL_PT)
    return pages.description()


def _facts(spec: TapeSpec, tape: Tape) -> list[tuple[Content, Content]]:
    found: list[tuple[Content, Content]] = [
        (word("tape-diameter"), f"{short(spec.diameter_mm or 0.0, 2)} mm"),
        (word("tape-rotation"), _turns(spec)),
        (word("tape-side"), word(f"tape-{spec.side}", span=short(spec.span_deg))),
        (word("tape-degree"), f"{figure(tape.mm_per_deg, 4)} mm"),
        (word("tape-length"), f"{figure(tape.length_mm, 1)} mm"),
        (word("tape-smallest"), f"{short(spec.steps.minor_deg)}°"),
    ]
    if spec.cylinders > 1:
        found.append((word("tape-cylinders"), str(spec.cylinders)))
    if spec.thickness_mm:
        found.append((word("tape-thickness"), f"{short(spec.thickness_mm)} mm"))
    return found


def _turns(spec: TapeSpec) -> Content:
    turns = word(f"turns-{spec.rotation_taken}")
    return word("assumed-value", value=turns) if is_assumed(spec, "rotation") else turns


def _how(spec: TapeSpec, strips: int, named: bool) -> Sequence[str]:
    """What is said above the tape, in order."""
    found = ["tape-how-check", f"tape-how-{spec.rotation_taken}", "tape-how-zero"]
    if is_assumed(spec, "rotation"):
        found.insert(0, "tape-how-assumed")
    if spec.cylinders > 1:
        found.append("tape-how-cylinders" if named else "tape-how-firing")
    if strips > 1:
        found.append("tape-how-join")
    return found


class _Strip:
    """One strip on the page; ``corner`` is its top left one."""

    def __init__(
        self, spec: TapeSpec, tape: Tape, strip: Strip, corner: tuple[float, float], tall: float,
        order: Sequence[str], ruler: Ruler,
    ) -> None:  # fmt: skip
        self.spec, self.tape, self.strip, self.order = spec, tape, strip, order
        self.ruler = ruler
        self.x, self.y = corner
        self.tall = tall
        self.right, self.low = self.x + strip.length_mm, self.y + tall
        self.joins = [self.x + place for place in strip.joins_mm]
        self._figures: list[tuple[float, float]] = []  # taken, from left to right
        self._names = [(x - 0.2, x + 0.2) for x in self.joins]  # taken in the upper row

    def elements(self, first: bool, last: bool, number: int, count: int) -> list[Element]:
        """Cut line, marks, figures, joins, and the words outside the cut line."""
        made: list[Element] = [Rect(self.x, self.y, self.right - self.x, self.tall, 0.2)]
        for mark in self.strip.marks:
            made += self._mark(mark)
        for mark in self.strip.marks:
            if mark.cylinders:
                made += self._above(self.x + mark.position_mm, self._name(mark))
        if self.spec.side == "both":
            made += self._sides()
        made += self._turning(first, last)
        made += self._join_lines(number)
        return made + self._outside(number, count)

    @property
    def _figure_line(self) -> float:
        """The baseline of the figures."""
        return self.low - _SHARES["major"] * self.tall - 0.7

    def _mark(self, mark: TapeMark) -> list[Element]:
        x = self.x + mark.position_mm
        share = 0.60 if mark.cylinders else _SHARES[mark.kind]
        wide = 0.5 if mark.cylinders else _LINES_MM[mark.kind]
        if not self.x + wide / 2 <= x <= self.right - wide / 2:
            return []  # at the very cut; its neighbour has it whole
        made: list[Element] = [Line(x, self.low, x, self.low - share * self.tall, wide)]
        if mark.label and not mark.cylinders:
            half = self.ruler.width_mm(mark.label, _FIGURE_PT) / 2
            free = not self._figures or x - half > self._figures[-1][1] + 0.6
            if free and self.x + 0.6 < x - half and x + half < self.right - 0.6:
                made.append(Text(x, self._figure_line, mark.label, _FIGURE_PT, align="centre"))
                self._figures.append((x - half, x + half))
        return made

    def _name(self, mark: TapeMark) -> Content:
        """The zero and the cylinders that have theirs there."""
        if self.spec.cylinders == 1:
            return word("tape-zero")
        if self.order:
            numbers = ", ".join(plain(self.order[n - 1]) for n in mark.cylinders)
            return word("tape-zero-of", numbers=numbers)
        return word("tape-zero-firing", numbers=", ".join(str(n) for n in mark.cylinders))

    def _above(self, x: float, text: Content) -> list[Element]:
        """A text in the upper row about a place, or beside it, where it is free."""
        half = self.ruler.width_mm(text, _NAME_PT, bold=True) / 2
        for middle in (x, x + half + 0.8, x - half - 0.8):
            span = (middle - half, middle + half)
            met = any(span[0] < b + 0.5 and a - 0.5 < span[1] for a, b in self._names)
            if not met and self.x + 0.6 < span[0] and span[1] < self.right - 0.6:
                self._names.append(span)
                return [Text(middle, self.y + 3.3, text, _NAME_PT, bold=True, align="centre")]
        return []

    def _turning(self, first: bool, last: bool) -> list[Element]:
        """The arrow of rotation in the bare ends."""
        made: list[Element] = []
        length = min(self.spec.end_mm - 4.5, 8.0)
        if length >= 4.0:
            middle = self.y + self.tall / 2
            places = [self.x + 1.0 + length / 2] if first else []
            places += [self.right - 1.0 - length / 2] if last else []
            for place in places:
                made += _arrow(place, middle, length, self.spec.rotation_taken == "clockwise")
                if is_assumed(self.spec, "rotation"):
                    made.append(Text(place, middle - 1.6, "?", SMALL_PT, bold=True, align="centre"))
        return made

    def _sides(self) -> list[Element]:
        """Which side of each zero is before it and which after, midway."""
        made: list[Element] = []
        ahead = 1.0 if self.spec.rotation_taken == "clockwise" else -1.0
        away = ahead * self.spec.span_deg / 2 * self.spec.mm_per_deg
        for mark in self.tape.marks:
            if mark.cylinders:
                zero = self.x + mark.position_mm - self.strip.start_mm
                made += self._above(zero + away, word("tape-side-before"))
                made += self._above(zero - away, word("tape-side-after"))
        return made

    def _join_lines(self, number: int) -> list[Element]:
        """Registration lines, clear of the figures, with triangles beyond the cut line and a
        letter for each join."""
        made: list[Element] = []
        first = number - 1 if number else 0
        for index, x in enumerate(self.joins):
            crossed = any(a - 0.4 < x < b + 0.4 for a, b in self._figures)
            if crossed:
                made.append(Line(x, self.y, x, self._figure_line - 3.0, 0.2, _DASH))
                made.append(Line(x, self._figure_line + 0.5, x, self.low, 0.2, _DASH))
            else:
                made.append(Line(x, self.y, x, self.low, 0.2, _DASH))
            for edge, out in ((self.y, -1.0), (self.low, 1.0)):
                made.append(Polygon(((x, edge), (x - 0.9, edge + 1.8 * out),
                                     (x + 0.9, edge + 1.8 * out)), 0.0))  # fmt: skip
            letter = chr(ord("A") + first + index)
            made.append(Text(x + 1.6, self.low + 2.7, letter, SMALL_PT, bold=True))
        return made

    def _turns_words(self) -> Content:
        assumed = is_assumed(self.spec, "rotation")
        return word("tape-turns-assumed" if assumed else "tape-turns")

    def _outside(self, number: int, count: int) -> list[Element]:
        """The arrow and the words above and below the cut line."""
        made: list[Element] = []
        room = max(self.right - self.x, _WORDS_MM)
        if count > 1:
            told = word("strip-of", number=number + 1, count=count)
            made.append(Text(self.x + room, self.y - 3.0, told, SMALL_PT, align="right",
                             room_mm=28.0))  # fmt: skip
        made += _arrow(self.x + 4.0, self.y - 4.1, 8.0, self.spec.rotation_taken == "clockwise")
        made.append(Text(self.x + 10.0, self.y - 3.0, self._turns_words(), SMALL_PT,
                         room_mm=room - 40.0))  # fmt: skip
        made.append(
            Text(
                self.x,
                self.low + 6.0,
                word("tape-lower-edge", diameter=f"{short(self.spec.diameter_mm or 0.0, 2)}"),
                SMALL_PT,
                room_mm=room,
            )
        )
        return made


def _arrow(x: float, y: float, length: float, to_the_right: bool) -> list[Element]:
    """An arrow about its middle."""
    out = 0.5 if to_the_right else -0.5
    tip, back = x + length * out, x - length * out
    neck = tip - 2.4 * (2 * out)
    return [
        Line(back, y, neck, y, 0.5),
        Polygon(((tip, y), (neck, y - 1.1), (neck, y + 1.1)), 0.0),
    ]
