"""Leak-down of a vacuum capsule at a held line: p(t) = p₀ exp(−t / τ).

The logarithm of the depression falls along a straight line whose slope is −1/τ, so a weighted
straight line through two or more readings gives τ and its uncertainty.
"""

from __future__ import annotations

from math import exp, sqrt

import numpy as np
from numpy.typing import ArrayLike

from bobweight.core.bench._checks import finite, positive, within
from bobweight.core.frozen import frozen
from bobweight.core.statistics.lines import weighted_line

_LEAST_KPA = 1e-3


@frozen
class LeakDown:
    """What two or more readings of a held depression say.

    Parameters
    ----------
    rate_per_s : float
        1 / τ; not above 0 where no loss shows.
    u_rate_per_s : float or None
        Its standard uncertainty; None means it cannot be told (two readings, none stated).
    start_kpa : float
        Depression at time zero, from the line.
    relative_u_start : float
        Its relative standard uncertainty.
    start_rate_covariance : float
        Covariance of ln(start) and the rate, 1/s. Both as little known as ``u_rate_per_s``.
    """

    rate_per_s: float
    u_rate_per_s: float | None
    start_kpa: float
    relative_u_start: float = 0.0
    start_rate_covariance: float = 0.0

    @property
    def holds(self) -> bool:
        """True where no loss shows in the readings."""
        return self.rate_per_s <= 0

    def loss_kpa(self, start_kpa: float, test_s: float) -> float:
        """Depression in kPa lost in a test time in s from a starting depression in kPa."""
        start, time = _test(start_kpa, test_s)
        return 0.0 if self.holds else start * -float(np.expm1(-time * self.rate_per_s))

    def u_loss_kpa(self, start_kpa: float, test_s: float) -> float | None:
        """Standard uncertainty of that loss in kPa, to first order, the start being exact; None if
        it cannot be told."""
        start, time = _test(start_kpa, test_s)
        if self.u_rate_per_s is None:
            return None
        return start * time * exp(-time * max(self.rate_per_s, 0.0)) * self.u_rate_per_s

    def u_own_loss_kpa(self, test_s: float) -> float | None:
        """Standard uncertainty in kPa of the loss from the start that the same readings gave, with
        which the rate is correlated (JCGM 100:2008, 5.2.2); None if it cannot be told."""
        by_rate = self.u_loss_kpa(self.start_kpa, test_s)
        if by_rate is None or not self.u_rate_per_s:
            return by_rate
        by_start = self.loss_kpa(self.start_kpa, test_s)  # ∂ loss / ∂ ln(start)
        both = by_start * by_rate / self.u_rate_per_s * self.start_rate_covariance
        return sqrt(by_rate**2 + (by_start * self.relative_u_start) ** 2 + 2 * both)


def leak_down(
    time_s: ArrayLike, depression_kpa: ArrayLike, *, u_kpa: float | None = None
) -> LeakDown:
    """The leak of a capsule from readings of a held depression.

    Parameters
    ----------
    time_s : array_like
        Times in s, two or more, at least two of them different.
    depression_kpa : array_like
        Depression below ambient at each, kPa, above 0.
    u_kpa : float, optional
        Standard uncertainty of a reading, kPa, above 0. Without it the readings weigh as equally
        uncertain and their own scatter tells the uncertainty.

    Raises
    ------
    BobweightError
        ``too-few-points``, ``unequal-columns``, ``all-same-x``, ``not-positive``;
        ``below-limit`` under what any gauge shows.

    Notes
    -----
    Least squares of ln p with weights (p / u)², since u(ln p) = u / p.
    """
    time = finite("time_s", time_s).ravel()
    depression = positive("depression_kpa", depression_kpa, "kPa").ravel()
    within("depression_kpa", depression, _LEAST_KPA, unit="kPa")
    u = positive("u_kpa", 1.0 if u_kpa is None else u_kpa, "kPa")
    line = weighted_line(time, np.log(depression), u / depression)
    if u_kpa is None and not line.dof:
        return LeakDown(-float(line.slope), None, exp(line.intercept))
    scale = 1.0 if u_kpa is not None else float(line.scatter)
    return LeakDown(
        -float(line.slope), float(line.u_slope) * scale, exp(line.intercept),
        float(line.u_intercept) * scale, -float(line.covariance) * scale**2,
    )  # fmt: skip


def _test(start_kpa: float, test_s: float) -> tuple[float, float]:
    return (
        float(positive("start_kpa", start_kpa, "kPa")),
        float(positive("test_s", test_s, "s")),
    )
