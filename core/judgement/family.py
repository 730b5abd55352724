"""All explanations as one parametric family, so that they are fitted in step with one another.

A point holds, side by side: where the sound unit and its instruments lie in what figures and table
leave open, in a few whitened directions; the zero of the readings; their noise; one column for each
fault's amount; the movement of a plate that nobody described; and the free deviation of "none of
these". A hypothesis says which columns may move. Every column is standard normal beforehand, but
for the zero, which is a mixture: as sure as stated, or a slipped mark.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.as_found import AS_FOUND, Altered, AsFound, altered
from bobweight.core.judgement.beside import Beside
from bobweight.core.judgement.directions import directions_of
from bobweight.core.judgement.faults import NOTHING_WRONG, faults_of, weight_of_nothing
from bobweight.core.judgement.fit_curves import ZERO, Simulator, Values
from bobweight.core.judgement.fit_values import FreeValue, ValueTable, session_values
from bobweight.core.judgement.free_deviation import NODES, free_deviation
from bobweight.core.judgement.hypotheses import Hypothesis, hypotheses_of, with_twins
from bobweight.core.judgement.objective import mixture_root, mixture_share, robust
from bobweight.core.judgement.reduce import Reduced
from bobweight.core.judgement.sound import sound_unit
from bobweight.core.judgement.table_limits import EDGE_DEG, FAULT_FELT, table_limits
from bobweight.core.judgement.told import Parts, Told
from bobweight.core.mechanics.branches import Curves
from bobweight.core.mechanics.capsule import full_travel_kpa, plate_advance_deg
from bobweight.core.problems import Path, required
from bobweight.core.record import standard_uncertainty

KNOTS = 28
"""Knots of a curve while explanations are weighed."""
NOISE_SPREAD = 0.3
"""Standard deviation of the logarithm of the factor on the readings' stated uncertainty."""
MARK_SLIPPED = (0.08, 0.02)
"""Chance that the mark has slipped: nobody proved it, and proved (its uncertainty is stated)."""
MARK_SPREAD_DEG = 5.0
"""How far a slipped mark is off, degrees of the shaft that is read (common practice)."""
_LEAST_NOISE, _MOST_NOISE = -4.0, 6.0
_NOISE_FLOOR = 6.0  # standard deviations below which the factor is never looked for
_PIPE_RAMP_RPM = 150.0
_USUAL_PLATE_DEG, _PLATE_SPREAD = 7.0, 0.35
MOST_Z = 3.5


class Family:
    """Every explanation of one session's readings.

    Throughout ``x`` are points, shape (batch, columns), and ``which`` the hypothesis of each, shape
    (batch,).

    Attributes
    ----------
    docket : Docket
        With its blanks filled in.
    free : bool array, shape (hypotheses, columns)
        Which columns each may move.
    directions : Directions
        Of the sound unit and its instruments: the first columns of a point.
    limits : TableLimits
        What the table asks.
    low, high : array, shape (columns,)
        Bounds of a point.
    """

    def __init__(self, docket: Docket, session: int, reduced: Reduced, told: Told | None = None):
        self.unit, self.told = sound_unit(docket, told), told
        filled = docket.with_changes(mechanism=self.unit.mechanism)
        self.simulator = Simulator(filled, session, reduced, KNOTS)
        self.docket, self.session = self.simulator.docket, session
        others = session_values(self.docket, session, bool(self.simulator.pipe_on.any()))
        self.sound: tuple[FreeValue, ...] = (*self.unit.free, *others)
        self.table = ValueTable(self.sound)
        self.faults = faults_of(self.docket, session, bool(self.simulator.pipe_on.any()))
        if told is not None:
            self.faults = tuple(
                f.narrowed(*told.amount(f.key)) if f.side == "unit" else f for f in self.faults
            )
        self.pipes = [j for j, fault in enumerate(self.faults) if fault.pipe]
        self.limits = table_limits(docket, self.simulator)
        self._take_zero()
        self.directions = directions_of(self.unit, self.sound, self.simulator)
        self.zero = self.directions.count
        self.noise = self.zero + 1
        self.first_fault = self.noise + 1
        self.plate = self.first_fault + len(self.faults)
        self.first_node = self.plate + 1
        self.columns = self.first_node + NODES
        self.free_deviation = free_deviation(self.simulator)
        known = not self.unit.assumed.nothing_known
        share = AS_FOUND[self.docket.mechanism.measured_off] if known else 0.0
        nothing = weight_of_nothing(self.docket, session)
        plain = hypotheses_of(self.faults, nothing, self.unit.other_table)
        self.hypotheses = tuple(map(self._as_told, with_twins(plain, share, self._altered)))
        self.as_found = AsFound(
            self.sound, self.faults, self.directions.centre[0], self.directions.root,
            [self.altered(h) for h in range(len(self.hypotheses))],
        )  # fmt: skip
        self.free = np.array([self._columns_of(h) for h in self.hypotheses])
        self.sign = np.zeros((len(self.hypotheses), len(self.faults)))
        for row, h in enumerate(self.hypotheses):
            self.sign[row, list(h.faults)] = h.signs
        self.of_table = np.array([h.table for h in self.hypotheses])
        self.of_unit = np.array([
            any(self.faults[i].side == "unit" for i in h.faults) for h in self.hypotheses
        ])  # fmt: skip
        self.low, self.high = np.full(self.columns, -6.0), np.full(self.columns, 6.0)
        self.low[self.first_fault : self.first_node] = -MOST_Z
        self.high[self.first_fault : self.first_node] = MOST_Z
        self.low[self.noise], self.high[self.noise] = _LEAST_NOISE, _MOST_NOISE
        self.low[self.zero], self.high[self.zero] = -40.0 / self.u_zero, 40.0 / self.u_zero

    # Values -------------------------------------------------------------------------------------

    def sound_values(self, x: Floats, which: Indices) -> Values:
        """Values of the sound unit and its instruments at points x under hypotheses ``which``."""
        return self.table.at(self._sound_z(x, which))

    def _sound_z(self, x: Floats, which: Indices) -> Floats:
        z = self.directions.at(x[:, : self.directions.count], self.of_table[which])
        rows = np.flatnonzero(self.as_found.is_one[which])
        if len(rows):
            z[rows] += self.as_found.turned(which[rows], self.moved(x[rows], which[rows]))
        return z

    def values(self, x: Floats, which: Indices, sound: Values | None = None) -> Values:
        """Values of the docket at points x under hypotheses ``which``, shape (batch,)."""
        before = self.sound_values(x, which) if sound is None else sound
        found = dict(before)
        found[ZERO] = self.u_zero * x[:, self.zero]
        signs = self.sign[which]
        for j in np.flatnonzero(signs.any(axis=0)):
            fault = self.faults[j]
            amount = signs[:, j] * fault.amount(x[:, self.first_fault + j])
            for effect in fault.effects:
                other = self._value(before, effect.other, len(x)) if effect.other else None
                value = self._value(found, effect.path, len(x))
                found[effect.path] = effect.on(value, amount, other)
        return found

    def _value(self, values: Values, path: Path, count: int) -> Floats:
        if path in values:
            return values[path]
        usual = self.simulator.usual(path)
        return np.full(count, usual)

    # Readings -----------------------------------------------------------------------------------

    def distances(
        self, x: Floats, which: Indices, values: Values | None = None, table: Curves | None = None
    ) -> Floats:
        """Signed distances of the readings in what they scatter, shape (batch, readings)."""
        values = self.values(x, which) if values is None else values
        found = self.simulator.distances(values, lambda speed: self.added(x, which, speed), table)
        return found / self.noise_factor(x)[:, None]

    def beside(self, x: Floats, which: Indices) -> Callable[[Floats, Indices], Floats]:
        """Distances as :meth:`distances` of points that lie right beside points x under their
        hypotheses, each named by the row of x."""

        def added(points: Floats, of: Indices) -> Callable[[Floats], Floats]:
            return lambda speed: self.added(points, of, speed)

        near = Beside(self.simulator, self.values(x, which), added(x, which))

        def distances(points: Floats, rows: Indices) -> Floats:
            of = which[rows]
            found = near.distances(self.values(points, of), rows, added(points, of))
            return np.asarray(found / self.noise_factor(points)[:, None])

        return distances

    def residuals_beside(self, x: Floats, which: Indices) -> Callable[[Floats, Indices], Floats]:
        """Residuals as :meth:`residuals`, otherwise as :meth:`beside`."""
        near = self.beside(x, which)
        return lambda points, rows: self.residuals(points, which[rows], near(points, rows))

    def noise_factor(self, x: Floats) -> Floats:
        """By how much readings scatter more than stated, shape (batch,)."""
        return np.exp(NOISE_SPREAD * x[:, self.noise])

    def added(self, x: Floats, which: Indices, speed_rpm: Floats) -> Floats:
        """Distributor degrees that a forgotten pipe or the free deviation adds to the readings, at
        distributor speeds of shape (batch or 1, places)."""
        total = self.deviation(x, speed_rpm)
        off = ~self.simulator.pipe_on if speed_rpm.shape[1] == len(self.simulator.rows) else True
        for j in self.pipes:
            fault, on = self.faults[j], self.sign[which, j] != 0
            if on.any():
                begins = fault.amount(x[:, self.first_fault + j])[:, None]
                share = np.clip((speed_rpm - begins) / _PIPE_RAMP_RPM + 0.5, 0.0, 1.0)
                total = total + np.where(on[:, None] & off, share * self._plate_deg(x), 0.0)
        return total

    def deviation(self, x: Floats, speed_rpm: Floats) -> Floats:
        """Distributor degrees of the free deviation at distributor speeds, (batch, places)."""
        return self.free_deviation.deg(x[:, self.first_node :], speed_rpm)

    def residuals(self, x: Floats, which: Indices, d: Floats | None = None) -> Floats:
        """Robust residuals of the readings, what their noise costs, what it costs that figures are
        of parts as found, then the columns themselves; ``d`` are the distances, if at hand."""
        d = self.distances(x, which) if d is None else d
        as_found = self.as_found.squares(which, self.moved(x, which))
        return np.concatenate([self._of_readings(x, d), as_found, self._own(x)], axis=1)

    def _of_readings(self, x: Floats, d: Floats) -> Floats:
        per_reading = NOISE_SPREAD * (x[:, self.noise] + _NOISE_FLOOR)
        noise = np.sqrt(2.0 * self.directions.judging * np.maximum(per_reading, 1e-9))
        return np.concatenate([robust(d), noise[:, None]], axis=1)

    @property
    def log_noise_free(self) -> float:
        """What :meth:`residuals` takes off the logarithm of every density, so that readings may be
        as sure as they like."""
        return self.directions.judging * NOISE_SPREAD * _NOISE_FLOOR

    def _own(self, x: Floats) -> Floats:
        """The columns as residuals."""
        own = x.copy()
        own[:, self.zero] = mixture_root(x[:, self.zero], *self.zero_mixture)
        return own

    def joint_residuals(self, x: Floats, which: Indices) -> Floats:
        """As :meth:`residuals`, but with what figures and table say of the sound unit itself, its
        limits too, for what they come to in a straight line about its mode; of hypotheses that
        keep the table."""
        z = self._sound_z(x, which)
        sound = self.table.at(z)
        table = self.simulator.curves(sound)
        over = self.limits.over_deg(sound, table) / EDGE_DEG
        figures = self._sound_residuals(z, table)
        figures[:, -z.shape[1] :] += self.figures_moved(x, which)
        d = self.distances(x, which, self.values(x, which, sound))
        own = self._own(x)[:, self.directions.kept :]
        return np.concatenate([self._of_readings(x, d), over, figures, own], axis=1)

    def sound_residuals(self, x: Floats, which: Indices) -> Floats:
        """What figures and table say of the sound unit at points x, as residuals; its limits not
        among them. There must be a table."""
        z = self._sound_z(x, which)
        return self._sound_residuals(z, self.simulator.curves(self.table.at(z)))

    def _sound_residuals(self, z: Floats, now: Curves) -> Floats:
        rows = required(self.unit.rows)
        return np.concatenate([rows.residuals(z[:, : len(self.unit.z)], now), z], axis=1)

    def log_density(self, x: Floats, which: Indices) -> tuple[Floats, Floats]:
        """Logarithm of what figures, table and readings say of points, and what the limits of the
        table take off it where the sound unit lies outside; each of shape (batch,)."""
        z = self._sound_z(x, which)
        sound = self.table.at(z)
        values = self.values(x, which, sound)
        table = self.simulator.curves(values)
        d = self.distances(x, which, values, table)
        found: Floats = -0.5 * np.sum(self._of_readings(x, d) ** 2, axis=1)
        found -= 0.5 * np.sum(self._own(x) ** 2, axis=1)
        found += self.as_found.log_density(z, self.figures_moved(x, which))
        found -= (d.shape[1] - self.directions.judging) * NOISE_SPREAD * x[:, self.noise]
        wall = np.zeros(len(x))
        faulty, kept = self.of_unit[which], self.of_table[which] == 0
        for rows in (np.flatnonzero(~faulty & kept), np.flatnonzero(faulty)):
            if not len(rows):
                continue
            before: Values = {p: v[rows] for p, v in sound.items()}
            now = _part(table, rows)
            if faulty[rows[0]]:
                left = self.limits.keeping({p: v[rows] for p, v in values.items()}, now)
                found[rows] += np.log1p(-FAULT_FELT * left)
                now = self.simulator.curves(before)
            wall[rows] = 0.5 * self.limits.outside(before, now)
            if self.unit.rows is not None:
                own = len(self.unit.z)
                found[rows] += self.unit.log_density(z[rows, :own], now)
                found[rows] -= 0.5 * np.sum(z[rows, own:] ** 2, axis=1)
                found[rows] += 0.5 * np.sum(x[rows, : self.directions.kept] ** 2, axis=1)
            if len(self.limits.pumped.where):
                found[rows] += self.limits.log_capsule(before)
        return found, wall

    def as_found_information(self, x: Floats, which: Indices) -> Floats:
        """What it adds to the inverse covariance of points that figures are of parts as found."""
        found = np.zeros((len(x), self.columns, self.columns))
        rows = np.flatnonzero(self.as_found.is_one[which])
        if not len(rows):
            return found
        amounts = slice(self.first_fault, self.plate)
        found[rows, amounts, amounts] += self.as_found.information(x[rows, amounts], which[rows])
        return found

    def moved(self, x: Floats, which: Indices) -> Floats:
        """By how many uncertainties faults have moved the figures that are of parts as found, as
        :meth:`AsFound.moved` has them."""
        return self.as_found.moved(x[:, self.first_fault : self.plate], which)

    def figures_moved(self, x: Floats, which: Indices) -> Floats:
        """:meth:`moved` by value, shape (batch, values); 0 for all others."""
        return self.as_found.scattered(which, self.moved(x, which), len(self.sound))

    def zero_slipped(self, x: Floats) -> Floats:
        """Probability at points x that the zero is a slipped mark's."""
        return mixture_share(x[:, self.zero], *self.zero_mixture)

    def _plate_deg(self, x: Floats) -> Floats:
        full = full_travel_kpa(self.docket.capsules)
        if full is None:
            return _USUAL_PLATE_DEG * np.exp(_PLATE_SPREAD * x[:, self.plate, None])
        return np.array([[float(plate_advance_deg(self.docket.capsules, full))]])

    # The family ---------------------------------------------------------------------------------

    def _take_zero(self) -> None:
        instrument = self.docket.sessions[self.session].instrument
        u = [standard_uncertainty(instrument, k) or 0.0 for k in ("static_deg", "mark_error_deg")]
        self.u_zero = math.hypot(*u)
        share = MARK_SLIPPED["mark_error_deg" in instrument.u]
        self.zero_mixture = (share, max(MARK_SPREAD_DEG / self.u_zero, 2.0))

    def _altered(self, h: Hypothesis) -> tuple[Altered, ...]:
        if h.table or self.unit.rows is None:
            return ()
        return altered(self.faults, h.faults, h.signs, self.unit.free)

    def altered(self, h: int) -> tuple[Altered, ...]:
        """The figures that are of parts as found, under a hypothesis."""
        return self._altered(self.hypotheses[h]) if self.hypotheses[h].as_found else ()

    def parts(self, h: Hypothesis) -> Parts:
        """What a hypothesis says is wrong, by key and sign."""
        if not h.faults:
            return frozenset() if h.name == NOTHING_WRONG else frozenset({(h.name, 1.0)})
        return frozenset((self.faults[i].key, s) for i, s in zip(h.faults, h.signs, strict=True))

    def _as_told(self, h: Hypothesis) -> Hypothesis:
        return h if self.told is None else replace(h, told=self.told.log_evidence(self.parts(h)))

    def _columns_of(self, h: Hypothesis) -> Floats:
        free = np.zeros(self.columns, bool)
        free[: self.first_fault] = True
        for i in h.faults:
            free[self.first_fault + i] = self.faults[i].usual > 0
            free[self.plate] |= self.faults[i].pipe and not self.simulator.capsules
        free[self.first_node :] = h.free_form
        return free


def _part(table: Curves, rows: Indices) -> Curves:
    """The curves of some builds."""
    return Curves(table.advance_deg[rows], table.rising_rpm[rows], table.falling_rpm[rows])
