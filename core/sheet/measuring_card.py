"""The measuring card on paper at true size: what is laid round a part before it is photographed."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, pi, sin

from bobweight.core.figure.description import word
from bobweight.core.photo.card import (
    CARD_MM,
    CHECK_LINE_MM,
    DOT_MM,
    MARKS_MM,
    RING_INNER_MM,
    RING_OUTER_MM,
    WINDOW_MM,
)
from bobweight.core.sheet.description import (
    BLACK,
    WHITE,
    Description,
    Element,
    Line,
    Point,
    Polygon,
    Rect,
    Ruler,
    Text,
)
from bobweight.core.sheet.pages import Pages
from bobweight.core.sheet.workshop import Workshop

_CORNERS = 72
_CHECK_MM = 71.8  # of the check line below the middle: between window and marks


def measuring_card_sheet(
    paper: str, ruler: Ruler, *, workshop: Workshop | None = None
) -> Description:
    """The one page of the measuring card.

    Parameters
    ----------
    paper : str
        Key of :data:`core.sheet.description.PAPERS`.
    workshop : Workshop, optional
        Heads the page.
    """
    pages = Pages(paper, ruler, word("measuring-card-title"), "", workshop,
                  own_line=word("check-line", length_mm=f"{CHECK_LINE_MM:.0f}"))  # fmt: skip
    pages.paragraph(word("measuring-card-how"))
    middle = (pages.left + pages.room / 2, pages.y + CARD_MM / 2)
    pages.add(list(_card(middle)))
    pages.y += CARD_MM
    return pages.description()


def _card(middle: Point) -> Iterator[Element]:
    x, y = middle
    for side, width in ((CARD_MM, 0.25), (WINDOW_MM, 0.25)):
        yield Rect(x - side / 2, y - side / 2, side, side, width)
    for mark_x, mark_y in MARKS_MM:
        at = (x + float(mark_x), y - float(mark_y))
        for radius, grey in ((RING_OUTER_MM, BLACK), (RING_INNER_MM, WHITE), (DOT_MM, BLACK)):
            yield Polygon(_round(at, radius), grey)
    half = CHECK_LINE_MM / 2
    line_y = y + _CHECK_MM
    yield Line(x - half, line_y, x + half, line_y, 0.2)
    for end in (-half, half):
        yield Line(x + end, line_y - 1.2, x + end, line_y + 1.2, 0.2)
    yield Text(x, line_y + 3.6, f"{CHECK_LINE_MM:.0f} mm", 7.5, align="centre")


def _round(middle: Point, radius_mm: float) -> tuple[Point, ...]:
    turn = [2 * pi * k / _CORNERS for k in range(_CORNERS)]
    return tuple((middle[0] + radius_mm * cos(a), middle[1] + radius_mm * sin(a)) for a in turn)
