"""The answer of a judgement, as frozen records: one decision, and what it rests on.

Everything that a page, a sheet or the command line says of a unit is said of these.
"""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING

from bobweight.core.docket.docket import Docket
from bobweight.core.frozen import frozen
from bobweight.core.problems import Path, Problem
from bobweight.core.statistics.conformity import Conformity

if TYPE_CHECKING:  # an answer is read without what works it out
    from bobweight.core.judgement.alter import CureStep
    from bobweight.core.judgement.diagnosis import Explanation
    from bobweight.core.judgement.fit import FittedReading
    from bobweight.core.judgement.posterior import CurveBand

INSIDE, LOOKS_INSIDE, CANNOT_BE_TOLD, LOOKS_OUTSIDE, OUTSIDE = (
    "inside", "looks inside", "cannot be told", "looks outside", "outside",
)  # fmt: skip
DECISIONS = (INSIDE, LOOKS_INSIDE, CANNOT_BE_TOLD, LOOKS_OUTSIDE, OUTSIDE)
"""The words of decision, best first. The outer two are acceptance and rejection with guard bands
(JCGM 106:2012, 8.3); the inner two are what a bench says aloud."""
NOT_READ, BEING_JUDGED = "not read", "being judged"
"""What is told of a check point that no reading reaches, and of one that is not yet judged."""
SURE, LIKELY = 0.95, 0.80


def decision_word(probability_inside: float) -> str:
    """One of :data:`DECISIONS` for a probability; NaN cannot be told."""
    if probability_inside >= SURE:
        return INSIDE
    if probability_inside >= LIKELY:
        return LOOKS_INSIDE
    if probability_inside <= 1.0 - SURE:
        return OUTSIDE
    return LOOKS_OUTSIDE if probability_inside <= 1.0 - LIKELY else CANNOT_BE_TOLD


@frozen
class PointJudgement:
    """One check point, in distributor rev/min and degrees.

    Attributes
    ----------
    kind : {'check', 'start', 'ceiling', 'vacuum'}
    index : int or None
        Row in the target's table.
    speed_rpm, depression_kpa : float or None
        Where; one of them is None.
    low_deg, high_deg : float
        The band; infinite where the table gives no limit.
    advance_deg, u_deg : float or None
        By everything that is known, the middle of the branches judged; where that lies inside
        though one of them is outside, that one. None where nothing can be said.
    probability_inside : float or None
        That the unit lies in the band here, on every branch that the table speaks of.
    decision : str
        One of :data:`DECISIONS`, of this point alone.
    readings_deg, u_readings_deg : float or None
        By the readings near it alone, without any model; None where they do not reach.
    read_around : bool
        Whether readings lie on both sides of it, or beyond where the curve ends.
    branch : {'rising', 'falling'} or None
        Whose advance it is: that which decides; None where it stands for all that were judged.
    """

    kind: str
    index: int | None
    speed_rpm: float | None
    depression_kpa: float | None
    low_deg: float
    high_deg: float
    advance_deg: float | None
    u_deg: float | None
    probability_inside: float | None
    decision: str
    readings_deg: float | None
    u_readings_deg: float | None
    read_around: bool = True
    branch: str | None = None

    @property
    def verdict(self) -> Conformity:
        """The decision in the three words of JCGM 106."""
        return {INSIDE: Conformity.INSIDE, OUTSIDE: Conformity.OUTSIDE}.get(
            self.decision, Conformity.CANNOT_TELL
        )


@frozen
class Help:
    """One thing that would help the decision.

    Attributes
    ----------
    what : str
        ``read`` (take a reading), ``read-stretch`` (one where there are none, without which nothing
        is called inside), ``read-way`` (the way that was not read), ``read-again`` (several at one
        place), ``prove-mark``, ``check-tachometer``, ``measure`` (a value of the docket),
        ``enter-table``.
    gain : float
        Expected fall of the loss of :mod:`core.judgement.loss`, its cost taken off; of a unit that
        was not read, by how many degrees its curve is known better.
    path : Path
        Of the value to be measured or proved; empty for a reading.
    speed_rpm, direction, depression_kpa
        Of a reading, as the instrument shows it.
    u : float or None
        To what standard uncertainty, in the value's stored unit.
    curve_deg : tuple of float or None
        Standard uncertainty of the curve before and after it, in distributor degrees and on
        average over speeds; of a unit that was not read.
    """

    what: str
    gain: float
    path: Path = ()
    speed_rpm: float | None = None
    direction: str = ""
    depression_kpa: float | None = None
    u: float | None = None
    curve_deg: tuple[float, float] | None = None


@frozen(eq=False)
class Judgement:
    """What one session of readings, the figures and the table jointly say of a unit.

    Attributes
    ----------
    docket : Docket
        As given.
    described : Docket
        The same with its blanks filled in: what alterations and explanations speak of.
    session : int
        Index into ``docket.sessions``; −1 if there is none.
    decision : str
        One of :data:`DECISIONS`.
    probability_inside : float or None
        Of the whole: all check points, start, ceiling and vacuum at once. None where there is no
        band, or nothing to judge by.
    probability_at_even_odds : float or None
        The same, had a sound unit been as likely beforehand as a faulty one.
    check_points : tuple of PointJudgement
        Start, check points, ceiling, vacuum.
    explanations : tuple of Explanation
        The most probable first, with ``name`` and ``probability``.
    action : str
        A key of :data:`core.judgement.decision.ACTIONS`.
    reasons : tuple of Problem
        Codes that say why the decision is no surer, the gravest first.
    errors : tuple of Problem
        Where and how the curve errs: codes of :mod:`core.judgement.misfit`, along the curve.
    helps_most : tuple of Help
        What would help the decision most, the best first; empty if nothing would.
    alterations : tuple of CureStep
        The list proposed, each with the chance of the whole band after it. ``amount`` is added to
        the value at ``path``, or multiplies it where ``unit`` is ``times``; a step of unit ``""``
        sets (``clean``: no stick and no grip; ``swap``: the docket's own figures of that spring).
    others : tuple of tuple of CureStep
        Other single alterations, the most probable first.
    probability_before, probability_after : float or None
        Chance of the whole band without, and after the whole list.
    noise : float or None
        By how much the readings scatter more than stated.
    assumed : tuple of Path
        Values that were blank, and taken as usual in the trade.
    bare : bool
        Whether table and readings say that a figure of the mechanism cannot be right; the unit is
        then judged as if none were known.
    doubted : tuple of Path
        Which would have to be another, any one of them, the likeliest first.
    also_read : tuple of int
        Indices of other sessions of the unit whose readings counted too.
    slips : tuple of FittedReading
        Readings more likely slips than not, whatever the unit may be.
    complete : bool
        False if the work was stopped part way.
    """

    docket: Docket
    session: int = -1
    problems: tuple[Problem, ...] = ()
    decision: str = CANNOT_BE_TOLD
    probability_inside: float | None = None
    probability_at_even_odds: float | None = None
    check_points: tuple[PointJudgement, ...] = ()
    explanations: tuple[Explanation, ...] = ()
    action: str = "not-judged"
    reasons: tuple[Problem, ...] = ()
    errors: tuple[Problem, ...] = ()
    helps_most: tuple[Help, ...] = ()
    alterations: tuple[CureStep, ...] = ()
    others: tuple[tuple[CureStep, ...], ...] = ()
    probability_before: float | None = None
    noise: float | None = None
    assumed: tuple[Path, ...] = ()
    bare: bool = False
    doubted: tuple[Path, ...] = ()
    also_read: tuple[int, ...] = ()
    filled: Docket | None = field(default=None, repr=False)
    band: CurveBand | None = field(default=None, repr=False)
    slips: tuple[FittedReading, ...] = ()
    complete: bool = True

    @property
    def described(self) -> Docket:
        """The docket with its blanks filled in."""
        return self.docket if self.filled is None else self.filled

    @property
    def probability_after(self) -> float | None:
        """Chance of the whole band after the list proposed; None without one."""
        return self.alterations[-1].probability_inside_after if self.alterations else None
