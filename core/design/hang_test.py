"""A spring from a hang test: pairs of load and length.

A close-wound spring keeps its free length L_f until the load exceeds its initial tension F_i;
from there its length grows along a straight line,

    L = L_f                      for F ≤ F_i
    L = L_f + (F − F_i) / k      above.

Readings on the line alone give k and the one combination k·L_f − F_i (where the line would meet
zero load): F_i and L_f can then not be told apart. A reading on the flat part, such as the
unloaded length, gives L_f and with it F_i.
"""

from __future__ import annotations

from enum import Enum

import numpy as np
import scipy
from numpy.typing import ArrayLike, NDArray

from bobweight.core.arrays import Flags, Floats, Indices
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError, Problem, required
from bobweight.core.statistics.lines import StraightLine, line_in_both, outlying, weighted_line

_SURE = 0.01
"""Chance of seeing a bend where there is none."""
_UNSURE_RATE = 0.2
"""Relative uncertainty of the rate beyond which first-order propagation misleads."""


class Separation(Enum):
    """How free length and initial tension were told apart."""

    MEASURED = "measured"
    """From readings at which the coils were still closed."""
    OPEN_WOUND = "open wound"
    """No initial tension: stated so, or none found; the free length is where the line starts."""
    NOT_SEPARATED = "not separated"
    """Every reading lies on the line; only k·L_f − F_i is known, and limits of each."""


class PointKind(Enum):
    """What part of the curve a reading belongs to."""

    CLOSED = "closed"
    """Load below the initial tension, length unchanged."""
    ON_LINE = "on line"
    STIFFENED = "stiffened"
    """At the end, shorter than the line: bound, or against something."""
    SOFTENED = "softened"
    """At the end, longer than the line: yielding."""


@frozen(eq=False)
class HangTest:
    """A spring as a hang test shows it. Standard uncertainties; lengths inside the hooks.

    Attributes
    ----------
    offset_n, u_offset_n : float
        k·L_f − F_i, so that force = k · length − offset while the spring is open.
    rate_offset_covariance : float
        Covariance of rate and offset, N²/mm.
    initial_tension_n, u_initial_tension_n : float or None
        None if not separated; the uncertainty is None also where it is zero by assumption.
    covariance : ndarray, shape (3, 3), or None
        Of (rate, initial tension, free length); None if not separated.
    initial_tension_limits_n, free_length_limits_mm : (float, float)
        What the readings allow at all, uncertainty apart: the tension lies between zero and the
        first load on the line.
    scatter : float
        √(chi2/dof): about 1 if stated uncertainties are right; without them the standard deviation
        of a length in mm. NaN if nothing is left over to judge by.
    u_length_from_scatter : bool
        True if no uncertainty of the lengths was stated.
    residuals_mm, standardised : ndarray, shape (n,)
        Measured minus computed length, and that over its standard uncertainty.
    flagged : ndarray of bool, shape (n,)
        Outlying points, by the rule of :func:`core.statistics.lines.outlying`. They are not left
        out; whoever knows the reason does that.
    problems : tuple of Problem
        Advice, none of it grave. The arrays and paths are in the order of the input.
    """

    rate_n_per_mm: float
    u_rate_n_per_mm: float
    offset_n: float
    u_offset_n: float
    rate_offset_covariance: float
    separation: Separation
    initial_tension_n: float | None
    u_initial_tension_n: float | None
    free_length_mm: float | None
    u_free_length_mm: float | None
    covariance: NDArray[np.float64] | None
    initial_tension_limits_n: tuple[float, float]
    free_length_limits_mm: tuple[float, float]
    scatter: float
    dof: int
    u_length_from_scatter: bool
    kinds: tuple[PointKind, ...]
    residuals_mm: NDArray[np.float64]
    standardised: NDArray[np.float64]
    flagged: NDArray[np.bool_]
    problems: tuple[Problem, ...]

    def force_at(self, length_mm: ArrayLike) -> tuple[Floats, Floats]:
        """Force in N at a length in mm and its standard uncertainty, the spring being open."""
        length = np.asarray(length_mm, float)
        variance = (
            (length * self.u_rate_n_per_mm) ** 2
            + self.u_offset_n**2
            - 2 * length * self.rate_offset_covariance
        )
        return self.rate_n_per_mm * length - self.offset_n, np.sqrt(np.maximum(variance, 0.0))


def hang_test(
    load_n: ArrayLike,
    length_mm: ArrayLike,
    u_length_mm: ArrayLike | None = None,
    u_load_n: ArrayLike = 0.0,
    *,
    open_wound: bool = False,
) -> HangTest:
    """Rate in N/mm, initial tension in N and free length in mm, with uncertainties, from loads.

    Parameters
    ----------
    load_n : array_like, shape (n,)
        Loads in N, ≥ 0, in any order; 0 for the unloaded spring. Include the lower hook and pan.
    length_mm : array_like, shape (n,)
        Lengths between the insides of the hooks, > 0.
    u_length_mm : array_like, scalar or shape (n,), or None
        Standard uncertainties, > 0; None takes them from the scatter, which needs a reading more.
    u_load_n : array_like, scalar or shape (n,)
        Standard uncertainties of the loads, ≥ 0 (only with ``u_length_mm``).
    open_wound : bool
        True if daylight shows between the coils of the unloaded spring: no initial tension.

    Raises
    ------
    BobweightError
        ``unequal-columns``, ``not-finite``, ``too-few-points``, ``load-negative``,
        ``columns-swapped``, ``length-not-positive``, ``all-same-load``,
        ``length-does-not-change``, ``length-falls-with-load``, ``uncertainty-not-positive``.

    Notes
    -----
    Uncertainties include the factor √(chi2/dof) where it exceeds 1; those taken from the scatter
    of few readings want Student's factor for ``dof`` where an interval is made. Errors
    common to all lengths (a scale's zero) are not in them.

    Advice codes: ``outlying-reading``, ``stiffens-at-end``,
    ``softens-at-end``, ``tension-not-separated``, ``free-length-from-one-reading``,
    ``line-from-two-readings``, ``rate-uncertain``, ``unloaded-length-too-short``, ``no-scatter``
    (the lengths agree to the last digit, so that no uncertainty can be had from them).
    """
    load, length = _checked(load_n, length_mm)
    u_length, u_load = _uncertainties(u_length_mm, u_load_n, len(load))
    order = np.argsort(load, kind="stable")
    data = _Data(
        load[order], length[order], u_length[order], u_load[order],
        stated=u_length_mm is not None, open_wound=open_wound,
    )  # fmt: skip
    fit = _with_end(data)
    too_short = fit.flat is not None and fit.tension < 0
    if too_short:
        excess = -fit.tension / max(fit.u_tension, 1e-300)
        data = data.as_open_wound()
        fit = _with_end(data)
        too_short = excess > 3
    return _result(data, fit, order, too_short)


@frozen(eq=False)
class _Data:
    """Readings in the order of load."""

    load: NDArray[np.float64]
    length: NDArray[np.float64]
    u_length: NDArray[np.float64]
    u_load: NDArray[np.float64]
    stated: bool
    open_wound: bool

    def as_open_wound(self) -> _Data:
        return _Data(self.load, self.length, self.u_length, self.u_load, self.stated, True)


@frozen(eq=False)
class _Fit:
    """Readings [0, closed) on the flat part and [closed, end) on the line."""

    closed: int
    end: int
    line: StraightLine
    flat: float | None
    u_flat: float
    chi2: float
    dof: int
    scale: float

    @property
    def tension(self) -> float:
        return (required(self.flat) - self.line.intercept) / self.line.slope

    @property
    def u_tension(self) -> float:
        """Of the initial tension, scale included."""
        _, u = self.line.x_at(required(self.flat), self.u_flat)
        return float(u) * self.scale


def _checked(load_n: ArrayLike, length_mm: ArrayLike) -> tuple[Floats, Floats]:
    load = np.atleast_1d(np.asarray(load_n, float))
    length = np.atleast_1d(np.asarray(length_mm, float))
    if load.ndim != 1 or load.shape != length.shape:
        raise BobweightError("unequal-columns", (), first=load.size, other=length.size)
    for key, column in (("load_n", load), ("length_mm", length)):
        if not np.all(np.isfinite(column)):
            row = int(np.argmin(np.isfinite(column)))
            raise BobweightError("not-finite", (key, row), value=str(column[row]))
    if len(load) < 2:
        raise BobweightError("too-few-points", (), given=len(load), needed=2)
    if np.any(load < 0):
        worst = int(np.argmin(load))
        raise BobweightError("load-negative", ("load_n", worst), load_n=float(load[worst]))
    if np.ptp(load) == 0:
        raise BobweightError("all-same-load", ("load_n",), load_n=float(load[0]))
    if np.any(length <= 0):
        worst = int(np.argmin(length))
        if length[worst] == 0 and np.all(load > 0):  # a load may be 0, a length cannot
            raise BobweightError("columns-swapped")
        raise BobweightError(
            "length-not-positive", ("length_mm", worst), length_mm=float(length[worst])
        )
    if np.ptp(length) == 0:
        raise BobweightError("length-does-not-change", ("length_mm",), length_mm=float(length[0]))
    slope, start = np.polyfit(load - load.mean(), length, 1)
    if slope <= 0:
        raise BobweightError("length-falls-with-load", ("length_mm",))
    # The line meets zero load at L_f − F_i/k. No initial tension is so high as to bring that to
    # zero, but with the columns exchanged it is always negative: −(k L_f − F_i).
    if start - slope * load.mean() <= 0:
        raise BobweightError("columns-swapped")
    return load, length


def _uncertainties(
    u_length_mm: ArrayLike | None, u_load_n: ArrayLike, n: int
) -> tuple[Floats, Floats]:
    given = 1.0 if u_length_mm is None else u_length_mm
    u_length, u_load = (np.atleast_1d(np.asarray(a, float)) for a in (given, u_load_n))
    for key, u, good in (
        ("u_length_mm", u_length, u_length > 0),
        ("u_load_n", u_load, u_load >= 0),
    ):
        if u.size not in (1, n):
            raise BobweightError("unequal-columns", (key,), first=n, other=u.size)
        if not np.all(good & np.isfinite(u)):
            raise BobweightError("uncertainty-not-positive", (key, int(np.argmin(good))))
    if u_length_mm is None:
        u_load = np.zeros(1)
    return np.broadcast_to(u_length, (n,)), np.broadcast_to(u_load, (n,))


def _fit(data: _Data, closed: int, end: int) -> _Fit | None:
    """The two parts fitted, or None if the line cannot be."""
    part = slice(closed, end)
    x, y, u_x, u_y = data.load[part], data.length[part], data.u_load[part], data.u_length[part]
    if len(x) < 2 or np.ptp(x) == 0:
        return None
    line = line_in_both(x, y, u_x, u_y) if np.any(u_x > 0) else weighted_line(x, y, u_y)
    chi2, dof, flat, u_flat = line.chi2, line.dof, None, 0.0
    if closed:
        w = 1 / data.u_length[:closed] ** 2
        flat = float(np.average(data.length[:closed], weights=w))
        u_flat = float(1 / np.sqrt(w.sum()))
        chi2 += float(np.sum(w * (data.length[:closed] - flat) ** 2))
        dof += closed - 1
    if not data.stated and dof < 1:
        return None
    scatter = np.sqrt(chi2 / dof) if dof else np.nan
    # Lengths that agree to the last digit still have one: a floor keeps ratios finite.
    scale = float(np.fmax(1.0 if data.stated else 1e-12 * np.max(data.length), scatter))
    return _Fit(closed, end, line, flat, u_flat, chi2, dof, scale)


def _with_bend(data: _Data, end: int) -> _Fit | None:
    """The best division of readings [0, end) into flat part and line.

    With the same three constants at every division, the smallest chi2 decides, provided that the
    tension found lies between the loads of the two parts. Without an unloaded reading a flat part
    must first be worth its additional constant.
    """
    plain = _fit(data, 0, end)
    if data.open_wound:
        return plain
    unloaded = int(np.count_nonzero(data.load[:end] == 0))
    tried = (_fit(data, m, end) for m in range(max(unloaded, 1), end - 1))
    bent = [f for f in tried if f is not None and f.line.slope > 0 and _fits_loads(data, f)]
    best = min(bent, key=lambda f: (f.chi2, f.closed), default=None)
    if unloaded:
        # An unloaded length short of the line's start gives a tension below zero: no division
        # agrees with that, but the caller must see it.
        short = _fit(data, unloaded, end)
        if best is None or short is None:
            return best or short
        below = short.line.slope > 0 and short.tension < 0 and short.chi2 < best.chi2
        return short if below else best
    if best is None or plain is None:
        return plain or best
    gain = plain.chi2 - best.chi2
    if data.stated:
        worth = gain / best.scale**2 > scipy.special.chdtri(1, _SURE)
    else:
        worth = gain > best.chi2 / best.dof * scipy.special.fdtri(1, best.dof, 1 - _SURE)
    return best if worth else plain


def _fits_loads(data: _Data, fit: _Fit) -> bool:
    room = 3 * fit.u_tension + 1e-9 * data.load[-1]
    last_closed, first_open = data.load[fit.closed - 1], data.load[fit.closed]
    return bool(last_closed - room <= fit.tension <= first_open + room)


def _with_end(data: _Data) -> _Fit:
    """The best fit, readings at the end left out if the curve bends away from the line there."""
    n = len(data.load)
    whole = _with_bend(data, n)
    if whole is None:
        unloaded = not data.open_wound and data.load[0] == 0
        needed = 2 + (not data.stated) + bool(unloaded)
        raise BobweightError("too-few-points", (), given=n, needed=needed)
    for out in range((n - whole.closed) // 2, 0, -1):
        fit = _with_bend(data, n - out)
        if fit is not None and fit.end - fit.closed > max(out, 2) and _bends(data, fit):
            return fit
    if whole.line.slope <= 0:
        raise BobweightError("length-falls-with-load", ("length_mm",))
    return whole


def _bends(data: _Data, fit: _Fit) -> bool:
    """Whether the readings beyond the fit all lie off its line to one side, beyond chance."""
    if fit.line.slope <= 3 * fit.line.u_slope * fit.scale:
        return False
    out = slice(fit.end, None)
    computed, u = fit.line.y_at(data.load[out], data.u_load[out])
    off = (data.length[out] - computed) / (fit.scale * np.hypot(u, data.u_length[out]))
    chance = 1 - _SURE / (2 * len(data.load))
    trusted = data.stated and fit.scale == 1
    limit = (
        scipy.special.ndtri(chance) if trusted else scipy.special.stdtrit(max(fit.dof, 1), chance)
    )
    return bool(np.all(off > limit) or np.all(off < -limit))


def _result(data: _Data, fit: _Fit, order: Indices, too_short: bool) -> HangTest:
    line, scale = fit.line, fit.scale
    level, slope = line.intercept, line.slope
    base = line.covariance_matrix * scale**2  # of (intercept, slope)
    to_law = np.array([[0.0, -1 / slope**2], [1 / slope, -level / slope**2]])
    law = to_law @ base @ to_law.T  # of (rate, offset)
    rate = 1 / slope
    tension = free = covariance = None
    separation = Separation.NOT_SEPARATED
    if fit.flat is not None:
        separation, tension, free = Separation.MEASURED, fit.tension, fit.flat
        jacobian = np.array([
            [0.0, -1 / slope**2, 0.0],
            [-1 / slope, -(free - level) / slope**2, 1 / slope],
            [0.0, 0.0, 1.0],
        ])  # fmt: skip
        full = np.zeros((3, 3))
        full[:2, :2], full[2, 2] = base, (fit.u_flat * scale) ** 2
        covariance = jacobian @ full @ jacobian.T
    elif data.open_wound:
        separation, tension, free = Separation.OPEN_WOUND, 0.0, level
        jacobian = np.array([[0.0, -1 / slope**2], [0.0, 0.0], [1.0, 0.0]])
        covariance = jacobian @ base @ jacobian.T
    u = None if covariance is None else np.sqrt(np.diag(covariance))
    first_load = float(data.load[fit.closed])
    kinds, residuals, standardised, flagged = _points(data, fit)
    back = np.argsort(order)
    return HangTest(
        rate_n_per_mm=rate, u_rate_n_per_mm=float(np.sqrt(law[0, 0])),
        offset_n=level / slope, u_offset_n=float(np.sqrt(law[1, 1])),
        rate_offset_covariance=float(law[0, 1]), separation=separation,
        initial_tension_n=tension,
        u_initial_tension_n=float(u[1]) if u is not None and u[1] > 0 else None,
        free_length_mm=free, u_free_length_mm=None if u is None else float(u[2]),
        covariance=covariance,
        initial_tension_limits_n=(0.0, first_load),
        free_length_limits_mm=(level, level + slope * first_load),
        scatter=float(np.sqrt(fit.chi2 / fit.dof)) if fit.dof else np.nan,
        dof=fit.dof, u_length_from_scatter=not data.stated,
        kinds=tuple(kinds[i] for i in back), residuals_mm=residuals[back],
        standardised=standardised[back], flagged=flagged[back],
        problems=tuple(_advice(data, fit, order, kinds, flagged, separation, too_short)),
    )  # fmt: skip


def _points(data: _Data, fit: _Fit) -> tuple[list[PointKind], Floats, Floats, Flags]:
    """Kind, residual, standardised residual and flag of every reading, in the order of load."""
    computed, u_line = fit.line.y_at(data.load, data.u_load)
    if fit.flat is not None:
        computed[: fit.closed] = fit.flat
    residuals = data.length - computed
    used, end = slice(0, fit.end), slice(fit.end, None)
    standardised = residuals / np.hypot(u_line, data.u_length)  # a reading that had no part in it
    standardised[fit.closed : fit.end] = fit.line.standardised
    if fit.closed:
        free = data.u_length[: fit.closed] ** 2 - fit.u_flat**2
        standardised[: fit.closed] = residuals[: fit.closed] / np.sqrt(
            np.maximum(free, 1e-12 * data.u_length[: fit.closed] ** 2)
        )
    scatter = np.sqrt(fit.chi2 / fit.dof) if fit.dof else 0.0
    inner = standardised[used] / scatter if scatter > 0 else np.zeros(fit.end)
    flagged = np.zeros(len(residuals), bool)
    matters = np.abs(standardised[used]) > 2 if data.stated else True
    flagged[used] = outlying(inner, fit.dof, matters)[1]
    if not data.stated:
        standardised = standardised / scatter if scatter > 0 else np.zeros_like(standardised)
    kinds = [PointKind.CLOSED] * fit.closed + [PointKind.ON_LINE] * (fit.end - fit.closed)
    kinds += [PointKind.SOFTENED if r > 0 else PointKind.STIFFENED for r in residuals[end]]
    return kinds, residuals, standardised, flagged


def _advice(
    data: _Data,
    fit: _Fit,
    order: Indices,
    kinds: list[PointKind],
    flagged: Flags,
    separation: Separation,
    too_short: bool,
) -> list[Problem]:
    found = []

    def add(code: str, row: int | np.integer | None = None, **facts: object) -> None:
        path = () if row is None else ("readings", int(order[row]))
        found.append(Problem(code, path, facts, grave=False))

    for row in np.flatnonzero(flagged):
        add("outlying-reading", row, load_n=float(data.load[row]))
    if fit.end < len(kinds):
        code = "stiffens-at-end" if kinds[-1] is PointKind.STIFFENED else "softens-at-end"
        add(code, fit.end, load_n=float(data.load[fit.end]), count=len(kinds) - fit.end)
    if separation is Separation.NOT_SEPARATED:
        add("tension-not-separated", most_n=float(data.load[0]))
    if fit.closed == 1 and data.load[0] > 0:
        add("free-length-from-one-reading", 0, load_n=float(data.load[0]))
    if fit.end - fit.closed == 2:
        add("line-from-two-readings")
    if not data.stated and fit.scale <= 1e-9 * np.max(data.length):
        add("no-scatter")
    relative = fit.line.u_slope * fit.scale / fit.line.slope
    if relative > _UNSURE_RATE:
        add("rate-uncertain", None, relative=relative)
    if too_short:
        add(
            "unloaded-length-too-short",
            0,
            length_mm=float(data.length[0]),
            line_mm=fit.line.intercept,
        )
    return found
