"""A printed page as immutable data: millimetres from the top left corner, points for type.

Words. Figures and the user's own words are plain strings. The fixed words of a page are
:class:`Word` codes with facts, which the application turns into text of the reader's language.

Widths of text. The core knows no fonts. Whoever lays out a page passes a :class:`Ruler`, which
measures a string or word as it will be set; the application's ruler knows the real font, and
:class:`RoughRuler` estimates on the wide side. Every text may carry the room it has: the painter
sets it smaller, down to its least size, and then shortens it with an ellipsis, so that no text
can run into its neighbour whatever the font or language.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import field
from typing import Protocol

from bobweight.core.figure.description import Content, Word
from bobweight.core.frozen import frozen

Point = tuple[float, float]

MM_PER_PT = 25.4 / 72
LEAST_LINE_MM = 0.18
LEAST_TEXT_PT = 7.5
BLACK, WHITE = 0.0, 1.0

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
PAPER_NAMES = {"a4": "A4", "letter": "Letter"}


@frozen
class Text:
    """One line of text; (x, y) is where its baseline starts, is centred or ends.

    ``angle_deg`` turns it counter-clockwise about that point. ``backing`` clears the paper under
    it, for labels that stand on a grid.
    """

    x_mm: float
    y_mm: float
    text: Content
    size_pt: float = 8.0
    bold: bool = False
    italic: bool = False
    align: str = "left"
    room_mm: float | None = None
    least_pt: float = LEAST_TEXT_PT
    angle_deg: float = 0.0
    backing: bool = False


@frozen
class Paragraph:
    """Text broken into at most ``lines`` lines, the last one shortened where it does not fit."""

    x_mm: float
    y_mm: float
    text: Content
    width_mm: float
    lines: int
    size_pt: float = 8.0
    leading_mm: float = 3.6


@frozen
class Line:
    """A straight line; ``dash`` in mm of line and gap, empty for an unbroken line."""

    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float
    width_mm: float = LEAST_LINE_MM
    dash: tuple[float, ...] = ()
    grey: float = BLACK


@frozen
class Polyline:
    """A line through several points."""

    points: tuple[Point, ...]
    width_mm: float = 0.35
    dash: tuple[float, ...] = ()
    grey: float = BLACK


@frozen
class Polygon:
    """A filled area; ``grey`` from 0, black, to 1, white; a border if ``width_mm`` is above 0."""

    points: tuple[Point, ...]
    grey: float = 0.9
    width_mm: float = 0.0


@frozen
class Rect:
    """A rectangle with a border, and filled if ``grey`` is given."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    line_mm: float = 0.25
    grey: float | None = None


@frozen
class Marks:
    """Marks of one shape (see ``MARK_SHAPES``) at several points; ``size_mm`` across."""

    points: tuple[Point, ...]
    shape: str
    size_mm: float = 2.0
    filled: bool = False
    line_mm: float = 0.25


@frozen
class Picture:
    """A picture, as the bytes of its file, in a rectangle of its own proportions."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    data: bytes = field(repr=False)


Element = Text | Paragraph | Line | Polyline | Polygon | Rect | Marks | Picture


@frozen
class PaperPage:
    """One side of paper and what stands on it, painted in order; nothing stands in the margin."""

    width_mm: float
    height_mm: float
    margin_mm: float
    elements: tuple[Element, ...] = ()


@frozen
class Description:
    """A printed document: its title (for the file's own properties) and its pages, all alike, and
    whether something on them is at true size."""

    title: Content
    paper: str
    pages: tuple[PaperPage, ...]
    true_size: bool = False


class Ruler(Protocol):
    """Measures text as it will be set."""

    def width_mm(self, content: Content, size_pt: float, bold: bool = False) -> float:
        """The width of one line in mm."""
        ...

    def lines(self, content: Content, size_pt: float, width_mm: float) -> int:
        """How many lines a paragraph of this width takes."""
        ...


class RoughRuler:
    """A ruler that knows no font: 0.62 em a character, wider than common sans-serif type.

    A word is taken to be as long as its code and facts.
    """

    def text(self, content: Content) -> str:
        if isinstance(content, str):
            return content
        facts = content.facts.values()
        said = (self.text(f) if isinstance(f, Word) else str(f) for f in facts)
        return " ".join((content.code, *said))

    def width_mm(self, content: Content, size_pt: float, bold: bool = False) -> float:
        em_mm = size_pt * MM_PER_PT
        return len(self.text(content)) * em_mm * (0.68 if bold else 0.62)

    def lines(self, content: Content, size_pt: float, width_mm: float) -> int:
        return len(wrap(self.text(content), width_mm, lambda t: self.width_mm(t, size_pt)))


def wrap(text: str, width: float, measure: Callable[[str], float]) -> list[str]:
    """The lines of a text broken at spaces so that each measures at most ``width``.

    A single word that is too long keeps a line of its own; the last word of a paragraph has
    another beside it, where the line before can spare one. Line breaks in the text are kept, empty
    lines are not.
    """
    lines: list[str] = []
    for part in text.splitlines():
        line, first = "", len(lines)
        for piece in re.split(r"[ \t]+", part.strip()):  # not at what holds words together
            longer = f"{line} {piece}" if line else piece
            if line and measure(longer) > width:
                lines.append(line)
                line = piece
            else:
                line = longer
        if not line:
            continue
        if len(lines) > first and " " not in line and lines[-1].count(" ") > 1:
            before, word_before = lines[-1].rsplit(" ", 1)
            if measure(f"{word_before} {line}") <= width:
                lines[-1], line = before, f"{word_before} {line}"
        lines.append(line)
    return lines


def plain(text: str) -> str:
    """Text for one line: runs of spaces and line breaks become single spaces, and characters
    that cannot be printed are dropped."""
    return "".join(c for c in " ".join(text.split()) if c.isprintable())
