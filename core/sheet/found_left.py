"""Curves by the readings: how the unit was found and how it was left; or as it was judged, where
nothing is predicted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.optimize import isotonic_regression

from bobweight.core.figure.decided import with_judged_curve
from bobweight.core.figure.description import Figure, Trace, word
from bobweight.core.figure.traces import named
from bobweight.core.figure.view import View
from bobweight.core.judgement.outcome import Outcome
from bobweight.core.judgement.reduce import Reduced
from bobweight.core.sheet.options import SheetOptions
from bobweight.core.sheet.record import Compared

_TOGETHER = 3  # readings whose mean makes one point of a curve
_LEAST_POINTS = 3
_NAMED_AT = (0.8, 0.65, 0.5, 0.35)


def with_read_curves(
    shown: Figure, outcome: Outcome, pair: Compared | None, options: SheetOptions, view: View
) -> Figure:
    """The figure with both curves; of a single session with the curve as it was judged, where
    nothing is predicted."""
    if pair is not None:
        return with_both_curves(shown, pair, view)
    if outcome.prediction is None and options.judgement is not None:
        return with_judged_curve(shown, options.judgement, view)
    return shown


def with_both_curves(shown: Figure, pair: Compared, view: View) -> Figure:
    """The figure with a curve through the readings of either session, each named."""
    traces, labels = [], []
    for role, side, reduced in (
        ("found", -1.0, pair.before.reduced), ("left", 1.0, pair.after.reduced)
    ):  # fmt: skip
        speed, advance = running_curve(reduced)
        if len(speed) < _LEAST_POINTS:
            continue
        trace = Trace(role, speed * view.factor, view.shown(advance))
        traces.append(trace)
        labels.append(named(trace, word(f"curve-{role}"), (side, -side), _NAMED_AT))
    return replace(shown, traces=(*shown.traces, *traces), labels=(*shown.labels, *labels))


def running_curve(reduced: Reduced) -> tuple[np.ndarray, np.ndarray]:
    """Speeds in rev/min and advances in degrees, both at the distributor, shape (points,).

    Means of the readings in groups of neighbouring speed, rising and falling together, with the
    least change that keeps advance from falling as speed rises (isotonic regression: Barlow,
    Bartholomew, Bremner and Brunk, *Statistical Inference under Order Restrictions*, 1972).
    """
    used = ~reduced.left_out & np.isfinite(reduced.advance_deg)
    order = np.argsort(reduced.speed_rpm[used], kind="stable")
    speed, advance = reduced.speed_rpm[used][order], reduced.advance_deg[used][order]
    if not len(speed):
        return speed, advance
    groups = np.array_split(np.arange(len(speed)), max(len(speed) // _TOGETHER, 1))
    means = np.array([(speed[g].mean(), advance[g].mean()) for g in groups])
    return means[:, 0], np.asarray(isotonic_regression(means[:, 1]).x)
