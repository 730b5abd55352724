"""Pictures of the bench: force against length in a hang test, and how many units would pass."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.figure.description import Axis, Figure, Label, Trace, Zone, dots, word
from bobweight.core.figure.numbers import short
from bobweight.core.figure.ranges import SPEED_STEPS, round_range
from bobweight.core.figure.view import View
from bobweight.core.frozen import frozen
from bobweight.core.units import pass_rate

if TYPE_CHECKING:
    from bobweight.core.design.goal import Goal
    from bobweight.core.design.hang_test import HangTest
    from bobweight.core.design.tolerance import Tolerance


@frozen
class HangUnits:
    """The units of a hang test as shown: symbol, and how many of them are a mm or a N."""

    length: str = "mm"
    force: str = "N"
    per_mm: float = 1.0
    per_n: float = 1.0


def hang_figure(load_n: Sequence[float], length_mm: Sequence[float], result: HangTest | None,
                units: HangUnits) -> Figure | None:  # fmt: skip
    """Force against length: the readings, the line through those on it with its standard
    uncertainty, and where it starts; None without readings."""
    if not len(load_n):
        return None
    force, length = np.asarray(load_n, float), np.asarray(length_mm, float)
    flagged = np.zeros(len(force), bool) if result is None else result.flagged
    high, traces, zones, labels = float(length.max()), [], [], []
    low = float(length.min())
    span = max(high - low, 0.05 * high)
    if result is not None:
        start = result.free_length_mm
        begins = low if start is None else min(start, low)
        along = np.linspace(begins, high + 0.08 * span, 30)
        pull, u = result.force_at(along)
        shown = pull > -1e-9
        x, y, u = along[shown] * units.per_mm, pull[shown] * units.per_n, u[shown] * units.per_n
        zones.append(Zone("fitted", x, y - u, y + u))
        traces.append(Trace("rising", x, y))
        rate = result.rate_n_per_mm * units.per_n / units.per_mm
        spots = tuple((float(x[int(s * (len(x) - 1))]), float(y[int(s * (len(y) - 1))]))
                      for s in (0.6, 0.8, 0.4))  # fmt: skip
        said = word("hang-rate", rate=short(rate), force=units.force, length=units.length)
        labels.append(Label("rate", said, spots, "rising", (1.0, -1.0)))
        if result.free_length_mm is not None and result.initial_tension_n is not None:
            spot = result.free_length_mm * units.per_mm, result.initial_tension_n * units.per_n
            said = word("hang-start", length=short(spot[0], 2), tension=short(spot[1], 2),
                        length_unit=units.length, force_unit=units.force)  # fmt: skip
            labels.append(Label("start", said, (spot,), "faint", (1.0, -1.0)))
        low = min(low, begins)
    marks = dots("reading", length * units.per_mm, force * units.per_n, mistaken=flagged)
    wrong = [(float(marks.x[i]), float(marks.y[i])) for i in np.flatnonzero(flagged)]
    labels += [Label(f"mistaken{n}", word("looks-mistaken"), (spot,), "wrong", (1.0, -1.0))
               for n, spot in enumerate(wrong[:3])]  # fmt: skip
    return Figure(
        x=Axis(word("length-axis", unit=units.length),
               *round_range(max(low - 0.08 * span, 0.0) * units.per_mm,
                            (high + 0.08 * span) * units.per_mm)),
        y=Axis(word("force-axis", unit=units.force),
               *round_range(0.0, 1.1 * max(float(force.max()), 1e-3) * units.per_n)),
        zones=tuple(zones),
        traces=tuple(traces),
        dots=(marks,),
        labels=tuple(labels),
    )  # fmt: skip


def _of_100(rate: float) -> str:
    """A rate as the page beside it says it in percent."""
    return pass_rate(float(rate)).removesuffix(" %")


def pass_figure(result: Tolerance, goal: Goal, view: View) -> Figure | None:
    """How many of a hundred units built within their tolerances pass at each check point, and
    everywhere; None without check points."""
    rates = result.point_probability
    if rates is None or result.all_probability is None:
        return None
    x, y = np.asarray(goal.speed_rpm) * view.factor, 100.0 * np.asarray(rates)
    stems = tuple(Trace("stem", np.full(2, at), np.array([0.0, up]))
                  for at, up in zip(x, y, strict=True))  # fmt: skip
    whole = 100.0 * result.all_probability
    end = round_range(0.0, 1.08 * float(x.max()), SPEED_STEPS)[1]
    everywhere = word("pass-all", rate=_of_100(result.all_probability))
    parted = np.sort([0.0, *x, end])
    widest = np.argsort(-np.diff(parted), kind="stable")  # between stems, or they run through it
    middles = 0.5 * (parted[:-1] + parted[1:])[widest]
    places = tuple((at, whole) for at in middles.tolist())
    labels = [Label("all", everywhere, places, "falling", (0.0, 1.0), close=True)]
    labels += [
        Label(f"point{n}", word("pass-at", rate=_of_100(rate)), ((float(at), float(up)),),
              "ink", (0.0, 1.0))
        for n, (at, up, rate) in enumerate(zip(x, y, rates, strict=True))
    ]  # fmt: skip
    return Figure(
        x=Axis(word(f"speed-axis-{view.frame}"), 0.0, end),
        y=Axis(word("pass-axis"), 0.0, 100.0),
        traces=(*stems, Trace("all", np.array([0.0, end]), np.full(2, whole))),
        dots=(dots("balance", x, y),),
        labels=tuple(labels),
    )
