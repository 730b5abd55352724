"""Curves laid over the board for comparison: candidates for the springs, and a band of builds.

In distributor degrees and rev/min, whatever frame is shown.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from bobweight.core.figure.description import Array, Label, Trace, Zone, word
from bobweight.core.figure.traces import named
from bobweight.core.figure.view import View
from bobweight.core.frozen import frozen

_NAMED_AT = (0.45, 0.6, 0.3, 0.8)


@frozen
class OverlayCurve:
    """One curve, with the words at it (of several of a kind the first alone has them); the
    ``strong`` one is the one chosen."""

    speed_rpm: Array
    advance_deg: Array
    words: str = ""
    strong: bool = False


@frozen
class OverlayBand:
    """Where so many of a crowd of builds lie: lower and upper edge over speed. The one with words
    is filled; the one without is of the same crowd at falling speed."""

    speed_rpm: Array
    low_deg: Array
    high_deg: Array
    words: str = ""


@frozen(eq=False)
class Overlay:
    """What is laid over the board."""

    curves: tuple[OverlayCurve, ...] = ()
    bands: tuple[OverlayBand, ...] = ()


class OverlayParts(NamedTuple):
    """Parts of a figure."""

    zones: tuple[Zone, ...] = ()
    traces: tuple[Trace, ...] = ()
    labels: tuple[Label, ...] = ()


def overlay_parts(overlay: Overlay | None, view: View, end: float) -> OverlayParts:
    """What an overlay puts on the speed figure whose axis ends at ``end``; whatever has words is
    named, the one chosen first."""
    if overlay is None:
        return OverlayParts()
    zones, traces, labels, edges = [], [], [], []
    for band in overlay.bands:
        role = "builds" if band.words else "builds-edge"
        zones.append(Zone(role, band.speed_rpm * view.factor, view.shown(band.low_deg),
                          view.shown(band.high_deg)))  # fmt: skip
        edge = Trace(role, zones[-1].x, zones[-1].high)
        if band.words:
            labels.append(named(edge, band.words, (1.0, 1.0), _NAMED_AT, "overlay"))
        else:
            edges.append(named(edge, word("falling-too"), (-1.0, 1.0), _NAMED_AT))
    for curve in sorted(overlay.curves, key=lambda curve: curve.strong):
        x, y = curve.speed_rpm * view.factor, view.shown(curve.advance_deg)
        if len(x) and x[-1] < end:
            x, y = np.append(x, end), np.append(y, y[-1])
        traces.append(Trace("chosen" if curve.strong else "candidate", x, y))
        if curve.strong and curve.words:
            labels.insert(0, named(traces[-1], curve.words, (1.0, 1.0), _NAMED_AT, "overlay"))
        elif curve.words:
            key = f"overlay{len(edges)}"
            edges.append(named(traces[-1], curve.words, (-1.0, 1.0), _NAMED_AT[::-1], key))
    return OverlayParts(tuple(zones), tuple(traces), (*labels[:1], *edges))
