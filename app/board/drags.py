"""What a dragged mark does to the docket: from the frame shown back to the frame stored. No Qt.

Rounding is to what a hand would write: 10 rev/min and 0.1°, in the frame shown. A place beyond
the limits of a value raises BobweightError.
"""

from __future__ import annotations

from bobweight.core.docket.docket import Docket
from bobweight.core.figure.ranges import round_below, snapped
from bobweight.core.figure.view import View
from bobweight.core.frozen import frozen
from bobweight.core.judgement.frames import from_distributor
from bobweight.core.mechanics.instrument import Array, Reader, ratio_of
from bobweight.core.record import get, put

SPEED_STEP_RPM = 10.0
ANGLE_STEP_DEG = 0.1
TANG_STEP_MM = 0.05


@frozen
class Grip:
    """What is held: ``kind`` is ``check``, ``vacuum`` or ``reading``; ``part`` which end of it.

    ``x`` and ``y`` are where it stood when it was taken, in shown units.
    """

    kind: str
    index: int
    part: str
    x: float
    y: float
    low: float = 0.0
    high: float = 0.0


def depression_snapped(shown: float, unit_kpa: float) -> float:
    """A shown depression at a round step of about half a kPa, in kPa; ``unit_kpa`` is one unit."""
    return snapped(max(shown, 0.0), round_below(0.5 / unit_kpa)) * unit_kpa


def check_point_moved(docket: Docket, grip: Grip, x: float, y: float, view: View) -> Docket:
    """The docket with a check point's end (least, most) or speed (body) at a shown place."""
    path = ("target", "points", grip.index)
    speed, angle = snapped(x, SPEED_STEP_RPM), snapped(y, ANGLE_STEP_DEG)
    if grip.part == "least":
        angle = min(angle, grip.high)
    elif grip.part == "most":
        angle = max(angle, grip.low)
    rpm, deg = from_distributor(
        speed / view.factor, view.stored(angle), docket.target.frame_taken,
        docket.particulars.ratio_taken, docket.setting_up.static_deg or 0.0,
    )  # fmt: skip
    if grip.part == "body":
        return put(docket, (*path, "speed_rpm"), _clean(rpm))
    return put(docket, (*path, f"{grip.part}_deg"), _clean(deg))


def vacuum_point_moved(
    docket: Docket, grip: Grip, depression_kpa: float, y: float, view: View
) -> Docket:
    """The docket with a vacuum check point's end or depression at a shown place."""
    path = ("target", "vacuum_points", grip.index)
    if grip.part == "body":
        return put(docket, (*path, "depression_kpa"), _clean(max(depression_kpa, 0.0)))
    angle = snapped(y, ANGLE_STEP_DEG)
    angle = min(angle, grip.high) if grip.part == "least" else max(angle, grip.low)
    stored = view.moving.stored(angle)
    if docket.target.vacuum_frame_taken == "crank":
        stored *= docket.particulars.ratio_taken
    return put(docket, (*path, f"{grip.part}_deg"), _clean(stored))


def reading_moved(
    docket: Docket, session: int, grip: Grip, x: float, y: float, view: View
) -> Docket:
    """The docket with a reading's speed and angle where the hand put it, as instruments show it."""
    path = ("sessions", session, "readings", grip.index)
    reading = get(docket, path)
    reader = Reader.of(docket.sessions[session].instrument, docket.particulars)
    speed, angle = snapped(max(x, 0.0), SPEED_STEP_RPM), snapped(y, ANGLE_STEP_DEG)
    # Differences only, so that static, mark and vacuum need not be known.
    _, before = reader.shown(grip.x / view.factor, view.stored(grip.y))
    rpm, after = reader.shown(speed / view.factor, view.stored(angle))
    moved = put(docket, (*path, "speed_rpm"), _clean(rpm))
    return put(moved, (*path, "angle_deg"), _clean(reading.angle_deg + after - before))


def vacuum_reading_moved(
    docket: Docket, session: int, grip: Grip, depression_kpa: float, y: float, view: View
) -> Docket:
    """The docket with a reading's depression and angle where the hand put it."""
    path = ("sessions", session, "readings", grip.index)
    reading = get(docket, path)
    by = ratio_of(docket.sessions[session].instrument, docket.particulars)
    angle = reading.angle_deg + (snapped(y, ANGLE_STEP_DEG) - grip.y) / view.factor * by
    depression = _clean(min(max(depression_kpa, 0.0), 101.0))
    moved = put(docket, (*path, "depression_kpa"), depression)
    return put(moved, (*path, "angle_deg"), _clean(angle))


def without(docket: Docket, path: tuple) -> Docket:
    """The docket with one entry of a list taken out."""
    entries = get(docket, path[:-1])
    return put(docket, path[:-1], (*entries[: path[-1]], *entries[path[-1] + 1 :]))


def _clean(value: Array) -> float:
    return round(float(value), 6)
