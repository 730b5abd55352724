"""What is asked of a sheet besides its figures."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING

from bobweight.core.figure.description import Content, word
from bobweight.core.frozen import frozen
from bobweight.core.sheet.record import Compared, compared, earlier_session
from bobweight.core.sheet.workshop import Workshop

if TYPE_CHECKING:
    from bobweight.core.judgement.answer import Judgement
    from bobweight.core.judgement.outcome import Outcome

EARLIEST = -1


@frozen
class SheetOptions:
    """What is asked of a sheet besides its figures.

    Parameters
    ----------
    pages : int
        1, or 2 for the record at length as well.
    before : int or None
        Session (by index) to compare the one judged with; ``EARLIEST`` is the first with readings
        before it, None is no comparison.
    workshop : Workshop
        Heads the first page.
    judgement : Judgement, optional
        Of the docket and session: then its check points and its decision are those on the paper.
    said : str
        The one sentence of that judgement, which heads the paper.
    errors : tuple of str
        Where and how the curve errs, a sentence each; the first two stand over the curve.
    unpredicted : str
        Why nothing is predicted, where figures of a mechanism are entered; stands over the curve.
    cautions : tuple of str
        The usual cautions at length, for the foot of the last page.
    one_page : bool
        Everything on one page, cut to fit it, for a picture.
    """

    pages: int = 1
    before: int | None = EARLIEST
    workshop: Workshop = field(default_factory=Workshop)
    judgement: Judgement | None = None
    said: str = ""
    errors: tuple[str, ...] = ()
    unpredicted: str = ""
    cautions: tuple[str, ...] = ()
    one_page: bool = False

    @property
    def doubt(self) -> list[Content]:
        """What is said of the mechanism's figures: something where one of them cannot be right."""
        wrong = self.judgement is not None and self.judgement.bare
        return [word("figures-doubted")] if wrong else []

    @property
    def over_curve(self) -> list[Content]:
        """What is said over the curve before its own figures."""
        said: list[Content] = [text for text in (self.unpredicted, *self.errors[:2]) if text]
        return said + self.doubt

    def compared(self, outcome: Outcome) -> Compared | None:
        """The two sessions that are compared; None if there are no two."""
        before = self.before
        if before == EARLIEST:
            before = earlier_session(outcome.docket, outcome.session)
        return compared(outcome, before)
