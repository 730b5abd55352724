"""Taking readings one after the other: repeats put together, the direction, what to read next.

Speeds and angles here are as the session's instruments show them: engine rev/min and crank degrees
with static for a lamp, distributor figures with the ring's zero for a rig.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.frozen import frozen
from bobweight.core.judgement.frames import to_distributor
from bobweight.core.mechanics.instrument import Reader, ratio_of
from bobweight.core.problems import required
from bobweight.core.statistics.robust import mean_of_repeats

REPEATS = 3
"""Each point is read three times (common practice)."""

_SAME_SPEED_U = 2.5  # readings nearer than so many uncertainties are of one speed
_LEAST_SAME_RPM = 25.0
_STEP_RPM = 500.0  # engine; every 250 to 500 rev/min is common practice
_LAST_RPM = 4000.0
_FIRST_RPM = 500.0


@frozen
class Group:
    """Repeats at one speed, direction and state of the pipe.

    ``rows``: of the session's readings; ``speed_rpm``: their mean; ``angle_deg``, ``u_deg``: mean
    and standard uncertainty by :func:`core.statistics.robust.mean_of_repeats`; ``spread_deg``:
    standard deviation between the repeats, None for one; ``depression_kpa``: None with the pipe
    off.
    """

    rows: tuple[int, ...]
    speed_rpm: float
    angle_deg: float
    u_deg: float
    spread_deg: float | None
    direction: str
    depression_kpa: float | None


@frozen
class Planned:
    """A speed worth reading, with the band there (None on a side without limit) and the check
    point's row; ``point`` is None for a speed that only fills a gap."""

    speed_rpm: float
    low_deg: float | None
    high_deg: float | None
    point: int | None


@frozen
class Suggestion:
    """What to read next.

    ``reason``: ``repeat``, ``check point`` or ``gap``; ``repeat``: the how-maniest reading of this
    speed it will be, from 1.
    """

    speed_rpm: float
    direction: str
    reason: str
    repeat: int


Suggest = Callable[[Docket, int, int], Suggestion | None]
"""``suggest(docket, session, repeats)`` tells what to read next, so many times each; None where
nothing more is worth reading."""


def same_speed_rpm(instrument: Instrument) -> float:
    """How far apart, rev/min as shown, two readings of one speed may lie."""
    return max(_LEAST_SAME_RPM, _SAME_SPEED_U * instrument.u_speed_taken_rpm)


def guessed_direction(
    session: Session, speed_rpm: float, depression_kpa: float | None = None
) -> str:
    """``rising`` or ``falling``, by the speed against the last one read with the pipe in the same
    state; a repeat has the direction of the last, and a session begins rising."""
    groups = [g for g in repeat_groups(session) if _same_pipe(g.depression_kpa, depression_kpa)]
    if not groups:
        return "rising"
    last = groups[-1]
    moved = speed_rpm - last.speed_rpm
    if abs(moved) <= same_speed_rpm(session.instrument):
        return last.direction if last.direction != "unknown" else "rising"
    return "rising" if moved > 0 else "falling"


def _same_pipe(one: float | None, other: float | None) -> bool:
    return (one is None) == (other is None)


def repeat_groups(session: Session) -> tuple[Group, ...]:
    """The readings of a session that follow each other at one speed, put together.

    Rows half typed or left out are passed over.
    """
    found: list[list[int]] = []
    readings = session.readings
    for row, reading in enumerate(readings):
        if reading.speed_rpm is None or reading.angle_deg is None or reading.left_out:
            continue
        if found and _belongs(reading, readings[found[-1][0]], session.instrument):
            found[-1].append(row)
        else:
            found.append([row])
    return tuple(_group(session, rows) for rows in found)


def _belongs(reading: Reading, first: Reading, instrument: Instrument) -> bool:
    if reading.direction != first.direction:
        return False
    apart_rpm = abs(required(reading.speed_rpm) - required(first.speed_rpm))
    if apart_rpm > same_speed_rpm(instrument):
        return False
    if reading.depression_kpa is None or first.depression_kpa is None:
        return reading.depression_kpa is first.depression_kpa
    apart = abs(reading.depression_kpa - first.depression_kpa)
    return apart <= _SAME_SPEED_U * instrument.u_depression_taken_kpa


def _group(session: Session, rows: list[int]) -> Group:
    readings = [session.readings[row] for row in rows]
    u = [r.u.get("angle_deg", session.instrument.u_angle_taken_deg) for r in readings]
    angles = [required(r.angle_deg) for r in readings]
    mean, u_mean = mean_of_repeats(angles, u)
    pipe = [r.depression_kpa for r in readings if r.depression_kpa is not None]
    return Group(
        rows=tuple(rows),
        speed_rpm=float(np.mean([r.speed_rpm for r in readings])),
        angle_deg=mean,
        u_deg=u_mean,
        spread_deg=float(np.std(angles, ddof=1)) if len(rows) > 1 else None,
        direction=readings[0].direction,
        depression_kpa=float(np.mean(pipe)) if pipe else None,
    )


def shown(docket: Docket, session: int, speed_rpm: float, advance_deg: float) -> float:
    """What the session's instrument shows for a true distributor speed and centrifugal advance in
    distributor degrees."""
    reader = Reader.of(docket.sessions[session].instrument, docket.particulars)
    return float(reader.shown(speed_rpm, advance_deg)[1])


def planned(docket: Docket, session: int) -> tuple[Planned, ...]:
    """The speeds worth reading in a session, slowest first: every check point, and steps of no
    more than 500 engine rev/min between and around them."""
    instrument = docket.sessions[session].instrument
    ratio = docket.particulars.ratio_taken
    per_distributor = ratio_of(instrument, docket.particulars) / instrument.scale_taken
    checks = [p for p in _checks(docket, session, per_distributor) if p.speed_rpm > 0]
    step = _STEP_RPM / ratio * per_distributor
    idle = docket.setting_up.idle_rpm
    first = (idle or _FIRST_RPM) / ratio * per_distributor
    last = max([_LAST_RPM / ratio * per_distributor] if not checks else
               [c.speed_rpm for c in checks])  # fmt: skip
    kept = sorted(checks, key=lambda c: c.speed_rpm)
    for speed in np.arange(first, last + step / 2, step).tolist():
        if all(abs(speed - c.speed_rpm) > 0.45 * step for c in kept):
            kept.append(Planned(speed, None, None, None))
    return tuple(sorted(kept, key=lambda c: c.speed_rpm))


def _checks(docket: Docket, session: int, per_distributor: float) -> list[Planned]:
    target = docket.target
    static = docket.setting_up.static_deg
    if target.frame_taken == "crank-static" and static is None:
        return []
    found = []
    for row, point in enumerate(target.points):
        if point.speed_rpm is None:
            continue
        at = 0.0
        limits: list[float | None] = []
        for limit in (point.least_deg, point.most_deg):
            at, angle = map(float, to_distributor(
                point.speed_rpm, 0.0 if limit is None else limit, target.frame_taken,
                docket.particulars.ratio_taken, static or 0.0,
            ))  # fmt: skip
            limits.append(None if limit is None else shown(docket, session, at, angle))
        found.append(Planned(at * per_distributor, limits[0], limits[1], row))
    return found


def next_reading(docket: Docket, session: int, repeats: int = REPEATS) -> Suggestion | None:
    """What to read next by check points and gaps: the repeats, then on in the same direction, up
    to the last speed and down again; None when every planned speed was read both ways.

    This rule can be replaced by any other :data:`Suggest`.
    """
    taken = repeat_groups(docket.sessions[session])
    off = [group for group in taken if group.depression_kpa is None]
    if taken and taken[-1].depression_kpa is None and len(taken[-1].rows) < repeats:
        last = taken[-1]
        return Suggestion(last.speed_rpm, last.direction, "repeat", len(last.rows) + 1)
    near = same_speed_rpm(docket.sessions[session].instrument)
    plan = planned(docket, session)
    here = off[-1].speed_rpm if off else 0.0
    way = off[-1].direction if off else "rising"
    up, down = plan, tuple(reversed(plan))
    onwards = [("rising", p) for p in up if way != "falling" and p.speed_rpm > here]
    back = [("falling", p) for p in down if p.speed_rpm < here or way != "falling"]
    for direction, point in (*onwards, *back, *(("rising", p) for p in up)):
        read = any(
            g.direction == direction and abs(g.speed_rpm - point.speed_rpm) <= near for g in off
        )
        if not read:
            reason = "gap" if point.point is None else "check point"
            return Suggestion(point.speed_rpm, direction, reason, 1)
    return None


def check_at(docket: Docket, session: int, group: Group) -> Planned | None:
    """The check point at a group's speed; None where there is none or the pipe is on."""
    if group.depression_kpa is not None:
        return None
    near = same_speed_rpm(docket.sessions[session].instrument)
    checks = [p for p in planned(docket, session) if p.point is not None]
    checks = [p for p in checks if abs(p.speed_rpm - group.speed_rpm) <= near]
    return min(checks, key=lambda p: abs(p.speed_rpm - group.speed_rpm), default=None)
