"""Readings as shown by the instruments, reduced to advance at the distributor.

The equation is :mod:`core.mechanics.instrument`'s; on an engine the backlash of the drive is
in a reading while speed falls. What differs from reading to reading (``u_advance_deg``) is
kept apart from what all readings of a session share (``u_common_deg``, ``u_scale``): averaging
helps against the first only.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.readings import Reading, Session
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.frozen import frozen
from bobweight.core.judgement.pooling import Shown, pooled, pooled_closely, shown_readings
from bobweight.core.mechanics.capsule import plate_slope
from bobweight.core.mechanics.instrument import Reader, u_shared_deg
from bobweight.core.mechanics.predict import Prediction
from bobweight.core.problems import Problem
from bobweight.core.record import parameters, standard_uncertainty, value_problems
from bobweight.core.statistics.robust import local_line

_U_PREDICTED_DEG = 0.5  # distributor degrees; how well a mechanism off the bench predicts


@frozen
class Reduced:
    """The usable readings of one session; every array has shape (readings,).

    The readings of a long session are pooled (:mod:`core.judgement.pooling`); an entry is then a
    pool of them.

    Attributes
    ----------
    index : int array
        Row in ``session.readings``; of a pool, the first of its rows.
    speed_rpm, advance_deg : array
        Distributor speed, and centrifugal advance in distributor degrees (NaN with the pipe on).
    u_speed_rpm, u_advance_deg : array
        Standard uncertainties of the single reading.
    u_common_deg : array
        Standard uncertainty shared by all readings: static, mark and lamp delay.
    u_scale : float
        Relative standard uncertainty of the speed scale, shared by all readings.
    direction : str array
        'rising', 'falling' or 'unknown'.
    depression_kpa, u_depression_kpa : array
        NaN with the pipe off.
    vacuum_deg, u_vacuum_deg : array
        Movement of the plate in distributor degrees for readings with the pipe on, else NaN.
    left_out : bool array
    shown : Shown
        The same as the instruments showed it, entry by entry, and what was pooled in each.
    per_shown_deg : float
        Distributor degrees for a degree that the instruments show.
    leans_on_prediction : bool
        True if a reading with the pipe on needed the predicted centrifugal advance.
    """

    index: np.ndarray
    speed_rpm: np.ndarray
    advance_deg: np.ndarray
    u_speed_rpm: np.ndarray
    u_advance_deg: np.ndarray
    u_common_deg: np.ndarray
    u_scale: float
    direction: np.ndarray
    depression_kpa: np.ndarray
    u_depression_kpa: np.ndarray
    vacuum_deg: np.ndarray
    u_vacuum_deg: np.ndarray
    left_out: np.ndarray
    shown: Shown
    leans_on_prediction: bool = False
    per_shown_deg: float = 1.0

    @property
    def pipe_on(self) -> np.ndarray:
        """Which readings were taken with depression at the capsule."""
        return np.asarray(~np.isnan(self.depression_kpa))

    def used(self, pipe_on: bool = False) -> np.ndarray:
        """Which readings count: not left out, with the pipe off (or on)."""
        return np.asarray(~self.left_out & (self.pipe_on == pipe_on))


def session_problems(session: Session) -> list[Problem]:
    """What is wrong with a session: values out of range, and rows that are half typed."""
    found = value_problems(session.with_changes(readings=()))
    suspect = [row for row, reading in enumerate(session.readings) if not _plainly_right(reading)]
    for row in suspect:
        found += [p.at("readings", row) for p in value_problems(session.readings[row])]
    for row in suspect:
        for key in ("speed_rpm", "angle_deg"):
            if getattr(session.readings[row], key) is None:
                found.append(Problem("reading-incomplete", ("readings", row, key), {"row": row + 1},
                                     grave=False))  # fmt: skip
    return found


def lash_deg(
    session: Session, particulars: Particulars, direction: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """What the drive's backlash adds to each reading, crank degrees, and its uncertainty.

    On the engine the shaft runs ahead through the backlash while speed falls; a rig has none. A
    reading of unknown direction holds half of it, give or take the other half.
    """
    backlash = particulars.backlash_taken_deg if session.instrument.kind_taken == "lamp" else 0.0
    share = np.where(direction == "falling", 1.0, np.where(direction == "rising", 0.0, 0.5))
    if not backlash:
        return np.zeros(len(share)), np.zeros(len(share))
    u = standard_uncertainty(particulars, "backlash_deg") or 0.0
    return share * backlash, np.where(share == 0.5, 0.5 * backlash, share * u)


_SPEED, _ANGLE, _DEPRESSION = (
    parameters(Reading)[key].hard for key in ("speed_rpm", "angle_deg", "depression_kpa")
)


def _plainly_right(reading: Reading) -> bool:
    """Whether nothing can be said against a reading: a quick look, for there may be thousands."""
    speed, angle, depression = reading.speed_rpm, reading.angle_deg, reading.depression_kpa
    return (
        speed is not None
        and angle is not None
        and _SPEED[0] <= speed <= _SPEED[1]
        and _ANGLE[0] <= angle <= _ANGLE[1]
        and (depression is None or _DEPRESSION[0] <= depression <= _DEPRESSION[1])
    )


def reduce_session(
    session: Session,
    particulars: Particulars,
    prediction: Prediction | None = None,
    capsules: tuple[Capsule, ...] = (),
    closely: bool = False,
) -> Reduced:
    """The readings of a session as advance at the distributor, with their uncertainties.

    Rows without speed or angle are passed over; a long session is pooled. For readings with the
    pipe on, the centrifugal part is taken off: as the readings with the pipe off show it where
    they reach, else as predicted, else not at all where neither is known (NaN).

    Parameters
    ----------
    capsules : tuple of Capsule
        Give the slope against depression, for the uncertainty of pipe-on readings.
    closely : bool
        Pooled by :func:`core.judgement.pooling.pooled_closely`, to be judged.
    """
    instrument = session.instrument
    reader = Reader.of(instrument, particulars)
    shown = (pooled_closely if closely else pooled)(shown_readings(session))
    lash, u_lash = lash_deg(session, particulars, shown.direction)
    speed, advance = map(np.asarray, reader.true(shown.speed_rpm, shown.angle_deg - lash))
    u_speed, u_advance = map(
        np.asarray, reader.u_single(shown.u_speed_rpm, np.hypot(shown.u_angle_deg, u_lash))
    )
    reduced = Reduced(
        index=shown.index,
        speed_rpm=speed,
        advance_deg=advance,
        u_speed_rpm=u_speed,
        u_advance_deg=u_advance,
        u_common_deg=u_shared_deg(instrument, reader.ratio, speed),
        u_scale=(standard_uncertainty(instrument, "tachometer_scale") or 0.0)
        / instrument.scale_taken,
        direction=shown.direction,
        depression_kpa=shown.depression_kpa,
        u_depression_kpa=shown.u_depression_kpa,
        vacuum_deg=np.full(len(speed), np.nan),
        u_vacuum_deg=np.full(len(speed), np.nan),
        left_out=shown.left_out,
        shown=shown,
        per_shown_deg=1.0 / float(reader.ratio),
    )
    if not reduced.pipe_on.any():
        return reduced
    return _vacuum_parted(reduced, prediction, capsules)


def _vacuum_parted(
    r: Reduced, prediction: Prediction | None, capsules: tuple[Capsule, ...]
) -> Reduced:
    """The same readings, with the plate's share of those with the pipe on told apart."""
    on = r.pipe_on
    speed = r.speed_rpm[on]
    off = r.used()
    base = local_line(
        r.speed_rpm[off], r.advance_deg[off], r.u_speed_rpm[off], r.u_advance_deg[off], speed
    )
    centrifugal, u_centrifugal = base.y, base.u
    still = speed == 0  # a hand pump on a standing shaft
    unknown = np.isnan(centrifugal) & ~still
    if prediction is not None and unknown.any():
        predicted = prediction.advance_deg(speed)
        centrifugal = np.where(unknown, predicted, centrifugal)
        u_centrifugal = np.where(unknown, _U_PREDICTED_DEG, u_centrifugal)
    centrifugal = np.where(still, 0.0, centrifugal)
    u_centrifugal = np.where(still, 0.0, u_centrifugal)
    vacuum, u_vacuum = r.vacuum_deg.copy(), r.u_vacuum_deg.copy()
    vacuum[on] = r.advance_deg[on] - centrifugal
    slope = plate_slope(capsules, r.depression_kpa[on])
    u_vacuum[on] = np.sqrt(
        r.u_advance_deg[on] ** 2 + u_centrifugal**2 + (slope * r.u_depression_kpa[on]) ** 2
    )
    return replace(
        r,
        advance_deg=np.where(on, np.nan, r.advance_deg),
        vacuum_deg=vacuum,
        u_vacuum_deg=u_vacuum,
        leans_on_prediction=bool(unknown.any()),
    )
