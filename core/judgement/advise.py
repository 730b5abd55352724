"""Where to take the next reading: the one expected to tell the leading explanations apart best."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bobweight.core.judgement.diagnose import Diagnosis
from bobweight.core.judgement.diagnose_models import Family
from bobweight.core.judgement.reduce import lash_deg

MOST_EXPLANATIONS = 6
LEAST_PROBABILITY = 0.01
WORTH_CHANGE = 0.05
"""Another reading is worth taking while its chance to change the leading explanation exceeds
this."""
_SPEEDS = 36
_OUTCOMES = 301
_DEPRESSIONS_KPA = (5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 55.0)


@dataclass(frozen=True)
class Candidate:
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
    """

    speed_rpm: float
    direction: str
    depression_kpa: float | None
    gain_bits: float
    change_probability: float
    expected_deg: tuple[tuple[str, float], ...]


@dataclass(frozen=True, eq=False)
class Advice:
    """The best next reading, and whether it is worth taking.

    Attributes
    ----------
    best : Candidate
    worth_taking : bool
        False when no reading is likely to change the leading explanation.
    apart : tuple of str
        The two explanations that the best reading parts.
    candidates : tuple of Candidate
        All that were weighed, for the plot.
    """

    best: Candidate
    worth_taking: bool
    apart: tuple[str, ...]
    candidates: tuple[Candidate, ...] = field(repr=False)


def next_reading(
    diagnosis: Diagnosis, cancelled: Callable[[], bool] | None = None
) -> Advice | None:
    """Where to read next, by expected information gain; None where one explanation stands alone.

    Parameters
    ----------
    diagnosis : Diagnosis
    cancelled : callable, optional
        Polled once an explanation; when true the answer is None.

    Notes
    -----
    Lindley, Ann. Math. Stat. 27 (1956) 986: the gain is the entropy of the outcome less the mean
    entropy under each explanation. An outcome is normal under each explanation, with what is not
    known of its amount included, so the entropy of the mixture is a single quadrature.
    """
    family = diagnosis.family
    kept = [i for i, e in enumerate(diagnosis.explanations) if e.probability >= LEAST_PROBABILITY][
        :MOST_EXPLANATIONS
    ]
    if len(kept) < 2:
        kept = list(range(min(2, len(diagnosis.explanations))))
    if len(kept) < 2:
        return None
    places = _places(family)
    means, sds = [], []
    for i in kept:
        if cancelled is not None and cancelled():
            return None
        mean, sd = _outcome(
            family, places, diagnosis.x[i], int(diagnosis.hypothesis[i]), diagnosis.covariance[i]
        )
        means.append(mean)
        sds.append(sd)
    odds = np.array([diagnosis.explanations[i].probability for i in kept])
    odds /= odds.sum()
    names = [diagnosis.explanations[i].name for i in kept]
    groups = np.array([diagnosis.explanations[i].place for i in kept])
    gains, changes = mixture_gain(np.array(means), np.array(sds), odds, groups)
    speed, way, depression = places
    candidates = tuple(
        Candidate(
            float(speed[k]), ("rising", "falling")[way[k]],
            None if np.isnan(depression[k]) else float(depression[k]),
            float(gains[k]), float(changes[k]),
            tuple((name, float(m[k])) for name, m in zip(names, means, strict=True)),
        )
        for k in range(len(speed))
    )  # fmt: skip
    best = max(candidates, key=lambda c: c.gain_bits)
    worth = max(c.change_probability for c in candidates) >= WORTH_CHANGE
    return Advice(best, worth, _parted(best, odds), candidates)


def mixture_gain(
    mean: NDArray, sd: NDArray, odds: NDArray, groups: NDArray | None = None
) -> tuple[NDArray, NDArray]:
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
    groups = np.arange(len(odds)) if groups is None else groups
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
    leaders = np.unique(groups)
    by_group = np.array([joint[groups == g].sum(axis=0) for g in leaders])
    now = np.array([odds[groups == g].sum() for g in leaders]).argmax()
    other = by_group.argmax(axis=0) != now
    return gain, np.where(other, mixture, 0.0).sum(axis=0) * step


def _places(family: Family) -> tuple[NDArray, NDArray, NDArray]:
    """Shown speeds, ways (0 rising, 1 falling) and depressions (NaN: pipe off) to be weighed."""
    s = family.simulator
    table = s.curves({})
    start, full = float(table.rising_rpm[0, 0]), min(float(table.rising_rpm[0, -1]), 8000.0)
    scale = family.docket.sessions[family.session].instrument.tachometer_scale
    low = 0.6 * min(start, 0.5 * full)
    shown = np.linspace(low, 1.15 * full, _SPEEDS) * s.ratio / scale
    speed, way = np.tile(shown, 2), np.repeat([0, 1], len(shown))
    depression = np.full(len(speed), np.nan)
    if s.capsules and s.pipe_on.any():
        kpa = np.array(_DEPRESSIONS_KPA)
        still = max(0.7 * start, 0.3 * low) * s.ratio / scale
        speed = np.concatenate([speed, np.full(2 * len(kpa), still)])
        way = np.concatenate([way, np.repeat([0, 1], len(kpa))])
        depression = np.concatenate([depression, np.tile(kpa, 2)])
    return speed, way, depression


def _outcome(
    family: Family, places: tuple, x: NDArray, h: int, covariance: NDArray
) -> tuple[NDArray, NDArray]:
    """Mean and standard deviation of what the instrument will show at each place."""
    speed, way, depression = places
    columns = np.flatnonzero(family.free[h])
    step = 0.02
    moved = np.tile(x, (2 * len(columns) + 1, 1))
    index = np.arange(len(columns))
    moved[1 + index, columns] += step
    moved[1 + len(columns) + index, columns] -= step
    shown = _shown(family, moved, h, speed, way, depression)
    slopes = (shown[1 : 1 + len(columns)] - shown[1 + len(columns) :]) / (2 * step)
    cov = covariance[np.ix_(columns, columns)]
    known = np.einsum("pk,pq,qk->k", slopes, cov, slopes)
    instrument = family.docket.sessions[family.session].instrument
    u_speed = instrument.u_speed_rpm
    aside = [_shown(family, x[None], h, speed + s * u_speed, way, depression)[0] for s in (1, -1)]
    on = ~np.isnan(depression)
    vacuum = np.zeros(len(speed))
    if on.any():
        u_kpa = instrument.u_depression_kpa
        more = _shown(family, x[None], h, speed, way, depression + u_kpa)[0]
        vacuum[on] = (more - shown[0])[on]
    variance = instrument.u_angle_deg**2 + (0.5 * (aside[0] - aside[1])) ** 2 + vacuum**2
    return shown[0], np.sqrt(variance + known)


def _shown(
    family: Family, x: NDArray, h: int, speed: NDArray, way: NDArray, depression: NDArray
) -> NDArray:
    """Angle the instrument shows at shown speeds, shape (points, places)."""
    s = family.simulator
    which = np.full(len(x), h)
    values = family.values(x, which)
    scale = np.broadcast_to(s.value(values, *s.instrument, "tachometer_scale"), (len(x), 1))
    true = np.maximum(speed[None], 1.0) * scale / s.ratio
    table = s.curves(values)
    on = ~np.isnan(depression)
    advance = np.where(way == 1, table.at(true, "falling"), table.at(true, "rising"))
    advance = np.where(on, table.at(true, "rising"), advance)
    advance = advance + np.where(on, 0.0, family.added(x, which, true))
    if on.any():
        advance[:, on] += s.vacuum_deg(values, depression[on], way[on])
    names = np.array(["rising", "falling", "unknown"], dtype=object)[np.where(on, 0, way)]
    lash, _ = lash_deg(s.docket.sessions[s.session], s.docket.particulars, names)
    return s.shown(values, true, advance)[1] + lash


def _parted(best: Candidate, odds: NDArray) -> tuple[str, ...]:
    """The two explanations of most weight whose expectations lie furthest apart."""
    pairs = [
        (odds[i] * odds[j] * abs(a[1] - b[1]), (a[0], b[0]))
        for i, a in enumerate(best.expected_deg)
        for j, b in enumerate(best.expected_deg)
        if i < j
    ]
    return max(pairs)[1]
