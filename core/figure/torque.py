"""Torque against advance: what the weights pull with, what holds them, and where they balance.
Why a curve is as it is can be seen here and nowhere else."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.figure.description import (
    Array,
    Axis,
    Bound,
    Figure,
    Label,
    Trace,
    Zone,
    dots,
    word,
)
from bobweight.core.figure.events import take_up_events
from bobweight.core.figure.ranges import ANGLE_STEPS, round_below, round_range
from bobweight.core.figure.traces import named
from bobweight.core.figure.view import View
from bobweight.core.mechanics.torques import Torques, torques

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome

MOST_SPEEDS = 5
_ROOM = 1.12
_BEYOND = 0.18  # of the axis up to the stop: room for words at the ends of the lines
_NAMED_AT = np.array((0.25, 0.2, 0.3, 0.4, 0.5, 0.65, 0.8, 0.9))
_INNER = 0.85  # of the range of advance: springs are named short of the stop
_CLEAR = 0.08  # of the plot's height
_SHARES = (0.35, 0.5, 0.65, 0.2, 0.8)


def torque_figure(outcome: Outcome, view: View, posed_rpm: float | None = None,
                  direction: str = "rising") -> Figure | None:  # fmt: skip
    """Springs, drag and friction against the pull of the weights at chosen speeds; None without a
    prediction.

    Parameters
    ----------
    posed_rpm : float, optional
        Distributor speed at which the mechanism is shown elsewhere: its pull is drawn strong.
    direction : {'rising', 'falling'}
        On which side of the friction it stands there.
    """
    prediction = outcome.prediction
    if prediction is None:
        return None
    found = torques(outcome.unit.mechanism)
    x = view.shown(found.advance_deg)
    top = _ROOM * max(float(found.rising_nmm.max()), 1e-6)
    zones, labels = _springs(outcome, found, x)
    zones.append(Zone("friction", x, found.falling_nmm, found.rising_nmm))
    held = Trace("held", x, found.held_nmm)
    labels.append(named(held, word("held-torque"), (-1.0, 1.0), _SHARES))
    traces, chosen = [], np.array(_chosen(outcome), dtype=float)
    for n, speed in enumerate(chosen.tolist()):
        traces.append(_pull("pull", found, x, speed, top))
        labels.append(_named_pull(f"pull{n}", traces[-1], held, _CLEAR * top, speed, view,
                                  with_unit=n == len(chosen) - 1))  # fmt: skip
    balanced = prediction.advance_deg(chosen, "rising")
    pulls = zip(balanced.tolist(), chosen.tolist(), strict=True)
    pull_nmm = [np.interp(at, found.advance_deg, found.weights_nmm(rpm)) for at, rpm in pulls]
    marks = [dots("balance", view.shown(balanced), np.array(pull_nmm))]
    if posed_rpm:
        advance = float(prediction.advance_deg(posed_rpm, direction))
        pull = _pull("pull-posed", found, x, posed_rpm, top)
        traces.append(pull)
        at = float(np.interp(advance, found.advance_deg, found.weights_nmm(posed_rpm)))
        if at <= top:
            marks.append(dots("posed", np.array([view.shown(advance)]), np.array([at])))
        labels.insert(0, _named_pull("posed", pull, held, _CLEAR * top, posed_rpm, view))
    events, said = take_up_events(outcome, view, lambda t: (
        float(view.shown(t.advance_deg)),
        float(np.interp(t.advance_deg - 1e-6, found.advance_deg, found.held_nmm))))  # fmt: skip
    stop, least = float(x[-1]), min(view.zero_deg, 0.0)
    labels += [*said, Label("stop", word("stop-here"), ((stop, 0.95 * top), (stop, 0.8 * top),
                                                        (stop, 0.5 * top)), "faint", (1.0, 0.0),
                            must=False)]  # fmt: skip
    return Figure(
        x=Axis(word(f"advance-axis-{view.frame}"), *round_range(
            least, stop + _BEYOND * (stop - least), ANGLE_STEPS)),
        y=Axis(word("torque-axis"), 0.0, round_range(0.0, top)[1]),
        zones=tuple(zones),
        bounds=(Bound("stop", stop),),
        traces=(*traces, held),
        dots=tuple(marks),
        events=events,
        labels=tuple(labels),
    )  # fmt: skip


def _springs(outcome: Outcome, found: Torques, x: Array) -> tuple[list[Zone], list[Label]]:
    """Each role's springs on top of those before, named where they are thickest; the topmost from
    the free room over it, if need be."""
    springs = outcome.unit.mechanism.springs
    zones, labels = [], []
    base = np.full(len(x), found.drag_nmm)
    roles = tuple(dict.fromkeys(spring.role for spring in springs))
    for role in roles:
        part = sum(found.springs_nmm[i] for i, s in enumerate(springs) if s.role == role)
        zones.append(Zone(f"spring-{role}", x, base, base + part))
        middle = base + 0.5 * part
        best = np.argsort(-np.asarray(part)[x <= x[0] + _INNER * (x[-1] - x[0])])
        best = best[:: max(len(x) // 12, 1)][:5]
        spots = tuple((float(x[i]), float(middle[i])) for i in best)
        said = word(f"role-{role}" if role in ("primary", "secondary") else "role-further")
        labels.append(Label(f"spring-{role}", said, spots, f"spring-{role}", (-1.0, 0.0),
                            must=role == roles[-1], close=role != roles[-1]))  # fmt: skip
        base = base + part
    return zones, labels


def _chosen(outcome: Outcome) -> Sequence[float]:
    """The speeds of the check points between start and full advance, or else round ones."""
    prediction = outcome.prediction
    assert prediction is not None
    low, high = prediction.start_rpm, prediction.full_rpm
    asked = [p.speed_rpm for p in outcome.comparison.check_points if p.speed_rpm is not None]
    inside = [speed for speed in asked if low < speed < high]
    if len(inside) < 2 and np.isfinite(high) and high > low:
        step = round_below((high - low) / 3)
        inside = [float(s) for s in np.arange(np.ceil(low / step), high / step) * step if s > low]
    every = max(1, -(-len(inside) // MOST_SPEEDS))
    return inside[::every]


def _pull(role: str, found: Torques, x: Array, speed_rpm: float, top: float) -> Trace:
    """What the weights pull with at a speed, as far as the plot reaches."""
    y = found.weights_nmm(speed_rpm)
    over = np.flatnonzero(y > top)
    if not len(over):
        return Trace(role, x, y)
    end = int(over[0])
    if end == 0:
        return Trace(role, x[:1], np.minimum(y[:1], top))
    at = np.interp(top, y[end - 1 : end + 1], x[end - 1 : end + 1])
    return Trace(role, np.append(x[:end], at), np.append(y[:end], top))


def _named_pull(key: str, pull: Trace, held: Trace, clear_nmm: float, speed_rpm: float,
                view: View, with_unit: bool = True) -> Label:  # fmt: skip
    """The speed, at its line. The one posed near rest, where the lines stand clear of the springs,
    or wherever else its words are not taken for those of what is held; the others at their ends,
    beyond the stop, as figures under the one with the unit: so each line of many has its name."""
    found = (_NAMED_AT * (len(pull.x) - 1)).astype(int)
    x, y = pull.x[found], pull.y[found]
    first = np.argsort(abs(y - np.interp(x, held.x, held.y)) < clear_nmm, kind="stable")
    spots = tuple(zip(x[first].tolist(), y[first].tolist(), strict=True))
    written = view.speed(speed_rpm)
    said = word("at-speed", speed=written) if with_unit else written
    if pull.role == "pull-posed":
        return Label(key, said, spots, pull.role, (0.0, 1.0))
    end = float(pull.x[-1]), float(pull.y[-1])
    return Label(key, said, (end, *spots) if with_unit else (end,), pull.role, (1.0, 0.0))
