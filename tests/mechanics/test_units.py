"""Conversion factors against NIST SP 811 (2008), Appendix B.8, and definitions that are exact."""

import pytest

from bobweight.core.units import (
    ANGLE,
    AREA,
    DEPRESSION,
    FORCE,
    LENGTH,
    MASS,
    QUANTITIES,
    SPRING_RATE,
    TORQUE,
    convert,
    store,
)

NIST_SP_811 = [  # quantity, unit, SI value of one, SI value of one stored unit; digits as printed
    (DEPRESSION, "inHg", 3386.389, 1e3),
    (DEPRESSION, "mmHg", 133.3224, 1e3),
    (DEPRESSION, "cmHg", 1333.224, 1e3),
    (DEPRESSION, "psi", 6894.757, 1e3),
    (DEPRESSION, "inH2O", 249.0889, 1e3),
    (DEPRESSION, "mbar", 100.0, 1e3),
    (DEPRESSION, "bar", 1e5, 1e3),
    (FORCE, "lbf", 4.448222, 1.0),
    (FORCE, "ozf", 0.2780139, 1.0),
    (FORCE, "kgf", 9.80665, 1.0),
    (LENGTH, "in", 0.0254, 1e-3),
    (LENGTH, "thou", 2.54e-5, 1e-3),
    (MASS, "oz", 0.02834952, 1e-3),
    (MASS, "lb", 0.4535924, 1e-3),
    (SPRING_RATE, "lbf/in", 175.1268, 1e3),
    (TORQUE, "lbf·in", 0.1129848, 1e-3),
    (TORQUE, "ozf·in", 7.061552e-3, 1e-3),
    (AREA, "in²", 6.4516e-4, 1e-6),
    (ANGLE, "rad", 57.29578, 1.0),
    (ANGLE, "′", 1 / 60, 1.0),
]


@pytest.mark.parametrize(("quantity", "symbol", "si", "stored_si"), NIST_SP_811)
def test_factor(quantity, symbol, si, stored_si):
    assert store(1.0, quantity, symbol) * stored_si == pytest.approx(si, rel=5e-7)


def test_round_trip_of_every_unit():
    for quantity in QUANTITIES.values():
        assert quantity.stored.factor == 1.0
        for unit in quantity.units:
            assert convert(store(12.34, quantity, unit.symbol), quantity, unit.symbol) == (
                pytest.approx(12.34, rel=1e-14)
            )
