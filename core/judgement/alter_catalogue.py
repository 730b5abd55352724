"""What a hand can change on a unit, in the order of the trade."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bobweight.core.docket.docket import Docket
from bobweight.core.mechanics.capsule import usable
from bobweight.core.problems import Path
from bobweight.core.record import get

STAGES = ("wear", "ceiling", "start", "knee", "static", "vacuum")
"""The order of alteration (common practice)."""


@dataclass(frozen=True)
class Alteration:
    """One thing that a hand can change.

    Attributes
    ----------
    key : str
        Stable: ``clean``, ``stop``, ``tang``, ``swap``, ``loop``, ``mass``, ``static``,
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

    def apply(
        self, values: dict[Path, NDArray], amount: NDArray | float, docket: Docket
    ) -> dict[Path, NDArray]:
        """The values after the alteration; ``amount`` broadcasts against them."""
        after = dict(values)
        if self.is_set:
            for path, value in self.to:
                after[path] = np.full(np.shape(_now(values, path, docket)), value)
            return after
        after[self.path] = _now(values, self.path, docket) + amount
        return after


def _now(values: dict[Path, NDArray], path: Path, docket: Docket) -> NDArray:
    return values[path] if path in values else np.full(1, float(get(docket, path)))


def catalogue(docket: Docket, fitted: Docket, vacuum: bool = False) -> tuple[Alteration, ...]:
    """Everything that can be changed on this unit.

    Parameters
    ----------
    docket : Docket
        As stored: a fresh spring is what it says.
    fitted : Docket
        As the readings show the unit.
    vacuum : bool
        The capsule's alterations too.
    """
    mechanism = fitted.mechanism
    found = []
    if mechanism.stick_nmm > 0 or mechanism.grip > 0:
        clean = ((("mechanism", "stick_nmm"), 0.0), (("mechanism", "grip"), 0.0))
        found.append(Alteration("clean", "wear", ("mechanism", "stick_nmm"), "", (1.0,), to=clean))
    found.append(Alteration("stop", "ceiling", ("mechanism", "stop_deg"), "deg", _spread(4.0)))
    for index, spring in enumerate(mechanism.springs):
        stage = "start" if spring.role == "primary" else "knee"
        place = ("mechanism", "springs", index)
        if stage == "knee":
            least = min(spring.slack_mm, 1.5)
            loops = tuple(a for a in _spread(1.5) if a >= -least)
            found.append(Alteration("loop", stage, (*place, "slack_mm"), "mm", loops, spring=index))
        tangs = tuple(a for a in _spread(2.0) if -15.0 < spring.tang_mm + a < 15.0)
        found.append(Alteration("tang", stage, (*place, "tang_mm"), "mm", tangs, spring=index))
        fresh = docket.mechanism.springs[index]
        keys = ("rate_n_per_mm", "free_length_mm", "initial_tension_n")
        to = tuple(((*place, key), float(getattr(fresh, key))) for key in keys)
        found.append(
            Alteration("swap", stage, (*place, "rate_n_per_mm"), "", (1.0,), to=to, spring=index)
        )
    mass_g = mechanism.weights.mass_g or 0.0
    filed = tuple(round(-0.02 * k * mass_g, 2) for k in range(1, 8))
    found.append(Alteration("mass", "knee", ("mechanism", "weights", "mass_g"), "g", filed))
    found.append(Alteration("static", "static", ("setting_up", "static_deg"), "deg", ()))
    if vacuum:
        for index, capsule in enumerate(fitted.capsules):
            if usable((capsule,)):
                start, full = (("capsules", index, key) for key in ("start_kpa", "full_deg"))
                found.append(Alteration("capsule_start", "vacuum", start, "kPa", _spread(8.0)))
                found.append(Alteration("capsule_travel", "vacuum", full, "deg", _spread(3.0)))
    order = sorted(range(len(found)), key=lambda i: (STAGES.index(found[i].stage), i))
    return tuple(found[i] for i in order if found[i].key != "mass" or mechanism.weights.mass_g)


def _spread(most: float) -> tuple[float, ...]:
    """Amounts to either side, closer together near none."""
    share = np.array([0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.65, 0.8, 1.0])
    return tuple(round(float(a), 4) for a in most * np.concatenate([-share[::-1], share]))
