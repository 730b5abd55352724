"""Air pressure against the tables of the US Standard Atmosphere, 1976 (geometric height)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bobweight.core.bench import atmosphere
from bobweight.core.problems import BobweightError
from bobweight.core.units import ALTITUDE, DEPRESSION, store


@pytest.mark.parametrize(
    ("height_m", "pascal", "tolerance"),
    [
        (0, 101325.0, 1e-9),
        (500, 95461.29, 1e-6),
        (1000, 89876.28, 1e-6),
        (2000, 79501.4, 2e-6),
        (3000, 70121.2, 2e-6),
        # from memory, to the five digits of the printed table
        (5000, 54048.0, 2e-5),
        (10000, 26500.0, 2e-5),
        (11000, 22700.0, 3e-5),
    ],
)
def test_table(height_m, pascal, tolerance):
    assert 1000 * atmosphere.pressure_kpa(height_m) == pytest.approx(pascal, rel=tolerance)


def test_about_an_inch_of_mercury_for_each_thousand_feet():
    """Common practice: available depression falls about 1 inHg per 1000 ft. That is the fall of
    the air's own pressure; a share of it is lost from a part depression."""
    inch, feet = (
        store(1.0, DEPRESSION, "inHg"),
        store(np.array([0.0, 1000.0, 2000.0, 3000.0]), ALTITUDE, "ft"),
    )
    air = -np.diff(atmosphere.pressure_kpa(feet)) / inch
    assert np.all((air > 0.9) & (air < 1.1))
    at_idle = -np.diff(atmosphere.depression_at_height_kpa(20 * inch, feet)) / inch
    assert np.all((at_idle > 0.5) & (at_idle < 1.0))


@given(st.floats(1, 100), st.floats(0, 11000))
def test_a_share_of_the_air_is_kept(depression, height):
    left = atmosphere.depression_at_height_kpa(depression, height)
    air = atmosphere.pressure_kpa(height)
    assert left / air == pytest.approx(depression / 101.325)


@given(st.floats(1, 100), st.floats(0, 10999))
def test_height_for_a_wanted_depression(depression, height):
    wanted = atmosphere.depression_at_height_kpa(depression, height)
    assert atmosphere.height_for_depression_m(depression, wanted) == pytest.approx(height, abs=1e-4)


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: atmosphere.pressure_kpa(-1), "below-limit"),
        (lambda: atmosphere.pressure_kpa([0, 11001]), "above-limit"),
        (lambda: atmosphere.depression_at_height_kpa(102, 0), "above-limit"),
        (lambda: atmosphere.height_for_depression_m(40, 50), "depression-never-available"),
        (lambda: atmosphere.height_for_depression_m(60, 5), "above-limit"),
    ],
)
def test_refusals(call, code):
    with pytest.raises(BobweightError) as caught:
        call()
    assert caught.value.problem.code == code
