"""What is known of a unit before it is read, and which one thing would tell most of it.

The unit is a sound one, as figures, trade and table let expect it, or one with a usual fault. What
a measurement is worth is by how much better the curve is known after it, on average over speeds.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import scipy.special

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.readings import Session
from bobweight.core.docket.target import WAYS
from bobweight.core.frozen import frozen
from bobweight.core.judgement.advise import MEASURED, PROVED_DEG
from bobweight.core.judgement.answer import Help
from bobweight.core.judgement.compare import bands
from bobweight.core.judgement.faults import (
    WEIGHT_NOTHING,
    Fault,
    faults_of,
    weight_of_nothing,
)
from bobweight.core.judgement.fit_values import ValueTable
from bobweight.core.judgement.posterior import CurveBand
from bobweight.core.judgement.sound import curves_of, sound_unit
from bobweight.core.judgement.told import Told
from bobweight.core.problems import Path
from bobweight.core.record import standard_uncertainty, taken_at

_SAMPLES, _SEED, _SPEEDS = 400, 17, 61
_OF_BAND = 4000  # samples: of 400 the edges of the band ran in steps of half a degree
_PLACES = 9  # speeds at which a reading is weighed
_MARK_DEG = 2.0  # crank degrees by which a mark that nobody proved may be off (common practice)
_LEAST_SHARE = 0.06  # of what is not known of the curve, that is worth a word
_COMMON = 3.0  # what is brought to be rebuilt is mostly faulty (common practice)
_MOST = 5


@frozen(eq=False)
class Unread:
    """What is known of a unit that was not read.

    Attributes
    ----------
    band : CurveBand
        Of the sound unit.
    helps : tuple of Help
        What would tell most of the unit's curve, the best first.
    """

    band: CurveBand
    helps: tuple[Help, ...]


def unread(
    docket: Docket, session: int = -1, cancelled: Callable[[], bool] | None = None,
    told: Told | None = None,
) -> Unread | None:  # fmt: skip
    """What is known of a unit before it is read; None if stopped.

    Parameters
    ----------
    session : int
        Whose instruments a reading would be taken with; −1 for a new session's.
    told : Told, optional
        What the unit's other sessions tell of it.
    """
    unit = sound_unit(docket, told)
    if cancelled is not None and cancelled():
        return None
    rng = np.random.default_rng(_SEED)

    def drawn(count: int, rng: np.random.Generator) -> dict[Path, Floats]:
        z = unit.z + rng.normal(size=(count, len(unit.free))) @ unit.root.T
        return ValueTable(unit.free).at(z)

    sound = drawn(_SAMPLES, rng)
    filled = docket.with_changes(mechanism=unit.mechanism)
    if not 0 <= session < len(docket.sessions):
        filled, session = filled.with_changes(sessions=(*docket.sessions, Session())), -1
    session %= len(filled.sessions)
    faulty = _found_with_faults(filled, session, sound, rng, told)
    weighed = _Weighed(filled, session, sound, faulty)
    many = drawn(_OF_BAND, np.random.default_rng(_SEED))
    return Unread(_band(filled, many), weighed.helps(bool(bands(docket, 0.0).kind)))


def _table(docket: Docket, values: dict[Path, Floats], speed: Floats) -> Floats:
    """Advance of units, shape (units, ways, speeds)."""
    found = curves_of(docket.mechanism, values)
    return np.stack([found.at(speed, way) for way in WAYS], axis=1)


def _full_rpm(docket: Docket, values: dict[Path, Floats]) -> float:
    """The speed at which most of the units are fully advanced."""
    rising = curves_of(docket.mechanism, values).rising_rpm
    return float(np.clip(np.median(rising[:, -1]), 300.0, 6000.0))


def _band(docket: Docket, sound: dict[Path, Floats]) -> CurveBand:
    speed = np.linspace(0.0, 1.3 * _full_rpm(docket, sound), _SPEEDS)
    advance = np.sort(_table(docket, sound, speed)[:, 0], axis=0)
    low, middle, high = (_quantile(advance, q) for q in (0.025, 0.5, 0.975))
    return CurveBand(speed, middle, low, high)


def _quantile(ordered: Floats, q: float) -> Floats:
    """Quantile of ordered samples along the first axis, by all of them (Harrell and Davis, 1982):
    much less rough from place to place than the one sample that stands there."""
    n = len(ordered)
    upto = scipy.special.betainc((n + 1) * q, (n + 1) * (1.0 - q), np.arange(n + 1) / n)
    quantile: Floats = np.diff(upto) @ ordered
    return quantile


def _found_with_faults(
    docket: Docket, session: int, sound: dict[Path, Floats], rng: np.random.Generator,
    told: Told | None,
) -> dict[Path, Floats]:  # fmt: skip
    """The same units, some of them with a fault of usual size by its odds and by what other
    sessions make of them."""
    faults = [
        f for f in faults_of(docket, session, False)
        if f.effects and all(e.path[0] == "mechanism" for e in f.effects)
    ]  # fmt: skip
    nothing = weight_of_nothing(docket, session)
    common = _COMMON if nothing == WEIGHT_NOTHING else 1.0  # after work most are sound
    odds = np.array([nothing, *(f.weight * common for f in faults)])
    if told is not None:
        odds[1:] *= [np.exp(told.log_evidence(frozenset({(f.key, 1.0)}))) for f in faults]
    which = rng.choice(len(odds), size=_SAMPLES, p=odds / odds.sum()) - 1
    size = rng.normal(size=_SAMPLES)
    found = {p: np.array(v, dtype=float) for p, v in sound.items()}
    for number, fault in enumerate(faults):
        amount = np.where(which == number, fault.amount(size), 0.0)
        if amount.any():
            _put_in(docket, found, sound, fault, amount)
    return found


def _put_in(
    docket: Docket, found: dict[Path, Floats], sound: dict[Path, Floats], fault: Fault,
    amount: Floats,
) -> None:  # fmt: skip
    """Put a fault into the units found, by these amounts; 0 in those without it."""

    def own(path: Path) -> Floats:
        if path in sound:
            return sound[path]
        return np.full(len(amount), float(taken_at(docket, path) or 0.0))

    for effect in fault.effects:
        other = own(effect.other) if effect.other else None
        now = found.get(effect.path)
        found[effect.path] = effect.on(own(effect.path) if now is None else now, amount, other)


class _Weighed:
    """What each thing that may be measured tells of the curve."""

    def __init__(self, docket: Docket, session: int, sound: dict[Path, Floats],
                 values: dict[Path, Floats]):  # fmt: skip
        self.docket, self.session, self.values = docket, session, values
        full = _full_rpm(docket, sound)
        self.speed = np.linspace(0.25 * full, 1.1 * full, _PLACES)
        self.advance = _table(docket, values, self.speed)
        self.curve = self.advance.reshape(len(self.advance), -1)
        self.curve = self.curve - self.curve.mean(axis=0)
        self.now = float(np.sqrt(np.mean(self.curve**2)))

    def after(self, outcome: Floats, sd: float) -> float:
        """How well the curve is known once an outcome is, in degrees: straight-line regression."""
        off = outcome - outcome.mean()
        variance = float(np.mean(off**2))
        if variance <= 0:
            return self.now
        slope = (off @ self.curve) / len(off) / (variance + sd**2)
        left = np.mean(self.curve**2, axis=0) - slope**2 * (variance + sd**2)
        return float(np.sqrt(max(np.mean(left), 0.0)))

    def helps(self, has_table: bool) -> tuple[Help, ...]:
        """What tells most; the table first where there is none."""
        instrument = self.docket.sessions[self.session].instrument
        mark = standard_uncertainty(instrument, "mark_error_deg") or 0.0
        if "mark_error_deg" not in instrument.u:
            mark = max(mark, _MARK_DEG)
        read = self._reading(mark)
        found = [read, *self._parts()]
        if instrument.kind_taken == "lamp":
            proved = self._reading(PROVED_DEG)
            place = ("sessions", self.session, "instrument", "mark_error_deg")
            found.append(Help(
                "prove-mark", proved.gain - read.gain, place, u=PROVED_DEG,
                curve_deg=(self.now - read.gain, self.now - proved.gain),
            ))  # fmt: skip
        told = sorted(
            (h for h in found if h.gain >= _LEAST_SHARE * self.now), key=lambda h: -h.gain
        )
        first = () if has_table else (Help("enter-table", 0.0, ("target", "points")),)
        return (*first, *told)[:_MOST]

    def _reading(self, u_mark_deg: float) -> Help:
        """The reading that tells most, with a mark that may be off by so much."""
        instrument = self.docket.sessions[self.session].instrument
        ratio = self.docket.particulars.ratio_taken if instrument.kind_taken == "lamp" else 1.0
        zero = u_mark_deg if instrument.kind_taken == "lamp" else 0.0
        slope = np.gradient(self.advance.mean(axis=0), self.speed, axis=1)
        u_speed = instrument.u_speed_taken_rpm / ratio
        sd = np.hypot(np.hypot(instrument.u_angle_taken_deg, zero) / ratio, slope * u_speed)
        left = np.array([
            [self.after(self.advance[:, way, k], float(sd[way, k])) for k in range(_PLACES)]
            for way in (0, 1)
        ])  # fmt: skip
        way, k = np.unravel_index(np.argmin(left), left.shape)
        shown = float(self.speed[k]) * ratio / instrument.scale_taken
        after = float(left[way, k])
        return Help("read", self.now - after, (), shown, WAYS[way],
                    curve_deg=(self.now, after))  # fmt: skip

    def _parts(self) -> list[Help]:
        found = []
        for path, values in self.values.items():
            key = str(path[-1])
            if key not in MEASURED or np.ptp(values) <= 0:
                continue
            share, u = MEASURED[key]
            sd = share * abs(float(np.median(values))) + u
            after = self.after(values, sd)
            found.append(Help("measure", self.now - after, path, u=sd, curve_deg=(self.now, after)))
        return found
