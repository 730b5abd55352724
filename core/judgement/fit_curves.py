"""From values of the docket to the distances of its readings, for many sets of values at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.fit_distance import signed_distances
from bobweight.core.judgement.fit_values import by_triples
from bobweight.core.judgement.reduce import Reduced, lash_deg
from bobweight.core.mechanics.balance import Speeds, balance_speeds
from bobweight.core.mechanics.branches import Curves, curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.capsule import (
    degrees_from_travel,
    plate_slope,
    travel_from_degrees,
    usable,
)
from bobweight.core.mechanics.instrument import Reader
from bobweight.core.problems import Path
from bobweight.core.record import taken_at

KNOTS = 40
"""Knots of a curve while fitting: the chords stay within a hundredth of a reading's uncertainty."""
_WAYS = ("rising", "falling", "unknown")
BOTH_WAYS = (0, 1)
"""Rising and falling by number."""
ZERO: Path = ("zero",)
"""What static and mark together add to every reading, in degrees of the shaft that is read."""
REST: Path = ("rest",)
"""Advance in distributor degrees short of which the cam does not come back."""
BACKLASH: Path = ("backlash",)
"""Distributor degrees that falling readings show more, from slack in the drive."""
FLIPPED: Path = ("flipped",)
"""1 where rising readings were taken falling, and falling ones rising."""
MAGNIFIED: Path = ("magnified",)
"""How many times the angle between mark and pointer is read for what it is."""
DRIFT: Path = ("drift",)
"""Degrees of the shaft that is read by which the zero has crept from first reading to last."""
RATIO: Path = ("particulars", "drive_ratio")
"""Turns of the shaft that is read for one of the distributor."""
_USUAL = {ZERO: 0.0, REST: 0.0, BACKLASH: 0.0, FLIPPED: 0.0, MAGNIFIED: 1.0, DRIFT: 0.0}

Values = Mapping[Path, Floats]
"""Values by path in the docket, or one of the paths above, each of shape (builds,) or (1,)."""


class Simulator:
    """The readings of one session against any builds of the docket.

    Parameters
    ----------
    docket : Docket
        Its mechanism can be predicted.
    session : int
        Index into ``docket.sessions``.
    reduced : Reduced
        That session.

    Attributes
    ----------
    rows : int array
        Rows of the session's readings that count, in the order of every array of readings here.
    """

    def __init__(self, docket: Docket, session: int, reduced: Reduced, knots: int = KNOTS):
        self.docket, self.session, self.knots = by_triples(docket), session, knots
        self.instrument: Path = ("sessions", session, "instrument")
        instrument = docket.sessions[session].instrument
        self.reader = Reader.of(instrument, docket.particulars)
        self.ratio = float(self.reader.ratio)
        self.capsules = [i for i, c in enumerate(self.docket.capsules) if usable((c,))]
        counts = reduced.used() | (reduced.used(pipe_on=True) & bool(self.capsules))
        self.rows = reduced.index[counts]
        self.shown_rpm = reduced.shown.speed_rpm[counts]
        lash, _ = lash_deg(docket.sessions[session], docket.particulars, reduced.direction[counts])
        self.shown_deg = reduced.shown.angle_deg[counts] - lash
        self.u_shown_rpm = reduced.u_speed_rpm[counts] * self.ratio / instrument.scale_taken
        self.u_deg = reduced.u_advance_deg[counts].astype(float)
        self.order = self.rows / max(int(self.rows.max(initial=0)), 1)
        self.direction = np.array([_WAYS.index(d) for d in reduced.direction[counts]], dtype=int)
        self.depression_kpa = reduced.depression_kpa[counts].astype(float)
        self.pipe_on = ~np.isnan(self.depression_kpa)
        if self.pipe_on.any():
            u_depression = reduced.u_depression_kpa[counts][self.pipe_on]
            slope = plate_slope(self.docket.capsules, self.depression_kpa[self.pipe_on])
            self.u_deg[self.pipe_on] = np.hypot(self.u_deg[self.pipe_on], slope * u_depression)
        # With the pipe on the speed stands still and the depression moves.
        branch = np.where(self.pipe_on, 0, self.direction)
        # A reading of unknown direction is tried on both branches; the nearer counts.
        unknown = np.flatnonzero(branch == 2)
        self.tried = np.concatenate([np.arange(len(self.rows)), unknown])
        self.tried_branch = np.concatenate([np.where(branch == 1, 1, 0), np.ones_like(unknown)])

    @property
    def capsules_read(self) -> bool:
        """Whether a capsule that is described was read."""
        return bool(self.capsules) and bool(self.pipe_on.any())

    def builds(self, values: Values) -> Builds:
        """The builds of the mechanism with these values."""
        varied = {p[1:]: v for p, v in values.items() if p[0] == "mechanism"}
        return Builds(self.docket.mechanism, varied)

    def speeds(self, values: Values, knots: int | None = None) -> Speeds:
        """Speeds of balance of the builds."""
        return balance_speeds(self.builds(values), knots or self.knots)

    def curves(self, values: Values, knots: int | None = None) -> Curves:
        """Rising and falling curves of the builds."""
        table = curves(self.speeds(values, knots))
        return table._replace(advance_deg=self.rested_deg(values, table.advance_deg))

    def rested_deg(self, values: Values, advance_deg: Floats) -> Floats:
        """Advance of cams that come back no further than they do."""
        if REST not in values:
            return advance_deg
        return np.maximum(advance_deg, self.value(values, *REST))

    def distances(
        self, values: Values, added_deg: Callable[[Floats], Floats] | None = None,
        table: Curves | None = None,
    ) -> Floats:  # fmt: skip
        """Signed distances of the readings, shape (builds, readings); see
        :func:`core.judgement.fit_distance.signed_distances`.

        Parameters
        ----------
        added_deg : callable, optional
            Further advance in distributor degrees that the readings hold, from their distributor
            speed, shape (builds or 1, readings).
        table : Curves, optional
            Of these values, if they are at hand.
        """
        table = table or self.curves(values)
        x, y, u_x, u_y = self.points(values)
        if added_deg is not None:
            y = y - added_deg(x)
        count = max(len(a) for a in (table.advance_deg, x, y, u_y))
        theta = np.broadcast_to(table.advance_deg, (count, table.advance_deg.shape[1]))
        speed = np.stack([table.rising_rpm, table.falling_rpm], axis=1)
        if FLIPPED in values:
            other = self.value(values, *FLIPPED)[:, :, None] > 0.5
            speed = np.where(other, speed[:, ::-1], speed)
        speed = np.broadcast_to(speed, (count, *speed.shape[1:]))
        which = self.tried
        found = signed_distances(
            theta, speed, self.tried_branch, x[:, which], y[:, which], u_x[:, which],
            u_y[:, which],
        )  # fmt: skip
        if len(which) == len(self.rows):
            return found
        nearer = found[:, : len(self.rows)]
        again = which[len(self.rows) :]
        up, down = nearer[:, again], found[:, len(self.rows) :]
        nearer[:, again] = np.where(np.abs(up) <= np.abs(down), up, down)
        return nearer

    def points(self, values: Values) -> tuple[Floats, Floats, Floats, Floats]:
        """Distributor speed and centrifugal advance that the readings stand for, and the standard
        uncertainty of each, every one of shape (builds or 1, readings)."""
        reader = self.reader_of(values)
        shown_deg, u_shown = self.shown_deg, self.u_deg[None]
        if MAGNIFIED in values:  # what a reading scatters is magnified with it
            times = self.value(values, *MAGNIFIED)
            shown_deg, u_shown = shown_deg / times, u_shown / times
        if DRIFT in values:
            shown_deg = shown_deg - self.value(values, *DRIFT) * self.order
        speed, advance = reader.true(self.shown_rpm, shown_deg)
        if self.pipe_on.any():
            vacuum = np.zeros((len(np.atleast_1d(self._capsule_count(values))), len(self.rows)))
            vacuum[:, self.pipe_on] = self.vacuum_deg(
                values, self.depression_kpa[self.pipe_on], self.direction[self.pipe_on]
            )
            advance = advance - vacuum
        if BACKLASH in values:
            advance = advance - self.value(values, *BACKLASH) * (self.direction == 1)
        u_rpm = self.u_shown_rpm * reader.scale / reader.ratio
        u_deg = u_shown * (self.ratio / np.atleast_2d(reader.ratio))
        return np.asarray(speed), np.asarray(advance), u_rpm, u_deg

    def reader_of(self, values: Values) -> Reader:
        """The instruments with these values."""
        zero = self.value(values, *self.instrument, "static_deg") + self.value(
            values, *self.instrument, "mark_error_deg"
        )
        if ZERO in values:
            zero = zero + self.value(values, *ZERO)
        ratio = self.value(values, *RATIO) if RATIO in values else np.array([[self.ratio]])
        scale, lag = (self.value(values, *self.instrument, k) for k in ("tachometer_scale",
                                                                         "lag_ms"))  # fmt: skip
        return Reader(zero, ratio, scale, lag)

    def noted_deg(self, values: Values, shown_deg: Floats) -> Floats:
        """Angles as the next reading would note them, of what instruments without magnification
        and drift would show."""
        found = shown_deg
        if MAGNIFIED in values:
            found = found * self.value(values, *MAGNIFIED)
        if DRIFT in values:
            found = found + self.value(values, *DRIFT)
        return found

    def vacuum_deg(self, values: Values, depression_kpa: Floats, direction: Indices) -> Floats:
        """Movement of the plate in distributor degrees, shape (builds or 1, depressions).

        Parameters
        ----------
        depression_kpa : array, shape (depressions,) or (builds, depressions)
        direction : int array, shape (depressions,)
            0 rising, 1 falling, 2 unknown: without the plate's friction.
        """
        total: Floats | float = 0.0
        for index in self.capsules:
            capsule = self.docket.capsules[index]
            start, full, degrees, force_n = (
                self.value(values, "capsules", index, key)
                for key in ("start_kpa", "full_kpa", "full_deg", "friction_n")
            )
            area_mm2 = capsule.area_mm2 or 1000.0
            friction_kpa = np.array([1.0, -1.0, 0.0])[direction] * force_n * 1e3 / area_mm2
            width = np.maximum(full - start, 0.5)
            share = np.clip((depression_kpa - friction_kpa - start) / width, 0.0, 1.0)
            lever, offset = capsule.lever_taken_mm, capsule.offset_taken_deg
            travel = share * travel_from_degrees(degrees, lever, offset)
            sign = -1.0 if capsule.acts == "retard" else 1.0
            total = total + sign * degrees_from_travel(travel, lever, offset)
        return np.asarray(total)

    def value(self, values: Values, *path: str | int) -> Floats:
        """A value as an array of shape (builds or 1, 1)."""
        if path in values:
            return np.reshape(values[path], (-1, 1))
        return np.array([[self.usual(path)]])

    def most_deg(self, values: Values) -> Floats:
        """The most that the cam can advance, give of the stop included, shape (builds or 1,)."""
        stop, give = (self.value(values, "mechanism", k) for k in ("stop_deg", "stop_give_deg"))
        return (stop + give)[:, 0]

    def usual(self, path: Path) -> float:
        """The docket's own value at a path."""
        if path == RATIO:
            return self.ratio
        return _USUAL[path] if path in _USUAL else float(taken_at(self.docket, path))

    def _capsule_count(self, values: Values) -> Floats:
        sizes = [np.size(v) for p, v in values.items() if p[0] == "capsules"]
        return np.empty(max(sizes, default=1))
