"""The capsule's part of the sheet: its plot against depression, its figures."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.docket.vacuum import Capsule
from bobweight.core.record import parameters
from bobweight.core.sheet.description import Content, Element, Ruler, word
from bobweight.core.sheet.drawn import (
    FALLING_DASH,
    FALLING_MM,
    RISING_MM,
    SAME_CURVE_DEG,
    band,
    readings,
)
from bobweight.core.sheet.figures import View, stated
from bobweight.core.sheet.plot import Plot, Scale, axes, beside

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome
    from bobweight.core.judgement.reduce import Reduced

LEFT_MM, RIGHT_MM = 13.0, 3.0
ABOVE_MM, BELOW_MM = 2.0, 9.5
LEAST_KPA, LEAST_DEG = 10.0, 1.0


def has_capsule(outcome: Outcome) -> bool:
    """True if there is a capsule, a vacuum check point or a reading with the pipe on."""
    return bool(
        outcome.capsule_curve is not None
        or outcome.comparison.vacuum_points
        or len(_pipe_on(outcome.reduced))
    )


def _pipe_on(reduced: Reduced) -> np.ndarray:
    """Rows of the readings taken with the pipe on and not left out."""
    return np.flatnonzero(reduced.used(pipe_on=True) & np.isfinite(reduced.vacuum_deg))


def capsule_plot(outcome: Outcome, view: View, ruler: Ruler, x_mm: float, y_mm: float,
                 width_mm: float, height_mm: float) -> list[Element]:  # fmt: skip
    """The plot of advance against depression in a rectangle of the page."""
    curve, points = outcome.capsule_curve, outcome.comparison.vacuum_points
    reduced, rows = outcome.reduced, _pipe_on(outcome.reduced)
    seen_kpa, seen_deg = reduced.depression_kpa[rows], reduced.vacuum_deg[rows]
    bounds = [bound for p in points for bound in (p.low_deg, p.high_deg)]
    limits = [0.0, *seen_deg, *(bound for bound in bounds if math.isfinite(bound))]
    reach = [*seen_kpa, *(1.05 * p.depression_kpa for p in points)]
    if curve is not None:
        limits += [float(np.min(curve.rising_deg)), float(np.max(curve.rising_deg))]
        reach.append(_useful_kpa(curve))
    low, high = min(limits), max(limits)
    if high - low < LEAST_DEG:
        high = low + LEAST_DEG
    room = 0.08 * max(high - low, 1.0)
    left, right = x_mm + LEFT_MM, x_mm + width_mm - RIGHT_MM
    top, bottom = y_mm + ABOVE_MM, y_mm + height_mm - BELOW_MM
    scale_y = Scale.around(
        view.factor * (low - room if low < 0 else 0.0),
        view.factor * (high + room if high > 0 else 0.0),
        max(3, int((bottom - top) / 8)), bottom, top,
    )  # fmt: skip
    scale_x = Scale.around(0.0, view.per_kpa * max([*reach, LEAST_KPA]),
                           max(3, int((right - left) / 11)), left, right)  # fmt: skip
    plot = Plot(scale_x, scale_y, ruler)
    band(
        plot,
        np.array([p.depression_kpa for p in points]) * view.per_kpa,
        np.array([p.low_deg for p in points]) * view.factor,
        np.array([p.high_deg for p in points]) * view.factor,
    )
    _curves(plot, curve, view)
    readings(
        plot,
        seen_kpa * view.per_kpa,
        seen_deg * view.factor,
        reduced.u_depression_kpa[rows] * view.per_kpa,
        reduced.u_vacuum_deg[rows] * view.factor,
        reduced.direction[rows],
    )
    _labels(plot, curve, view)
    title = word("depression-axis", unit=view.depression_unit)
    return axes(plot, title, word(f"advance-axis-{view.frame}")) + plot.elements


def _useful_kpa(curve: object) -> float:
    """Where the capsule has reached its stop, and a fifth more."""
    moved = np.abs(curve.rising_deg)
    first = int(np.argmax(moved >= moved.max() - 1e-9))
    return min(1.2 * float(curve.depression_kpa[first]), float(curve.depression_kpa[-1]))


def _curves(plot: Plot, curve: object | None, view: View) -> None:
    if curve is None:
        return
    x = curve.depression_kpa * view.per_kpa
    plot.curve(x, curve.rising_deg * view.factor, RISING_MM)
    if not _alike(curve):
        plot.curve(x, curve.falling_deg * view.factor, FALLING_MM, FALLING_DASH)


def _alike(curve: object) -> bool:
    return float(np.abs(curve.rising_deg - curve.falling_deg).max()) < SAME_CURVE_DEG


def _labels(plot: Plot, curve: object | None, view: View) -> None:
    if curve is None:
        return
    x = curve.depression_kpa * view.per_kpa
    rising = _inside(plot, x, curve.rising_deg * view.factor)
    falling = _inside(plot, x, curve.falling_deg * view.factor)
    if _alike(curve):
        plot.label(word("predicted"), beside(rising, "right"))
    else:
        plot.label(word("rising"), beside(rising, "right"))
        plot.label(word("falling"), beside(falling, "left"))


def _inside(plot: Plot, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return plot.at(x, y)[x <= plot.x.high]


def capsule_facts(outcome: Outcome, view: View) -> list[tuple[Content, Content]]:
    """Labels and values of the capsule as known: its trade figures, or its dimensions."""
    capsule = outcome.docket.capsule
    if capsule.given_as == "none":
        return []
    described = parameters(capsule)
    found: list[tuple[Content, Content]] = [
        (_label("acts"), word("label", text=described["acts"].options[capsule.acts]))
    ]
    if capsule.given_as == "triple":
        for key in ("start_kpa", "full_kpa"):
            value = getattr(capsule, key)
            if value is not None:
                text = f"{view.depression(value)} {view.depression_unit}"
                found.append((_label(key), text))
        if capsule.full_deg is not None:
            value = word(f"degrees-{view.frame}", value=view.angle(capsule.full_deg))
            found.append((_label("full_deg"), value))
        return found
    for key in ("area_mm2", "spring_rate_n_per_mm", "preload_n", "travel_mm", "lever_mm"):
        value = stated(capsule, key)
        if value:
            found.append((_label(key), f"{value} {described[key].quantity.stored.symbol}"))
    return found


def _label(key: str) -> Content:
    return word("label", text=parameters(Capsule)[key].label)
