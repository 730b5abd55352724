"""What is laid on a figure of a decision: the fitted curve with its band, the curve after an
alteration, the next reading, and readings that look mistaken."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from bobweight.core.docket.mechanism import COUNT
from bobweight.core.figure.description import (
    Figure,
    Label,
    NextMark,
    Trace,
    Word,
    Zone,
    word,
)
from bobweight.core.figure.ranges import ANGLE_STEPS, finite, round_range
from bobweight.core.figure.traces import branch_trace, named
from bobweight.core.figure.view import View
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.predict import Branch

if TYPE_CHECKING:
    from bobweight.core.judgement.answer import Judgement
    from bobweight.core.judgement.consequences import Consequences
    from bobweight.core.judgement.consequences import Spot as Place

UNREAD = "read-first"
"""The act of a judgement without readings, whose band is what is expected before them."""
_NAMED_AT = (0.78, 0.9, 0.6, 0.45)
_FITTED_AT = (0.5, 0.35, 0.65, 0.2)


@frozen(eq=False)
class Decided:
    """What there is of a decision, and what of it is wanted.

    Parameters
    ----------
    layers : frozenset of str
        Any of ``fit``, ``preview``, ``next``, ``slips``.
    chosen : int
        Which list of alterations is shown; −1 for none.
    """

    found: Consequences | None = None
    layers: frozenset[str] = frozenset()
    chosen: int = -1

    @property
    def slips(self) -> frozenset[int]:
        """Rows of the readings that look mistaken."""
        if self.found is None or "slips" not in self.layers:
            return frozenset()
        return frozenset(r.row for r in self.found.slips)

    def spot(self, pipe_on: bool) -> Place | None:
        """Where the next reading is to be taken, if it is one with the pipe on (or off)."""
        spot = self.found.spot if self.found is not None and "next" in self.layers else None
        return spot if spot is not None and (spot.depression_kpa is not None) == pipe_on else None


class DecidedParts(NamedTuple):
    """Parts of a figure."""

    zones: tuple[Zone, ...] = ()
    traces: tuple[Trace, ...] = ()
    next: NextMark | None = None
    labels: tuple[Label, ...] = ()


def decided_parts(decided: Decided, view: View, end: float) -> DecidedParts:
    """What a decision puts on the speed figure whose axis ends at ``end``."""
    found = decided.found
    judgement = None if found is None else found.decision.judgement
    if judgement is not None and not _is_shown(judgement, decided.layers):
        judgement = None
    zones, traces, labels = _judged(judgement, view, end)
    if found is not None and "preview" in decided.layers and decided.chosen >= 0:
        options = found.options[decided.chosen : decided.chosen + 1]
        for prediction in (option.prediction for option in options if option.prediction):
            traces.append(branch_trace(prediction.rising, view, end, "altered"))
            labels.insert(0, named(traces[-1], word("after-altering"), (1.0, -1.0), _NAMED_AT))
    spot, mark = decided.spot(pipe_on=False), None
    if spot is not None:
        mark, said = next_parts(spot, spot.speed_rpm * view.factor, view)
        labels = said + labels
    return DecidedParts(tuple(zones), tuple(traces), mark, tuple(labels))


def with_judged_curve(shown: Figure, judgement: Judgement, view: View) -> Figure:
    """A figure with the curve that was judged and its band, where there is one."""
    zones, traces, labels = _judged(judgement, view, shown.x.high)
    low, high = with_room((shown.y.low, shown.y.high), zones)
    return replace(shown, y=replace(shown.y, low=low, high=high), zones=(*shown.zones, *zones),
                   traces=(*shown.traces, *traces), labels=(*shown.labels, *labels))  # fmt: skip


def with_room(y_range: tuple[float, float], zones: Iterable[Zone]) -> tuple[float, float]:
    """The range of an axis, widened in round numbers until bands are whole on it."""
    ends = finite(end for zone in zones for end in (zone.low.min(), zone.high.max()))
    low, high = min([*ends, y_range[0]]), max([*ends, y_range[1]])
    return y_range if (low, high) == y_range else round_range(low, high, ANGLE_STEPS)


def _judged(
    judgement: Judgement | None, view: View, end: float
) -> tuple[list[Zone], list[Trace], list[Label]]:
    """The curve that was judged, or is expected before anything was read, with its band."""
    band = None if judgement is None else judgement.band
    if judgement is None or band is None:
        return [], [], []
    role, words = "fitted", word("fitted-with-band")
    if judgement.action == UNREAD:
        role, words = "expected", word("expected-with-band")
    trace = branch_trace(Branch(band.speed_rpm, band.rising_deg), view, end, role)
    x = band.speed_rpm * view.factor
    low, high = view.shown(band.rising_low_deg), view.shown(band.rising_high_deg)
    along = np.append(x[x < end], end)  # flat on to the end of the axis, as the curve is
    zone = Zone(role, along, np.interp(along, x, low), np.interp(along, x, high))
    return [zone], [trace], [named(trace, words, (-1.0, 1.0), _FITTED_AT)]


def _is_shown(judgement: Judgement, layers: frozenset[str]) -> bool:
    """Where something is blank nothing is predicted, and this is the only curve there is; how many
    weights there are is taken as usual in a prediction too."""
    unpredicted = any(path != COUNT for path in judgement.assumed)
    return unpredicted or (judgement.action != UNREAD and "fit" in layers)


def next_parts(spot: Place, x: float, view: View) -> tuple[NextMark, list[Label]]:
    """The mark of the next reading and the words at it."""
    expected = tuple((name, float(view.shown(deg))) for name, deg in spot.expected_deg)
    mark = NextMark(x, spot.direction, expected)
    code = "next-falling" if spot.direction == "falling" else "next-rising"
    labels = [Label("next", word(code), ((x, mark.middle),), "next", (1.0, 0.0))]
    for number, (name, y) in enumerate(expected):
        up = 1.0 if y == max(height for _, height in expected) else -1.0
        said = word("if-so", explanation=Word("explanation", {"name": name}))
        labels.append(Label(f"next{number}", said, ((x, y),), "next", (0.4, up)))
    return mark, labels
