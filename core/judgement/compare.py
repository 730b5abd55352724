"""Deviation and conformity at each check point: by the readings, and by the prediction.

What the readings say at a check point is a locally weighted straight line through those near it
(:func:`core.statistics.robust.local_line`); what they all share (static, mark, delay, tachometer
scale) is added to its uncertainty. The decision follows JCGM 106: the probability that the true
value lies inside the band.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.docket.docket import Docket
from core.docket.target import CheckPoint, VacuumPoint
from core.judgement.frames import to_distributor
from core.judgement.reduce import Reduced
from core.mechanics.capsule import capsule_advance_deg, capsule_problems
from core.mechanics.predict import Prediction
from core.problems import Problem
from core.record import value_problems
from core.statistics.conformity import Decision, decide, probability_inside
from core.statistics.robust import local_line

NO_ADVANCE_DEG = 0.5
"""Distributor degrees that still count as no advance (common practice: half a degree)."""


@dataclass(frozen=True)
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
    predicted_inside : bool or None
    estimate_deg, u_deg : float or None
        By the readings; None where they do not reach.
    probability_inside : float or None
    verdict : Decision
    """

    kind: str
    index: int | None
    speed_rpm: float | None
    depression_kpa: float | None
    low_deg: float
    high_deg: float
    predicted_deg: float | None
    predicted_inside: bool | None
    estimate_deg: float | None
    u_deg: float | None
    probability_inside: float | None
    verdict: Decision

    @property
    def middle_deg(self) -> float:
        """Middle of the band; the limit itself where there is only one."""
        if np.isinf(self.low_deg) or np.isinf(self.high_deg):
            return self.high_deg if np.isinf(self.low_deg) else self.low_deg
        return 0.5 * (self.low_deg + self.high_deg)

    @property
    def deviation_deg(self) -> float | None:
        """Estimate less the middle of the band."""
        return None if self.estimate_deg is None else self.estimate_deg - self.middle_deg

    @property
    def predicted_deviation_deg(self) -> float | None:
        """Prediction less the middle of the band."""
        return None if self.predicted_deg is None else self.predicted_deg - self.middle_deg


@dataclass(frozen=True)
class Comparison:
    """Every check point of a docket against readings and prediction."""

    check_points: tuple[PointResult, ...] = ()
    start: PointResult | None = None
    ceiling: PointResult | None = None
    vacuum_points: tuple[PointResult, ...] = ()

    @property
    def all_points(self) -> tuple[PointResult, ...]:
        """In the order they are read: start, check points, ceiling, vacuum."""
        ends = [p for p in (self.start,) if p], [p for p in (self.ceiling,) if p]
        return (*ends[0], *self.check_points, *ends[1], *self.vacuum_points)

    @property
    def overall(self) -> Decision:
        """Outside if any point is, inside if all are, else it cannot be told."""
        verdicts = {p.verdict for p in self.all_points}
        if Decision.OUTSIDE in verdicts:
            return Decision.OUTSIDE
        return Decision.INSIDE if verdicts == {Decision.INSIDE} else Decision.CANNOT_TELL


def target_problems(docket: Docket) -> list[Problem]:
    """What is wrong with the target, each problem placed inside it."""
    target = docket.target
    found = value_problems(target)
    if target.frame == "crank-static" and docket.setting_up.static_deg is None:
        found.insert(0, Problem("static-needed", ("frame",)))
    tables = (("points", "speed_rpm", target.points),
              ("vacuum_points", "depression_kpa", target.vacuum_points))  # fmt: skip
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


def compare(docket: Docket, reduced: Reduced, prediction: Prediction | None) -> Comparison:
    """Each check point of the target against the readings and the prediction.

    Parameters
    ----------
    docket : Docket
    reduced : Reduced
        The session to judge by, from :func:`core.judgement.reduce.reduce_session`.
    prediction : Prediction or None
        None where the mechanism cannot be computed.
    """
    judge = _Judge(docket, reduced, prediction)
    return Comparison(
        check_points=judge.check_points(),
        start=judge.start(),
        ceiling=judge.ceiling(),
        vacuum_points=judge.vacuum_points(),
    )


class _Judge:
    """One comparison in the making."""

    def __init__(self, docket: Docket, reduced: Reduced, prediction: Prediction | None):
        self.docket, self.reduced, self.prediction = docket, reduced, prediction
        self.target = docket.target
        self.static = docket.setting_up.static_deg
        self.known = self.target.frame != "crank-static" or self.static is not None

    def check_points(self) -> tuple[PointResult, ...]:
        rows = [
            (i, p)
            for i, p in enumerate(self.target.points)
            if p.speed_rpm is not None
            and not (p.least_deg is None and p.most_deg is None)
            and not _crossed(p)
        ]
        if not rows or not self.known:
            return ()
        speeds, lows = self._place([p.speed_rpm for _, p in rows], [p.least_deg for _, p in rows])
        _, highs = self._place([p.speed_rpm for _, p in rows], [p.most_deg for _, p in rows])
        lows = np.where(np.isnan(lows), -np.inf, lows)
        highs = np.where(np.isnan(highs), np.inf, highs)
        return self._results("check", [i for i, _ in rows], speeds, lows, highs)

    def start(self) -> PointResult | None:
        if self.target.no_advance_below_rpm is None:
            return None
        speed, _ = self._place([self.target.no_advance_below_rpm], [0.0])
        high = np.array([NO_ADVANCE_DEG])
        return self._results("start", [None], speed, np.array([-np.inf]), high)[0]

    def ceiling(self) -> PointResult | None:
        if self.target.ceiling_deg is None or not self.known:
            return None
        _, high = self._place([0.0], [self.target.ceiling_deg])
        used = self.reduced.used()
        fastest = self.reduced.speed_rpm[used].max() if used.any() else np.nan
        if self.prediction is not None:
            fastest = np.fmax(fastest, self.prediction.full_rpm)
        at = self.reduced.speed_rpm[used].max() if used.any() else fastest
        if not np.isfinite(at):
            at = 0.0
        result = self._results("ceiling", [None], np.array([at]), np.array([-np.inf]), high)[0]
        if self.prediction is None:
            return result
        top = self.prediction.full_deg
        return _replace(result, predicted_deg=top, predicted_inside=bool(top <= high[0]))

    def vacuum_points(self) -> tuple[PointResult, ...]:
        rows = [
            (i, p)
            for i, p in enumerate(self.target.vacuum_points)
            if p.depression_kpa is not None
            and not (p.least_deg is None and p.most_deg is None)
            and not _crossed(p)
        ]
        if not rows:
            return ()
        factor = self.docket.particulars.drive_ratio if self.target.vacuum_frame == "crank" else 1.0
        depression = np.array([p.depression_kpa for _, p in rows], dtype=float)
        lows = np.array([np.nan if p.least_deg is None else p.least_deg for _, p in rows]) / factor
        highs = np.array([np.nan if p.most_deg is None else p.most_deg for _, p in rows]) / factor
        lows, highs = (
            np.where(np.isnan(lows), -np.inf, lows),
            np.where(np.isnan(highs), np.inf, highs),
        )
        capsule = self.docket.capsule
        able = capsule.given_as != "none" and not any(p.grave for p in capsule_problems(capsule))
        predicted = capsule_advance_deg(capsule, depression) if able else None
        r = self.reduced
        on = r.used(pipe_on=True) & np.isfinite(r.vacuum_deg)
        local = local_line(
            r.depression_kpa[on], r.vacuum_deg[on], r.u_depression_kpa[on], r.u_vacuum_deg[on],
            depression,
        )  # fmt: skip
        common = float(r.u_common_deg[on].mean()) if on.any() else 0.0
        return tuple(
            _result(
                "vacuum", i, None, float(depression[k]), lows[k], highs[k],
                None if predicted is None else [float(predicted[k])],
                local.y[k], float(np.hypot(local.u[k], common)),
            )
            for k, (i, _) in enumerate(rows)
        )  # fmt: skip

    def _place(
        self, speeds: list[float | None], angles: list[float | None]
    ) -> tuple[np.ndarray, np.ndarray]:
        values = np.array([np.nan if a is None else a for a in angles], dtype=float)
        return to_distributor(
            np.array(speeds, dtype=float), values, self.target.frame,
            self.docket.particulars.drive_ratio, self.static or 0.0,
        )  # fmt: skip

    def _results(
        self, kind: str, index: list, speeds: np.ndarray, lows: np.ndarray, highs: np.ndarray
    ) -> tuple[PointResult, ...]:
        estimate, u = self._by_readings(speeds)
        predicted = self._predicted(speeds)
        return tuple(
            _result(
                kind, index[k], float(speeds[k]), None, lows[k], highs[k],
                None if predicted is None else [float(p[k]) for p in predicted],
                estimate[k], u[k],
            )
            for k in range(len(speeds))
        )  # fmt: skip

    def _by_readings(self, speeds: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Estimate and standard uncertainty at distributor speeds; NaN where none reach."""
        r = self.reduced
        used = r.used()
        if self.target.read_as != "either":
            used &= (r.direction == self.target.read_as) | (r.direction == "unknown")
        local = local_line(
            r.speed_rpm[used], r.advance_deg[used], r.u_speed_rpm[used], r.u_advance_deg[used],
            speeds,
        )  # fmt: skip
        order = np.argsort(r.speed_rpm)
        common = np.interp(speeds, r.speed_rpm[order], r.u_common_deg[order]) if len(order) else 0.0
        scale = local.slope * speeds * r.u_scale
        return local.y, np.sqrt(local.u**2 + common**2 + scale**2)

    def _predicted(self, speeds: np.ndarray) -> list[np.ndarray] | None:
        """On the branch that the table was read on; on both where it does not say."""
        if self.prediction is None:
            return None
        both = ("rising", "falling")
        ways = both if self.target.read_as == "either" else (self.target.read_as,)
        return [self.prediction.advance_deg(speeds, way) for way in ways]


def _result(
    kind: str, index: int | None, speed: float | None, depression: float | None,
    low: float, high: float, predicted: list[float] | None, estimate: float, u: float,
) -> PointResult:  # fmt: skip
    low, high = float(low), float(high)
    reached = bool(np.isfinite(estimate) and np.isfinite(u))
    probability = float(probability_inside(estimate, u, low, high)) if reached else None
    return PointResult(
        kind=kind,
        index=index,
        speed_rpm=speed,
        depression_kpa=depression,
        low_deg=low,
        high_deg=high,
        predicted_deg=None if predicted is None else float(np.mean(predicted)),
        predicted_inside=None if predicted is None else all(low <= p <= high for p in predicted),
        estimate_deg=float(estimate) if reached else None,
        u_deg=float(u) if reached else None,
        probability_inside=probability,
        verdict=Decision.CANNOT_TELL if probability is None else decide(probability),
    )


def _replace(result: PointResult, **changes: object) -> PointResult:
    return PointResult(**(result.__dict__ | changes))
