"""The total at the crank over engine speed and depression, with the driving states."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.figure.description import (
    Array,
    Axis,
    Dots,
    Figure,
    Label,
    Surface,
    dots,
    word,
)
from bobweight.core.figure.numbers import figure as written
from bobweight.core.figure.ranges import DEPRESSION_STEPS, SPEED_STEPS, round_range
from bobweight.core.figure.view import View
from bobweight.core.mechanics.total import total_crank_deg

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome

GRID = (90, 60)
LEVEL_STEPS = (1.0, 2.0, 5.0, 10.0, 20.0)
_LEAST_DEEP_KPA = 60.0
_FOOT = 0.06  # room below no depression, as a share: a state there is seen whole


def total_figure(outcome: Outcome, view: View, direction: str = "rising",
                 posed_rpm: float | None = None) -> Figure | None:  # fmt: skip
    """The map of an outcome in crank degrees, static counted in; None without a prediction.

    Parameters
    ----------
    direction : {'rising', 'falling'}
    posed_rpm : float, optional
        Distributor speed at which the mechanism is shown elsewhere: marked at no depression.
    """
    prediction, docket = outcome.prediction, outcome.docket
    if prediction is None:
        return None
    ratio, static = docket.particulars.ratio_taken, docket.setting_up.static_deg or 0.0
    states = [(s.name, s.engine_rpm, s.depression_kpa, s.throttle == "shut")
              for s in docket.setting_up.states if s.engine_rpm is not None]  # fmt: skip
    fastest = max([prediction.full_rpm * ratio * 1.15, *(rpm * 1.05 for _, rpm, _, _ in states)])
    deepest = max([_LEAST_DEEP_KPA, *(kpa * 1.1 for _, _, kpa, _ in states)]) * view.per_kpa
    x_range = round_range(0.0, fastest, SPEED_STEPS)
    deep = round_range(0.0, deepest, DEPRESSION_STEPS)[1]
    speeds, depths = np.linspace(*x_range, GRID[0]), np.linspace(0.0, deep, GRID[1])

    def total(rpm: Array, shown_depth: Array, throttle_shut: bool = False) -> Array:
        return total_crank_deg(static, ratio, prediction, docket.capsules, rpm,
                               shown_depth / view.per_kpa, direction, throttle_shut)  # fmt: skip

    places = np.array([(rpm, kpa * view.per_kpa) for _, rpm, kpa, _ in states])
    marks = [_state_dots(places.reshape(-1, 2), "state")]
    names = [name for name, _, _, _ in states]
    if posed_rpm is not None:
        marks.append(_state_dots(np.array([(posed_rpm * ratio, 0.0)]), "posed"))
        names.append("")
    shut = [*(idle for *_, idle in states), False]
    labels: list[Label] = []
    for name, (x, y), idle in zip(
        names, (spot for m in marks for spot in zip(m.x, m.y, strict=True)), shut, strict=False
    ):
        degrees = written(float(total(np.array([x]), np.array([y]), idle)[0]), 0)
        said = word("state-total", name=name, total=degrees) if name else word(
            "posed-total", total=degrees)  # fmt: skip
        labels.append(
            Label(f"state{len(labels)}", said, ((float(x), float(y)),), "ink", (1.0, 1.0))
        )
    surface = total(speeds[:, None], depths[None, :])
    return Figure(
        x=Axis(word("speed-axis-crank"), *x_range),
        y=Axis(word("depression-axis", unit=view.depression_unit), -_FOOT * deep, deep),
        surface=Surface(speeds, depths, surface, tuple(contour_levels(surface)),
                        docket.setting_up.ceiling_total_deg),
        dots=tuple(marks),
        labels=tuple(labels),
    )  # fmt: skip


def _state_dots(places: Array, role: str) -> Dots:
    return dots(role, places[:, 0], places[:, 1])


def contour_levels(heights: Array) -> Sequence[float]:
    """Round levels, at most a dozen, strictly between the extremes."""
    low, high = float(np.min(heights)), float(np.max(heights))
    step = next((s for s in LEVEL_STEPS if (high - low) / s <= 10), LEVEL_STEPS[-1])
    first = np.floor(low / step) + 1
    levels = np.arange(first, np.ceil(high / step)) * step
    return [float(level) for level in levels]
