"""What the stated tolerances do to the curve: a band, the odds of passing, and which matters.

Many builds are drawn evenly over the uncertain values (quasi-Monte Carlo) and predicted together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import scipy

from bobweight.core.arrays import Flags
from bobweight.core.design.goal import Goal
from bobweight.core.design.spread import Uncertain, at_points, drawn, even_points, mechanism_spread
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.target import WAYS
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.branches import Curves, curves
from bobweight.core.mechanics.builds import Builds

BUILDS = 1024
QUANTILES = (0.025, 0.5, 0.975)
_KNOTS = 40


@frozen
class ToleranceBand:
    """Between which the builds' curves lie, on one branch; arrays of shape (speeds,), degrees."""

    branch: str
    low_deg: np.ndarray
    middle_deg: np.ndarray
    high_deg: np.ndarray


@frozen
class Tolerance:
    """What many builds come to.

    Attributes
    ----------
    speed_rpm : array, shape (speeds,)
    bands : tuple of ToleranceBand
        Rising and falling, 95 of 100 builds within.
    point_probability : array, shape (points,) or None
        That a unit built so passes each of the goal's check points; None without a goal.
    """

    spread: tuple[Uncertain, ...]
    builds: int
    speed_rpm: np.ndarray
    bands: tuple[ToleranceBand, ...]
    point_probability: np.ndarray | None
    ceiling_probability: float | None
    all_probability: float | None


@frozen
class Influence:
    """How much of the spread at the check points each uncertain value makes.

    Attributes
    ----------
    first_order, total_order : array, shape (points, uncertain values)
        Sobol indices: share of the variance by the value alone, and with all it acts through;
        zero where the advance does not vary.
    u_deg : array, shape (points,)
        Standard deviation of the advance.
    """

    spread: tuple[Uncertain, ...]
    first_order: np.ndarray
    total_order: np.ndarray
    u_deg: np.ndarray


def tolerance(
    mechanism: Mechanism,
    goal: Goal | None = None,
    spread: Sequence[Uncertain] | None = None,
    speed_rpm: np.ndarray | None = None,
    builds: int = BUILDS,
) -> Tolerance:
    """The band of curves and the odds of passing under the spread.

    Parameters
    ----------
    mechanism : Mechanism
        Without grave problems.
    spread : sequence of Uncertain, optional
        As :func:`core.design.spread.mechanism_spread` gives where left out.
    speed_rpm : array, optional
        Where the band is wanted; else 48 speeds up to beyond full advance.
    builds : int
        Best a power of two.

    Notes
    -----
    A build that cannot move to its stop stays where it can move to and is judged there.
    """
    spread = mechanism_spread(mechanism) if spread is None else tuple(spread)
    found = built(mechanism, spread, builds)
    if speed_rpm is None:
        speed_rpm = np.linspace(0.0, _far(found, goal), 48)
    bands = tuple(ToleranceBand(way, *_quantiles(found.at(speed_rpm, way))) for way in WAYS)
    if goal is None:
        return Tolerance(spread, builds, speed_rpm, bands, None, None, None)
    points, ceiling = _passes(found, goal)
    everything = points.all(axis=1) & ceiling
    return Tolerance(
        spread=spread,
        builds=builds,
        speed_rpm=speed_rpm,
        bands=bands,
        point_probability=points.mean(axis=0),
        ceiling_probability=float(ceiling.mean()),
        all_probability=float(everything.mean()),
    )


def built(
    mechanism: Mechanism, spread: Sequence[Uncertain], builds: int, knots: int = _KNOTS
) -> Curves:
    """The curves of builds drawn from the spread."""
    return curves(balance_speeds(Builds(mechanism, drawn(spread, builds)), knots))


def builds_probability(
    mechanism: Mechanism, goal: Goal, spread: Sequence[Uncertain], builds: int = 512
) -> float:
    """The share of builds drawn from the spread that pass every check point and the ceiling."""
    points, ceiling = _passes(built(mechanism, spread, builds), goal)
    return float((points.all(axis=1) & ceiling).mean())


def _passes(found: Curves, goal: Goal) -> tuple[Flags, Flags]:
    """Which builds pass each point on every branch, shape (builds, points), and the ceiling."""
    advance = goal.advance_of_curves(found)
    inside = (advance >= goal.low_deg) & (advance <= goal.high_deg)
    ceiling = np.asarray(found.advance_deg[:, -1] <= goal.ceiling_deg)
    points = np.asarray(inside.all(axis=1))
    return points, ceiling


def _quantiles(advance: np.ndarray) -> list[np.ndarray]:
    """Columns are sorted once and interpolated: a third of the time of a general percentile."""
    ordered = np.sort(advance, axis=0)
    places = np.array(QUANTILES) * (len(ordered) - 1)
    below = places.astype(int)
    above = np.minimum(below + 1, len(ordered) - 1)
    share = (places - below)[:, None]
    return list(ordered[below] * (1 - share) + ordered[above] * share)


def _far(found: Curves, goal: Goal | None) -> float:
    last = found.rising_rpm[:, -1]
    full = float(np.median(last[np.isfinite(last)])) if np.isfinite(last).any() else 1000.0
    asked = goal.speed_rpm.max(initial=0.0) if goal is not None else 0.0
    return float(1.25 * max(full, asked))


def influence(
    mechanism: Mechanism,
    goal: Goal,
    spread: Sequence[Uncertain] | None = None,
    samples: int = 256,
) -> Influence:
    """Sobol indices of the advance at the goal's points (mean of its branches).

    Parameters
    ----------
    samples : int
        A power of two; the curve is computed for (uncertain values + 2) times as many builds.
    """
    spread = mechanism_spread(mechanism) if spread is None else tuple(spread)

    def advance(z: np.ndarray) -> np.ndarray:
        builds = Builds(mechanism, at_points(spread, z.T))
        found: np.ndarray = (
            goal.advance_of_curves(curves(balance_speeds(builds, _KNOTS))).mean(axis=1).T
        )
        return found

    first, total, variance = sobol(advance, scipy.special.ndtri, len(spread), samples)
    return Influence(spread, first, total, np.sqrt(variance))


def sobol(
    function: Callable[[np.ndarray], np.ndarray],
    quantile: Callable[[np.ndarray], np.ndarray],
    dimensions: int,
    samples: int,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """First-order and total Sobol indices, shape (outputs, dimensions), and the variances.

    Parameters
    ----------
    function : callable
        Takes points of shape (dimensions, n), gives outputs of shape (outputs, n).
    quantile : callable
        Turns even points of the unit cube into the inputs.
    samples : int
        A power of two.

    Notes
    -----
    Saltelli's estimator by :func:`scipy.stats.sobol_indices`; an output that does not vary has
    indices 0.
    """

    both = quantile(even_points(2 * dimensions, samples)).T
    one, two = both[:dimensions], both[dimensions:]
    mixed = np.repeat(one[None], dimensions, axis=0)
    each = np.arange(dimensions)
    mixed[each, each] = two
    f_one, f_two = np.atleast_2d(function(one)), np.atleast_2d(function(two))
    flat = np.atleast_2d(function(mixed.transpose(1, 0, 2).reshape(dimensions, -1)))
    f_mixed = flat.reshape(len(flat), dimensions, samples).transpose(1, 0, 2)
    variance = np.var(np.concatenate([f_one, f_two], axis=1), axis=1)
    varies = variance > 1e-18
    first = np.zeros((len(flat), dimensions))
    total = first.copy()
    if varies.any():
        indices = scipy.stats.sobol_indices(
            func={"f_A": f_one[varies], "f_B": f_two[varies], "f_AB": f_mixed[:, varies]},
            n=samples,
        )
        first[varies] = np.reshape(indices.first_order, (-1, dimensions))
        total[varies] = np.reshape(indices.total_order, (-1, dimensions))
    return first, total, variance
