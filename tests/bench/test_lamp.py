"""The timing lamp against published rates and the trade's own examples."""

import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bobweight.core.bench import lamp
from bobweight.core.mechanics.instrument import Reader
from bobweight.core.problems import BobweightError

LAMP = lamp.Lamp(static_deg=6.0, mark_error_deg=0.5, lag_ms=0.05)


def test_degrees_a_second():
    """Rajput, A Textbook of Internal Combustion Engines, Ex. 5.1: 1200 rev/min = 7200 °/s."""
    assert Reader(lag_ms=1000.0).late_deg(1200) == pytest.approx(7200)


def test_usual_delay():
    """Common practice: 50 µs is 0.9° at 3000 and 1.5° at 5000 rev/min."""
    late = Reader(lag_ms=0.05).late_deg(np.array([3000, 5000]))
    assert late == pytest.approx([0.9, 1.5])


def test_parallax():
    """Common practice (plane geometry): 1.5 mm on a 140 mm pulley is 1.2°."""
    assert lamp.parallax_deg(1.5, 140) == pytest.approx(1.2, abs=0.05)
    assert lamp.parallax_deg(np.array([-3.0, 0.0]), 140) == pytest.approx([-2.456, 0], abs=0.001)


def test_published_total():
    """Rootes workshop manual WSM 143, section B, p. 72 (seen): static 6°, 6 distributor degrees at
    3200 engine rev/min: 18° before top dead centre at the crank. A perfect lamp shows that; one
    with 50 µs delay 0.96° less (6 × 3200 degrees a second)."""
    assert lamp.shown_deg(lamp.Lamp(6.0), 3200, 6.0) == pytest.approx(18.0)
    assert lamp.shown_deg(lamp.Lamp(6.0, lag_ms=0.05), 3200, 6.0) == pytest.approx(17.04)


@given(
    st.floats(-10, 25), st.floats(0.5, 3), st.floats(-3, 3), st.floats(0, 0.3),
    st.floats(0, 7000), st.floats(-5, 25),
)  # fmt: skip
def test_there_and_back(static, ratio, mark, lag, speed, advance):
    one = lamp.Lamp(static, ratio, mark, lag)
    shown = lamp.shown_deg(one, speed, advance)
    assert one.reader.true(speed, shown)[1] == pytest.approx(advance, abs=1e-9)


@given(st.floats(0, 0.3), st.floats(500, 2500), st.floats(3000, 7000))
def test_lag_from_two_speeds(lag, low, high):
    """The second reading is made from the physics by steps: the crank turns on for the delay."""
    turned = [speed / 60 * 360 * lag / 1000 for speed in (low, high)]
    shown = (30 - turned[0], 30 - turned[1])
    got = lamp.lag_from_two_speeds((low, high), shown)
    halved = lamp.lag_from_two_speeds((2 * low, 2 * high), shown, scale=0.5)
    assert halved.lag_ms == pytest.approx(got.lag_ms)  # a tachometer that shows twice the speed
    assert got.lag_ms == pytest.approx(lag, abs=1e-9)
    assert got.late_deg(low) == pytest.approx(turned[0], abs=1e-9)
    assert got.u_lag_ms is None


def test_uncertainty_of_the_lag_against_a_drawn_sample():
    rng = np.random.default_rng(3)
    drawn = [
        lamp.lag_from_two_speeds((2000, 5000), (30 + a, 29 + b)).lag_ms
        for a, b in rng.normal(0, 0.3, (20_000, 2))
    ]
    got = lamp.lag_from_two_speeds((2000, 5000), (30, 29), u_reading_deg=0.3)
    assert got.lag_ms == pytest.approx(1 / 18)
    assert got.u_lag_ms == pytest.approx(np.std(drawn), rel=0.02)


def test_tachometer_scale():
    shown, reference = [1000, 2000, 3000, 4000], [970, 1950, 2900, 3900]
    ratios = [r / s for r, s in zip(reference, shown, strict=True)]
    got = lamp.tachometer_scale(shown, reference)
    assert got.scale == pytest.approx(statistics.mean(ratios))
    assert got.u_scale == pytest.approx(statistics.stdev(ratios) / 2)  # four pairs
    assert got.setting == "right"
    assert lamp.tachometer_scale(3000, 2900).u_scale is None


@pytest.mark.parametrize(
    ("shown", "setting"), [(2000, "right"), (4080, "double"), (990, "half"), (2660, "right")]
)
def test_tachometer_set_for_another_engine(shown, setting):
    """Common practice: ×2 or ½ from a wrong setting; a dash instrument wrong by a third is not."""
    assert lamp.tachometer_scale(shown, 2000).setting == setting


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: lamp.Lamp(6.0, 0.0), "not-positive"),
        (lambda: lamp.shown_deg(LAMP, -1, 5), "below-limit"),
        (lambda: lamp.parallax_deg(1, 0), "not-positive"),
        (lambda: lamp.lag_from_two_speeds((2000, 2000), (30, 29)), "speeds-equal"),
        (
            lambda: lamp.lag_from_two_speeds((2000, 5000), (30, 34), u_reading_deg=0.3),
            "lag-negative",
        ),
    ],
)
def test_refusals(call, code):
    with pytest.raises(BobweightError) as caught:
        call()
    assert caught.value.problem.code == code
