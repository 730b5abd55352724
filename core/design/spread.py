"""The uncertain values of a mechanism, and many builds drawn from them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

import numpy as np
import scipy

from bobweight.core.design.tray import OWN_FIGURES, own_figures
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.checks import figures_in_use
from bobweight.core.problems import Path
from bobweight.core.record import get, parameter_at, taken_at

RATE_SHARE = 0.03
"""Relative standard uncertainty of a spring rate for which none is stated (common practice)."""


@frozen
class Uncertain:
    """A value that differs from build to build, normal about what is written down.

    Attributes
    ----------
    paths : tuple of path
        Inside the mechanism; more than one where values go together (twin springs).
    value, u : float
        In the stored unit.
    low, high : float
        Hard limits, at which the values are cut off.
    source : {'stated', 'trade', 'assumed'}
        Where the uncertainty comes from.
    """

    paths: tuple[Path, ...]
    value: float
    u: float
    low: float
    high: float
    source: str

    def at(self, z: np.ndarray) -> np.ndarray:
        """Values at so many standard uncertainties from the middle."""
        return np.clip(self.value + self.u * z, self.low, self.high)


def mechanism_spread(mechanism: Mechanism) -> tuple[Uncertain, ...]:
    """Every value of the mechanism that bears upon its curve and has an uncertainty: as stated,
    else the trade's."""
    return _uncertain(mechanism, [(path,) for path in figures_in_use(mechanism)])


def own_spread(mechanism: Mechanism, springs: Sequence[int]) -> tuple[Uncertain, ...]:
    """The springs' own figures (rate, tension, free length); springs with one label and rate go
    together, being known from one measurement."""
    together: dict[tuple[object, ...], list[int]] = {}
    for index in springs:
        spring = mechanism.springs[index]
        together.setdefault((spring.label, *own_figures(spring)), []).append(index)
    return _uncertain(
        mechanism,
        [
            tuple(("springs", i, key) for i in members)
            for members in together.values()
            for key in OWN_FIGURES
        ],
    )


def _uncertain(mechanism: Mechanism, groups: Iterable[tuple[Path, ...]]) -> tuple[Uncertain, ...]:
    found = []
    for paths in groups:
        path = paths[0]
        parameter, value = parameter_at(mechanism, path), taken_at(mechanism, path)
        if not parameter.uncertain or value is None:
            continue
        u, source = get(mechanism, path[:-1]).u.get(path[-1]), "stated"
        if u is None:
            u, source = parameter.trade_u, "trade"
        if u is None and path[-1] == "rate_n_per_mm":
            u, source = RATE_SHARE * value, "assumed"
        if u is not None:
            found.append(Uncertain(paths, value, u, *parameter.hard, source))
    return tuple(found)


def drawn(spread: Sequence[Uncertain], builds: int) -> dict[Path, np.ndarray]:
    """Builds from the spread, by path, as :class:`core.mechanics.builds.Builds` takes them.

    Always the same points for the same sizes, so that what is shown moves only with what is
    edited.

    Parameters
    ----------
    builds : int
        Best a power of two.
    """
    z = _normal_points(len(spread), builds)
    return at_points(spread, z)


def at_points(spread: Sequence[Uncertain], z: np.ndarray) -> dict[Path, np.ndarray]:
    """Builds at points in standard uncertainties, shape (builds, uncertain values)."""
    values: dict[Path, np.ndarray] = {}
    for column, uncertain in enumerate(spread):
        here = uncertain.at(z[:, column])
        values.update({path: here for path in uncertain.paths})
    return values


def even_points(dimensions: int, count: int) -> np.ndarray:
    """Points that fill the unit cube evenly, shape (count, dimensions): Sobol's sequence, shifted
    so that no coordinate is 0."""

    if dimensions == 0:
        return np.empty((count, 0))
    points = scipy.stats.qmc.Sobol(dimensions, scramble=False).random_base2(
        max(count - 1, 1).bit_length()
    )
    shift = np.random.default_rng(1).random(dimensions)
    found: np.ndarray = np.clip((points[:count] + shift) % 1.0, 1e-12, 1 - 1e-12)
    return found


@lru_cache(maxsize=8)
def _normal_points(dimensions: int, count: int) -> np.ndarray:
    points = scipy.special.ndtri(even_points(dimensions, count))
    points.setflags(write=False)
    found: np.ndarray = points
    return found
