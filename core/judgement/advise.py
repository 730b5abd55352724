"""Where to take the next reading, and what else would help: first what can change whether the unit
is called inside or outside, then what tells the leading explanations apart."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.docket.target import WAYS
from bobweight.core.frozen import frozen
from bobweight.core.judgement.fit_curves import Values
from bobweight.core.judgement.loss import MEASUREMENT, READING, expected_fall
from bobweight.core.judgement.posterior import Posterior
from bobweight.core.judgement.reduce import lash_deg
from bobweight.core.problems import Path

MOST_EXPLANATIONS = 6
LEAST_PROBABILITY = 0.01
WORTH_CHANGE = 0.05
"""Where the unit is to be altered, another reading is worth taking while its chance to change the
leading explanation exceeds this."""
PROVED_DEG, PROVED_SHARE = 0.25, 0.01
"""How well a mark is proved with a stop, and a tachometer checked (common practice)."""
MEASURED = {"rate_n_per_mm": (0.03, 0.0), "mass_g": (0.0, 0.5), "cg_mm": (0.0, 0.4),
            "stop_deg": (0.0, 0.2), "slack_mm": (0.0, 0.1),
            "free_length_mm": (0.0, 0.1)}  # fmt: skip
"""To what share of itself and what standard uncertainty more a part is measured with care."""
_UNITS = 128
_SEED = 11
_SPEEDS = 32
_OUTCOMES = 121
_DEPRESSIONS_KPA = (5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 55.0)


@frozen
class PossibleReading:
    """One reading that may be taken, and what it is expected to tell.

    Attributes
    ----------
    speed_rpm : float
        As the instrument shows it: engine speed for a lamp, distributor speed on a rig.
    direction : {'rising', 'falling'}
    depression_kpa : float or None
        None: pipe off and plugged.
    gain_bits : float
        Expected information on which explanation is true.
    change_probability : float
        Chance that the leading explanation is another one afterwards.
    expected_deg : tuple of (name, float)
        What each leading explanation expects the instrument to show.
    loss_fall : float
        By how much the expected loss of the in-or-out decision falls; see
        :mod:`core.judgement.loss`.
    """

    speed_rpm: float
    direction: str
    depression_kpa: float | None
    gain_bits: float
    change_probability: float
    expected_deg: tuple[tuple[str, float], ...]
    loss_fall: float = 0.0


@frozen(eq=False)
class Advice:
    """The best next reading, and whether it is worth taking.

    Attributes
    ----------
    worth_taking : bool
        False when no reading is likely to change what is decided.
    apart : tuple of str
        The two explanations that the best reading parts.
    candidates : tuple of PossibleReading
        All that were weighed, for the plot.
    """

    best: PossibleReading
    worth_taking: bool
    apart: tuple[str, ...]
    candidates: tuple[PossibleReading, ...] = field(repr=False)


class Adviser:
    """Weighs what may be measured next over equally probable units.

    Parameters
    ----------
    inside : array, shape (samples,)
        Whether each sample's unit lies inside its band; all the same where there is none.
    after : float
        Chance of inside after the best alteration known.
    """

    def __init__(self, posterior: Posterior, inside: Floats, after: float):
        self.posterior, self.after = posterior, after
        self.rows = posterior.evenly(_UNITS)
        self.inside = inside[self.rows].astype(float)

    def next_reading(self, cancelled: Callable[[], bool] | None = None) -> Advice | None:
        """Where to read next; None where one explanation stands alone.

        Notes
        -----
        Information on the explanation: Lindley, Ann. Math. Stat. 27 (1956) 986. An outcome is
        normal under each explanation, with what is not known of its amount included.
        """
        diagnosis = self.posterior.diagnosis
        names = [e.name for e in diagnosis.explanations if e.probability >= LEAST_PROBABILITY]
        names = names[:MOST_EXPLANATIONS]
        if len(names) < 2:
            names = [e.name for e in diagnosis.explanations[:2]]
        if len(names) < 2 or (cancelled is not None and cancelled()):
            return None
        posterior, places = self.posterior, self._places()
        shown = self._shown(posterior.values, posterior.x, posterior.which, *places)
        sd = self._sd(places)
        falls = expected_fall(shown[self.rows], sd, self.inside, self.after, _SEED)
        means, sds = [], []
        for name in names:
            weight = posterior.weight_of(name)
            mean = weight @ shown
            means.append(mean)
            sds.append(np.sqrt(weight @ (shown - mean) ** 2 + sd**2))
        odds = np.array([diagnosis.probability(name) for name in names])
        odds /= odds.sum()
        groups = np.array([diagnosis.place_of(name) for name in names])
        gains, changes = mixture_gain(np.array(means), np.array(sds), odds, groups)
        speed, way, depression = places
        candidates = tuple(
            PossibleReading(
                float(speed[k]), WAYS[way[k]],
                None if np.isnan(depression[k]) else float(depression[k]),
                float(gains[k]), float(changes[k]),
                tuple((name, float(m[k])) for name, m in zip(names, means, strict=True)),
                float(falls[k]),
            )
            for k in range(len(speed))
        )  # fmt: skip
        decides = max(candidates, key=lambda c: c.loss_fall)
        if decides.loss_fall > READING:
            return Advice(decides, True, _parted(decides, odds), candidates)
        best = max(candidates, key=lambda c: c.gain_bits)
        likely = float(np.mean(self.inside)) < 0.5 and self.after < 1.0 - WORTH_CHANGE
        worth = likely and max(c.change_probability for c in candidates) >= WORTH_CHANGE
        return Advice(best, worth, _parted(best, odds), candidates)

    def measurements(self) -> list[tuple[str, Path, float, float]]:
        """What else may be measured: its kind, path, to what uncertainty, and the fall of the loss
        with its cost taken off; the best first."""
        family, values = self.posterior.family, self.posterior.values
        instrument = family.simulator.instrument
        asked: list[tuple[str, Path, float]] = [
                 ("prove-mark", (*instrument, "mark_error_deg"), PROVED_DEG),
                 ("check-tachometer", (*instrument, "tachometer_scale"), PROVED_SHARE)]  # fmt: skip
        paths: list[Path] = [("mechanism", "springs", i, key)
                 for i in range(len(family.docket.mechanism.springs))
                 for key in ("rate_n_per_mm", "slack_mm", "free_length_mm")]  # fmt: skip
        paths += [("mechanism", "stop_deg"), ("mechanism", "weights", "mass_g"),
                  ("mechanism", "weights", "cg_mm")]  # fmt: skip
        for path in paths:
            if path in values and np.ptp(values[path]) > 0:
                middle = float(self.posterior.weight @ values[path])
                share, u = MEASURED.get(str(path[-1]), (0.0, 0.1))
                asked.append(("measure", path, share * abs(middle) + u))
        columns = []
        for what, path, _ in asked:
            found = self.posterior.zero() if what == "prove-mark" else values[path]
            columns.append(np.broadcast_to(found, (len(self.posterior.x),))[self.rows])
        sd = np.array([u for _, _, u in asked])
        falls = expected_fall(np.stack(columns, axis=1), sd, self.inside, self.after, _SEED)
        found_ = [(*a, float(f) - MEASUREMENT) for a, f in zip(asked, falls, strict=True)]
        return sorted(found_, key=lambda row: -row[3])

    def _places(self) -> tuple[Floats, Indices, Floats]:
        """Shown speeds, ways (0 rising, 1 falling) and depressions (NaN: off) to be weighed."""
        posterior = self.posterior
        s = posterior.simulator
        table = s.curves(posterior.leading())
        start, full = float(table.rising_rpm[0, 0]), min(float(table.rising_rpm[0, -1]), 8000.0)
        scale = posterior.family.docket.sessions[posterior.family.session].instrument
        low = 0.6 * min(start, 0.5 * full)
        shown = np.linspace(low, 1.15 * full, _SPEEDS) * s.ratio / scale.scale_taken
        speed, way = np.tile(shown, 2), np.repeat([0, 1], len(shown))
        depression = np.full(len(speed), np.nan)
        if s.capsules and s.pipe_on.any():
            kpa = np.array(_DEPRESSIONS_KPA)
            still = max(0.7 * start, 0.3 * low) * s.ratio / scale.scale_taken
            speed = np.concatenate([speed, np.full(2 * len(kpa), still)])
            way = np.concatenate([way, np.repeat([0, 1], len(kpa))])
            depression = np.concatenate([depression, np.tile(kpa, 2)])
        return speed, way, depression

    def _sd(self, places: tuple[Floats, Indices, Floats]) -> Floats:
        """Standard deviation of one reading at each place, its speed's share included."""
        posterior = self.posterior
        speed, way, depression = places
        instrument = posterior.family.docket.sessions[posterior.family.session].instrument
        x, which = posterior.diagnosis.x[:1], posterior.diagnosis.hypothesis[:1]
        values = posterior.leading()
        u_speed = instrument.u_speed_taken_rpm
        aside = [
            self._shown(values, x, which, speed + s * u_speed, way, depression)[0] for s in (1, -1)
        ]
        on = ~np.isnan(depression)
        vacuum = np.zeros(len(speed))
        if on.any():
            here = self._shown(values, x, which, speed, way, depression)[0]
            u_kpa = instrument.u_depression_taken_kpa
            more = self._shown(values, x, which, speed, way, depression + u_kpa)[0]
            vacuum[on] = (more - here)[on]
        noise = posterior.noise() * instrument.u_angle_taken_deg
        found: Floats = np.sqrt(noise**2 + (0.5 * (aside[0] - aside[1])) ** 2 + vacuum**2)
        return found

    def _shown(
        self, values: Values, x: Floats, which: Indices, speed: Floats, way: Indices,
        depression: Floats,
    ) -> Floats:  # fmt: skip
        """Angle the instrument shows at shown speeds, shape (points, places)."""
        family, s = self.posterior.family, self.posterior.simulator
        reader = s.reader_of(values)
        true = np.maximum(speed[None], 1.0) * reader.scale / reader.ratio
        true = np.broadcast_to(true, (len(x), len(speed)))
        table = s.curves(values)
        on = ~np.isnan(depression)
        half = len(speed) if not on.any() else int(np.flatnonzero(on)[0])
        up = table.at(true[:, way == 0], "rising")
        advance = np.empty(true.shape)
        advance[:, way == 0] = up
        advance[:, way == 1] = table.at(true[:, way == 1], "falling")
        if on.any():
            advance[:, on] = table.at(true[:, on], "rising")
            advance[:, on] += s.vacuum_deg(values, depression[on], way[on])
        advance[:, :half] += family.added(x, which, true[:, :half])
        names = np.array(["rising", "falling", "unknown"], dtype=object)[np.where(on, 0, way)]
        lash, _ = lash_deg(s.docket.sessions[s.session], s.docket.particulars, names)
        shown: Floats = np.asarray(reader.shown(true, advance)[1])
        return np.asarray(s.noted_deg(values, shown) + lash)


def mixture_gain(
    mean: Floats, sd: Floats, odds: Floats, groups: Indices | None = None
) -> tuple[Floats, Floats]:
    """Expected information in bits of an outcome on which of several normal laws it came from, and
    the chance that another law (of another group) leads afterwards.

    Parameters
    ----------
    mean, sd : arrays, shape (laws, candidates)
    odds : array, shape (laws,)
        Probabilities, summing to 1.
    groups : int array, shape (laws,), optional
        Laws of one group count as one leader.
    """
    of = np.arange(len(odds)) if groups is None else groups
    low, high = (mean - 6 * sd).min(axis=0), (mean + 6 * sd).max(axis=0)
    share = np.linspace(0.0, 1.0, _OUTCOMES)[:, None]
    y = low + share * (high - low)
    density = np.exp(-0.5 * ((y - mean[:, None]) / sd[:, None]) ** 2)
    density /= sd[:, None] * np.sqrt(2 * np.pi)
    joint = odds[:, None, None] * density
    mixture = joint.sum(axis=0)
    step = (high - low) / (_OUTCOMES - 1)
    # Σ p ∫ q log2 (q / mixture), which loses no digits where the laws agree
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(joint > 0, joint * np.log2(density / mixture), 0.0)
    gain = np.maximum(ratio.sum(axis=(0, 1)) * step, 0.0)
    leaders = sorted(set(of.tolist()))
    by_group = np.array([joint[of == g].sum(axis=0) for g in leaders])
    now = np.array([odds[of == g].sum() for g in leaders]).argmax()
    other = by_group.argmax(axis=0) != now
    return gain, np.where(other, mixture, 0.0).sum(axis=0) * step


def _parted(best: PossibleReading, odds: Floats) -> tuple[str, ...]:
    """The two explanations of most weight whose expectations lie furthest apart."""
    pairs = [
        (odds[i] * odds[j] * abs(a[1] - b[1]), (a[0], b[0]))
        for i, a in enumerate(best.expected_deg)
        for j, b in enumerate(best.expected_deg)
        if i < j
    ]
    return max(pairs)[1]
