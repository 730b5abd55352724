"""Setting the unit on the engine: static and total, the lamp card, driving states, instruments.

    total(N, Δp) = static + ratio · [ θ_c(N / ratio) + θ_v(Δp) ]

Angles are crank degrees and speeds engine rev/min unless a name says otherwise.
"""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike

from bobweight.core.bench._checks import finite, positive
from bobweight.core.bench.atmosphere import depression_at_height_kpa, height_for_depression_m
from bobweight.core.bench.lamp import LagEstimate, Lamp, TachometerScale, shown_deg
from bobweight.core.bench.rotor import RotorCap, RotorPhasing, phasing
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.readings import Instrument
from bobweight.core.docket.setting_up import USUAL_STATES, DrivingState
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.capsule import (
    felt_kpa,
    full_travel_kpa,
    plate_advance_deg,
    usable,
)
from bobweight.core.mechanics.predict import Prediction, whole_rpm
from bobweight.core.mechanics.total import total_crank_deg
from bobweight.core.problems import BobweightError, required
from bobweight.core.record import put, put_uncertainty

USUAL_IDLE_KPA = 55.0
"""Depression in the manifold at idle (common practice)."""
_STEP_RPM = 500.0
_MOST_STEPS = 24
_TOUCH_DEG = 1e-6  # on the edge of a band is inside


@frozen
class StaticSetting:
    """Static timing and the total that goes with it.

    ``static_deg`` and ``total_deg`` at the crank; ``engine_rpm`` and ``depression_kpa`` where the
    total holds; ``advance_deg`` what governor and capsule give there, crank degrees.
    """

    static_deg: float
    total_deg: float
    engine_rpm: float
    depression_kpa: float
    advance_deg: float


@frozen
class LampCard:
    """What the lamp shows at a list of speeds, crank degrees; every array has shape (speeds,).

    ``shown_rpm`` is what the tachometer shows, ``engine_rpm`` the true speed. ``on_…`` with
    ``depression_kpa`` held at the capsule; None without a capsule. ``low_deg`` and ``high_deg``:
    the target's band with the pipe off, NaN where the target has no check point. ``backlash_deg``
    of the drive is counted in where speed falls, in the band of a table that is read so too.
    """

    engine_rpm: np.ndarray
    shown_rpm: np.ndarray
    off_rising_deg: np.ndarray
    off_falling_deg: np.ndarray
    on_rising_deg: np.ndarray | None
    on_falling_deg: np.ndarray | None
    depression_kpa: float | None
    low_deg: np.ndarray
    high_deg: np.ndarray
    backlash_deg: float

    def outside(self, read_as: str) -> tuple[np.ndarray, np.ndarray]:
        """Where the figures with the pipe off lie outside the band of a table read so: rising,
        falling, each of shape (speeds,). A table that is read both ways has no backlash in its
        band, so there it is left out of what falls."""
        ahead = self.backlash_deg if read_as == "either" else 0.0
        ways = (("rising", self.off_rising_deg), ("falling", self.off_falling_deg - ahead))
        rising, falling = (
            ((held < self.low_deg - _TOUCH_DEG) | (held > self.high_deg + _TOUCH_DEG))
            & (read_as in ("either", way))
            for way, held in ways
        )
        return rising, falling


@frozen
class StateTotal:
    """One driving state: its total at sea level and at the docket's altitude, crank degrees.

    ``over_deg`` is how far the larger of the two passes the ceiling; None without a ceiling or
    where it does not pass.
    """

    name: str
    engine_rpm: float
    depression_kpa: float
    total_deg: float
    altitude_kpa: float
    altitude_total_deg: float
    over_deg: float | None


@frozen
class CapsuleAtIdle:
    """What one capsule does while the engine idles: the depression that it feels, and how far it
    moves the timing, crank degrees, negative for retard. ``number`` counts the docket's capsules
    from 1."""

    number: int
    fed_from: str
    felt_kpa: float
    moved_deg: float


@frozen
class IdleTiming:
    """The engine at idle with every pipe on: what each capsule does, and what lamp and tachometer
    show. ``usual``: nobody entered that idle, it is the trade's."""

    engine_rpm: float
    shown_rpm: float
    depression_kpa: float
    capsules: tuple[CapsuleAtIdle, ...]
    shown_deg: float
    usual: bool = False


@frozen
class MarkError:
    """Error of the reference mark, crank degrees (positive: the mark shows too much advance), and
    its standard uncertainty; None means not stated."""

    mark_error_deg: float
    u_mark_error_deg: float | None


def static_for_total(docket: Docket, prediction: Prediction) -> StaticSetting:
    """The static timing that gives the wanted total at its speed and depression.

    Raises
    ------
    BobweightError
        ``missing`` at ``wanted_total_deg``.
    """
    wanted = docket.setting_up.wanted_total_deg
    if wanted is None:
        raise BobweightError("missing", ("setting_up", "wanted_total_deg"))
    at_rest = total_for_static(docket, prediction, 0.0)
    static = wanted - at_rest.advance_deg
    return replace(at_rest, static_deg=static, total_deg=wanted)


def total_for_static(
    docket: Docket, prediction: Prediction, static_deg: float | None = None
) -> StaticSetting:
    """The total that a static timing gives at the wanted speed and depression, rising.

    Without a wanted speed it is that of full advance, told in whole turns of the distributor as
    the curve's own figures are, so that the one is the other times the drive.

    Parameters
    ----------
    static_deg : float, optional
        Crank degrees; the docket's if left out.

    Raises
    ------
    BobweightError
        ``missing`` at ``static_deg``.
    """
    setting, ratio = docket.setting_up, docket.particulars.ratio_taken
    static = setting.static_deg if static_deg is None else float(finite("static_deg", static_deg))
    if static is None:
        raise BobweightError("missing", ("setting_up", "static_deg"))
    rpm = setting.wanted_rpm
    at_rpm = prediction.full_rpm * ratio if rpm is None else rpm
    rpm = whole_rpm(prediction.full_rpm) * ratio if rpm is None else rpm
    held = setting.wanted_taken_kpa
    advance = float(total_crank_deg(0.0, ratio, prediction, docket.capsules, at_rpm, held))
    return StaticSetting(static, static + advance, rpm, held, advance)


def advance_at_idle_deg(docket: Docket, prediction: Prediction) -> float | None:
    """Centrifugal advance, crank degrees, that has begun at the docket's idle (the larger of
    rising and falling); None without an idle speed. More than nothing spoils a base setting."""
    idle = docket.setting_up.idle_rpm
    if idle is None:
        return None
    ratio = docket.particulars.ratio_taken
    both = (prediction.rising, prediction.falling)
    return ratio * max(float(np.interp(idle / ratio, b.speed_rpm, b.advance_deg)) for b in both)


def card_speeds(docket: Docket, prediction: Prediction, check_rpm: ArrayLike = ()) -> np.ndarray:
    """Engine speeds of the lamp card: the docket's own, else idle, the check points (true engine
    rev/min) and steps of 500 between, to a little beyond full advance."""
    own = [s.engine_rpm for s in docket.setting_up.lamp_speeds if s.engine_rpm is not None]
    if own:
        return np.array(own, dtype=float)
    full = prediction.full_rpm * docket.particulars.ratio_taken
    checks = np.atleast_1d(np.asarray(check_rpm, dtype=float))
    checks = checks[np.isfinite(checks)]
    idle = docket.setting_up.idle_rpm
    last = np.ceil(max([full, *checks]) / _STEP_RPM) * _STEP_RPM
    step = _STEP_RPM * max(1.0, np.ceil(last / _STEP_RPM / _MOST_STEPS))
    kept = sorted({*checks.tolist(), *([idle] if idle else [])})
    for speed in np.arange(step, last + step / 2, step).tolist():
        if all(abs(speed - other) > 0.3 * step for other in kept) and (not idle or speed > idle):
            kept.append(speed)
    return np.array(sorted(kept))


def shown_reach_deg(docket: Docket) -> tuple[float, float] | None:
    """The least and the most that a lamp can show of a docket, crank degrees: static and mark error
    with no advance and with all of it, each capsule at full travel. The centrifugal advance ends at
    the stop, the stamped maximum or the target's highest limit, whichever is most; None where none
    of them is known.
    """
    ratio, target = docket.particulars.ratio_taken, docket.target
    static = docket.setting_up.static_deg or 0.0
    own = (docket.mechanism.stop_deg, docket.particulars.stamped_maximum_deg)
    totals = [static + ratio * deg for deg in own if deg is not None]
    for limit in (target.ceiling_deg, *(point.most_deg for point in target.points)):
        if limit is not None:
            at_crank = limit * ratio if target.frame_taken == "distributor" else limit
            totals.append(at_crank if target.frame_taken == "crank-static" else static + at_crank)
    if not totals:
        return None
    moved = [0.0]
    for capsule in docket.capsules:
        full = full_travel_kpa((capsule,))
        if full is not None:
            moved.append(ratio * float(plate_advance_deg((capsule,), full)))
    lamps = [s.instrument for s in docket.sessions[-1:] if s.instrument.kind_taken == "lamp"]
    error = lamps[0].mark_error_taken_deg if lamps else 0.0
    least, most = sum(v for v in moved if v < 0), sum(v for v in moved if v > 0)
    return static + error + least, max(totals) + error + most


def lamp_of(docket: Docket, instrument: Instrument | None = None) -> Lamp:
    """The lamp as the docket knows it: static to be set and the backlash of the drive, with mark
    error, delay and tachometer of an instrument (none if it is a rig's).

    Raises
    ------
    BobweightError
        ``missing`` at ``static_deg``.
    """
    static = docket.setting_up.static_deg
    if static is None:
        raise BobweightError("missing", ("setting_up", "static_deg"))
    if instrument is None or instrument.kind_taken == "rig":
        instrument = Instrument()
    unit = docket.particulars
    return Lamp(
        static, unit.ratio_taken, instrument.mark_error_taken_deg, instrument.lag_taken_ms,
        instrument.scale_taken, unit.backlash_taken_deg,
    )  # fmt: skip


def lamp_card(
    docket: Docket,
    prediction: Prediction,
    instrument: Instrument | None = None,
    *,
    bands: tuple[ArrayLike, ArrayLike, ArrayLike] = ((), (), ()),
) -> LampCard:
    """What the lamp must show at the card's speeds, pipe off and on, rising and falling.

    Parameters
    ----------
    instrument : Instrument, optional
        Its mark error, delay and tachometer scale are put into what is shown.
    bands : three arrays of shape (check points,)
        True engine rev/min, and least and most centrifugal advance in distributor degrees
        (infinite for no limit).

    Raises
    ------
    BobweightError
        As :func:`lamp_of`.
    """
    lamp = lamp_of(docket, instrument)
    checks, low, high = (np.atleast_1d(np.asarray(b, dtype=float)) for b in bands)
    speeds = card_speeds(docket, prediction, checks)
    at_rpm = speeds / lamp.drive_ratio
    rising, falling = (prediction.advance_deg(at_rpm, d) for d in ("rising", "falling"))
    held = docket.setting_up.lamp_kpa
    held = full_travel_kpa(docket.capsules) if held is None else held
    on: list[np.ndarray | None] = [None, None]
    if usable(docket.capsules) and held is not None:
        plate = float(plate_advance_deg(docket.capsules, held))
        on = [
            np.asarray(shown_deg(lamp, speeds, c + plate, way))
            for c, way in ((rising, "rising"), (falling, "falling"))
        ]
    band = np.full((2, speeds.size), np.nan)
    read_as = docket.target.read_as
    for at, least, most in zip(checks, low, high, strict=True):
        here = np.isclose(speeds, at, rtol=0, atol=0.5)
        for side, limit in enumerate((least, most)):
            if np.isfinite(limit):
                limits = np.full(here.sum(), limit)
                band[side, here] = shown_deg(lamp, speeds[here], limits, read_as)
    return LampCard(
        engine_rpm=speeds,
        shown_rpm=np.asarray(lamp.shown_rpm(speeds)),
        off_rising_deg=np.asarray(shown_deg(lamp, speeds, rising)),
        off_falling_deg=np.asarray(shown_deg(lamp, speeds, falling, "falling")),
        on_rising_deg=on[0],
        on_falling_deg=on[1],
        depression_kpa=held if usable(docket.capsules) else None,
        low_deg=band[0],
        high_deg=band[1],
        backlash_deg=lamp.backlash_deg,
    )


def idle_timing(
    docket: Docket, prediction: Prediction, instrument: Instrument | None = None
) -> IdleTiming | None:
    """What the capsules do at idle, the throttle shut; None without a usable capsule or where
    neither an idle speed nor a state with the throttle shut is known.

    The depression is that of the driving state with the throttle shut that has the most; without
    one, the usual of an idling engine.

    Raises
    ------
    BobweightError
        As :func:`lamp_of`.
    """
    lamp = lamp_of(docket, instrument)
    shut = [s for s in docket.setting_up.states if s.throttle == "shut"]
    idling = max(shut, key=lambda s: s.depression_kpa, default=None)
    rpm = docket.setting_up.idle_rpm
    usual = rpm is None and idling in USUAL_STATES
    if rpm is None and idling is not None:
        rpm = idling.engine_rpm
    if not usable(docket.capsules) or rpm is None:
        return None
    kpa = USUAL_IDLE_KPA if idling is None else idling.depression_kpa
    each = []
    for number, capsule in enumerate(docket.capsules, start=1):
        if not usable((capsule,)):
            continue
        moved = lamp.drive_ratio * float(plate_advance_deg((capsule,), kpa, throttle_shut=True))
        felt = float(felt_kpa(capsule, kpa, throttle_shut=True))
        each.append(CapsuleAtIdle(number, capsule.fed_from, felt, moved))
    plate = float(plate_advance_deg(docket.capsules, kpa, throttle_shut=True))
    advance = float(prediction.advance_deg(rpm / lamp.drive_ratio, "falling"))
    shown = float(shown_deg(lamp, rpm, advance + plate, "falling"))
    return IdleTiming(rpm, float(lamp.shown_rpm(rpm)), kpa, tuple(each), shown, usual)


def state_totals(docket: Docket, prediction: Prediction) -> tuple[StateTotal, ...]:
    """The total of every driving state that has a speed, at sea level and at the altitude, rising;
    with the throttle shut falling, as :func:`idle_timing` has it.

    Raises
    ------
    BobweightError
        ``missing`` at ``static_deg``.
    """
    setting, ratio = docket.setting_up, docket.particulars.ratio_taken
    if setting.static_deg is None:
        raise BobweightError("missing", ("setting_up", "static_deg"))
    states = [s for s in setting.states if s.engine_rpm is not None]
    if not states:
        return ()
    rpm = np.array([s.engine_rpm for s in states])
    sea = np.array([s.depression_kpa for s in states])
    high = np.atleast_1d(depression_at_height_kpa(sea, setting.altitude_taken_m))
    shut = np.array([s.throttle == "shut" for s in states])
    alone = total_crank_deg(setting.static_deg, ratio, prediction, (), rpm, 0.0, throttle_shut=shut)
    totals = [
        alone + ratio * plate_advance_deg(docket.capsules, kpa, throttle_shut=shut)
        for kpa in (sea, high)
    ]
    over = np.maximum(*totals) - (
        np.inf if setting.ceiling_total_deg is None else setting.ceiling_total_deg
    )
    return tuple(
        StateTotal(
            s.name, float(rpm[i]), float(sea[i]), float(totals[0][i]), float(high[i]),
            float(totals[1][i]), float(over[i]) if over[i] > 0 else None,
        )
        for i, s in enumerate(states)
    )  # fmt: skip


def pulls_most(docket: Docket) -> DrivingState | None:
    """The driving state that pulls the capsule most; None where none does."""
    pulling = [
        s for s in docket.setting_up.states
        if s.engine_rpm is not None
        and any(felt_kpa(c, s.depression_kpa, s.throttle == "shut") > 0
                for c in usable(docket.capsules))
    ]  # fmt: skip
    return max(pulling, key=lambda s: s.depression_kpa, default=None)


def full_travel_height_m(docket: Docket, sea_level_kpa: float) -> float | None:
    """Height in m above which a depression of sea level no longer moves the capsule all the way;
    None without a capsule or where it always does below 11 000 m.

    Raises
    ------
    BobweightError
        ``depression-never-available`` where sea level has less than full travel asks for.
    """
    full = full_travel_kpa(docket.capsules)
    if full is None:
        return None
    try:
        return height_for_depression_m(sea_level_kpa, full)
    except BobweightError as error:
        if error.problem.code == "above-limit":
            return None
        raise


def rotor_phasing(docket: Docket) -> RotorPhasing:
    """Rotor against post over the vacuum travel, distributor degrees.

    Raises
    ------
    BobweightError
        ``missing`` at the first size that is not known.
    """
    rotor = docket.setting_up.rotor
    tip_mm, post_mm, radius_mm, off_deg = (
        required(getattr(rotor, key), "setting_up", "rotor", key)
        for key in ("tip_mm", "post_mm", "radius_mm", "off_deg")
    )
    full = full_travel_kpa(docket.capsules)
    turn = 0.0 if full is None else float(plate_advance_deg(docket.capsules, full))
    return phasing(RotorCap(tip_mm, post_mm, radius_mm), off_deg, turn)


def mark_error_from_stop(
    before_deg: float, after_deg: float, *, u_reading_deg: float | None = None
) -> MarkError:
    """Error of the mark from the two places at which a piston stop holds the crank.

    The piston stands equally high at both, so top dead centre lies midway: the error is half of
    what the reading before top dead centre has more than the one after it.

    Parameters
    ----------
    before_deg, after_deg : float
        Crank degrees that the mark shows before and after top dead centre, both counted positive.
    u_reading_deg : float, optional
        Standard uncertainty of one of them, above 0.
    """
    before, after = (float(finite(n, v)) for n, v in (
        ("before_deg", before_deg), ("after_deg", after_deg)))  # fmt: skip
    u = None
    if u_reading_deg is not None:
        u = float(positive("u_reading_deg", u_reading_deg, "°")) / sqrt(2)
    return MarkError((before - after) / 2, u)


def with_mark_error(docket: Docket, session: int, found: MarkError) -> Docket:
    """A copy of the docket whose session has the mark error found, with its uncertainty."""
    return _with_instrument(docket, session, "mark_error_deg", found.mark_error_deg,
                            found.u_mark_error_deg)  # fmt: skip


def with_lag(docket: Docket, session: int, found: LagEstimate) -> Docket:
    """A copy of the docket whose session has the lamp's delay found, with its uncertainty."""
    return _with_instrument(docket, session, "lag_ms", found.lag_ms, found.u_lag_ms)


def with_tachometer(docket: Docket, session: int, found: TachometerScale) -> Docket:
    """A copy of the docket whose session has the tachometer's scale found."""
    return _with_instrument(docket, session, "tachometer_scale", found.scale, found.u_scale)


def _with_instrument(
    docket: Docket, session: int, key: str, value: float, u: float | None
) -> Docket:
    path = ("sessions", session, "instrument", key)
    changed = put(docket, path, value)
    return put_uncertainty(changed, path, u if u else None)
