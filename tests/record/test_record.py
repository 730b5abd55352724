"""The description of values: access by path, limits, uncertainties that go with their number."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given, settings

from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.problems import BobweightError, path_text
from bobweight.core.record import (
    as_fine,
    get,
    parameter_at,
    parameters,
    put,
    put_measured,
    put_uncertainty,
    standard_uncertainty,
    value_problems,
    walk,
)  # fmt: skip
from tests.strategies import dockets

MASS = ("mechanism", "weights", "mass_g")


@given(dockets(within="usual"))
@settings(max_examples=25, deadline=None)
def test_every_value_can_be_put_back_where_it_was(docket):
    for path, parameter, value in walk(docket):
        assert get(docket, path) == value
        assert parameter_at(docket, path) == parameter
        assert put(docket, path, value) == docket


def test_put_leaves_the_old_docket_alone_and_shares_the_rest():
    before = new_docket()
    after = put(before, MASS, 25.0)
    assert before.mechanism.weights.mass_g is None and after.mechanism.weights.mass_g == 25.0
    assert after.target is before.target and after.mechanism.linkage is before.mechanism.linkage
    with pytest.raises(dataclasses.FrozenInstanceError):
        after.mechanism.weights.mass_g = 1.0
    with pytest.raises(TypeError):
        after.mechanism.weights.u["mass_g"] = 1.0


@pytest.mark.parametrize(
    ("value", "code"),
    [(-1.0, "below-limit"), (1e6, "above-limit"), (float("nan"), "not-finite"),
     (float("inf"), "not-finite"), ("25", "not-a-number"), (True, "not-a-number")],
)  # fmt: skip
def test_refused_with_the_whole_place(value, code):
    with pytest.raises(BobweightError) as refused:
        put(new_docket(), MASS, value)
    assert refused.value.problem.code == code
    assert path_text(refused.value.problem.path) == "mechanism.weights.mass_g"


def test_place_inside_a_list():
    path = ("sessions", 0, "instrument", "lag_ms")
    with pytest.raises(BobweightError) as refused:
        put(new_docket(), path, 99.0)
    assert path_text(refused.value.problem.path) == "sessions[0].instrument.lag_ms"


def test_an_uncertainty_goes_with_its_number():
    docket = put_uncertainty(put(new_docket(), MASS, 25.0), MASS, 0.2)
    weights = docket.mechanism.weights
    assert standard_uncertainty(weights, "mass_g") == 0.2
    assert put(docket, MASS, 25.0).mechanism.weights.u == {"mass_g": 0.2}
    changed = put(docket, MASS, 26.0).mechanism.weights
    assert "mass_g" not in changed.u
    assert standard_uncertainty(changed, "mass_g") == parameters(changed)["mass_g"].trade_u
    assert not put_uncertainty(docket, MASS, None).mechanism.weights.u
    for bad in (0.0, -1.0, float("nan")):
        with pytest.raises(BobweightError):
            put_uncertainty(docket, MASS, bad)


def test_a_measured_number_is_as_fine_as_it_is_known():
    # JCGM 100:2008, 7.2.6: 10.057 62 with u = 0.027 is 10.058.
    assert as_fine(10.05762, 0.027) == (10.058, 0.027)
    assert as_fine(-0.0196, 0.6637) == (-0.02, 0.66)
    assert as_fine(173.4, 0.0996) == (173.4, 0.1)
    assert as_fine(173.46, 28.1) == (173.0, 28.0)
    assert as_fine(1.23456789, 0.0) == (1.23456789, 0.0)
    docket = put_measured(new_docket(), MASS, 27.34567, 0.1234)
    assert get(docket, MASS) == 27.35
    assert docket.mechanism.weights.u == {"mass_g": 0.12}
    assert not put_measured(docket, MASS, 27.0, 0.0).mechanism.weights.u


def test_unusual_is_advice_and_beyond_limits_is_grave():
    docket = put(new_docket(), MASS, 400.0)
    (advice,) = [p for p in value_problems(docket) if p.path == MASS]
    assert advice.code == "unusual" and not advice.grave


def _described(kind, seen):
    if kind in seen:
        return
    seen.add(kind)
    for parameter in parameters(kind).values():
        yield kind, parameter
        if parameter.record:
            yield from _described(parameter.record, seen)


@pytest.mark.parametrize(
    ("kind", "parameter"), list(_described(Docket, set())), ids=lambda v: getattr(v, "key", v)
)
def test_every_description_is_whole(kind, parameter):
    assert parameter.label.strip() == parameter.label != ""
    if parameter.kind in ("number", "whole") and parameter.usual:
        low, high = parameter.usual
        assert parameter.hard[0] <= low < high <= parameter.hard[1]
    if parameter.default is not None and parameter.kind not in ("one", "many"):
        assert parameter.check(parameter.default) is None
    if parameter.kind == "number":
        suffixes = {"°": "_deg", "mm": "_mm", "g": "_g", "N": "_n", "rev/min": "_rpm",
                    "kPa": "_kpa", "N/mm": "_n_per_mm", "N·mm": "_nmm", "ms": "_ms"}  # fmt: skip
        wanted = suffixes.get(parameter.quantity.stored.symbol, "")
        assert parameter.key.endswith(wanted), "a number tells its unit in its name"
