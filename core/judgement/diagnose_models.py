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
from bobweight.core.judgement.assume import SPREAD_SHARE
from bobweight.core.judgement.beside import Beside
from bobweight.core.judgement.compare import Bands, bands
from bobweight.core.judgement.faults import LEAST_SHARE, NOTHING_WRONG, faults_of, weight_of_nothing
from bobweight.core.judgement.fit_curves import ZERO, Simulator, Values
from bobweight.core.judgement.fit_values import FreeValue, ValueTable, session_values
from bobweight.core.judgement.hypotheses import Hypothesis, hypotheses_of
from bobweight.core.judgement.objective import mixture_root, mixture_share, robust
from bobweight.core.judgement.reduce import Reduced
from bobweight.core.judgement.sound import sound_unit
from bobweight.core.judgement.told import Parts, Told
from bobweight.core.mechanics.branches import Curves
from bobweight.core.mechanics.capsule import full_travel_kpa, plate_advance_deg
from bobweight.core.problems import Path, required
from bobweight.core.record import standard_uncertainty
from bobweight.core.statistics.least_squares import difference_jacobian

_BOTH_WAYS = (0, 1)
_OVER_DEG = 0.004  # distributor degrees outside at which a sound unit has become improbable
_LEAST_HALF_DEG = 0.5  # half-width of a row of a table (common practice)
_EDGE_DEG = 0.1  # the same, where samples begin: they are carried to the sharp edge
_FAULT_FELT = 0.8  # how much less probable a fault is that leaves the unit inside its table
KNOTS = 28
"""Knots of a curve while explanations are weighed."""
NONE_U_DEG = 2.5
NOISE_SPREAD = 0.3
"""Standard deviation of the logarithm of the factor on the readings' stated uncertainty."""
MARK_SLIPPED = (0.08, 0.02)
"""Chance that the mark has slipped: nobody proved it, and proved (its uncertainty is stated)."""
MARK_SPREAD_DEG = 5.0
"""How far a slipped mark is off, degrees of the shaft that is read (common practice)."""
_LEAST_NOISE, _MOST_NOISE = -4.0, 6.0
_NOISE_FLOOR = 6.0  # standard deviations below which the factor is never looked for
_NONE_NODES = 10
_LEAST_DIRECTION = 0.08
_LEAST_ELSEWHERE = 1.0  # the same, away from the mode
_MOST_DIRECTIONS = 14
_DRAWN_PLACES, _SEED = 4, 3
_STEEPEST = 50.0  # slope beyond which a curve jumps
_CURVE_U_DEG = 0.3  # a direction counts if it moves the unit's curve by a tenth of this
_CURVE_PLACES, _PLATE_PLACES = 8, 16
_PIPE_RAMP_RPM = 150.0
_USUAL_PLATE_DEG, _PLATE_SPREAD = 7.0, 0.35
_LEAST_KEPT = 0.003
_DRAWN = 1000  # amounts beforehand, of which a few are taken
MOST_Z = 3.5


class Family:
    """Every explanation of one session's readings.

    Attributes
    ----------
    docket : Docket
        With its blanks filled in.
    free : bool array, shape (hypotheses, columns)
        Which columns each may move.
    directions, kept : int
        Columns of the sound unit, and how many of them, the first, are of one that keeps its table.
    low, high : array, shape (columns,)
        Bounds of a point.
    judging : float
        How many readings are left to judge the noise by.
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
        self._take_table(docket)
        self._take_zero()
        self._take_basis()
        self.zero = self.directions
        self.noise = self.zero + 1
        self.first_fault = self.noise + 1
        self.plate = self.first_fault + len(self.faults)
        self.first_node = self.plate + 1
        self.columns = self.first_node + _NONE_NODES
        self.nodes = self._nodes()
        self.hypotheses = tuple(self._as_told(h) for h in self._with_twins(hypotheses_of(
            self.faults, weight_of_nothing(self.docket, self.session), self.unit.other_table
        )))  # fmt: skip
        self.as_found = AsFound(
            self.sound, self.faults, self.centre[0], self._root,
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
        q, table = x[:, : self.directions], self.of_table[which]
        z: Floats = q @ self.basis[0].T + self.centre[0]
        rows = np.flatnonzero(table == 1)
        if len(rows):
            z[rows] = q[rows] @ self.basis[1].T + self.centre[1]
        rows = np.flatnonzero(self.as_found.is_one[which])
        if len(rows):
            z[rows] += self.as_found.turned(which[rows], self._moved(x[rows], which[rows]))
        return z

    def values(self, x: Floats, which: Indices, sound: Values | None = None) -> Values:
        """Values of the docket at points x under hypotheses ``which``, shape (batch,)."""
        before = self.sound_values(x, which) if sound is None else sound
        found = dict(before)
        found[ZERO] = self.u_zero * x[:, self.zero]
        signs = self.sign[which]
        for j in np.flatnonzero(signs.any(axis=0)):
            fault, sign = self.faults[j], signs[:, j]
            amount = sign * fault.amount(x[:, self.first_fault + j])
            for effect in fault.effects:
                value = self._value(found, effect.path, len(x))
                if effect.how == "swap":
                    other = self._value(before, effect.other, len(x))
                    found[effect.path] = np.where(sign != 0, other, value)
                elif effect.how == "set":
                    found[effect.path] = np.where(sign != 0, effect.sign, value)
                else:
                    found[effect.path] = _changed(value, effect.how, effect.sign * amount)
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
        """Distributor degrees of the free deviation at distributor speeds, shape (batch, places):
        straight between its nodes, level beyond them."""
        free_form = x[:, self.first_node :]
        found = np.zeros((len(x), speed_rpm.shape[1]))
        rows = np.flatnonzero(free_form.any(axis=1))
        if len(rows):
            places, root = self.nodes
            heights = NONE_U_DEG * free_form[rows] @ root.T
            speed = np.broadcast_to(speed_rpm, found.shape)[rows]
            at = (speed - places[0]) / (places[1] - places[0])
            at = np.clip(at, 0.0, len(places) - 1.0)
            low = np.minimum(at.astype(int), len(places) - 2)
            before, after = (np.take_along_axis(heights, low + i, axis=1) for i in (0, 1))
            found[rows] = before + (at - low) * (after - before)
        return found

    def residuals(self, x: Floats, which: Indices, d: Floats | None = None) -> Floats:
        """Robust residuals of the readings, what their noise costs, what it costs that figures are
        of parts as found, then the columns themselves; ``d`` are the distances, if at hand."""
        d = self.distances(x, which) if d is None else d
        as_found = self.as_found.squares(which, self._moved(x, which))
        return np.concatenate([self._of_readings(x, d), as_found, self._own(x)], axis=1)

    def _of_readings(self, x: Floats, d: Floats) -> Floats:
        per_reading = NOISE_SPREAD * (x[:, self.noise] + _NOISE_FLOOR)
        noise = np.sqrt(2.0 * self.judging * np.maximum(per_reading, 1e-9))
        return np.concatenate([robust(d), noise[:, None]], axis=1)

    @property
    def log_noise_free(self) -> float:
        """What :meth:`residuals` takes off the logarithm of every density, so that readings may be
        as sure as they like."""
        return self.judging * NOISE_SPREAD * _NOISE_FLOOR

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
        over = self._over_deg(sound, table) / _EDGE_DEG
        figures = self._sound_residuals(z, table)
        figures[:, -z.shape[1] :] += self.figures_moved(x, which)
        d = self.distances(x, which, self.values(x, which, sound))
        own = self._own(x)[:, self.kept :]
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
        found -= (d.shape[1] - self.judging) * NOISE_SPREAD * x[:, self.noise]
        wall = np.zeros(len(x))
        faulty, kept = self.of_unit[which], self.of_table[which] == 0
        for rows in (np.flatnonzero(~faulty & kept), np.flatnonzero(faulty)):
            if not len(rows):
                continue
            before: Values = {p: v[rows] for p, v in sound.items()}
            now = _part(table, rows)
            if faulty[rows[0]]:
                left = self._outside({p: v[rows] for p, v in values.items()}, now)
                found[rows] += np.log1p(-_FAULT_FELT * np.exp(-0.5 * left))
                now = self.simulator.curves(before)
            wall[rows] = 0.5 * self._outside(before, now)
            if self.unit.rows is not None:
                own = len(self.unit.z)
                found[rows] += self.unit.log_density(z[rows, :own], now)
                found[rows] -= 0.5 * np.sum(z[rows, own:] ** 2, axis=1)
                found[rows] += 0.5 * np.sum(x[rows, : self.kept] ** 2, axis=1)
            if len(self.pumped.where):
                found[rows] += self._log_capsule(before)
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

    def _moved(self, x: Floats, which: Indices) -> Floats:
        return self.as_found.moved(x[:, self.first_fault : self.plate], which)

    def figures_moved(self, x: Floats, which: Indices) -> Floats:
        """By how many uncertainties faults have moved the figures that are of parts as found,
        shape (batch, values); 0 for all others."""
        return self.as_found.scattered(which, self._moved(x, which), len(self.sound))

    def _before(self, h: int, q: Floats) -> Floats:
        """Points beforehand under one hypothesis, from points that are standard normal."""
        if not self.as_found.is_one[h]:
            return q
        rng, drawn = np.random.default_rng(h), np.zeros((_DRAWN, self.columns))
        columns = [self.first_fault + i for i in self.hypotheses[h].faults]
        drawn[:, columns] = rng.normal(size=(_DRAWN, len(columns)))
        which = np.full(_DRAWN, h)
        moved = self._moved(drawn, which)
        log_weight = self.as_found.log_weight(h, moved)
        weight = np.exp(log_weight - log_weight.max())
        chosen = rng.choice(_DRAWN, len(q), p=weight / weight.sum())
        found = q.copy()
        found[:, columns] = drawn[chosen][:, columns]
        return found

    def felt(self, hypotheses: Indices, q: Floats) -> Floats:
        """What the table adds beforehand to each hypothesis: the share of sound units that it
        keeps, for a fault times how mostly it is felt.

        Parameters
        ----------
        q : array, shape (units, columns)
            Points beforehand.
        """
        nothing = np.zeros(len(q), int)
        sound = self.sound_values(q, nothing)
        kept = np.exp(-0.5 * self._outside(sound, self.simulator.curves(sound)))
        share = max(float(kept.mean()), _LEAST_KEPT)
        likely = np.flatnonzero(kept > _LEAST_KEPT)
        found = np.full(len(hypotheses), share)
        found[self.of_table[hypotheses] == 1] = 1.0
        twin = self.as_found.is_one[hypotheses]
        acting = np.flatnonzero(self.of_unit[hypotheses] & ~twin)
        if len(likely) and len(acting):
            which = np.repeat(hypotheses[acting], len(likely))
            values = self.values(np.tile(q[likely], (len(acting), 1)), which)
            left = np.exp(-0.5 * self._outside(values, self.simulator.curves(values)))
            felt = 1.0 - _FAULT_FELT * left.reshape(len(acting), -1)
            found[acting] *= felt @ kept[likely] / kept[likely].sum()
        for i in np.flatnonzero(twin):  # whose sound unit is another
            h = hypotheses[i : i + 1]
            x, which = self._before(int(h[0]), q), np.repeat(h, len(q))
            sound = self.sound_values(x, which)
            values = self.values(x, which, sound)
            keeps, left = (
                np.exp(-0.5 * self._outside(v, self.simulator.curves(v))) for v in (sound, values)
            )
            found[i] = max(float(np.mean(keeps * (1.0 - _FAULT_FELT * left))), _LEAST_KEPT)
        return found

    def _outside(self, values: Values, table: Curves) -> Floats:
        """How far each lies outside its table, squared, in what makes it improbable."""
        return np.asarray(np.sum((self._over_deg(values, table) / _OVER_DEG) ** 2, axis=1))

    def _over_deg(self, values: Values, table: Curves) -> Floats:
        """How far each lies outside its table at every limit, shape (batch, limits)."""
        found = [np.zeros((len(table.advance_deg), 1))]
        asked = self.asked
        if len(asked.where):
            for way in self.ways:
                found.append(_over(table.at(asked.where, way), asked))
        if np.isfinite(self.ceiling):
            found.append(np.maximum(self.simulator.most_deg(values) - self.ceiling, 0.0)[:, None])
        asked = self.pumped
        if len(asked.where):
            for sense in _BOTH_WAYS:
                same = np.full(len(asked.where), sense)
                moved = self.simulator.vacuum_deg(values, asked.where, same)
                found.append(np.broadcast_to(_over(moved, asked), (len(found[0]), len(same))))
        return np.concatenate(found, axis=1)

    def _log_capsule(self, values: Values) -> Floats:
        """Logarithm of what the table's vacuum points say of a sound capsule: about the middle, as
        :mod:`core.judgement.sound` has it of the curve."""
        asked = self.pumped
        both = np.isfinite(asked.low_deg) & np.isfinite(asked.high_deg)
        low, high = asked.low_deg[both], asked.high_deg[both]
        moved = np.mean([
            self.simulator.vacuum_deg(values, asked.where[both], np.full(int(both.sum()), way))
            for way in _BOTH_WAYS
        ], axis=0)  # fmt: skip
        spread = SPREAD_SHARE * 0.5 * np.maximum(high - low, 0.1)
        found: Floats = -0.5 * np.sum(((moved - 0.5 * (low + high)) / spread) ** 2, axis=1)
        return found

    def zero_slipped(self, x: Floats) -> Floats:
        """Probability at points x that the zero is a slipped mark's."""
        return mixture_share(x[:, self.zero], *self.zero_mixture)

    def _plate_deg(self, x: Floats) -> Floats:
        full = full_travel_kpa(self.docket.capsules)
        if full is None:
            return _USUAL_PLATE_DEG * np.exp(_PLATE_SPREAD * x[:, self.plate, None])
        return np.array([[float(plate_advance_deg(self.docket.capsules, full))]])

    # The family ---------------------------------------------------------------------------------

    def _take_table(self, docket: Docket) -> None:
        asked = bands(docket, 0.0)
        kind = np.array(asked.kind, dtype=object)
        read_as = docket.target.read_as
        self.ways = ("rising", "falling") if read_as == "either" else (read_as,)
        ceiling = asked.high_deg[kind == "ceiling"]
        self.ceiling = float(ceiling[0]) if len(ceiling) else np.inf
        curve = np.isin(kind, ("check", "start"))
        pumped = kind == ("vacuum" if self.simulator.capsules_read else "none")
        # A sound unit keeps no table closer than is usual, however narrow its rows are typed.
        room = np.maximum(_LEAST_HALF_DEG - 0.5 * (asked.high_deg - asked.low_deg), 0.0)
        self.asked, self.pumped = (
            Bands((), (), asked.where[k], (asked.low_deg - room)[k], (asked.high_deg + room)[k])
            for k in (curve, pumped)
        )

    def _take_zero(self) -> None:
        instrument = self.docket.sessions[self.session].instrument
        u = [standard_uncertainty(instrument, k) or 0.0 for k in ("static_deg", "mark_error_deg")]
        self.u_zero = math.hypot(*u)
        share = MARK_SLIPPED["mark_error_deg" in instrument.u]
        self.zero_mixture = (share, max(MARK_SPREAD_DEG / self.u_zero, 2.0))

    def _with_twins(self, found: list[Hypothesis]) -> list[Hypothesis]:
        """Each explanation that alters a stated figure twice: with that figure of a sound part, and
        of the part as it was found."""
        known = not self.unit.assumed.nothing_known
        share = AS_FOUND[self.docket.mechanism.measured_off] if known else 0.0
        twice = [h for h in found if share and self._altered(h)]
        alone = [h for h in found if h not in twice]
        for flag, part in ((False, 1.0 - share), (True, share)):
            alone += [replace(h, weight=part * h.weight, as_found=flag) for h in twice]
        return alone

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

    def _nodes(self) -> tuple[Floats, Floats]:
        """Speeds of the free deviation's nodes, and the root of its covariance between them."""
        s = self.simulator
        speed = s.shown_rpm[~s.pipe_on] / s.ratio
        places = np.linspace(speed.min() - 1.0, speed.max() + 1.0, _NONE_NODES)
        apart = (places[:, None] - places) / (1.5 * (places[1] - places[0]))
        return places, np.linalg.cholesky(np.exp(-0.5 * apart**2) + 1e-6 * np.eye(_NONE_NODES))

    def _take_basis(self) -> None:
        """Directions z = centre + basis · q in which a sound unit and its instruments differ, as
        far as readings or curve can show; q is standard normal. One set for the unit by figures
        and table, one by its figures alone."""
        own, count = len(self.unit.z), len(self.sound)
        root = np.eye(count)
        root[:own, :own] = self.unit.root
        centre = np.zeros(count)
        centre[:own] = self.unit.z
        sets, self._root = [(centre, root)], root
        if self.unit.other_table > 0:
            centre, root = np.zeros(count), np.eye(count)
            centre[:own], root[:own, :own] = self.unit.figures
            sets.append((centre, root))
        found = [self._directions(*each) for each in sets]
        self.kept = found[0].shape[1]
        self.directions = max(b.shape[1] for b in found)
        self.centre = [c for c, _ in sets]
        self.basis = [np.pad(b, ((0, 0), (0, self.directions - b.shape[1]))) for b in found]
        if len(sets) == 1:
            self.centre.append(centre)
            self.basis.append(self.basis[0])

    def _directions(self, centre: Floats, root: Floats) -> Floats:
        low, high = np.array([f.bounds for f in self.sound]).T
        rows = len(self.simulator.rows)

        def told(z: Floats, member: Indices) -> Floats:
            values = self.table.at(z)
            return np.concatenate([self.simulator.distances(values), self._curve(values)], axis=1)

        # About the centre and at places drawn: what nothing feels at one it may feel at another, as
        # what moves the start of a curve that is flat there.
        drawn = np.random.default_rng(_SEED).normal(size=(_DRAWN_PLACES, root.shape[1])) @ root.T
        at = np.clip(centre + np.concatenate([np.zeros((1, len(centre))), drawn]), low, high)
        slopes = difference_jacobian(
            told, at, told(at, np.arange(len(at))), np.broadcast_to(low, at.shape),
            np.broadcast_to(high, at.shape), np.ones(at.shape, bool), np.full(len(centre), 300.0),
            np.arange(len(at)), central=True,
        )  # fmt: skip
        slopes[:, rows:] /= _CURVE_U_DEG
        told_apart = np.linalg.svd(slopes[0, :rows] @ root, compute_uv=False) ** 2
        # Readings that are used up in placing the curve, and the zero, say nothing of the noise.
        self.judging = max(rows - 1.0 - float(np.sum(told_apart / (1 + told_apart))), 0.3 * rows)
        _, singular, right = np.linalg.svd(slopes[0] @ root, full_matrices=False)
        kept = right[:_MOST_DIRECTIONS][(singular > _LEAST_DIRECTION)[:_MOST_DIRECTIONS]]
        elsewhere = np.clip(slopes[1:], -_STEEPEST, _STEEPEST).reshape(-1, len(centre)) @ root
        elsewhere -= elsewhere @ kept.T @ kept
        _, singular, right = np.linalg.svd(elsewhere / _DRAWN_PLACES**0.5, full_matrices=False)
        more = right[singular > _LEAST_ELSEWHERE][: _MOST_DIRECTIONS - len(kept)]
        return np.asarray(root @ np.concatenate([kept, more]).T)

    def _curve(self, values: Values) -> Floats:
        """Advance at a few speeds along both branches, and movement of a plate that was read at a
        few depressions: a table may ask for what no reading was taken of."""
        table = self.simulator.curves(values)
        if not hasattr(self, "_places"):
            start, full = table.rising_rpm[0, 0], min(table.rising_rpm[0, -1], 6000.0)
            self._places = np.linspace(0.9 * start, 1.05 * full, _CURVE_PLACES)
        found = [table.at(self._places, way) for way in ("rising", "falling")]
        full_kpa = full_travel_kpa(self.docket.capsules)
        if self.simulator.capsules_read and full_kpa is not None:
            kpa = np.linspace(0.0, 1.1 * full_kpa, _PLATE_PLACES)
            for way in _BOTH_WAYS:
                moved = self.simulator.vacuum_deg(values, kpa, np.full(_PLATE_PLACES, way))
                found.append(np.broadcast_to(moved, (len(found[0]), _PLATE_PLACES)))
        return np.concatenate(found, axis=1)


def _over(advance: Floats, asked: Bands) -> Floats:
    """How far advance lies outside its bands."""
    over: Floats = np.maximum(np.maximum(asked.low_deg - advance, advance - asked.high_deg), 0.0)
    return over


def _part(table: Curves, rows: Indices) -> Curves:
    """The curves of some builds."""
    return Curves(table.advance_deg[rows], table.rising_rpm[rows], table.falling_rpm[rows])


def _changed(value: Floats, how: str, amount: Floats) -> Floats:
    if how == "add":
        return value + amount
    if how == "share":
        return value * np.maximum(1.0 + amount, LEAST_SHARE)
    return np.where(amount != 0, 0.0, value)
