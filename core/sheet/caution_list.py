"""The usual cautions at length, in two columns: the last thing on the last page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bobweight.core.figure.description import Word, word
from bobweight.core.sheet.description import Element, Paragraph, Ruler, Text
from bobweight.core.sheet.layout import HEADING_MM, SMALL_PT, heading

_GUTTER_MM = 6.0
_LEADING_MM = 3.2
_APART_MM = 0.8


def with_cautions_named(pages: Sequence[Sequence[Element]]) -> list[list[Element]]:
    """The pages, each reference to the cautions naming the page where they stand at length; where
    they stand nowhere so, the first, which has them in short."""
    told = [any(_says(e, "cautions-heading") for e in elements) for elements in pages]
    page = told.index(True) + 1 if any(told) else 1
    return [
        [
            replace(e, text=word("cautions-overleaf", page=page))
            if isinstance(e, Text) and _says(e, "cautions-overleaf")
            else e
            for e in elements
        ]
        for elements in pages
    ]


def _says(element: Element, code: str) -> bool:
    return (
        isinstance(element, Text) and isinstance(element.text, Word) and element.text.code == code
    )


class CautionList:
    """Cautions laid out in two columns of about one height.

    Parameters
    ----------
    cautions : sequence of str
        One a paragraph; none is no list.
    """

    def __init__(self, cautions: Sequence[str], width_mm: float, ruler: Ruler) -> None:
        self.width_mm = width_mm
        self.column_mm = (width_mm - _GUTTER_MM) / 2
        told = [(text, ruler.lines(text, SMALL_PT, self.column_mm)) for text in cautions]
        whole = sum(count for _, count in told)
        self.columns: tuple[list[tuple[str, int]], list[tuple[str, int]]] = ([], [])
        above = 0
        for text, count in told:
            self.columns[above + count / 2 > whole / 2].append((text, count))
            above += count

    @property
    def height_mm(self) -> float:
        """With its heading; 0 without cautions."""
        if not self.columns[0]:
            return 0.0
        return HEADING_MM + max(
            sum(_LEADING_MM * count + _APART_MM for _, count in column) for column in self.columns
        )

    def elements(self, x_mm: float, y_mm: float) -> list[Element]:
        """The list from its top left corner."""
        made = heading(x_mm, y_mm, self.width_mm, word("cautions-heading"))
        for number, column in enumerate(self.columns):
            x, y = x_mm + number * (self.column_mm + _GUTTER_MM), y_mm + HEADING_MM
            for text, count in column:
                made.append(Paragraph(x, y + 2.4, text, self.column_mm, count, SMALL_PT,
                                      _LEADING_MM))  # fmt: skip
                y += _LEADING_MM * count + _APART_MM
        return made
