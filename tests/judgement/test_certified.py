"""The fit that judges readings, and its own uncertainties, against certified regression data.

Another curve and other readings stand where the mechanism's are; start, descent, residuals, slopes
and covariance are the product's. Its residuals allow for slips and for what was known before. Both
fade as the readings' uncertainties and the doubt before grow: the certified errors then come out
times ``WIDE``, and by :data:`ORDINARY`, since even a perfect reading may be a slip.
"""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pytest

from bobweight.core.judgement.fit import most_probable
from bobweight.core.judgement.objective import Objective, weights

WIDE = 30.0
ORDINARY = float(weights(np.zeros(1))[0]) ** 0.5


class Certified(Objective):
    """Readings ``y`` of ``curve(x, p)`` in place of a session; the values about a start."""

    def __init__(self, curve, x, y, start, u_y, doubt):
        self.curve, self.x, self.y = curve, np.asarray(x, float), np.asarray(y, float)
        self.start, self.doubt = np.asarray(start, float), np.asarray(doubt, float)
        self.u = WIDE * np.asarray(u_y, float)
        self.bounds = np.full((2, len(self.start)), [[-np.inf], [np.inf]])

    @property
    def size(self):
        return len(self.start)

    def values(self, z):
        return self.start + z * self.doubt

    def distances(self, z):
        return (self.curve(self.x, self.values(z).T[:, :, None]) - self.y) / self.u


def fitted(curve, x, y, start, u_y, doubt):
    """Values and their covariance as the product finds them, for readings of that uncertainty."""
    objective = Certified(curve, x, y, start, u_y, doubt)
    z = most_probable(objective, np.zeros((1, objective.size))).x[0]
    covariance = objective.covariance(z) * np.outer(objective.doubt, objective.doubt)
    return objective.values(z), covariance * (ORDINARY / WIDE) ** 2


def columns(text):
    return np.array(text.split(), float)


def exponential(x, p):
    return p[0] * (1 - np.exp(-p[1] * x))


def power(x, p):
    return p[0] * x ** p[1]


def line(x, p):
    return p[0] + p[1] * x


MISRA1A = (
    columns("77.6 114.9 141.1 190.8 239.9 289.0 332.8 378.4 434.8 477.3 536.8 593.1 689.1 760.0"),
    columns("10.07 14.73 17.94 23.93 29.61 35.18 40.02 44.82 50.76 55.05 61.01 66.40 75.47 81.78"),
)
DANWOOD = (
    columns("1.309 1.471 1.490 1.565 1.611 1.680"),
    columns("2.138 3.421 3.597 4.340 4.882 5.660"),
)


def norris():
    path = files("scipy.stats") / "tests" / "data" / "nist_linregress" / "Norris.dat"
    if not path.is_file():
        pytest.skip("this scipy is installed without its test data")
    rows = [r.split() for r in path.read_text().splitlines()[60:] if len(r.split()) == 2]
    data = np.array(rows, float)
    return data[:, 1], data[:, 0]


# NIST StRD, nonlinear and linear regression: certified values, their standard deviations and the
# residual standard deviation (that of Misra1a and of Norris from memory); NIST's own starts and the
# certified values themselves.
@pytest.mark.parametrize(
    ("curve", "data", "start", "values", "u", "scatter"),
    [
        *((exponential, MISRA1A, start, (238.94212918, 5.5015643181e-4),
           (2.7070075241, 7.2668688436e-6), 0.10187876330)
          for start in ((500, 0.0001), (250, 0.0005), (238.9421, 5.5015643e-4))),
        *((power, DANWOOD, start, (0.76886226176, 3.8604055871),
           (0.018281973860, 0.051726610913), 0.032853114039)
          for start in ((1, 5), (0.7, 4))),
        (line, norris, (0.1, 1.0), (-0.262323073774029, 1.00211681802045),
         (0.232818234301152, 0.000429796848199937), 0.884796396144373),
    ],
)  # fmt: skip
def test_nist(curve, data, start, values, u, scatter):
    x, y = data() if callable(data) else data
    found, covariance = fitted(curve, x, y, start, scatter, 1e4 * np.array(u))
    assert (found - values) / u == pytest.approx([0, 0], abs=2e-3)
    assert np.sqrt(np.diag(covariance)) == pytest.approx(u, rel=5e-4)


def test_iso_28037_example_1_with_known_uncertainties():
    # ISO/TS 28037:2010, example 1: a 1.867 (0.465), b 1.757 (0.120), cov −0.050, chi2 1.665.
    y = columns("3.3 5.6 7.1 9.3 10.7 12.1")
    found, covariance = fitted(line, np.arange(1.0, 7.0), y, (1.0, 1.0), 0.5, (1e3, 1e3))
    assert found == pytest.approx([1.867, 1.757], abs=5e-4)
    assert np.sqrt(np.diag(covariance)) == pytest.approx([0.465, 0.120], abs=5e-4)
    assert covariance[0, 1] == pytest.approx(-0.050, abs=5e-4)


def test_slips_count_for_a_twenty_fifth_and_what_was_known_before_counts():
    # Both by hand: of a mean of readings, each of uncertainty 1, one far out.
    far = [0.0, 0.0, 0.0, 0.0, 30.0]
    objective = Certified(lambda x, p: p[0] + 0 * x, far, far, [0.0], 1 / WIDE, [1.0])
    information = objective.information(np.zeros(1))[0, 0]
    assert information == pytest.approx(1 + 4 * ORDINARY**2 + 1 / 25, rel=1e-9)
