"""What a result was worked out from: nothing of the docket that bears upon it is left out."""

from __future__ import annotations

import pytest

from bobweight.core.bench.tape import TapeSpec
from bobweight.core.judgement.workings import ORIGINS, RESULTS, inputs, record_inputs
from bobweight.core.mechanics.checks import figures_in_use
from bobweight.core.record import get, put, put_uncertainty
from tests.samples import sample


@pytest.mark.parametrize("key", ["verdict", "search", "tolerance"])
def test_every_figure_of_the_mechanism_that_is_known_is_there(key: str) -> None:
    docket = sample("weak_primary")
    found = {given.path: given for given in inputs(key, docket)}
    for path in figures_in_use(docket.mechanism):
        if get(docket.mechanism, path):
            assert found[("mechanism", *path)].value == get(docket.mechanism, path)
    assert {given.origin for given in found.values()} <= set(ORIGINS)


def test_each_figure_says_where_it_came_from() -> None:
    docket = sample("weak_primary")
    mass, rate = ("mechanism", "weights", "mass_g"), ("mechanism", "springs", 0, "rate_n_per_mm")
    docket = put_uncertainty(docket, mass, None)
    origins = {given.path: given.origin for given in inputs("verdict", docket)}
    assert origins[mass] == "typed"
    assert origins["target", "points"] == "table"
    assert origins["sessions", 0, "readings"] == "readings"
    known = put(docket, (*rate[:-1], "source", "known_from"), "hang")
    assert {g.path: g.origin for g in inputs("verdict", known)}[rate] == "hang"
    measured = put_uncertainty(docket, mass, 0.5)
    (found,) = [g for g in inputs("verdict", measured) if g.path == mass]
    assert (found.origin, found.u) == ("measured", 0.5)


def test_what_is_blank_is_told_as_assumed_with_the_value_taken() -> None:
    docket = put(sample("weak_primary"), ("mechanism", "weights", "mass_g"), None)
    found = {given.path: given for given in inputs("verdict", docket)}
    given = found["mechanism", "weights", "mass_g"]
    assert given.origin == "assumed"
    assert given.value > 0.0


@pytest.mark.parametrize("key", ["verdict", "capsule", "setting", "search", "tolerance"])
def test_crank_turns_that_nobody_entered_are_told_as_assumed(key: str) -> None:
    """Two of a four-stroke's crank for one of its camshaft: common practice."""
    ratio = ("particulars", "drive_ratio")
    found = {given.path: given for given in inputs(key, put(sample("weak_primary"), ratio, None))}
    assert (found[ratio].value, found[ratio].origin) == (2.0, "assumed")


def test_every_result_can_be_asked() -> None:
    for key in RESULTS:
        inputs(key, sample("straight_six"))
    origins = {given.path: given.origin for given in record_inputs(TapeSpec(diameter_mm=140.0))}
    assert origins["diameter_mm",] == "typed"
    assert origins["thickness_mm",] == "usual"
