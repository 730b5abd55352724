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
    AREA,
    CURRENT,
    DEPRESSION,
    FORCE,
    LENGTH,
    MASS,
    NUMBER,
    QUANTITIES,
    RESISTANCE,
    SPEED,
    SPRING_RATE,
    STRESS,
    TIME_MS,
    TORQUE,
    VOLTAGE,
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
        ("5/8”", LENGTH, None, 15.875),
        ("5/8''", LENGTH, None, 15.875),
        ("1–1/2 in", LENGTH, None, 38.1),
        ("3/10 mm", LENGTH, None, 0.3),
        ("12 millimetres", LENGTH, None, 12.0),
        ("–12", LENGTH, None, -12.0),
        ("１２，５ ｍｍ", LENGTH, None, 12.5),
        ("1\u00a0234,5", LENGTH, None, 1234.5),
        ("1’234.5", LENGTH, None, 1234.5),
        ("1.234.567", MASS, None, 1234567.0),
        ("2 ounces", MASS, None, 2 * 28.349523125),
        ("1 lbs", MASS, None, 453.59237),
        ("8 oz-in", TORQUE, None, 8 * 7.061552),
        ("8 in-oz", TORQUE, None, 8 * 7.061552),
        ("12 N*mm", TORQUE, None, 12.0),
        ("12 lbs per inch", SPRING_RATE, None, 12 * 4.448222 / 25.4),
        ("12º", ANGLE, None, 12.0),
        ("30'", ANGLE, None, 0.5),
        ("6″ Hg", DEPRESSION, None, 6 * 3.386389),
        ("1000'", ALTITUDE, None, 304.8),
        ("1200 1/min", SPEED, None, 1200.0),
        ("1.200 krpm", SPEED, None, 1200.0),
        ("600.000", SPEED, None, 600.0),
        ("5 kohm", RESISTANCE, None, 5000.0),
        ("2/3", NUMBER, None, 2 / 3),
        ("20 MBAR", DEPRESSION, None, 2.0),
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
        ("0.25 in ± 5 thou", "mm", 6.35, 0.127),
        ("25 ± 1 thou", "in", 0.635, 0.0254),
        ("12 ∓ 0,2", "mm", 12.0, 0.2),
        ("0 ± 5 thou", "in", 0.0, 0.127),
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
        ("1/2.5 in", LENGTH, "not-a-number"),
        ("12 13", LENGTH, "not-a-number"),
        ("1,2,3", LENGTH, "not-a-number"),
        ("12,13,14", LENGTH, "not-a-number"),
        ("1,23 4", LENGTH, "not-a-number"),
        ("1,.2", LENGTH, "not-a-number"),
        ("1 23 456", LENGTH, "not-a-number"),
        ("12-13", ANGLE, "not-a-number"),
        ("12?", ANGLE, "not-a-number"),
        ("½1 in", LENGTH, "not-a-number"),
        ("61/2 in", LENGTH, "fraction-unclear"),
        ("11/2″", LENGTH, "fraction-unclear"),
        ("12/13 mm", LENGTH, "fraction-unclear"),
        ("5/8 mm", LENGTH, "fraction-unclear"),
        ("10/12", ANGLE, "fraction-unclear"),
        ("600/1200", SPEED, "fraction-unclear"),
        ("9" * 5000 + "/2", LENGTH, "fraction-unclear"),
        ("12 ± 1", LENGTH, "uncertainty-not-kept"),
        ("5'", LENGTH, "unknown-unit"),
        ("10 min", ANGLE, "unknown-unit"),
        ("5 mΩ", RESISTANCE, "unknown-unit"),
        ("5 mohm", RESISTANCE, "unknown-unit"),
        ("200 MV", VOLTAGE, "unknown-unit"),
        ("4 MA", CURRENT, "unknown-unit"),
        ("800 mPa", STRESS, "unknown-unit"),
        ("3 Ms", TIME_MS, "unknown-unit"),
        ("1.200", SPEED, "comma-ambiguous"),
        ("1.200 U/min", SPEED, "comma-ambiguous"),
        ("1,250 mm²", AREA, "comma-ambiguous"),
        ("1,500 N/m", SPRING_RATE, "comma-ambiguous"),
        ("1,500 µm", LENGTH, "comma-ambiguous"),
        ("2,000", NUMBER, "comma-ambiguous"),
        ("1.2.3", LENGTH, "not-a-number"),
        ("12 5", LENGTH, "not-a-number"),  # thousands come in threes
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


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("0.25 ± 5 thou", "whose-unit"),
        ("12 ± 5 µm", "whose-unit"),
        ("12 ± 1 ± 2", "not-a-number"),
        ("12 ±", "not-a-number"),
        ("± 0.2", "not-a-number"),
        ("12 g ± 1", "unknown-unit"),
    ],
)
def test_refused_with_its_uncertainty(text, code):
    with pytest.raises(BobweightError) as refused:
        parse_with_uncertainty(text, LENGTH, "in")
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
