"""Conversion factors against NIST SP 811 (2008), Appendix B.8, and definitions that are exact."""

import pytest

from bobweight.core import units
from bobweight.core.units import LENGTH, QUANTITIES, convert, parse_with_uncertainty, shown, store

NIST_SP_811 = {  # by quantity and unit: SI value of one, digits as printed
    ("depression", "inHg"): 3386.389, ("depression", "mmHg"): 133.3224,
    ("depression", "cmHg"): 1333.224, ("depression", "mbar"): 100.0, ("depression", "bar"): 1e5,
    ("depression", "psi"): 6894.757, ("depression", "inH2O"): 249.0889,
    ("force", "gf"): 9.80665e-3, ("force", "kgf"): 9.80665, ("force", "lbf"): 4.448222,
    ("force", "ozf"): 0.2780139,
    ("length", "in"): 0.0254, ("length", "thou"): 2.54e-5,
    ("mass", "oz"): 0.02834952, ("mass", "lb"): 0.4535924,
    ("spring_rate", "lbf/in"): 175.1268, ("spring_rate", "ozf/in"): 175.1268 / 16,
    ("spring_rate", "kgf/mm"): 9806.65, ("spring_rate", "gf/mm"): 9.80665,
    ("torque", "lbf·in"): 0.1129848, ("torque", "ozf·in"): 7.061552e-3,
    ("area", "in²"): 6.4516e-4,
    ("angle", "°"): 0.01745329, ("angle", "′"): 2.908882e-4,
    ("speed", "rev/min"): 0.1047198, ("speed", "rev/s"): 6.283185,
    ("torsion_rate", "N·mm/°"): 1e-3 / 0.01745329,
    ("stress", "kpsi"): 6.894757e6, ("stress", "Mpsi"): 6.894757e9,
    ("time_s", "min"): 60.0, ("altitude", "ft"): 0.3048,
}  # fmt: skip
SI_PREFIXES = {  # ISO 80000-1:2009, 6.5.4: k 10³, M 10⁶, G 10⁹, c 10⁻², m 10⁻³, µ 10⁻⁶, n 10⁻⁹
    ("depression", "kPa"): 1e3, ("length", "mm"): 1e-3, ("length", "cm"): 1e-2,
    ("length", "µm"): 1e-6, ("mass", "g"): 1e-3, ("mass", "kg"): 1.0, ("force", "N"): 1.0,
    ("spring_rate", "N/mm"): 1e3, ("spring_rate", "N/m"): 1.0, ("torque", "N·mm"): 1e-3,
    ("torque", "N·m"): 1.0, ("torsion_rate", "N·m/rad"): 1.0, ("angle", "rad"): 1.0,
    ("speed", "rad/s"): 1.0, ("speed", "krpm"): 1e3 * 0.1047198, ("area", "mm²"): 1e-6,
    ("area", "cm²"): 1e-4, ("stress", "MPa"): 1e6, ("stress", "GPa"): 1e9,
    ("time_ms", "ms"): 1e-3, ("time_ms", "µs"): 1e-6, ("time_ms", "s"): 1.0, ("time_s", "s"): 1.0,
    ("resistance", "Ω"): 1.0, ("resistance", "kΩ"): 1e3, ("resistance", "MΩ"): 1e6,
    ("inductance", "mH"): 1e-3, ("inductance", "H"): 1.0, ("capacitance", "µF"): 1e-6,
    ("capacitance", "nF"): 1e-9, ("voltage", "V"): 1.0, ("voltage", "mV"): 1e-3,
    ("current", "A"): 1.0, ("current", "mA"): 1e-3, ("altitude", "m"): 1.0, ("altitude", "km"): 1e3,
    ("inertia_slope", "g·mm²/rad"): 1e-9, ("number", ""): 1.0, ("percent", "%"): 1e-2,
    ("focal_length", "mm"): 1e-3,
}  # fmt: skip
SI = NIST_SP_811 | SI_PREFIXES


def test_every_unit_has_a_published_value():
    assert set(SI) == {(q.key, unit.symbol) for q in QUANTITIES.values() for unit in q.units}


@pytest.mark.parametrize(("key", "symbol"), SI)
def test_factor(key, symbol):
    quantity = QUANTITIES[key]
    stored_si = SI[key, quantity.stored.symbol]
    assert store(1.0, quantity, symbol) * stored_si == pytest.approx(SI[key, symbol], rel=5e-7)


def test_round_trip_of_every_unit():
    for quantity in QUANTITIES.values():
        assert quantity.stored.factor == 1.0
        for unit in quantity.units:
            assert convert(store(12.34, quantity, unit.symbol), quantity, unit.symbol) == (
                pytest.approx(12.34, rel=1e-14)
            )


def test_a_share_is_of_the_value_with_or_without_a_space():
    assert parse_with_uncertainty("12 ± 5%", LENGTH) == (12.0, pytest.approx(0.6))
    assert parse_with_uncertainty("12 ± 5 %", LENGTH) == (12.0, pytest.approx(0.6))


def test_without_a_unit_the_stored_one_is_shown():
    assert shown(12.5, LENGTH) == "12.5"


def test_a_chance_is_not_rounded_over_what_divides_the_words_of_a_decision():
    """JCGM 106:2012, 8.3: acceptance at 95 % is at 95 %, not at 94.5 %."""
    shown = {0.9495: "94 %", 0.95: "95 %", 0.796: "79 %", 0.8: "80 %", 0.2: "20 %", 0.204: "21 %",
             0.05: "5 %", 0.0501: "6 %", 0.996: ">99 %", 0.004: "<1 %", 0.505: "50 %"}  # fmt: skip
    assert {p: units.percent(p) for p in shown} == shown


def test_a_pass_rate_divides_no_words_and_is_rounded_plainly():
    """Of 500 builds 101 pass: 20.2 of a hundred, by hand."""
    shown = {101 / 500: "20 %", 399 / 500: "80 %", 474 / 500: "95 %", 26 / 500: "5 %",
             1.0: ">99 %", 0.0: "<1 %"}  # fmt: skip
    assert {share: units.pass_rate(share) for share in shown} == shown
