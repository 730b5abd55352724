"""Torque now against torque as the table has it, without any model of the mechanism.

At one advance the weights of a unit pull with a torque in proportion to the square of the speed, so
the square of the speed at which an advance was read, over the square of the speed at which the
table has it, is the torque that holds it now over what holds it in a sound unit, friction aside. A
constant ratio away from 1 is all springs, the weights or the tachometer; one away from 1 only up
to the take-up is the primary, only after it the secondary.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.frozen import frozen
from bobweight.core.latest import Latest

if TYPE_CHECKING:
    from bobweight.core.judgement.compare import PointResult
    from bobweight.core.judgement.outcome import Outcome

_LEAST_RISE_DEG = 0.05  # a table that climbs less between two points has no speed for an advance
_ALONG = 60  # advances at which the band is drawn


@frozen(eq=False)
class TargetSpeeds:
    """At which distributor speeds the table has an advance; arrays of shape (angles,), NaN where it
    does not say. The slowest and fastest that it allows are those of its edges."""

    middle_rpm: np.ndarray
    slowest_rpm: np.ndarray
    fastest_rpm: np.ndarray
    slope_rpm_per_deg: np.ndarray


@frozen(eq=False)
class TorqueRatio:
    """The ratio at each reading that lies on the climbing part of the table.

    Attributes
    ----------
    row : int array
        Row of the session's readings.
    advance_deg, ratio, u_ratio : array
    direction : array of str
    along_deg, low, high : array
        The table's own band in the same terms, along its climb.
    """

    row: np.ndarray
    advance_deg: np.ndarray
    ratio: np.ndarray
    u_ratio: np.ndarray
    direction: np.ndarray
    along_deg: np.ndarray
    low: np.ndarray
    high: np.ndarray


def target_speeds(points: tuple[PointResult, ...], advance_deg: np.ndarray) -> TargetSpeeds | None:
    """Speeds of a table at advances in distributor degrees; None for a table that does not climb
    between two check points with both limits."""
    closed = sorted((p for p in points if np.isfinite(p.low_deg) and np.isfinite(p.high_deg)
                     and p.speed_rpm is not None), key=lambda p: p.speed_rpm or 0.0)  # fmt: skip
    if len(closed) < 2:
        return None
    speed = np.array([p.speed_rpm for p in closed], dtype=float)
    middle, low, high = (
        np.array([getattr(p, key) for p in closed]) for key in ("middle_deg", "low_deg", "high_deg")
    )
    found = _speed_at(advance_deg, speed, middle)
    if not np.isfinite(found).any() and len(advance_deg):
        return None
    step = 0.1
    ahead, behind = (_speed_at(advance_deg + s, speed, middle) for s in (step, -step))
    slope = np.where(
        np.isnan(ahead), (found - behind) / step,
        np.where(np.isnan(behind), (ahead - found) / step, (ahead - behind) / (2 * step)),
    )  # fmt: skip
    return TargetSpeeds(found, _speed_at(advance_deg, speed, high, True),
                        _speed_at(advance_deg, speed, low, True), slope)  # fmt: skip


def _speed_at(advance_deg: np.ndarray, speed: np.ndarray, curve_deg: np.ndarray,
              beyond: bool = False) -> np.ndarray:  # fmt: skip
    """The speed at which a climbing curve reaches an advance; beyond its ends NaN, or the ends."""
    rising = np.maximum.accumulate(curve_deg)
    keep = np.append(True, np.diff(rising) > _LEAST_RISE_DEG)
    if keep.sum() < 2:
        return np.full(len(advance_deg), np.nan)
    ends = {} if beyond else {"left": np.nan, "right": np.nan}
    return np.asarray(np.interp(advance_deg, rising[keep], speed[keep], **ends))


_latest: Latest[TorqueRatio | None] = Latest()


def torque_ratio(outcome: Outcome) -> TorqueRatio | None:
    """ω_read² / ω_table² at equal advance, with standard uncertainty; None without a climbing table
    or without readings on it.

    The uncertainty is that of the single reading: an angle that is wrong by u moves the table's
    speed by its slope. No figure of the mechanism goes into it: it is kept while an edit leaves
    readings and table.
    """
    return _latest.of(outcome.evidence, outcome.reduced, make=lambda: _torque_ratio(outcome))


def _torque_ratio(outcome: Outcome) -> TorqueRatio | None:
    points, r = outcome.comparison.check_points, outcome.reduced
    rows = np.flatnonzero(r.used() & np.isfinite(r.advance_deg))
    at = target_speeds(points, r.advance_deg[rows])
    if at is None:
        return None
    on = np.isfinite(at.middle_rpm) & (at.middle_rpm > 0)
    rows = rows[on]
    if not len(rows):
        return None
    speed, table = r.speed_rpm[rows], at.middle_rpm[on]
    ratio = (speed / table) ** 2
    relative = np.hypot(r.u_speed_rpm[rows] / np.maximum(speed, 1e-9),
                        at.slope_rpm_per_deg[on] * r.u_advance_deg[rows] / table)  # fmt: skip
    middles = [p.middle_deg for p in points if np.isfinite([p.low_deg, p.high_deg]).all()]
    along = np.linspace(min(middles), max(middles), _ALONG)
    edges = target_speeds(points, along)
    assert edges is not None
    known = np.isfinite(edges.middle_rpm)
    middle = edges.middle_rpm[known]
    return TorqueRatio(
        r.index[rows], r.advance_deg[rows], ratio, 2.0 * ratio * relative, r.direction[rows],
        along[known], (edges.slowest_rpm[known] / middle) ** 2,
        (edges.fastest_rpm[known] / middle) ** 2,
    )  # fmt: skip


def predicted_ratio(outcome: Outcome, along_deg: np.ndarray) -> np.ndarray | None:
    """The same of the predicted rising curve at advances of the table; None without one."""
    prediction = outcome.prediction
    at = target_speeds(outcome.comparison.check_points, along_deg)
    if prediction is None or at is None:
        return None
    branch = prediction.rising
    climbing = np.append(True, np.diff(branch.advance_deg) > 0)
    speed = np.interp(along_deg, branch.advance_deg[climbing], branch.speed_rpm[climbing],
                      right=np.nan)  # fmt: skip
    return np.asarray((speed / at.middle_rpm) ** 2)
