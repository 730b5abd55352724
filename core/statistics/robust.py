"""Weights that a slip cannot upset, means of repeats, and a scattered curve read where wanted."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bobweight.core.arrays import Flags, Floats, Indices
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError

STUDENT_DOF = 4.0
"""Tails long enough for a slip, 95 % efficient on normal data (Lange, Little, Taylor 1989)."""


def student_weights(z: ArrayLike) -> NDArray[np.float64]:
    """Weights for standardised residuals z by Student's law, (ν + 1)/(ν + z²): 1.25 at 0 for ν = 4,
    falling as 1/z², so that a far point loses its influence altogether."""
    return (STUDENT_DOF + 1) / (STUDENT_DOF + np.asarray(z, float) ** 2)


def mean_of_repeats(y: ArrayLike, u: ArrayLike) -> tuple[float, float]:
    """Weighted mean of repeated readings of one quantity, in their unit, and its standard
    uncertainty, the spread between repeats included.

    Parameters
    ----------
    y : array_like, shape (n,), n ≥ 1
    u : array_like, scalar or shape (n,)
        Stated standard uncertainties, > 0, independent between repeats.

    Raises
    ------
    BobweightError
        ``too-few-points``, ``unequal-columns``, ``not-finite``, ``uncertainty-not-positive``.

    Notes
    -----
    Where the spread exceeds what the stated uncertainties explain, a between-repeat variance is
    added that makes chi2 equal its degrees of freedom: Paule and Mandel, J. Res. NBS 87 (1982) 377.
    """
    from scipy import optimize  # not at the top: a window that opens needs no scipy

    y = np.atleast_1d(np.asarray(y, float))
    u = np.atleast_1d(np.asarray(u, float))
    if y.size == 0:
        raise BobweightError("too-few-points", (), given=0, needed=1)
    if u.size not in (1, y.size):
        raise BobweightError("unequal-columns", (), first=y.size, other=u.size)
    if not (np.all(np.isfinite(y)) and np.all(np.isfinite(u))):
        raise BobweightError("not-finite")
    if np.any(u <= 0):
        raise BobweightError("uncertainty-not-positive", (), value=float(np.min(u)))
    v = np.broadcast_to(u**2, y.shape)
    dof = y.size - 1

    def excess(between: float) -> float:
        w = 1 / (v + between)
        return float(np.sum(w * (y - np.average(y, weights=w)) ** 2)) - dof

    between = 0.0
    if dof and excess(0.0) > 0:
        most = float(np.sum((y - y.mean()) ** 2)) / dof  # with this much added, chi2 ≤ dof
        between = float(optimize.brentq(excess, 0.0, most)) if excess(most) < 0 else most
    w = 1 / (v + between)
    return float(np.average(y, weights=w)), float(1 / np.sqrt(w.sum()))


@frozen(eq=False)
class LocalEstimate:
    """A scattered curve at given places; each array has the shape of ``at``. NaN: no reading near.

    ``y``, ``u``: value and standard uncertainty. ``slope``: of the local line. ``inflation``:
    factor ≥ 1, already in ``u``, by which the scatter exceeds the stated uncertainties.
    ``used``: how many readings lie in the window.
    """

    y: NDArray[np.float64]
    u: NDArray[np.float64]
    slope: NDArray[np.float64]
    inflation: NDArray[np.float64]
    used: NDArray[np.int_]


def local_line(
    x: ArrayLike,
    y: ArrayLike,
    u_x: ArrayLike,
    u_y: ArrayLike,
    at: ArrayLike,
    *,
    places: int = 3,
    fewest: int = 4,
    reach: float = 0.25,
) -> LocalEstimate:
    """The curve under scattered readings, at each ``at``, in the unit of y, with standard
    uncertainty: a straight line through the nearest readings, robust to a single slip among them.

    Parameters
    ----------
    x, y : array_like, shape (n,)
        Readings in any order. Fewer than three, or all in one place, give NaN throughout.
    u_x, u_y : array_like, scalar or shape (n,)
        Standard uncertainties, u_x ≥ 0, u_y > 0.
    at : array_like
        Where the curve is wanted.
    places : int
        The window holds at least this many places (2 or more), among them the nearest on either
        side of ``at``. Readings within 4 u_x of one another are one place: repeats say nothing of
        a slope.
    fewest : int
        The window holds at least this many readings, if there are so many (at least 3).
    reach : float
        Beyond the first or last place by more than this fraction of the spacing there: NaN. A
        line through a few readings must not be trusted further out.

    Raises
    ------
    BobweightError
        ``unequal-columns``, ``not-finite``, ``uncertainty-not-positive``.

    Notes
    -----
    Tricube weights over the window (Cleveland, J. Am. Stat. Assoc. 74 (1979) 829) times Student
    weights (ν = 4) of the residuals, started from least absolute deviations. The uncertainty is
    that of the linear combination Σ l_i y_i, with u_i² = u_y² + (slope · u_x)², times
    √(chi2/dof) where that exceeds 1. Curvature within the window is not in it.
    """
    x, y, ux, uy = _readings(x, y, u_x, u_y)
    at = np.asarray(at, float)
    targets = at.ravel()
    begins = _place_starts(x, ux)
    if len(x) < 3 or len(begins) < 2 or not targets.size:
        nan = np.full(at.shape, np.nan)
        return LocalEstimate(nan, nan, nan, nan, np.zeros(at.shape, int))
    width = _window(x, begins, targets, min(places, len(begins)), min(fewest, len(x)))
    d = x[None, :] - targets[:, None]
    # A little wider than the furthest reading wanted, so that it has weight.
    kernel = np.maximum(1 - (np.abs(d) / (1.15 * width[:, None])) ** 3, 0.0) ** 3
    value, slope, u, inflation = _robust_lines(d, y, ux, uy, kernel)
    centres = np.array([part.mean() for part in np.split(x, begins[1:])])
    low = centres[0] - reach * (centres[1] - centres[0])
    high = centres[-1] + reach * (centres[-1] - centres[-2])
    away = (targets < min(low, x[0])) | (targets > max(high, x[-1])) | np.isnan(targets)
    y_at, u_at, slope_at, inflation_at = (
        np.where(away, np.nan, a).reshape(at.shape) for a in (value, u, slope, inflation)
    )
    used = np.where(away, 0, np.count_nonzero(kernel > 0, axis=1)).reshape(at.shape)
    return LocalEstimate(y_at, u_at, slope_at, inflation_at, used)


# Mean of ρ z² over mean of ρ for normal z and Student weights of 4 degrees of freedom: what
# chi2/dof comes to when the stated uncertainties are right (by numerical integration).
_STUDENT_CHI2 = 0.7464


def _readings(*columns: ArrayLike) -> list[NDArray[np.float64]]:
    arrays = [np.atleast_1d(np.asarray(c, float)) for c in columns]
    n = arrays[0].size
    if arrays[1].size != n or any(a.ndim != 1 or a.size not in (1, n) for a in arrays):
        raise BobweightError("unequal-columns", (), first=n, other=arrays[1].size)
    if not all(np.all(np.isfinite(a)) for a in arrays):
        raise BobweightError("not-finite")
    if np.any(arrays[2] < 0) or np.any(arrays[3] <= 0):
        raise BobweightError("uncertainty-not-positive")
    order = np.argsort(arrays[0], kind="stable")
    return [np.broadcast_to(a, (n,))[order] for a in arrays]


def _place_starts(x: Floats, ux: Floats) -> NDArray[np.int_]:
    """Index at which each place begins in sorted x."""
    starts: list[int] = []
    for i in range(len(x)):
        if not starts or x[i] - x[starts[-1]] > 4 * max(ux[i], ux[starts[-1]]):
            starts.append(i)
    return np.array(starts, int)


def _window(
    x: Floats, begins: Indices, targets: Floats, places: int, fewest: int
) -> NDArray[np.float64]:
    """Half-width about each target that holds what is asked of a window."""
    distance = np.abs(x[None, :] - targets[:, None])
    whole = np.maximum.reduceat(distance, begins, axis=1)  # to take in all readings of a place
    nth_place = np.partition(whole, places - 1, axis=1)[:, places - 1]
    nth_reading = np.partition(distance, fewest - 1, axis=1)[:, fewest - 1]
    first, last = x[begins], x[np.append(begins[1:], len(x)) - 1]
    below = np.where(last[None, :] < targets[:, None], whole, np.inf).min(axis=1)
    above = np.where(first[None, :] > targets[:, None], whole, np.inf).min(axis=1)
    sides = [np.where(np.isfinite(s), s, 0.0) for s in (below, above)]
    found: NDArray[np.float64] = np.maximum.reduce([nth_place, nth_reading, *sides])
    return found


def _robust_lines(
    d: Floats, y: Floats, ux: Floats, uy: Floats, kernel: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Value and slope at d = 0 of a robust weighted line per row, u of the value, inflation."""
    inside = kernel > 0
    variance = np.broadcast_to(uy**2, d.shape)
    scale = np.ones(len(d))
    rho = np.ones_like(d)
    for step in range(24):
        omega = kernel * rho / variance
        value, slope, inverse = _solve_lines(d, y, omega)
        # The slope's own uncertainty would count its scatter as slope.
        steep2 = np.maximum(slope**2 - inverse[2], 0.0)
        variance = uy**2 + steep2[:, None] * ux**2
        z = (y - value[:, None] - slope[:, None] * d) / np.sqrt(variance)
        if step < 8:  # least absolute deviations first: a start that one slip does not own
            rho = 1 / np.maximum(np.abs(z), 0.05)
            continue
        scale = np.maximum(1.0, 1.4826 * _row_medians(np.abs(z), inside))
        rho = student_weights(z / scale[:, None])
    weight = kernel * rho
    omega = weight / variance
    value, slope, inverse = _solve_lines(d, y, omega)
    c0, c1, c2 = inverse
    z2 = (y - value[:, None] - slope[:, None] * d) ** 2 / variance
    combination = (c0[:, None] + c1[:, None] * d) * omega
    u = np.sqrt(np.sum(combination**2 * variance, axis=1))
    expected = _STUDENT_CHI2 * _free_weight(d, weight, variance, c0, c1, c2)
    inflation = np.sqrt(np.maximum(1.0, np.sum(weight * z2, axis=1) / expected))
    return value, slope, u * inflation, inflation


def median(values: ArrayLike) -> NDArray[np.float64]:
    """Median along the last axis, which is not empty; NaN where any value is. numpy's own loads
    ``numpy.ma`` first, a tenth of what a verdict loads besides numpy itself."""
    ordered = np.sort(values, axis=-1)
    count = ordered.shape[-1]
    middle = 0.5 * (ordered[..., (count - 1) // 2] + ordered[..., count // 2])
    return np.asarray(np.where(np.isnan(ordered[..., -1]), np.nan, middle))


def _row_medians(values: Floats, inside: Flags) -> NDArray[np.float64]:
    """Median of the values inside, per row; numpy's nanmedian takes ten times as long."""
    ordered = np.sort(np.where(inside, values, np.inf), axis=1)
    count = inside.sum(axis=1)
    rows = np.arange(len(values))
    found: NDArray[np.float64] = 0.5 * (ordered[rows, (count - 1) // 2] + ordered[rows, count // 2])
    return found


def _solve_lines(
    d: Floats, y: Floats, omega: Floats
) -> tuple[Floats, Floats, tuple[Floats, Floats, Floats]]:
    """Weighted least squares per row; inverse normal matrix as (00, 01, 11)."""
    od = omega * d
    s0, s1, s2 = omega.sum(axis=1), od.sum(axis=1), (od * d).sum(axis=1)
    t0, t1 = (omega * y).sum(axis=1), (od * y).sum(axis=1)
    determinant = np.maximum(s0 * s2 - s1**2, 1e-12 * s0 * s2 + 1e-300)
    inverse = s2 / determinant, -s1 / determinant, s0 / determinant
    value = inverse[0] * t0 + inverse[1] * t1
    slope = inverse[1] * t0 + inverse[2] * t1
    return value, slope, inverse


def _free_weight(
    d: Floats, weight: Floats, variance: Floats, c0: Floats, c1: Floats, c2: Floats
) -> NDArray[np.float64]:
    """Expected weighted sum of squares: Σ W_i var(r_i)/u_i², per row, without the n × n matrix.

    var(r_i)/u_i² = 1 − 2 h_ii + x_i' S x_i / u_i², S = M⁻¹ X' (W²/u²) X M⁻¹.
    """
    omega = weight / variance
    inverse = np.stack([np.stack([c0, c1], -1), np.stack([c1, c2], -1)], -2)
    b = weight * omega
    b0, b1, b2 = (np.sum(b * d**k, axis=1) for k in range(3))
    middle = np.stack([np.stack([b0, b1], -1), np.stack([b1, b2], -1)], -2)
    s = inverse @ middle @ inverse
    own = (c0[:, None] + 2 * c1[:, None] * d + c2[:, None] * d**2) * omega
    spread = s[:, :1, 0] + 2 * s[:, :1, 1] * d + s[:, 1:, 1] * d**2
    free = np.sum(weight * (1 - 2 * own + spread / variance), axis=1)
    found: NDArray[np.float64] = np.maximum(free, 1e-3 * weight.max(axis=1))
    return found
