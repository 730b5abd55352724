"""Deviation and conformity at each check point: by the readings, and by the prediction.

What the readings say at a check point is a locally weighted straight line through those near it
(:func:`core.statistics.robust.local_line`); what they all share (static, mark, delay, tachometer
scale) is added to its uncertainty. The decision follows JCGM 106: the probability that the true
value lies inside the band.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.target import CheckPoint, VacuumPoint
from bobweight.core.frozen import frozen
from bobweight.core.judgement.answer import BEING_JUDGED, CANNOT_BE_TOLD, NOT_READ
from bobweight.core.judgement.frames import to_distributor
from bobweight.core.judgement.reduce import Reduced
from bobweight.core.mechanics.capsule import plate_advance_deg, usable
from bobweight.core.mechanics.predict import Prediction
from bobweight.core.problems import Problem
from bobweight.core.record import value_problems
from bobweight.core.statistics.conformity import Conformity, decide, probability_inside
from bobweight.core.statistics.robust import local_line

NO_ADVANCE_DEG = 0.5
"""Distributor degrees that still count as no advance (common practice: half a degree)."""


@frozen
class PointResult:
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
    predicted_deg : float or None
        The middle of the branches judged; where that lies inside though one of them is outside,
        that one, the farthest out.
    predicted_branch : {'rising', 'falling'} or None
        Whose advance ``predicted_deg`` is; None where it stands for all that were judged.
    predicted_inside : bool or None
        Whether every branch judged lies in the band.
    estimate_deg, u_deg : float or None
        By the readings; None where they do not reach.
    estimate_branch : {'rising', 'falling'} or None
        Whose advance ``estimate_deg`` is; None where it stands for all that were judged.
    decision : str
        The word of decision, where the point was judged by everything that is known;
        :data:`core.judgement.answer.BEING_JUDGED` where it will be in a moment.
    reached : bool
        Whether readings lie about it, where it was judged so.
    """

    kind: str
    index: int | None
    speed_rpm: float | None
    depression_kpa: float | None
    low_deg: float
    high_deg: float
    predicted_deg: float | None
    predicted_branch: str | None
    predicted_inside: bool | None
    estimate_deg: float | None
    u_deg: float | None
    probability_inside: float | None
    verdict: Conformity
    estimate_branch: str | None = None
    decision: str = ""
    reached: bool = True

    @property
    def not_read(self) -> bool:
        """Whether it cannot be told for want of readings there."""
        if self.decision == BEING_JUDGED:
            return False
        untold = self.decision == CANNOT_BE_TOLD and not self.reached
        return self.estimate_deg is None or untold

    @property
    def middle_deg(self) -> float:
        """Middle of the band; the limit itself where there is only one."""
        if np.isinf(self.low_deg) or np.isinf(self.high_deg):
            return self.high_deg if np.isinf(self.low_deg) else self.low_deg
        return 0.5 * (self.low_deg + self.high_deg)

    @property
    def word(self) -> str:
        """The word of decision, or of the readings alone the verdict."""
        return self.decision or str(self.verdict.value)

    @property
    def told(self) -> str:
        """What is told of it: :attr:`word`, or that nobody read it."""
        return NOT_READ if self.not_read else self.word

    @property
    def deviation_deg(self) -> float | None:
        """Estimate less the middle of the band; None without one, or where there is one limit."""
        return self._off_middle(self.estimate_deg)

    @property
    def predicted_deviation_deg(self) -> float | None:
        """Prediction less the middle of the band, likewise."""
        return self._off_middle(self.predicted_deg)

    def _off_middle(self, deg: float | None) -> float | None:
        one_limit = np.isinf(self.high_deg - self.low_deg)
        return None if deg is None or one_limit else deg - self.middle_deg


@frozen
class Comparison:
    """Every check point of a docket against readings and prediction.

    ``decision`` is the word of the whole where the unit was judged by everything that is known
    (:mod:`core.judgement.answer`); empty where the readings speak for themselves.
    """

    check_points: tuple[PointResult, ...] = ()
    start: PointResult | None = None
    ceiling: PointResult | None = None
    vacuum_points: tuple[PointResult, ...] = ()
    decision: str = ""

    @property
    def all_points(self) -> tuple[PointResult, ...]:
        """In the order they are read: start, check points, ceiling, vacuum."""
        ends = [p for p in (self.start,) if p], [p for p in (self.ceiling,) if p]
        return (*ends[0], *self.check_points, *ends[1], *self.vacuum_points)

    @property
    def overall(self) -> Conformity:
        """Outside if any point is, inside if all are, else it cannot be told."""
        verdicts = {p.verdict for p in self.all_points}
        if Conformity.OUTSIDE in verdicts:
            return Conformity.OUTSIDE
        return Conformity.INSIDE if verdicts == {Conformity.INSIDE} else Conformity.CANNOT_TELL


def paired(one: Comparison, other: Comparison) -> list[tuple[PointResult, PointResult]]:
    """The points that two comparisons of one target have both, in the order they are read."""
    known = {(p.kind, p.index): p for p in other.all_points}
    both = ((p, known.get((p.kind, p.index))) for p in one.all_points)
    return [(p, q) for p, q in both if q is not None]


def target_problems(docket: Docket) -> list[Problem]:
    """What is wrong with the target, each problem placed inside it."""
    target = docket.target
    found = value_problems(target)
    if target.frame_taken == "crank-static" and docket.setting_up.static_deg is None:
        found.insert(0, Problem("static-needed", ("frame",)))
    tables: tuple[tuple[str, str, tuple[CheckPoint | VacuumPoint, ...]], ...] = (
        ("points", "speed_rpm", target.points),
        ("vacuum_points", "depression_kpa", target.vacuum_points),
    )
    for table, where, points in tables:
        seen: dict[float, int] = {}
        for row, point in enumerate(points):
            place = (table, row)
            if getattr(point, where) is None:
                found.append(Problem("missing", (*place, where), grave=False))
                continue
            if point.least_deg is None and point.most_deg is None:
                found.append(Problem("missing", (*place, "least_deg"), grave=False))
            elif _crossed(point):
                facts = {"low": point.least_deg, "high": point.most_deg}
                found.append(Problem("limits-crossed", (*place, "most_deg"), facts))
            value = getattr(point, where)
            if value in seen:
                facts = {"value": value, "row": seen[value] + 1}
                found.append(Problem("same-place-twice", (*place, where), facts, grave=False))
            seen.setdefault(value, row)
    return found


def _crossed(point: CheckPoint | VacuumPoint) -> bool:
    return (
        point.least_deg is not None
        and point.most_deg is not None
        and point.least_deg > point.most_deg
    )


@frozen
class Bands:
    """What the target asks, in distributor figures; arrays of shape (points,).

    ``where`` is a distributor speed, or a depression in kPa where ``kind`` is 'vacuum'.
    """

    kind: tuple[str, ...]
    index: tuple[int | None, ...]
    where: np.ndarray
    low_deg: np.ndarray
    high_deg: np.ndarray

    @property
    def vacuum(self) -> np.ndarray:
        """Which of them are vacuum check points."""
        return np.array([kind == "vacuum" for kind in self.kind], dtype=bool)


@frozen
class Evidence:
    """What the readings say at each band; NaN where they do not reach. Shape (points,)."""

    bands: Bands
    estimate_deg: np.ndarray
    u_deg: np.ndarray


def bands(docket: Docket, fastest_rpm: float) -> Bands:
    """The target's usable rows in distributor figures: start, check points, ceiling, vacuum.

    Rows that are half typed or crossed are passed over. The ceiling is asked at the speed of the
    fastest reading.
    """
    target, ratio = docket.target, docket.particulars.ratio_taken
    static = docket.setting_up.static_deg
    rows: list[tuple[str, int | None, float, float, float]] = []

    def add(
        kind: str, index: int | None, speed: float, low: float | None, high: float | None
    ) -> None:
        frame = target.vacuum_frame_taken if kind == "vacuum" else target.frame_taken
        limits = (-np.inf if low is None else low, np.inf if high is None else high)
        (where, least), (_, most) = (
            map(float, to_distributor(speed, limit, frame, ratio, static or 0.0))
            for limit in limits
        )
        rows.append((kind, index, speed if kind == "vacuum" else where, least, most))

    known = target.frame_taken != "crank-static" or static is not None
    if target.no_advance_below_rpm is not None:
        speed, _ = to_distributor(target.no_advance_below_rpm, 0.0, target.frame_taken, ratio)
        rows.append(("start", None, float(speed), -np.inf, NO_ADVANCE_DEG))
    for index, point in enumerate(target.points):
        if known and point.speed_rpm is not None and _usable(point):
            add("check", index, point.speed_rpm, point.least_deg, point.most_deg)
    if known and target.ceiling_deg is not None:
        add("ceiling", None, 0.0, None, target.ceiling_deg)
        rows[-1] = ("ceiling", None, fastest_rpm, *rows[-1][3:])
    for index, row in enumerate(target.vacuum_points):
        if row.depression_kpa is not None and _usable(row):
            add("vacuum", index, row.depression_kpa, row.least_deg, row.most_deg)
    columns = np.array([row[2:] for row in rows], dtype=float).reshape(-1, 3).T
    return Bands(tuple(row[0] for row in rows), tuple(row[1] for row in rows), *columns)


def _usable(point: CheckPoint | VacuumPoint) -> bool:
    limited = point.least_deg is not None or point.most_deg is not None
    return limited and not _crossed(point)


def weigh(docket: Docket, reduced: Reduced) -> Evidence:
    """What the readings say at each band of the target, with standard uncertainty."""
    asked = bands(docket, float(np.max(reduced.speed_rpm[reduced.used()], initial=0.0)))
    r, vacuum = reduced, asked.vacuum
    estimate, u = np.full(len(vacuum), np.nan), np.full(len(vacuum), np.nan)
    off = r.used()
    if docket.target.read_as != "either":
        off &= (r.direction == docket.target.read_as) | (r.direction == "unknown")
    if off.any() and not vacuum.all():
        speed = asked.where[~vacuum]
        local = local_line(
            r.speed_rpm[off], r.advance_deg[off], r.u_speed_rpm[off], r.u_advance_deg[off], speed
        )
        order = np.argsort(r.speed_rpm)
        common = np.interp(speed, r.speed_rpm[order], r.u_common_deg[order])
        scale = local.slope * speed * r.u_scale
        estimate[~vacuum] = local.y
        u[~vacuum] = np.sqrt(local.u**2 + common**2 + scale**2)
    on = r.used(pipe_on=True) & np.isfinite(r.vacuum_deg)
    if on.any() and vacuum.any():
        local = local_line(
            r.depression_kpa[on], r.vacuum_deg[on], r.u_depression_kpa[on], r.u_vacuum_deg[on],
            asked.where[vacuum],
        )  # fmt: skip
        estimate[vacuum] = local.y
        u[vacuum] = np.hypot(local.u, r.u_common_deg[on].mean())
    return Evidence(asked, estimate, u)


def compare(docket: Docket, evidence: Evidence, prediction: Prediction | None) -> Comparison:
    """Each check point of the target against the readings and the prediction.

    Parameters
    ----------
    evidence : Evidence
        From :func:`weigh`, for the session to judge by.
    prediction : Prediction or None
        None where the mechanism cannot be computed.
    """
    asked = evidence.bands
    ways = docket.target.ways
    predicted = _predicted(docket, asked, prediction)
    inside = (predicted >= asked.low_deg) & (predicted <= asked.high_deg)
    with np.errstate(invalid="ignore"):
        probability = probability_inside(
            evidence.estimate_deg, np.where(np.isnan(evidence.u_deg), 1.0, evidence.u_deg),
            asked.low_deg, asked.high_deg,
        )  # fmt: skip
    telling = [
        _telling(along, ways, low, high)
        for along, low, high in zip(
            predicted.T.tolist(), asked.low_deg.tolist(), asked.high_deg.tolist(), strict=True
        )
    ]
    results = [
        PointResult(
            kind=kind,
            index=asked.index[k],
            speed_rpm=None if kind == "vacuum" else float(asked.where[k]),
            depression_kpa=float(asked.where[k]) if kind == "vacuum" else None,
            low_deg=float(asked.low_deg[k]),
            high_deg=float(asked.high_deg[k]),
            predicted_deg=telling[k][0],
            predicted_branch=telling[k][1],
            predicted_inside=None if np.isnan(predicted[0, k]) else bool(inside[:, k].all()),
            estimate_deg=_or_none(evidence.estimate_deg[k]),
            u_deg=_or_none(evidence.u_deg[k]),
            probability_inside=_or_none(probability[k]),
            verdict=decide(float(probability[k])),
        )
        for k, kind in enumerate(asked.kind)
    ]

    def of(kind: str) -> tuple[PointResult, ...]:
        return tuple(r for r in results if r.kind == kind)

    start, ceiling = of("start"), of("ceiling")
    return Comparison(
        of("check"), start[0] if start else None, ceiling[0] if ceiling else None, of("vacuum")
    )


def stretches(there: np.ndarray) -> list[slice]:
    """Where two neighbouring check points or more are there: a band is drawn along each stretch.

    Parameters
    ----------
    there : bool array, shape (points,)
        Which check points have the limit, in the order of the band.
    """
    turns = np.flatnonzero(np.diff(np.concatenate([[0], there.astype(int), [0]])))
    return [slice(a, b) for a, b in turns.reshape(-1, 2).tolist() if b - a > 1]


def _telling(
    advance_deg: list[float], ways: tuple[str, ...], low_deg: float, high_deg: float
) -> tuple[float | None, str | None]:
    """The advance to tell of those of the branches at one point, and whose it is if not of all: a
    middle inside the band would contradict that a branch is outside."""
    middle = sum(advance_deg) / len(advance_deg)
    if low_deg <= middle <= high_deg:
        outside = [max(low_deg - advance, advance - high_deg) for advance in advance_deg]
        if max(outside) > 0:
            worst = outside.index(max(outside))
            return advance_deg[worst], ways[worst]
    return _or_none(middle), None


def _predicted(docket: Docket, asked: Bands, prediction: Prediction | None) -> np.ndarray:
    """On the branch the table was read on, or on both: shape (branches, points); NaN unknown."""
    ways = docket.target.ways
    result = np.full((len(ways), len(asked.kind)), np.nan)
    vacuum = asked.vacuum
    if prediction is not None:
        for row, way in enumerate(ways):
            result[row, ~vacuum] = prediction.advance_deg(asked.where[~vacuum], way)
        result[:, [kind == "ceiling" for kind in asked.kind]] = prediction.full_deg
    if vacuum.any() and usable(docket.capsules):
        result[:, vacuum] = plate_advance_deg(docket.capsules, asked.where[vacuum])
    return result


def _or_none(value: float) -> float | None:
    return None if np.isnan(value) else float(value)
