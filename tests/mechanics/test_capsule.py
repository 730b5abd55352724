"""The vacuum capsule: triple and dimensions, travel, retard, friction, total at the crank."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bobweight.core.docket.vacuum import Capsule
from bobweight.core.mechanics.capsule import (
    capsule_advance_deg,
    capsule_problems,
    dimensions_from_triple,
    full_travel_kpa,
    plate_advance_deg,
    plate_curve,
    travel_from_degrees,
    triple_from_dimensions,
)
from bobweight.core.mechanics.predict import predict
from bobweight.core.mechanics.total import total_crank_deg
from bobweight.core.problems import BobweightError

from .mechanisms import plain

TRIPLE = Capsule(given_as="triple", start_kpa=12.0, full_kpa=40.0, full_deg=8.0)
DIMENSIONS = Capsule(
    given_as="dimensions", area_mm2=1200.0, spring_rate_n_per_mm=6.0, preload_n=15.0, travel_mm=4.0
)

triples = st.builds(
    lambda start, span, degrees, lever, offset: Capsule(
        given_as="triple", start_kpa=start, full_kpa=start + span, full_deg=degrees,
        lever_mm=lever, offset_deg=offset,
    ),
    st.floats(0.0, 40.0), st.floats(2.0, 50.0), st.floats(1.0, 30.0), st.floats(15.0, 60.0),
    st.floats(-30.0, 30.0),
)  # fmt: skip


@pytest.mark.parametrize(("degrees", "travel_mm"), [(5.0, 2.6), (10.0, 5.2)])
def test_pull_rod_travel(degrees, travel_mm):
    """Common practice: 2.6 mm for 5° and 5.2 mm for 10° at a 30 mm lever."""
    assert travel_from_degrees(degrees, 30.0, 0.0) == pytest.approx(travel_mm, abs=0.05)


def test_force_balance_by_hand():
    """1200 mm² at 20 kPa pull 24 N: 9 N over the preload is 1.5 mm, asin(1.5 / 30) = 2.866°."""
    assert capsule_advance_deg(DIMENSIONS, 20.0) == pytest.approx(
        math.degrees(math.asin(1.5 / 30.0)), rel=1e-12
    )
    assert capsule_advance_deg(DIMENSIONS, 12.5) == 0.0  # the preload just held
    full = math.degrees(math.asin(4.0 / 30.0))
    assert capsule_advance_deg(DIMENSIONS, [32.5, 90.0]) == pytest.approx([full, full])


def test_rod_offset_by_position():
    """Pin and rod as vectors: the rod pulls along x, so the pin's x is what travels."""
    lever, offset = 25.0, 20.0
    rest = lever * math.sin(math.radians(-offset))  # pin 20° behind square to the rod
    for degrees in (2.0, 9.0, 15.0):
        x = lever * math.sin(math.radians(degrees - offset))
        assert travel_from_degrees(degrees, lever, offset) == pytest.approx(x - rest, rel=1e-12)


@given(triples, st.floats(300.0, 800.0))
def test_triple_to_dimensions_and_back(capsule, area_mm2):
    back = triple_from_dimensions(dimensions_from_triple(capsule, area_mm2))
    for key in ("start_kpa", "full_kpa", "full_deg"):
        assert getattr(back, key) == pytest.approx(getattr(capsule, key), rel=1e-9, abs=1e-9)


@given(triples)
def test_triple_is_met_and_monotone(capsule):
    start, full = capsule.start_kpa, capsule.full_kpa
    assert capsule_advance_deg(capsule, [0.0, start]) == pytest.approx([0.0, 0.0], abs=1e-9)
    assert capsule_advance_deg(capsule, [full, full + 30]) == pytest.approx(
        [capsule.full_deg] * 2, rel=1e-9
    )
    inside = capsule_advance_deg(capsule, np.linspace(start, full, 50))
    assert np.all(np.diff(inside) > 0)


@given(triples, st.floats(0.0, 90.0))
def test_retard_is_the_mirror_image(capsule, depression):
    retard = capsule.with_changes(acts="retard")
    assert capsule_advance_deg(retard, depression) == -capsule_advance_deg(capsule, depression)


def test_friction_shifts_both_ways():
    """F_f / A of depression: 1.2 N over 1200 mm² is 1 kPa later rising, 1 kPa sooner falling."""
    dry = DIMENSIONS.with_changes(friction_n=1.2)
    depression = np.linspace(0.0, 60.0, 121)
    free = capsule_advance_deg(dry, depression)
    rising = capsule_advance_deg(dry, depression, "rising")
    falling = capsule_advance_deg(dry, depression, "falling")
    assert free == pytest.approx(capsule_advance_deg(DIMENSIONS, depression))
    assert rising == pytest.approx(capsule_advance_deg(DIMENSIONS, depression - 1.0), abs=1e-12)
    assert falling == pytest.approx(capsule_advance_deg(DIMENSIONS, depression + 1.0), abs=1e-12)
    curve = plate_curve((dry,))
    for bend in (11.5, 12.5, 13.5, 31.5, 32.5, 33.5):
        assert np.min(np.abs(curve.depression_kpa - bend)) < 1e-9


def test_friction_of_a_triple_uses_its_area_when_known():
    """A triple says nothing of force; a stated area turns the friction into depression."""
    known = TRIPLE.with_changes(area_mm2=600.0, friction_n=1.2)
    assert capsule_advance_deg(known, 26.0, "rising") == pytest.approx(
        capsule_advance_deg(TRIPLE, 24.0)
    )


def test_problems():
    assert capsule_problems(Capsule()) == []
    assert [p.path for p in capsule_problems(Capsule(given_as="triple"))] == [
        ("start_kpa",), ("full_kpa",), ("full_deg",),
    ]  # fmt: skip
    swapped = TRIPLE.with_changes(start_kpa=41.0)
    assert [p.code for p in capsule_problems(swapped)] == ["capsule-full-before-start"]
    with pytest.raises(BobweightError):
        dimensions_from_triple(swapped)
    long = DIMENSIONS.with_changes(lever_mm=5.0, travel_mm=6.0)
    assert any(p.code == "capsule-beyond-lever" for p in capsule_problems(long))
    assert plate_curve((long,)) is None


def test_total_at_the_crank():
    """static + ratio · (θ_c(N / ratio) + θ_v), and the capsule's own zero."""
    prediction = predict(plain())
    engine = np.array([600.0, 1200.0, 3000.0])[:, None]
    depression = np.array([0.0, 26.0, 60.0])
    total = total_crank_deg(6.0, 2.0, prediction, (TRIPLE,), engine, depression)
    assert total.shape == (3, 3)
    by_hand = 6.0 + 2.0 * (
        prediction.advance_deg(engine / 2.0) + capsule_advance_deg(TRIPLE, depression)
    )
    assert total == pytest.approx(by_hand)
    assert total[2] == pytest.approx([6 + 2 * 13.0, 6 + 2 * (13 + 4.0), 6 + 2 * 21.0], abs=0.1)
    at_crank_speed = total_crank_deg(6.0, 1.0, prediction, (), 700.0, 0.0)
    assert at_crank_speed == pytest.approx(6.0 + prediction.advance_deg(700.0))


def test_two_capsules_on_one_plate_add_and_the_shut_throttle_starves_the_edge():
    """An advance capsule fed from the edge, a retard capsule from the manifold: at idle only the
    retard pulls."""
    edge = TRIPLE.with_changes(fed_from="edge")
    retard = TRIPLE.with_changes(acts="retard", fed_from="manifold", full_deg=3.0)
    both = (edge, retard)
    kpa = np.array([0.0, 20.0, 60.0])
    alone = capsule_advance_deg(edge, kpa) + capsule_advance_deg(retard, kpa)
    assert plate_advance_deg(both, kpa) == pytest.approx(alone)
    assert plate_advance_deg(both, 60.0) == pytest.approx(5.0)
    shut = plate_advance_deg(both, 60.0, throttle_shut=True)
    assert shut == pytest.approx(-3.0)
    assert plate_advance_deg(both, kpa, throttle_shut=np.array([True, False, True]))[1:] == (
        pytest.approx([alone[1], -3.0])
    )
    assert full_travel_kpa(both) == 40.0
    assert plate_advance_deg((), 50.0) == 0.0


def test_a_capsule_that_cannot_be_is_left_out():
    wrong = TRIPLE.with_changes(full_kpa=1.0)
    assert plate_advance_deg((wrong, TRIPLE), 50.0) == pytest.approx(8.0)
    assert plate_curve((wrong,)) is None and full_travel_kpa((wrong,)) is None
