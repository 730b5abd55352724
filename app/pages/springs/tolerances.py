"""What the tolerance part needs worked out of the core's results. No widgets."""

from __future__ import annotations

import math

import numpy as np

from bobweight.core.design.goal import Goal, goal_of
from bobweight.core.design.spread import Uncertain, mechanism_spread
from bobweight.core.design.tolerance import Influence, Tolerance, influence, tolerance
from bobweight.core.docket.docket import Docket
from bobweight.core.figure.overlay import Overlay, OverlayBand
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError

SLIDER_STEPS = 100
_DECADES = 2.0  # from a tenth to ten times
_SEPARATE_DEG = 0.2


def goal_or_none(docket: Docket) -> Goal | None:
    """The docket's goal; None where its target has no check points."""
    try:
        return goal_of(docket)
    except BobweightError:
        return None


def worked_out(docket: Docket) -> Tolerance:
    """The band and the odds of a docket whose mechanism has no grave problem."""
    return tolerance(docket.mechanism, goal_or_none(docket))


def influences(docket: Docket) -> Influence | None:
    """The Sobol indices of a docket; None without check points or without anything uncertain."""
    goal = goal_or_none(docket)
    if goal is None or not mechanism_spread(docket.mechanism):
        return None
    return influence(docket.mechanism, goal, samples=512)


@frozen
class Share:
    """How much one uncertain value makes of the spread: alone, and with all it acts through."""

    uncertain: Uncertain
    alone: float
    total: float


def shares(found: Influence, point: int | None = None) -> list[Share]:
    """The values in the order of what they make of the spread.

    Parameters
    ----------
    point : int or None
        One of its points; None takes all, each weighing by its variance.
    """
    weight = found.u_deg**2 if point is None else np.eye(len(found.u_deg))[point]
    total = weight.sum()
    weight = weight / total if total > 0 else np.zeros_like(weight)
    alone, with_all = weight @ found.first_order, weight @ found.total_order
    order = np.argsort(-with_all, kind="stable")
    return [Share(found.spread[k], float(alone[k]), float(with_all[k])) for k in order]


def band_overlay(found: Tolerance, words: str) -> Overlay:
    """The band for the board: rising, and falling too where it lies apart."""
    rising, falling = found.bands
    bands = [OverlayBand(found.speed_rpm, rising.low_deg, rising.high_deg, words)]
    apart = np.max(np.abs(rising.middle_deg - falling.middle_deg), initial=0.0)
    if apart > _SEPARATE_DEG:
        bands.append(OverlayBand(found.speed_rpm, falling.low_deg, falling.high_deg))
    return Overlay(bands=tuple(bands))


def slider_place(u: float, middle_u: float) -> int:
    """Where a slider stands for an uncertainty: in the middle for ``middle_u``, a tenth and ten
    times of it at the ends."""
    if u <= 0 or middle_u <= 0:
        return 0
    share = math.log10(u / middle_u) / _DECADES + 0.5
    return round(SLIDER_STEPS * min(max(share, 0.0), 1.0))


def slider_u(place: int, middle_u: float) -> float:
    """The uncertainty at a place of a slider, to two digits."""
    return float(f"{middle_u * 10 ** (_DECADES * (place / SLIDER_STEPS - 0.5)):.2g}")
