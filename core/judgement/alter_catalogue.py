"""What a hand can change on a unit, in the order of the trade."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.frozen import frozen
from bobweight.core.judgement.fit_curves import REST, Values
from bobweight.core.mechanics.capsule import usable
from bobweight.core.problems import Path
from bobweight.core.record import taken

STAGES = ("wear", "ceiling", "start", "knee", "static", "vacuum")
"""The order of alteration (common practice)."""


@frozen
class Adjustment:
    """One thing that a hand can change.

    Attributes
    ----------
    key : str
        Stable: ``clean``, ``stop``, ``tang``, ``swap`` (a spring as the docket has it), ``rate``
        (a spring so many times as stiff as the present one), ``loop``, ``mass``, ``static``,
        ``capsule_start``, ``capsule_travel``.
    stage : str
        One of :data:`STAGES`.
    path : Path
        The value of the docket that it changes.
    unit : str
        Of the amount.
    amounts : tuple of float
        Amounts to be tried, besides none.
    to : tuple of (Path, float)
        For a swap and for cleaning: the values it sets; the amount is then 1.
    spring : int or None
        Which spring it concerns.
    """

    key: str
    stage: str
    path: Path
    unit: str
    amounts: tuple[float, ...]
    to: tuple[tuple[Path, float], ...] = ()
    spring: int | None = None

    @property
    def is_set(self) -> bool:
        """It sets values and has no amount of its own."""
        return bool(self.to)

    @property
    def _length(self) -> Path:
        """Free length of the spring it concerns."""
        return (*self.path[:-1], "free_length_mm")

    def of(self, value: float, amount: float) -> float:
        """The value after it."""
        return value * amount if self.unit == TIMES else value + amount

    def apply(
        self, values: Values, amount: Floats | float, now: Callable[[Path], Floats],
        sound: Values | None = None,
    ) -> dict[Path, Floats]:  # fmt: skip
        """The values after the alteration, done exactly; ``amount`` broadcasts against them.

        Parameters
        ----------
        now : callable
            The value at a path, of these values or the docket's.
        sound : Values, optional
            Of the sound unit: what cleaning brings back.
        """
        after = dict(values)
        if self.key == "clean" and sound is not None:
            repeats = max(np.size(v) for v in values.values())
            for path, _ in self.to:
                if path in sound:
                    after[path] = np.tile(sound[path], repeats // np.size(sound[path]))
            after.pop(REST, None)
        elif self.is_set:
            for path, value in self.to:
                after[path] = np.full(np.shape(now(path)), value)
        elif self.unit == TIMES:
            length = self._length
            after |= {length: now(length), self.path: now(self.path) * amount}
        else:
            after[self.path] = now(self.path) + amount
        return after

    def by_hand(self, after: dict[Path, Floats], drawn: Floats) -> dict[Path, Floats]:
        """The values as a hand leaves them: with its spread, standard normal in ``drawn``, shape
        (values set, units)."""
        if self.key == "clean":
            return after
        paths = [p for p, _ in self.to] if self.is_set else [self.path]
        if self.unit == TIMES:  # it comes from stock too
            paths.append(self._length)
        for row, path in enumerate(paths):
            share = HAND_SHARE.get(str(path[-1]), 0.0)
            u = HAND_U.get(self.key, HAND_U.get(str(path[-1]), 0.0))
            value = after[path]
            after[path] = value * (1.0 + share * drawn[row]) if share else value + u * drawn[row]
        return after


HAND_SHARE = {"rate_n_per_mm": 0.03}
"""Relative standard deviation of what a hand leaves: a spring as bought (common practice)."""
HAND_U = {
    "stop": 0.2, "tang": 0.1, "loop": 0.1, "mass": 0.1, "free_length_mm": 0.1,
    "capsule_start": 1.0, "capsule_travel": 0.3,
}  # fmt: skip
"""Standard deviation of what a hand leaves, in the value's stored unit (common practice)."""
TIMES = "times"
_STIFFER = (0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95, 1.05, 1.1, 1.15, 1.2, 1.25, 1.3,
            1.4, 1.5, 1.6, 1.8, 2.0, 2.3, 2.6, 3.0)  # fmt: skip


def catalogue(
    docket: Docket, fitted: Docket, vacuum: bool = False, known: bool = True
) -> tuple[Adjustment, ...]:
    """Everything that can be changed on this unit.

    Parameters
    ----------
    docket : Docket
        As stored: a fresh spring is what it says.
    fitted : Docket
        As the readings show the unit.
    vacuum : bool
        The capsule's alterations too.
    known : bool
        Whether the docket's springs are figures of springs, so that one may be got like them.
    """
    mechanism = fitted.mechanism
    found = []
    if mechanism.stick_taken_nmm > 0 or mechanism.grip_taken > 0:
        clean = ((("mechanism", "stick_nmm"), 0.0), (("mechanism", "grip"), 0.0))
        found.append(Adjustment("clean", "wear", ("mechanism", "stick_nmm"), "", (1.0,), to=clean))
    found.append(Adjustment("stop", "ceiling", ("mechanism", "stop_deg"), "deg", _spread(4.0)))
    for index, spring in enumerate(mechanism.springs):
        stage = "start" if spring.role == "primary" else "knee"
        place = ("mechanism", "springs", index)
        if stage == "knee":
            least = min(spring.slack_taken_mm, 1.5)
            loops = tuple(a for a in _spread(1.5) if a >= -least)
            found.append(Adjustment("loop", stage, (*place, "slack_mm"), "mm", loops, spring=index))
        tangs = tuple(a for a in _spread(2.0) if -15.0 < spring.tang_mm + a < 15.0)
        found.append(Adjustment("tang", stage, (*place, "tang_mm"), "mm", tangs, spring=index))
        fresh = docket.mechanism.springs[index]
        keys = ("rate_n_per_mm", "free_length_mm", "initial_tension_n")
        to = tuple(((*place, key), float(taken(fresh, key))) for key in keys)
        rate = (*place, "rate_n_per_mm")
        if known:
            found.append(Adjustment("swap", stage, rate, "", (1.0,), to=to, spring=index))
        found.append(Adjustment("rate", stage, rate, TIMES, _STIFFER, spring=index))
    mass_g = mechanism.weights.mass_g or 0.0
    filed = tuple(round(-0.02 * k * mass_g, 2) for k in range(1, 8))
    found.append(Adjustment("mass", "knee", ("mechanism", "weights", "mass_g"), "g", filed))
    found.append(Adjustment("static", "static", ("setting_up", "static_deg"), "deg", ()))
    if vacuum:
        for index, capsule in enumerate(fitted.capsules):
            if usable((capsule,)):
                start, full = (("capsules", index, key) for key in ("start_kpa", "full_deg"))
                found.append(Adjustment("capsule_start", "vacuum", start, "kPa", _spread(8.0)))
                found.append(Adjustment("capsule_travel", "vacuum", full, "deg", _spread(3.0)))
    order = sorted(range(len(found)), key=lambda i: (STAGES.index(found[i].stage), i))
    return tuple(found[i] for i in order if found[i].key != "mass" or mechanism.weights.mass_g)


def _spread(most: float) -> tuple[float, ...]:
    """Amounts to either side, closer together near none."""
    share = np.array([0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.65, 0.8, 1.0])
    return tuple(round(float(a), 4) for a in most * np.concatenate([-share[::-1], share]))
