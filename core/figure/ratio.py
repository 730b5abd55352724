"""The torque that holds the weights now, as a share of what the table asks for, against advance."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.figure.description import Axis, Figure, Label, Trace, Zone, dots, word
from bobweight.core.figure.events import take_up_events
from bobweight.core.figure.ranges import ANGLE_STEPS, finite, round_range
from bobweight.core.figure.view import View
from bobweight.core.judgement.ratio import predicted_ratio, torque_ratio

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome

_NAMED_AT = (1.0, 0.0, 0.5, 0.75, 0.25)
LEAST, MOST = 0.2, 3.0
"""Shares beyond which a reading is not drawn where it stands: it would squeeze the others."""


def ratio_figure(outcome: Outcome, view: View,
                 mistaken: frozenset[int] = frozenset()) -> Figure | None:  # fmt: skip
    """ω² read over ω² of the table at equal advance, with the table's own band, and the same of the
    predicted curve; None where the table does not climb or nothing was read on its climb."""
    found = torque_ratio(outcome)
    if found is None:
        return None
    x = view.shown(found.along_deg)
    readings = dots(
        "reading", view.shown(found.advance_deg), found.ratio, found.direction,
        u_y=found.u_ratio, row=found.row, mistaken=np.isin(found.row, list(mistaken)),
    )  # fmt: skip
    even = Trace("even", x[[0, -1]], np.ones(2))
    traces = [even]
    spots = tuple((float(x[0] + share * (x[-1] - x[0])), 1.0) for share in _NAMED_AT)
    labels = [Label("even", word("as-the-table"), spots, "band", (-1.0, 1.0))]
    predicted = predicted_ratio(outcome, found.along_deg)
    if predicted is not None:
        known = np.isfinite(predicted)
        traces.append(Trace("rising", x[known], predicted[known]))
        at = (np.array(_NAMED_AT) * (known.sum() - 1)).astype(int)
        along = traces[-1].x[at].tolist(), traces[-1].y[at].tolist()
        spots = tuple(zip(*along, strict=True))
        labels.append(Label("predicted", word("of-the-figures"), spots, "rising", (-1.0, -1.0)))
    used = np.clip(found.ratio, LEAST, MOST)
    drawn = () if predicted is None else predicted
    read = (*(used - found.u_ratio), *(used + found.u_ratio))
    heights = finite([*drawn, *read, *found.low, *found.high])
    low, high = max(min(heights), 0.0), min(max(heights), MOST)
    ends = [float(v) for v in (*view.shown(found.advance_deg), *x)]
    events, said = take_up_events(outcome, view, lambda t: (float(view.shown(t.advance_deg)), 1.0))
    return Figure(
        x=Axis(word(f"advance-axis-{view.frame}"),
               *round_range(min(view.zero_deg, 0.0), max(ends) * 1.04, ANGLE_STEPS)),
        y=Axis(word("ratio-axis"), *round_range(low, high)),
        zones=(Zone("allowed", x, found.low, found.high),),
        traces=tuple(traces),
        dots=(readings,),
        events=events,
        labels=(*labels, *said),
    )  # fmt: skip
