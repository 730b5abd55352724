"""Why nothing is predicted by the figures of the mechanism: one reason, wherever one is told."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import chain
from typing import TYPE_CHECKING

from bobweight.app.messages import needs_text, place_text, sentence
from bobweight.app.messages.blanks import table_assumed_text
from bobweight.app.words import lower_first, translate
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError, Path, Problem

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome
    from bobweight.core.record import Record

_MOST_NAMED = 3  # the names of more take the room of the curve


@frozen
class Lacking:
    """A sentence with its sign: ▲ cannot be, △ blank and assumed, ○ blank and needed. ``path`` is
    the place to mend it; ``brief`` the sentence without a long list."""

    sign: str
    text: str
    path: Path = ("mechanism",)
    brief: str = ""

    @property
    def in_brief(self) -> str:
        """Sign and sentence, without a long list."""
        return f"{self.sign} {self.brief or self.text}"


def is_blank(problem: Problem) -> bool:
    """True for what is not there; anything else is of figures that cannot be."""
    from bobweight.core.judgement.assume import BLANK

    return problem.code in BLANK


def lacking(
    outcome: Outcome, doubted: Sequence[Path] | None = None, stand_in: bool = True
) -> tuple[Lacking, ...]:
    """Why nothing is predicted, the gravest reason alone: a figure that cannot be right; else what
    contradicts itself, each; else what is blank. Empty where there is a curve.

    Parameters
    ----------
    doubted : sequence of Path, optional
        Where table and readings say that one of the figures cannot be right: those that may be it,
        the likeliest first; empty where none by itself would explain it.
    stand_in : bool
        Whether usual figures do in place of blank ones, for what is asked.
    """
    if outcome.prediction is not None and doubted is None:
        return ()
    grave = [p for p in outcome.problems if p.grave and p.path[:1] == ("mechanism",)]
    wrong = [p for p in grave if not is_blank(p)] if doubted is None else []
    if wrong:
        return tuple(Lacking("▲", sentence(p, outcome.docket), p.path) for p in wrong)
    return blank_reasons(outcome, grave, doubted, stand_in)


def blank_reasons(
    outcome: Outcome,
    blank: Sequence[Problem],
    doubted: Sequence[Path] | None = None,
    stand_in: bool = True,
) -> tuple[Lacking, ...]:
    """What is blank, by its problems, and whether usual figures stand in; that a figure is wrong
    where one is ``doubted``, since none stands in then."""
    from bobweight.core.judgement.blanks import blanks

    named = [p for p in blank if p.code == "missing"]
    others = [p for p in blank if p.code != "missing"]
    of_mechanism = all(p.path[:1] == ("mechanism",) for p in blank)
    if doubted is not None and of_mechanism:
        return (_doubt(outcome, doubted),)
    assumed = blanks(outcome.docket) if of_mechanism and stand_in else {}
    if not assumed:
        needed = [Lacking("○", needs_text(named, outcome.docket), named[0].path)] if named else []
        return (*needed, *(Lacking("○", sentence(p, outcome.docket), p.path) for p in others))
    no_springs = translate("messages", "No spring is entered; usual ones are assumed.")
    if not named:
        said = table_assumed_text(assumed) or no_springs
        return (Lacking("△", said, others[0].path if others else ("mechanism",)),)
    text = needs_text(named, outcome.docket, assumed=True)
    if any(p.code == "no-springs" for p in others):
        text = f"{text} {no_springs}"
    brief = translate("messages", "Where a figure is blank, the trade’s usual one is taken.")
    return (Lacking("△", text, named[0].path, brief if len(named) > _MOST_NAMED else ""),)


def _doubt(outcome: Outcome, doubted: Sequence[Path]) -> Lacking:
    """That a figure cannot be right, and which to look at first: the likeliest, else one that is
    far from what the trade has."""
    unusual = (p.path for p in outcome.problems if p.code == "unusual" and p.path[0] == "mechanism")
    first = next(chain(doubted, unusual), None)
    if first is None:
        text = translate(
            "messages",
            "A figure of the mechanism cannot be right, and no single one would explain it. Look "
            "first at rates and lengths of the springs, then at the weights.",
        )
        return Lacking("▲", text)
    text = translate(
        "messages", "A figure of the mechanism cannot be right. Look first at this one: {what}."
    )
    return Lacking("▲", text.format(what=lower_first(place_text(first, outcome.docket))), first)


def curve_needs(outcome: Outcome, doubted: Sequence[Path] | None = None) -> str:
    """That there is no predicted curve, and why; empty where there is one."""
    if outcome.prediction is not None:
        return ""
    nothing = translate("messages", "No curve can be worked out from the mechanism’s own figures.")
    why = lacking(outcome, doubted, stand_in=False)[:2]  # only its own figures do
    return " ".join((nothing, *(each.text for each in why)))


def refusal(begun: Callable[[], object], root: Record) -> str:
    """Why the core would not begin a work, of a record; empty where it would."""
    try:
        begun()
    except BobweightError as error:
        return sentence(error.problem, root)
    return ""
