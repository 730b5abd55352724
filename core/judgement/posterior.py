"""The unit after the readings, as weighted samples of every explanation: its curve, each check
point's chance and the chance of the whole, jointly.

What belongs to a session (mark, tachometer, delay, pipe) is not part of the unit's curve, so a
slipped mark leaves the unit inside.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.docket.target import WAYS
from bobweight.core.frozen import frozen
from bobweight.core.judgement.compare import Bands
from bobweight.core.judgement.diagnosis import Diagnosis
from bobweight.core.judgement.faults import MARK_OFFSET, NOTHING_WRONG
from bobweight.core.judgement.fit import FittedReading
from bobweight.core.judgement.fit_curves import ZERO, Values
from bobweight.core.judgement.fit_distance import FAR_RPM
from bobweight.core.judgement.objective import slip_probability
from bobweight.core.problems import Path
from bobweight.core.record import taken_at

_LEAST_ODDS = 0.002
_BAND_SPEEDS = 91


@frozen(eq=False)
class CurveBand:
    """The unit's rising curve with its 95 % band; distributor figures, each of shape (speeds,)."""

    speed_rpm: Floats
    rising_deg: Floats
    rising_low_deg: Floats
    rising_high_deg: Floats


class Posterior:
    """Samples of a diagnosis.

    Attributes
    ----------
    x, which : array, shape (samples, columns), (samples,)
        Points of the family, and the hypothesis of each.
    weight : array, shape (samples,)
        Sums to 1.
    sound, values : Values
        Of the sound unit, and of the unit as it is; each of shape (samples,).
    """

    def __init__(self, diagnosis: Diagnosis):
        self.diagnosis, self.family = diagnosis, diagnosis.family
        self.simulator = self.family.simulator
        samples, odds = diagnosis.samples, diagnosis.odds
        kept = odds[samples.which] >= _LEAST_ODDS
        self.x, self.which = samples.x[kept], samples.which[kept]
        weight = (odds / np.maximum(np.bincount(self.which, minlength=len(odds)), 1))[self.which]
        self.weight = weight / weight.sum()
        self.sound: Values = self.family.sound_values(self.x, self.which)
        self.values: Values = self.family.values(self.x, self.which, self.sound)

    @cached_property
    def even(self) -> Floats:
        """The weights, had a sound unit been as likely beforehand as a faulty one."""
        hypotheses = self.family.hypotheses
        sound = np.array([
            not h.free_form and all(self.family.faults[i].side == "measurement" for i in h.faults)
            for h in hypotheses
        ])  # fmt: skip
        before = np.array([h.weight for h in hypotheses])
        factor = before[~sound].sum() / before[sound].sum()
        weight = self.weight * np.where(sound[self.which], factor, 1.0)
        return np.asarray(weight / weight.sum())

    @cached_property
    def deviates(self) -> bool:
        """Whether any sample has a free deviation."""
        return bool(self.x[:, self.family.first_node :].any())

    def advance(
        self, values: Values, speed_rpm: Floats, ways: tuple[str, ...], x: Floats | None = None
    ) -> Floats:
        """Advance of units with these values, at points x (all samples by default) over and over,
        shape (units, ways, speeds); never negative."""
        x = self.x if x is None else x
        table = self.simulator.curves(values)
        found = np.stack([table.at(speed_rpm, way) for way in ways], axis=1)
        if self.deviates:
            more = self.family.deviation(x, np.atleast_2d(speed_rpm))
            repeats = len(found) // len(x)
            found = np.maximum(found + np.tile(more, (repeats, 1))[:, None], 0.0)
        return found

    def curve_band(self) -> CurveBand:
        """The unit's rising curve with its 95 % band."""
        table = self.simulator.curves(self.values)
        full = np.minimum(table.rising_rpm[:, -1], 1e4)
        speed = np.linspace(0.0, 1.2 * quantiles(full, self.weight, (0.5,))[0], _BAND_SPEEDS)
        rising = self.advance(self.values, speed, ("rising",))[:, 0]
        low, middle, high = quantiles(rising, self.weight, (0.025, 0.5, 0.975))
        return CurveBand(speed, middle, low, high)

    def noise(self) -> float:
        """The factor on the readings' stated uncertainty."""
        return float(np.exp(self.weight @ np.log(self.family.noise_factor(self.x))))

    def zero_deg(self) -> tuple[float, float]:
        """What the readings show with no advance more than is stated, and its uncertainty."""
        zero = self.zero_shown()
        mean = float(self.weight @ zero)
        return mean, float(np.sqrt(self.weight @ (zero - mean) ** 2))

    def slips(self) -> tuple[FittedReading, ...]:
        """Readings more likely slips than not, whatever the unit may be."""
        distances = self.family.distances(self.x, self.which, self.values)
        distance, chance = self.weight @ distances, self.weight @ slip_probability(distances)
        rows = self.simulator.rows
        found = (FittedReading(int(rows[i]), float(d), float(chance[i]))
                 for i, d in enumerate(distance))  # fmt: skip
        return tuple(r for r in found if r.is_slip)

    def weight_of(self, name: str) -> Floats:
        """Weights of the samples of one explanation, summing to 1."""
        family, slipped = self.family, self.family.zero_slipped(self.x)
        base, off = split_name(name)
        mine = np.array([h.name == base for h in family.hypotheses])[self.which]
        weight = self.weight * mine * (slipped if off else 1.0 - slipped)
        if weight.sum() <= 0:
            weight = mine * 1.0
        if weight.sum() <= 0:  # less probable than is drawn at all
            weight = self.weight
        return np.asarray(weight / weight.sum())

    def evenly(self, count: int) -> Indices:
        """Rows of so many samples, each as probable as the next."""
        upto = np.cumsum(self.weight)
        places = (np.arange(count) + 0.5) / count * upto[-1]
        return np.asarray(np.minimum(np.searchsorted(upto, places), len(upto) - 1))

    def leading(self) -> Values:
        """Values of the leading explanation, each of shape (1,)."""
        diagnosis = self.diagnosis
        return self.family.values(diagnosis.x[:1], diagnosis.hypothesis[:1])

    def zero(self) -> Floats:
        """What static and mark add to the readings of each sample, beyond what is stated."""
        return self.values[ZERO]

    def zero_shown(self) -> Floats:
        """What the readings show with no advance beyond what is stated, of each sample: readings
        taken at another shaft than is said know nothing of the static that is said."""
        instrument = self.simulator.instrument
        found = self.zero()
        for key in ("static_deg", "mark_error_deg"):
            path: Path = (*instrument, key)
            if path in self.values:
                found = found + self.values[path] - float(taken_at(self.family.docket, path))
        return found


class TargetBands:
    """The bands that a unit is judged by, and how samples fare against them.

    Parameters
    ----------
    ways : tuple of str
        The branches that the table speaks of.
    vacuum : bool
        Whether the capsule was read, so that its points are judged.
    """

    def __init__(self, asked: Bands, ways: tuple[str, ...], vacuum: bool):
        self.asked, self.ways = asked, ways
        kind = np.array(asked.kind, dtype=object)
        self.curve = np.isin(kind, ("check", "start"))
        self.ceiling = kind == "ceiling"
        self.capsule = (kind == "vacuum") & vacuum
        self.judged = self.curve | self.ceiling | self.capsule
        self.low = np.where(np.isfinite(asked.low_deg), asked.low_deg, -1e9)
        self.high = np.where(np.isfinite(asked.high_deg), asked.high_deg, 1e9)

    @property
    def slots(self) -> int:
        """Branches that are looked at: those of the table, and both of a capsule."""
        return max(len(self.ways), 2 if self.capsule.any() else 1)

    def ways_of(self, point: int) -> tuple[str, ...]:
        """The branches that a point is looked at on."""
        return WAYS if self.capsule[point] else self.ways

    @property
    def count(self) -> int:
        """Points judged."""
        return int(self.judged.sum())

    def advance(self, posterior: Posterior, values: Values, x: Floats | None = None) -> Floats:
        """Advance (movement of the plate) at every point, shape (units, slots, points); see
        :meth:`Posterior.advance`."""
        x = posterior.x if x is None else x
        repeats = max(np.size(v) for v in values.values())
        found = np.full((repeats, self.slots, len(self.judged)), np.nan)
        speed = self.asked.where[self.curve]
        if len(speed):
            found[:, :, self.curve] = posterior.advance(values, speed, self.ways, x)
        if self.ceiling.any():
            stop = posterior.simulator.most_deg(values)
            fast = np.array([[FAR_RPM]])
            if posterior.deviates:
                more = posterior.family.deviation(x, fast)[:, 0]
                stop = stop + np.tile(more, max(repeats // len(x), 1))
            found[:, :, self.ceiling] = stop[:, None, None]
        if self.capsule.any():
            kpa = self.asked.where[self.capsule]
            for way in range(self.slots):
                moved = posterior.simulator.vacuum_deg(values, kpa, np.full(len(kpa), way))
                found[:, way, self.capsule] = moved
        return found

    def margin(self, advance: Floats) -> Floats:
        """Least distance to a limit at each judged point, shape (samples, points)."""
        a = advance[:, :, self.judged]
        inside = np.minimum(a - self.low[self.judged], self.high[self.judged] - a)
        return np.asarray(inside.min(axis=1))


def split_name(name: str) -> tuple[str, bool]:
    """A hypothesis' name, and whether the mark has slipped besides."""
    if name == MARK_OFFSET:
        return NOTHING_WRONG, True
    return name.removesuffix(f"+{MARK_OFFSET}"), name.endswith(f"+{MARK_OFFSET}")


def quantiles(values: Floats, weight: Floats, at: tuple[float, ...]) -> Floats:
    """Quantiles of weighted samples along the first axis, shape (quantiles, ...)."""
    order = np.argsort(values, axis=0)
    ordered = np.take_along_axis(values, order, axis=0)
    upto = np.cumsum(weight[order], axis=0)
    place = [np.argmax(upto >= q * upto[-1], axis=0) for q in at]
    return np.stack([np.take_along_axis(ordered, p[None], axis=0)[0] for p in place])
