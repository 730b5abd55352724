"""Pages filled from the top down: heading, what is set, and a foot with bar and page number."""

from __future__ import annotations

from collections.abc import Sequence

from bobweight.core.figure.description import Content, word
from bobweight.core.sheet.description import (
    LEAST_LINE_MM,
    PAPERS,
    Description,
    Element,
    Line,
    PaperPage,
    Paragraph,
    Ruler,
    Text,
    plain,
)
from bobweight.core.sheet.layout import SMALL_PT, fact_list, heading, place_to_write, scale_bar
from bobweight.core.sheet.workshop import Workshop

MARGIN_MM = 12.0
FOOT_MM, BARE_FOOT_MM = 13.0, 6.0  # with the bar of true length and without
TITLE_PT, TITLE_MM = 14.0, 11.0
LEADING_MM = 3.4
NOTE_LINE_MM = 9.0
SECTION_MM = 6.2  # a section heading and what is under it


class Pages:
    """Elements set from the top down, page after page, each with its number.

    ``y`` is where the next thing goes, ``left`` and ``room`` the left edge and the width.

    Parameters
    ----------
    paper : str
        Key of :data:`core.sheet.description.PAPERS`.
    title : Content
        Heads every page.
    subject : str
        What the pages are for, in the user's words: stands beside the title.
    workshop : Workshop, optional
        Heads the first page.
    with_bar : bool
        Something is at true size, which a bar of true length proves.
    own_line : Content
        What proves it in place of the bar: a line of the thing itself.
    """

    def __init__(
        self, paper: str, ruler: Ruler, title: Content, subject: str = "",
        workshop: Workshop | None = None, *, with_bar: bool = True, own_line: Content = "",
    ) -> None:  # fmt: skip
        self.paper, self.ruler = paper, ruler
        self.width_mm, self.height_mm = PAPERS[paper]
        self.left, self.room = MARGIN_MM, self.width_mm - 2 * MARGIN_MM
        self._with_bar, self._own_line = with_bar, own_line
        self.bottom = self.height_mm - MARGIN_MM - (FOOT_MM if with_bar else BARE_FOOT_MM)
        self._title, self._subject = title, plain(subject)
        self._done: list[list[Element]] = []
        self._true_size: set[int] = set()
        self.y = MARGIN_MM
        self._begin(workshop or Workshop())

    def _begin(self, workshop: Workshop) -> None:
        self._done.append([])
        self.y = MARGIN_MM
        self.add(workshop.elements(self.left, self.y, self.room))
        self.y += workshop.height_mm
        title_mm = min(self.ruler.width_mm(self._title, TITLE_PT, bold=True) + 1.0, self.room)
        self.add([Text(self.left, self.y + 5.6, self._title, TITLE_PT, bold=True,
                       room_mm=title_mm)])  # fmt: skip
        beside = self.room - title_mm - 5.0
        if self._subject and beside > 20.0:
            right = self.left + self.room
            self.add([Text(right, self.y + 5.6, self._subject, 9.0, align="right",
                           room_mm=beside)])  # fmt: skip
        under = self.y + TITLE_MM - 3.0
        self.add([Line(self.left, under, self.left + self.room, under, 0.5)])
        self.y += TITLE_MM
        self._top = self.y

    @property
    def count(self) -> int:
        """How many pages are begun."""
        return len(self._done)

    @property
    def left_mm(self) -> float:
        """How much height is left on the page."""
        return self.bottom - self.y

    def add(self, elements: Sequence[Element]) -> None:
        """Set elements on the page at hand."""
        self._done[-1] += elements

    def at_true_size(self) -> None:
        """What is set next is at true size: this page has a bar, and those of which nobody says
        so have none."""
        self._true_size.add(len(self._done))

    def turn(self) -> None:
        """Begin another page."""
        self._begin(Workshop())

    def need(self, height_mm: float) -> None:
        """Begin another page if this one has not so much height left."""
        if self.left_mm < height_mm:
            self.turn()

    def heading(self, text: Content, aside: Content = "") -> None:
        """A section heading with a rule."""
        rule, *words = heading(self.left, self.y, self.room, text, aside, self.ruler)
        under_title = len(self._done) > 1 and self.y == self._top
        self.add(words if under_title else [rule, *words])  # which has a rule of its own
        self.y += SECTION_MM

    def facts(self, facts: Sequence[tuple[Content, Content]]) -> None:
        """Labels with their values, in three columns."""
        made = fact_list(facts, self.room, 3, self.ruler)
        self.add(made.elements(self.left, self.y))
        self.y += made.height_mm + 2.0

    def paragraph(self, text: Content, size_pt: float = 8.5, gap_mm: float = 1.6) -> None:
        """A text over the whole width, on as many lines as it needs."""
        leading = LEADING_MM * size_pt / 8.0
        lines = self.ruler.lines(text, size_pt, self.room)
        self.need(leading * lines)
        self.add([Paragraph(self.left, self.y + 0.75 * leading, text, self.room, lines, size_pt,
                            leading)])  # fmt: skip
        self.y += leading * lines + gap_mm

    def notes(self, label: Content) -> None:
        """Lines to write on, the first with its label, down to the foot of the page."""
        self.need(8.0)
        self.add(place_to_write(self.left, self.y + 5.0, self.room, label, self.ruler))
        while self.left_mm >= 5.0 + 2 * NOTE_LINE_MM:
            self.y += NOTE_LINE_MM
            y = self.y + 5.0
            self.add([Line(self.left, y, self.left + self.room, y, LEAST_LINE_MM)])

    def description(self) -> Description:
        """All pages, numbered; where something is at true size, each with a bar of true length, or
        those alone that hold it, where :meth:`at_true_size` told which."""
        count = len(self._done)
        foot = self.height_mm - MARGIN_MM
        pages = []
        right = self.left + self.room
        for number, elements in enumerate(self._done, start=1):
            made, beside = list(elements), self.room - (0.0 if self._own_line else 108.0)
            if self._with_bar and number in (self._true_size or (number,)):
                made += [] if self._own_line else scale_bar(self.left, foot - 1.0)
                how = word("print-at-true-size", line=self._own_line or word("the-bar"))
                made.append(Text(right, foot - 4.4, how, SMALL_PT, align="right", room_mm=beside))
            told = word("page-of", number=number, count=count)
            made.append(Text(right, foot - 0.6, told, SMALL_PT, align="right", room_mm=beside))
            pages.append(PaperPage(self.width_mm, self.height_mm, MARGIN_MM, tuple(made)))
        title = self._title
        if self._subject:
            title = word("print-of", title=title, subject=self._subject)
        return Description(title, self.paper, tuple(pages), self._with_bar)
