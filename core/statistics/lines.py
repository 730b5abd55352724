"""Straight lines through measured points, with the uncertainties of everything they give.

All three fits share one result. A line is held by the point where slope and level are
uncorrelated (the weighted mean), so predicting and reading back lose no digits.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bobweight.core.arrays import Flags, Floats
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError

FLAG_LEVEL = 0.05
"""Probability that any point at all is flagged when none is bad."""

_MOST_STEPS = 200


@frozen(eq=False)
class StraightLine:
    """y = intercept + slope · x, with standard uncertainties.

    Attributes
    ----------
    x_mean, y_mean : float
        The weighted mean of the (adjusted) points; the line passes through it.
    slope, u_slope, u_mean : float
        Slope, its standard uncertainty, and that of ``y_mean``; the two are uncorrelated.
    chi2 : float
        Weighted sum of squared residuals.
    dof : int
        Degrees of freedom, points minus two.
    scatter : float
        √(chi2/dof): about 1 where the stated uncertainties are right (Birge ratio), the standard
        deviation of the residuals where all were said to be 1. NaN for two points.
    standardised : ndarray, shape (n,)
        Each residual over its standard uncertainty.
    """

    x_mean: float
    y_mean: float
    slope: float
    u_mean: float
    u_slope: float
    chi2: float
    dof: int
    scatter: float
    standardised: NDArray[np.float64]

    @property
    def intercept(self) -> float:
        """y at x = 0."""
        return self.y_mean - self.slope * self.x_mean

    @property
    def u_intercept(self) -> float:
        """Standard uncertainty of the intercept."""
        return float(np.hypot(self.u_mean, self.x_mean * self.u_slope))

    @property
    def covariance(self) -> float:
        """Covariance of intercept and slope."""
        return -self.x_mean * self.u_slope**2

    @property
    def covariance_matrix(self) -> NDArray[np.float64]:
        """Covariance matrix of (intercept, slope)."""
        c = self.covariance
        return np.array([[self.u_intercept**2, c], [c, self.u_slope**2]])

    def y_at(self, x: ArrayLike, u_x: ArrayLike = 0.0) -> tuple[Floats, Floats]:
        """y on the line at x and its standard uncertainty (of the line, not of a new reading)."""
        x = np.asarray(x, float)
        u = np.sqrt(
            self.u_mean**2
            + ((x - self.x_mean) * self.u_slope) ** 2
            + (self.slope * np.asarray(u_x, float)) ** 2
        )
        return self.y_mean + self.slope * (x - self.x_mean), u

    def x_at(self, y: ArrayLike, u_y: ArrayLike = 0.0) -> tuple[Floats, Floats]:
        """x that belongs to a measured y, and its standard uncertainty (ISO/TS 28037, 6.3).

        Raises
        ------
        BobweightError
            ``line-level`` if the slope is zero.
        """
        if self.slope == 0:
            raise BobweightError("line-level")
        x = self.x_mean + (np.asarray(y, float) - self.y_mean) / self.slope
        variance = (
            np.asarray(u_y, float) ** 2 + self.u_mean**2 + ((x - self.x_mean) * self.u_slope) ** 2
        )
        return x, np.sqrt(variance) / abs(self.slope)


def weighted_line(x: ArrayLike, y: ArrayLike, u_y: ArrayLike) -> StraightLine:
    """Straight line with known standard uncertainties of y and exact x.

    Parameters
    ----------
    x, y : array_like, shape (n,)
        At least two points, not all at one x.
    u_y : array_like, scalar or shape (n,)
        Standard uncertainties of y, > 0. Uncertainties of the result follow from these alone.

    Raises
    ------
    BobweightError
        ``too-few-points``, ``unequal-columns``, ``not-finite``, ``uncertainty-not-positive``,
        ``all-same-x``.

    Notes
    -----
    ISO/TS 28037:2010, clause 6.
    """
    x, y, u = _columns(2, x, y, u_y)
    if np.any(u <= 0):
        raise BobweightError("uncertainty-not-positive", (int(np.argmax(u <= 0)),))
    return _finish(x, y, x, 1 / u**2, *_slope(x, y, 1 / u**2))


def line_in_both(x: ArrayLike, y: ArrayLike, u_x: ArrayLike, u_y: ArrayLike) -> StraightLine:
    """Straight line with known and independent standard uncertainties of x and of y.

    Parameters
    ----------
    x, y : array_like, shape (n,)
        At least two points.
    u_x, u_y : array_like, scalar or shape (n,)
        Standard uncertainties, ≥ 0, not both zero at a point. The line must not be vertical.

    Raises
    ------
    BobweightError
        As :func:`weighted_line`, or ``line-not-found`` if the iteration does not settle.

    Notes
    -----
    York, Evensen, López Martínez and De Basabe Delgado, Am. J. Phys. 72 (2004) 367, eqs. 13a–d.
    """
    x, y, ux, uy = _columns(2, x, y, u_x, u_y)
    if np.any((ux < 0) | (uy < 0) | ((ux == 0) & (uy == 0))):
        raise BobweightError("uncertainty-not-positive")
    if np.ptp(x) == 0:
        raise BobweightError("all-same-x", (), value=float(x[0]))
    rough = 1 / (uy**2 + (np.ptp(y) / np.ptp(x) * ux) ** 2 + 1e-300)
    _, _, b = _slope(x, y, rough)
    for _ in range(_MOST_STEPS):
        with np.errstate(divide="ignore"):
            w = 1 / (uy**2 + (b * ux) ** 2)
        if not np.all(np.isfinite(w)):
            break
        xm, ym = np.average(x, weights=w), np.average(y, weights=w)
        dx, dy = x - xm, y - ym
        beta = w * (dx * uy**2 + b * dy * ux**2)
        below = np.sum(w * beta * dx)
        if below == 0:
            break
        old, b = b, float(np.sum(w * beta * dy) / below)
        if abs(b - old) <= 1e-14 * abs(b) + 1e-300:
            break
    else:
        raise BobweightError("line-not-found")
    if not np.isfinite(b) or not np.all(np.isfinite(w)) or below == 0:
        raise BobweightError("line-not-found")
    adjusted = xm + beta
    mean = float(np.average(adjusted, weights=w))
    return _finish(x, y, adjusted, w, mean, float(ym + b * (mean - xm)), b)


def outlying(
    standardised: Floats, dof: int, residuals_matter: Flags | bool = True
) -> tuple[Floats, Flags]:
    """Externally studentised residuals, and which of them mark an outlying point.

    Parameters
    ----------
    standardised : ndarray, shape (n,)
        Residuals divided by their standard uncertainties (up to one common unknown factor
        √(chi2/dof), which must already be divided out).
    dof : int
        Degrees of freedom of the fit; fewer than 2 flags nothing (the studentised value is NaN).
    residuals_matter : ndarray of bool
        False where the residual is too small to be worth a flag whatever the others say.

    Notes
    -----
    t_i = r_i √((ν − 1)/(ν − r_i²)) is the residual of point i from the line through the *other*
    points, over its standard error by their scatter; it follows Student's law with ν − 1 degrees
    of freedom. Flagged where |t_i| exceeds the two-sided quantile at FLAG_LEVEL/n (Bonferroni),
    so that a clean set has a flag at most once in 1/FLAG_LEVEL times. Weisberg, Applied Linear
    Regression, "Outliers".
    """
    if dof < 2:
        return np.full(standardised.shape, np.nan), np.zeros(standardised.shape, bool)
    room = np.maximum(dof - standardised**2, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = standardised * np.sqrt((dof - 1) / room)
    t = np.where(standardised == 0, 0.0, t)
    from scipy import special  # not at the top: a window that opens needs no scipy

    limit = special.stdtrit(dof - 1, 1 - FLAG_LEVEL / (2 * len(standardised)))
    return t, (np.abs(t) > limit) & residuals_matter


def _columns(fewest: int, *columns: ArrayLike) -> list[NDArray[np.float64]]:
    """The columns as equally long float arrays; scalars after the first two are spread."""
    arrays = [np.atleast_1d(np.asarray(c, float)) for c in columns]
    n = len(arrays[0])
    for k, a in enumerate(arrays):
        if a.ndim != 1 or (len(a) != n and (k < 2 or len(a) != 1)):
            raise BobweightError("unequal-columns", (), first=n, other=a.size)
        if not np.all(np.isfinite(a)):
            row = int(np.argmin(np.isfinite(a)))
            raise BobweightError("not-finite", (row,), value=str(a[row]))
    if n < fewest:
        raise BobweightError("too-few-points", (), given=n, needed=fewest)
    return [np.broadcast_to(a, (n,)) for a in arrays]


def _slope(x: Floats, y: Floats, w: Floats) -> tuple[float, float, float]:
    """Weighted means of x and y and the slope."""
    xm, ym = np.average(x, weights=w), np.average(y, weights=w)
    dx = x - xm
    sxx = np.sum(w * dx**2)
    if np.ptp(x) == 0 or sxx == 0:
        raise BobweightError("all-same-x", (), value=float(x[0]))
    return float(xm), float(ym), float(np.sum(w * dx * (y - ym)) / sxx)


def _finish(
    x: Floats, y: Floats, adjusted: Floats, w: Floats, xm: float, ym: float, b: float
) -> StraightLine:
    sxx = float(np.sum(w * (adjusted - xm) ** 2))
    total = float(np.sum(w))
    residuals = y - ym - b * (x - xm)
    # Residuals at the level of rounding are zero: else exact data would have "outlying" points.
    residuals = np.where(np.abs(residuals) > 1e-12 * np.max(np.abs(y)), residuals, 0.0)
    chi2 = float(np.sum(w * residuals**2))
    dof = len(x) - 2
    scatter = float(np.sqrt(chi2 / dof)) if dof else np.nan
    free = np.maximum(1 - w * (1 / total + (adjusted - xm) ** 2 / sxx), 1e-12)
    by_weight = residuals * np.sqrt(w / free)  # residual / its uncertainty, were the weights 1/u²
    return StraightLine(
        x_mean=xm, y_mean=ym, slope=b,
        u_mean=1 / np.sqrt(total), u_slope=1 / np.sqrt(sxx),
        chi2=chi2, dof=dof, scatter=scatter, standardised=by_weight,
    )  # fmt: skip
