"""Published distributor tables, met by mechanisms that a plain least squares finds.

The search is scipy's; the curve is the core's. What is shown is that the model can be what the
tables were taken from, within their bands.
"""

import numpy as np
import pytest
from scipy.optimize import least_squares

from bobweight.core.docket.mechanism import Linkage, Weights
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.mechanics.capsule import capsule_advance_deg, capsule_problems
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.predict import predict
from bobweight.core.mechanics.total import total_crank_deg

from .mechanisms import plain, spring

MMHG_KPA = 0.1333224  # NIST SP 811 (2008), Appendix B.8

# Lotus Europa workshop data, ignition section (seen): distributor degrees and rev/min; static 4°.
NONE_BELOW_RPM = 550.0
CENTRIFUGAL = np.array([(920, 7.8), (1000, 8.0), (2000, 13.0), (3000, 18.0)])
VACUUM = np.array([(100, 1.5), (200, 4.6), (300, 6.5), (400, 7.0)])  # mmHg, degrees
BAND_DEG, START_BAND_RPM = 1.0, 50.0  # common practice where a table states none


def dog_legged(x):
    """A light primary, and a stiff secondary with initial tension taken up at the dog-leg."""
    primary, secondary, preload, tension, taken_up, rest = x
    return plain(
        weights=Weights(
            count=2, mass_g=30.0, pivot_radius_mm=18.0, cg_mm=13.0, rest_angle_deg=rest
        ),
        linkage=Linkage(kind="constant", ratio=0.5),
        springs=(
            spring(
                16.5 - preload, rate_n_per_mm=np.exp(primary), post_angle_deg=-45.0
            ),
            spring(
                16.5, slack_mm=taken_up, rate_n_per_mm=np.exp(secondary),
                initial_tension_n=tension, post_angle_deg=-45.0,
            ),
        ),
        stop_deg=20.0,
    )  # fmt: skip


def test_a_mechanism_meets_a_published_table():
    def off(x):
        prediction = predict(dog_legged(x), knots=60)
        degrees = prediction.advance_deg(CENTRIFUGAL[:, 0]) - CENTRIFUGAL[:, 1]
        start = (prediction.start_rpm - NONE_BELOW_RPM - 20.0) / START_BAND_RPM
        return np.append(degrees / BAND_DEG, start)

    limits = ([-2.5, -1.0, 0.0, 0.0, 0.3, 45.0], [3.0, 5.0, 8.0, 60.0, 3.5, 130.0])
    found = least_squares(
        off, [0.7, 4.0, 5.0, 10.0, 1.5, 65.0], bounds=limits, diff_step=1e-4, x_scale=limits[1]
    )
    mechanism = dog_legged(found.x)
    assert not any(problem.grave for problem in mechanism_problems(mechanism))
    prediction = predict(mechanism)
    assert prediction.advance_deg(CENTRIFUGAL[:, 0]) == pytest.approx(
        CENTRIFUGAL[:, 1], abs=0.3 * BAND_DEG
    )
    assert prediction.advance_deg(NONE_BELOW_RPM) == 0.0
    assert prediction.start_rpm == pytest.approx(NONE_BELOW_RPM, abs=START_BAND_RPM)


def test_a_triple_meets_published_vacuum_rows():
    def capsule(x):
        return Capsule(given_as="triple", start_kpa=x[0], full_kpa=x[1], full_deg=x[2])

    def off(x):
        return capsule_advance_deg(capsule(x), VACUUM[:, 0] * MMHG_KPA) - VACUUM[:, 1]

    found = least_squares(off, [6.0, 42.0, 7.0], diff_step=1e-4)
    assert capsule_problems(capsule(found.x)) == []
    assert np.max(np.abs(off(found.x))) < 0.5  # half the band of common practice


def test_crank_figures_of_a_workshop_manual():
    """Rootes workshop manual WSM 143, section B, p. 72 (seen): 5¼ to 7 distributor degrees at
    3200 engine rev/min, mean 6; with 6° static, 18° before top dead centre at the crank."""

    def with_rate(factor):
        return plain(
            springs=(
                spring(15.0, rate_n_per_mm=0.9 * factor),
                spring(15.2, rate_n_per_mm=6.0 * factor, slack_mm=1.3),
            )
        )

    found = least_squares(
        lambda x: predict(with_rate(np.exp(x[0])), 60).advance_deg([1600.0]) - 6.0, [2.3]
    )
    prediction = predict(with_rate(np.exp(found.x[0])))
    assert 5.25 < prediction.advance_deg(3200.0 / 2) < 7.0
    total = total_crank_deg(6.0, 2.0, prediction, (), 3200.0, 0.0)
    assert total == pytest.approx(18.0, abs=1e-3)
