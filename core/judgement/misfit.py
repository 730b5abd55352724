"""Where and how a unit's curve errs against its table, as codes and numbers.

It is said of the curve by everything that is known, so it needs no figure of the mechanism: start,
knee, slope, stop, the whole of it, and how far falling lags rising.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.docket.target import WAYS
from bobweight.core.frozen import frozen
from bobweight.core.judgement.answer import INSIDE, LOOKS_INSIDE, PointJudgement
from bobweight.core.judgement.compare import Bands
from bobweight.core.judgement.posterior import Posterior, TargetBands
from bobweight.core.problems import Path, Problem

USUAL_LAG_DEG = 1.5
"""Distributor degrees by which falling readings usually lag rising ones at most (common
practice)."""
_START, _END = 0.3, 0.9  # share of the whole advance below and above which start and end lie
_ALIKE = 0.4  # share of the whole error within which it is the same all along
_LEVEL_DEG = 0.3  # a curve that climbs less between the last point and far beyond it has ended


@frozen
class Misfit:
    """One check point with both limits: by how much the curve, mean of the branches that the table
    speaks of, is above the middle of the band (distributor degrees), and how probably outside."""

    index: int
    speed_rpm: float
    middle_deg: float
    off_deg: float
    outside: float


def errors_of(
    posterior: Posterior, target: TargetBands, points: tuple[PointJudgement, ...]
) -> tuple[Problem, ...]:
    """Where and how the curve errs, along the curve; empty where it is more likely right all along.

    Facts: ``amount`` (distributor degrees, positive), ``speed`` (distributor rev/min) where it is
    most; of the branch that is told at that point, where that errs the same way.
    """
    asked = target.asked
    misfits, lag, u_lag, ended = _misfits(posterior, asked, target.ways)
    shown = {p.index: p.advance_deg for p in points if p.kind == "check" and p.branch}
    found = [_as_shown(e, misfits, shown) for e in _errors(misfits, ended)] if misfits else []
    codes = {e.code for e in found}
    over = _over_ceiling(posterior, asked)
    if over and not codes & {"stop-far", "slope-steep", "all-high"}:
        found.append(Problem("over-ceiling", ("target", "ceiling_deg"), {"amount": over}, False))
    fine = all(p.decision in (INSIDE, LOOKS_INSIDE) for p in points)
    if len(target.ways) > 1 and not fine and lag - USUAL_LAG_DEG > u_lag:
        facts = {"amount": lag, "usual": USUAL_LAG_DEG}
        found.append(Problem("falling-lags", ("target", "points"), facts, False))
    return tuple(found)


def _over_ceiling(posterior: Posterior, asked: Bands) -> float:
    """By how much the stop lies over the ceiling; 0 where it is likelier not to."""
    rows = [i for i, kind in enumerate(asked.kind) if kind == "ceiling"]
    if not rows:
        return 0.0
    over = posterior.simulator.most_deg(posterior.values) - asked.high_deg[rows[0]]
    over = np.broadcast_to(over, posterior.weight.shape)
    likely = float(posterior.weight @ (over > 0)) > 0.5
    return max(float(posterior.weight @ over), 0.0) if likely else 0.0


def _misfits(
    posterior: Posterior, asked: Bands, ways: tuple[str, ...]
) -> tuple[list[Misfit], float, float, bool]:
    """Every check point; how far falling lags rising, with its uncertainty; whether the curve has
    ended at the last point."""
    rows = [
        i for i, kind in enumerate(asked.kind)
        if kind == "check" and np.isfinite([asked.low_deg[i], asked.high_deg[i]]).all()
    ]  # fmt: skip
    rows.sort(key=lambda i: asked.where[i])
    if not rows:
        return [], 0.0, 0.0, False
    speed = np.append(asked.where[rows], 2.0 * asked.where[rows[-1]])
    both = posterior.advance(posterior.values, speed, WAYS)
    judged = [WAYS.index(way) for way in ways]
    w, mean = posterior.weight, both[:, judged].mean(axis=1)
    low, high = asked.low_deg[rows], asked.high_deg[rows]
    middle = 0.5 * (low + high)
    off = mean[:, :-1] - middle
    outside = w @ (np.abs(off) > 0.5 * (high - low))
    found = [
        Misfit(asked.index[i] or 0, float(speed[k]), float(middle[k]), float(w @ off[:, k]),
               float(outside[k]))
        for k, i in enumerate(rows)
    ]  # fmt: skip
    lags = np.max(both[:, 1, :-1] - both[:, 0, :-1], axis=1)
    lag = float(w @ lags)
    last, beyond = w @ mean[:, -2:]
    return found, lag, float(np.sqrt(w @ (lags - lag) ** 2)), bool(beyond - last < _LEVEL_DEG)


def _errors(points: list[Misfit], ended: bool) -> list[Problem]:
    full = max(p.middle_deg for p in points)
    start, knee, end = ([p for p in points if _zone(p, full) == z] for z in range(3))
    worst = [_worst(zone) for zone in (start, knee, end)]
    signs = [0 if p is None else int(np.sign(p.off_deg)) for p in worst]
    offs: Floats = np.array([p.off_deg for p in points])
    if all(s == signs[2] for s, zone in zip(signs, (start, knee, end), strict=True) if zone) and (
        signs[2] and np.ptp(offs) < _ALIKE * np.abs(offs).max() and len(points) > 2
    ):
        most = max(points, key=lambda p: abs(p.off_deg))
        return [_said("all-high" if signs[2] > 0 else "all-low", most)]
    found = []
    if worst[0] is not None:
        found.append(_said("starts-early" if signs[0] > 0 else "starts-late", worst[0]))
    knee_off, end_off = worst[1], worst[2]
    if knee_off and end_off and not ended and signs[1] == signs[2]:  # one error, where it is most
        grows = abs(end_off.off_deg) >= abs(knee_off.off_deg)
        knee_off, end_off = (None, end_off) if grows else (knee_off, None)
    if knee_off is not None:
        found.append(_said("knee-high" if signs[1] > 0 else "knee-low", knee_off))
    if end_off is not None:
        code = ("stop-short", "stop-far") if ended else ("slope-flat", "slope-steep")
        found.append(_said(code[signs[2] > 0], end_off))
    return found


def _zone(point: Misfit, full_deg: float) -> int:
    """0 start, 1 knee, 2 end."""
    share = point.middle_deg / max(full_deg, 1e-6)
    return 0 if share < _START else 1 if share < _END else 2


def _worst(zone: list[Misfit]) -> Misfit | None:
    """The point of a stretch that is most likely outside, if it is likelier than not."""
    outside = [p for p in zone if p.outside > 0.5]
    return max(outside, key=lambda p: abs(p.off_deg)) if outside else None


def _as_shown(
    error: Problem, misfits: list[Misfit], shown: dict[int | None, float | None]
) -> Problem:
    """An error with the amount of the branch that its check point tells, if that errs that way."""
    point = next(p for p in misfits if ("target", "points", p.index) == error.path)
    told = shown.get(point.index)
    off = 0.0 if told is None else told - point.middle_deg
    if off * point.off_deg <= 0.0:
        return error
    return _said(error.code, replace(point, off_deg=off))


def _said(code: str, point: Misfit) -> Problem:
    place: Path = ("target", "points", point.index)
    return Problem(code, place, {"amount": abs(point.off_deg), "speed": point.speed_rpm}, False)
