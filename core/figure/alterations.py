"""What alterations do: the curve before and after, and what a degree of each does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.figure.decided import Decided
from bobweight.core.figure.description import Axis, Figure, Label, Trace, Word, word
from bobweight.core.figure.ranges import finite, round_range
from bobweight.core.figure.speed import speed_figure
from bobweight.core.figure.view import View

if TYPE_CHECKING:
    from bobweight.core.docket.docket import Docket
    from bobweight.core.judgement.alter import Sensitivity
    from bobweight.core.judgement.outcome import Outcome
    from bobweight.core.judgement.reduce import Reduced

MOST_LINES = 5
_PLACES, _TRIED = 41, 12  # along a line, and of those the ones where it may be named
_FOUND_AT, _LEFT_AT = (0.5, 0.35, 0.65, 0.8), (0.8, 0.65, 0.5, 0.9)


def before_after_figure(outcome: Outcome, view: View, decided: Decided,
                        other: Reduced | None = None,
                        other_title: str = "") -> Figure | None:  # fmt: skip
    """The unit as found, by its readings, and as it would be after the alteration chosen (or with
    the readings of the session compared with), against the target; None without either."""
    whole = replace(decided, layers=frozenset({"fit", "preview"}))
    shown = speed_figure(outcome, view, decided=whole, other=other, other_title=other_title)
    found, left = shown.trace("fitted"), shown.trace("altered")
    if left is None and other is None:
        return None
    kept = ("band", "ceiling", "start", "other")
    labels = [label for label in shown.labels if label.key in kept]
    traces = []
    for trace, code, shares, toward in (
        (found, "as-found", _FOUND_AT, (-1.0, 1.0)),
        (left, "after-altering", _LEFT_AT, (1.0, -1.0)),
    ):
        if trace is not None:
            traces.append(trace)
            spots = tuple(trace.at_share(share) for share in shares)
            labels.insert(0, Label(trace.role, word(code), spots, trace.role, toward))
    return replace(shown, traces=tuple(traces), events=(), next=None, labels=tuple(labels))


def effect_figure(view: View, decided: Decided) -> Figure | None:
    """By how much one unit of each alteration moves the curve at each check point; the strongest
    few. None before a decision has them."""
    found = decided.found
    cure = None if found is None else found.decision.cure
    if found is None or cure is None or not cure.sensitivities or not len(cure.speeds_rpm):
        return None
    ranked = sorted(cure.sensitivities, key=lambda row: -float(np.abs(row.deg_as_told).max()))
    x = cure.speeds_rpm * view.factor
    ranked = ranked[:MOST_LINES]
    traces = [Trace(f"series-{n}", x, row.deg_as_told * view.factor)
              for n, row in enumerate(ranked)]  # fmt: skip
    labels = [_named(traces, n, row, found.decision.docket) for n, row in enumerate(ranked)]
    heights = finite(v for trace in traces for v in trace.y)
    low, high = min([0.0, *heights]), max([0.0, *heights])
    room = 0.08 * max(high - low, 1e-6)
    return Figure(
        x=Axis(word(f"speed-axis-{view.frame}"), *round_range(0.0, 1.05 * float(x.max()))),
        y=Axis(word(f"effect-axis-{view.moving.frame}"), *round_range(low - room, high + room)),
        traces=tuple(traces),
        labels=tuple(labels),
    )


def _named(traces: Sequence[Trace], number: int, row: Sensitivity, docket: Docket) -> Label:
    """The alteration at its line, where that is furthest from the others and from nothing."""
    along = np.linspace(0.0, len(traces[0].x) - 1.0, _PLACES)
    x, *heights = (np.interp(along, np.arange(len(of)), of)
                   for of in (traces[0].x, *(trace.y for trace in traces)))  # fmt: skip
    own = heights.pop(number)
    away = np.abs(np.array([*heights, np.zeros(len(own))]) - own).min(axis=0)
    spots = tuple((float(x[i]), float(own[i])) for i in np.argsort(-away, kind="stable")[:_TRIED])
    said = Word("sensitivity", {"row": row, "docket": docket})
    return Label(traces[number].role, said, spots, traces[number].role)
