"""The monotone cubic against scipy's."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from bobweight.core.mechanics.monotone import MonotoneCubic


def _tables(rising: bool):
    rng = np.random.default_rng(7)
    for count in (2, 3, 4, 7, 12) * 20:
        at = np.cumsum(rng.uniform(0.005, 0.1, count)) - 0.02
        steps = rng.exponential(size=count)
        values = np.cumsum(steps) if rising else np.cumsum(np.round(steps - 1.0))
        yield at, values, rng


@pytest.mark.parametrize("rising", [True, False])
def test_value_and_slope_are_those_of_scipy(rising: bool) -> None:
    # source: scipy.interpolate.PchipInterpolator, tables with level stretches and turns as well
    for at, values, rng in _tables(rising):
        theirs = PchipInterpolator(at, values, extrapolate=False)
        own = MonotoneCubic(at, values)
        asked = np.concatenate([at, rng.uniform(at[0] - 0.1, at[-1] + 0.1, 300)])
        value, slope = own.both(asked.reshape(-1, 1))
        for mine, other in ((value, theirs(asked)), (slope, theirs(asked, 1))):
            np.testing.assert_allclose(mine[:, 0], other, rtol=1e-12, atol=1e-12)


def test_the_inverse_leads_back_and_is_nothing_outside() -> None:
    for at, values, rng in _tables(True):
        own = MonotoneCubic(at, values)
        asked = rng.uniform(at[0], at[-1], 50)
        np.testing.assert_allclose(own.inverse(own.value(asked)), asked, atol=1e-9)
        np.testing.assert_allclose(own.inverse(values), at, atol=1e-9)
        assert np.isnan(own.inverse([values[0] - 1.0, values[-1] + 1.0, np.nan])).all()


def test_what_is_asked_may_be_a_number() -> None:
    own = MonotoneCubic(np.array([0.0, 1.0]), np.array([0.0, 2.0]))
    assert [float(v) for v in own.both(0.25)] == [0.5, 2.0]
    assert all(np.isnan(v) for v in own.both(1.5))
