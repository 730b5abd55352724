"""What may be typed: units, decimal marks, and what is refused.

Factors: NIST SP 811 (2008), Appendix B.8.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bobweight.core.problems import BobweightError
from bobweight.core.units import (
    ALTITUDE,
    ANGLE,
    DEPRESSION,
    FORCE,
    LENGTH,
    MASS,
    NUMBER,
    QUANTITIES,
    SPEED,
    SPRING_RATE,
    convert,
    parse,
    parse_with_uncertainty,
    shown,
    store,
)  # fmt: skip


@pytest.mark.parametrize(
    ("text", "quantity", "symbol", "stored"),
    [
        ("12 inHg", DEPRESSION, None, 12 * 3.386389),
        ("0.35 in", LENGTH, None, 0.35 * 25.4),
        ("14 thou", LENGTH, None, 0.014 * 25.4),
        ("3.2 lbf/in", SPRING_RATE, None, 3.2 * 4.448222 / 25.4),
        ("17 oz", FORCE, None, 17 * 0.2780139),
        ("1,5", LENGTH, None, 1.5),
        ("1.5", LENGTH, "in", 38.1),
        ("12,345", LENGTH, None, 12.345),
        ("0,250 kg", MASS, None, 250.0),
        ("1.234,5 g", MASS, None, 1234.5),
        ("1,234.5", MASS, None, 1234.5),
        ("1 250", SPEED, None, 1250.0),
        ("1'250 rpm", SPEED, None, 1250.0),
        ("1,250,000", SPEED, None, 1250000.0),
        ("−2.5°", ANGLE, None, -2.5),
        ("30′", ANGLE, None, 0.5),
        ("30'", ANGLE, None, 0.5),  # as on a keyboard
        ("5000'", ALTITUDE, None, 1524.0),
        ("900 1/min", SPEED, None, 900.0),
        ("1 250,5 rpm", SPEED, None, 1250.5),
        (".5", LENGTH, None, 0.5),
        ("2e-1", LENGTH, None, 0.2),
        ("250 MMHG", DEPRESSION, None, 250 * 0.1333224),
        ("1/4 in", LENGTH, None, 6.35),
        ("5/8″", LENGTH, None, 15.875),
        ("6 1/2 in", LENGTH, None, 165.1),
        ("6-1/2 in", LENGTH, None, 165.1),
        ("6½ in", LENGTH, None, 165.1),
        ("−3/64", LENGTH, "in", -3 * 25.4 / 64),
    ],
)
def test_typed(text, quantity, symbol, stored):
    assert parse(text, quantity, symbol) == pytest.approx(stored, rel=2e-7)


@pytest.mark.parametrize(
    ("text", "symbol", "value", "u"),
    [
        ("12 ± 0.2", "mm", 12.0, 0.2),
        ("12 ± 0.2 in", "mm", 304.8, 5.08),
        ("12 mm ± 0.01 in", "mm", 12.0, 0.254),
        ("1/2 in ± 1/64", "mm", 12.7, 25.4 / 64),
        ("12 +/- 5 %", "mm", 12.0, 0.6),
        ("12", "mm", 12.0, None),
        ("-3", "mm", -3.0, None),
    ],
)
def test_typed_with_its_uncertainty(text, symbol, value, u):
    assert parse_with_uncertainty(text, LENGTH, symbol) == pytest.approx((value, u))


@pytest.mark.parametrize(
    ("text", "quantity", "code"),
    [
        ("", LENGTH, "not-a-number"),
        ("about 3", LENGTH, "not-a-number"),
        ("1/0 in", LENGTH, "not-a-number"),
        ("1/2.5 in", LENGTH, "unknown-unit"),
        ("1.2.3", LENGTH, "not-a-number"),
        ("12 5", LENGTH, "unknown-unit"),  # thousands come in threes
        ("5'", LENGTH, "unknown-unit"),
        ("1e999", LENGTH, "not-a-number"),
        ("nan", LENGTH, "not-a-number"),
        ("3 furlongs", LENGTH, "unknown-unit"),
        ("3 inHg", LENGTH, "unknown-unit"),
        ("3 miles", NUMBER, "no-unit-here"),
        ("1,250", SPEED, "comma-ambiguous"),
        ("1,250 m", ALTITUDE, "comma-ambiguous"),
        ("1,250 g", MASS, "comma-ambiguous"),
    ],
)
def test_refused(text, quantity, code):
    with pytest.raises(BobweightError) as refused:
        parse(text, quantity)
    assert refused.value.problem.code == code


@given(
    st.sampled_from([(q, u) for q in QUANTITIES.values() for u in q.units]),
    st.floats(-1e6, 1e6, allow_nan=False),
)
def test_every_unit_round_trips(case, value):
    quantity, unit = case
    assert convert(store(value, quantity, unit.symbol), quantity, unit.symbol) == pytest.approx(
        value, rel=1e-12, abs=1e-12
    )
    text = f"{shown(value, quantity, unit.symbol, 17)} {unit.symbol}"
    assert parse(text, quantity) == pytest.approx(value, rel=1e-9, abs=1e-9)


def test_no_two_units_of_a_quantity_share_a_spelling():
    for quantity in QUANTITIES.values():
        spellings = ({n.replace(" ", "") for n in (u.symbol, *u.also)} for u in quantity.units)
        names = [name for unit in spellings for name in unit]
        assert len(names) == len(set(names)), quantity.key
